package web

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"net/http"
	"path"
	"slices"
	"strings"
	"time"
	"unicode"
)

// dataFolder holds what the workbench keeps beside the pieces: plain files that
// a person can read and delete.
const dataFolder = ".rollwright"

// The bounds of a file's history. The newest are all kept; of the older ones
// those go first that lie close to others, measured by their age, so that what
// stays is dense for today and thin for last year.
const (
	mostSnapshots = 200
	mostHistory   = 64 << 20    // bytes
	keptSnapshots = 30          // the newest
	everySnapshot = time.Minute // between two that nobody asked for
)

// history keeps earlier texts of the pieces: a file each, named by when it was
// the text, in a folder with the name of the piece.
//
//	.rollwright/history/low.piece/20261104T161500.123Z-5f2c9a01.piece
//	.rollwright/history/low.piece/20261104T161500.123Z-5f2c9a01.label
//
// Its methods are called with the folder's lock held.
type history struct {
	folder *folder
}

// snapshot is one earlier text.
type snapshot struct {
	ID    string    `json:"id"`
	When  time.Time `json:"when"`
	Bytes int64     `json:"bytes"`
	Label string    `json:"label"` // empty: nobody gave it one
}

// stamp is how an id begins.
const stamp = "20060102T150405.000Z"

const labelEnd = ".label"

func (h *history) dir(name string) string { return dataFolder + "/history/" + name }

// list is the snapshots of a file, the newest first.
func (h *history) list(name string) []snapshot {
	entries := h.folder.entries(h.dir(name))
	out := []snapshot{}
	labels := map[string]bool{}
	for _, e := range entries {
		if id, ok := strings.CutSuffix(e.Name(), labelEnd); ok {
			labels[id] = true
		}
	}
	for _, e := range entries {
		id, ok := strings.CutSuffix(e.Name(), extension)
		when, err := whenOf(id)
		info, infoErr := e.Info()
		if !ok || err != nil || infoErr != nil || !info.Mode().IsRegular() {
			continue
		}
		one := snapshot{ID: id, When: when, Bytes: info.Size()}
		if labels[id] {
			label, _ := h.folder.bytes(h.dir(name)+"/"+id+labelEnd, 1000)
			one.Label = string(label)
		}
		out = append(out, one)
	}
	slices.SortFunc(out, func(a, b snapshot) int { return cmp.Or(b.When.Compare(a.When), cmp.Compare(a.ID, b.ID)) })
	return out
}

// whenOf reads the time and checks the form of an id.
func whenOf(id string) (time.Time, error) {
	first, hash, ok := strings.Cut(id, "-")
	if !ok || len(hash) != 8 || strings.Trim(hash, "0123456789abcdef") != "" {
		return time.Time{}, fmt.Errorf("%q names no snapshot", id)
	}
	return time.Parse(stamp, first)
}

// text is a snapshot's text.
func (h *history) text(name, id string) ([]byte, error) {
	if _, err := whenOf(id); err != nil {
		return nil, &refusal{http.StatusBadRequest, err.Error()}
	}
	text, err := h.folder.bytes(h.dir(name)+"/"+id+extension, mostText)
	if err != nil {
		return nil, &refusal{http.StatusNotFound, "this snapshot is no longer there"}
	}
	return text, nil
}

// before keeps the text that a file had until now, unless it was kept already
// or another was a moment ago. Failing to keep it does not stop anybody.
func (h *history) before(name string, text []byte, now time.Time) {
	all := h.list(name)
	if len(all) > 0 && now.Sub(all[0].When) < everySnapshot && now.Sub(all[0].When) >= 0 {
		return
	}
	h.keep(name, text, "", now)
}

// keep adds a snapshot, unless the newest has the same text and the label adds
// nothing.
func (h *history) keep(name string, text []byte, label string, now time.Time) (snapshot, error) {
	all := h.list(name)
	hash := version(text)[:8]
	if len(all) > 0 && strings.HasSuffix(all[0].ID, hash) && (label == "" || label == all[0].Label) {
		return all[0], nil
	}
	one := snapshot{ID: now.UTC().Format(stamp) + "-" + hash, When: now.UTC().Truncate(time.Millisecond),
		Bytes: int64(len(text)), Label: label}
	at := h.dir(name) + "/" + one.ID
	if label != "" {
		if err := h.folder.write(at+labelEnd, []byte(label)); err != nil {
			return one, err
		}
	}
	if err := h.folder.write(at+extension, text); err != nil {
		return one, err
	}
	h.thin(name, now)
	return one, nil
}

// thin removes snapshots beyond the bound, the most crowded first.
func (h *history) thin(name string, now time.Time) {
	for all := h.list(name); len(all) > mostSnapshots || len(all) > keptSnapshots &&
		bytesOf(all) > mostHistory; all = h.list(name) {
		i := crowded(all, now)
		h.folder.root.Remove(h.dir(name) + "/" + all[i].ID + extension)
		h.folder.root.Remove(h.dir(name) + "/" + all[i].ID + labelEnd)
	}
}

func bytesOf(all []snapshot) int64 {
	sum := int64(0)
	for _, one := range all {
		sum += one.Bytes
	}
	return sum
}

// crowded is the index of the snapshot that is missed least: of those without
// a label and not among the newest, the one whose neighbours are closest
// together for its age. When all have labels it is the oldest.
func crowded(all []snapshot, now time.Time) int {
	best, least := len(all)-1, math.Inf(1)
	for i := keptSnapshots; i < len(all)-1; i++ {
		gap := all[i-1].When.Sub(all[i+1].When).Seconds()
		age := max(now.Sub(all[i].When).Seconds(), 1)
		if all[i].Label == "" && gap/age < least {
			best, least = i, gap/age
		}
	}
	return best
}

// rename moves the snapshots of a file to its new name. What another file of
// that name has left is kept.
func (h *history) rename(from, to string) {
	for _, one := range h.list(from) {
		h.folder.root.MkdirAll(h.dir(to), 0o755)
		for _, end := range []string{labelEnd, extension} {
			h.folder.root.Rename(h.dir(from)+"/"+one.ID+end, h.dir(to)+"/"+one.ID+end)
		}
	}
	h.folder.root.Remove(h.dir(from))
	h.folder.flush(path.Dir(h.dir(to)))
}

func (s *Server) historyOf(_ context.Context, in nameOnly) ([]snapshot, error) {
	if err := checkName(in.Name); err != nil {
		return nil, err
	}
	s.folder.lock.Lock()
	defer s.folder.lock.Unlock()
	return s.history.list(in.Name), nil
}

// labelled is a request for a snapshot.
type labelled struct {
	Name  string `json:"name"`
	Label string `json:"label"`
}

// mostLabel bounds a label in bytes.
const mostLabel = 200

func (s *Server) snapshot(_ context.Context, in labelled) (snapshot, error) {
	label := strings.TrimSpace(strings.Map(func(r rune) rune {
		if unicode.IsControl(r) {
			return ' '
		}
		return r
	}, in.Label))
	if len(label) > mostLabel {
		return snapshot{}, &refusal{http.StatusBadRequest, "this label is too long; a few words do"}
	}
	s.folder.lock.Lock()
	defer s.folder.lock.Unlock()
	text, err := s.folder.read(in.Name)
	if err != nil {
		return snapshot{}, err
	}
	return s.history.keep(in.Name, text, label, time.Now())
}

// snapshotID names a snapshot.
type snapshotID struct {
	Name string `json:"name"`
	ID   string `json:"id"`
}

// textOnly is a text.
type textOnly struct {
	Text string `json:"text"`
}

// restore is the text of a snapshot; the page puts it in the editor and saves
// it, so that it can be undone. What is on the disk is kept first.
func (s *Server) restore(_ context.Context, in snapshotID) (textOnly, error) {
	if err := checkName(in.Name); err != nil {
		return textOnly{}, err
	}
	s.folder.lock.Lock()
	defer s.folder.lock.Unlock()
	text, err := s.history.text(in.Name, in.ID)
	if err != nil {
		return textOnly{}, err
	}
	if now, err := s.folder.read(in.Name); err == nil {
		s.history.keep(in.Name, now, "", time.Now()) // only a convenience
	}
	return textOnly{toPage(text)}, nil
}

// comparing is a request for what has changed since a snapshot.
type comparing struct {
	Name string `json:"name"`
	ID   string `json:"id"` // or disk: the file as it is
	Text string `json:"text"`
}

func (s *Server) earlier(name, id string) ([]byte, error) {
	if id == "disk" {
		return s.folder.read(name)
	}
	return s.history.text(name, id)
}

// hunks are the changes from one text to another.
type hunks struct {
	Hunks []hunk `json:"hunks"`
}

func (s *Server) diff(_ context.Context, in comparing) (hunks, error) {
	if err := checkText(in.Name, in.Text); err != nil {
		return hunks{}, err
	}
	s.folder.lock.Lock()
	text, err := s.earlier(in.Name, in.ID)
	s.folder.lock.Unlock()
	if err != nil {
		return hunks{}, err
	}
	return hunks{compare(toPage(text), in.Text)}, nil
}
