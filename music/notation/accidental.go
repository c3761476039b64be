package notation

// Accidentals knows which accidentals hold: each until the end of its bar, for
// its own line or space. The zero value is the beginning of a bar.
type Accidentals struct{ held map[int]int }

// NewBar forgets what held.
func (a *Accidentals) NewBar() { clear(a.held) }

// Needs reports whether p must carry its accidental, a natural included, and
// lets it hold from there on.
func (a *Accidentals) Needs(p Pitch) bool {
	if a.held[p.Diatonic()] == p.Alter {
		return false
	}
	if a.held == nil {
		a.held = map[int]int{}
	}
	a.held[p.Diatonic()] = p.Alter
	return true
}

// Bracket is the part that a value plays in a tuplet's bracket.
type Bracket struct{ Starts, Stops bool }

// Brackets says for every value of a bar, in order, where brackets of tuplets
// begin and end: a bracket holds neighbours of one ratio until together they
// fill a plain value, or until the ratio changes.
func (b *Bar) Brackets() [][]Bracket {
	out := make([][]Bracket, len(b.Notes))
	type place struct{ note, value int }
	var last place
	open := Value{}
	filled := int64(0) // of the bracket, in parts of a 256th note's tuplet share
	stop := func() {
		if open.Tuplet() {
			out[last.note][last.value].Stops = true
		}
		open = Value{}
	}
	for i := range b.Notes {
		values := b.Notes[i].Values
		out[i] = make([]Bracket, len(values))
		for k, v := range values {
			if open.Tuplet() && (v.Actual != open.Actual || v.Normal != open.Normal) {
				stop()
			}
			if !v.Tuplet() {
				continue
			}
			if !open.Tuplet() {
				out[i][k].Starts = true
				open, filled = v, 0
			}
			last = place{i, k}
			filled += int64(breveParts) >> (v.Log + 1) * int64(2<<v.Dots-1) << 2 >> v.Dots
			// Actual equal values in the time of Normal make whole notes again.
			if filled%int64(v.Actual) == 0 {
				stop()
			}
		}
	}
	stop()
	return out
}
