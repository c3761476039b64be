package figure

import (
	"slices"
	"strings"

	"rollwright/music/plan"
	"rollwright/text/choice"
	"rollwright/text/words"
)

// nearSec is up to which distance two onsets nearly meet: beyond it they are
// heard as two notes one after the other (common practice, no source).
const nearSec = 0.1

// maxLines bounds the voices of one figure of lines.
const maxLines = 40

// lines is the time line of the voices, a row a voice: statements of the talea
// above, notes as strokes, statements of the color below; between rows lines
// where notes of two voices begin together, and rings where they nearly do. What
// lies outside a stretch is not drawn, and not spoken of.
// Its layers are "axes", "rows", "notes", "meetings" and "names".
type lines struct {
	in       *Input
	voices   []int
	from, to float64
	part     bool // a stretch was asked for
	dense    int  // the most meetings of two voices in one column; 0: no column has several
	pairs    []drawnPair
	canon    string // name of the canon whose meeting point is drawn; empty: none
	canonAt  float64
	heard    bool   // by an audience
	sound    string // what would make that point sound; empty: it does
}

// drawnPair is two voices whose meetings are drawn.
type drawnPair struct {
	a, b     int
	plan     *plan.Pair
	meetings []plan.Meeting
	misses   []plan.Miss // those near enough to be heard as a blur, the nearest first
	part     bool        // only a stretch is shown
	columns  []int       // how many meetings fall into each column of the drawing
}

// columns are into how many stretches the time of a drawing is cut: so narrow that two
// lines in one of them would run together, in about a millimetre.
const columns = 160

func (v *lines) columnSec() float64 { return (v.to - v.from) / columns }

// columnOf is the column of an instant.
func (v *lines) columnOf(sec float64) int {
	return min(max(int((sec-v.from)/v.columnSec()), 0), columns-1)
}

func (v *lines) columnsOf(meetings []plan.Meeting) []int {
	out := make([]int, columns)
	for _, m := range meetings {
		out[v.columnOf(m.At.Decimal)]++
	}
	return out
}

// crowded reports whether the meetings of a column are drawn as a number: there are several,
// or they stand beside such ones.
func (d *drawnPair) crowded(column int) bool {
	if d.columns[column] == 0 {
		return false
	}
	for k := max(0, column-1); k <= min(columns-1, column+1); k++ {
		if d.columns[k] > 1 {
			return true
		}
	}
	return false
}

func newLines(in *Input, o *Options) (view, error) {
	voices, err := in.chosen(o)
	if err != nil {
		return nil, err
	}
	v := &lines{in: in, heard: o.Heard, part: o.FromSec != 0 || o.ToSec != 0}
	if v.from, v.to, err = in.stretch(o, voices); err != nil {
		return nil, err
	}
	for _, i := range voices {
		if l := in.Performance.Lines[i]; !v.part || l.StartSec < v.to && l.EndSec > v.from {
			v.voices = append(v.voices, i)
		}
	}
	switch n := len(v.voices); {
	case n == 0:
		return nil, choice.Errorf("no voice plays between %g s and %g s; choose another stretch with {from} and {to}", v.from,
			v.to)
	case n > maxLines:
		return nil, choice.Errorf("the piece has %d voices; one figure holds %d: choose with {voice} or {pair}", n, maxLines)
	}
	for i := range len(v.voices) - 1 {
		if p := in.pairOf(v.voices[i], v.voices[i+1]); p != nil {
			v.pairs = append(v.pairs, v.between(v.voices[i], v.voices[i+1], p))
		}
	}
	for i := range v.pairs {
		v.pairs[i].columns = v.columnsOf(v.pairs[i].meetings)
		if most := slices.Max(v.pairs[i].columns); most > 1 {
			v.dense = max(v.dense, most)
		}
	}
	return v, v.meet(o)
}

// mostMeetings is how many meetings of two voices are looked at; more would be no figure.
const mostMeetings = 200_000

// between is what is drawn between two rows.
func (v *lines) between(a, b int, p *plan.Pair) drawnPair {
	if len(p.Meetings.List) < p.Meetings.Count { // the plan lists the first of them
		all := plan.Between(v.in.Performance, min(a, b), max(a, b), plan.Options{List: mostMeetings})
		p = &all
	}
	d := drawnPair{a: a, b: b, plan: p, part: v.part}
	for _, m := range p.Meetings.List {
		if v.shows(m.At.Decimal) {
			d.meetings = append(d.meetings, m)
		}
	}
	for _, m := range p.NearMisses {
		if m.Distance.Decimal <= nearSec && v.shows(float64(m.At)) {
			d.misses = append(d.misses, m)
		}
	}
	return d
}

// shows reports whether an instant lies in the stretch.
func (v *lines) shows(sec float64) bool { return sec >= v.from && sec <= v.to }

// meet finds the canon whose meeting point is drawn.
func (v *lines) meet(o *Options) error {
	index, of, err := v.in.canon(o)
	if err != nil || index < 0 {
		return err
	}
	of = slices.DeleteFunc(slices.Clone(of), func(i int) bool { return !slices.Contains(v.voices, i) })
	c := v.in.Plan().Canons[index]
	if len(of) > 1 && v.shows(c.At.Decimal) {
		v.canon, v.canonAt, v.sound = c.Name, c.At.Decimal, v.in.sound(of)
	}
	return nil
}

func (v *lines) title(t *words.Talk) string {
	args := words.Args{"voices": len(v.voices), "from": t.Book().Decimal(clock(v.from, 1)),
		"to": t.Book().Decimal(clock(v.to, 1))}
	if v.part {
		return t.Book().Say("lines.title-stretch", args)
	}
	return t.Book().Say("lines.title", args)
}

func (v *lines) caption(t *words.Talk, short bool) string {
	var say []string
	if !short {
		say = append(say, t.Say("lines.read", nil))
	}
	if v.canon != "" {
		key := "lines.canon"
		if v.sound != "" {
			key = "lines.canon-silent"
			if v.heard {
				key = "lines.canon-silent-heard"
			}
		}
		if short {
			key += "-short"
		}
		say = append(say, t.Say(key, words.Args{"canon": v.canon, "at": t.Book().Decimal(clock(v.canonAt, 1)),
			"sound": v.sound}))
	}
	if v.dense > 0 {
		say = append(say, t.Say("lines.dense", words.Args{"most": v.dense, "span": t.Book().Decimal(span(v.columnSec()))}))
	}
	if len(v.pairs) == 0 && short {
		say = append(say, t.Say("lines.read-short", nil))
	}
	for i, p := range v.pairs {
		if i == 0 || !short && i < 3 {
			say = append(say, p.sentence(t, i == 0 && !v.part, short && v.canon != ""))
		}
	}
	return strings.Join(say, " ")
}

// sentence says how often two voices strike together in what is shown and, if
// asked, why; brief leaves out what the drawing says as well.
func (d drawnPair) sentence(t *words.Talk, why, brief bool) string {
	args := words.Args{"a": d.plan.A, "b": d.plan.B}
	count, list := d.plan.Meetings.Count, d.meetings
	first, last := d.plan.Meetings.First, d.plan.Meetings.Last
	if d.part && count > 0 && !d.beyond() {
		if count = len(list); count > 0 {
			first, last = &list[0], &list[count-1]
		}
	}
	if args["count"] = count; count > 0 {
		args["first"] = t.Book().Decimal(clock(first.At.Decimal, 1))
		args["last"] = t.Book().Decimal(clock(last.At.Decimal, 1))
	}
	key := "lines.often"
	switch {
	case count == 0 && d.part:
		key = "lines.never-here"
	case count == 0:
		key = "lines.never"
	case count == 1:
		key = "lines.once"
	}
	text := t.Say(key, args)
	if len(d.misses) > 0 && !brief {
		args["miss"] = t.Book().Decimal(span(d.misses[0].Distance.Decimal))
		text += " " + t.Say("lines.near", args)
	}
	if key = d.reason(t, args); why && key != "" {
		text += " " + t.Say(key, args)
	}
	return text
}

// beyond reports whether the plan lists only the first meetings of the two: then
// those of a stretch cannot be counted.
func (d drawnPair) beyond() bool { return len(d.plan.Meetings.List) < d.plan.Meetings.Count }

// reason is the key of why the two strike together as they do, with its
// arguments; empty: nothing is known.
func (d drawnPair) reason(t *words.Talk, args words.Args) string {
	p := d.plan
	switch {
	case p.Commensurable == "no" && p.Meetings.Count > 0:
		return "lines.without"
	case p.Commensurable == "no" && p.Chance != nil:
		args["only"] = t.Book().Decimal(clock(float64(p.Chance.At), 1))
		args["silent"] = p.A
		switch {
		case !p.Chance.Within:
			return "lines.without-never"
		case p.Chance.NoteA:
			args["silent"] = p.B
		case !p.Chance.NoteB:
			return "lines.without-neither"
		}
		return "lines.without-one"
	case p.Commensurable != "yes" || p.Ratio == nil || p.Ratio.Exact == "":
		return ""
	case p.Ratio.Exact == "1":
		return "lines.same-speed"
	case p.Meetings.Count > 0:
		args["ratio"] = p.Ratio.Exact
		return "lines.measure"
	}
	return ""
}
