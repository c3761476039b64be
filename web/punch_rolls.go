package web

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"net/http"
	"path"
	"path/filepath"
	"slices"
	"strings"

	byhand "rollwright/making/bench"
	"rollwright/making/journal"
	"rollwright/making/punching"
	"rollwright/paper/edition"
	"rollwright/paper/spools"
	"rollwright/workshop"
)

// rollToPunch is a roll of a piece with its place at the bench.
type rollToPunch struct {
	id    string // of the rows
	name  string // of the journal
	local string // path of the journal in the folder, with slashes
	path  string // of the journal
	text  string // version of the piece
	head  journal.Head
	spool *edition.Roll
	plan  *byhand.Plan
	state *journal.State // nil: not begun
	end   *cutListed     // of a spool that another follows, where it has not begun
}

// rollsListed is what may be punched of a piece.
type rollsListed struct {
	Rolls   []rollListed  `json:"rolls"`
	Mind    []string      `json:"mind"`    // rolls that have begun on other spools than are asked for
	Benches []benchListed `json:"benches"` // where a roll may begin, the default first
}

// rollListed is one roll that is being punched or may be.
type rollListed struct {
	Journal   string     `json:"journal"`
	Title     string     `json:"title"`
	Piano     string     `json:"piano"`
	Spool     int        `json:"spool"`
	Spools    int        `json:"spools"`
	FromSec   float64    `json:"fromSec"` // the stretch of the piece
	ToSec     float64    `json:"toSec"`
	End       *cutListed `json:"end,omitempty"` // of a spool that another follows, where it has not begun
	Bench     string     `json:"bench"`         // of one that has begun
	Begun     bool       `json:"begun"`
	Punches   int        `json:"punches"` // of the plan that the paper has
	OfPunches int        `json:"ofPunches"`
	Error     string     `json:"error,omitempty"` // why it cannot be gone on with
}

// cutListed is how a spool ends.
type cutListed struct {
	// length of the rest in which it does; 0: something sounds, or a note follows another
	RestSec  float64 `json:"restSec"`
	Crossing int     `json:"crossing"` // notes of all pianos that are cut short
}

// benchListed is a bench to choose.
type benchListed struct {
	Name  string `json:"name"`
	Title string `json:"title"`
}

// making is how a roll that an order begins is parted, and where.
func (in *punchOrder) making() (*workshop.Making, error) {
	if in.SpoolMM != 0 && !(in.SpoolMM >= leastSpoolMM) {
		return nil, &refusal{http.StatusBadRequest, fmt.Sprintf("a spool holds at least %g m of music", leastSpoolMM/1000.0)}
	}
	return &workshop.Making{Bench: in.Bench, Spools: spools.Options{LongestMM: in.SpoolMM, AtSec: in.SplitSec}}, nil
}

// rollsToPunch lists the rolls that have begun, then those that have not, on the
// spools that are asked for.
func (s *Server) rollsToPunch(ctx context.Context, in *punchOrder) (*rollsListed, error) {
	job, text, err := s.performed(ctx, in.Name)
	if err != nil {
		return nil, err
	}
	if err := s.folder.checkBench(path.Dir(in.Name), in.Bench); err != nil {
		return nil, err
	}
	out := &rollsListed{Rolls: []rollListed{}, Mind: []string{}, Benches: s.benches(path.Dir(in.Name))}
	out.Mind = append(out.Mind, s.companions.read(s.journalPaths(in.Name))...)
	begun := map[string]*rollToPunch{} // by journal; nil: it cannot be gone on with
	for _, one := range s.folder.journals(in.Name) {
		r, err := s.begun(job, in.Name, one, text)
		switch {
		case errors.Is(err, journal.ErrFirstLine):
			out.Mind = append(out.Mind, fmt.Sprintf("the first line of %s is damaged: its rows count, and go on at the bench that is chosen here; compare the place of the last row with the paper", one))
			continue
		case errors.Is(err, fs.ErrNotExist):
			out.Mind = append(out.Mind, fmt.Sprintf("%s is there but holds nothing: rows that were punched before are not known, and the roll begins anew; if there are any, bring back a copy of the journal", one))
			continue
		}
		begun[one] = r
		if err != nil {
			out.Rolls = append(out.Rolls, rollListed{Journal: one, Begun: true, Error: unreadable(err).Error()})
			continue
		}
		out.Rolls = append(out.Rolls, r.listed())
	}
	making, err := in.making()
	if err != nil {
		return nil, err
	}
	asked, err := s.asked(job, in.Name, text, making)
	if err != nil {
		return nil, unreadable(err)
	}
	out.fresh(begun, asked, making)
	return out, nil
}

// fresh adds the rolls that are asked for and have not begun, and says which
// have begun on other spools.
func (l *rollsListed) fresh(begun map[string]*rollToPunch, asked []*rollToPunch, making *workshop.Making) {
	for _, r := range asked {
		if have, ok := begun[r.name]; ok {
			if have != nil && !making.Spools.None() && punching.Apart(&have.head, &r.head) {
				l.Mind = append(l.Mind, fmt.Sprintf("%s was begun as %s, and stays so; the spools asked for are others", r.name,
					punching.Part(&have.head)))
			}
			continue
		}
		l.Rolls = append(l.Rolls, r.listed())
	}
	l.Mind = append(l.Mind, others(begun, asked)...)
}

// others says which rolls have begun on other spools than one that would begin
// beside them.
func others(begun map[string]*rollToPunch, asked []*rollToPunch) []string {
	var out []string
	for _, name := range slices.Sorted(maps.Keys(begun)) {
		have := begun[name]
		beside := func(r *rollToPunch) bool {
			_, there := begun[r.name]
			return !there && r.head.Piano == have.head.Piano && punching.Apart(&have.head, &r.head)
		}
		if have != nil && slices.ContainsFunc(asked, beside) {
			out = append(out, fmt.Sprintf("%s has begun this piece on other spools (%s); what begins here is a roll of its own, and nothing of that one counts for it", name, punching.Part(&have.head)))
		}
	}
	return out
}

func (r *rollToPunch) listed() rollListed {
	out := rollListed{
		Journal: r.name, Title: r.head.Title, Piano: r.spool.Name, Spool: r.spool.Number, Spools: r.spool.Of,
		FromSec: r.spool.FromSec, ToSec: r.spool.ToSec, End: r.end, OfPunches: r.plan.Punches,
	}
	if r.state != nil {
		out.Begun, out.Bench, out.Punches = true, r.plan.Profile.Title, punching.Compare(r.plan, r.state).There
	}
	return out
}

// performed is the job of a piece as it is on the disk, with its version.
func (s *Server) performed(ctx context.Context, name string) (*workshop.Job, string, error) {
	text, err := s.folder.read(name)
	if err != nil {
		return nil, "", err
	}
	job, err := s.desk.job(ctx, asked{name: name, text: string(text)})
	if err != nil {
		return nil, "", unreadable(err)
	}
	return job, version(text), nil
}

// rollToPunch finds the roll of an order: that of its journal, else the one of
// the spools asked for that would have it.
func (s *Server) rollToPunch(ctx context.Context, in *punchOrder) (*rollToPunch, error) {
	job, text, err := s.performed(ctx, in.Name)
	if err != nil {
		return nil, err
	}
	if err := s.folder.checkBench(path.Dir(in.Name), in.Bench); err != nil {
		return nil, err
	}
	r, err := s.begun(job, in.Name, in.Journal, text)
	if err == nil || !errors.Is(err, fs.ErrNotExist) && !errors.Is(err, journal.ErrFirstLine) {
		return r, unreadable(err)
	}
	making, err := in.making()
	if err != nil {
		return nil, err
	}
	asked, err := s.asked(job, in.Name, text, making)
	if err != nil {
		return nil, unreadable(err)
	}
	for _, r := range asked {
		if r.name == in.Journal {
			return r, nil
		}
	}
	return nil, &refusal{http.StatusNotFound, fmt.Sprintf("the piece has no roll with the journal %s; choose another",
		in.Journal)}
}

// begun is the roll of a journal; the error is fs.ErrNotExist where there is
// none yet, journal.ErrFirstLine where it does not say of what roll.
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
	spool, plan, err := job.Begun(state, &workshop.Making{})
	if errors.Is(err, fs.ErrNotExist) {
		return nil, &refusal{http.StatusUnprocessableEntity, fmt.Sprintf("the bench %s, where this roll was begun, is not there any more: %v", state.Head.Bench, err)}
	}
	if err != nil {
		return nil, err
	}
	return &rollToPunch{id: idOf(full, plan), name: name, local: path.Join(path.Dir(piece), name),
		path: full, text: text, head: state.Head, spool: spool,
		plan: plan, state: state}, nil
}

// asked are the rolls that a making of the piece has, begun or not, as they would
// begin.
func (s *Server) asked(job *workshop.Job, piece, text string, making *workshop.Making) ([]*rollToPunch, error) {
	cuts, err := job.Cuts(making)
	if err != nil {
		return nil, unparted(err)
	}
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
		r := &rollToPunch{id: idOf(full, plan), name: name, local: path.Join(path.Dir(piece), name),
			path: full, text: text, head: job.Head(spool, plan, making),
			spool: spool, plan: plan}
		if n := spool.Number; n <= len(cuts) {
			r.end = &cutListed{cuts[n-1].RestSec, cuts[n-1].Crossing}
		}
		out = append(out, r)
	}
	return out, nil
}

// unparted makes a refusal of what is wrong with where spools are to end.
func unparted(err error) error {
	if text, ok := strings.CutPrefix(err.Error(), "spools: "); ok {
		return &refusal{http.StatusUnprocessableEntity, text}
	}
	return err
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
		if _, err := byhand.Load(name, ""); name != "" && err != nil {
			return &refusal{http.StatusUnprocessableEntity, err.Error()}
		}
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
	if !strings.HasPrefix(name, path.Base(piece)+".") || path.Ext(name) != journal.Extension || path.Base(name) != name ||
		!plainName(local) {
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

// journalPaths are the paths that journals of a piece have or had while this
// workbench wrote them.
func (s *Server) journalPaths(piece string) []string {
	s.companions.lock.Lock()
	defer s.companions.lock.Unlock()
	var out []string
	for full := range s.companions.lost {
		if _, err := s.folder.journalPath(piece, filepath.Base(full)); err == nil &&
			filepath.Dir(full) == filepath.Join(s.folder.path, filepath.FromSlash(path.Dir(piece))) {
			out = append(out, full)
		}
	}
	slices.Sort(out)
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
