package punching

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"rollwright/making/bench"
	"rollwright/making/journal"
	"rollwright/text/say"
)

// View is what a person at the bench has to see, for any screen: numbers as
// they stand on crank and rack, and words ready to show or to speak.
type View struct {
	Row      int  `json:"row"` // from 1
	Rows     int  `json:"rows"`
	Finished bool `json:"finished"`
	Paused   bool `json:"paused"`
	Done     bool `json:"done"` // the row shown is punched already: it is being looked back at

	Looking bool   `json:"looking"` // the row is only looked back at: the crank stays where it is
	Clicks  bool   `json:"clicks"`  // the crank is a ratchet: counts are clicks
	Mind    string `json:"mind"`    // what to be careful about before this row is punched; empty: nothing
	// how the paper comes to the row: forward, or back and forward; none while looking back
	Moves    []Move `json:"moves"`
	Reading  string `json:"reading"`  // of the crank at the row
	Place    string `json:"place"`    // length from the zero line, with its unit
	Leftward bool   `json:"leftward"` // the strokes go from right to left
	// in the order in which they are made; of a row cut in part, those that are still to strike
	Strokes []Stroke `json:"strokes"`
	Cut     int      `json:"cut"`     // strokes of the row that are there already and are not named
	Lines   []string `json:"lines"`   // to draw across the paper on the way
	Measure string   `json:"measure"` // length from the zero line to check after the row; empty: none

	Punches   int     `json:"punches"` // done
	OfPunches int     `json:"of_punches"`
	StrokeSec float64 `json:"stroke_s"` // the pace: for every stroke so much
	RowSec    float64 `json:"row_s"`    // and for every row so much
	Assumed   bool    `json:"assumed"`
	Left      string  `json:"left"` // work that is left, in words; empty when finished
	Patches   int     `json:"patches"`

	Waits string `json:"waits"` // why the row that Next left is not done; empty: it is
	Say   string `json:"say"`   // the row as a sentence to speak

	LeftSec  float64   `json:"left_s"`
	Sessions int       `json:"sessions"`
	DoneAt   time.Time `json:"done_at"` // at this pace without a break
}

// Move is a stretch of cranking.
type Move struct {
	Back bool   `json:"back"`
	Text string `json:"text"` // turns and parts: "2 + 07"
	Say  string `json:"say"`  // "2 turns and 7 parts"; empty: the paper stays
	To   string `json:"to"`   // what the crank reads then, "2 + 07"; before the zero line in words
}

// Stroke is one punch of the row.
type Stroke struct {
	Number int    `json:"number"` // of notch or port, as on the bench
	Port   int    `json:"port"`   // from 1
	Name   string `json:"name"`
	N      int    `json:"n"` // which punch of its slot
	Of     int    `json:"of"`
	Done   bool   `json:"done"`
}

// Chain says which punch of a chain the stroke is: "3/9", or nothing for a
// single stroke.
func (s Stroke) Chain() string {
	if s.Of == 1 {
		return ""
	}
	return strconv.Itoa(s.N) + "/" + strconv.Itoa(s.Of)
}

// View is the row shown.
func (s *Session) View() View {
	v := View{
		Row: s.row + 1, Rows: len(s.plan.Rows), Finished: s.Finished(), Paused: s.paused,
		Punches: s.punches, OfPunches: s.plan.Punches, Patches: len(s.changes.Patch), Waits: s.waits,
	}
	s.pace(&v)
	if v.Finished {
		v.Row = v.Rows
		v.Say = "All rows are punched."
		return v
	}
	s.show(&v)
	v.Say = v.sentence()
	return v
}

// show fills in the row.
func (s *Session) show(v *View) {
	row, crank := &s.plan.Rows[s.row], s.plan.Profile.Crank
	v.Done, v.Leftward = s.complete(s.row), row.Leftward
	v.Reading = crank.Text(s.plan.Reading(row.Dial))
	v.Place = s.plan.Profile.Lengths.With(s.plan.RunningMM(row.Dial))
	v.Clicks, v.Looking, v.Moves = crank.Clicks(), s.moves == nil, []Move{}
	at := s.told.from
	if len(s.moves) == 1 && s.moves[0].Parts == 0 {
		at = row.Dial
	}
	for _, m := range s.moves {
		turns, parts := crank.Split(m.Parts)
		if m.Back {
			at -= m.Parts
		} else {
			at += m.Parts
		}
		v.Moves = append(v.Moves, Move{m.Back, crank.Text(turns, parts), sayTurns(crank, turns, parts),
			crank.Counter(s.plan.Reading(at))})
	}
	for k, stroke := range row.Strokes {
		if s.done[s.row][k] && !v.Done && !v.Looking {
			v.Cut++
			continue
		}
		v.Strokes = append(v.Strokes, Stroke{
			Number: s.plan.Notch(stroke.Port), Port: int(stroke.Port) + 1,
			Name: s.plan.PortName(stroke.Port),
			N:    int(stroke.N), Of: int(stroke.Of), Done: s.done[s.row][k] && !v.Done,
		})
	}
	if s.checks[s.row] {
		v.Measure = v.Place
	}
	if !v.Looking {
		v.Lines = s.lines(s.told.from, row.Dial)
		v.Mind = s.mind()
	}
}

// lines are those to draw on the way from one reading to another.
func (s *Session) lines(from, to int64) []string {
	var out []string
	for _, stop := range s.plan.Stops {
		if stop.Dial > from && stop.Dial <= to || from == s.plan.Start && stop.Dial == from {
			out = append(out, fmt.Sprintf("at %s draw a line across the margins: %s",
				stands(s.plan.Profile.Crank, s.plan, stop.Dial), stop.Name))
		}
	}
	return out
}

// mind is what may go wrong with the row shown: a movement that was told before
// and may have been made or not, a bad hole that is not patched yet.
func (s *Session) mind() string {
	row := &s.plan.Rows[s.row]
	var out []string
	if s.moves[0].Parts == 0 && s.told.row == s.row && s.told.from != s.told.to {
		out = append(out, "the way here was told before you looked back: the paper must stand at "+
			stands(s.plan.Profile.Crank, s.plan, row.Dial))
	}
	if s.moves[0].Back {
		out = append(out, "before you go back the paper must stand at "+stands(s.plan.Profile.Crank, s.plan, s.told.from))
	}
	for k, st := range row.Strokes {
		across, along := s.plan.StrokeMM(s.row, st)
		h := journal.Hole{AcrossMM: across, AlongMM: along}
		if !s.done[s.row][k] && s.journal.Torn(h) && !slices.Contains(s.torn, h) {
			out = append(out, fmt.Sprintf("patch %d %s here before you punch it again", s.plan.Notch(st.Port),
				s.plan.PortName(st.Port)))
		}
	}
	return strings.Join(out, "; ")
}

// pace fills in how fast the work goes, when it will be done.
func (s *Session) pace(v *View) {
	pace := s.journal.Pace(s.plan.Profile.Pace)
	if !pace.Known() {
		pace, v.Assumed = s.plan.Profile.Pace, true
	}
	v.StrokeSec, v.RowSec = pace.StrokeSec, pace.RowSec
	rows := 0
	for _, row := range s.done {
		if slices.Contains(row, false) {
			rows++
		}
	}
	v.LeftSec = pace.WorkSec(v.OfPunches-v.Punches, rows)
	v.Sessions = bench.Sessions(v.LeftSec, s.plan.Profile.Pace.SessionSec)
	v.DoneAt = s.now().Add(time.Duration(v.LeftSec * float64(time.Second)))
	if v.OfPunches > v.Punches {
		v.Left = say.Work(v.LeftSec)
	}
}

func sayTurns(c bench.Crank, turns, parts int64) string {
	if turns == 0 && parts == 0 {
		return ""
	}
	if c.Parts == 1 {
		return number(turns, "click")
	}
	switch {
	case parts == 0:
		return number(turns, "turn")
	case turns == 0:
		return number(parts, "part")
	}
	return number(turns, "turn") + " and " + number(parts, "part")
}

func number(n int64, noun string) string {
	if n == 1 {
		return "1 " + noun
	}
	return strconv.FormatInt(n, 10) + " " + noun + "s"
}

// sentence is the row as it may be spoken.
func (v *View) sentence() string {
	var b strings.Builder
	if v.Looking {
		b.WriteString("Looking back, the crank stays. ")
	}
	for i, m := range v.Moves {
		switch {
		case m.Back:
			b.WriteString("Back " + m.Say + ", ")
		case i > 0:
			b.WriteString("then forward " + m.Say + ", ")
		case m.Say == "":
			b.WriteString("Stay here, ")
		default:
			b.WriteString("Forward " + m.Say + ", ")
		}
	}
	way := "left to right"
	if v.Leftward {
		way = "right to left"
	}
	if len(v.Strokes) > 1 {
		b.WriteString(way + ": ")
	}
	if v.Cut > 0 {
		fmt.Fprintf(&b, "only %d of %d: ", len(v.Strokes), len(v.Strokes)+v.Cut)
	}
	for i, s := range v.Strokes {
		if i > 0 {
			b.WriteString(", ")
		}
		b.WriteString(strconv.Itoa(s.Number))
	}
	b.WriteString(".")
	return b.String()
}
