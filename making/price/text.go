package price

import (
	"encoding/json"
	"fmt"
	"io"
	"math"
	"slices"
	"strings"

	"rollwright/music/pitch"
	"rollwright/text/say"
)

// WriteJSON writes a bill for programs: JSON, two blanks a level, the same bytes
// for the same bill. An error is that of w.
func WriteJSON(w io.Writer, b *Bill) error {
	e := json.NewEncoder(w)
	e.SetIndent("", "  ")
	e.SetEscapeHTML(false)
	return e.Encode(b)
}

// Sum is the bill in a sentence: "3473 punches in 3259 rows, 8 h 27 min".
func (c Cost) Sum() string {
	return fmt.Sprintf("%s in %s, %s", say.Count(c.Punches, "punch"), say.Count(c.Rows, "row"), say.Work(c.WorkSec))
}

// WriteText writes a bill for a person. An error is that of w.
func WriteText(w io.Writer, b *Bill) error {
	t := &text{bill: b}
	t.head()
	t.voices()
	t.unheard()
	t.savings()
	_, err := io.WriteString(w, t.out.String())
	return err
}

// text is a bill in the writing.
type text struct {
	out  strings.Builder
	bill *Bill
}

func (t *text) line(format string, a ...any) {
	t.out.WriteString(strings.TrimRight(fmt.Sprintf(format, a...), " ") + "\n")
}

func (t *text) head() {
	assumed := "from the journal"
	if t.bill.Assumed {
		assumed = "assumed"
	}
	t.line("By hand at %s: %s", t.bill.Bench, t.bill.Whole.Sum())
	t.line("at %s (%s)", t.bill.Pace.Text(), assumed)
}

// nameColumns is how wide the names of the table are at most.
const nameColumns = 38

// voices is the table: a line for each voice, and below it one for each of its
// decisions where it has several.
func (t *text) voices() {
	type row struct {
		name string
		cost Cost
		sub  bool
	}
	var rows []row
	for _, v := range t.bill.Voices {
		rows = append(rows, row{v.Name, v.Cost, false})
		if len(v.Lines) == 1 && v.Lines[0].What == Notes {
			rows[len(rows)-1].name += ", " + v.Lines[0].name()
			continue
		}
		for _, l := range v.Lines {
			rows = append(rows, row{"  " + l.name(), l.Cost, true})
		}
	}
	wide := len("rows of several voices")
	for i := range rows {
		rows[i].name = clip(rows[i].name, nameColumns)
		wide = max(wide, len([]rune(rows[i].name)))
	}
	var costs []float64
	for _, r := range rows {
		if !r.sub {
			costs = append(costs, r.cost.WorkSec)
		}
	}
	minutes := wholeMinutes(costs)
	t.line("")
	t.line("%-*s %8s %8s %8s  %s", wide, "", "slots", "punches", "own rows", "time")
	for _, r := range rows {
		name := r.name + strings.Repeat(" ", wide-len([]rune(r.name)))
		work := ""
		if !r.sub {
			work, minutes = say.Work(float64(60*minutes[0])), minutes[1:]
		} else {
			work = "  " + say.Work(r.cost.WorkSec)
		}
		t.line("%s %8d %8d %8d  %s", name, r.cost.Slots, r.cost.Punches, r.cost.Rows, work)
	}
	if t.bill.Shared > 0 {
		t.line("%-*s %8s %8s %8d", wide, "rows of several voices", "", "", t.bill.Shared)
	}
	c := t.bill.Whole
	t.line("%-*s %8d %8d %8d  %s", wide, "together", c.Slots, c.Punches, c.Rows, say.Work(c.WorkSec))
	t.line("")
	t.line("A row that several need counts its time to each by its strokes. A slot that two")
	t.line("voices share counts with the first.")
}

func (l *Line) name() string {
	switch {
	case l.What != Notes:
		return string(l.What)
	case l.Gesture != "":
		return l.Gesture + ", hold " + l.Hold
	}
	return "hold " + l.Hold
}

// clip is text in so many columns.
func clip(text string, columns int) string {
	r := []rune(text)
	if len(r) <= columns {
		return text
	}
	return string(r[:columns-1]) + "…"
}

// wholeMinutes are times in minutes that add up to all of it, as say.Work rounds
// that: those with the largest remainders are rounded up.
func wholeMinutes(sec []float64) []int {
	sum := 0.0
	out, order := make([]int, len(sec)), make([]int, len(sec))
	left := 0
	for i, s := range sec {
		sum += s
		out[i], order[i] = int(s/60), i
		left -= out[i]
	}
	left += int(math.Ceil(sum/60 - 1e-9))
	rest := func(i int) float64 { return sec[i]/60 - float64(out[i]) }
	slices.SortStableFunc(order, func(a, b int) int {
		switch x, y := rest(a), rest(b); {
		case x > y:
			return -1
		case x < y:
			return 1
		}
		return 0
	})
	for k := 0; k < left && k < len(order); k++ {
		out[order[k]]++
	}
	return out
}

func (t *text) unheard() {
	if len(t.bill.Unheard) == 0 {
		return
	}
	t.line("")
	t.line("Open after the note has sunk 60 dB (sound bank, mf, never under pedal):")
	for _, u := range t.bill.Unheard {
		t.line("  %s: %s of %s; most in %s at %s, sunk after %.1f s, held for %.1f s", u.Voice,
			say.Count(u.Punches, "punch"), say.Count(u.Slots, "slot"), pitch.Name(u.Key), say.Clock(u.AtSec, 1), u.SinkSec,
			u.HeldSec)
	}
}

func (t *text) savings() {
	if len(t.bill.Savings) == 0 && t.bill.Untried == 0 {
		return
	}
	t.line("")
	t.line("What a shorter hold would save (each tried by itself, all rows ordered anew):")
	voice := "\x00"
	for _, s := range t.bill.Savings {
		if s.Voice != voice {
			voice = s.Voice
			name := voice
			if name == "" {
				name = "all voices"
			}
			t.line("  %s", name)
		}
		t.line("    hold = %-12s %s", s.Hold, s.saves())
	}
	if n := t.bill.Untried; n > 0 {
		t.line("  %s with less to punch: not tried", say.Count(n, "voice"))
	}
}

func (s *Saving) saves() string {
	work := say.Work(60 * math.Floor(s.Cost.WorkSec/60)) // never more than comes out
	return fmt.Sprintf("%s: %s, %s", work, say.Count(s.Cost.Punches, "punch"), say.Count(s.Cost.Rows, "row"))
}
