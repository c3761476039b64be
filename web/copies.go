package web

import (
	"bufio"
	"bytes"
	"cmp"
	"context"
	"errors"
	"fmt"
	"image"
	"image/jpeg"
	"io"
	"math"
	"net/http"
	"os"
	"slices"
	"sync"

	"rollwright/scan/read"
	"rollwright/scan/row"
)

// copies are a picture as the light table shows it: in grey, each half as fine as the
// one before, on the disk, of which tiles are sent. The picture itself is read once.
type copies struct {
	levels []level
	files  []string
	lock   sync.Mutex
	tiles  []madeTile // the last used first
}

// level is a copy of a picture.
type level struct {
	Width  int     `json:"width"`
	Height int     `json:"height"`
	Shrink float64 `json:"shrink"` // pixels of the picture in one of its own
}

type madeTile struct {
	at   [3]int
	data []byte
}

// The numbers of copies: how fine the finest is at most, how large the coarsest, how
// large a tile, and how many tiles a picture keeps ready.
const (
	pixelsAMM  = 8
	leastLevel = 1024
	tileSide   = 512
	mostTiles  = 64
	quality    = 82
)

// shrinker averages squares of pixels and writes them row by row.
type shrinker struct {
	by     int
	width  int // of the copy
	sum    []uint32
	count  []uint32
	rows   int // in sum
	line   []byte
	height int
	out    *bufio.Writer
	file   *os.File
	next   *shrinker
}

func (s *shrinker) row(grey []byte) error {
	for x, v := range grey {
		i := x / s.by
		s.sum[i] += uint32(v)
		s.count[i]++
	}
	if s.rows++; s.rows < s.by {
		return nil
	}
	return s.flush()
}

// flush ends a row of the copy, which may be of fewer rows at the end.
func (s *shrinker) flush() error {
	if s.rows == 0 {
		return nil
	}
	for i := range s.line {
		s.line[i] = byte(s.sum[i] / max(s.count[i], 1))
	}
	clear(s.sum)
	clear(s.count)
	s.rows = 0
	s.height++
	if _, err := s.out.Write(s.line); err != nil {
		return err
	}
	if s.next != nil {
		return s.next.row(s.line)
	}
	return nil
}

// newCopies reads a picture, whose pixels are mm long, and writes its copies to files
// whose names begin with stem.
func newCopies(ctx context.Context, in *row.Picture, mm float64, stem string,
	told func(share float64)) (*copies, error) {
	p := &copies{}
	first := max(int(1/(mm*pixelsAMM)), 1)
	var chain []*shrinker
	width, long, by, shrink := in.Width, max(in.Width, in.Height)/first, first, float64(first)
	for {
		w := (width + by - 1) / by
		name := fmt.Sprintf("%s.%d.grey", stem, len(chain))
		file, err := os.OpenFile(name, os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o600)
		if err != nil {
			return nil, errors.Join(err, closeAll(chain))
		}
		s := &shrinker{by: by, width: w, sum: make([]uint32, w), count: make([]uint32, w), line: make([]byte, w),
			file: file, out: bufio.NewWriterSize(file, 1<<18)}
		if len(chain) > 0 {
			chain[len(chain)-1].next = s
		}
		chain = append(chain, s)
		p.files, p.levels = append(p.files, name), append(p.levels, level{Width: w, Shrink: shrink})
		if long <= leastLevel {
			break
		}
		width, long, by, shrink = w, long/2, 2, shrink*2
	}
	err := p.fill(ctx, in, chain[0], told)
	for i, s := range chain {
		err = errors.Join(err, s.flush(), s.out.Flush())
		p.levels[i].Height = s.height
	}
	return p, errors.Join(err, closeAll(chain))
}

func closeAll(chain []*shrinker) error {
	var errs []error
	for _, s := range chain {
		errs = append(errs, s.file.Close())
	}
	return errors.Join(errs...)
}

func (p *copies) fill(ctx context.Context, in *row.Picture, s *shrinker, told func(share float64)) error {
	line := make([]byte, in.RowBytes())
	grey := line
	if in.Channels == 3 {
		grey = make([]byte, in.Width)
	}
	for y := 0; ; y++ {
		if y%256 == 0 {
			if err := ctx.Err(); err != nil {
				return err
			}
			told(float64(y) / float64(in.Height))
		}
		if _, err := in.Read(line); errors.Is(err, io.EOF) {
			return nil
		} else if err != nil {
			return err
		}
		if in.Channels == 3 {
			for x := range grey { // the weights of Rec. ITU-R BT.601, in 256ths
				grey[x] = byte((77*int(line[3*x]) + 150*int(line[3*x+1]) + 29*int(line[3*x+2])) >> 8)
			}
		}
		if err := s.row(grey); err != nil {
			return err
		}
	}
}

// tile is a square of a copy, or what of it lies in the picture, as JPEG.
func (p *copies) tile(of, x, y int) ([]byte, error) {
	if of >= len(p.levels) || x*tileSide >= p.levels[of].Width || y*tileSide >= p.levels[of].Height {
		return nil, &refusal{http.StatusNotFound, "the picture has no such tile"}
	}
	p.lock.Lock()
	defer p.lock.Unlock()
	at := [3]int{of, x, y}
	if i := slices.IndexFunc(p.tiles, func(t madeTile) bool { return t.at == at }); i >= 0 {
		t := p.tiles[i]
		copy(p.tiles[1:i+1], p.tiles[:i])
		p.tiles[0] = t
		return t.data, nil
	}
	data, err := p.cut(of, x*tileSide, y*tileSide)
	if err != nil {
		return nil, err
	}
	p.tiles = slices.Insert(p.tiles, 0, madeTile{at, data})
	p.tiles = p.tiles[:min(len(p.tiles), mostTiles)]
	return data, nil
}

func (p *copies) cut(of, x, y int) ([]byte, error) {
	l := p.levels[of]
	file, err := os.Open(p.files[of])
	if err != nil {
		return nil, &refusal{http.StatusGone, "this picture is no longer on the table: lay it there again"}
	}
	defer file.Close()
	out := image.NewGray(image.Rect(0, 0, min(tileSide, l.Width-x), min(tileSide, l.Height-y)))
	for k := range out.Rect.Dy() {
		line := out.Pix[k*out.Stride:][:out.Rect.Dx()]
		if _, err := file.ReadAt(line, int64(y+k)*int64(l.Width)+int64(x)); err != nil {
			return nil, err
		}
	}
	var b bytes.Buffer
	err = jpeg.Encode(&b, out, &jpeg.Options{Quality: quality})
	return b.Bytes(), err
}

// plane takes pixels x and y of a picture to millimetres: constant, a pixel in x, a
// pixel in y.
type plane struct {
	Along  [3]float64 `json:"along"` // on the plan
	Across [3]float64 `json:"across"`
}

// The numbers of planes: how many pixels of the picture one is for, and how many holes
// say where it lies.
const (
	planePixels = 1024
	planeHoles  = 48
)

// planesOf says where the stretches of a picture lie, by the holes in them: the plane
// of least squares from their middles in the picture to those on the plan.
func planesOf(r *read.Reading, picture int, onto func(float64) float64) (tall bool, cell float64, out []plane) {
	var slots []read.Slot
	for _, s := range r.Slots {
		if s.Picture == picture && !s.CutLow && !s.CutHigh {
			slots = append(slots, s)
		}
	}
	shown := r.Pictures[picture]
	tall = lies(slots, onto, shown)
	middle := func(s *read.Slot) float64 {
		if tall {
			return (s.Box.Y0 + s.Box.Y1) / 2
		}
		return (s.Box.X0 + s.Box.X1) / 2
	}
	slices.SortStableFunc(slots, func(a, b read.Slot) int { return cmp.Compare(middle(&a), middle(&b)) })
	long := shown.Width
	if tall {
		long = shown.Height
	}
	whole, ok := fitPlane(r, slots, onto)
	if !ok {
		whole = square(r, picture, slots, onto, shown)
	}
	for at := 0; at < long; at += planePixels {
		centre := float64(at) + planePixels/2
		i, _ := slices.BinarySearchFunc(slots, centre, func(s read.Slot, x float64) int { return cmp.Compare(middle(&s), x) })
		near, ok := fitPlane(r, slots[max(i-planeHoles/2, 0):min(i+planeHoles/2, len(slots))], onto)
		if !ok {
			near = whole
		}
		out = append(out, near)
	}
	return tall, planePixels, out
}

// lies reports whether a picture runs along the roll from row to row: by its holes,
// or, where they do not tell, by its shape.
func lies(slots []read.Slot, onto func(float64) float64, p *read.Picture) bool {
	if len(slots) < 2 {
		return p.Height >= p.Width
	}
	a, b := &slots[0], &slots[len(slots)-1]
	along := math.Abs(onto(a.LeadMM) - onto(b.LeadMM))
	dx, dy := math.Abs(a.Box.X0-b.Box.X0), math.Abs(a.Box.Y0-b.Box.Y0)
	if p.AlongMM > 0 {
		return math.Abs(dy*p.AlongMM-along) <= math.Abs(dx*p.AlongMM-along)
	}
	return dy >= dx
}

// fitPlane is the plane of least squares through the middles of some holes.
func fitPlane(r *read.Reading, slots []read.Slot, onto func(float64) float64) (plane, bool) {
	if len(slots) < 4 {
		return plane{}, false
	}
	var cx, cy float64
	for i := range slots {
		b := &slots[i].Box
		cx, cy = cx+(b.X0+b.X1)/2, cy+(b.Y0+b.Y1)/2
	}
	n := float64(len(slots))
	cx, cy = cx/n, cy/n
	var xx, xy, yy, sa, sc float64
	var xa, ya, xc, yc float64
	for i := range slots {
		s := &slots[i]
		x, y := (s.Box.X0+s.Box.X1)/2-cx, (s.Box.Y0+s.Box.Y1)/2-cy
		a, c := onto((s.LeadMM+s.TrailMM)/2), r.Instrument.Bar.Ports[s.Port].AcrossMM
		xx, xy, yy = xx+x*x, xy+x*y, yy+y*y
		sa, sc = sa+a, sc+c
		xa, ya, xc, yc = xa+x*a, ya+y*a, xc+x*c, yc+y*c
	}
	det := xx*yy - xy*xy
	if det < 1e-6*xx*yy || xx*yy == 0 {
		return plane{}, false // the holes lie on one line
	}
	solve := func(sum, bx, by float64) [3]float64 {
		px, py := (bx*yy-by*xy)/det, (by*xx-bx*xy)/det
		return [3]float64{sum/n - px*cx - py*cy, px, py}
	}
	return plane{solve(sa, xa, ya), solve(sc, xc, yc)}, true
}

// square is where a picture with few holes lies: upright, the music from below, at its
// own scale, its first hole in its place.
func square(r *read.Reading, picture int, slots []read.Slot, onto func(float64) float64, p *read.Picture) plane {
	mm := p.AlongMM
	out := plane{[3]float64{onto(r.EndMM[picture]), 0, -mm}, [3]float64{0, mm, 0}}
	if len(slots) > 0 {
		s := &slots[0]
		out.Along[0] = onto(s.LeadMM) + mm*s.Box.Y1
		out.Across[0] = r.Instrument.Bar.Ports[s.Port].AcrossMM - mm*(s.Box.X0+s.Box.X1)/2
	}
	return out
}
