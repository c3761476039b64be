package plan

import (
	"fmt"

	"rollwright/exact"
	"rollwright/music/perform"
	"rollwright/music/piece"
	"rollwright/text/source"
)

// Found is a number that a voice asked for, with what made it.
type Found struct {
	Attribute string   `json:"attribute"` // "speed", "tempo_path.leg.2.to"
	Value     Number   `json:"value"`     // exact where it is a product
	Because   []string `json:"because"`   // the conditions, in words

	text string // as it is written in a piece
}

// Crossing is an instant at which two voices of a canon are at one place of its
// tune.
type Crossing struct {
	A  string `json:"a"`
	B  string `json:"b"`
	At Number `json:"at_s"`
}

// newFound says what a voice's unknown became.
func newFound(music *piece.Piece, f *perform.Found) *Found {
	out := &Found{Attribute: f.Unknown.Attribute(), Value: decimalNumber(f.Value.Float64()), text: f.Text(),
		Because: []string{}}
	if f.Exact {
		out.Value = realNumber(f.Value)
	}
	for _, c := range f.Conditions {
		out.Because = append(out.Because, conditionText(music, c))
	}
	for _, c := range f.Cross {
		out.Because = append(out.Because, fmt.Sprintf("%s and %s cross at %s", voiceName(music, c.Voices[0]),
			voiceName(music, c.Voices[1]), momentText(c.At, c.Units)))
	}
	return out
}

func voiceName(music *piece.Piece, i int) string { return source.Printable(music.Voices[i].Name) }

func refText(music *piece.Piece, ref piece.Ref) string {
	if ref.Voice >= 0 {
		return voiceName(music, ref.Voice)
	}
	return source.Printable(music.Canons[ref.Canon].Name)
}

// conditionText is a condition as a clause with the voice left out.
func conditionText(music *piece.Piece, c piece.Condition) string {
	switch p := c.Place; {
	case c.Lasts.Set && c.Lasts.Sec.Sign() > 0:
		return "it lasts " + secondsText(c.Lasts.Sec)
	case c.Lasts.Set:
		return "it lasts as long as " + refText(music, c.Lasts.As)
	case p.Kind == piece.After:
		return "it starts " + laterThan(p.At, p.Units, "when "+refText(music, p.Ref)+" has ended", "the end of "+refText(music, p.Ref))
	case p.Kind == piece.With:
		return "it starts " + laterThan(p.At, p.Units, "with "+refText(music, p.Ref), "the start of "+refText(music, p.Ref))
	case p.Kind == piece.MeetWith:
		theirs := pointText(p.Theirs) + " of " + refText(music, p.Ref)
		return fmt.Sprintf("%s falls %s", pointText(p.Mine), laterThan(p.LaterSec, p.LaterUnits, "on "+theirs, theirs))
	case p.Kind == piece.MeetAt:
		at := momentText(p.At, p.Units)
		return fmt.Sprintf("%s falls %s", pointText(p.Mine), laterThan(p.LaterSec, p.LaterUnits, "at "+at, at))
	default:
		return "it starts at " + momentText(p.At, p.Units)
	}
}

// laterThan is when something is that comes so much after, or before, something else:
// at itself where the two are together.
func laterThan(sec, units exact.Rat, together, apart string) string {
	switch {
	case sec.Sign() == 0 && units.Sign() == 0:
		return together
	case sec.Sign() < 0 || sec.Sign() == 0 && units.Sign() < 0:
		sec, _ = exact.Rat{}.Sub(sec)
		units, _ = exact.Rat{}.Sub(units)
		return momentText(sec, units) + " before " + apart
	}
	return momentText(sec, units) + " after " + apart
}

// momentText is seconds and units of the piece.
func momentText(sec, units exact.Rat) string {
	inUnits := units.String() + " units"
	if units == exact.Int(1) {
		inUnits = "1 unit"
	}
	switch {
	case units.Sign() == 0:
		return secondsText(sec)
	case sec.Sign() == 0:
		return inUnits
	}
	return secondsText(sec) + " and " + inUnits
}

// secondsText is a time of a piece file, exactly.
func secondsText(sec exact.Rat) string { return duration(sec.Float64()) }

// found says what was asked for.
func (t *text) found(f *Found) {
	if f == nil {
		return
	}
	is := f.text
	if f.Value.Exact == "" {
		is += " (found, to 18 digits: neither rational nor irrational)"
	}
	t.item("found", "%s = %s, %s", f.Attribute, is, because(f.Because))
}

func because(clauses []string) string {
	out := ""
	for i, c := range clauses {
		switch {
		case i > 0 && i == len(clauses)-1:
			out += " and "
		case i > 0:
			out += ", "
		}
		out += c
	}
	return "so that " + out
}

// byConstruction says that notes of two voices fall together because a number
// was found for it.
func byConstruction(perf *perform.Performance, a, b *part) string {
	for i := range perf.Found {
		f := &perf.Found[i]
		if f.Exact || f.Voice != a.line.Voice && f.Voice != b.line.Voice {
			continue
		}
		for _, c := range f.Conditions {
			p := c.Place
			if c.Lasts.Set || p.Kind != piece.MeetWith || p.Ref.Voice != a.line.Voice && p.Ref.Voice != b.line.Voice {
				continue
			}
			return fmt.Sprintf("; %s of %s falls on %s of %s by construction: %s was found for it", pointText(p.Mine),
				voiceName(perf.Piece, f.Voice),
				pointText(p.Theirs), voiceName(perf.Piece, p.Ref.Voice), f.Unknown.Attribute())
		}
	}
	return ""
}

// crossingsOf is a canon whose voices cross.
func crossingsOf(perf *perform.Performance, c *piece.Canon) Canon {
	out := Canon{Name: source.Printable(c.Name), Voices: []string{}, At: intNumber(0)}
	for _, v := range c.Voices {
		out.Voices = append(out.Voices, voiceName(perf.Piece, v))
	}
	for _, x := range c.Cross {
		sum, sec, isExact := perf.Crossing(c, &x)
		at := decimalNumber(sec)
		if isExact {
			at = sumNumber(sum)
		}
		out.Crossings = append(out.Crossings, Crossing{voiceName(perf.Piece, x.Voices[0]), voiceName(perf.Piece, x.Voices[1]),
			at})
	}
	return out
}

// crossings says when the voices of a canon cross.
func (t *text) crossings(c *Canon) {
	for _, x := range c.Crossings {
		t.item("cross", "%s and %s at %s%s", x.A, x.B, instant(x.At), t.once(", where both are at one place of the tune"))
	}
}

// once is words that are said the first time only.
func (t *text) once(words string) string {
	if t.explain(words, "") == words {
		return ""
	}
	return words
}

// foundRatio is the ratio of two speeds of which one was found to 18 digits, when
// both voices keep one tempo: nothing can be said of its being a fraction.
func foundRatio(a, b *part) (Number, bool) {
	ua, ok1 := a.line.Path.SecondsPerUnit()
	ub, ok2 := b.line.Path.SecondsPerUnit()
	if !ok1 || !ok2 || !found(a.line) && !found(b.line) {
		return Number{}, false
	}
	return decimalNumber(ua.Quo(ub).Float64()), true
}

// found reports whether a line's tempo was found to 18 digits.
func found(l *perform.Line) bool { return l.Rough && !l.SpeedExact }
