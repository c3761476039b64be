package plan

import (
	"fmt"
	"slices"
	"strings"

	"rollwright/text/say"
)

// Bounds of what is written about pairs, unless all are asked for.
const (
	textPairs     = 10 // in full
	overviewFrom  = 4  // pairs that are worth a list
	overviewPairs = 66 // lines of it: those of twelve voices
)

func (t *text) pairs() {
	pairs := t.plan.Pairs
	if len(pairs) >= overviewFrom {
		t.overview(pairs)
	}
	full := t.few(len(pairs), textPairs)
	for i := range pairs[:full] {
		t.pair(&pairs[i])
	}
	if rest := len(pairs) - full; rest > 0 {
		t.line("")
		t.line("%s not written in full here", say.Count(rest, "more pair is"))
	}
	if t.plan.NotCompared != "" {
		t.line("")
		for _, line := range wrap(t.plan.NotCompared, 0) {
			t.line("%s", line)
		}
	}
}

// overview writes a line for each pair.
func (t *text) overview(pairs []Pair) {
	t.line("")
	t.line("Pairs of voices")
	t.line("  %s%s%s%s", pad("", 24), pad("speeds", 18), pad("meet", 22), "closest miss")
	lines := t.few(len(pairs), overviewPairs)
	for i := range pairs[:lines] {
		p := &pairs[i]
		ratio, meet, miss := "change", "never", "none"
		if p.Ratio != nil {
			ratio = p.Ratio.Exact
			if ratio == "" || len(ratio) > 16 {
				ratio = decimal(p.Ratio.Decimal, 6)
			}
		}
		if n := p.Meetings.Count; n == 1 {
			meet = "once, at " + clockTime(p.Meetings.First.At.Decimal)
		} else if n > 1 {
			meet = fmt.Sprintf("%d, from %s", n, clockTime(p.Meetings.First.At.Decimal))
		}
		if len(p.NearMisses) > 0 {
			miss = duration(p.NearMisses[0].Distance.Decimal)
		} else if p.Rest != nil {
			miss = "none under " + duration(p.Rest.Decimal)
		}
		t.line("  %s%s%s%s", pad(cut(p.A, 11)+" "+cut(p.B, 11), 24), pad(ratio, 18), pad(meet, 22), miss)
	}
	if rest := len(pairs) - lines; rest > 0 {
		t.line("  and %d more", rest)
	}
}

// pair writes what is between two voices.
func (t *text) pair(p *Pair) {
	t.line("")
	t.line("%s with %s", p.A, p.B)
	t.ratio(p)
	if p.Bent {
		t.item("time", "a tempo path bends the time of both in one way: what falls together in nominal time is heard together")
	}
	t.item("meet", "%s", meetText(p))
	t.item("because", "%s", p.Reason)
	if p.Nearest != "" {
		t.item("nearest", "%s", p.Nearest)
	}
	t.item("next", "%s", nextText(p))
	if g := p.Together; g != nil {
		t.item("together", "the cycles of both would end together after %s of %s and %s of %s: %s",
			countBig(g.CyclesA), p.A, countBig(g.CyclesB), p.B, exactDuration(g.Seconds)+nominalWord(p.Bent))
	}
	t.misses(p)
	t.equal(p)
	t.samePlace(p)
	t.lag(p)
}

func nominalWord(bent bool) string {
	if bent {
		return " of nominal time"
	}
	return ""
}

func countBig(n string) string {
	if n == "1" {
		return "1 complete cycle"
	}
	return n + " complete cycles"
}

func (t *text) ratio(p *Pair) {
	if p.Ratio == nil {
		t.item("speeds", "no one ratio: a tempo changes")
		return
	}
	text := fmt.Sprintf("%s : %s = %s", p.B, p.A, p.Ratio.both(7))
	if p.Ratio.Exact != "1" {
		text += " (units while " + p.A + " plays one)"
	}
	switch p.Commensurable {
	case "no":
		text += "; no common measure"
	case "found":
		text += "; found, neither rational nor irrational"
	case "not known":
		text += "; whether there is a common measure is not known"
	}
	t.item("speeds", "%s", text)
	if close := slices.DeleteFunc(slices.Clone(p.Convergents), func(c string) bool { return c == "0" }); len(close) > 1 {
		t.item("near to", "%s", strings.Join(close, ", "))
	}
}

func meetText(p *Pair) string {
	m := &p.Meetings
	if m.Count == 0 {
		return "never in this piece" + proofText(p)
	}
	if m.Count == 1 {
		return fmt.Sprintf("once, at %s: %s%s", m.First.instant(), notesText(p, m.First), proofText(p))
	}
	return fmt.Sprintf("%d times, first at %s (%s), last at %s (%s)%s", m.Count,
		m.First.instant(), notesText(p, m.First), m.Last.instant(), notesText(p, m.Last), proofText(p))
}

// instant is the time of a meeting, and where time is bent that which the file counts.
func (m *Meeting) instant() string { return instant(m.At) + nominalText(m.Nominal) }

// nominalText is a time as the file counts it, where that is not what is heard.
func nominalText(n *Number) string {
	if n == nil {
		return ""
	}
	return ", nominal " + instant(*n)
}

func proofText(p *Pair) string {
	if p.Proof == Exact {
		return ""
	}
	return "; " + p.Proof
}

// instant writes a time as 1:23.4 and exactly when that says more.
func instant(n Number) string {
	if len(n.Exact) <= 24 && strings.ContainsAny(n.Exact, "/(*+epi") {
		return clockTime(n.Decimal) + " = " + n.Exact + " s"
	}
	return clockTime(n.Decimal)
}

func notesText(p *Pair, m *Meeting) string {
	if m.NoteA == m.NoteB {
		return fmt.Sprintf("note %d of both", m.NoteA)
	}
	return fmt.Sprintf("note %d of %s, %d of %s", m.NoteA, p.A, m.NoteB, p.B)
}

func nextText(p *Pair) string {
	n := &p.Next
	if n.Answer != NextAt {
		return fmt.Sprintf("after the end: %s: %s", n.Answer, n.Reason)
	}
	return fmt.Sprintf("after the end, %s: at %s, %s", n.Reason, n.At.instant(), notesText(p, n.At))
}

// nearSec is how far apart two notes may be and still be called a near miss in
// the text, beyond the closest two: what lies apart more is heard as rhythm.
const nearSec = 0.25

// misses writes the notes that come closest without meeting. Where a distance
// is proved to come again, it is written once.
func (t *text) misses(p *Pair) {
	if p.Rest != nil {
		t.item("apart", "notes that do not meet are %s apart or more, a step of one of the two or over %.0f ms: that is rhythm",
			duration(p.Rest.Decimal), farMiss/1e6)
	}
	written := ""
	for i, m := range p.NearMisses {
		again := p.ClosestTimes > 0 && m.Distance.Exact == written
		if !t.all && i > 0 && (again || m.Distance.Decimal > nearSec) {
			continue
		}
		written = m.Distance.Exact
		t.miss(p, i, m)
	}
}

func (t *text) miss(p *Pair, i int, m Miss) {
	label := ""
	if i == 0 {
		label = "near miss"
		if m.Distance.Decimal > nearSec {
			label = "closest"
		}
	}
	first, second := fmt.Sprintf("note %d of %s", m.NoteA, p.A), fmt.Sprintf("note %d of %s", m.NoteB, p.B)
	if m.Earlier == p.B {
		first, second = second, first
	}
	text := fmt.Sprintf("%s at %s: %s, then %s", duration(m.Distance.Decimal), clockTime(float64(m.At)), first, second)
	if i == 0 && p.ClosestTimes > 1 {
		text += fmt.Sprintf("; this close %d times", p.ClosestTimes)
	}
	t.item(label, "%s", text)
}

func (t *text) equal(p *Pair) {
	for _, e := range p.EqualSpeeds {
		where := fmt.Sprintf("unit %s of %s, unit %s of %s", decimal(e.UnitA, 6), p.A, decimal(e.UnitB, 6), p.B)
		switch {
		case e.Jump:
			t.item("equal", "speeds pass each other in a jump at %s, %s", clockTime(float64(e.From)), where)
		case e.To > e.From:
			t.item("equal", "speeds are equal from %s to %s, from %s on", clockTime(float64(e.From)), clockTime(float64(e.To)),
				where)
		default:
			t.item("equal", "speeds are equal at %s, %s", clockTime(float64(e.From)), where)
		}
	}
}

// lagRows is how many rows of a lag are written unless all are asked for.
const lagRows = 12

// lag writes how far behind one voice is at the same places of the music.
func (t *text) lag(p *Pair) {
	if p.Lag == nil {
		return
	}
	rows := p.Lag.Rows
	t.line("")
	t.line("  %s", t.explain("lag", "how far one is behind at the same place"))
	t.line("  %s%s%s   %s", pad(p.Lag.Of, 9), padLeft(cut(p.A, 12), 12), padLeft(cut(p.B, 12), 12), "behind")
	for i := range rows {
		if !t.all && !shown(rows, i) {
			if shown(rows, i-1) {
				t.line("  ..")
			}
			continue
		}
		t.line("  %s%s%s   %s", pad(rows[i].Place, 9), padLeft(clockTime(float64(rows[i].A)), 12),
			padLeft(clockTime(float64(rows[i].B)), 12), behindText(&rows[i]))
	}
}

// shown keeps the first and last rows of a long lag and those around the
// meeting point.
func shown(rows []LagRow, i int) bool {
	if len(rows) <= lagRows || i < 4 || i >= len(rows)-4 {
		return true
	}
	for k := i - 1; k <= i+1; k++ {
		if rows[k].Place == "meet" {
			return true
		}
	}
	return false
}

func behindText(r *LagRow) string {
	if r.Behind == "" {
		return "together"
	}
	return fmt.Sprintf("%s by %s, %s", cut(r.Behind, 14), duration(r.Lag.Decimal), units(decimal(r.Units.Decimal, 4)))
}
