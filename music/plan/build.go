package plan

import (
	"fmt"
	"math"
	"math/big"

	"rollwright/exact"
	"rollwright/music/perform"
	"rollwright/music/piece"
	"rollwright/text/source"
)

// New reckons the plan of a performed piece. What is past the bounds of o is
// left out and said to be.
func New(perf *perform.Performance, o Options) *Plan {
	o = o.withDefaults()
	p := &Plan{Title: perf.Piece.Title, Voices: []Voice{}, Canons: []Canon{}, Pairs: []Pair{}}
	if perf.ShiftVoice >= 0 {
		p.Shift = Shift{shiftNumber(perf), source.Printable(perf.Piece.Voices[perf.ShiftVoice].Name)}
	} else {
		p.Shift.By = intNumber(0)
	}
	var parts []*part
	var onsets [][]int64
	length := 0.0
	for i, l := range perf.Lines {
		voice, part := newVoice(perf.Piece, &perf.Piece.Voices[i], l)
		p.Voices = append(p.Voices, voice)
		p.Notes += l.Notes
		length = max(length, l.EndSec)
		parts, onsets = append(parts, part), append(onsets, part.onsets.ns)
	}
	for i := range perf.Found {
		p.Voices[perf.Found[i].Voice].Found = newFound(perf.Piece, &perf.Found[i])
	}
	p.Length = Seconds(length)
	p.Density = density(onsets, length)
	p.Bars = newBars(&perf.Piece.Bar, perf.Bars())
	p.canons(perf, parts)
	p.sections(perf)
	p.compare(perf, parts, length, o)
	return p
}

func shiftNumber(perf *perform.Performance) Number {
	if perf.ShiftExact {
		return sumNumber(perf.Shift)
	}
	return decimalNumber(perf.ShiftSec)
}

// compare takes every two voices, as long as the bounds allow.
func (p *Plan) compare(perf *perform.Performance, parts []*part, length float64, o Options) {
	voices := parts[:min(len(parts), o.MaxVoices)]
	if len(voices) < len(parts) {
		p.NotCompared = fmt.Sprintf("Only the first %d of %d voices are compared with each other.", len(voices), len(parts))
	}
	steps, left := 0, 0
	for i, a := range voices {
		for _, b := range voices[i+1:] {
			cost := a.cost() + b.cost()
			if steps+cost > o.Steps {
				left++
				continue
			}
			steps += cost
			p.Pairs = append(p.Pairs, newPair(perf, a, b, length, o))
		}
	}
	if left > 0 {
		p.NotCompared += fmt.Sprintf(" %d pairs of voices are not compared: together they have too many notes.", left)
	}
}

// Between is everything between two voices of a performance, by their indices, the first of
// them before the other in the file: for those who want more of it than a Plan lists.
func Between(perf *perform.Performance, a, b int, o Options) Pair {
	o = o.withDefaults()
	one := func(voice int) *part {
		return newPart(perf.Lines[voice], &perf.Piece.Voices[voice], func(perform.Item) {})
	}
	return newPair(perf, one(a), one(b), perf.EndSec, o)
}

func newPair(perf *perform.Performance, a, b *part, length float64, o Options) Pair {
	music, e := perf.Piece, meet(a, b, length, o)
	pair := e.pair()
	pair.Reason += byConstruction(perf, a, b)
	if pair.Proof != Exact {
		pair.Reason += declared(music, a, b)
	}
	pair.Nearest, pair.Sound = e.nearest(music)
	var canon *piece.Canon
	if c := a.voice.Canon; c >= 0 && c == b.voice.Canon && !music.Canons[c].Crosses() {
		canon = &music.Canons[c]
		pair.Canon = source.Printable(music.Canons[c].Name)
		pair.Lag = lag(a, b, music.Canons[c].Meet, o)
	}
	pair.SamePlaces = samePlaces(a, b, canon)
	return pair
}

// sections finds when each section begins and ends.
func (p *Plan) sections(perf *perform.Performance) {
	for i, s := range perf.Piece.Sections {
		span := &perf.Sections[i]
		out := Section{Name: source.Printable(s.Name), Like: source.Printable(s.Like), Voices: []string{},
			End: Seconds(span.EndSec), Start: decimalNumber(span.StartSec)}
		if span.StartExact && len(perf.Piece.Path) == 0 {
			out.Start = sumNumber(span.Start)
		}
		if len(perf.Piece.Path) > 0 {
			n := decimalNumber(span.NominalSec)
			out.Nominal = &n
		}
		for k := range perf.Piece.Voices {
			if perf.Piece.Voices[k].Section == i {
				out.Voices = append(out.Voices, p.Voices[k].Name)
			}
		}
		p.Sections = append(p.Sections, out)
	}
}

// canons finds where each canon meets.
func (p *Plan) canons(perf *perform.Performance, parts []*part) {
	for _, c := range perf.Piece.Canons {
		canon := Canon{Name: source.Printable(c.Name), Meet: pointText(c.Meet), Voices: []string{}}
		if c.Crosses() {
			p.Canons = append(p.Canons, crossingsOf(perf, &c))
			continue
		}
		for i, v := range c.Voices {
			canon.Voices = append(canon.Voices, parts[v].name)
			if text := laterBy(&perf.Piece.Voices[v].Place); text != "" {
				canon.Later = append(canon.Later, parts[v].name+" "+text)
			}
			if m, ok := parts[v].point(c.Meet); ok && (i == 0 || canon.Later != nil && canon.At == (Number{})) &&
				inTime(&perf.Piece.Voices[v]) {
				canon.At, canon.Nominal = parts[v].instant(m), parts[v].nominal(c.Meet)
			}
		}
		p.Canons = append(p.Canons, canon)
	}
}

// newVoice counts a voice and prepares it for comparison.
func newVoice(music *piece.Piece, v *piece.Voice, l *perform.Line) (Voice, *part) {
	texts := durationTexts(v)
	table := newTable(v)
	p := newPart(l, v, table.count)
	out := Voice{
		Name: p.name, Items: l.Items, Notes: l.Notes,
		Units: decimalNumber(l.Length), Seconds: decimalNumber(l.EndSec - l.StartSec),
		Speed:      decimalNumber(l.Speed.Float64()),
		TempoFirst: roundTempo(l.TempoAt(0)), TempoLast: roundTempo(l.TempoAt(l.Length)),
		End: Seconds(l.EndSec), start: l.StartSec,
		Table: table.rows(v, texts), durations: texts, fromLine: v.FromLine,
	}
	if v.Piano < len(music.Pianos) {
		out.Piano = source.Printable(music.Pianos[v.Piano].Name)
	}
	if v.Canon >= 0 {
		out.Canon = source.Printable(music.Canons[v.Canon].Name)
	}
	if l.SpeedExact {
		out.Speed = realNumber(l.Speed)
	}
	if l.UnitsExact {
		out.Units = sumNumber(l.Units)
	}
	if unit, constant := l.Path.SecondsPerUnit(); constant && found(l) && !p.bent {
		number := decimalNumber(unit.Float64())
		out.SecondsPerUnit = &number
	}
	if p.hasUnit && !p.bent {
		unit := realNumber(p.unit)
		out.SecondsPerUnit = &unit
		if l.UnitsExact {
			out.Seconds = sumNumber(l.Units.MulReal(p.unit))
		}
	}
	if n := len(p.onsets.ns); n > 0 {
		out.First, out.Last = fromNanoseconds(p.onsets.ns[0]), fromNanoseconds(p.onsets.ns[n-1])
	}
	out.cycles(v, p)
	out.Questions = questions(v, l)
	out.Bars = newBars(&v.Bar, l.Bars())
	out.TableNote = tableNote(v)
	out.Asked, out.Unreached = asked(music, v.Extent), p.unreached()
	return out, p
}

// tableNote says what of a table holds for a first statement only.
func tableNote(v *piece.Voice) string {
	switch moved, plain := v.PerColor.Moves() || v.PerTalea.Moves(), plain(v); {
	case moved && !plain:
		return "pitches and durations of a first statement; later ones change"
	case moved:
		return "pitches of a first statement; later ones are transposed"
	case !plain:
		return "durations of a first statement; later ones are stretched"
	}
	return ""
}

func fromNanoseconds(ns int64) Seconds { return Seconds(float64(ns) / 1e9) }

// roundTempo rounds to a billionth of a quarter note a minute: a path's tempo
// is right to about fourteen digits.
func roundTempo(q float64) float64 { return math.Floor(q*1e9+0.5) / 1e9 }

// cycles fills in the two series and the complete cycle.
func (out *Voice) cycles(v *piece.Voice, p *part) {
	sounding, taleaUnits := soundingIn(v.Talea), new(big.Rat)
	for _, d := range v.Talea {
		taleaUnits.Add(taleaUnits, d.Units.Big())
	}
	units := exact.SumOf(v.Stretch).Scale(taleaUnits)
	out.Color = Series{Members: len(v.Color), Sounding: len(v.Color),
		Statements: ratNumber(big.NewRat(int64(out.Notes), int64(len(v.Color))))}
	once := sumNumber(units)
	out.Talea = Series{Members: len(v.Talea), Sounding: sounding, Units: &once,
		Statements: ratNumber(big.NewRat(int64(out.Items), int64(len(v.Talea))))}
	notes := p.complete * sounding
	c := Complete{Taleae: p.complete, Colores: notes / len(v.Color), Notes: notes, Items: p.complete * len(v.Talea)}
	c.Times = ratNumber(big.NewRat(int64(out.Notes), int64(notes)))
	c.Is = out.Items > 0 && out.Items%c.Items == 0
	if plain(v) {
		whole := units.Scale(big.NewRat(int64(p.complete), 1))
		c.Units = sumNumber(whole)
		if p.hasUnit && !p.bent {
			c.Seconds = sumNumber(whole.MulReal(p.unit))
		}
	}
	out.Complete = c
}

// durationTexts are the members of the talea as they sound in a plain
// statement: stretched with the whole voice.
func durationTexts(v *piece.Voice) []string {
	out := make([]string, len(v.Talea))
	known := make(map[exact.Rat]string) // a talea has few different durations
	for i, d := range v.Talea {
		text, ok := known[d.Units]
		if !ok {
			text = exact.SumOf(v.Stretch).Scale(d.Units.Big()).String()
			known[d.Units] = text
		}
		out[i] = text
	}
	return out
}
