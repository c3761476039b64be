package punching

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"rollwright/making/bench"
	"rollwright/making/journal"
	"rollwright/paper/roll"
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
	paused  bool

	stand  int64          // where the crank stands when everything that was told has been done
	told   instructed     // the movement to the row that was told last
	moves  []bench.Move   // to the row shown; nil: it is only looked at
	torn   []journal.Hole // of the row shown, noted while it is shown: not cut by Next
	waits  string         // what keeps the row that Next left from being done
	checks []bool         // by row: a length to measure after it
	asked  string         // the words of a slip that lies so far ahead that they have to come twice
}

// instructed is a movement that the person was told to make.
type instructed struct {
	row      int // -1: none yet
	from, to int64
}

// New goes on where the journal ends: at the first row of which something is
// missing. now tells the time. The journal notes that work begins.
func New(p *bench.Plan, j *journal.Journal, now func() time.Time) (*Session, error) {
	s := &Session{plan: p, journal: j, now: now, stand: p.Start, told: instructed{row: -1}}
	if last, any := j.Last(); any {
		s.stand = dialOf(p, last.AlongMM)
	}
	s.compare()
	if err := s.number(); err != nil {
		return nil, err
	}
	s.measure()
	s.turnTo(s.missing(0))
	return s, j.Begin()
}

// number writes down the numbers of holes that the piece no longer has, so that
// they stay what they are.
func (s *Session) number() error {
	var unnoted []journal.Hole
	for _, p := range s.changes.Patch {
		if h := holeOf(p); s.journal.Number(h) == 0 {
			unnoted = append(unnoted, h)
		}
	}
	if unnoted == nil {
		return nil
	}
	return s.journal.List(unnoted)
}

// PatchNumbered is the hole to patch of that number.
func (s *Session) PatchNumbered(number int) (Place, bool) {
	for _, p := range s.Changes().Patch {
		if p.Number == number {
			return p, true
		}
	}
	return Place{}, false
}

// look shows row i, and the crank stays where it is.
func (s *Session) look(i int) { s.row, s.moves, s.torn, s.waits, s.asked = i, nil, nil, "", "" }

// turnTo shows row i. To a row that has to be punched it tells the way; a row
// that is punched is only looked at.
func (s *Session) turnTo(i int) {
	s.look(i)
	if !s.Finished() && !s.complete(i) {
		s.tell()
	}
}

// tell tells the movement to the row shown, once: from then on the crank counts
// as standing there.
func (s *Session) tell() {
	dial := s.plan.Rows[s.row].Dial
	s.moves = s.plan.Profile.Crank.Reach(s.stand, dial)
	if s.told.row != s.row || s.stand != dial {
		s.told = instructed{s.row, s.stand, dial}
	}
	s.stand = dial
}

// Go says that the paper is to be brought to the row that is looked at: its
// movement is told.
func (s *Session) Go() {
	if !s.Finished() && !s.paused && s.moves == nil {
		s.tell()
	}
}

// dialOf is the reading of the crank at a place that was recorded.
func dialOf(p *bench.Plan, mm float64) int64 {
	c := p.Profile.Crank
	return int64(math.Round(mm / c.TurnMM * float64(c.Parts)))
}

func (s *Session) compare() {
	s.waits = "" // its numbers are those of the list before
	s.changes = Compare(s.plan, s.journal.State)
	s.done = s.changes.done
	s.punches = s.changes.There
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
// follows; from a row that is only looked at, the one after it. Holes of the row
// that were noted as bad while it was shown are not counted: they come again, and
// the View says so until another row is shown.
func (s *Session) Next() error {
	if s.Finished() || s.paused {
		return nil
	}
	if s.moves == nil || s.complete(s.row) {
		s.forward()
		return nil
	}
	good := slices.DeleteFunc(s.holes(false), func(h journal.Hole) bool { return slices.Contains(s.torn, h) })
	if len(good) > 0 {
		if err := s.journal.Cut(good); err != nil {
			return err
		}
	}
	if s.checks[s.row] && len(good) > 0 {
		if err := s.journal.Measure(good[0]); err != nil {
			return err
		}
	}
	s.count(len(good))
	waits := s.waiting()
	s.turnTo(s.missing(s.row + 1))
	s.waits = waits
	return nil
}

// waiting says which patches the row shown has to wait for, as the list counts
// them; empty: none.
func (s *Session) waiting() string {
	var numbers []string
	for _, p := range s.changes.Patch {
		if slices.ContainsFunc(s.torn, samePlace(holeOf(p))) {
			numbers = append(numbers, strconv.Itoa(p.Number))
		}
	}
	switch len(numbers) {
	case 0:
		return ""
	case 1:
		return fmt.Sprintf("row %d still waits for patch %s, and comes again", s.row+1, numbers[0])
	}
	return fmt.Sprintf("row %d still waits for patches %s, and comes again", s.row+1, strings.Join(numbers, ", "))
}

// forward is the way back to the work from a row that is looked at: what lies
// before the row that was told last stays looked at, for nobody asked to bring
// the paper back.
func (s *Session) forward() {
	next := s.row + 1
	switch {
	case next >= len(s.plan.Rows):
		s.turnTo(s.missing(0))
	case next < s.told.row:
		s.look(next)
	default:
		s.turnTo(next)
	}
}

// count takes the row shown as cut, of which so many holes were missing.
func (s *Session) count(holes int) {
	if len(s.changes.Patch) > 0 { // one of them may have been cut anew, or left out
		s.compare()
		return
	}
	for k := range s.done[s.row] {
		s.done[s.row][k] = true
	}
	s.punches += holes
}

// Back shows the row before, to look at: what is cut stays cut, and the crank
// stays where it is. Go or Undo bring the paper there.
func (s *Session) Back() {
	if !s.paused && s.row > 0 {
		s.look(s.row - 1)
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
	s.turnTo(s.row)
	return true, nil
}

// Slip says that there is a wrong hole: under a port of the bar, at a place
// along the roll. It goes on the list of patches. Where the plan wants a hole, it
// is that hole that came out bad: it has to be patched, and cut again.
func (s *Session) Slip(port int, alongMM float64) error {
	_, err := s.slip(port, alongMM)
	return err
}

// Note is Slip for what a person types, read as ParseSlip reads it; after "missed"
// it is Missed, after "row" To. It says in a
// line what was taken down; the error says what is wrong with the words, or is
// the journal's. A place far ahead of what is punched is an error, too, until the
// same words come again at the same row.
func (s *Session) Note(text string) (said string, err error) {
	if rest, ok := afterWord(text, missedWord); ok {
		return s.Missed(rest)
	}
	if rest, ok := afterWord(text, rowWord); ok {
		return s.To(rest)
	}
	port, mm, err := s.ParseSlip(text)
	if err != nil {
		return "", err
	}
	if err := s.onPaper(mm); err != nil {
		return "", err
	}
	if err := s.ask(strings.TrimSpace(text), mm); err != nil {
		return "", err
	}
	p, err := s.slip(port, mm)
	if err != nil {
		return "", err
	}
	if p.Torn {
		return fmt.Sprintf("noted: %s belongs there but came out bad: patch it, then punch it again with row %d, which counts as not punched", s.Describe(p), p.Row+1), nil
	}
	return fmt.Sprintf("noted: %s is to patch; the list has %d", s.Describe(p), len(s.changes.Patch)), nil
}

// aheadMM is how far ahead of what is punched a wrong hole is taken without a
// question: a hand's breadth. Farther on no punch has been, and a figure more or
// a unit less was typed. Assumed.
const aheadMM = 100

// ask refuses a place far ahead of what is punched, once.
func (s *Session) ask(text string, alongMM float64) error {
	reached := max(s.changes.CutMM, s.HereMM(), s.plan.AlongMM(s.stand))
	if alongMM-reached <= aheadMM || s.asked == text {
		s.asked = ""
		return nil
	}
	s.asked = text
	lengths, zero := s.plan.Profile.Lengths, s.plan.AlongMM(s.plan.Start)
	return fmt.Errorf("%s from zero lies %s ahead of the work; given once more it is noted all the same",
		lengths.With(alongMM-zero), lengths.With(alongMM-reached))
}

func (s *Session) slip(port int, alongMM float64) (Place, error) {
	ports := s.plan.Roll.Instrument.Bar.Ports
	if port < 0 || port >= len(ports) {
		return Place{}, fmt.Errorf("there is no port %d; they run from 1 to %d", port+1, len(ports))
	}
	if err := s.onPaper(alongMM); err != nil {
		return Place{}, err
	}
	p := Place{Port: int32(port), Row: -1, AcrossMM: ports[port].AcrossMM, AlongMM: alongMM, Slip: true}
	record := s.journal.Slip
	if row, ok := s.wanted(p.Port, alongMM); ok {
		p.Row, p.AlongMM, p.Torn = row, s.plan.AlongMM(s.plan.Rows[row].Dial), true
		record = s.journal.Tear
	}
	h := holeOf(p)
	if s.journal.Slipped(h) {
		return Place{}, fmt.Errorf("%s is on the list of patches already", s.Describe(p))
	}
	if err := record(h); err != nil {
		return Place{}, err
	}
	s.compare()
	if p.Torn && p.Row == s.row {
		s.torn = append(s.torn, h)
	}
	if s.Finished() {
		s.turnTo(s.missing(0))
	}
	return p, nil
}

// onPaper refuses a place that lies beyond the paper of the roll.
func (s *Session) onPaper(alongMM float64) error {
	paper, lengths, zero := s.plan.Roll.Instrument.Paper, s.plan.Profile.Lengths, s.plan.AlongMM(s.plan.Start)
	end := s.plan.EndMM
	if last, any := s.journal.Last(); any {
		end = max(end, last.AlongMM)
	}
	end += paper.TrailerMM
	if !(alongMM >= -paper.LeaderMM && alongMM <= end) { // NaN is nowhere
		return fmt.Errorf("%s from zero is not on the paper, which ends at %s", lengths.With(alongMM-zero),
			lengths.With(end-zero))
	}
	return nil
}

// wanted is the row of the planned punch of a port that a hole at a place stands
// for: on the same slot, up to a fifth of a millimetre beyond it, the nearest.
func (s *Session) wanted(port int32, alongMM float64) (row int, ok bool) {
	strokes := strokesOf(s.plan)[port]
	for len(strokes) > 0 {
		n := 1
		for n < len(strokes) && strokes[n].slot == strokes[0].slot {
			n++
		}
		slot := strokes[:n]
		strokes = strokes[n:]
		if alongMM < slot[0].mm-nearAlongMM || alongMM > slot[n-1].mm+nearAlongMM {
			continue
		}
		nearest := slices.MinFunc(slot, func(a, b stroke) int {
			return cmp.Compare(math.Abs(a.mm-alongMM), math.Abs(b.mm-alongMM))
		})
		return nearest.row, true
	}
	return 0, false
}

// HereMM is where the row shown lies along the roll, or the last row when all
// are done: where a slip is most likely.
func (s *Session) HereMM() float64 {
	if n := len(s.plan.Rows); n > 0 {
		return s.plan.AlongMM(s.plan.Rows[min(s.row, n-1)].Dial)
	}
	return 0
}

// holeOf is a place as the journal holds it.
func holeOf(p Place) journal.Hole { return journal.Hole{AcrossMM: p.AcrossMM, AlongMM: p.AlongMM} }

// samePlace reports whether holes stand at the place of h, as the journal prints
// it: what comes back from there is rounded.
func samePlace(h journal.Hole) func(journal.Hole) bool {
	return func(o journal.Hole) bool {
		return roll.Printed(o.AcrossMM) == roll.Printed(h.AcrossMM) && roll.Printed(o.AlongMM) == roll.Printed(h.AlongMM)
	}
}

// Patched says that a hole on the list of patches is closed again. One of the row
// shown is punched with it.
func (s *Session) Patched(p Place) error {
	h := holeOf(p)
	if err := s.journal.Patch(h); err != nil {
		return err
	}
	s.torn = slices.DeleteFunc(s.torn, samePlace(h))
	s.compare()
	if s.Finished() {
		s.turnTo(s.missing(0)) // a patched hole may have to be cut again
	}
	return nil
}

// LastCut is the row that was punched last, in words, and where the crank stood
// then; empty when nothing is cut. It is what to compare with the bench before
// going on.
func (s *Session) LastCut() string {
	last, any := s.journal.Last()
	if !any {
		return ""
	}
	crank, dial := s.plan.Profile.Crank, dialOf(s.plan, last.AlongMM)
	row := slices.IndexFunc(s.plan.Rows, func(r bench.Row) bool {
		return math.Abs(s.plan.AlongMM(r.Dial)-last.AlongMM) <= nearAlongMM
	})
	text := "last cut: "
	if s.journal.Undone(last) && !s.journal.Torn(last) {
		text = "last row, taken back: "
	}
	if row >= 0 {
		text += fmt.Sprintf("row %d, ", row+1)
		dial = s.plan.Rows[row].Dial
		var names []string
		for k, st := range s.plan.Rows[row].Strokes {
			if s.done[row][k] {
				names = append(names, s.plan.PortName(st.Port))
			}
		}
		if len(names) > 0 {
			text += strings.Join(names, " ") + ", "
		}
	}
	return text + fmt.Sprintf("%s, %s", s.plan.Profile.Lengths.With(last.AlongMM-s.plan.AlongMM(s.plan.Start)),
		stands(crank, s.plan, dial))
}

// stands is a reading of the crank in words.
func stands(crank bench.Crank, plan *bench.Plan, dial int64) string {
	return crank.Stands(plan.Reading(dial))
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
