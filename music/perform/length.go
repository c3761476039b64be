package perform

import (
	"fmt"
	"strconv"

	"rollwright/exact"
	"rollwright/music/piece"
)

// findLength finds how many items a voice has and how long they are in units.
func (r *resolver) findLength(l *Line) bool {
	end, ok := r.ending(l, r.limit(l))
	if !ok {
		return false
	}
	var v verdict
	l.ruler, v = newLengths(l.material.cycles, l.voice).measure(end)
	r.items += end.seen
	switch v {
	case tooMany:
		return r.tooMany(l, "")
	case tooLong:
		return r.tooLong(l)
	case never:
		return r.never(l)
	}
	l.Items, l.length = l.ruler.size()
	l.Notes = l.material.notesBefore(l.Items)
	l.Taleae = statements(l.Items, len(l.voice.Talea))
	l.Colores = statements(l.Notes, len(l.voice.Color))
	l.lengthDD = l.endInRuler()
	l.Units, l.UnitsExact, l.Length = l.length.sum, l.length.exact(), l.lengthDD.hi
	r.notes += l.Notes
	if r.notes > r.options.maxEvents() {
		return r.tooMany(l, l.material.completeText(l.voice.Extent))
	}
	return true
}

// limit is how many items a voice may have: silences are bounded at four times
// the events, and notes by what events are left. Looking at more would only
// take longer to say no.
func (r *resolver) limit(l *Line) int {
	most := r.options.maxEvents()
	return max(min(4*max(most, 1000)-r.items, l.material.itemOf(max(most-r.notes, 0))+1), 1)
}

// endInRuler is the length as the ruler gives it item by item, to the last bit,
// so that a voice that goes backward begins at 0.
func (l *Line) endInRuler() dd {
	if l.Items == 0 {
		return dd{}
	}
	var places [blockItems + 1]dd
	first := (l.Items - 1) / blockItems * blockItems
	l.ruler.fill(first, places[:l.Items-first+1])
	return places[l.Items-first]
}

// ending is where the voice's extent cuts it.
func (r *resolver) ending(l *Line, limit int) (*ending, bool) {
	e, c := l.voice.Extent, l.material
	switch e.Kind {
	case piece.Units:
		end := (&ending{limit: limit}).before(exactlyRat(e.Amount))
		if e.Exact {
			end.cut = &e.Amount
		}
		return end, true
	case piece.Seconds:
		if !r.need(node{speedOf, l.Voice}) {
			return nil, false
		}
		return l.clock.until(r.time(l.voice.Section, e.Amount, exact.Rat{}), limit), true
	case piece.Until:
		return r.untilEnding(l, limit)
	}
	items := c.itemsOf(e)
	if items < 0 || items > limit {
		return nil, r.tooMany(l, c.completeText(e))
	}
	return &ending{items: items, limit: limit}, true
}

// itemsOf is how many items an extent of notes, taleae or colores, or a
// complete one, asks for; -1 when that is more than any piece has.
func (c *cycles) itemsOf(e piece.Extent) int {
	const bound = 1 << 40 // times a number of places stays within an int64
	places, notes, color := len(c.durations), len(c.sounding), len(c.color)
	switch e.Kind {
	case piece.Complete:
		return color / int(gcd(int64(color), int64(notes))) * places
	case piece.Taleae:
		return product(e.Count, places)
	}
	n := e.Count
	if e.Kind == piece.Colores {
		n = product(n, color)
	}
	if n < 0 || n > bound/places {
		return -1
	}
	return c.itemOf(n-1) + 1
}

// product is a*b, or -1 when that is more than any piece has.
func product(a, b int) int {
	if a > 1<<40/b {
		return -1
	}
	return a * b
}

func (m *material) completeText(e piece.Extent) string {
	if e.Kind != piece.Complete {
		return ""
	}
	return fmt.Sprintf("a color of %d and a talea of %d notes end together only after %d", len(m.color),
		len(m.sounding), m.cycles.itemsOf(e)/len(m.durations)*len(m.sounding))
}

// untilEnding is the ending before the end of another voice.
func (r *resolver) untilEnding(l *Line, limit int) (*ending, bool) {
	end, ok := r.end(l, l.voice.Extent.Ref)
	if !ok || !r.need(node{startOf, l.Voice}) || !r.need(node{speedOf, l.Voice}) {
		return nil, false
	}
	if end.cmp(l.placed) <= 0 {
		return nil, r.voiceComplaint(l, "extent", fmt.Sprintf("%q starts when %s has already ended, so nothing is left of it",
			l.voice.Name, r.refName(l.voice.Extent.Ref)), "start it earlier, or say how long it goes on: extent = \"42 notes\"")
	}
	return l.clock.until(end.sub(l.placed), limit), true
}

// tooMany complains once that there is more than a piece may have.
func (r *resolver) tooMany(l *Line, why string) bool {
	if r.full {
		return false
	}
	r.full = true
	hint := "say how long it goes on, for example: extent = \"500 notes\""
	if why != "" {
		hint = why + "\n" + hint
	}
	return r.voiceComplaint(l, "extent", fmt.Sprintf("too large: with %q the piece passes %d events",
		l.voice.Name, r.options.maxEvents()), hint)
}

func (r *resolver) tooLong(l *Line) bool {
	return r.voiceComplaint(l, "extent", fmt.Sprintf("too long: %q would take more than %.0f years",
		l.voice.Name, maxSeconds/(365.25*86400)), "end it sooner, or make it faster")
}

// maxSeconds bounds the length of a piece so that its nanoseconds fit an
// int64 nine times over.
const maxSeconds = 1e9

// never complains about durations that shrink so fast that the extent is never
// reached.
func (r *resolver) never(l *Line) bool {
	_, total := l.ruler.size()
	return r.voiceComplaint(l, "extent", fmt.Sprintf("%q never gets to its end: its durations shrink so that all of them together come to no more than %s units",
		l.voice.Name, plainNumber(total.float64())), "ask for less than that, or for a number of notes: extent = \"42 notes\"")
}

// plainNumber writes x to seven digits, without an exponent.
func plainNumber(x float64) string {
	rounded, err := strconv.ParseFloat(strconv.FormatFloat(x, 'g', 7, 64), 64)
	if err != nil {
		panic(err) // our own text
	}
	return strconv.FormatFloat(rounded, 'f', -1, 64)
}
