package workshop

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"strconv"
	"strings"

	"rollwright/exact"
	"rollwright/music/event"
	"rollwright/music/notation"
	"rollwright/music/perform"
	"rollwright/music/piecefile"
	"rollwright/music/pitch"
	"rollwright/text/choice"
	"rollwright/text/source"
	"rollwright/text/words"
)

// oneTempo is the piece for programs that know a single tempo: every voice in the tempo of
// the piece and in bars of four quarter notes, its strokes at the nearest multiples of a
// note value.
type oneTempo struct {
	*perform.Performance
	Tempo  float64 // quarter notes a minute
	Value  string  // the note value: "1/16"
	StepMS float64 // that it lasts
	MostMS float64 // by how much a stroke was moved, at most

	place map[int]int // of a voice of the piece among these; none of one that is not heard
}

// finest is the shortest note value that times are rounded to: 1/finest of a whole note.
const finest = 256

// parseGrid reads a note value such as 1/16 as steps of a whole note.
func parseGrid(text string) (steps int, err error) {
	value, err := exact.ParseRat(text)
	if err == nil {
		if one := value.Float64(); one > 0 {
			if steps = int(math.Round(1 / one)); steps >= 4 && steps <= finest && steps%4 == 0 &&
				value.Cmp(exact.NewRat(1, int64(steps))) == 0 {
				return steps, nil
			}
		}
	}
	return 0, choice.Errorf("{one-tempo} %q: write a note value that a quarter note is a multiple of, such as 1/16, 1/32, 1/24, down to 1/%d",
		text, finest)
}

// inOneTempo is the piece with the strokes of all voices rounded to a note value of one
// tempo, the piece's, itself rounded to a hundredth. The error says where the value is too
// long to keep notes apart.
func (j *Job) inOneTempo(value string) (*oneTempo, error) {
	steps, err := parseGrid(value)
	if err != nil {
		return nil, err
	}
	o := &oneTempo{place: map[int]int{}, Tempo: math.Max(0.01, math.Round(j.Piece.Tempo.Float64()*100)/100), Value: value}
	stepSec := 240 / o.Tempo / float64(steps)
	o.StepMS = stepSec * 1000
	var text strings.Builder
	fmt.Fprintf(&text, "tempo = %s\nunit = %q\n", strconv.FormatFloat(o.Tempo, 'f', -1, 64), value)
	for v := range j.Performance.Lines {
		line, err := j.rounded(v, stepSec, o)
		if err != nil {
			return nil, err
		}
		if line == "" {
			continue
		}
		o.place[v] = len(o.place)
		fmt.Fprintf(&text, "voice \"v%d\" {\n  bar = %d\n  line = %q\n}\n", v, steps, line)
	}
	p, err := piecefile.Parse(&source.File{Name: "one tempo", Text: []byte(text.String())})
	if err != nil {
		return nil, fmt.Errorf("in one tempo: %w", err)
	}
	if o.Performance, err = perform.New(p, perform.Options{}); err != nil {
		return nil, fmt.Errorf("in one tempo: %w", err)
	}
	return o, nil
}

// at is what begins on a step: strokes, or a silence.
type at struct {
	note  int32
	keys  []int16
	level int16
}

// rounded is a voice as a line of steps.
func (j *Job) rounded(voice int, stepSec float64, o *oneTempo) (string, error) {
	on := map[int]*at{}
	step := func(sec float64) int { return int(math.Round(sec / stepSec)) }
	on[0] = &at{} // what comes before the first stroke is silence
	for e := range j.strokesOf(voice) {
		n := step(e.StartSec)
		o.MostMS = max(o.MostMS, 1000*math.Abs(float64(n)*stepSec-e.StartSec))
		a := on[n]
		if a == nil || a.note == 0 {
			a = &at{note: e.Note, level: e.Level}
			on[n] = a
		}
		if a.note != e.Note {
			return "", fmt.Errorf("notes %d and %d of %s fall on one step of %s at %.2f quarter notes a minute; a shorter note value keeps them apart",
				a.note, e.Note, j.Piece.Voices[voice].Name, o.Value, o.Tempo)
		}
		if !slices.Contains(a.keys, e.Key) {
			a.keys = append(a.keys, e.Key)
		}
	}
	if len(on) == 1 && len(on[0].keys) == 0 {
		return "", nil
	}
	line := j.Performance.Lines[voice]
	names := map[int16]pitch.Named{}
	var named []pitch.Named
	for item := range line.All() {
		if item.Silent {
			if n := step(item.StartSec); on[n] == nil {
				on[n] = &at{}
			}
			continue
		}
		for _, name := range line.Named(item, named[:0]) {
			names[int16(name.Key)] = name
		}
	}
	places := slices.Sorted(maps.Keys(on))
	end := max(step(line.EndSec), places[len(places)-1]+1)
	var text strings.Builder
	for i, n := range places {
		until := end
		if i+1 < len(places) {
			until = places[i+1]
		}
		a := on[n]
		if len(a.keys) == 0 {
			fmt.Fprintf(&text, "(%d) ", until-n)
			continue
		}
		slices.Sort(a.keys)
		for k, key := range a.keys {
			if k > 0 {
				text.WriteByte('+')
			}
			name, ok := names[key]
			if !ok {
				name = pitch.Named{Key: int(key), Spelling: pitch.SpellingOf(pitch.Letter(int(key), false), int(key))}
			}
			text.WriteString(name.String())
		}
		fmt.Fprintf(&text, ":%d!%d ", until-n, a.level)
	}
	return strings.TrimSpace(text.String()), nil
}

// strokesOf are the events of a voice in order of start.
func (j *Job) strokesOf(voice int) func(yield func(event.Event) bool) {
	return func(yield func(event.Event) bool) {
		for e := range j.Performance.Events() {
			if int(e.Voice) == voice && !yield(e) {
				return
			}
		}
	}
}

// part is a voice in notation, under its own name; nil for one that is not heard.
func (o *oneTempo) part(voice int, name string) *notation.Part {
	place, ok := o.place[voice]
	if !ok {
		return nil
	}
	p := notation.Of(o.Performance, place)
	p.Name = name
	return p
}

// remark says at the beginning of a part what was rounded, and by how much.
func (o *oneTempo) remark(book *words.Book) string {
	number := func(x float64) string { return book.Decimal(strconv.FormatFloat(x, 'f', 1, 64)) }
	return book.Say("notation.one-tempo", words.Args{"value": o.Value, "step": number(o.StepMS), "most": number(o.MostMS)})
}
