package plan

import (
	"fmt"
	"io"
	"math"
	"strings"
	"unicode/utf8"

	"rollwright/text/say"
	"rollwright/text/source"
)

// TextOptions say how much of a plan is written.
type TextOptions struct {
	All bool // every pair, row and column that the width holds; otherwise what a person reads
}

// WriteText writes a plan for people, in lines of at most 80 columns where
// names allow. Times are minutes and seconds; what is exact is written exactly
// where that is short. An error is that of w.
func WriteText(w io.Writer, p *Plan, o TextOptions) error {
	t := &text{plan: p, all: o.All}
	t.head()
	t.timeline()
	t.bars()
	t.sections()
	for i := range p.Voices {
		t.voice(&p.Voices[i])
	}
	for i := range p.Canons {
		t.canon(&p.Canons[i])
	}
	t.pairs()
	_, err := io.WriteString(w, t.out.String())
	return err
}

// text is a plan being written. Its methods write one part each.
type text struct {
	plan *Plan
	all  bool
	out  strings.Builder
	said map[string]bool // words that have been explained
}

// few is how many of something are written unless all are asked for.
func (t *text) few(n, otherwise int) int {
	if t.all {
		return n
	}
	return min(n, otherwise)
}

func (t *text) line(format string, args ...any) {
	t.out.WriteString(strings.TrimRight(fmt.Sprintf(format, args...), " ") + "\n")
}

// labelWidth is the column at which what is said begins.
const labelWidth = 12

// item writes a label and what is said about it, wrapped.
func (t *text) item(label, format string, args ...any) {
	for i, line := range wrap(fmt.Sprintf(format, args...), labelWidth) {
		if i > 0 {
			label = ""
		}
		t.line("%s%s", pad("  "+label, labelWidth), line)
	}
}

// explain writes a word of the trade, with a plain one beside it the first
// time.
func (t *text) explain(word, plain string) string {
	if t.said[word] {
		return word
	}
	if t.said == nil {
		t.said = make(map[string]bool)
	}
	t.said[word] = true
	return word + " (" + plain + ")"
}

func (t *text) head() {
	title := strings.TrimSpace(source.Printable(t.plan.Title))
	if title == "" {
		title = "Without title"
	}
	widest := 0
	for _, line := range wrap(title, 0) {
		t.line("%s", line)
		widest = max(widest, utf8.RuneCountInString(line))
	}
	t.line("%s", strings.Repeat("=", min(widest, width)))
	t.line("%s long, %s, %s", clockTime(float64(t.plan.Length)), say.Count(len(t.plan.Voices), "voice"),
		say.Count(t.plan.Notes, "note"))
	if s := t.plan.Shift; s.Voice != "" {
		for _, line := range wrap(fmt.Sprintf("The whole piece begins %s later than written, so that the earliest note, of %s, begins at 0.",
			exactDuration(s.By), s.Voice), 0) {
			t.line("%s", line)
		}
	}
}

// exactDuration writes a time exactly, if short, and rounded.
func exactDuration(n Number) string {
	rounded := duration(n.Decimal)
	if n.Exact == "" || len(n.Exact) > 24 || n.Exact+" s" == rounded || n.Exact == "0" {
		return rounded
	}
	return n.Exact + " s (" + rounded + ")"
}

// bars are the columns of a picture of the piece's time.
const bars = 60

// timeline draws when each voice sounds, and how many notes begin.
func (t *text) timeline() {
	p := t.plan
	t.line("")
	if p.Length <= 0 || len(p.Voices) == 0 {
		return
	}
	t.line("When each voice plays, and how densely, from 0 to %s", clockTime(float64(p.Length)))
	shown := t.few(len(p.Voices), 24)
	for i := range p.Voices[:shown] {
		v := &p.Voices[i]
		t.line("  %s %s", pad(cut(v.Name, 14), 14), bar(v.start, float64(v.End), float64(p.Length)))
	}
	if rest := len(p.Voices) - shown; rest > 0 {
		t.line("  and %d more", rest)
	}
	d := &p.Density
	t.line("  %s %s", pad("notes", 14), heights(d, float64(p.Length)))
	peak := float64(d.Bin) * float64(d.PeakBin)
	t.item("density", "%s notes a second on average; most from %s to %s: %s a second; the busiest second has %s, from %s",
		decimal(d.Mean, 3), clockTime(peak), clockTime(min(peak+float64(d.Bin), float64(p.Length))),
		decimal(d.PeakRate, 3), say.Count(d.Busiest, "note"), clockTime(float64(d.From)))
}

// bar is a line of blocks from one time to another.
func bar(from, to, length float64) string {
	first := int(math.Floor(max(from, 0) / length * bars))
	last := max(int(math.Ceil(to/length*bars-1e-9)), first+1)
	return strings.Repeat(" ", first) + strings.Repeat("█", min(last, bars)-min(first, bars-1))
}

// heights draws a density as blocks of eight heights, a blank for none.
func heights(d *Density, length float64) string {
	columns := make([]float64, bars)
	for i := range columns {
		at := (float64(i) + 0.5) / bars * length
		if bin := int(at / float64(d.Bin)); bin < len(d.Counts) {
			columns[i] = float64(d.Counts[bin])
		}
	}
	most := float64(d.Counts[d.PeakBin])
	var b strings.Builder
	for _, c := range columns {
		level := 0
		if most > 0 {
			level = int(math.Ceil(c / most * 8))
		}
		b.WriteRune([]rune(" ▁▂▃▄▅▆▇█")[level])
	}
	return b.String()
}

// canon says where a canon meets.
func (t *text) canon(c *Canon) {
	t.line("")
	t.line("Canon %s", c.Name)
	t.item("voices", "%s", strings.Join(c.Voices, ", "))
	if len(c.Crossings) > 0 {
		t.crossings(c)
		return
	}
	t.item("meet", "%s, the %s", c.meetsAt(), t.explain("meeting point", "one instant for all"))
}

// bars says how the piece itself is counted.
func (t *text) bars() {
	if b := t.plan.Bars; b != nil {
		t.item("bars", "%s", b.text())
	}
}

// sections says when each section begins and ends.
func (t *text) sections() {
	if len(t.plan.Sections) == 0 {
		return
	}
	t.line("")
	t.line("Sections")
	for _, s := range t.plan.Sections {
		what := fmt.Sprintf("from %s to %s%s, %s", instant(s.Start), clockTime(float64(s.End)), nominalText(s.Nominal),
			say.Count(len(s.Voices), "voice"))
		if s.Like != "" {
			what += ", like " + s.Like
		}
		t.item(cut(s.Name, labelWidth-3), "%s", what)
	}
}
