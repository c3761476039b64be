package read

import (
	"fmt"
	"io"
	"path/filepath"
	"strings"

	"rollwright/paper/instrument"
)

// doubtBelow is the certainty below which a slot is listed.
const doubtBelow = 0.9

// mostDoubts is how many doubtful slots a summary lists.
const mostDoubts = 40

// Doubtful are the slots whose certainty is below 0.9, in order.
func (r *Reading) Doubtful() []Slot {
	var out []Slot
	for _, s := range r.Slots {
		if s.Certainty < doubtBelow {
			out = append(out, s)
		}
	}
	return out
}

// WriteSummary says what was seen and how surely, every decision with what it
// rests on. Only the writer fails.
func (r *Reading) WriteSummary(w io.Writer) error {
	var b strings.Builder
	for i, p := range r.Pictures {
		p.summary(&b)
		if i > 0 {
			fmt.Fprintf(&b, "  overlap     %.1f mm with the picture before\n", r.EndMM[i-1]-r.StartMM[i])
		}
	}
	r.roll(&b)
	r.doubts(&b)
	_, err := io.WriteString(w, b.String())
	return err
}

func (p *Picture) summary(b *strings.Builder) {
	sh := p.sheet
	face := "seen from the front"
	if sh.hand.back() {
		face = "seen from the back"
	}
	fmt.Fprintf(b, "%s: %s, %d by %d pixels\n", p.Name, p.Format, p.Width, p.Height)
	fmt.Fprintf(b, "  lies        with the start at the %s and the bass at the %s, %s\n", sh.first, sh.bass, face)
	fmt.Fprintf(b, "  paper       %s%s\n", [...]string{"", "one edge seen", "both edges seen"}[p.Edges], p.width())
	fmt.Fprintf(b, "  light       what lies behind is %s, by %.0f of 255\n", p.Light, p.Contrast)
	if p.Photograph {
		fmt.Fprintf(b, "  straight    a photograph: straightened by its edges and ports, skew %.2f degrees\n", p.SkewDegrees)
	} else {
		fmt.Fprintf(b, "  straight    askew by %.2f degrees, wandering by %.1f mm to either side\n", p.SkewDegrees,
			p.WanderMM)
	}
	fmt.Fprintf(b, "  scale       %.4f mm a pixel along the roll, %s\n", p.AlongMM, p.ScaleFrom)
	f := p.Fit
	fmt.Fprintf(b, "  holes       %d openings about %.2f mm wide, %d of them on ports of %s, %.2f mm off\n", f.Holes,
		f.DieMM, f.On, f.Instrument.Name, f.RMSMM)
	if text := p.aside(); text != "" {
		fmt.Fprintf(b, "  left aside  %s\n", text)
	}
}

func (p *Picture) width() string {
	if p.AcrossShare == 0 {
		return ""
	}
	width := p.Fit.Instrument.Paper.WidthMM
	return fmt.Sprintf(", %.2f mm wide by its scale across, %.2f %% of %.2f mm", width*p.AcrossShare, 100*p.AcrossShare,
		width)
}

func (p *Picture) aside() string {
	var parts []string
	for _, a := range []struct {
		n    int
		what string
	}{{p.Aside.Beside, "beside the ports"}, {p.Aside.Wide, "wider than a hole"}, {p.Aside.Ink, "not like the backing"},
		{p.Aside.Small, "too small"}, {p.Specks, "specks"}} {
		if a.n > 0 {
			parts = append(parts, fmt.Sprintf("%d %s", a.n, a.what))
		}
	}
	return strings.Join(parts, ", ")
}

func (r *Reading) roll(b *strings.Builder) {
	in := r.Instrument
	openings, ports, end := 0, map[int]bool{}, 0.0
	for _, s := range r.Slots {
		openings += s.Openings
		ports[s.Port] = true
		end = max(end, s.TrailMM)
	}
	first, last := r.Slots[0], r.Slots[len(r.Slots)-1]
	fmt.Fprintf(b, "slots         %d on %d ports of %s, %d openings; %d doubtful\n", len(r.Slots), len(ports), in.Name,
		openings, len(r.Doubtful()))
	fmt.Fprintf(b, "rows          %s\n", r.Rows)
	fmt.Fprintf(b, "first         %s at %.1f mm\n", PortName(in, first.Port), first.LeadMM)
	fmt.Fprintf(b, "last          %s at %.1f mm\n", PortName(in, last.Port), last.LeadMM)
	sec := in.Transport.Sec(end)
	fmt.Fprintf(b, "length        %.3f m from 0, %d:%04.1f at roll tempo %.4g\n", end/1000, int(sec)/60,
		sec-float64(int(sec)/60*60), in.Transport.LeverTempo())
}

// PortName is the number of a port and what it does: "port 42, E4".
func PortName(in *instrument.Instrument, port int) string {
	return fmt.Sprintf("port %d, %s", port+1, in.Bar.Ports[port].Name())
}

// doubts lists the doubtful slots.
func (r *Reading) doubts(b *strings.Builder) {
	list := r.Doubtful()
	for i, s := range list {
		if i == mostDoubts {
			fmt.Fprintf(b, "and %d more; the report shows them all\n", len(list)-i)
			break
		}
		where := ""
		if len(r.Pictures) > 1 {
			where = " of " + filepath.Base(r.Pictures[s.Picture].Name)
		}
		fmt.Fprintf(b, "doubtful      %s, %.1f to %.1f mm: %.0f %%, %s; at pixel %.0f,%.0f%s\n",
			PortName(r.Instrument, s.Port), s.LeadMM, s.TrailMM,
			100*s.Certainty, s.Reason, (s.Box.X0+s.Box.X1)/2, (s.Box.Y0+s.Box.Y1)/2, where)
	}
}

// Cut are sentences about slots that the ends of the first and last picture cut.
func (r *Reading) Cut() []string {
	var out []string
	for _, s := range r.Slots {
		end := ""
		switch {
		case s.CutHigh && s.Picture == len(r.Pictures)-1:
			end = "end"
		case s.CutLow && s.Picture == 0:
			end = "beginning"
		default:
			continue
		}
		out = append(out, fmt.Sprintf("%s, %.1f to %.1f mm: cut by the %s of the picture; written as far as it is seen",
			PortName(r.Instrument, s.Port), s.LeadMM, s.TrailMM, end))
	}
	return out
}
