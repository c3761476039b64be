package read

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"rollwright/scan/row"
)

// darker is the backing of which ink may look like a piece.
const darker = "darker than the paper"

// light is what the picture looks like: how paper and what lies behind it are
// told apart, in one 8-bit value a pixel.
type light struct {
	upright           bool // the roll runs along the picture's columns
	colour            bool
	weights           [3]int32 // of a colour picture: value = (weights . rgb + offset) >> 16
	offset            int32
	flip              byte    // 255: the backing is lighter than the paper, and values are turned round
	paper             float64 // value of paper, flipped
	back              [2]float64
	sides             [2]bool // backing is seen at the left, right (upright) or top, bottom
	noise             float64 // standard deviation of paper's values from pixel to pixel
	wide              float64 // pixels from edge to edge of the paper, about; 0: not known
	said              string  // what lies behind: "darker", "lighter", "of another colour"
	paperRGB, backRGB [3]float64

	drawn bool   // a drawing: dark marks on a light ground, the paper's edges lines
	marks *light // how dark marks stand out of the paper; nil where there are none
}

// sample is a thin copy of the picture: every step-th pixel of some rows.
type sample struct {
	width, channels int
	rows            [][]byte
	at              []int // row numbers
	pairs           []int // differences of neighbours, for the noise: counts by size
}

// The first look takes at most this many rows and columns; more rows of pictures
// that only come one after the other are read only while nothing is seen. So many
// bytes of them are kept.
const (
	lookRows    = 240
	lookColumns = 640
	lookPixels  = 200 << 20
	keepBytes   = lookPixels / 2
)

// kept is what the first look has read of a picture whose rows come one after the
// other, and after it the rest: nothing is decompressed twice.
type kept struct {
	p     *row.Picture
	parts [][]byte // whole rows
	bytes int
	lost  bool // too much was read to be kept
}

// add is the next row, which is kept.
func (k *kept) add() ([]byte, error) {
	n := k.p.RowBytes()
	if last := len(k.parts) - 1; last < 0 || cap(k.parts[last])-len(k.parts[last]) < n {
		if k.bytes+n > keepBytes {
			k.lost = true
			k.parts = k.parts[:0]
		}
		k.parts = append(k.parts, make([]byte, 0, max(bandBytes/n, 1)*n))
	}
	part := &k.parts[len(k.parts)-1]
	at := len(*part)
	*part = (*part)[:at+n]
	line := (*part)[at:]
	if _, err := k.p.Read(line); err != nil {
		return nil, err
	}
	k.bytes += n
	return line, nil
}

// Read gives the rows from the first on.
func (k *kept) Read(dst []byte) (rows int, err error) {
	n := k.p.RowBytes()
	for len(k.parts) > 0 && len(dst) >= n {
		c := copy(dst[:len(dst)/n*n], k.parts[0])
		rows += c / n
		dst, k.parts[0] = dst[c:], k.parts[0][c:]
		if len(k.parts[0]) == 0 {
			k.parts[0] = nil
			k.parts = k.parts[1:]
		}
	}
	if rows > 0 {
		return rows, nil
	}
	return k.p.Read(dst)
}

// look reads a little of the picture and finds its light. What was read of a picture
// that does not seek is in the rows that it gives.
func look(p *row.Picture, upright bool) (*light, *kept, error) {
	k := &kept{p: p}
	l, err := k.look(upright)
	return l, k, err
}

func (k *kept) look(upright bool) (*light, error) {
	p := k.p
	s := &sample{channels: p.Channels, pairs: make([]int, 256)}
	step := max(p.Width/lookColumns, 1)
	s.width = (p.Width + step - 1) / step
	if p.Seeks() {
		line := make([]byte, p.RowBytes())
		for i := range min(lookRows, p.Height) {
			y := i * (p.Height - 1) / max(min(lookRows, p.Height)-1, 1)
			if err := p.Seek(y); err != nil {
				return nil, err
			}
			if _, err := p.Read(line); err != nil {
				return nil, err
			}
			s.add(line, step, y)
		}
		return s.light(p, upright)
	}
	return k.lookOn(s, step, upright)
}

// lookOn reads rows one after the other until the light is found.
func (k *kept) lookOn(s *sample, step int, upright bool) (*light, error) {
	p := k.p
	rows := p.Height
	switch total := int64(p.RowBytes()) * int64(p.Height); {
	case total > keepBytes:
		rows = min(rows, max(keepBytes/4/p.RowBytes(), 2000))
	case total > lookPixels/12 && upright: // what is kept takes memory, and nothing is looked at meanwhile
		rows = min(rows, max(rows/12, 1200))
	}
	every := max(rows/lookRows, 1)
	for y := 0; ; y++ {
		line, err := k.add()
		if err != nil {
			return nil, err
		}
		if y%every == 0 {
			s.add(line, step, y)
		}
		if y+1 < rows {
			continue
		}
		l, err := s.light(p, upright)
		if y+1 == p.Height || int64(y)*int64(p.Width) > lookPixels {
			return l, err
		}
		rows = min(2*rows, p.Height)
		// Paper that lies askew may touch one side of the picture here and leave it further on:
		// that is looked for among rows that can be kept.
		oneSide := err == nil && upright && l.sides[0] != l.sides[1]
		if err == nil && !(oneSide && int64(p.RowBytes())*int64(rows) <= keepBytes) {
			return l, nil
		}
		if len(s.rows) > 3*lookRows {
			s.thin()
			every *= 2
		}
	}
}

func (s *sample) add(line []byte, step, y int) {
	out := make([]byte, 0, s.width*s.channels)
	for x := 0; x < len(line)/s.channels; x += step {
		out = append(out, line[x*s.channels:(x+1)*s.channels]...)
	}
	s.rows = append(s.rows, out)
	s.at = append(s.at, y)
}

// thin leaves out every other row.
func (s *sample) thin() {
	for i := range len(s.rows) / 2 {
		s.rows[i], s.at[i] = s.rows[2*i], s.at[2*i]
	}
	s.rows, s.at = s.rows[:len(s.rows)/2], s.at[:len(s.at)/2]
}

// pixel is a pixel of the sample as RGB.
func (s *sample) pixel(row, x int) [3]float64 {
	r := s.rows[row]
	if s.channels == 1 {
		v := float64(r[x])
		return [3]float64{v, v, v}
	}
	return [3]float64{float64(r[3*x]), float64(r[3*x+1]), float64(r[3*x+2])}
}

// errNoPaper says that nothing in the picture looks like paper on something else.
var errNoPaper = errors.New("no paper is seen")

// light finds paper and backing: the backing is what lies along the sides of the
// picture, the paper what fills most of the rest.
func (s *sample) light(p *row.Picture, upright bool) (*light, error) {
	l := &light{upright: upright, colour: s.channels == 3}
	var side [2][3]float64
	side[0], side[1] = s.border(upright)
	inner, share := s.commonest(upright, nil)
	paper := inner
	for k := range side {
		if distance(paper, side[k]) < 12 && share < 0.9 {
			if other, n := s.commonest(upright, &paper); n > 0.08 && distance(side[0], side[1]) < 2*distance(other, paper) {
				paper = other
			}
			break
		}
	}
	partly := !upright && s.at[len(s.at)-1] < p.Height*19/20 // the far side has not been seen
	if partly {
		side[1] = side[0]
	}
	noise := s.noise(paper)
	least := max(10, 3*noise)
	for k := range side {
		l.sides[k] = distance(paper, side[k]) >= least
	}
	l.marks = s.marks(paper, upright)
	switch {
	case !l.sides[0] && !l.sides[1] && l.marks != nil:
		return l.marks, nil
	case !l.sides[0] && !l.sides[1]:
		return nil, fmt.Errorf("%w: all of the picture is about as light as its edges; let something darker, lighter or of another colour show beside the paper", errNoPaper)
	case !l.sides[0]:
		side[0] = side[1]
	case !l.sides[1]:
		side[1] = side[0]
	}
	l.project(paper, side)
	l.wide = s.paperWidth(l, p, paper, side)
	l.noise = noise * l.stretch(paper, side)
	return l, nil
}

// marks is the light in which marks much darker than light paper stand out, as in a
// drawing; nil where there are none.
func (s *sample) marks(paper [3]float64, upright bool) *light {
	if sum(paper) < 3*180 {
		return nil
	}
	var dark [3][]float64
	total := len(s.rows) * s.width
	for y, r := range s.rows {
		for x := range s.width {
			if s.channels == 1 && r[x] >= 70 {
				continue
			}
			if v := s.pixel(y, x); sum(v) < 3*70 {
				for c := range v {
					dark[c] = append(dark[c], v[c])
				}
			}
		}
	}
	if len(dark[0]) < max(total/5000, 8) || len(dark[0]) > total/4 {
		return nil
	}
	l := &light{upright: upright, colour: s.channels == 3, drawn: true, sides: [2]bool{true, true}}
	ink := [3]float64{median(dark[0]), median(dark[1]), median(dark[2])}
	l.project(paper, [2][3]float64{ink, ink})
	l.said = drawnDark
	return l
}

// drawnDark is the light of a drawing.
const drawnDark = "drawn: dark marks on a light ground"

func distance(a, b [3]float64) float64 {
	d := 0.0
	for i := range a {
		d += (a[i] - b[i]) * (a[i] - b[i])
	}
	return math.Sqrt(d / 3)
}

// border is the middle colour along both sides of the picture.
func (s *sample) border(upright bool) (a, b [3]float64) {
	var one, two [3][]float64
	take := func(list *[3][]float64, v [3]float64) {
		for c := range v {
			list[c] = append(list[c], v[c])
		}
	}
	n := max(s.width/100, 1)
	if upright {
		for y := range s.rows {
			for x := range n {
				take(&one, s.pixel(y, x))
				take(&two, s.pixel(y, s.width-1-x))
			}
		}
	} else {
		n = max(len(s.rows)/100, 1)
		for y := range n {
			for x := range s.width {
				take(&one, s.pixel(y, x))
				take(&two, s.pixel(len(s.rows)-1-y, x))
			}
		}
	}
	for c := range 3 {
		a[c], b[c] = median(one[c]), median(two[c])
	}
	return a, b
}

// shade is a colour, and how many pixels have it.
type shade struct {
	colour [3]float64
	n      int
}

// shades are the colours of every other pixel of every other row of a part: greys each
// once, of colours every pixel by itself.
func (s *sample) shades(x0, x1, y0, y1 int) (all []shade, total int) {
	if s.channels > 1 {
		for y := y0; y < y1; y += 2 {
			for x := x0; x < x1; x += 2 {
				all = append(all, shade{s.pixel(y, x), 1})
			}
		}
		return all, len(all)
	}
	var counts [256]int
	for y := y0; y < y1; y += 2 {
		for x := x0; x < x1; x += 2 {
			counts[s.rows[y][x]]++
		}
	}
	for v, n := range counts {
		total += n
		if v := float64(v); n > 0 {
			all = append(all, shade{[3]float64{v, v, v}, n})
		}
	}
	return all, total
}

// which is which pixels a test holds for; of greys each is asked about once.
func (s *sample) which(test func(v [3]float64) bool) func(y, x int) bool {
	if s.channels > 1 {
		return func(y, x int) bool { return test(s.pixel(y, x)) }
	}
	var holds [256]bool
	for i := range holds {
		v := float64(i)
		holds[i] = test([3]float64{v, v, v})
	}
	return func(y, x int) bool { return holds[s.rows[y][x]] }
}

// commonest is the colour that most of the inner picture has, and its share;
// colours near to without are left out.
func (s *sample) commonest(upright bool, without *[3]float64) (colour [3]float64, share float64) {
	const step = 24
	const cells = 255/step + 1
	x0, x1, y0, y1 := s.width/6, s.width-s.width/6, 0, len(s.rows)
	if !upright {
		x0, x1, y0, y1 = 0, s.width, len(s.rows)/6, len(s.rows)-len(s.rows)/6
	}
	all, total := s.shades(x0, x1, y0, y1)
	var counts [cells * cells * cells]int
	for _, c := range all {
		if v := c.colour; without == nil || distance(v, *without) >= 2*step {
			counts[(int(v[0])/step*cells+int(v[1])/step)*cells+int(v[2])/step] += c.n
		}
	}
	best := 0
	for i, n := range counts {
		if n > counts[best] {
			best = i
		}
	}
	for c, i := range [3]int{best / cells / cells, best / cells % cells, best % cells} {
		colour[c] = (float64(i) + 0.5) * step
	}
	for range 3 { // the mean of what is near
		var sum [3]float64
		n := 0
		for _, a := range all {
			if distance(a.colour, colour) < step {
				n += a.n
				for c := range sum {
					sum[c] += a.colour[c] * float64(a.n)
				}
			}
		}
		if n == 0 {
			break
		}
		for c := range sum {
			colour[c] = sum[c] / float64(n)
		}
		share = float64(n) / float64(max(total, 1))
	}
	return colour, share
}

// noise is how much neighbours on the paper differ: the standard deviation of one
// pixel, from the median of differences along the rows of the sample.
func (s *sample) noise(paper [3]float64) float64 {
	var counts [256]int
	total, green := 0, s.channels/2 // of grey, the only one
	near := s.which(func(v [3]float64) bool { return distance(v, paper) < 60 })
	for y, r := range s.rows {
		for x := 0; x+1 < s.width; x += 3 {
			if near(y, x) && near(y, x+1) {
				d := int(r[x*s.channels+green]) - int(r[(x+1)*s.channels+green])
				counts[max(d, -d)]++
				total++
			}
		}
	}
	return medianOf(&counts, total) / 0.6745 / math.Sqrt2
}

// medianOf is the middle of so many values, of which there are counts; 0 for none.
func medianOf(counts *[256]int, total int) float64 {
	at := func(rank int) (v int) {
		for ; rank >= counts[v]; v++ {
			rank -= counts[v]
		}
		return v
	}
	if total == 0 {
		return 0
	}
	return float64(at((total-1)/2)+at(total/2)) / 2
}

// project chooses the values: grey as it is, or of a colour picture the direction
// from paper to backing, freed of the direction to black where the backing has a
// colour of its own, so that ink and shade count less.
func (l *light) project(paper [3]float64, side [2][3]float64) {
	l.paperRGB = paper
	for c := range 3 {
		l.backRGB[c] = (side[0][c] + side[1][c]) / 2
	}
	if !l.colour {
		l.said = darker
		if l.backRGB[0] > paper[0] {
			l.flip, l.said = 255, "lighter than the paper"
		}
		l.paper = l.value(paper)
		l.back = [2]float64{l.value(side[0]), l.value(side[1])}
		return
	}
	var to, black [3]float64
	for c := range 3 {
		to[c], black[c] = paper[c]-l.backRGB[c], paper[c]
	}
	l.said = darker
	if dot(to, to) > 0 && sum(to) < 0 {
		l.said = "lighter than the paper"
	}
	free := to
	if bb := dot(black, black); bb > 0 {
		k := dot(to, black) / bb
		for c := range free {
			free[c] -= k * black[c]
		}
	}
	if math.Sqrt(dot(free, free)) > 45 && math.Sqrt(dot(free, free)) > 0.3*math.Sqrt(dot(to, to)) {
		to, l.said = free, "of another colour than the paper"
	}
	// The backing becomes 60, the paper 200: room for both beyond.
	k := 140 / (dot(to, paper) - dot(to, l.backRGB))
	for c := range 3 {
		l.weights[c] = int32(math.Round(k * to[c] * 65536))
	}
	l.offset = int32(math.Round((200 - k*dot(to, paper)) * 65536))
	l.paper = l.value(paper)
	l.back = [2]float64{l.value(side[0]), l.value(side[1])}
}

func dot(a, b [3]float64) float64 { return a[0]*b[0] + a[1]*b[1] + a[2]*b[2] }
func sum(a [3]float64) float64    { return a[0] + a[1] + a[2] }

// value is a colour's value, flipped where the backing is lighter.
func (l *light) value(v [3]float64) float64 {
	if !l.colour {
		if l.flip != 0 {
			return 255 - v[0]
		}
		return v[0]
	}
	return (dot([3]float64{float64(l.weights[0]), float64(l.weights[1]), float64(l.weights[2])},
		v) + float64(l.offset)) / 65536
}

// stretch is how much larger differences become by the projection.
func (l *light) stretch(paper [3]float64, side [2][3]float64) float64 {
	if !l.colour {
		return 1
	}
	w := [3]float64{float64(l.weights[0]) / 65536, float64(l.weights[1]) / 65536, float64(l.weights[2]) / 65536}
	return math.Sqrt(dot(w, w))
}

// paperWidth is how many pixels lie between the paper's edges, about.
func (s *sample) paperWidth(l *light, p *row.Picture, paper [3]float64, side [2][3]float64) float64 {
	inside := s.which(func(v [3]float64) bool {
		return l.value(v) > (l.paper+(l.back[0]+l.back[1])/2)/2
	})
	var widths []float64
	if l.upright {
		scale := float64(p.Width) / float64(s.width)
		for y := range s.rows {
			first, last := -1, -1
			for x := range s.width {
				if inside(y, x) {
					if first < 0 {
						first = x
					}
					last = x
				}
			}
			if last-first > s.width/3 {
				widths = append(widths, float64(last-first+1)*scale)
			}
		}
		return median(widths)
	}
	if len(s.at) == 0 || s.at[len(s.at)-1] < p.Height*9/10 {
		return 0.9 * float64(p.Height)
	}
	for x := range s.width {
		first, last := -1, -1
		for y := range s.rows {
			if inside(y, x) {
				if first < 0 {
					first = s.at[y]
				}
				last = s.at[y]
			}
		}
		if last-first > p.Height/3 {
			widths = append(widths, float64(last-first+1))
		}
	}
	return median(widths)
}

// median is the middle value; it puts v in order. 0 for none.
func median(v []float64) float64 {
	if len(v) == 0 {
		return 0
	}
	slices.Sort(v)
	if n := len(v); n%2 == 0 {
		return (v[n/2-1] + v[n/2]) / 2
	}
	return v[len(v)/2]
}
