package read

import (
	"io"
	"slices"
)

// band is some rows of the picture on their way through: read, levelled, parted
// into runs, put together.
type band struct {
	rows   int
	pixels []byte // one value a pixel
	levels []byte // of each block: below it is backing
	backs  []byte
	papers []byte
	runs   []run
	ends   []int32 // of each row in runs
	done   chan struct{}
	free   chan *band
	err    error
}

// bandBytes is about how much a band holds.
const bandBytes = 1 << 19

// source gives rows of one value a pixel.
type source interface {
	Read(dst []byte) (rows int, err error)
}

// values makes one value of each colour pixel.
type values struct {
	in    source
	width int
	l     *light
	line  []byte
}

func (v *values) Read(dst []byte) (int, error) {
	w := v.width
	want := len(dst) / w
	if need := want * 3 * w; cap(v.line) < need {
		v.line = make([]byte, need)
	}
	n, err := v.in.Read(v.line[:want*3*w])
	k, o := v.l.weights, v.l.offset
	src := v.line[:3*w*n]
	for i := range dst[:w*n] {
		s := src[3*i : 3*i+3 : 3*i+3]
		t := (k[0]*int32(s[0]) + k[1]*int32(s[1]) + k[2]*int32(s[2]) + o) >> 16
		dst[i] = byte(min(max(t, 0), 255))
	}
	return n, err
}

// smooth takes the mean of each pixel and its eight neighbours, where the picture
// is noisy; the picture's border is repeated.
type smooth struct {
	in    source
	width int
	rows  [3][]byte // above, this, below
	sums  []int
	state int // 0: before the first row, 1: within, 2: after the last
	err   error
}

func newSmooth(in source, width int) *smooth {
	s := &smooth{in: in, width: width, sums: make([]int, width)}
	for i := range s.rows {
		s.rows[i] = make([]byte, width)
	}
	return s
}

func (s *smooth) Read(dst []byte) (int, error) {
	n := 0
	for (n+1)*s.width <= len(dst) {
		if s.state == 2 {
			return n, s.end(n)
		}
		if s.state == 0 {
			if k, err := s.in.Read(s.rows[1]); k == 0 {
				s.state, s.err = 2, err
				continue
			}
			copy(s.rows[0], s.rows[1])
			s.state = 1
		}
		if k, err := s.in.Read(s.rows[2]); k == 0 {
			copy(s.rows[2], s.rows[1])
			s.state, s.err = 2, err
		}
		s.mean(dst[n*s.width : (n+1)*s.width])
		s.rows[0], s.rows[1], s.rows[2] = s.rows[1], s.rows[2], s.rows[0]
		n++
	}
	return n, nil
}

func (s *smooth) end(n int) error {
	if n > 0 && s.err == io.EOF {
		return nil
	}
	return s.err
}

func (s *smooth) mean(dst []byte) {
	for x := range s.sums {
		s.sums[x] = int(s.rows[0][x]) + int(s.rows[1][x]) + int(s.rows[2][x])
	}
	w := s.width
	for x := range dst {
		t := s.sums[max(x-1, 0)] + s.sums[x] + s.sums[min(x+1, w-1)]
		dst[x] = byte((t + 4) / 9)
	}
}

// levels follows the light along the picture: what paper and backing look like in
// each block of columns.
type levels struct {
	light  *light
	width  int
	paper  []float64
	smooth []float64
	back   [2]float64
	begun  bool
}

func newLevels(l *light, width int) *levels {
	n := (width + blockPixels - 1) / blockPixels
	f := &levels{light: l, width: width, paper: make([]float64, n), smooth: make([]float64, n), back: l.back}
	for i := range f.paper {
		f.paper[i] = l.paper
	}
	return f
}

// follow looks at every 64th pixel of a band and sets its levels.
func (f *levels) follow(b *band) {
	f.look(b)
	if !f.begun {
		f.begun = true
		f.look(b)
	}
	b.levels, b.backs, b.papers = b.levels[:0], b.backs[:0], b.papers[:0]
	for i := range f.paper {
		back, paper := f.backAt(i), f.smooth[i]
		b.levels = append(b.levels, toByte((back+paper)/2, 1, 255))
		b.backs = append(b.backs, toByte(back, 0, 255))
		b.papers = append(b.papers, toByte(paper, 0, 255))
	}
}

func toByte(v, low, high float64) byte { return byte(min(max(v+0.5, low), high)) }

// backAt is the backing's value behind block i, from one side to the other.
func (f *levels) backAt(i int) float64 {
	if !f.light.upright {
		return f.back[0]
	}
	t := (float64(i) + 0.5) / float64(len(f.paper))
	back := f.back[0] + (f.back[1]-f.back[0])*t
	return min(back, f.paper[i]-8)
}

// look takes the samples of a band.
func (f *levels) look(b *band) {
	stepX, stepY := 8, 8
	var sides [2][]byte
	var paper, back [256]byte
	for i := range f.paper {
		level := (f.backAt(i) + f.paper[i]) / 2
		np, nb := 0, 0
		x1 := min((i+1)*blockPixels, f.width)
		for y := min(stepY/2, b.rows-1); y < b.rows; y += stepY {
			line := b.pixels[y*f.width:]
			for x := i * blockPixels; x < x1; x += stepX {
				v := line[x] ^ f.light.flip
				if float64(v) >= level {
					if np < len(paper) {
						paper[np] = v
						np++
					}
				} else if nb < len(back) {
					back[nb] = v
					nb++
				}
			}
		}
		switch n := np + nb; {
		case np > n*2/5:
			f.paper[i] += 0.7 * (middle(paper[:np]) - f.paper[i])
		case nb > n*9/10:
			k := 0
			if i > len(f.paper)/2 && f.light.upright {
				k = 1
			}
			sides[k] = append(sides[k], byte(middle(back[:nb])))
			if near := f.near(i); near > 0 { // paper that may come here is like that beside it
				f.paper[i] += 0.3 * (near - f.paper[i])
			}
		}
	}
	f.follows(sides)
	for i := range f.smooth {
		var v [5]float64
		for k := range v {
			v[k] = f.paper[min(max(i+k-2, 0), len(f.paper)-1)]
		}
		slices.Sort(v[:])
		f.smooth[i] = v[2]
	}
}

// near is the paper's value in the block beside i, on the side of the middle.
func (f *levels) near(i int) float64 {
	if i < len(f.paper)/2 {
		return f.paper[i+1]
	}
	if i > 0 {
		return f.paper[i-1]
	}
	return 0
}

// follows takes over how the backing looks at the sides.
func (f *levels) follows(sides [2][]byte) {
	for k, v := range sides {
		if len(v) == 0 {
			continue
		}
		m := middle(v)
		if m > (f.light.paper+f.light.back[k])/2+40 {
			continue
		}
		f.back[k] += 0.5 * (m - f.back[k])
		if !f.light.sides[1-k] || !f.light.upright {
			f.back[1-k] = f.back[k]
		}
	}
}

// middle is the middle value: by counting upper halves of bytes, then the lower
// halves of those that have the middle one's.
func middle(v []byte) float64 {
	var upper, lower [16]int32
	for _, b := range v {
		upper[b>>4]++
	}
	left, high := int32(len(v)/2), 0
	for ; high < 15 && left >= upper[high]; high++ {
		left -= upper[high]
	}
	for _, b := range v {
		if int(b>>4) == high {
			lower[b&15]++
		}
	}
	low := 0
	for ; low < 15 && left >= lower[low]; low++ {
		left -= lower[low]
	}
	return float64(high<<4 | low)
}
