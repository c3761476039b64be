package find

import (
	"fmt"
	"io"
	"math"
	"slices"
	"strings"

	"rollwright/exact"
	"rollwright/text/say"
)

// WriteText writes a design for people, in lines of at most 80 columns where
// names allow. An error is that of w.
func WriteText(w io.Writer, d *Design) error {
	t := &text{d: d}
	t.head()
	for i := range d.Voices {
		t.voice(&d.Voices[i])
	}
	for i := range d.Canons {
		t.canon(&d.Canons[i])
	}
	t.left()
	_, err := io.WriteString(w, t.out.String())
	return err
}

// text is a design being written.
type text struct {
	d    *Design
	out  strings.Builder
	said map[string]bool
	each func(label, said string) // gets items in the place of lines; nil: none does
}

// labelWidth is the column at which what is said begins.
const labelWidth = 12

func (t *text) line(s string) { t.out.WriteString(strings.TrimRight(s, " ") + "\n") }

// item writes a label and what is said about it, wrapped.
func (t *text) item(label, format string, args ...any) {
	if t.each != nil {
		t.each(label, fmt.Sprintf(format, args...))
		return
	}
	for i, line := range wrap(fmt.Sprintf(format, args...), labelWidth) {
		if i > 0 {
			label = ""
		}
		t.line(fmt.Sprintf("%-*s%s", labelWidth, "  "+label, line))
	}
}

// plain is a plain word for one of the trade, the first time it is used.
func (t *text) plain(word, plain string) string {
	if t.said[word] {
		return ""
	}
	if t.said == nil {
		t.said = map[string]bool{}
	}
	t.said[word] = true
	return "(" + plain + ") "
}

func (t *text) head() {
	for _, line := range wrap(t.summary(), 0) {
		t.line(line)
	}
}

// summary says how much there is and how much of it was found.
func (t *text) summary() string {
	d := t.d
	said := fmt.Sprintf("%s in %s", say.Count(d.Count, "note"), say.Count(len(d.Voices), "voice"))
	if !d.Labelled {
		said += ", parted by what explains them"
	}
	claims := len(d.Canons)
	for i := range d.Voices {
		if d.Voices[i].Talea != nil || d.Voices[i].Color != nil {
			claims++
		}
	}
	switch {
	case claims == 0:
		said += ". No design was found: neither pitches nor durations come back, and no line is another at another speed."
	case d.Unexplained == 0:
		said += "; what was found explains all of them."
	default:
		said += fmt.Sprintf("; what was found explains all but %d.", d.Unexplained)
	}
	if d.NoiseSec > 0.0005 {
		said += fmt.Sprintf(" Onsets stray by %s (standard deviation).", millis(d.NoiseSec))
	}
	return said
}

// voice writes what a voice is made of.
func (t *text) voice(v *Voice) {
	t.line("")
	t.line("Voice " + v.Name)
	if v.Talea != nil && v.Color != nil {
		t.item("series", "%s", together(v))
	}
	if c := v.Color; c != nil {
		said := fmt.Sprintf("%s, %s", say.Count(len(c.Pitches), "pitch"), statements(c.Statements))
		if c.Transpose != 0 {
			said += ", each " + interval(c.Transpose) + " than the one before"
		}
		t.item("color", "%s%s", t.plain("color", "the series of pitches"), said)
		t.item("", "%s", pitchesText(c))
		t.item("", "predicts %s of the notes; %s", share(c.Explained), luck(c.Chance))
	} else {
		t.item("color", "%snone: the pitches do not come back", t.plain("color", "the series of pitches"))
	}
	if s := v.Talea; s != nil {
		said := fmt.Sprintf("%s, %s", say.Count(len(s.Durations), "duration"), statements(s.Statements))
		if s.Stretch != exact.Int(1) {
			said += ", each " + s.Stretch.String() + " times as long as the one before"
		}
		t.item("talea", "%s%s", t.plain("talea", "the series of durations"), said)
		t.item("", "%s", durationsText(v))
		t.item("", "predicts %s of the notes; %s", share(s.Explained), luck(s.Chance))
		t.item("tempo", "%s", tempoText(v))
		if h := v.holdOf(); h.silent != nil {
			t.item("silences", "where notes end early: %s", strings.Join(taleaWords(v.clock.whole, h.silent), " "))
		}
	} else {
		t.item("talea", "%snone: the durations do not come back", t.plain("talea", "the series of durations"))
	}
	t.item("time", "%s, from %s to %s", say.Count(v.Notes, "note"), say.Clock(v.StartSec, 1), say.Clock(v.EndSec, 1))
}

// together says how the two series of a voice run against each other.
func together(v *Voice) string {
	p, q := int64(len(v.Color.Pitches)), int64(len(v.Talea.Durations))
	said := fmt.Sprintf("%s on %s", say.Count(int(p), "pitch"), say.Count(int(q), "duration"))
	if v.Color.Transpose == 0 && v.Talea.Stretch == exact.Int(1) {
		said += fmt.Sprintf("; together they end after %s", say.Count(int(p/gcd(p, q)*q), "note"))
	}
	return said
}

// statements says how often a series is stated.
func statements(n float64) string {
	if whole := math.Round(n); math.Abs(whole-n) < 1e-6 {
		return say.Count(int(whole), "statement")
	}
	return decimal(n, 4) + " statements"
}

// mostShown is how many members of a series are written.
const mostShown = 40

func pitchesText(c *Color) string {
	words := colorWords(c.Pitches[:min(len(c.Pitches), mostShown)])
	return shown(words, len(c.Pitches))
}

func durationsText(v *Voice) string {
	words := []string{}
	for _, d := range v.Talea.Durations[:min(len(v.Talea.Durations), mostShown)] {
		words = append(words, d.String())
	}
	return shown(words, len(v.Talea.Durations)) + fmt.Sprintf(" (units of %s s)", decimal(v.UnitSec, 6))
}

func shown(words []string, all int) string {
	text := strings.Join(words, " ")
	if all > len(words) {
		text += fmt.Sprintf(" and %d more", all-len(words))
	}
	return text
}

func tempoText(v *Voice) string {
	from, to := decimal(v.Tempo.From, 5), decimal(v.Tempo.To, 5)
	switch v.Tempo.Shape {
	case Constant:
		if v.Talea.Stretch != exact.Int(1) {
			return from + " quarter notes a minute in the first statement, the unit being a sixteenth"
		}
		return from + " quarter notes a minute, the unit being a sixteenth"
	case Geometric:
		return fmt.Sprintf("from %s to %s quarter notes a minute, by equal ratios in each unit (geometric)", from, to)
	case PerUnit:
		return fmt.Sprintf("from %s to %s quarter notes a minute, by equal steps in each unit (per-unit)", from, to)
	}
	return fmt.Sprintf("from %s to %s quarter notes a minute, by equal steps in each second (per-second)", from, to)
}

// relation says what a canon's follower is, in a clause.
func (d *Design) relation(c *Canon) string {
	said := "the line of " + d.Voices[c.Leader].Name
	if c.Inverted {
		said += " inverted"
	}
	if c.Backward {
		said += " backward"
	}
	if c.Inverted {
		said += fmt.Sprintf(", its first note %s", interval(c.Transpose))
	} else {
		said += ", " + interval(c.Transpose)
	}
	return said + " at speed " + decimal(c.Speed, digitsOf(c))
}

// digitsOf is how many digits of a speed are known, seven at most.
func digitsOf(c *Canon) int {
	half := math.Max((c.High-c.Low)/2/c.Speed, 1e-9)
	return min(7, max(3, 1+int(math.Ceil(-math.Log10(half)))))
}

// canon writes what two voices have in common.
func (t *text) canon(c *Canon) {
	d := t.d
	t.line("")
	t.line(fmt.Sprintf("Canon %s, %s", d.Voices[c.Leader].Name, d.Voices[c.Follower].Name))
	t.item("line", "%s is %s", d.Voices[c.Follower].Name, d.relation(c))
	digits := digitsOf(c)
	said := fmt.Sprintf("%s (%s to %s, 99.7 %% sure): units of %s while %s plays one", decimal(c.Speed, digits),
		decimal(c.Low, digits+2), decimal(c.High, digits+2), d.Voices[c.Follower].Name, d.Voices[c.Leader].Name)
	if c.Changes {
		said += "; it changes, and is this where they meet"
	}
	t.item("speed", "%s", said)
	if len(c.Near) > 0 {
		words := make([]string, len(c.Near))
		for i, x := range c.Near {
			words[i] = x.String()
		}
		t.item("which is", "%s", strings.Join(words, ", or "))
	}
	switch {
	case c.Meets:
		t.item("meet", "they are at one place of the line at %s", say.Clock(c.MeetSec, 1))
	case c.Backward:
		t.item("meet", "never: one goes the other way")
	default:
		t.item("meet", "never: their speeds are equal")
	}
	t.item("evidence", "%s of %s agree in pitch and duration, %s of the shorter voice; %s", say.Count(c.Notes, "note"),
		say.Count(min(d.Voices[c.Leader].Notes, d.Voices[c.Follower].Notes), "note"), share(math.Min(1, c.Explained)),
		luck(c.Chance))
}

// mostLeft is how many unexplained notes are listed.
const mostLeft = 24

// left lists the notes that nothing explains.
func (t *text) left() {
	d := t.d
	if d.Unexplained == 0 || d.Unexplained > len(d.Notes)/4 {
		return
	}
	t.line("")
	t.line("Notes that nothing explains")
	n := 0
	var last float64 = -1
	for i, ok := range d.Explained {
		if ok || d.Notes[i].StartSec == last && slices.Contains(d.Of[:i], d.Of[i]) && d.Of[i] >= 0 {
			continue
		}
		if n++; n > mostLeft {
			continue
		}
		last = d.Notes[i].StartSec
		of := ""
		if v := d.Of[i]; v >= 0 {
			of = ", " + d.Voices[v].Name
		}
		t.line(fmt.Sprintf("  %s at %s%s", chordName([]int{d.Notes[i].Key}), say.Clock(d.Notes[i].StartSec, 1), of))
	}
	if n > mostLeft {
		t.line(fmt.Sprintf("  and %d more", n-mostLeft))
	}
}
