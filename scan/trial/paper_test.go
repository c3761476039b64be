// Package trial holds the reader of pictures against a second generator of scans,
// which was written from the description of what the reader has to bear, by
// somebody who had not seen the reader or its own generator. The generator shares
// no package with it.
package trial

import (
	"image"
	"image/color"
	"image/jpeg"
	"image/png"
	"math"
	"math/rand/v2"
	"os"
	"slices"
	"sort"
)

// The 88-note roll: nine ports an inch, centred on paper of 11 1/4 in (the
// manufacturers' agreement of 1908), a die of 0.068 in.
const (
	widthMM   = 285.75
	spacingMM = 25.4 / 9
	firstMM   = widthMM/2 - 87*spacingMM/2 // of the lowest note, port 3
	dieMM     = 1.7272
)

// cutSlot is a slot as it was punched, in millimetres of the new paper.
type cutSlot struct {
	port        int // from 1
	lead, trail float64
	punches     []float64 // centres
}

// acrossMM is where a port lies.
func acrossMM(port int) float64 { return firstMM + float64(port-3)*spacingMM }

// punched is a slot as a bridged chain: 4 mm open, then a punch every 2.2578 mm, the
// last one at the end; never a web thinner than 0.4 mm.
func punched(port int, lead, length float64) cutSlot {
	s := cutSlot{port: port, lead: lead, trail: lead + max(length, dieMM)}
	first, last := s.lead+dieMM/2, s.trail-dieMM/2
	at := first
	for at < min(first+4-dieMM, last) {
		s.punches = append(s.punches, at)
		at += 1.05
	}
	at = min(first+4-dieMM, last)
	s.punches = append(s.punches, at)
	for at+2.2578 <= last {
		at += 2.2578
		s.punches = append(s.punches, at)
	}
	if last-at > dieMM+0.4 || last-at > 0 && last-at < 1.1 {
		s.punches = append(s.punches, last)
	} else if last > at {
		s.punches = append(s.punches, (at+last)/2, last)
	}
	return s
}

// music is some voices that come again and again, on paper of a length.
func music(r *rand.Rand, lengthMM float64) []cutSlot {
	var out []cutSlot
	free := map[int]float64{}
	for v := range 4 {
		at, low := 3*r.Float64(), 8+v*20
		for at < lengthMM-30 {
			length := []float64{1.8, 3, 4.2, 7, 11.5, 22}[r.IntN(6)]
			port := low + r.IntN(19)
			if at > free[port] {
				out = append(out, punched(port, at, length))
				free[port] = at + length + 3
			}
			at += length + 8*r.Float64() + 2
		}
	}
	sort.Slice(out, func(i, k int) bool { return out[i].lead < out[k].lead })
	begin := out[0].lead
	for i := range out { // it begins at 0
		s := &out[i]
		s.lead, s.trail = s.lead-begin, s.trail-begin
		for k := range s.punches {
			s.punches[k] -= begin
		}
	}
	return out
}

// look is what happened to the paper and how it was seen.
type look struct {
	dpiX, dpiY float64
	first      string // edge of the picture
	bass       string

	backing, paper, ink [3]float64 // tones, 0 to 1
	fade                float64    // of the light, from one corner to the other
	noise, blur         float64    // of a tone; pixels
	stains, creases     int
	words, lines        int
	touching            bool // words and lines lie wherever they like, on holes too
	tape                bool
	chads, torn         float64 // share of punches
	ragged              float64 // millimetres, of the edges

	skew     float64 // degrees
	wanderMM float64
	across   float64 // the paper's width over what it was
	along    float64 // its length likewise
	outside  float64 // millimetres of the treble edge outside the picture
	oneBit   bool
	quality  int // of JPEG; 0: PNG

	tilt, lens float64 // photographs: degrees, share at the corner
}

var plain = look{
	dpiX: 110, dpiY: 110, first: "bottom", bass: "left",
	backing: [3]float64{.06, .06, .06}, paper: [3]float64{.8, .76, .66}, ink: [3]float64{.25, .2, .2},
	noise: .015, blur: .6, across: 1, along: 1, ragged: .1,
}

// sheet is the paper that a picture shows.
type sheet struct {
	look
	slots  []cutSlot
	byPort map[int][]hole
	marks  []mark
	seed   uint64
}

// hole is one punch.
type hole struct {
	at         float64
	chad, torn bool
}

// mark is a patch of another tone: ink where it is dark, a stain, tape.
type mark struct {
	s, a, long, wide float64
	kind             byte // i, s (round), t, c
	by               float64
}

func newSheet(l look, slots []cutSlot, seed uint64) *sheet {
	r := rand.New(rand.NewPCG(seed, 99))
	p := &sheet{look: l, slots: slots, byPort: map[int][]hole{}, seed: seed}
	end := 0.0
	for _, s := range slots {
		end = max(end, s.trail)
		for i, c := range s.punches {
			inner := i > 0 && i < len(s.punches)-1 // edges stay where they were cut
			p.byPort[s.port] = append(p.byPort[s.port], hole{c, inner && r.Float64() < l.chads, inner && r.Float64() < l.torn})
		}
	}
	for _, list := range p.byPort {
		slices.SortFunc(list, func(a, b hole) int { return int(math.Copysign(1, a.at-b.at)) })
	}
	for range l.stains {
		p.marks = append(p.marks, mark{end * r.Float64(), widthMM * r.Float64(), 8 + 20*r.Float64(), 0, 's',
			-.12 * r.Float64()})
	}
	for range l.creases {
		p.marks = append(p.marks, mark{end * r.Float64(), 0, .3, widthMM, 'c', -.15 + .25*r.Float64()})
	}
	for range l.words { // letters are strokes of ink, 0.5 mm wide
		s, a := end*r.Float64(), 30+220*r.Float64()
		for k := range 6 {
			p.marks = append(p.marks, mark{s + 2.2*float64(k), a + 1.5*r.Float64(), .5, 2.4, 'i', 0},
				mark{s + 2.2*float64(k), a, 1.6, .5, 'i', 0})
		}
	}
	for range l.lines {
		p.marks = append(p.marks, mark{end * r.Float64(), 30 + 220*r.Float64(), 60 + 60*r.Float64(), .45, 'i', 0})
	}
	if !l.touching {
		p.marks = slices.DeleteFunc(p.marks, func(m mark) bool { return m.kind == 'i' && p.touches(m) })
	}
	if l.tape {
		p.marks = append(p.marks, mark{end * .4, 0, 19, widthMM, 't', -.1})
	}
	return p
}

// touches reports whether ink would lie on a hole, or within half a millimetre.
func (p *sheet) touches(m mark) bool {
	for _, s := range p.slots {
		across := acrossMM(s.port)
		if m.s < s.trail+.5 && m.s+m.long > s.lead-.5 && m.a < across+dieMM/2+.5 && m.a+m.wide > across-dieMM/2-.5 {
			return true
		}
	}
	return false
}

// wave is a smooth number between -1 and 1.
func wave(x float64, seed uint64) float64 {
	f := float64(seed%97) + 1
	return (math.Sin(x+f) + math.Sin(1.7*x+2.3*f) + math.Sin(.43*x+f*.7)) / 3
}

// tone is the colour at a place of the new paper, a pixel being so large; s along, a
// across.
func (p *sheet) tone(s, a, pixel float64) [3]float64 {
	low, high := 0.0, widthMM
	if p.ragged > 0 {
		low += p.ragged * wave(s*1.3, p.seed)
		high += p.ragged * wave(s*1.1, p.seed+5)
	}
	covered := min(clamp(.5+(a-low)/pixel), clamp(.5+(high-a)/pixel)) // by paper
	covered = min(covered, 1-p.open(s, a, pixel))
	t := p.paper
	for _, m := range p.marks {
		switch {
		case m.kind == 's':
			if d := math.Hypot(s-m.s, a-m.a); d < m.long {
				shade(&t, m.by*(1-d/m.long))
			}
		case s < m.s || s > m.s+m.long || a < m.a || a > m.a+m.wide:
		case m.kind == 'i':
			t = p.ink
		default:
			shade(&t, m.by)
		}
	}
	shade(&t, .02*wave(s*9+a*7, p.seed+1)+.015*wave(a*21-s*17, p.seed+2))
	var out [3]float64
	for c := range out {
		out[c] = covered*t[c] + (1-covered)*p.backing[c]
	}
	return out
}

func shade(t *[3]float64, by float64) {
	for c := range t {
		t[c] += by
	}
}

func clamp(x float64) float64 { return min(max(x, 0), 1) }

// open is how much of a pixel is a hole.
func (p *sheet) open(s, a, pixel float64) float64 {
	port := int(math.Round((a-firstMM)/spacingMM)) + 3
	list := p.byPort[port]
	i := sort.Search(len(list), func(i int) bool { return list[i].at >= s-2 })
	off := a - acrossMM(port)
	most := 0.0
	for ; i < len(list) && list[i].at < s+2; i++ {
		h := list[i]
		d := math.Hypot(s-h.at, off) - dieMM/2
		if h.torn && math.Abs(s-h.at) < .5 {
			d = min(d, math.Abs(off-.175)-dieMM/2-.175) // to one side
		}
		if h.chad && off > .1 && off < .8 {
			d = max(d, .3) // what hangs on closes part of it
		}
		most = max(most, clamp(.5-d/pixel))
	}
	return most
}

// picture draws the stretch of the paper from one place to another, in millimetres
// of the worn paper, with a margin around.
func (p *sheet) picture(from, to float64) image.Image {
	long, wide := to-from, widthMM*p.across+24-p.outside
	side := p.first == "left" || p.first == "right"
	w, h := int(wide/25.4*p.dpiX), int(long/25.4*p.dpiY)
	if side {
		w, h = int(long/25.4*p.dpiX), int(wide/25.4*p.dpiY)
	}
	out := image.NewRGBA(image.Rect(0, 0, w, h))
	r := rand.New(rand.NewPCG(p.seed, uint64(from)))
	pixel := 25.4 / math.Sqrt(p.dpiX*p.dpiY) * (1 + p.blur)
	sin, cos := math.Sincos(p.skew * math.Pi / 180)
	for y := range h {
		for x := range w {
			X, Y := p.straight(float64(x)+.5, float64(y)+.5, float64(w), float64(h))
			X, Y = X/p.dpiX*25.4, Y/p.dpiY*25.4
			W, H := float64(w)/p.dpiX*25.4, float64(h)/p.dpiY*25.4
			from4 := [4]float64{H - Y, Y, X, W - X}
			along, acr := from4[edges[p.first]]-long/2, from4[edges[p.bass]]-wide/2
			along, acr = along*cos-acr*sin, along*sin+acr*cos
			along += from + long/2
			acr += wide/2 - 12
			if p.wanderMM > 0 {
				acr -= p.wanderMM * wave(along/700, p.seed+3)
			}
			t := p.tone(along/p.along, acr/p.across, pixel)
			light := 1 - p.fade*(float64(x)/float64(w)+float64(y)/float64(h))/2
			var c [3]uint8
			for k := range c {
				c[k] = uint8(255*clamp(t[k]*light+p.noise*r.NormFloat64()) + .5)
			}
			if p.oneBit {
				v := uint8(0)
				if c[1] > 110 {
					v = 255
				}
				c = [3]uint8{v, v, v}
			}
			out.SetRGBA(x, y, color.RGBA{c[0], c[1], c[2], 255})
		}
	}
	return out
}

var edges = map[string]int{"bottom": 0, "top": 1, "left": 2, "right": 3}

// straight is where a pixel would lie if camera and lens were perfect.
func (p *sheet) straight(x, y, w, h float64) (float64, float64) {
	if p.tilt == 0 && p.lens == 0 {
		return x, y
	}
	half := math.Hypot(w, h) / 2
	dx, dy := (x-w/2)/half, (y-h/2)/half
	k := 1 + p.lens*(dx*dx+dy*dy)
	dx, dy = dx*k, dy*k
	// Seen from about 1.7 times the picture's diagonal, tilted about both axes.
	t := math.Tan(p.tilt*math.Pi/180) / 3.4
	q := 1 + t*dx + .6*t*dy
	return w/2 + dx/q*half, h/2 + dy/q*half
}

// save writes a picture as the look wants it.
func (p *sheet) save(path string, m image.Image) error {
	f, err := os.Create(path)
	if err != nil {
		return err
	}
	defer f.Close()
	if p.quality > 0 {
		return jpeg.Encode(f, m, &jpeg.Options{Quality: p.quality})
	}
	return (&png.Encoder{CompressionLevel: png.NoCompression}).Encode(f, m)
}
