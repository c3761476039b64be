// Package places draws every place where plan and paper differ, as a page.
//
// The input is a proof.Result, with pictures of the paper where there are any; the
// output one HTML file that needs no other: what was found, then each place with
// the plan above, the paper below, at one scale. Lengths are millimetres of the
// plan. Places beyond the first Most are listed without a drawing.
package places

import (
	"cmp"
	_ "embed"
	"html/template"
	"io"
	"math"
	"slices"

	"rollwright/paper/roll"
	"rollwright/scan/proof"
)

// Most is how many places are drawn: a page that a browser still shows at once.
const Most = 400

// Options say what the page is about. The zero value is good.
type Options struct {
	Title string
	Name  func(port int32) string // what a port is called; nil: its own name

	// Pictures are stretches of the paper as scanner or camera saw them, the start at
	// the left and the bass above, as PNG; nil bytes where there is none. Nil: the
	// scan has no pictures.
	Pictures func(windows []Window) ([][]byte, error)
}

// Window is a stretch of the scan, between two places across from the bass edge, in
// millimetres.
type Window struct{ FromMM, ToMM, AcrossFromMM, AcrossToMM float64 }

// The window of a place: so much paper before and after it, at most so long, and
// so many ports on either side.
const (
	besideMM   = 14
	longestMM  = 150
	sidePorts  = 4
	outsideMM  = 2.5 // of the outermost port to the edge of the drawing
	labelMM    = 17  // left of the paper, for the names of ports
	headMM     = 4   // above the paper, for what it is
	scaleMM    = 5   // under the paper, for its scale
	betweenMM  = 1.5 // from plan to paper
	roundShare = 0.5
)

//go:embed places.html.tmpl
var pageText string

var page = template.Must(template.New("places").Parse(pageText))

// WriteHTML writes the page. Errors are the writer's, or those of Pictures.
func WriteHTML(w io.Writer, r *proof.Result, o Options) error {
	if o.Name == nil {
		o.Name = func(port int32) string { return r.Plan.Instrument.Bar.Ports[port].Name() }
	}
	p := content{Title: o.Title, Summary: r.Summary(), Remarks: r.Remarks()}
	d := newDrawer(r)
	var windows []window
	for i := range min(len(r.Differences), Most) {
		windows = append(windows, d.window(&r.Differences[i]))
	}
	pictures, err := d.pictures(windows, o)
	if err != nil {
		return err
	}
	for i := range r.Differences {
		diff := &r.Differences[i]
		one := place{Number: i + 1, Kind: diff.Kind.String(), Name: o.Name(diff.Port), Port: diff.Port + 1,
			Says: r.Says(diff)}
		if i < Most {
			one.Drawing = d.draw(diff, windows[i], pictures[i], o.Name)
		}
		p.Places = append(p.Places, one)
	}
	p.Undrawn = max(len(r.Differences)-Most, 0)
	return page.Execute(w, p)
}

// pictures are what was seen of the windows.
func (d *drawer) pictures(windows []window, o Options) ([][]byte, error) {
	if o.Pictures == nil || len(windows) == 0 {
		return make([][]byte, len(windows)), nil
	}
	var seen []Window
	for _, w := range windows {
		seen = append(seen, Window{d.r.Map.ToScan(w.from), d.r.Map.ToScan(w.to), w.top, w.bottom})
	}
	return o.Pictures(seen)
}

// content is what the page shows.
type content struct {
	Title, Summary string
	Remarks        []string
	Places         []place
	Undrawn        int
}

type place struct {
	Number     int
	Kind, Name string
	Port       int32
	Says       string
	Drawing    template.HTML
}

// window is what is seen of a place.
type window struct {
	from, to    float64 // along the plan
	first, last int     // ports
	top, bottom float64 // across: the drawing has the bass above
}

// drawer draws places.
type drawer struct {
	r     *proof.Result
	plan  []span // slots of the plan, in order
	found []span // slots of the scan, on the plan, in order
	long  float64
}

// span is a slot as it is drawn.
type span struct {
	lead, trail float64
	port, at    int32
}

func newDrawer(r *proof.Result) *drawer {
	d := &drawer{r: r}
	for i := range r.Plan.Slots {
		s := &r.Plan.Slots[i]
		d.plan = append(d.plan, span{s.LeadMM, s.TrailMM, s.Port, int32(i)})
		d.long = max(d.long, s.TrailMM-s.LeadMM)
	}
	for i := range r.Scan.Slots {
		s := &r.Scan.Slots[i]
		d.found = append(d.found, span{r.Map.ToPlan(s.LeadMM), r.Map.ToPlan(s.TrailMM), s.Port, int32(i)})
		d.long = max(d.long, s.TrailMM-s.LeadMM)
	}
	return d
}

// window is the stretch around a difference; of a long one its beginning.
func (d *drawer) window(diff *proof.Difference) window {
	low, high := diff.LeadMM, diff.TrailMM
	if len(diff.Plan) == 0 || len(diff.Found) > 0 && diff.FoundLeadMM < low {
		low = diff.FoundLeadMM
	}
	if len(diff.Plan) == 0 || len(diff.Found) > 0 && diff.FoundTrailMM > high {
		high = diff.FoundTrailMM
	}
	w := window{from: low - besideMM, to: high + besideMM}
	if w.to-w.from > longestMM {
		w.to = w.from + longestMM
		if diff.Kind == proof.Short || diff.Kind == proof.Long {
			if at := diff.TrailMM; math.Abs(diff.FoundTrailMM-at) > math.Abs(diff.FoundLeadMM-diff.LeadMM) {
				w.from, w.to = high+besideMM-longestMM, high+besideMM
			}
		}
	}
	ports := d.r.Plan.Instrument.Bar.Ports
	w.first, w.last = max(int(diff.Port)-sidePorts, 0), min(int(diff.Port)+sidePorts, len(ports)-1)
	w.top, w.bottom = ports[w.first].AcrossMM-outsideMM, ports[w.last].AcrossMM+outsideMM
	return w
}

// seen yields the slots of a list within a window.
func (d *drawer) seen(list []span, w window, yield func(span)) {
	first, _ := slices.BinarySearchFunc(list, w.from-d.long, func(s span,
		at float64) int {
		return cmp.Compare(s.lead, at)
	})
	for i := first; i < len(list) && list[i].lead < w.to; i++ {
		s := &list[i]
		if s.trail > w.from && int(s.port) >= w.first && int(s.port) <= w.last {
			yield(*s)
		}
	}
}

func printed(mm float64) string { return string(roll.AppendMM(nil, mm)) }
