// Package read turns pictures of a roll's paper into slots on the ports of an
// instrument.
//
// In: picture files, read in rows (package row), and which way the paper lies.
// Out: for each slot its port, leading and trailing edge in millimetres along the
// roll, the number of openings, how sure it is; and what was seen of the paper:
// light, skew, wander, scale, rows of the perforator. Every number is float64;
// edges lie where the light crosses the level halfway between paper and backing.
package read

import (
	"context"
	"errors"
	"fmt"
	"maps"
	"math"
	"os"
	"runtime"
	"slices"
	"sync"
	"sync/atomic"

	"rollwright/paper/instrument"
	"rollwright/scan/row"
	"rollwright/text/choice"
	"rollwright/text/say"
)

// Options say what a picture does not.
type Options struct {
	Instruments []*instrument.Instrument // those that may have played it; the best is taken
	First, Bass Side
	DPIAlong    float64 // pixels an inch along the roll; 0: as the file says, or as the paper's width does
	DPIAcross   float64
	Progress    func(picture int, share float64) // called now and then; may be nil

	// Open opens the files of pictures and answers; nil: os.Open. An error that is
	// fs.ErrNotExist says of answers that there are none.
	Open func(name string) (*os.File, error)
}

// open begins to read a picture.
func (o *Options) open(name string) (*row.Picture, error) {
	if o.Open == nil {
		return row.Open(name)
	}
	file, err := o.Open(name)
	if err != nil {
		return nil, err
	}
	return row.From(file)
}

// Picture is what was seen in one picture.
type Picture struct {
	Name          string
	Format        string
	Width, Height int
	Slots         []Slot // in millimetres of this picture's own
	Light         string // "darker than the paper", ...
	Contrast      float64
	SkewDegrees   float64
	WanderMM      float64
	AcrossShare   float64 // the paper's width as a share of what it should be; 0: not known
	AlongMM       float64 // of a pixel
	ScaleFrom     string  // where AlongMM is from
	Edges         int     // of the paper, seen
	Specks        int
	Aside         Aside
	Photograph    bool // straightened as seen in perspective, through a lens
	Fit           Fit

	sheet *sheet
}

// Fit is how well an instrument's ports fit.
type Fit struct {
	Instrument *instrument.Instrument
	DieMM      float64 // width of the holes
	Holes, On  int     // openings of a hole's size, and those of them that lie on a port
	RMSMM      float64 // of their distance from it
}

var (
	errNeedScale = choice.Errorf("one edge of the paper lies outside the picture, and the file states no resolution; give {dpi}")
	errNoHoles   = errors.New("no holes are seen in the paper")
)

// one reads one picture.
func one(ctx context.Context, name string, index int, o *Options, first, bass Side) (*Picture, error) {
	p, err := o.open(name)
	if err != nil {
		return nil, err
	}
	h, err := handOf(first, bass, p.Width, p.Height)
	if err != nil {
		p.Close()
		return nil, err
	}
	defer func() { p.Close() }()
	l, in, err := look(p, h.first.upright())
	switch {
	case err != nil:
		return nil, err
	case p.Seeks():
		if err := p.Seek(0); err != nil {
			return nil, err
		}
	case in.lost:
		again, err := o.open(name)
		if err != nil {
			return nil, err
		}
		p.Close()
		p, in = again, &kept{p: again}
	}
	f := frame{hand: h, width: float64(p.Width), height: float64(p.Height)}
	out := &Picture{Name: name, Format: p.Format, Width: p.Width, Height: p.Height, Light: l.said}
	out.Contrast = l.paper - (l.back[0]+l.back[1])/2
	widthMM, dieMM := o.Instruments[0].Paper.WidthMM, o.Instruments[0].Die.DiameterMM
	dpi := o.resolution(p, f, l, widthMM)
	out.ScaleFrom = dpi.from
	die := dpi.die(f, l, widthMM, dieMM)
	progress := func(share float64) {
		if o.Progress != nil {
			o.Progress(index, share)
		}
	}
	s, err := sweep(ctx, in, l, die, progress)
	if err != nil {
		return nil, err
	}
	if l.drawn {
		s.edges = f.drawnEdges(s)
	} else if l.marks != nil && out.Contrast < faintContrast {
		if err := out.again(ctx, name, s, l.marks, die, o); err != nil {
			return nil, err
		}
	}
	out.Specks = s.dropped
	return out, out.measure(f, s, dpi, o)
}

// faintContrast is below what a backing differs from paper by; where marks much darker
// are seen, they are the holes of a drawing on a ground of its own.
const faintContrast = 40

// again takes the shapes of a drawing on a light ground: the edges of its paper were
// found, its holes are darker than what lies beside it.
func (out *Picture) again(ctx context.Context, name string, s *swept, l *light, die [2]float64, o *Options) error {
	p, err := o.open(name)
	if err != nil {
		return err
	}
	defer p.Close()
	marks, err := sweep(ctx, &kept{p: p}, l, die, nil)
	if err != nil {
		return err
	}
	s.shapes, s.light, s.dropped = marks.shapes, l, marks.dropped
	out.Light, out.Contrast = l.said, l.paper-l.back[0]
	return nil
}

// drawnEdges are the paper's edges in a drawing: the outermost places of the largest
// shape, the frame, all along it.
func (f frame) drawnEdges(s *swept) (edges [2][]point) {
	var frame *shape
	for i := range s.shapes {
		x := &s.shapes[i]
		if x.strips != nil && (frame == nil || (x.x1-x.x0)*(x.y1-x.y0) > (frame.x1-frame.x0)*(frame.y1-frame.y0)) {
			frame = x
		}
	}
	if frame == nil {
		return edges
	}
	low, high := map[int]float64{}, map[int]float64{}
	put := func(along int, c0, c1 float64) {
		if v, ok := low[along]; !ok || c0 < v {
			low[along] = c0
		}
		high[along] = max(high[along], c1)
	}
	for _, r := range frame.strips {
		if s.light.upright {
			put(int(r.y)/stretchRows, float64(r.x0), float64(r.x1))
			continue
		}
		for x := r.x0; x < r.x1; x++ {
			put(int(x)/stretchRows, float64(r.y), float64(r.y)+1)
		}
	}
	broad := frame.x1 - frame.x0
	if !s.light.upright {
		broad = frame.y1 - frame.y0
	}
	for _, k := range slices.Sorted(maps.Keys(low)) {
		if at := (float64(k) + 0.5) * stretchRows; high[k]-low[k] > 0.9*broad {
			edges[0] = append(edges[0], point{at, low[k] + 0.5})
			edges[1] = append(edges[1], point{at, high[k] - 0.5})
		}
	}
	return edges
}

// scale is what is known of a picture's resolution before the paper is measured.
type scale struct {
	along, across float64 // pixels an inch; 0: not known
	from          string
}

// resolution takes --dpi, or what the file says where the paper is about as wide
// as it should be by it.
func (o *Options) resolution(p *row.Picture, f frame, l *light, widthMM float64) scale {
	if o.DPIAlong > 0 {
		return scale{o.DPIAlong, orElse(o.DPIAcross, o.DPIAlong), "as given"}
	}
	along, across := p.DPIY, p.DPIX
	if !f.first.upright() {
		along, across = across, along
	}
	if along <= 1 || across <= 1 {
		return scale{from: "from the paper's width"}
	}
	if l.sides[0] && l.sides[1] && l.wide > 0 && f.first.upright() {
		if share := l.wide / across * 25.4 / widthMM; share < 0.95 || share > 1.05 {
			return scale{from: fmt.Sprintf("from the paper's width: by the file's own %.4g an inch it would be %.0f mm wide",
				across, share*widthMM)}
		}
	}
	return scale{along, across, "as the file states"}
}

// die is the diameter of a hole in pixels along x and y, about.
func (s scale) die(f frame, l *light, widthMM, dieMM float64) [2]float64 {
	across := l.wide * dieMM / widthMM
	if s.across > 0 && !(l.sides[0] && l.sides[1] && f.first.upright()) {
		across = dieMM * s.across / 25.4
	}
	along := across
	if s.along > 0 && s.across > 0 {
		along = across * s.along / s.across
	}
	if f.first.upright() {
		return [2]float64{across, along}
	}
	return [2]float64{along, across}
}

// measure lays the paper, finds the ports and makes slots.
func (out *Picture) measure(f frame, s *swept, dpi scale, o *Options) error {
	var best *sheet
	var fit lattice
	var list []opening
	for _, in := range o.Instruments {
		sh, err := lay(f, s, dpi.along, dpi.across, in.Paper.WidthMM)
		if err != nil {
			return err
		}
		die := [2]float64{in.Die.DiameterMM / sh.alongMM, in.Die.DiameterMM / sh.pixelMM}
		all := f.openings(s, sh, die)
		got := sh.fitPorts(all, in)
		if photo, fits := sh.asPhotograph(s, all, in, got); photo != nil {
			sh, got = photo, fits
		}
		if best == nil || got.better(fit) {
			best, fit, list = sh, got, all
		}
	}
	out.sheet = best
	out.Fit = Fit{fit.in, fit.die, fit.dies, fit.on, fit.rms}
	switch {
	case fit.dies == 0:
		return errNoHoles
	case best.lens == nil && best.wanderMM > mostWanderMM:
		return fmt.Errorf("%w: what looks like its edges wanders by %.0f mm; is this a roll, lying straight, both of its sides in the picture?", errNoPaper, best.wanderMM)
	case fit.rms > 0.3 && fit.on*5 < fit.dies*4, fit.byChance():
		return out.misfit(fit, o)
	}
	out.Slots = best.chain(list, fit, 0, &out.Aside)
	out.Photograph = best.lens != nil
	out.SkewDegrees = math.Round(math.Asin(best.sin)*18000/math.Pi)/100 + 0 // no -0
	out.WanderMM, out.AlongMM = best.wanderMM, best.alongMM
	for _, seen := range best.edges {
		if seen {
			out.Edges++
		}
	}
	if dpi.across > 0 {
		out.AcrossShare = best.pixelMM / best.acrossMM / best.beta
	}
	return nil
}

// misfit says that the holes are not where the instrument has ports, and what may be
// otherwise.
func (out *Picture) misfit(fit lattice, o *Options) error {
	text := fmt.Sprintf("%s of the size of a hole seen, and %d on ports of %s, no more than chance puts there",
		say.Count(fit.dies, "opening"), fit.on, fit.in.Name)
	if o.First == Unsaid {
		lies := "with the start below"
		if out.Width > out.Height {
			lies = "with the start at the left"
		}
		return choice.Errorf("%s; it was read as lying %s: if it lies otherwise, say so with {first}", text, lies)
	}
	return errors.New(text)
}

// mostWanderMM is more than paper wanders that a scanner draws in.
const mostWanderMM = 12

// better reports whether a fit is better than another: more holes on its ports
// than chance would put there.
func (l lattice) better(than lattice) bool {
	score := func(f lattice) float64 {
		if f.dies == 0 {
			return -1
		}
		return float64(f.on)/float64(f.dies) - 0.5*f.rms
	}
	return score(l) > score(than)
}

// openings are those of all shapes within the paper. Shapes are taken in parts of a
// size, on all cores, so that the order stays.
func (f frame) openings(s *swept, sh *sheet, die [2]float64) []opening {
	const part = 256
	parts := make([][]opening, (len(s.shapes)+part-1)/part)
	inParallel(len(parts), func(i int) {
		parts[i] = f.openingsOf(s.shapes[i*part:min((i+1)*part, len(s.shapes))], sh, die)
	})
	return slices.Concat(parts...)
}

func (f frame) openingsOf(shapes []shape, sh *sheet, die [2]float64) []opening {
	var out []opening
	for _, x := range shapes {
		if x.strips != nil {
			out = f.cutOut(out, x, die, sh.edge)
			continue
		}
		o := f.opening(x)
		low, high := sh.edge(o.am)
		if o.c-o.w/2 > low && o.c+o.w/2 < high {
			out = append(out, o)
		}
	}
	return out
}

// inParallel does n things on all cores.
func inParallel(n int, do func(i int)) {
	var next atomic.Int64
	var all sync.WaitGroup
	for range min(runtime.GOMAXPROCS(0), n) {
		all.Go(func() {
			for i := int(next.Add(1)) - 1; i < n; i = int(next.Add(1)) - 1 {
				do(i)
			}
		})
	}
	all.Wait()
}
