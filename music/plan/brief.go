package plan

import (
	"fmt"
	"io"
	"slices"
	"strings"

	"rollwright/text/say"
)

// The bounds of one screen: so many voices, canons and pairs are named.
const (
	briefVoices = 8
	briefMeets  = 6
)

// WriteBrief writes of a plan what fits on one screen: what repeats, where it
// meets, how long. hands is a sentence on the work at the bench, more one on what
// else can be asked for; empty: none. An error is that of w.
func WriteBrief(w io.Writer, p *Plan, hands, more string) error {
	t := &text{plan: p}
	t.head()
	t.shape()
	t.bars()
	t.sections()
	t.line("")
	t.repeats()
	t.meets()
	t.allAsks()
	if hands != "" {
		t.item("bench", "%s", hands)
	}
	if more != "" {
		t.item("more", "%s", more)
	}
	_, err := io.WriteString(w, t.out.String())
	return err
}

// WriteVoice writes everything about the named voice; false: there is none.
func WriteVoice(w io.Writer, p *Plan, name string) (bool, error) {
	i := slices.IndexFunc(p.Voices, func(v Voice) bool { return v.Name == name })
	if i < 0 {
		return false, nil
	}
	t := &text{plan: p, all: true}
	t.voice(&p.Voices[i])
	_, err := io.WriteString(w, strings.TrimLeft(t.out.String(), "\n"))
	return true, err
}

// WritePair writes everything between two named voices, in either order; false:
// they were not compared.
func WritePair(w io.Writer, p *Plan, a, b string) (bool, error) {
	i := slices.IndexFunc(p.Pairs, func(q Pair) bool { return q.A == a && q.B == b || q.A == b && q.B == a })
	if i < 0 {
		return false, nil
	}
	t := &text{plan: p, all: true}
	t.pair(&p.Pairs[i])
	_, err := io.WriteString(w, strings.TrimLeft(t.out.String(), "\n"))
	return true, err
}

// shape draws when the first voices play, and how densely all do.
func (t *text) shape() {
	p := t.plan
	t.line("")
	if p.Length <= 0 || len(p.Voices) == 0 {
		return
	}
	shown := min(len(p.Voices), briefVoices)
	for i := range p.Voices[:shown] {
		v := &p.Voices[i]
		t.line("  %s %s", pad(cut(v.Name, 14), 14), bar(v.start, float64(v.End), float64(p.Length)))
	}
	if rest := len(p.Voices) - shown; rest > 0 {
		t.line("  and %s more", say.Count(rest, "voice"))
	}
	t.line("  %s %s", pad("notes", 14), heights(&p.Density, float64(p.Length)))
}

// Row is a line of the summary of a plan: whom it is about, and what it says.
type Row struct{ Who, What string }

// repeats says of the voices what repeats on what, those alike together.
func (t *text) repeats() {
	rows := t.plan.repeats()
	for i, r := range rows {
		if i == briefVoices {
			t.item("", "and %s more", say.Count(len(rows)-briefVoices, "kind of voice"))
			return
		}
		label := ""
		if i == 0 {
			label = "repeats"
		}
		t.item(label, "%s: %s", r.Who, r.What)
	}
}

// repeats are the rows of what repeats on what, one for voices alike.
func (p *Plan) repeats() []Row {
	var said []string
	names := map[string][]string{}
	for i := range p.Voices {
		v := &p.Voices[i]
		what := fmt.Sprintf("%s on %s%s; color and talea end together after %s", say.Count(v.Color.Members, "pitch"),
			say.Count(v.Talea.Sounding, "duration"), silences(v), say.Count(v.Complete.Notes, "note"))
		if names[what] == nil {
			said = append(said, what)
		}
		names[what] = append(names[what], v.Name)
	}
	rows := make([]Row, len(said))
	for i, what := range said {
		rows[i] = Row{namesText(names[what]), what}
	}
	return rows
}

// mostNames is how many voices alike are named.
const mostNames = 4

func namesText(names []string) string {
	if len(names) <= mostNames {
		return strings.Join(names, ", ")
	}
	return fmt.Sprintf("%s and %d more", strings.Join(names[:mostNames], ", "), len(names)-mostNames)
}

// meets says where canons meet, then which pairs meet.
func (t *text) meets() {
	rows := t.plan.Meets()
	for i, r := range rows {
		label := ""
		if i == 0 {
			label = "meets"
		}
		if i == briefMeets && len(rows) > briefMeets+1 {
			t.item("", "and %s more", say.Count(len(rows)-i, "pair"))
			return
		}
		t.item(label, "%s: %s", r.Who, r.What)
	}
	if t.plan.NotCompared != "" {
		t.item("", "%s", t.plan.NotCompared)
	}
}

// Meets says where canons meet, when voices stand at one place of their tune besides, then
// which pairs meet most rarely: those are the meetings that somebody has planned.
func (p *Plan) Meets() []Row {
	var rows []Row
	for i := range p.Canons {
		c := &p.Canons[i]
		if c.Meet != "" {
			rows = append(rows, Row{"canon " + c.Name, c.briefMeet()})
		}
	}
	rows = append(rows, p.crossingRows()...)
	pairs := slices.Clone(p.Pairs)
	slices.SortStableFunc(pairs, func(a, b Pair) int { return rarity(&a) - rarity(&b) })
	for i := range pairs {
		if q := &pairs[i]; q.Canon == "" || q.Meetings.Count != 1 {
			rows = append(rows, Row{q.A + " with " + q.B, briefMeet(q)})
		}
	}
	return rows
}

// rarity orders pairs: those that meet once, then seldom, then those that never do.
func rarity(p *Pair) int {
	const never = 1 << 30
	if p.Meetings.Count == 0 {
		return never
	}
	return min(p.Meetings.Count, never-1)
}

// briefMeet says how often two voices meet.
func briefMeet(p *Pair) string {
	m := &p.Meetings
	switch {
	case m.Count == 0 && len(p.NearMisses) > 0:
		return "never; closest " + duration(p.NearMisses[0].Distance.Decimal)
	case m.Count == 0:
		return "never"
	case m.Count == 1:
		return "once, at " + clockTime(m.First.At.Decimal)
	}
	return fmt.Sprintf("%d times, from %s to %s", m.Count, clockTime(m.First.At.Decimal), clockTime(m.Last.At.Decimal))
}
