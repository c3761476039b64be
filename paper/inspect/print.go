package inspect

import (
	"bufio"
	"encoding/json"
	"fmt"
	"io"
	"slices"
	"strings"

	"rollwright/paper/roll"
	"rollwright/text/say"
	"rollwright/text/source"
)

// mostLines is how many groups a person is given to read.
const mostLines = 20

// Told is what one change would help, in words: lines, each a group of findings,
// and the change.
type Told struct {
	Lines  []Line
	Remedy string // may be empty
}

// Line is a group of findings in words, each part of which can stand on a line of
// its own.
type Line struct {
	Severity Severity
	What     string // the message of its worst finding
	Where    string // whose it is, how often, from when to when; may be empty
}

// Told is the report for a person, the worst first. A long report is folded, and
// a remedy is told once, behind all lines of one severity that it is for; where a
// lesser one has the same remedy, it was told above. A shorter hold is the one that
// helps everywhere in its voice, not only where its example stands.
func (r *Report) Told() []Told {
	groups := r.Fold(mostLines)
	var all []advice
	for i := range groups {
		g := &groups[i]
		line := Line{g.Severity, g.Worst.Message(), g.Where()}
		a := g.advice(r.holds[g.Worst.earlier()])
		n := slices.IndexFunc(all, a.alike)
		switch {
		case n >= 0 && all[n].lines[0].Severity == g.Severity:
			all[n].lines = append(all[n].lines, line)
			all[n].add(a.voices)
		case n >= 0:
			all[n].add(a.voices)
			all = append(all, advice{lines: []Line{line}})
		default:
			a.lines = []Line{line}
			all = append(all, a)
		}
	}
	out := make([]Told, len(all))
	for i, a := range all {
		out[i] = Told{a.lines, a.text()}
	}
	return out
}

// advice is a remedy without the voices that it names, which may be several.
type advice struct {
	lines         []Line
	before, after string
	voices        []string
}

// advice takes the voice out of the remedy, but where moving one voice would meet
// another that moves as well.
func (g *Group) advice(hold float64) advice {
	f := &g.Worst
	text := f.remedy(hold)
	if text != "" && f.trials.tries() {
		text = f.tried(hold, g.Count == 1)
	}
	for _, v := range []int{f.Voice, f.earlier()} {
		in := f.in(v)
		if in == "" || strings.Count(text, in) != 1 || strings.Contains(text, "octave") ||
			strings.Contains(text, "transpose") {
			continue
		}
		before, after, _ := strings.Cut(text, in)
		return advice{before: before, after: after, voices: []string{strings.TrimPrefix(in, " in ")}}
	}
	return advice{before: text}
}

func (a advice) alike(b advice) bool {
	return a.before+a.after != "" && a.before == b.before && a.after == b.after &&
		(len(a.voices) == 0) == (len(b.voices) == 0)
}

func (a *advice) add(voices []string) {
	for _, v := range voices {
		if !slices.Contains(a.voices, v) {
			a.voices = append(a.voices, v)
		}
	}
}

func (a advice) text() string {
	if len(a.voices) == 0 {
		return a.before
	}
	return a.before + " in " + say.List(a.voices) + a.after
}

// WriteSummary writes what the report tells a person: a line for every group, a
// remedy behind those that it is for, then how many findings there are.
func WriteSummary(w io.Writer, r *Report) error {
	var b strings.Builder
	for _, t := range r.Told() {
		for _, l := range t.Lines {
			fmt.Fprintf(&b, "%s: %s\n", l.Severity.Words(), bracketed(l.What, l.Where))
		}
		if t.Remedy != "" {
			fmt.Fprintf(&b, "    %s\n", t.Remedy)
		}
	}
	b.WriteString(r.Summary() + "\n")
	_, err := io.WriteString(w, b.String())
	return err
}

// WriteAll writes a line for each finding, with a remedy indented behind the
// last of those in a row that have it, then how many there are.
func WriteAll(w io.Writer, r *Report) error {
	out := bufio.NewWriter(w)
	remedy := ""
	tell := func() {
		if remedy != "" {
			out.WriteString("    " + remedy + "\n")
		}
	}
	for f := range r.All() {
		if next := f.Remedy(); next != remedy {
			tell()
			remedy = next
		}
		if _, err := out.WriteString(f.Text() + "\n"); err != nil {
			return err
		}
	}
	tell()
	out.WriteString(r.Summary() + "\n")
	return out.Flush()
}

// WriteJSON writes the groups and facts as one object.
func WriteJSON(w io.Writer, r *Report) error {
	text, err := json.MarshalIndent(r, "", "  ")
	if err != nil {
		return err
	}
	_, err = w.Write(append(text, '\n'))
	return err
}

// WriteAllJSON writes an array of the findings, each on a line of its own.
func WriteAllJSON(w io.Writer, r *Report) error {
	out := bufio.NewWriter(w)
	before := "["
	for f := range r.All() {
		text, err := json.Marshal(f)
		if err != nil {
			return err
		}
		out.WriteString(before + "\n  ")
		if _, err := out.Write(text); err != nil {
			return err
		}
		before = ","
	}
	if before == "[" {
		out.WriteString(before)
	}
	out.WriteString("\n]\n")
	return out.Flush()
}

// Summary is one line: how many findings of each severity.
func (r *Report) Summary() string {
	if r.Counts == [3]int{} {
		return "nothing found: paper, bar and action can play it as written"
	}
	var parts []string
	for _, s := range []Severity{Forbids, Risks, Note} {
		if n := r.Counts[s]; n > 0 {
			parts = append(parts, fmt.Sprintf("%d %s", n, s.Words()))
		}
	}
	return "findings: " + strings.Join(parts, ", ")
}

// Text is the group in a sentence: its worst, and its place in parentheses.
func (g *Group) Text() string { return bracketed(g.Worst.Message(), g.Where()) }

// Where is the place of the group in words: whose it is, how often, from when
// to when.
func (g *Group) Where() string {
	f := &g.Worst
	if g.Count == 1 {
		return f.Where()
	}
	often := fmt.Sprintf("%d times", g.Count)
	if g.Voices > 1 {
		often += fmt.Sprintf(" in %d parts: %s", g.Voices, g.parted())
	}
	parts := []string{g.whose(), often}
	if f.placed() {
		parts[1] += fmt.Sprintf(", from %s to %s", say.Instant(g.First.StartSec), say.Instant(g.Last.StartSec))
		worst := "this at " + say.Instant(f.StartSec)
		switch {
		case f.Note > 0 && g.Voice >= 0:
			worst += fmt.Sprintf(", note %d", f.Note)
		case f.Voice >= 0 && g.Voice < 0:
			worst += ", " + f.voiceNote()
		}
		parts = append(parts, worst)
	}
	return strings.TrimPrefix(strings.Join(parts, "; "), "; ")
}

// parted names the first voices of a group and their lines in the file.
func (g *Group) parted() string {
	var names []string
	for i := range g.parts {
		f := &g.parts[i]
		names = append(names, strings.TrimSpace(source.Printable(f.VoiceName)+" "+f.line()))
	}
	text := strings.Join(names, ", ")
	if more := g.Voices - len(names); more > 0 {
		text += fmt.Sprintf(" and %d more", more)
	}
	return text
}

func bracketed(text, place string) string {
	if place == "" {
		return text
	}
	return text + " (" + place + ")"
}

// whose says what all findings of the group have in common.
func (g *Group) whose() string {
	f := &g.Worst
	var parts []string
	if g.Piano >= 0 && f.PianoName != "" {
		parts = append(parts, source.Printable(f.PianoName))
	}
	if g.Voice >= 0 {
		parts = append(parts, source.Printable(f.VoiceName))
		if line := f.line(); line != "" {
			parts = append(parts, line)
		}
	}
	return strings.Join(parts, ", ")
}

// Text is one finding in a line.
func (f *Finding) Text() string {
	return f.Severity.Words() + ": " + bracketed(f.Message(), f.Where())
}

// MarshalJSON writes the group with its first, last and worst finding.
func (g Group) MarshalJSON() ([]byte, error) {
	voice := ""
	if g.Voice >= 0 {
		voice = g.Worst.VoiceName
	}
	return json.Marshal(struct {
		Kind     string  `json:"kind"`
		Severity string  `json:"severity"`
		Voice    string  `json:"voice,omitempty"`
		Voices   int     `json:"voices"`
		Count    int     `json:"count"`
		First    Finding `json:"first"`
		Last     Finding `json:"last"`
		Worst    Finding `json:"worst"`
	}{g.Kind.String(), g.Severity.String(), voice, g.Voices, g.Count, g.First, g.Last, g.Worst})
}

// MarshalJSON writes counts, groups and facts.
func (r *Report) MarshalJSON() ([]byte, error) {
	facts := make([]Facts, len(r.Facts))
	for i, f := range r.Facts {
		facts[i] = f.rounded()
	}
	groups := r.Groups
	if groups == nil {
		groups = []Group{}
	}
	return json.Marshal(struct {
		Forbids int     `json:"forbids"`
		Risks   int     `json:"risks"`
		Notes   int     `json:"notes"`
		Groups  []Group `json:"findings"`
		Facts   []Facts `json:"rolls"`
	}{r.Counts[Forbids], r.Counts[Risks], r.Counts[Note], groups, facts})
}

func (f Facts) rounded() Facts {
	f.LengthMM, f.AtOnceMM, f.BridgeMM = decimals(f.LengthMM, 4), decimals(f.AtOnceMM, 4), decimals(f.BridgeMM, 4)
	f.MusicSec, f.RateSec = decimals(f.MusicSec, 9), decimals(f.RateSec, 9)
	f.TempoLast, f.RowShare = decimals(f.TempoLast, 6), decimals(f.RowShare, 6)
	steps := make([]StepFact, len(f.Steps))
	for i, s := range f.Steps {
		steps[i] = StepFact{s.Voice, decimals(s.LargestMS, 6), decimals(s.RMSMS, 6)}
	}
	f.Steps = steps
	levels := make([]LevelFact, len(f.Levels))
	for i, l := range f.Levels {
		levels[i] = l
		levels[i].RMS = decimals(l.RMS, 6)
	}
	f.Levels = levels
	return f
}

// Text is the facts of a roll for a person, in lines.
func (f *Facts) Text() string {
	var b strings.Builder
	name := "roll"
	if f.Piano != "" {
		name = "roll for " + source.Printable(f.Piano)
	}
	fmt.Fprintf(&b, "%s on %s: %s long, %s of music, %d slots, %d punches\n",
		name, source.Printable(f.Instrument), paper(f.LengthMM), say.Instant(f.MusicSec), f.Slots, f.Punches)
	if roll.Printed(f.TempoFirst) != roll.Printed(f.TempoLast) {
		fmt.Fprintf(&b, "    roll tempo %s at the start, %s at the end\n", figure(f.TempoFirst), figure(f.TempoLast))
	}
	fmt.Fprintf(&b, "    at most %s at once, %d in a second, %s %% of a row cut away\n", say.Count(f.AtOnce, "note"),
		f.Rate, figure(100*f.RowShare))
	if f.BridgeMM > 0 {
		fmt.Fprintf(&b, "    shortest bridge between two strokes of a key: %s mm\n", figure(f.BridgeMM))
	}
	for _, s := range f.Steps {
		fmt.Fprintf(&b, "    %s falls beside its times by %s ms at most, %s ms in the root mean square\n",
			source.Printable(s.Voice), figure(s.LargestMS), figure(s.RMSMS))
	}
	return b.String()
}
