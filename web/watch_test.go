package web

import (
	"bufio"
	"context"
	"encoding/json"
	"fmt"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"
)

// listener is a tab that follows a file.
type listener struct {
	testing.TB
	events chan message
	end    context.CancelFunc
}

// listen opens a tab and waits for its greeting.
func (b *bench) listen(name string) *listener {
	b.Helper()
	ctx, end := context.WithCancel(context.Background())
	r, err := http.NewRequestWithContext(ctx, "GET", b.base+"/api/watch?name="+url.QueryEscape(name), nil)
	if err != nil {
		b.Fatal(err)
	}
	answer, err := b.client.Do(r)
	if err != nil {
		b.Fatal(err)
	}
	if kind := answer.Header.Get("Content-Type"); kind != "text/event-stream" {
		b.Fatalf("%s: %s", answer.Status, kind)
	}
	l := &listener{b.TB, make(chan message, 100), end}
	go func() {
		defer answer.Body.Close()
		var e message
		for lines := bufio.NewScanner(answer.Body); lines.Scan(); {
			switch line := lines.Text(); {
			case strings.HasPrefix(line, "event: "):
				e.kind = line[len("event: "):]
			case strings.HasPrefix(line, "data: "):
				e.data = line[len("data: "):]
			case line == "" && e.kind != "":
				l.events <- e
				e = message{}
			}
		}
		close(l.events)
	}()
	b.Cleanup(end)
	l.next("hello")
	return l
}

// next is the data of the next event, which has to be of that kind.
func (l *listener) next(kind string) []byte {
	l.Helper()
	select {
	case e := <-l.events:
		if e.kind != kind {
			l.Fatalf("event %s %s, want %s", e.kind, e.data, kind)
		}
		return []byte(e.data)
	case <-time.After(time.Minute):
		l.Fatalf("no event, want %s", kind)
	}
	return nil
}

// silent wants no message for a while.
func (l *listener) silent() {
	l.Helper()
	select {
	case e := <-l.events:
		l.Fatalf("event %s %s, want none", e.kind, e.data)
	case <-time.After(3 * lookEvery):
	}
}

// TestTwoTabs: each sees what the other saves, and a tab on another file does
// not.
func TestTwoTabs(t *testing.T) {
	b := serve(t, map[string]string{"a.piece": "one\n", "b.piece": "other\n"})
	first, second, other := b.listen("a.piece"), b.listen("a.piece"), b.listen("b.piece")
	v := ask[saved](b, "/api/save", m{"name": "a.piece", "text": "two\n", "base": version([]byte("one\n")),
		"tab": "first"})
	for _, l := range []*listener{first, second} {
		if got := decoded[savedNote](t, l.next("saved")); got != (savedNote{"a.piece", v.Version, "first", "two\n"}) {
			t.Errorf("told %v", got)
		}
	}
	other.silent()
	first.silent() // the disk has changed, but by us
}

// swap gives a file other bytes at one instant, so that nobody sees half of them.
func (b *bench) swap(name, text string) {
	b.Helper()
	b.put("new", text)
	if err := os.Rename(filepath.Join(b.dir, "new"), filepath.Join(b.dir, name)); err != nil {
		b.Fatal(err)
	}
}

// told are the messages that wait for a tab.
func told(t *tab) (all []message) {
	for {
		select {
		case m := <-t.events:
			all = append(all, m)
		default:
			return all
		}
	}
}

// TestDisk: what another program does to a file is told once, to everybody who
// shows it, however it is written. The looks at the disk are the test's own, so
// that it does not matter how long anything takes.
func TestDisk(t *testing.T) {
	dir := t.TempDir()
	put := func(name, text string) {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	put("a.piece", "one\n")
	f, err := openFolder(dir)
	if err != nil {
		t.Fatal(err)
	}
	defer f.root.Close()
	s := &Server{folder: f, hub: newHub(f)}
	come := func() *tab {
		one := s.hub.join("a.piece")
		s.hello("a.piece")
		return one
	}
	want := func(who string, of *tab, texts ...string) {
		t.Helper()
		var wants []message
		for _, text := range texts {
			v := ""
			if text != "" {
				v = version([]byte(text))
			}
			note, err := json.Marshal(diskNote{"a.piece", v})
			if err != nil {
				t.Fatal(err)
			}
			wants = append(wants, message{"disk", string(note)})
		}
		got := slices.DeleteFunc(told(of), func(m message) bool { return m.kind == "files" })
		if !slices.Equal(got, wants) {
			t.Errorf("%s is told %v, want %v", who, got, wants)
		}
	}
	first := come()
	s.hub.round()
	want("the first", first)
	put("a.piece", "two\n")
	s.hub.round()
	want("the first", first, "two\n")
	// A new tab takes nothing away from the old one.
	put("a.piece", "three\n")
	late := come()
	s.hub.round()
	want("the first", first, "three\n")
	want("the late one", late, "three\n")
	// As many editors save: a new file takes the name of the old one.
	put("new", "four\n")
	if err := os.Rename(filepath.Join(dir, "new"), filepath.Join(dir, "a.piece")); err != nil {
		t.Fatal(err)
	}
	s.hub.round()
	want("the first", first, "four\n")
	want("the late one", late, "four\n")
	// The same bytes again are nothing new.
	put("a.piece", "four\n")
	s.hub.round()
	want("the first", first)
	if err := os.Remove(filepath.Join(dir, "a.piece")); err != nil {
		t.Fatal(err)
	}
	s.hub.round()
	all := told(first)
	if len(all) != 2 || !slices.Contains(all, message{"files", "{}"}) {
		t.Errorf("when the file is gone the first is told %v", all)
	}
	want("the late one", late, "")
}

// TestDiskIsWatched: the same reaches a page through the server.
func TestDiskIsWatched(t *testing.T) {
	b := serve(t, map[string]string{"a.piece": "one\n"})
	l := b.listen("a.piece")
	b.swap("a.piece", "two\n")
	if got := decoded[diskNote](t, l.next("disk")); got != (diskNote{"a.piece", version([]byte("two\n"))}) {
		t.Errorf("told %v", got)
	}
}

func TestFolderIsWatched(t *testing.T) {
	b := serve(t, map[string]string{"a.piece": small})
	l := b.listen("a.piece")
	b.swap("b.piece", small)
	l.next("files")
	b.swap("own.instrument", "like = \"88-note\"\n")
	l.next("files")
	ask[nameOnly](b, "/api/rename", m{"name": "b.piece", "to": "c.piece"})
	if got := decoded[renamedNote](t, l.next("files")); got != (renamedNote{"b.piece", "c.piece"}) {
		t.Errorf("told %v", got)
	}
}

// TestSlowTab: one that does not read is cut off, and holds up nobody.
func TestSlowTab(t *testing.T) {
	f, err := openFolder(t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	defer f.close()
	h := newHub(f)
	slow, quick := h.join("a.piece"), h.join("a.piece")
	for i := range mostWaiting + 1 {
		h.tell("a.piece", "saved", i)
		<-quick.events
	}
	n := 0
	for range slow.events {
		n++
	}
	if n != mostWaiting {
		t.Errorf("the slow tab got %d events before it was cut off, want %d", n, mostWaiting)
	}
	h.leave(slow)
	h.tell("a.piece", "saved", 0)
	if e := <-quick.events; e.data != "0" {
		t.Errorf("the quick tab got %v", e)
	}
}

// TestManyTabs lets tabs save one file and read it in turn, work on it, rename
// others and listen, all at the same time; run with -race. Every save that
// succeeded was made from the version before it: the file counts them.
func TestManyTabs(t *testing.T) {
	b := serve(t, map[string]string{"a.piece": "0\n", "other.piece": small})
	for range 3 {
		b.listen("a.piece")
	}
	const tabs, saves = 8, 10
	var group sync.WaitGroup
	for tab := range tabs {
		group.Go(func() {
			for done := 0; done < saves; {
				f := ask[fileText](b, "/api/file", m{"name": "a.piece"})
				var n int
				fmt.Sscan(f.Text, &n)
				status, data := b.send("POST", "/api/save", m{"name": "a.piece", "text": fmt.Sprintln(n + 1), "base": f.Version,
					"tab": fmt.Sprint(tab)})
				switch status {
				case http.StatusOK:
					done++
				case http.StatusConflict:
				default:
					t.Errorf("%d %s", status, data)
					return
				}
				if done == tab {
					b.work("other.piece", small+fmt.Sprintf("# %d\n", n))
					fetch[fileList](b, "/api/files")
					ask[[]snapshot](b, "/api/history", m{"name": "a.piece"})
				}
			}
		})
	}
	group.Wait()
	// Two tabs that save the same number from the same version both succeed, as
	// the second finds its own text on the disk.
	var n int
	fmt.Sscan(b.disk("a.piece"), &n)
	if n > tabs*saves || n < saves {
		t.Errorf("the file says %d saves of %d", n, tabs*saves)
	}
}
