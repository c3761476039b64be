package punching

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"rollwright/making/bench"
	"rollwright/making/journal"
)

// The words that Note knows before what they are about.
const (
	missedWord = "missed"
	rowWord    = "row"
)

// afterWord is what follows a word, if the text begins with it.
func afterWord(text, word string) (rest string, ok bool) {
	head, rest, _ := strings.Cut(strings.TrimSpace(text), " ")
	return strings.TrimSpace(rest), strings.EqualFold(head, word)
}

// Missed says that a hole is missing although its row counts as punched: the
// notch was left out. It is named as a slip is, and nothing is to patch; its row
// comes again, with this hole alone.
func (s *Session) Missed(text string) (said string, err error) {
	port, mm, err := s.ParseSlip(text)
	if err != nil {
		return "", err
	}
	row, ok := s.planned(int32(port), mm, !strings.Contains(text, "@"))
	name := s.plan.PortName(int32(port))
	if !ok {
		return "", fmt.Errorf("row %d has no hole for %d %s; look back at the row where it is missing, or write where after an @", s.row+1, s.plan.Notch(int32(port)), name)
	}
	k := slices.IndexFunc(s.plan.Rows[row].Strokes, func(st bench.Stroke) bool { return int(st.Port) == port })
	if !s.done[row][k] {
		return "", fmt.Errorf("%d %s of row %d does not count as punched: it comes", s.plan.Notch(int32(port)), name, row+1)
	}
	across, along := s.plan.StrokeMM(row, s.plan.Rows[row].Strokes[k])
	if err := s.journal.Undo([]journal.Hole{{AcrossMM: across, AlongMM: along}}); err != nil {
		return "", err
	}
	s.compare()
	if s.Finished() {
		s.turnTo(s.missing(0))
	}
	return fmt.Sprintf("noted: %d %s of row %d is missing; the row comes again with it alone", s.plan.Notch(int32(port)),
		name, row+1), nil
}

// planned is the row with a punch of a port at a place: the row shown itself, or
// the nearest that holds it.
func (s *Session) planned(port int32, alongMM float64, here bool) (int, bool) {
	if here {
		row := min(s.row, len(s.plan.Rows)-1)
		return row, row >= 0 && slices.ContainsFunc(s.plan.Rows[row].Strokes,
			func(st bench.Stroke) bool { return st.Port == port })
	}
	return s.wanted(port, alongMM)
}

// To shows another row, to look at: by its number, "120", by its length from the
// zero line, "@ 117.5", or by a time of the music, "1:20.5" or "80 s": the first
// row there or after. The crank stays where it is until Go.
func (s *Session) To(text string) (said string, err error) {
	text = strings.TrimSpace(text)
	if len(s.plan.Rows) == 0 || s.paused {
		return "", fmt.Errorf("there is no row to go to now")
	}
	row, err := s.rowOf(text)
	if err != nil {
		return "", err
	}
	s.look(row)
	return fmt.Sprintf("looking at row %d; the crank stays until you bring the paper there", row+1), nil
}

// rowOf reads which row a person means.
func (s *Session) rowOf(text string) (int, error) {
	if place, ok := strings.CutPrefix(text, "@"); ok {
		mm, err := s.lengthOf(strings.TrimSpace(place))
		if err != nil {
			return 0, err
		}
		return s.rowAt(mm + s.plan.AlongMM(s.plan.Start)), nil
	}
	if n, err := strconv.Atoi(text); err == nil {
		if n < 1 || n > len(s.plan.Rows) {
			return 0, fmt.Errorf("there is no row %d; they run from 1 to %d", n, len(s.plan.Rows))
		}
		return n - 1, nil
	}
	sec, ok := clock(text)
	if !ok {
		return 0, fmt.Errorf("%q is no row: write its number, such as 120, a length from the zero line, @ 117.5, or a time of the music, 1:20.5", text)
	}
	in := s.plan.Roll.Instrument
	return s.rowAt(in.Transport.AlongMM(sec - in.Action.DelaySec)), nil
}

// rowAt is the first row at a place or after it, else the last.
func (s *Session) rowAt(alongMM float64) int {
	for i := range s.plan.Rows {
		if s.plan.AlongMM(s.plan.Rows[i].Dial)+nearAlongMM >= alongMM {
			return i
		}
	}
	return len(s.plan.Rows) - 1
}

// clock reads a time of the music: "1:20.5", "80.5 s".
func clock(text string) (sec float64, ok bool) {
	if seconds, isSec := strings.CutSuffix(text, "s"); isSec {
		x, err := strconv.ParseFloat(strings.TrimSpace(seconds), 64)
		return x, err == nil && x >= 0 && x < 1e6
	}
	minutes, seconds, colon := strings.Cut(text, ":")
	m, err := strconv.Atoi(minutes)
	x, err2 := strconv.ParseFloat(seconds, 64)
	ok = colon && err == nil && err2 == nil && m >= 0 && x >= 0 && x < 60 && !math.IsInf(x, 0)
	return 60*float64(m) + x, ok
}
