package find

import (
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"

	"rollwright/exact"
	"rollwright/music/piecefile"
	"rollwright/music/pitch"
	"rollwright/text/draft"
	"rollwright/text/say"
)

// WriteDraft writes a piece that plays the notes again, to be edited: voices
// whose talea and color were found have them, at the even times of the design;
// voices without, and single notes that no series explains, stand as lines at
// the times of the table. Voices of one line are a canon where they meet at one
// point. The name is that of the source. An error is that of w, or that the text
// would be longer than a piece may be.
func WriteDraft(w io.Writer, d *Design, name string) error {
	t := &drafting{d: d, taken: map[string]bool{}}
	out := &draft.Draft{Head: t.head(name)}
	out.Entries = append(out.Entries, draft.Attr("title", draft.Quoted(strings.TrimSuffix(name, ".csv")+", as found")))
	for i := range d.Voices {
		t.voice(i)
	}
	t.rest()
	out.Entries = append(out.Entries, t.entries...)
	text, err := piecefile.DraftText(out)
	if err != nil {
		return err
	}
	_, err = w.Write(text)
	return err
}

// drafting is a draft being written.
type drafting struct {
	d       *Design
	entries []draft.Entry
	done    []int           // voices that stand in a canon already
	taken   map[string]bool // names in use
	left    []int           // rows that no series sounds
}

func (t *drafting) head(name string) string {
	d := t.d
	text := fmt.Sprintf("What was found in %s: %s in %s.", name, say.Count(d.Count, "note"),
		say.Count(len(d.Voices), "voice"))
	if d.NoiseSec > 0.0005 {
		text += fmt.Sprintf(" Onsets strayed by %s from the series (standard deviation); here they are even.",
			millis(d.NoiseSec))
	}
	if d.Unexplained > 0 {
		text += fmt.Sprintf(" No series and no canon explains %s.", say.Count(d.Unexplained, "note"))
	}
	return text
}

// name makes a name that the draft does not have yet.
func (t *drafting) name(wanted string) string {
	name := wanted
	for n := 2; t.taken[name]; n++ {
		name = wanted + " " + strconv.Itoa(n)
	}
	t.taken[name] = true
	return name
}

// voice writes a voice, or the canon that it leads.
func (t *drafting) voice(i int) {
	v := &t.d.Voices[i]
	if slices.Contains(t.done, i) {
		return
	}
	if !v.written() {
		t.lines(v.Name, t.whyNot(v), rowsOf(v))
		return
	}
	t.strays(v)
	if t.canon(i) {
		return
	}
	t.entries = append(t.entries, draft.Block("voice", t.name(v.Name), t.series(v)...).Above(t.about(v)))
}

// written reports whether a voice can be written as series.
func (v *Voice) written() bool {
	if v.Talea == nil || v.Color == nil || v.clock.whole == nil {
		return false
	}
	return !slices.ContainsFunc(v.Color.Pitches, func(keys []int) bool { return len(keys) == 0 })
}

func (t *drafting) whyNot(v *Voice) string {
	switch {
	case v.Talea == nil && v.Color == nil:
		return "No series was found here: the notes stand as they are, a unit a second."
	case v.Talea == nil:
		return fmt.Sprintf("The pitches come back every %d notes, the durations do not: the notes stand as they are, a unit a second.", len(v.Color.Pitches))
	case v.Color == nil:
		return fmt.Sprintf("The durations come back every %d notes, the pitches do not: the notes stand as they are, a unit a second.", len(v.Talea.Durations))
	}
	return "The series found here have no common unit: the notes stand as they are, a unit a second."
}

// about is the remark above a voice of series.
func (t *drafting) about(v *Voice) string {
	text := fmt.Sprintf("%s on %s", say.Count(len(v.Color.Pitches), "pitch"),
		say.Count(len(v.Talea.Durations), "duration"))
	for _, c := range t.d.Canons {
		if c.Follower >= len(t.d.Voices) || &t.d.Voices[c.Follower] != v {
			continue
		}
		text += fmt.Sprintf("; %s", t.d.relation(&c))
		break
	}
	text += "."
	if n := v.lacking(); n > 0 {
		text += fmt.Sprintf(" The series sound %s that the table lacks.", say.Count(n, "note"))
	}
	return text
}

// lacking is how many notes of the series the table does not have.
func (v *Voice) lacking() int {
	right := 0
	for k := range v.steps {
		if v.predicts(k) {
			right++
		}
	}
	return slices.Max(v.rhythm.places) + 1 - right
}

// strays keeps the rows that the series of a voice do not sound.
func (t *drafting) strays(v *Voice) {
	for k, s := range v.steps {
		if !v.predicts(k) {
			t.left = append(t.left, s.rows...)
		}
	}
}

// series are the attributes of a voice: its series, tempo and start.
func (t *drafting) series(v *Voice) []draft.Entry {
	out := t.material(v, v.holdOf())
	out = append(out, tempoEntries(v)...)
	return append(out, draft.Attr("start", draft.Quoted(tidySeconds(v.clock.from, v.fromError())+" s")))
}

// material are talea, color, what changes, extent and hold of a voice.
func (t *drafting) material(v *Voice, h held) []draft.Entry {
	out := []draft.Entry{
		draft.Attr("talea", draft.Series(taleaWords(v.clock.whole, h.silent)...)),
		draft.Attr("color", draft.Series(colorWords(v.Color.Pitches)...)),
		draft.Attr("extent", draft.Quoted(say.Count(slices.Max(v.rhythm.places)+1, "note"))),
	}
	switch {
	case h.sec > 0:
		out = append(out, draft.Attr("hold", draft.Quoted(strconv.FormatFloat(math.Round(h.sec*1e4)/10, 'f', -1, 64)+" ms")))
	case h.share != 1:
		out = append(out, draft.Attr("hold", draft.Bare(strconv.FormatFloat(h.share, 'f', -1, 64))))
	}
	if level := t.d.level(rowsOf(v)); level != 80 {
		out = append(out, draft.Attr("dynamics", draft.Bare(strconv.Itoa(level))))
	}
	if v.Color.Transpose != 0 {
		out = append(out, draft.Block("per_color", "", draft.Attr("transpose", draft.Bare(strconv.Itoa(v.Color.Transpose)))))
	}
	if v.Talea.Stretch != exact.Int(1) {
		out = append(out, draft.Block("per_talea", "", draft.Attr("stretch", draft.Bare(v.Talea.Stretch.String()))))
	}
	return out
}

// level is the commonest level of rows, mf where none is known.
func (d *Design) level(rows []int) int {
	var times [128]int
	best := 80
	for _, r := range rows {
		if l := d.Notes[r].Level; l > 0 && l < 128 {
			if times[l]++; times[l] > times[best] {
				best = l
			}
		}
	}
	return best
}

func taleaWords(whole, silent []int64) []string {
	var words []string
	for m, n := range whole {
		if silent == nil || silent[m] == 0 {
			words = append(words, strconv.FormatInt(n, 10))
			continue
		}
		words = append(words, strconv.FormatInt(n-silent[m], 10), "("+strconv.FormatInt(silent[m], 10)+")")
	}
	return words
}

func colorWords(pitches [][]int) []string {
	words := make([]string, len(pitches))
	for i, keys := range pitches {
		words[i] = chordName(keys)
	}
	return words
}

// tempoEntries are a voice's tempo, or the path that it takes.
func tempoEntries(v *Voice) []draft.Entry {
	off := v.Tempo.From * v.unitError()
	from := draft.Bare(tidyNumber(v.Tempo.From, off))
	if v.Tempo.Shape == Constant {
		return []draft.Entry{draft.Attr("tempo", from)}
	}
	total := int64(0)
	for p := range slices.Max(v.rhythm.places) + 1 {
		total += v.clock.whole[p%len(v.clock.whole)]
	}
	leg := []draft.Entry{
		draft.Attr("from", draft.Bare(tidyNumber(v.Tempo.From, 0))),
		draft.Attr("to", draft.Bare(tidyNumber(v.Tempo.To, 0))),
		draft.Attr("over", draft.Bare(strconv.FormatInt(total, 10))),
	}
	if v.Tempo.Shape != Geometric {
		leg = append(leg, draft.Attr("shape", draft.Quoted(string(v.Tempo.Shape))))
	}
	return []draft.Entry{draft.Block("tempo_path", "", draft.Block("leg", "", leg...))}
}

// unitError is within what the unit of a voice is known, as a share of it: two
// standard errors of the slope of a line through its onsets.
func (v *Voice) unitError() float64 {
	n := float64(len(v.steps))
	span := v.steps[len(v.steps)-1].at - v.steps[0].at
	return 2 * v.noise() * math.Sqrt(12/n) / span
}

// fromError is within what the first onset of a voice is known, in seconds.
func (v *Voice) fromError() float64 { return 4 * v.noise() / math.Sqrt(float64(len(v.steps))) }

// tidyNumber is a number with as few decimals as are within off of it, at most
// nine.
func tidyNumber(x, off float64) string {
	for decimals := 0; decimals < 9; decimals++ {
		text := strconv.FormatFloat(x, 'f', decimals, 64)
		if y, err := strconv.ParseFloat(text, 64); err == nil && y > 0 && math.Abs(y-x) <= off {
			return text
		}
	}
	return strings.TrimRight(strings.TrimRight(strconv.FormatFloat(x, 'f', 9, 64), "0"), ".")
}

// tidySeconds is tidyNumber for a time, which may be 0.
func tidySeconds(x, off float64) string {
	if math.Abs(x) <= off {
		return "0"
	}
	return tidyNumber(x, off)
}

func rowsOf(v *Voice) []int {
	var rows []int
	for _, s := range v.steps {
		rows = append(rows, s.rows...)
	}
	return rows
}

// keyName is a key for an axis of inversion.
func keyName(key int) string { return pitch.Name(key) }
