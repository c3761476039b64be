package web

import (
	"context"
	"encoding/json"
	"fmt"
	"maps"
	"net/http"
	"slices"
	"strings"
	"sync"
	"time"
)

// hub tells every tab what happens to its file and to the folder.
type hub struct {
	folder *folder
	lock   sync.Mutex
	tabs   map[*tab]bool
	woken  chan struct{} // holds one when a tab has come

	// what watch has seen: the state of files that are shown, and what is listed
	seen map[string]string
	list string
}

// tab is one page that listens.
type tab struct {
	name   string // of the file it shows
	events chan message
}

// message is one of a stream (HTML Living Standard, server-sent events).
type message struct{ kind, data string }

// mostWaiting is how many messages may wait for a tab. One that does not listen
// for so long is cut off: it comes again by itself and reads everything anew.
const mostWaiting = 64

func newHub(f *folder) *hub {
	h := &hub{folder: f, tabs: map[*tab]bool{}, woken: make(chan struct{}, 1), seen: map[string]string{}}
	h.list = h.listing() // so that what comes after counts as new, however late the first look is
	return h
}

// mostTabs is how many pages may listen at once.
const mostTabs = 64

// join adds a tab; nil when there are too many.
func (h *hub) join(name string) *tab {
	t := &tab{name, make(chan message, mostWaiting)}
	h.lock.Lock()
	full := len(h.tabs) >= mostTabs
	if !full {
		h.tabs[t] = true
	}
	h.lock.Unlock()
	if full {
		return nil
	}
	select {
	case h.woken <- struct{}{}:
	default:
	}
	return t
}

func (h *hub) leave(t *tab) {
	h.lock.Lock()
	defer h.lock.Unlock()
	delete(h.tabs, t)
}

// tell sends a message to the tabs that show a file; all tabs when the name is
// empty.
func (h *hub) tell(name, kind string, body any) {
	data, err := json.Marshal(body)
	if err != nil {
		panic(err) // our own types always marshal
	}
	h.lock.Lock()
	defer h.lock.Unlock()
	for t := range h.tabs {
		if name != "" && t.name != name {
			continue
		}
		select {
		case t.events <- message{kind, string(data)}:
		default:
			close(t.events)
			delete(h.tabs, t)
		}
	}
}

// names are the files that somebody shows, and whether anybody listens.
func (h *hub) names() (names map[string]bool, any bool) {
	h.lock.Lock()
	defer h.lock.Unlock()
	names = map[string]bool{}
	for t := range h.tabs {
		if t.name != "" {
			names[t.name] = true
		}
	}
	return names, len(h.tabs) > 0
}

// lookEvery is how often the disk is looked at while somebody listens.
const lookEvery = 300 * time.Millisecond

// watch looks for changes that other programs make, until ctx ends. It sleeps
// while nobody listens.
func (h *hub) watch(ctx context.Context) {
	tick := time.NewTicker(lookEvery)
	defer tick.Stop()
	for {
		if _, any := h.names(); !any {
			select {
			case <-ctx.Done():
				return
			case <-h.woken:
			}
		}
		h.round()
		select {
		case <-ctx.Done():
			return
		case <-tick.C:
		}
	}
}

// round looks once at all that is shown and listed. Only watch calls it, one
// round after the other.
func (h *hub) round() {
	names, _ := h.names()
	for name := range names {
		h.look(name)
	}
	if now := h.listing(); now != h.list {
		h.list = now
		h.tell("", "files", struct{}{})
	}
}

// diskNote tells tabs that another program has changed a file.
type diskNote struct {
	Name    string `json:"name"`
	Version string `json:"version"` // empty: the file is gone
}

// look tells the tabs that show a file when its bytes are not those that they
// know of. The file is read only when its size or time has changed.
func (h *hub) look(name string) {
	state := "gone"
	if info, err := h.folder.root.Stat(name); err == nil {
		state = fmt.Sprint(info.Size(), info.ModTime().UnixNano())
	}
	if h.seen[name] == state {
		return
	}
	h.folder.lock.Lock()
	defer h.folder.lock.Unlock()
	now := ""
	if text, err := h.folder.read(name); err == nil {
		now = version(text)
	} else if state != "gone" {
		return // in the middle of a change; look again
	}
	h.seen[name] = state
	if told, ok := h.folder.told[name]; !ok || told != now {
		h.folder.told[name] = now
		if ok {
			h.tell(name, "disk", diskNote{name, now})
		}
	}
}

// listing changes when a piece comes, goes or changes its name, and when an
// instrument does anything, or a file that a shown piece takes notes from.
func (h *hub) listing() string {
	var b strings.Builder
	for _, info := range h.folder.list() {
		b.WriteString(info.Name() + "\n")
	}
	b.WriteString(h.folder.instruments())
	names, _ := h.names()
	for _, name := range slices.Sorted(maps.Keys(names)) {
		if text, err := h.folder.read(name); err == nil {
			b.WriteString(h.folder.takenFrom(name, string(text)))
		}
	}
	return b.String()
}

// aliveEvery is how often a silent stream says that it is alive.
const aliveEvery = 15 * time.Second

// hello begins a stream: what the tab may have missed.
type hello struct {
	Name    string `json:"name"`
	Version string `json:"version"` // of the file as it is now; empty: there is none
}

// watch streams to a tab what happens.
func (s *Server) watch(w http.ResponseWriter, r *http.Request) {
	name := r.URL.Query().Get("name")
	if name != "" {
		if err := checkName(name); err != nil {
			fail(w, err)
			return
		}
	}
	t := s.hub.join(name)
	if t == nil {
		fail(w, &refusal{http.StatusTooManyRequests, "the workbench is open in too many pages; close some"})
		return
	}
	defer s.hub.leave(t)
	w.Header().Set("Content-Type", "text/event-stream")
	out := http.NewResponseController(w)
	fmt.Fprint(w, "retry: 1000\n\n")
	send(w, message{"hello", s.hello(name)})
	alive := time.NewTicker(aliveEvery)
	defer alive.Stop()
	for out.Flush() == nil {
		select {
		case e, ok := <-t.events:
			if !ok {
				return
			}
			send(w, e)
		case <-alive.C:
			fmt.Fprint(w, ": alive\n\n")
		case <-r.Context().Done():
			return
		}
	}
}

func send(w http.ResponseWriter, e message) {
	fmt.Fprintf(w, "event: %s\ndata: %s\n\n", e.kind, e.data)
}

func (s *Server) hello(name string) string {
	s.folder.lock.Lock()
	defer s.folder.lock.Unlock()
	out := hello{Name: name}
	if name != "" {
		if text, err := s.folder.read(name); err == nil {
			out.Version = version(text)
			if _, ok := s.folder.told[name]; !ok {
				s.folder.told[name] = out.Version // else the watch tells everybody of a change
			}
		}
	}
	data, _ := json.Marshal(out)
	return string(data)
}
