package find

import (
	"cmp"
	"context"
	"math"
	"slices"
)

// family is a line in several voices: for each the scaling that takes the line
// as its first voice has it to the voice.
type family struct {
	voices []scaling
	of     []int // for each point its voice; -1: none
	placed int
}

// mostFamily is how many voices one line may have.
const mostFamily = 16

// families takes scalings for what they are: ways from one voice of a line to
// another. It begins with the one that takes most notes to notes and adds each
// voice to which most notes of the line are taken as well.
func (c *cloud) family(ctx context.Context, all []scaling) *family {
	var best *family
	for i, first := range all {
		if i >= 8 || ctx.Err() != nil || best != nil && best.placed > len(c.t)*9/10 {
			break
		}
		if first.inPlace() {
			continue // a line that comes back in its own voice
		}
		f := c.familyOf(ctx, first, all)
		if best == nil || f.placed-8*len(f.voices) > best.placed-8*len(best.voices)+len(c.t)/50 {
			best = f
		}
	}
	return best
}

func (c *cloud) familyOf(ctx context.Context, first scaling, all []scaling) *family {
	self := scaling{rate: 1, off: first.off}
	f := &family{voices: []scaling{self, first}}
	line, taken := c.lineOf(f)
	for added := true; added && len(f.voices) < mostFamily; {
		added = false
		var best scaling
		most := 0.6
		for _, m := range all {
			if ctx.Err() != nil {
				return f
			}
			for _, way := range []scaling{m, m.inverse()} {
				for _, v := range f.voices {
					w := way.after(v)
					if w.inPlace() || slices.ContainsFunc(f.voices, func(o scaling) bool { return c.sameVoice(o, w) }) {
						continue
					}
					s := c.support(&w, line, taken)
					if w.sameSpeed() && s < 0.85 { // series come back in part within a voice too
						continue
					}
					if s > most {
						best, most = w, s
					}
				}
			}
		}
		if most > 0.6 {
			f.voices = append(f.voices, c.settled(best, line))
			line, taken = c.lineOf(f)
			added = true
		}
	}
	c.assign(f)
	return f
}

// sameSpeed reports that a scaling does not change the speed.
func (m scaling) sameSpeed() bool { return math.Abs(m.rate-1) < 0.002 }

// inPlace reports that a scaling only moves in time.
func (m scaling) inPlace() bool { return m.sameSpeed() && m.move == 0 && !m.inverted }

// settled fits a voice's scaling to the notes of the line themselves.
func (c *cloud) settled(m scaling, line []int) scaling {
	var x, y []float64
	for _, i := range line {
		if j := c.image(&m, i); j >= 0 {
			x, y = append(x, c.t[i]), append(y, c.t[j])
		}
	}
	if len(x) > 8 {
		s := straightThrough(x, y)
		m.at, m.rate = s.at, s.slope
	}
	return m
}

// sameVoice reports whether two scalings of the line are one voice.
func (c *cloud) sameVoice(a, b scaling) bool {
	return a.alike(b, c.t[0], c.t[len(c.t)/2])
}

// lineOf are the points of the first voice that all voices so far have, and which
// points they take in these.
func (c *cloud) lineOf(f *family) (line []int, taken []bool) {
	taken = make([]bool, len(c.t))
	images := make([]int, len(f.voices))
	for i := range c.t {
		n := 0
		for k := range f.voices {
			if images[k] = c.image(&f.voices[k], i); images[k] >= 0 {
				n++
			}
		}
		if n == len(f.voices) {
			line = append(line, i)
			for _, p := range images {
				taken[p] = true
			}
		}
	}
	return line, taken
}

// support is the share of the line that a scaling takes to points that no other
// voice has.
func (c *cloud) support(m *scaling, line []int, taken []bool) float64 {
	n, hits := 0, 0
	for k := 0; k < len(line); k += max(1, len(line)/400) {
		n++
		if p := c.image(m, line[k]); p >= 0 && !taken[p] {
			hits++
		}
	}
	return float64(hits) / float64(max(1, n))
}

// orbit is a note of the line in all voices that have it.
type orbit struct {
	points []int // of each voice; -1: it is not there
	count  int
	off    float64 // sum of how far they are off
}

// assign gives points to voices: first those of the notes that most voices have,
// each point once.
func (c *cloud) assign(f *family) {
	f.of = slices.Repeat([]int{-1}, len(c.t))
	inverses := make([]scaling, len(f.voices))
	for v, m := range f.voices {
		inverses[v] = m.inverse()
	}
	var orbits []orbit
	for v := range f.voices {
		for i := range c.t {
			o := c.orbitOf(f, &inverses[v], v, i)
			if o.count >= 2 && firstOf(o.points) == v {
				orbits = append(orbits, o)
			}
		}
	}
	slices.SortStableFunc(orbits, func(a, b orbit) int {
		return cmp.Or(cmp.Compare(b.count, a.count), cmp.Compare(a.off, b.off))
	})
	least := max(2, (len(f.voices)*3+4)/5)
	for pass, free := range []bool{false, true} {
		for _, o := range orbits {
			if o.count < least && pass == 0 {
				continue
			}
			n := 0
			for _, p := range o.points {
				if p >= 0 && f.of[p] < 0 {
					n++
				}
			}
			if n < o.count && !free || n < min(least, o.count) {
				continue
			}
			for v, p := range o.points {
				if p >= 0 && f.of[p] < 0 {
					f.of[p] = v
					f.placed++
				}
			}
		}
	}
}

// orbitOf is what the line's note that voice v has at point i is in all voices.
func (c *cloud) orbitOf(f *family, back *scaling, v, i int) orbit {
	o := orbit{points: slices.Repeat([]int{-1}, len(f.voices))}
	at, key := back.time(c.t[i]), back.key(c.key[i])
	for w := range f.voices {
		m := &f.voices[w]
		p := i
		if w != v {
			p = c.near(m.key(key), m.time(at), m.off)
		}
		if p < 0 {
			continue
		}
		o.points[w] = p
		o.count++
		o.off += math.Abs(c.t[p] - m.time(at))
	}
	return o
}

// firstOf is the first voice that has a note.
func firstOf(points []int) int {
	return slices.IndexFunc(points, func(p int) bool { return p >= 0 })
}
