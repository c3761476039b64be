package web

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"net/http"
	"path"
	"path/filepath"
	"strings"

	byhand "rollwright/bench"
	"rollwright/journal"
	"rollwright/spools"
	"rollwright/workshop"
)

// rollToPunch is a roll of a piece with its place at the bench.
type rollToPunch struct {
	id    string // of the rows
	name  string // of the journal
	path  string // of the journal
	text  string // version of the piece
	head  journal.Head
	spool *spools.Spool
	plan  *byhand.Plan
	state *journal.State // nil: not begun
}

// rollsListed is what may be punched of a piece.
type rollsListed struct {
	Rolls   []rollListed  `json:"rolls"`
	Benches []benchListed `json:"benches"` // where a roll may begin, the default first
}

// rollListed is one roll that is being punched or may be.
type rollListed struct {
	Journal   string `json:"journal"`
	Title     string `json:"title"`
	Piano     string `json:"piano"`
	Spool     int    `json:"spool"`
	Spools    int    `json:"spools"`
	Bench     string `json:"bench"` // of one that has begun
	Begun     bool   `json:"begun"`
	Punches   int    `json:"punches"` // in the paper
	OfPunches int    `json:"ofPunches"`
	Error     string `json:"error,omitempty"` // why it cannot be gone on with
}

// benchListed is a bench to choose.
type benchListed struct {
	Name  string `json:"name"`
	Title string `json:"title"`
}

// rollsToPunch lists the rolls that have begun, then those that have not.
func (s *Server) rollsToPunch(ctx context.Context, name string) (*rollsListed, error) {
	job, text, err := s.performed(ctx, name)
	if err != nil {
		return nil, err
	}
	out := &rollsListed{Rolls: []rollListed{}, Benches: s.benches(path.Dir(name))}
	listed := map[string]bool{}
	for _, one := range s.folder.journals(name) {
		listed[one] = true
		r, err := s.begun(job, name, one, text)
		if errors.Is(err, fs.ErrNotExist) {
			delete(listed, one)
			continue
		}
		if err != nil {
			out.Rolls = append(out.Rolls, rollListed{Journal: one, Begun: true, Error: unreadable(err).Error()})
			continue
		}
		out.Rolls = append(out.Rolls, r.listed())
	}
	fresh, err := s.notBegun(job, name, text, "")
	if err != nil {
		return nil, unreadable(err)
	}
	for _, r := range fresh {
		if !listed[r.name] {
			out.Rolls = append(out.Rolls, r.listed())
		}
	}
	return out, nil
}

func (r *rollToPunch) listed() rollListed {
	out := rollListed{
		Journal: r.name, Title: r.head.Title, Piano: r.spool.Name, Spool: r.spool.Number, Spools: r.spool.Of, OfPunches: r.plan.Punches,
	}
	if r.state != nil {
		out.Begun, out.Bench, out.Punches = true, r.plan.Profile.Title, r.state.Punched()
	}
	return out
}

// performed is the job of a piece as it is on the disk, with its version.
func (s *Server) performed(ctx context.Context, name string) (*workshop.Job, string, error) {
	text, err := s.folder.read(name)
	if err != nil {
		return nil, "", err
	}
	job, err := s.desk.job(ctx, name, string(text))
	if err != nil {
		return nil, "", unreadable(err)
	}
	return job, version(text), nil
}

// rollToPunch finds the roll of an order: that of its journal, else the only
// one that there is.
func (s *Server) rollToPunch(ctx context.Context, in *punchOrder) (*rollToPunch, error) {
	job, text, err := s.performed(ctx, in.Name)
	if err != nil {
		return nil, err
	}
	if err := s.folder.checkBench(path.Dir(in.Name), in.Bench); err != nil {
		return nil, err
	}
	r, err := s.begun(job, in.Name, in.Journal, text)
	if err == nil || !errors.Is(err, fs.ErrNotExist) {
		return r, unreadable(err)
	}
	fresh, err := s.notBegun(job, in.Name, text, in.Bench)
	if err != nil {
		return nil, unreadable(err)
	}
	for _, r := range fresh {
		if r.name == in.Journal {
			return r, nil
		}
	}
	return nil, &refusal{http.StatusNotFound, fmt.Sprintf("the piece has no roll with the journal %s; choose another", in.Journal)}
}

// begun is the roll of a journal; the error is fs.ErrNotExist where there is
// none yet.
func (s *Server) begun(job *workshop.Job, piece, name, text string) (*rollToPunch, error) {
	full, err := s.folder.journalPath(piece, name)
	if err != nil {
		return nil, err
	}
	state, err := journal.Read(full)
	if err != nil {
		return nil, err
	}
	if err := s.folder.checkBench(path.Dir(piece), state.Head.Bench); err != nil {
		return nil, err
	}
	spool, plan, err := job.Begun(state.Head, &workshop.Making{})
	if errors.Is(err, fs.ErrNotExist) {
		return nil, &refusal{http.StatusUnprocessableEntity, fmt.Sprintf("the bench %s, where this roll was begun, is not there any more: %v", state.Head.Bench, err)}
	}
	if err != nil {
		return nil, err
	}
	return &rollToPunch{id: idOf(full, plan), name: name, path: full, text: text, head: state.Head, spool: spool, plan: plan, state: state}, nil
}

// notBegun are the whole rolls of the piece at a bench.
func (s *Server) notBegun(job *workshop.Job, piece, text, bench string) ([]*rollToPunch, error) {
	making := &workshop.Making{Bench: bench}
	choice, err := job.ToPunch("", making)
	if err != nil {
		return nil, err
	}
	var out []*rollToPunch
	for _, spool := range choice {
		name := path.Base(journal.Path(piece, spool.Name, spool.Number, spool.Of))
		full, err := s.folder.journalPath(piece, name)
		if err != nil {
			return nil, err
		}
		plan, err := job.BenchPlan(spool, making)
		if err != nil {
			return nil, err
		}
		out = append(out, &rollToPunch{id: idOf(full, plan), name: name, path: full, text: text, head: job.Head(spool, plan, making), spool: spool, plan: plan})
	}
	return out, nil
}

// benches are the built-in ones and the files beside a piece.
func (s *Server) benches(dir string) []benchListed {
	out := []benchListed{}
	for _, l := range byhand.List() {
		out = append(out, benchListed{l.Name, l.Title})
	}
	for _, e := range s.folder.entries(dir) {
		if path.Ext(e.Name()) == byhand.Extension && plainName(e.Name()) {
			out = append(out, benchListed{Name: e.Name(), Title: e.Name()})
		}
	}
	return out
}

// checkBench refuses a bench whose file is not in the folder; names of built-in
// ones hold nothing that leads to a file.
func (f *folder) checkBench(dir, name string) error {
	if !strings.HasSuffix(name, byhand.Extension) && !strings.ContainsAny(name, `/\`) {
		return nil
	}
	if path.Ext(name) != byhand.Extension || !plainName(path.Join(dir, name)) || filepath.IsAbs(name) {
		return &refusal{http.StatusForbidden, fmt.Sprintf("the bench %s lies outside the workbench's folder, which it does not leave: use the companion in a terminal, or copy the file", name)}
	}
	_, err := f.bytes(path.Join(dir, name), mostText)
	return err
}

// journalPath is the path of a journal beside a piece. What is there must be a
// file, not a link that leads elsewhere.
func (f *folder) journalPath(piece, name string) (string, error) {
	local := path.Join(path.Dir(piece), name)
	if !strings.HasPrefix(name, path.Base(piece)+".") || path.Ext(name) != journal.Extension || path.Base(name) != name || !plainName(local) {
		return "", &refusal{http.StatusBadRequest, fmt.Sprintf("%q is not the name of a journal of %s", name, piece)}
	}
	if info, err := f.root.Lstat(local); err == nil && !info.Mode().IsRegular() {
		return "", &refusal{http.StatusForbidden, local + " is not a file"}
	}
	return filepath.Join(f.path, filepath.FromSlash(local)), nil
}

// journals are the names of those beside a piece.
func (f *folder) journals(piece string) []string {
	var out []string
	for _, e := range f.entries(path.Dir(piece)) {
		if _, err := f.journalPath(piece, e.Name()); err == nil {
			out = append(out, e.Name())
		}
	}
	return out
}

// renameJournals lets the journals of a piece go along with its new name. One
// that is there already stays, and so does the one that it would take the place
// of: nothing that is cut is forgotten.
func (s *Server) renameJournals(from, to string) {
	for _, name := range s.folder.journals(from) {
		if full, err := s.folder.journalPath(from, name); err == nil {
			s.companions.lock.Lock()
			s.companions.leave(full)
			s.companions.lock.Unlock()
		}
		next := path.Join(path.Dir(to), path.Base(to)+strings.TrimPrefix(name, path.Base(from)))
		if !s.folder.exists(next) {
			s.folder.root.Rename(path.Join(path.Dir(from), name), next)
		}
	}
}
