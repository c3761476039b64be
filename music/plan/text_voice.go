package plan

import (
	"fmt"
	"slices"
	"strings"

	"rollwright/text/say"
)

// voice writes what one voice is made of.
func (t *text) voice(v *Voice) {
	t.line("")
	heading := "Voice " + v.Name
	if v.Canon != "" {
		heading += ", in canon " + v.Canon
	}
	if v.Piano != "" {
		heading += ", piano " + v.Piano
	}
	t.line("%s", heading)
	t.item("color", "%s%s", t.plain("the series of pitches"),
		t.statements(say.Count(v.Color.Members, "pitch"), v.Color.Statements))
	t.item("talea", "%s%s", t.plain("the series of durations"), t.statements(
		fmt.Sprintf("%s%s, %s long", say.Count(v.Talea.Sounding, "note"), silences(v), units(v.Talea.Units.brief())),
		v.Talea.Statements))
	t.item("extent", "%s%s", t.plain("how long it goes on"), t.ending(v))
	t.item("length", "%s, %s, %s", say.Count(v.Notes, "note"), units(v.Units.brief()), exactDuration(v.Seconds))
	t.item("time", "first note at %s, last at %s, ends at %s",
		clockTime(float64(v.First)), clockTime(float64(v.Last)), clockTime(float64(v.End)))
	if v.Bars != nil {
		t.item("bars", "%s", v.Bars.text())
	}
	t.item("speed", "%s", speedText(v))
	t.asks(v)
	t.found(v.Found)
	for _, leg := range v.Unreached {
		t.item("path", "leg %d of %d is never reached: it would begin at unit %s, and the voice has %s",
			leg.Leg, leg.Of, decimal(leg.Unit, 6), units(decimal(v.Units.Decimal, 6)))
	}
	t.table(v)
}

// plain puts an explanation before what is said, the first time.
func (t *text) plain(words string) string {
	if t.explain(words, "") == words {
		return ""
	}
	return "(" + words + ") "
}

// statements says what a cycle is and how often it is stated; the first time,
// what a statement is.
func (t *text) statements(what string, times Number) string {
	text := what + ", " + timesText(times)
	if t.explain("statement", "") != "statement" {
		text += " (times through)"
	}
	return text
}

// timesText writes 7 statements, or "8 statements and 4/7 of one".
func timesText(n Number) string {
	whole := int(n.Decimal + 1e-9)
	num, den, broken := strings.Cut(n.Exact, "/")
	if !broken {
		return say.Count(whole, "statement")
	}
	var a, b int
	fmt.Sscan(num, &a)
	fmt.Sscan(den, &b)
	if whole == 0 {
		return fmt.Sprintf("%d/%d of a statement", a, b)
	}
	return fmt.Sprintf("%s and %d/%d of one", say.Count(whole, "statement"), a%b, b)
}

// silences says how many members of a talea do not sound.
func silences(v *Voice) string {
	if n := v.Talea.Members - v.Talea.Sounding; n > 0 {
		return " and " + say.Count(n, "silence")
	}
	return ""
}

// ending compares the voice with what was asked for, and with its complete cycle.
func (t *text) ending(v *Voice) string {
	text := cycleEnding(v)
	if v.Asked == "" || v.Asked == say.Count(v.Notes, "note") {
		return text
	}
	is := units(v.Units.brief())
	if strings.HasSuffix(v.Asked, " s") {
		is = v.Seconds.brief() + " s"
	}
	_, of, _ := strings.Cut(v.Asked, " ")
	switch {
	case strings.HasPrefix(v.Asked, "until "):
		return "goes on " + v.Asked + "; " + text
	case is == v.Asked || of != "s" && of != "unit" && of != "units":
		return "asked for " + v.Asked + "; " + text
	}
	return fmt.Sprintf("asked for %s, %s with the last item completed; %s", v.Asked, is, text)
}

func cycleEnding(v *Voice) string {
	c := &v.Complete
	cycle := fmt.Sprintf("after %s (%s, %s)", say.Count(c.Notes, "note"), say.Count(c.Taleae, "talea"),
		say.Count(c.Colores, "color"))
	switch {
	case c.Is && v.Notes == c.Notes:
		return "until color and talea end together, " + cycle
	case c.Is:
		return fmt.Sprintf("color and talea end together %s times, the first time %s", c.Times.Exact, cycle)
	case v.Notes < c.Notes:
		return fmt.Sprintf("stops after %s; color and talea would end together %s%s", say.Count(v.Notes, "note"), cycle,
			lengthOf(c))
	}
	return fmt.Sprintf("stops after %s; color and talea end together each time %s%s", say.Count(v.Notes, "note"), cycle,
		lengthOf(c))
}

func lengthOf(c *Complete) string {
	if c.Seconds.Decimal == 0 {
		return ""
	}
	return ", " + duration(c.Seconds.Decimal)
}

func speedText(v *Voice) string {
	text := v.Speed.both(7)
	if v.SecondsPerUnit != nil {
		return text + "; a unit lasts " + exactDuration(*v.SecondsPerUnit) + fmt.Sprintf("; %s quarter notes a minute",
			decimal(v.TempoFirst, 6))
	}
	return fmt.Sprintf("%s; from %s quarter notes a minute at the start to %s at the end",
		text, decimal(v.TempoFirst, 6), decimal(v.TempoLast, 6))
}

// Bounds of the table, unless everything is asked for.
const (
	tableRows    = 24
	tableColumns = 50 // characters for pitches and counts
)

// table writes which pitch gets which durations: how often each, then in turn.
func (t *text) table(v *Voice) {
	columns := v.distinct()
	if v.fromLine || v.Color.Members == 1 || len(columns) < 2 {
		return
	}
	t.line("")
	if like := t.sameTable(v); like != "" {
		t.line("  Which pitch gets which durations: as %s", like)
		return
	}
	for _, line := range wrap("Which pitch gets which durations"+sharing(v), 2) {
		t.line("  %s", line)
	}
	if v.TableNote != "" {
		t.line("  (%s)", v.TableNote)
	}
	name := 5
	for _, row := range v.Table {
		name = min(max(name, len(row.Pitch)), 24)
	}
	if len(columns)*columnWidth(columns) > tableColumns-name {
		columns = nil
	}
	header := pad("", name)
	for _, c := range columns {
		header += padLeft(c, columnWidth(columns))
	}
	t.line("  %s   in turn", header)
	rows := t.few(len(v.Table), tableRows)
	for _, row := range v.Table[:rows] {
		t.line("  %s", v.tableRow(&row, columns, name))
	}
	if rest := len(v.Table) - rows; rest > 0 {
		t.line("  and %d more", rest)
	}
}

// sameTable names an earlier voice with the same table, and says what of it is
// the same.
func (t *text) sameTable(v *Voice) string {
	for i := range t.plan.Voices {
		earlier := &t.plan.Voices[i]
		if earlier == v {
			break
		}
		pitches := true
		if slices.EqualFunc(v.Table, earlier.Table, func(a, b Pairing) bool {
			pitches = pitches && a.Pitch == b.Pitch
			return slices.Equal(a.Gets, b.Gets) && slices.Equal(a.inTurn, b.inTurn)
		}) {
			if pitches {
				return "in voice " + earlier.Name
			}
			return "in voice " + earlier.Name + ", at its own pitches"
		}
	}
	return ""
}

// sharing says what the common factor of the two cycles does.
func sharing(v *Voice) string {
	g, gets := gcd(v.Color.Members, v.Talea.Sounding), "gets"
	if v.Notes < v.Complete.Notes {
		gets = "would get"
	}
	if g == 1 {
		return fmt.Sprintf(": %d and %d share no factor, so each %s all", v.Color.Members, v.Talea.Sounding, gets)
	}
	return fmt.Sprintf(": %d and %d share %d, so each %s %d of %d",
		v.Color.Members, v.Talea.Sounding, g, gets, v.Talea.Sounding/g, v.Talea.Sounding)
}

// distinct are the different durations that sound, in order of first use.
func (v *Voice) distinct() []string {
	var out []string
	seen := make(map[string]bool)
	places := make(map[int]bool)
	for _, row := range v.Table {
		for _, g := range row.Gets {
			places[g.Place-1] = true
		}
	}
	for i, d := range v.durations {
		if places[i] && !seen[d] {
			seen[d] = true
			out = append(out, d)
		}
	}
	return out
}

func columnWidth(columns []string) int {
	w := 4
	for _, c := range columns {
		w = max(w, len(c)+2)
	}
	return w
}

// tableRow is one line of the table.
func (v *Voice) tableRow(row *Pairing, columns []string, name int) string {
	line := pad(cut(row.Pitch, name), name)
	times := make(map[string]int)
	for _, g := range row.Gets {
		times[g.Units] += g.Times
	}
	for _, c := range columns {
		cell := "."
		if n := times[c]; n > 0 {
			cell = fmt.Sprint(n)
		}
		line += padLeft(cell, columnWidth(columns))
	}
	line += "   "
	period := min(v.Talea.Sounding/gcd(v.Color.Members, v.Talea.Sounding), len(row.inTurn))
	for i, place := range slices.All(row.inTurn[:period]) {
		next := v.durations[place] + " "
		if 2+len([]rune(line))+len(next)+2 > width && i+1 < period {
			return line + ".."
		}
		line += next
	}
	return line
}

// Tempo is that of the voice in quarter notes a minute, its speed included:
// "120", "96 to 120" where it changes.
func (v *Voice) Tempo() string {
	first, last := decimal(v.TempoFirst, 6), decimal(v.TempoLast, 6)
	if first == last {
		return first
	}
	return first + " to " + last
}
