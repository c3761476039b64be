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

	// Picture is the paper as the scanner or camera saw it, from one place of the
	// scan to another, bass above and the start at the left, as PNG; nil, or nil
	// bytes: there is none.
	Picture func(fromMM, toMM, acrossFromMM, acrossToMM float64) ([]byte, error)
}

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

// WriteHTML writes the page. Errors are the writer's, or those of Picture.
func WriteHTML(w io.Writer, r *proof.Result, o Options) error {
	if o.Name == nil {
		o.Name = func(port int32) string { return r.Plan.Instrument.Bar.Ports[port].Name() }
	}
	p := content{Title: o.Title, Summary: r.Summary(), Remarks: r.Remarks()}
	d := newDrawer(r)
	for i := range r.Differences {
		diff := &r.Differences[i]
		one := place{Number: i + 1, Kind: diff.Kind.String(), Name: o.Name(diff.Port), Port: diff.Port + 1, Says: r.Says(diff)}
		if i < Most {
			win := d.window(diff)
			one.Drawing = d.draw(diff, win, o.Name)
			if err := one.photograph(r, win, o.Picture); err != nil {
				return err
			}
		}
		p.Places = append(p.Places, one)
	}
	p.Undrawn = max(len(r.Differences)-Most, 0)
	return page.Execute(w, p)
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
	Photograph template.URL
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
	first, _ := slices.BinarySearchFunc(list, w.from-d.long, func(s span, at float64) int { return cmp.Compare(s.lead, at) })
	for i := first; i < len(list) && list[i].lead < w.to; i++ {
		s := &list[i]
		if s.trail > w.from && int(s.port) >= w.first && int(s.port) <= w.last {
			yield(*s)
		}
	}
}

func printed(mm float64) string { return string(roll.AppendMM(nil, mm)) }
