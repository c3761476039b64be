package web

import (
	"context"
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"errors"
	"fmt"
	"maps"
	"net/http"
	"path"
	"path/filepath"
	"slices"
	"sync"
	"time"

	byhand "rollwright/making/bench"
	"rollwright/making/journal"
	"rollwright/making/punching"
)

// companions are the rolls that are being punched in this workbench. A roll has
// one however many tabs show it: what a tab asks names the row that it shows,
// so two of them cannot count one row twice, nor can a request that is sent
// again because its answer was lost.
type companions struct {
	lock sync.Mutex
	list map[string]*companion // by the path of the journal
	lost map[string]string     // what became of journals that lie there no more, until somebody has read it
	also string                // the folder of second copies; empty: none are kept
	now  func() time.Time
}

// companion is one roll being punched. Its fields are guarded by the lock of
// companions.
type companion struct {
	*rollToPunch
	session *punching.Session
	damaged int // lines of the journal that could not be read
	used    time.Time
	idle    *time.Timer
}

// mostIdle is how long a companion holds its journal after the last request: a
// tab that went away without a word keeps no other program from it for longer.
// The pace counts such a gap as a pause in any case, and the next request opens
// it again.
const mostIdle = 15 * time.Minute

func newCompanions() *companions {
	return &companions{list: map[string]*companion{}, lost: map[string]string{}, now: time.Now}
}

// close ends all companions; the journals are free for others. The error says
// which of them lie there no more.
func (c *companions) close() error {
	c.lock.Lock()
	defer c.lock.Unlock()
	var errs []error
	for _, path := range slices.Sorted(maps.Keys(c.list)) {
		errs = append(errs, c.leave(path))
	}
	return errors.Join(errs...)
}

// leave ends one companion, if it is there.
func (c *companions) leave(path string) error {
	one := c.list[path]
	if one == nil {
		return nil
	}
	delete(c.list, path)
	one.idle.Stop()
	return c.mark(path, one.session.Close())
}

// mark remembers of an error that a journal lies there no more: nothing is opened
// in its place until somebody has read that.
func (c *companions) mark(path string, err error) error {
	if !errors.Is(err, journal.ErrLost) {
		return err
	}
	c.lost[path] = err.Error()
	return &refusal{http.StatusConflict, err.Error()}
}

// read are the sentences about the journals at paths that lie there no more; they
// are told once.
func (c *companions) read(paths []string) []string {
	c.lock.Lock()
	defer c.lock.Unlock()
	var out []string
	for _, path := range paths {
		if text, ok := c.lost[path]; ok {
			out = append(out, text)
			delete(c.lost, path)
		}
	}
	return out
}

// punchOrder is what a tab asks of a companion. Next, back, go and undo do nothing
// when ID and Row are not those of the row shown now.
type punchOrder struct {
	Name    string `json:"name"`    // of the piece, as it is on the disk
	Action  string `json:"action"`  // rolls, open, next, back, go, undo, slip, list, patched, pause, resume, close
	Journal string `json:"journal"` // name of the journal, which says what roll; empty: that of the only one

	// Of a roll that begins, and of rolls.
	Bench    string    `json:"bench"`    // built-in, or a .bench file beside the piece
	SpoolMM  float64   `json:"spoolMM"`  // of music on one spool, at most; 0: any length
	SplitSec []float64 `json:"splitSec"` // when a spool ends, whatever sounds

	ID       string  `json:"id"`   // of the rows that the tab shows
	Row      int     `json:"row"`  // that the tab shows
	Text     string  `json:"text"` // of slip, as punching.Session.Note reads it
	AcrossMM float64 `json:"acrossMM"`
	AlongMM  float64 `json:"alongMM"` // of patched: the place as the list has it
}

// punchAnswer is the row to show and what else there is to say.
type punchAnswer struct {
	punching.View
	ID      string `json:"id"`      // of the rows; another when the plan is another
	Journal string `json:"journal"` // its name
	Title   string `json:"title"`
	Piano   string `json:"piano"`
	Spool   int    `json:"spool"` // from 1
	Spools  int    `json:"spools"`
	Bench   string `json:"bench"`
	// of the strokes: 0 the left edge of the paper as it lies on the bench, 1 the right one
	Across   []float64 `json:"across"`
	Bass     string    `json:"bass"`     // the side of the bass on the bench: left or right
	Add      int       `json:"add"`      // holes to add in the part already done
	Damaged  int       `json:"damaged"`  // lines of the journal that were left out
	WebMM    float64   `json:"webMM"`    // the dial is so coarse that a web so wide is left inside a slot; 0: it is not
	Again    bool      `json:"again"`    // nothing was done: the row shown is another
	Nothing  bool      `json:"nothing"`  // there was nothing to undo
	Outdated bool      `json:"outdated"` // the piece on the disk has changed since; open takes the change
	Said     string    `json:"said"`     // what was taken down of a slip
	Patch    []patch   `json:"patch"`    // holes to patch, where they were asked for
}

// patch is a hole to close, by its place.
type patch struct {
	Number   int     `json:"number"`
	Text     string  `json:"text"`
	Slip     bool    `json:"slip"` // a mistake; else the piece no longer has it
	Torn     bool    `json:"torn"` // it belongs there but is bad: it is to be punched again
	AcrossMM float64 `json:"acrossMM"`
	AlongMM  float64 `json:"alongMM"`
}

// mostPatches bounds the list that is sent.
const mostPatches = 200

func (s *Server) punch(ctx context.Context, in punchOrder) (any, error) {
	if err := checkName(in.Name); err != nil {
		return nil, err
	}
	if in.Action == "rolls" {
		return s.rollsToPunch(ctx, &in)
	}
	if in.Journal == "" {
		in.Journal = path.Base(journal.Path(in.Name, "", 1, 1))
	}
	full, err := s.folder.journalPath(in.Name, in.Journal)
	if err != nil {
		return nil, err
	}
	if in.Action == "close" {
		s.companions.lock.Lock()
		defer s.companions.lock.Unlock()
		return struct{}{}, s.companions.leave(full)
	}
	if err := s.companions.astray(full); err != nil {
		return nil, err
	}
	if in.Action == "open" || !s.companions.has(full) {
		r, err := s.rollToPunch(ctx, &in)
		if err != nil {
			return nil, err
		}
		if err := s.companions.open(r); err != nil {
			return nil, err
		}
	}
	text, err := s.folder.read(in.Name)
	if err != nil {
		return nil, err
	}
	return s.companions.do(full, &in, version(text))
}

// astray is an error where the journal at path lies there no more and nobody has
// read so: what begins in its place would look as if it were that one.
func (c *companions) astray(path string) error {
	c.lock.Lock()
	defer c.lock.Unlock()
	if text, ok := c.lost[path]; ok {
		return &refusal{http.StatusConflict, text + "; the list of rolls shows both"}
	}
	return nil
}

func (c *companions) has(path string) bool {
	c.lock.Lock()
	defer c.lock.Unlock()
	return c.list[path] != nil
}

// open makes a companion for a roll, unless there is one with the same rows.
func (c *companions) open(r *rollToPunch) error {
	c.lock.Lock()
	defer c.lock.Unlock()
	if have := c.list[r.path]; have != nil {
		if have.id == r.id && r.state != nil {
			have.text = r.text
			return nil
		}
		if err := c.leave(r.path); err != nil {
			return err
		}
	}
	j, err := c.journal(r)
	if err != nil {
		return err
	}
	damaged := len(j.Damaged)
	if j.Headless {
		damaged++
	}
	session, err := punching.New(r.plan, j, c.now)
	if err != nil {
		j.Close()
		return c.mark(r.path, err)
	}
	one := &companion{rollToPunch: r, session: session, damaged: damaged, used: time.Now()}
	one.idle = time.AfterFunc(mostIdle, func() { c.expire(r.path, one) })
	c.list[r.path] = one
	return nil
}

// journal opens the journal of a roll, which has begun as the roll says or begins.
func (c *companions) journal(r *rollToPunch) (*journal.Journal, error) {
	j, err := journal.Open(r.path, r.head, c.now)
	if err != nil {
		return nil, busy(err)
	}
	if j.Head != r.head {
		j.Close()
		return nil, &refusal{http.StatusConflict, "another program has begun this roll at this very moment; open it again"}
	}
	if c.also != "" {
		if err := j.Also(filepath.Join(c.also, filepath.FromSlash(path.Dir(r.local)))); err != nil {
			j.Close()
			return nil, &refusal{http.StatusConflict, err.Error()}
		}
	}
	return j, nil
}

// busy says in words that the journal is in other hands.
func busy(err error) error {
	if errors.Is(err, journal.ErrBusy) {
		return &refusal{http.StatusLocked, "another program is punching this roll, perhaps the companion in a terminal: leave it there with q, and this view goes on"}
	}
	return err
}

// expire ends a companion that nobody has used for long.
func (c *companions) expire(path string, one *companion) {
	c.lock.Lock()
	defer c.lock.Unlock()
	if left := mostIdle - time.Since(one.used); left > 0 {
		one.idle.Reset(left)
		return
	}
	if c.list[path] == one {
		c.leave(path)
	}
}

// do does what an order asks, and answers with the row to show then. text is the
// version of the piece on the disk.
func (c *companions) do(path string, in *punchOrder, text string) (*punchAnswer, error) {
	c.lock.Lock()
	defer c.lock.Unlock()
	one := c.list[path]
	if one == nil {
		return nil, &refusal{http.StatusConflict, "another tab has left this roll at this very moment; open it again"}
	}
	one.used = time.Now()
	out := &punchAnswer{}
	if err := one.act(in, out); err != nil {
		var told *refusal
		if !errors.As(err, &told) {
			err = c.mark(path, err)
			// What the disk does not take is not done: it is read again from there.
			if closing := c.leave(path); !errors.Is(err, journal.ErrNotKept) && !errors.As(err, &told) {
				err = errors.Join(err, closing)
			}
		}
		return nil, err
	}
	one.show(out)
	out.Outdated = text != one.text
	return out, nil
}

// act does what an order asks. Errors that are no refusals are the journal's.
func (one *companion) act(in *punchOrder, out *punchAnswer) error {
	s := one.session
	shown := func() bool {
		v := s.View()
		out.Again = in.ID != one.id || in.Row != v.Row
		return !out.Again
	}
	switch in.Action {
	case "open":
		out.Add = len(s.Changes().Add)
		out.Damaged = one.damaged
		if one.plan.WebTooWide() {
			out.WebMM = one.plan.WebMM
		}
	case "next":
		if shown() {
			return s.Next()
		}
	case "back":
		if shown() {
			s.Back()
		}
	case "go":
		if shown() {
			s.Go()
		}
	case "undo":
		if shown() {
			undone, err := s.Undo()
			out.Nothing = !undone
			return err
		}
	case "slip":
		return one.slip(in, out)
	case "list":
		one.list(out)
	case "patched":
		return one.patched(in, out)
	case "pause":
		return s.Pause()
	case "resume":
		return s.Resume()
	default:
		return &refusal{http.StatusBadRequest, fmt.Sprintf("a companion cannot %q", in.Action)}
	}
	return nil
}

// slip takes down a wrong hole, and says how. What is wrong with the words of a
// person is a refusal; what the disk does not take is none.
func (one *companion) slip(in *punchOrder, out *punchAnswer) error {
	if in.ID != one.id {
		out.Again = true
		return nil
	}
	said, err := one.session.Note(in.Text)
	if errors.Is(err, journal.ErrNotKept) {
		return err
	}
	if err != nil {
		return &refusal{http.StatusUnprocessableEntity, err.Error()}
	}
	one.list(out)
	out.Said = said
	return nil
}

// list adds the holes to patch.
func (one *companion) list(out *punchAnswer) {
	changes := one.session.Changes()
	out.Add = len(changes.Add)
	out.Patch = []patch{}
	for _, p := range changes.Patch[:min(len(changes.Patch), mostPatches)] {
		out.Patch = append(out.Patch, patch{p.Number, one.session.Describe(p), p.Slip, p.Torn, p.AcrossMM, p.AlongMM})
	}
}

// patched takes a hole off the list. One that is off it already stays so.
func (one *companion) patched(in *punchOrder, out *punchAnswer) error {
	for _, p := range one.session.Changes().Patch {
		if p.AcrossMM == in.AcrossMM && p.AlongMM == in.AlongMM {
			if err := one.session.Patched(p); err != nil {
				return err
			}
			break
		}
	}
	one.list(out)
	return nil
}

// show fills in the row and what it belongs to.
func (one *companion) show(out *punchAnswer) {
	out.View = one.session.View()
	out.ID, out.Journal = one.id, one.name
	out.Title, out.Piano, out.Spool, out.Spools = one.head.Title, one.spool.Name, one.spool.Number, one.spool.Of
	out.Bench, out.Bass = one.plan.Profile.Title, "left"
	width, right := one.plan.Roll.Instrument.Paper.WidthMM, one.plan.Profile.BassRight
	if right {
		out.Bass = "right"
	}
	out.Across = []float64{}
	if out.Finished {
		return
	}
	for _, stroke := range out.Strokes { // of a row cut in part, those that are left
		mm := one.plan.Roll.Instrument.Bar.Ports[stroke.Port-1].AcrossMM
		if right {
			mm = width - mm
		}
		out.Across = append(out.Across, mm/width)
	}
}

// idOf names the rows of a plan: two plans with one id lead alike.
func idOf(journal string, plan *byhand.Plan) string {
	h := sha256.New()
	fmt.Fprintf(h, "%s %+v\n", journal, *plan.Profile)
	var b []byte
	for i := range plan.Rows {
		row := &plan.Rows[i]
		b = binary.AppendVarint(b[:0], row.Dial)
		for _, stroke := range row.Strokes {
			b = binary.AppendVarint(b, int64(stroke.Port)+1)
			b = binary.AppendVarint(b, int64(plan.Notch(stroke.Port)))
		}
		h.Write(append(b, 0))
	}
	return hex.EncodeToString(h.Sum(nil)[:12])
}
