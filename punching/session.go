package punching

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"time"

	"rollwright/bench"
	"rollwright/journal"
)

// Session is the work on one roll: which row is next, what has been said about
// it.
type Session struct {
	plan    *bench.Plan
	journal *journal.Journal
	now     func() time.Time
	changes *Changes
	done    [][]bool
	punches int // strokes that are done
	row     int // the row shown; len(plan.Rows): all are done
	stand   int64
	paused  bool
}

// New goes on where the journal ends: at the first row of which something is
// missing. now tells the time. The journal notes that work begins.
func New(p *bench.Plan, j *journal.Journal, now func() time.Time) (*Session, error) {
	s := &Session{plan: p, journal: j, now: now, stand: p.Start}
	if last, any := j.Last(); any {
		s.stand = dialOf(p, last.AlongMM)
	}
	s.compare()
	s.row = s.missing(0)
	return s, j.Begin()
}

// dialOf is the reading of the crank at a place that was recorded.
func dialOf(p *bench.Plan, mm float64) int64 {
	c := p.Profile.Crank
	return int64(math.Round(mm / c.TurnMM * float64(c.Parts)))
}

func (s *Session) compare() {
	s.changes = Compare(s.plan, s.journal.State)
	s.done = s.changes.done
	s.punches = 0
	for _, row := range s.done {
		for _, d := range row {
			if d {
				s.punches++
			}
		}
	}
}

// complete reports whether every stroke of row i is done.
func (s *Session) complete(i int) bool { return !slices.Contains(s.done[i], false) }

// missing is the first row from i on that is not complete, else the first of
// all that is not, else the number of rows.
func (s *Session) missing(i int) int {
	n := len(s.done)
	for k := range n {
		if at := (i + k) % n; !s.complete(at) {
			return at
		}
	}
	return n
}

// Finished reports whether nothing is left to punch.
func (s *Session) Finished() bool { return s.row >= len(s.plan.Rows) }

// holes are those of the row shown that are done, or that are not.
func (s *Session) holes(done bool) []journal.Hole {
	var out []journal.Hole
	for k, stroke := range s.plan.Rows[s.row].Strokes {
		if s.done[s.row][k] == done {
			across, along := s.plan.StrokeMM(s.row, stroke)
			out = append(out, journal.Hole{AcrossMM: across, AlongMM: along})
		}
	}
	return out
}

// Next says that the row shown is punched. It is on the disk when Next returns;
// after an error the row is still the one shown. The next row that is missing
// follows; from a row that was looked back at, the one after it.
func (s *Session) Next() error {
	if s.Finished() || s.paused {
		return nil
	}
	missing := s.holes(false)
	if len(missing) == 0 {
		s.row++
		if s.row >= len(s.plan.Rows) {
			s.row = s.missing(0)
		}
		return nil
	}
	if err := s.journal.Cut(missing); err != nil {
		return err
	}
	for k := range s.done[s.row] {
		s.done[s.row][k] = true
	}
	s.punches += len(missing)
	s.stand = s.plan.Rows[s.row].Dial
	s.row = s.missing(s.row + 1)
	return nil
}

// Back shows the row before. What is cut stays cut.
func (s *Session) Back() {
	if !s.paused && s.row > 0 {
		s.row--
	}
}

// Undo says that the row shown is not punched after all. It reports false when
// nobody has said that it is.
func (s *Session) Undo() (bool, error) {
	if s.Finished() || s.paused {
		return false, nil
	}
	cut := s.holes(true)
	if len(cut) == 0 {
		return false, nil
	}
	if err := s.journal.Undo(cut); err != nil {
		return false, err
	}
	s.compare()
	return true, nil
}

// Slip says that there is a wrong hole: under a port of the bar, at a place
// along the roll. It goes on the list of patches.
func (s *Session) Slip(port int, alongMM float64) error {
	ports := s.plan.Roll.Instrument.Bar.Ports
	if port < 0 || port >= len(ports) {
		return fmt.Errorf("there is no port %d; they run from 1 to %d", port+1, len(ports))
	}
	if math.IsNaN(alongMM) || math.Abs(alongMM) > 1e6 {
		return errors.New("that place is not on the paper")
	}
	h := journal.Hole{AcrossMM: ports[port].AcrossMM, AlongMM: alongMM}
	if slices.Contains(s.journal.Holes(), journal.Hole{AcrossMM: round4(h.AcrossMM), AlongMM: round4(h.AlongMM)}) {
		return errors.New("the hole there is one that belongs, or is on the list already")
	}
	if err := s.journal.Slip(h); err != nil {
		return err
	}
	s.compare()
	return nil
}

func round4(mm float64) float64 { return math.Floor(mm*1e4+0.5) / 1e4 }

// HereMM is where the row shown lies along the roll, or the last row when all
// are done: where a slip is most likely.
func (s *Session) HereMM() float64 {
	if n := len(s.plan.Rows); n > 0 {
		return s.plan.AlongMM(s.plan.Rows[min(s.row, n-1)].Dial)
	}
	return 0
}

// Patched says that a hole on the list of patches is closed again.
func (s *Session) Patched(p Place) error {
	if err := s.journal.Patch(journal.Hole{AcrossMM: p.AcrossMM, AlongMM: p.AlongMM}); err != nil {
		return err
	}
	s.compare()
	s.row = s.missing(min(s.row, len(s.done)))
	return nil
}

// Changes is what lies between paper and plan now, slips included.
func (s *Session) Changes() *Changes { return Compare(s.plan, s.journal.State) }

// Pause stops the clock of the pace; Resume goes on.
func (s *Session) Pause() error {
	if s.paused {
		return nil
	}
	s.paused = true
	return s.journal.Pause()
}

// Resume goes on after Pause.
func (s *Session) Resume() error {
	if !s.paused {
		return nil
	}
	s.paused = false
	return s.journal.Resume()
}

// Close notes that work ends, and closes the journal.
func (s *Session) Close() error {
	return errors.Join(s.journal.End(), s.journal.Close())
}
