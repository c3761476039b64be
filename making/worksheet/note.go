package worksheet

import (
	"fmt"
	"strings"

	"rollwright/draw"
	"rollwright/draw/typeface"
	"rollwright/making/bench"
)

// words are a line between the rows: something to do besides punching.
type words struct{ what, how, blank string }

// checkWords is the length to measure after row i.
func (s *sheet) checkWords(i int) words {
	return words{
		"measure", fmt.Sprintf("zero line to the holes of row %s: %s", count(i+1),
			s.plan.Profile.Lengths.With(s.plan.RunningMM(s.plan.Rows[i].Dial))),
		"found ______________",
	}
}

// stopWords is a line to draw across the paper on the way, or what else is done
// there.
func (s *sheet) stopWords(stop bench.Stop) words {
	if stop.Do != "" {
		return words{what: stop.Do, how: fmt.Sprintf("%s, at %s %s", stop.Name, s.counter(),
			s.turns(s.plan.Reading(stop.Dial)))}
	}
	return words{what: "draw a line", how: fmt.Sprintf("across the margins at %s %s (%s): %s", s.counter(),
		s.turns(s.plan.Reading(stop.Dial)), s.plan.Profile.Lengths.With(s.plan.RunningMM(stop.Dial)), stop.Name)}
}

// counter is what counts the paper.
func (s *sheet) counter() string {
	if s.plan.Profile.Crank.Clicks() {
		return "click"
	}
	return "crank"
}

// Where a note's words stand: so far from the left edge, and from what to how.
const (
	noteMM     = 8
	noteGapMM  = 2.4
	noteFitMM  = 0.8 // at least, from how to the blank
	noteBarMM  = 5.4
	barWidthMM = 1
)

// noteLines are the lines of how a note is worded: of the first, what takes up the
// beginning, of the last, the blank the end.
func (s *sheet) noteLines(w words) []string {
	width := s.width - noteMM
	first := width - typeface.SansBold.Width(w.what, textMM) - noteGapMM
	blank := 0.0
	if w.blank != "" {
		blank = typeface.Sans.Width(w.blank, textMM) + noteFitMM
	}
	how := strings.Join(strings.Fields(typeface.Clean(w.how)), " ")
	if s.columns == 1 || typeface.Sans.Width(how, textMM)+blank <= first {
		return []string{how}
	}
	head := typeface.Sans.Wrap(how, textMM, first)[0]
	lines := []string{head}
	if rest := how[len(head):]; rest != "" {
		lines = append(lines, typeface.Sans.Wrap(rest, textMM, width-blank)...)
	} else {
		lines = append(lines, "")
	}
	return lines
}

// noteHeight is what a note takes.
func (s *sheet) noteHeight(w words) float64 { return rowMM + float64(len(s.noteLines(w))-1)*lineMM }

// note is a line between the rows.
func (t *tablePage) note(w words) {
	high := t.noteHeight(w)
	t.box()
	t.marks = append(t.marks, (&draw.Path{Fill: draw.Brass}).Rect(draw.Box(t.x+noteBarMM, t.y+0.9,
		t.x+noteBarMM+barWidthMM, t.y+high-0.9)))
	head := t.text(t.x+noteMM, t.y+baseMM, textMM, w.what, draw.Start, typeface.SansBold, draw.InkDark)
	x, base := t.x+noteMM+head.WidthMM()+noteGapMM, t.y+baseMM
	for _, line := range t.noteLines(w) {
		if line != "" {
			t.text(x, base, textMM, line, draw.Start, typeface.Sans, draw.InkDark)
		}
		x, base = t.x+noteMM, base+lineMM
	}
	if w.blank != "" {
		t.text(t.end, base-lineMM, textMM, w.blank, draw.End, typeface.Sans, draw.InkSecond)
	}
	t.y += high
	t.rules.Line(t.x, t.y, t.end, t.y)
}
