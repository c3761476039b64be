// Package scancase draws pictures of punched paper for the tests of the reader: the
// holes of a roll on paper with whatever age, light and scanner do to it, from a
// seed. It shares no package with the reader.
//
// Lengths are millimetres. The paper is 285.75 mm wide, its ports are those of the
// 88-note roll, reckoned here from the trade conventions of 1908 and 1911: nine to
// the inch, centred; the control ports one and three places outwards.
package scancase

import (
	"image"
	"image/color"
	"math"
	"math/rand/v2"
	"slices"
)

// The 88-note roll.
const (
	Width = 285.75
	Pitch = 25.4 / 9
	Die   = 1.7272
	Ports = 92
)

// Across is the place of port p, from 0, in order from the bass edge.
func Across(p int) float64 { return places[p] }

var places = func() (out [Ports]float64) {
	first := (Width - 87*Pitch) / 2
	for p := range out {
		out[p] = first + float64(p-2)*Pitch
	}
	out[0], out[1], out[90], out[91] = first-3*Pitch, first-Pitch, first+88*Pitch, first+90*Pitch
	return out
}()

// Slot is one slot of the plan.
type Slot struct {
	Port        int
	Lead, Trail float64
	Punches     []float64 // centres
}

// Music is n slots from a seed, on the rows of step (0: continuous), of notes and
// now and then of control ports. No two strokes on one port are nearer than 2 mm.
func Music(seed uint64, n int, step, density float64) []Slot {
	r := rand.New(rand.NewPCG(seed, 1))
	busy := map[int]float64{}
	var out []Slot
	at := 0.0
	row := func(v float64) float64 {
		if step == 0 {
			return v
		}
		return math.Round(v/step) * step
	}
	for len(out) < n {
		p := 12 + r.IntN(66)
		if r.IntN(12) == 0 && len(out) > 0 {
			p = []int{0, 1, 90, 91}[r.IntN(4)]
		}
		length := Die + []float64{0, 0, 3, 6, 12, 25, 60}[r.IntN(7)]*r.Float64()
		first := row(at + Die/2)
		last := max(row(at+length-Die/2), first)
		if first-Die/2 > busy[p]+2 || busy[p] == 0 && len(out) == 0 {
			s := Slot{Port: p, Lead: first - Die/2, Trail: last + Die/2, Punches: chain(first, last, step)}
			busy[p] = s.Trail
			out = append(out, s)
		}
		at += r.ExpFloat64() * density
	}
	slices.SortFunc(out, func(a, b Slot) int { return int(math.Copysign(1, a.Lead-b.Lead)) })
	zero := out[0].Lead
	for i := range out {
		out[i].Lead -= zero
		out[i].Trail -= zero
		for k := range out[i].Punches {
			out[i].Punches[k] -= zero
		}
	}
	return out
}

// chain is an open beginning of about 4 mm, then a hole every 2.2578 mm and two near
// each other at the end.
func chain(first, last, step float64) []float64 {
	near, far := 1.1289, 2.2578
	if step > 0 {
		near, far = math.Floor(1.1289/step+1e-9)*step, math.Floor(2.2578/step+1e-9)*step
	}
	out := []float64{first}
	for c := first + near; c < last-1e-6; {
		out = append(out, c)
		if c-first < 2.2 {
			c += near
		} else {
			c += far
		}
	}
	if last > first+1e-6 {
		if last-out[len(out)-1] < Die+0.4 && last-out[len(out)-1] > near && step == 0 {
			out = append(out, (last+out[len(out)-1])/2)
		}
		out = append(out, last)
	}
	return out
}

// Case is a picture to be drawn.
type Case struct {
	Seed                uint64
	Slots               []Slot
	DPIAlong, DPIAcross float64
	From, To            float64    // stretch of paper in the picture, in the plan's mm
	Margin              [2]float64 // mm beside the bass and treble edge; below 0: the edge lies outside
	First               string     // edge of the picture where the music begins: bottom, top, left, right
	Back                bool       // seen from the back
	Skew                float64    // degrees
	Wander              float64    // mm to either side, over 1.5 m
	Along, Across       float64    // what the paper has grown by, as a share
	Paper, Behind       color.RGBA
	Lit                 bool    // from behind
	Fade                float64 // light at the end and at the treble, as a share less
	Noise               float64 // standard deviation, of 255
	Blur                int     // times the mean of 3 by 3
	Stains, Creases     int
	Tape, Torn          int
	Chads               int // holes partly covered
	Words               bool
	Lines               bool
	Ink                 color.RGBA
	Bilevel             bool
	TiltX, TiltY        float64 // degrees, of a camera
	Bend                float64 // of its lens, at the corner
}

// Truth is where a slot is to be found: in the millimetres of the picture's stated
// resolution, from the first slot's leading edge.
type Truth struct {
	Port        int
	Lead, Trail float64
}

// Truths are the slots that lie wholly within the picture.
func (c *Case) Truths() []Truth {
	var out []Truth
	slant := Width / 2 * math.Abs(math.Sin(c.Skew*math.Pi/180))
	drift := c.drift()
	for _, s := range c.Slots {
		if s.Lead > c.From+0.5+slant && s.Trail < c.To-0.5-slant {
			askew := drift * (Across(s.Port) - Width/2)
			out = append(out, Truth{s.Port, s.Lead*(1+c.Along) + askew, s.Trail*(1+c.Along) + askew})
		}
	}
	return out
}

// drawing is a case while it is drawn.
type drawing struct {
	*Case
	punches  [][]float64 // sorted, of each port
	stains   [][4]float64
	creases  []float64
	tapes    [][2]float64
	tears    [][3]float64
	chads    map[[2]int]float64
	strokes  []stroke
	inked    map[[2]int][]stroke // by cells of cellMM along and across
	w, h     int
	rng      *rand.Rand
	sin, cos float64
	begins   float64 // phase
}

type stroke struct{ s0, u0, s1, u1, half float64 }

// cellMM is the side of the squares by which strokes are looked up.
const cellMM = 5

func cell(mm float64) int { return int(math.Floor(mm / cellMM)) }

// Draw makes the picture: grey where all colours are grey, else RGB.
func (c *Case) Draw() image.Image {
	d := &drawing{Case: c, rng: rand.New(rand.NewPCG(c.Seed, 2)), chads: map[[2]int]float64{},
		inked: map[[2]int][]stroke{}, begins: c.phase()}
	d.prepare()
	rgb := image.NewRGBA(image.Rect(0, 0, d.w, d.h))
	for y := range d.h {
		for x := range d.w {
			sum := d.pixel(float64(x), float64(y))
			rgb.SetRGBA(x, y, color.RGBA{clamp(sum[0]), clamp(sum[1]), clamp(sum[2]), 255})
		}
	}
	for range c.Blur {
		rgb = blurred(rgb)
	}
	return d.finish(rgb)
}

// pixel is the mean of two points of a pixel, of four where they differ.
func (d *drawing) pixel(x, y float64) (sum [3]float64) {
	a, b := d.light(d.paper(x+0.25, y+0.25)), d.light(d.paper(x+0.75, y+0.75))
	n := 2.0
	for k := range sum {
		sum[k] = a[k] + b[k]
	}
	if abs(a[0]-b[0]) > 3 || abs(a[1]-b[1]) > 3 {
		a, b = d.light(d.paper(x+0.75, y+0.25)), d.light(d.paper(x+0.25, y+0.75))
		for k := range sum {
			sum[k] += a[k] + b[k]
		}
		n = 4
	}
	for k := range sum {
		sum[k] /= n
	}
	return sum
}

func clamp(v float64) uint8 { return uint8(min(max(v+0.5, 0), 255)) }

func (d *drawing) prepare() {
	d.punches = make([][]float64, Ports)
	long, broad := (d.To-d.From)*(1+d.Along), Width*(1+d.Across)+d.Margin[0]+d.Margin[1]
	d.w, d.h = int(broad/25.4*d.DPIAcross), int(long/25.4*d.DPIAlong)
	if d.First == "left" || d.First == "right" {
		d.w, d.h = d.h, d.w
	}
	for i, s := range d.Slots {
		d.punches[s.Port] = append(d.punches[s.Port], s.Punches...)
		_ = i
	}
	for p := range d.punches {
		slices.Sort(d.punches[p])
	}
	in := func(a, b float64) float64 { return a + d.rng.Float64()*(b-a) }
	for range d.Stains {
		d.stains = append(d.stains, [4]float64{in(d.From, d.To), in(0, Width), in(8, 40), in(0.75, 0.92)})
	}
	for range d.Creases {
		d.creases = append(d.creases, in(d.From, d.To))
	}
	for range d.Tape {
		at := in(d.From, d.To-12)
		d.tapes = append(d.tapes, [2]float64{at, at + 12})
	}
	for range d.Torn {
		u := 0.0
		if d.rng.IntN(2) == 0 {
			u = Width
		}
		d.tears = append(d.tears, [3]float64{in(d.From, d.To), u, in(1, 6)})
	}
	for n := 0; n < d.Chads; n++ {
		s := d.Slots[d.rng.IntN(len(d.Slots))]
		if k := len(s.Punches); k > 4 {
			p := s.Punches[1+d.rng.IntN(k-2)]
			i, _ := slices.BinarySearch(d.punches[s.Port], p)
			d.chads[[2]int{s.Port, i}] = in(-0.3, 0.3)
		}
	}
	if d.Words {
		d.words()
	}
	if d.Lines {
		d.lines()
	}
	for _, s := range d.strokes {
		for k := cell(min(s.s0, s.s1) - s.half); k <= cell(max(s.s0, s.s1)+s.half); k++ {
			for n := cell(min(s.u0, s.u1) - s.half); n <= cell(max(s.u0, s.u1)+s.half); n++ {
				d.inked[[2]int{k, n}] = append(d.inked[[2]int{k, n}], s)
			}
		}
	}
	d.sin, d.cos = math.Sincos(d.Skew * math.Pi / 180)
}

// words are letters of random strokes at the treble edge and among the notes.
func (d *drawing) words() {
	for at := d.From + 6; at < d.To-6; at += 12 + d.rng.Float64()*20 {
		u := Width - 8 - d.rng.Float64()*20
		if d.rng.IntN(4) == 0 {
			u = 30 + d.rng.Float64()*200
		}
		for k := range 2 + d.rng.IntN(5) {
			for range 3 {
				s, v := at+d.rng.Float64()*3, u-float64(k)*2.4+d.rng.Float64()*1.8
				d.strokes = append(d.strokes, stroke{s, v, at + d.rng.Float64()*3, u - float64(k)*2.4 + d.rng.Float64()*1.8, 0.2})
			}
		}
	}
}

// lines are a line of loudness and a dashed one of tempo, across the notes.
func (d *drawing) lines() {
	u, v := 90.0, 200.0
	for at := d.From; at < d.To; at += 8 {
		nu, nv := u+d.rng.NormFloat64()*2, v+d.rng.NormFloat64()*1.2
		d.strokes = append(d.strokes, stroke{at, u, at + 8, nu, 0.2}, stroke{at, v, at + 5, nv, 0.25})
		u, v = nu, nv
	}
}

// paper is what lies at a point of the picture: along and across in the plan's
// millimetres.
func (d *drawing) paper(x, y float64) (s, u float64) {
	var a, b float64
	w, h := float64(d.w), float64(d.h)
	if d.TiltX != 0 || d.TiltY != 0 || d.Bend != 0 {
		x, y = d.camera(x, y)
	}
	switch d.First {
	case "top":
		a, b = y, w-x
	case "left":
		a, b = x, y
	case "right":
		a, b = w-x, h-y
	default:
		a, b = h-y, x
	}
	broad := w
	if d.First == "left" || d.First == "right" {
		broad = h
	}
	if d.Back {
		b = broad - b
	}
	long := (d.To - d.From) * (1 + d.Along)
	am, bm := a/d.DPIAlong*25.4-long/2, b/d.DPIAcross*25.4-broad/d.DPIAcross*25.4/2
	sin, cos := d.sin, d.cos
	am, bm = am*cos+bm*sin, -am*sin+bm*cos
	s = am/(1+d.Along) + (d.From+d.To)/2
	bm -= d.sway(s, d.begins) + (d.Margin[0]-d.Margin[1])/2
	return s, bm/(1+d.Across) + Width/2
}

// sway is how far the paper has wandered to the treble.
func (c *Case) sway(s, phase float64) float64 {
	if c.Wander == 0 {
		return 0
	}
	return c.Wander * math.Sin(s/1500*2*math.Pi+phase)
}

// phase is where the wander begins.
func (c *Case) phase() float64 { return rand.New(rand.NewPCG(c.Seed, 9)).Float64() * 6 }

// drift is the constant part of the wander's slope within the picture, by least
// squares: a slant, which nobody can tell from paper that lies askew.
func (c *Case) drift() float64 {
	const n = 64
	middle, along, both := (c.From+c.To)/2, 0.0, 0.0
	for i := range n {
		s := (float64(i)+0.5)/n*(c.To-c.From) + c.From - middle
		along, both = along+s*s, both+s*c.sway(s+middle, c.phase())
	}
	return both / along
}

// camera undoes the lens and a tilted view: where a camera looking straight down
// would have seen what it sees at (x, y). It stands one and a half diagonals away.
func (d *drawing) camera(x, y float64) (float64, float64) {
	w, h := float64(d.w), float64(d.h)
	r := math.Hypot(w, h) / 2
	px, py := (x-w/2)/r, (y-h/2)/r
	k := 1 + d.Bend*(px*px+py*py)
	px, py = px*k, py*k
	const away = 3.0
	tx, ty := math.Tan(d.TiltX*math.Pi/180), math.Tan(d.TiltY*math.Pi/180)
	// The plane z = away + tx X + ty Y, seen along (px, py, away).
	t := 1 / (1 - (tx*px+ty*py)/away)
	return w/2 + px*t*r, h/2 + py*t*r
}

// light is the colour at a place on or beside the paper.
func (d *drawing) light(s, u float64) [3]float64 {
	f := 1 - d.Fade*((s-d.From)/(d.To-d.From)+u/Width)/2
	behind := rgb(d.Behind)
	if !d.Lit {
		behind = scaled(behind, f)
	}
	if u < 0 || u > Width || d.torn(s, u) || d.hole(s, u) {
		return behind
	}
	v := rgb(d.Paper)
	grain := 1 + 0.02*(float64(int(s*3+u*5)&7)/7-0.5)
	v = scaled(v, f*grain)
	for _, t := range d.stains {
		if q := math.Hypot(s-t[0], u-t[1]) / t[2]; q < 1 {
			v = scaled(v, t[3]+(1-t[3])*q*q*q)
		}
	}
	for _, t := range d.tapes {
		if s > t[0] && s < t[1] {
			v = scaled(v, 0.8)
		}
	}
	for _, c := range d.creases {
		if abs(s-c-0.01*u) < 0.15 {
			v = scaled(v, 0.7)
		}
	}
	if len(d.strokes) == 0 {
		return v
	}
	for _, t := range d.inked[[2]int{cell(s), cell(u)}] {
		if t.covers(s, u) {
			return scaled(rgb(d.Ink), f)
		}
	}
	return v
}

func rgb(c color.RGBA) [3]float64 { return [3]float64{float64(c.R), float64(c.G), float64(c.B)} }

func scaled(v [3]float64, f float64) [3]float64 { return [3]float64{v[0] * f, v[1] * f, v[2] * f} }

func abs(v float64) float64 { return math.Abs(v) }

func (t stroke) covers(s, u float64) bool {
	ds, du := t.s1-t.s0, t.u1-t.u0
	k := min(max(((s-t.s0)*ds+(u-t.u0)*du)/(ds*ds+du*du+1e-9), 0), 1)
	return math.Hypot(s-t.s0-k*ds, u-t.u0-k*du) < t.half
}

func (d *drawing) torn(s, u float64) bool {
	for _, t := range d.tears {
		if abs(s-t[0])*0.6+abs(u-t[1]) < t[2] {
			return true
		}
	}
	return false
}

// hole reports whether a punch has cut the place, and no chad hangs in it.
func (d *drawing) hole(s, u float64) bool {
	p := int(math.Round((u-Across(2))/Pitch)) + 2
	switch {
	case u < Across(2)-2*Pitch:
		p = 0
	case u < Across(2)-Pitch/2:
		p = 1
	case u > Across(89)+2*Pitch:
		p = 91
	case u > Across(89)+Pitch/2:
		p = 90
	}
	du := u - Across(p)
	if abs(du) > Die/2 {
		return false
	}
	list := d.punches[p]
	i, _ := slices.BinarySearch(list, s-Die/2)
	for ; i < len(list) && list[i] < s+Die/2; i++ {
		if math.Hypot(s-list[i], du) < Die/2 {
			if c, ok := d.chads[[2]int{p, i}]; !ok || du < c {
				return true
			}
		}
	}
	return false
}

func blurred(m *image.RGBA) *image.RGBA {
	out := image.NewRGBA(m.Rect)
	w, h := m.Rect.Dx(), m.Rect.Dy()
	for y := range h {
		for x := range w {
			for c := range 3 {
				t := 0
				for dy := -1; dy <= 1; dy++ {
					for dx := -1; dx <= 1; dx++ {
						t += int(m.Pix[m.PixOffset(min(max(x+dx, 0), w-1), min(max(y+dy, 0), h-1))+c])
					}
				}
				out.Pix[out.PixOffset(x, y)+c] = uint8((t + 4) / 9)
			}
			out.Pix[out.PixOffset(x, y)+3] = 255
		}
	}
	return out
}

// finish adds noise, and makes grey or two levels of it.
func (d *drawing) finish(m *image.RGBA) image.Image {
	grey := func(c color.RGBA) bool { return c.R == c.G && c.G == c.B }
	colour := !grey(d.Paper) || !grey(d.Behind) || !grey(d.Ink)
	out := image.NewGray(m.Rect)
	for i := range out.Pix {
		p := m.Pix[4*i : 4*i+3]
		if colour && d.Noise > 0 {
			for c := range p {
				p[c] = clamp(float64(p[c]) + d.rng.NormFloat64()*d.Noise)
			}
		}
		if colour {
			continue
		}
		out.Pix[i] = clamp(float64(p[0]) + d.rng.NormFloat64()*d.Noise)
		if d.Bilevel {
			level := (float64(d.Paper.R) + float64(d.Behind.R)) / 2
			out.Pix[i] = 0
			if float64(p[0]) > level {
				out.Pix[i] = 255
			}
		}
	}
	if colour {
		return m
	}
	return out
}
