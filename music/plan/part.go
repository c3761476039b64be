package plan

import (
	"math/big"

	"rollwright/exact"
	"rollwright/music/perform"
	"rollwright/music/piece"
	"rollwright/text/source"
)

// part is a voice as it is compared with others.
type part struct {
	name     string
	voice    *piece.Voice
	line     *perform.Line
	startSec float64 // of the first item
	endSec   float64 // of the last one, as written
	hasUnit  bool    // one tempo, exactly known, in the nominal time of its frame
	unit     exact.Real
	bent     bool // what is heard is another time than that
	frame    int  // whose nominal time it is: perform.Line.Frame
	complete int  // taleae of a complete cycle

	onsets     onsets
	startExact bool   // onsets.clock.start is, even where the clock is not
	noSteps    string // why onsets.steps is nil: a clause with the voice as its subject

	lattice *perform.Lattice // nil: likewise

	// Kept only for voices of canons, whose lag is asked for. Items are counted
	// from 0 in the order of performance.
	taleae  []int32 // items at which statements begin
	colores []int32
	notes   []int32 // items that sound
}

// newPart walks through a line once. It hands every sounding item to count.
func newPart(l *perform.Line, v *piece.Voice, count func(perform.Item)) *part {
	p := &part{name: source.Printable(v.Name), voice: v, line: l, startSec: l.StartSec, endSec: l.EndSec}
	p.unit, p.hasUnit = l.NominalPerUnit()
	p.bent, p.frame = l.Bent(), l.Frame
	p.complete = endTogether(len(v.Color), soundingIn(v.Talea)) / soundingIn(v.Talea)
	p.onsets.ns = make([]int64, 0, l.Notes)
	p.walk(count)
	p.setClock()
	p.setSteps()
	return p
}

func (p *part) walk(count func(perform.Item)) {
	talea, color, inCanon := -1, -1, p.voice.Canon >= 0
	for it := range p.line.All() {
		if inCanon {
			if it.Talea != talea {
				p.taleae = append(p.taleae, int32(it.N))
			}
			if it.Color != color {
				p.colores = append(p.colores, int32(it.N))
			}
			talea, color = it.Talea, it.Color
		}
		if it.Silent {
			continue
		}
		if inCanon {
			p.notes = append(p.notes, int32(it.N))
		}
		p.onsets.ns = append(p.onsets.ns, nanoseconds(it.StartSec))
		count(it)
	}
}

func soundingIn(talea []piece.Duration) int {
	n := 0
	for _, d := range talea {
		if !d.Silent {
			n++
		}
	}
	return n
}

// setClock takes over start and tempo as far as they are exact.
func (p *part) setClock() {
	c := &p.onsets.clock
	c.start, p.startExact = p.line.Start, p.line.StartExact
	if p.bent {
		c.start, p.startExact = p.line.Placed, p.line.PlacedExact
	}
	c.unit, c.known = p.unit, p.hasUnit && p.startExact
	switch {
	case found(p.line):
		c.unknown = "keeps a tempo that was found"
	case !p.hasUnit:
		c.unknown = "keeps a tempo that is not known exactly"
	case !p.startExact:
		c.unknown = "begins at a time that is not known exactly"
	}
}

// setSteps takes over the places of the notes where these have a common
// measure.
func (p *part) setSteps() {
	lattice, ok := p.line.Lattice()
	if ok && p.line.Rough && p.line.SpeedExact {
		p.noSteps = "has durations that were found"
		return
	}
	if !ok {
		p.noSteps = whyNoSteps(p.voice)
		return
	}
	p.lattice = &lattice
	s := &steps{size: lattice.Step(), at: make([]int64, 0, p.line.Notes)}
	for _, n := range lattice.Notes() {
		s.at = append(s.at, n)
	}
	s.cycle, s.noCycle = p.cycle(s.at)
	p.onsets.steps = s
}

// whyNoSteps says why durations are not whole multiples of one, or of one too
// small to count with.
func whyNoSteps(v *piece.Voice) string {
	switch {
	case !same(v.EachNote, exact.Real{}):
		return "changes its durations note by note"
	case !plain(v):
		return "changes its durations from statement to statement"
	}
	return "has durations without a common measure"
}

// longestCycle is how many notes a cycle may have that is looked at beyond the
// end of a piece.
const longestCycle = 100_000

// cycle is what the durations of the voice repeat: a talea, or several where
// statements differ in turn.
func (p *part) cycle(notes []int64) (*cycle, string) {
	items, length, ok := p.lattice.Period()
	switch {
	case !ok:
		return nil, "changes its durations as it goes on"
	case items > longestCycle:
		return nil, "has too long a talea"
	case items > p.line.Items && p.voice.Backward:
		return nil, "goes backward and has no more of its talea"
	}
	c := &cycle{length: length, items: items}
	for _, at := range notes {
		if at >= length {
			return c, ""
		}
		c.at = append(c.at, at)
	}
	for _, at := range p.lattice.Beyond() {
		if at >= length {
			break
		}
		c.at = append(c.at, at)
	}
	return c, ""
}

// plain reports whether all statements of a voice have the same durations.
func plain(v *piece.Voice) bool {
	one := func(c piece.Change) bool {
		for _, s := range c.Stretch {
			if !same(s, exact.Real{}) {
				return false
			}
		}
		return len(c.Stretch) > 0 || same(c.StretchEach, exact.Real{})
	}
	return one(v.PerColor) && one(v.PerTalea) && same(v.EachNote, exact.Real{})
}

// completeSteps is the length of a complete cycle in steps: until color, talea
// and what changes them in turn all end together.
func (p *part) completeSteps() *big.Int {
	c := p.onsets.steps.cycle
	complete := p.complete * len(p.voice.Talea)
	n := big.NewInt(c.length)
	return n.Mul(n, big.NewInt(int64(complete/gcd(complete, c.items))))
}

// cost is about how many steps it takes to compare the voice with another: one
// for each note, and to look beyond the end some more for each note of a cycle
// (measured: 5 ns and 70 ns).
func (p *part) cost() int {
	n := len(p.onsets.ns)
	if s := p.onsets.steps; s != nil && s.cycle != nil {
		n += 14 * len(s.cycle.at)
	}
	return n
}

// secondsPerUnit is the length of a unit at a place, in seconds.
func (p *part) secondsPerUnit(units float64) float64 {
	return 240 * p.voice.Unit.Float64() / p.line.TempoAt(units)
}

// sharedClock reports whether two voices follow one tempo path from one
// instant on, so that equal units are equal times.
func sharedClock(a, b *part) bool {
	if a.onsets.steps == nil || b.onsets.steps == nil || !a.startExact || !b.startExact ||
		a.voice == nil || len(a.voice.Path) == 0 || len(a.voice.Path) != len(b.voice.Path) {
		return false
	}
	for i, leg := range a.voice.Path {
		if !sameLeg(leg, b.voice.Path[i]) {
			return false
		}
	}
	return a.voice.Unit == b.voice.Unit && same(a.voice.Tempo, b.voice.Tempo) &&
		a.line.SpeedExact && b.line.SpeedExact && same(a.line.Speed, b.line.Speed) &&
		a.onsets.clock.start.Sub(b.onsets.clock.start).IsZero() == exact.Yes
}

func same(x, y exact.Real) bool { return x.Equal(y) == exact.Yes }

func sameLeg(a, b piece.Leg) bool {
	return a.HasFrom == b.HasFrom && a.HasTo == b.HasTo && a.OverUnits == b.OverUnits && a.OverSec == b.OverSec &&
		a.Shape == b.Shape && (!a.HasFrom || same(a.From, b.From)) && (!a.HasTo || same(a.To, b.To))
}
