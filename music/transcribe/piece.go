package transcribe

import (
	"fmt"
	"slices"
	"strings"

	"rollwright/exact"
	"rollwright/music/piece"
	"rollwright/text/source"
)

// The voices of a piece count in sixteenths, as those of a file do that say nothing
// else.
var unit = exact.NewRat(1, 16)

// mezzoForte is the level of notes whose file says none.
const mezzoForte = 80

// mostLegs is the most changes of tempo that a path takes (tempo.MaxLegs).
const mostLegs = 9_999

// Piece is the file as a piece that plays its notes at its times, on one piano as a
// piece has it that names none: a voice for each line of each part, all from the file's
// beginning. A part's pedals are those of its first line.
func (f *File) Piece() (*piece.Piece, error) {
	p := &piece.Piece{
		Title: source.Printable(f.Title), Composer: source.Printable(f.Composer),
		Pianos: []piece.Piano{{Instrument: "88-note", Hammers: "metal"}},
	}
	if err := f.checkLength(); err != nil {
		return nil, err
	}
	taken := map[string]bool{}
	for i := range f.Parts {
		part := &f.Parts[i]
		if len(part.Notes) == 0 {
			continue
		}
		l, err := newLines(part.Notes)
		if err != nil {
			return nil, fmt.Errorf("%s, %s: %w", f.Name, part.called(), err)
		}
		voices, err := f.voices(part, l)
		if err != nil {
			return nil, err
		}
		for n := range voices {
			voices[n].Name = free(taken, part.called(), n+1)
		}
		p.Voices = append(p.Voices, voices...)
	}
	return p, nil
}

// mostUnits is how long a file may be in sixteenths: what a voice may last.
const mostUnits = 1e9

// checkLength refuses a file whose silences alone would be a flood of items.
func (f *File) checkLength() error {
	last := int64(0)
	for i := range f.Parts {
		p := &f.Parts[i]
		for _, n := range p.Notes {
			last = max(last, n.To)
		}
		for _, s := range slices.Concat(p.Pedal, p.Soft) {
			last = max(last, s.To)
		}
	}
	if float64(last)*f.Tick.Float64()*16 > mostUnits {
		return fmt.Errorf("%s goes on for more than %.0f sixteenths", f.Name, mostUnits)
	}
	return nil
}

// called is what a person calls the part.
func (p *Part) called() string {
	name := strings.TrimSpace(source.Printable(p.Name))
	if runes := []rune(name); len(runes) > 80 {
		name = strings.TrimSpace(string(runes[:80]))
	}
	if name == "" {
		name = fmt.Sprintf("part %d", p.Number)
	}
	return name
}

// free is a name that is not taken yet, for line n of a part.
func free(taken map[string]bool, part string, n int) string {
	name := part
	if n > 1 {
		name = fmt.Sprintf("%s, line %d", part, n)
	}
	for base, i := name, 2; taken[name]; i++ {
		name = fmt.Sprintf("%s (%d)", base, i)
	}
	taken[name] = true
	return name
}

// voices are the lines of a part as voices without names.
func (f *File) voices(part *Part, l *lines) ([]piece.Voice, error) {
	voices := make([]piece.Voice, len(l.heads))
	tempo, path, err := f.tempo(part)
	if err != nil {
		return nil, err
	}
	for i := range voices {
		usual := l.usualLevel(i)
		w := newWriter(f, unit, l.count[i])
		l.line(i, func(c *chord) bool {
			w.sound(l.notes[c.first:c.last], usual)
			return true
		})
		v := piece.Voice{
			Section: -1, Canon: -1, FromLine: true, Unit: unit, Tempo: tempo, Path: path,
			Dynamics: []piece.Dynamic{{Level: int(usual)}}, Hold: []piece.Hold{{}},
		}
		if usual == 0 {
			v.Dynamics[0].Level = mezzoForte
		}
		if i == 0 {
			v.Pedal, v.Soft = f.pedals(w, part.Pedal), f.pedals(w, part.Soft)
		}
		v.Talea, v.Color = w.talea, w.color
		f.sayOf(w, part)
		voices[i] = v
	}
	return voices, nil
}

func (f *File) sayOf(w *writer, part *Part) {
	if w.mixed > 0 {
		f.say("%s: %d chords had notes of several levels; each sounds at its loudest", part.called(), w.mixed)
	}
	if w.twice > 0 {
		f.say("%s: %d notes are there twice, with one start and end, and count once", part.called(), w.twice)
	}
}

// usualLevel is the level that most chords of a line have; 0 where most have none.
func (l *lines) usualLevel(line int) uint8 {
	var counts [128]int
	l.line(line, func(c *chord) bool {
		counts[l.notes[c.last-1].Level]++
		return true
	})
	return uint8(slices.Index(counts[:], slices.Max(counts[:])))
}

// pedals are the stretches of a pedal in units. A line that ends before them goes on in
// silence, for a pedal goes no further than its voice.
func (f *File) pedals(w *writer, spans []Span) piece.Spans {
	var out piece.Spans
	for _, s := range spans {
		out.List = append(out.List, piece.Span{From: w.units(s.From), To: w.units(s.To)})
		w.silence(s.To)
	}
	return out
}

// tempo is the tempo of a part, or its path: a leg of one tempo for each stretch.
func (f *File) tempo(part *Part) (exact.Real, []piece.Leg, error) {
	tempos := part.Tempos
	if tempos == nil {
		tempos = f.Tempos
	}
	tempos = changes(tempos)
	switch {
	case len(tempos) == 0:
		return exact.Frac(120, 1), nil, nil
	case len(tempos) == 1:
		return tempos[0].Quarters, nil, nil
	case len(tempos) > mostLegs:
		return exact.Real{}, nil, fmt.Errorf("%s changes its tempo %d times; a tempo path takes %d changes", f.Name,
			len(tempos), mostLegs)
	}
	perTick := newWriter(f, unit, 0)
	legs := make([]piece.Leg, len(tempos))
	for i, t := range tempos {
		legs[i] = piece.Leg{From: t.Quarters, HasFrom: true, OverUnits: exact.Int(1)}
		if i+1 < len(tempos) {
			legs[i].OverUnits = perTick.units(tempos[i+1].Tick - t.Tick)
		}
	}
	return tempos[0].Quarters, legs, nil
}

// changes are tempos without those that change nothing: at one tick the last counts.
func changes(tempos []Tempo) []Tempo {
	var out []Tempo
	for _, t := range tempos {
		if n := len(out); n > 0 && out[n-1].Tick == t.Tick {
			out = out[:n-1]
		}
		if n := len(out); n > 0 && out[n-1].Quarters.Equal(t.Quarters) == exact.Yes {
			continue
		}
		out = append(out, t)
	}
	return out
}
