package read

import (
	"math"
	"slices"
	"sort"
)

// sheet is one picture's paper: how pixels of its frame become millimetres.
type sheet struct {
	frame
	alongMM, acrossMM float64 // of a pixel; across of the paper as it should be
	pixelMM           float64 // of a pixel across as it is
	widthMM           float64 // of the paper as it should be
	sin, cos          float64 // of the slant
	slope             float64 // of the paper in pixels across a pixel along
	offset            float64 // across, in pixels, of the bass edge at along 0
	broadPX           float64 // from edge to edge, in pixels; 0 where one edge is missing
	inky              bool    // ink looks as the backing does
	drawn             bool    // it is a drawing
	edges             [2]bool // bass, treble edge seen
	wander            curve   // in pixels across over pixels along
	wanderMM          float64 // the most it goes to either side
	lens              *lens   // of a photograph; nil for a scan
	alpha, beta       float64 // across as it should be = alpha + beta*across as measured
	drift             curve   // what is left: millimetres over millimetres along
}

// curve is a line through points at equal distances; 0 where it has none.
type curve struct {
	from, step float64
	at         []float64
}

func (c curve) value(x float64) float64 {
	if len(c.at) == 0 {
		return 0
	}
	t := (x - c.from) / c.step
	i := int(math.Floor(t))
	switch {
	case i < 0:
		return c.at[0]
	case i >= len(c.at)-1:
		return c.at[len(c.at)-1]
	}
	t -= float64(i)
	return c.at[i]*(1-t) + c.at[i+1]*t
}

// line is y = a + b*x.
type line struct{ a, b float64 }

// fitLine is a straight line through most of the points: medians of slopes between
// points half the length apart (H. Theil 1950), then least squares of what is near.
func fitLine(p []point) line {
	n := len(p)
	if n < 2 {
		if n == 1 {
			return line{p[0].across, 0}
		}
		return line{}
	}
	var slopes []float64
	half := n / 2
	for i := 0; i+half < n; i++ {
		if d := p[i+half].along - p[i].along; d != 0 {
			slopes = append(slopes, (p[i+half].across-p[i].across)/d)
		}
	}
	b := median(slopes)
	rest := make([]float64, n)
	for i, q := range p {
		rest[i] = q.across - b*q.along
	}
	l := line{median(slices.Clone(rest)), b}
	for range 3 {
		l = refit(p, l)
	}
	return l
}

// refit is the least-squares line through the points near to l.
func refit(p []point, l line) line {
	off := make([]float64, len(p))
	for i, q := range p {
		off[i] = abs(q.across - l.a - l.b*q.along)
	}
	near := 3*median(slices.Clone(off)) + 0.5
	var n, sx, sy, sxx, sxy float64
	x0 := p[0].along
	for i, q := range p {
		if off[i] > near {
			continue
		}
		x := q.along - x0
		n, sx, sy, sxx, sxy = n+1, sx+x, sy+q.across, sxx+x*x, sxy+x*q.across
	}
	d := n*sxx - sx*sx
	if n < 2 || d <= 0 {
		return l
	}
	b := (n*sxy - sx*sy) / d
	return line{(sy-b*sx)/n - b*x0, b}
}

// lay finds how the paper lies from its edges. alongPX and acrossPX are the
// picture's pixels an inch along and across where they are to be believed, else 0;
// widthMM is the paper's width as it should be.
func lay(f frame, s *swept, dpiAlong, dpiAcross, widthMM float64) (*sheet, error) {
	sh := &sheet{frame: f, widthMM: widthMM, cos: 1, alpha: 0, beta: 1, inky: s.light.said == darker || s.light.drawn,
		drawn: s.light.drawn}
	low, high := f.sides(s)
	sh.edges = [2]bool{len(low) >= 4, len(high) >= 4}
	var base line
	switch {
	case sh.edges[0] && sh.edges[1]:
		centre, broad := together(low, high)
		if len(centre) < 4 {
			return nil, errNoPaper
		}
		base = fitLine(centre)
		sh.broadPX = broad
		base.a -= broad / 2
	case sh.edges[0]:
		base = fitLine(low)
	case sh.edges[1]:
		base = fitLine(high)
	default:
		return nil, errNoPaper
	}
	sh.offset, sh.slope = base.a, base.b
	if err := sh.scale(dpiAlong, dpiAcross, widthMM); err != nil {
		return nil, err
	}
	if !sh.edges[0] {
		sh.offset -= widthMM / sh.pixelMM * math.Hypot(1, sh.slope)
	}
	angle := math.Atan(sh.slope * sh.pixelMM / sh.alongMM)
	sh.sin, sh.cos = math.Sincos(angle)
	sh.follow(low, high, widthMM)
	return sh, nil
}

// sides are the points of the bass and treble edges in the frame.
func (f frame) sides(s *swept) (low, high []point) {
	for _, edge := range s.edges {
		var out []point
		for _, p := range edge {
			x, y := p.across, p.along
			if !f.first.upright() {
				x, y = p.along, p.across
			}
			a, c := f.place(x, y)
			out = append(out, point{a, c})
		}
		if len(out) == 0 {
			continue
		}
		sort.Slice(out, func(i, j int) bool { return out[i].along < out[j].along })
		if isLow := f.isLow(s, &edge[0]); isLow {
			low = out
		} else {
			high = out
		}
	}
	return low, high
}

// isLow reports whether an edge of the sweep, told by a point of it, is that of
// the bass.
func (f frame) isLow(s *swept, p *point) bool {
	first := len(s.edges[0]) > 0 && p == &s.edges[0][0]
	return first == (f.bass == Left || f.bass == Top)
}

// together are the middles between points of both edges at the same places, and
// the median distance of the edges.
func together(low, high []point) (centre []point, broad float64) {
	var widths []float64
	j := 0
	for _, p := range low {
		for j < len(high) && high[j].along < p.along-1e-6 {
			j++
		}
		if j < len(high) && abs(high[j].along-p.along) < 1e-6 {
			widths = append(widths, high[j].across-p.across)
		}
	}
	broad = median(slices.Clone(widths))
	j = 0
	for _, p := range low {
		for j < len(high) && high[j].along < p.along-1e-6 {
			j++
		}
		if j < len(high) && abs(high[j].along-p.along) < 1e-6 && abs(high[j].across-p.across-broad) < 0.02*broad {
			centre = append(centre, point{p.along, (p.across + high[j].across) / 2})
		}
	}
	return centre, broad
}

// scale settles what a pixel is.
func (sh *sheet) scale(dpiAlong, dpiAcross, widthMM float64) error {
	if dpiAlong > 0 {
		sh.alongMM = 25.4 / dpiAlong
	}
	if dpiAcross > 0 {
		sh.pixelMM = 25.4 / dpiAcross
	}
	if sh.broadPX > 0 {
		// The width lies square to the paper, not along a row of the picture.
		pixel := widthMM / sh.broadPX
		if sh.pixelMM == 0 {
			pixel *= math.Hypot(1, sh.slope)
			sh.pixelMM = pixel
		}
		sh.acrossMM = widthMM / (sh.broadPX / math.Hypot(1, sh.slope*sh.pixelMM/orElse(sh.alongMM, sh.pixelMM)))
	}
	if sh.pixelMM == 0 {
		return errNeedScale
	}
	sh.alongMM = orElse(sh.alongMM, sh.pixelMM)
	sh.acrossMM = orElse(sh.acrossMM, sh.pixelMM)
	return nil
}

func orElse(v, otherwise float64) float64 {
	if v > 0 {
		return v
	}
	return otherwise
}

// wanderStepMM is how closely the wander is followed.
const wanderStepMM = 8.0

// follow finds how the paper wanders to the sides, from both edges: what one of
// them does alone is a tear.
func (sh *sheet) follow(low, high []point, widthMM float64) {
	step := wanderStepMM / sh.alongMM
	n := int(sh.long()/step) + 2
	bins := [2][][]float64{make([][]float64, n), make([][]float64, n)}
	for k, list := range [2][]point{low, high} {
		over := 0.0
		if k == 1 {
			over = orElse(sh.broadPX, widthMM/sh.pixelMM*math.Hypot(1, sh.slope))
		}
		for _, p := range list {
			if i := int(p.along / step); i >= 0 && i < n {
				bins[k][i] = append(bins[k][i], p.across-sh.offset-sh.slope*p.along-over)
			}
		}
	}
	sh.wander = curve{from: step / 2, step: step, at: smoothed(wanders(bins, 0.4/sh.pixelMM))}
	for _, v := range sh.wander.at {
		sh.wanderMM = max(sh.wanderMM, abs(v)*sh.pixelMM)
	}
}

// wanders takes the mean of both edges where they agree, else the one that goes on
// as before.
func wanders(bins [2][][]float64, agree float64) []float64 {
	n := len(bins[0])
	out := make([]float64, n)
	last, known := 0.0, false
	for i := range n {
		a, b := bins[0][i], bins[1][i]
		ma, mb := median(a), median(b)
		v := math.NaN()
		switch {
		case len(a) > 0 && len(b) > 0 && abs(ma-mb) < agree:
			v = (ma + mb) / 2
		case len(a) > 0 && (len(b) == 0 || known && abs(ma-last) <= abs(mb-last)):
			v = ma
		case len(b) > 0:
			v = mb
		}
		if known && abs(v-last) > 2*agree {
			v = math.NaN()
		}
		if out[i] = v; !math.IsNaN(v) {
			last, known = v, true
		}
	}
	bridge(out)
	return out
}

// bridge fills what is unknown with a straight line between its neighbours.
func bridge(v []float64) {
	last := -1
	for i := range v {
		if math.IsNaN(v[i]) {
			continue
		}
		for k := last + 1; k < i; k++ {
			if last < 0 {
				v[k] = v[i]
			} else {
				v[k] = v[last] + (v[i]-v[last])*float64(k-last)/float64(i-last)
			}
		}
		last = i
	}
	for k := last + 1; k < len(v); k++ {
		if v[k] = 0; last >= 0 {
			v[k] = v[last]
		}
	}
}

// smoothed is the running median of five, then the running mean of five.
func smoothed(v []float64) []float64 {
	at := func(list []float64, i int) float64 { return list[min(max(i, 0), len(list)-1)] }
	m := make([]float64, len(v))
	for i := range v {
		m[i] = median([]float64{at(v, i-2), at(v, i-1), at(v, i), at(v, i+1), at(v, i+2)})
	}
	out := make([]float64, len(v))
	for i := range m {
		out[i] = (at(m, i-2) + at(m, i-1) + at(m, i) + at(m, i+1) + at(m, i+2)) / 5
	}
	return out
}

// place turns pixels of the frame into millimetres along the paper and across it
// from the bass edge, as the paper should be.
func (sh *sheet) place(a, c float64) (s, u float64) {
	if sh.lens != nil {
		s, u = sh.lens.place(a, c)
	} else {
		s, u = sh.straight(a, c)
	}
	u = sh.alpha + sh.beta*u
	return s, u - sh.drift.value(s)
}

// straight is place of a scan. The slant turns, the wander moves rows sideways.
func (sh *sheet) straight(a, c float64) (s, u float64) {
	c -= sh.wander.value(a)
	s = a*sh.alongMM*sh.cos + (c-sh.offset)*sh.pixelMM*sh.sin
	u = (c - sh.offset - sh.slope*a) * sh.acrossMM * sh.cos
	return s, u
}

// edge is between which pixels across the paper lies at a.
func (sh *sheet) edge(a float64) (low, high float64) {
	low = sh.offset + sh.slope*a + sh.wander.value(a)
	return low, low + sh.broad0()
}

func (sh *sheet) broad0() float64 {
	if sh.broadPX > 0 {
		return sh.broadPX
	}
	return 2 * sh.widthMM / sh.pixelMM // beyond the picture
}
