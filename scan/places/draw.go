package places

import (
	"encoding/base64"
	"fmt"
	"html"
	"html/template"
	"slices"
	"strings"

	"rollwright/scan/proof"
)

// draw is the plan above and the paper below, as it was read and, with a picture,
// as it was seen, at one scale, in millimetres.
func (d *drawer) draw(diff *proof.Difference, w window, png []byte, name func(int32) string) template.HTML {
	high := w.bottom - w.top
	width := labelMM + w.to - w.from
	second := headMM + high + betweenMM + headMM
	third := second + high + betweenMM + headMM
	total := second + high + scaleMM
	if len(png) > 0 {
		total = third + high + scaleMM
	}
	var b strings.Builder
	fmt.Fprintf(&b, `<svg viewBox="0 0 %.2f %.2f" preserveAspectRatio="xMinYMin meet" role="img" aria-label="%s">`, width,
		total, html.EscapeString("plan above, paper below: "+d.r.Says(diff)))
	d.strip(&b, w, headMM, "planned", d.plan, diff.Plan, name)
	d.strip(&b, w, second, "found", d.found, diff.Found, name)
	if len(png) > 0 {
		photograph(&b, w, third, png)
	}
	d.scale(&b, w, total)
	b.WriteString("</svg>")
	return template.HTML(b.String())
}

// strip is one of the two papers, with the slots of the difference marked.
func (d *drawer) strip(b *strings.Builder, w window, y float64, what string, list []span, marked []int32,
	name func(int32) string) {
	in := d.r.Plan.Instrument
	fmt.Fprintf(b, `<rect class="paper" x="%d" y="%.2f" width="%.2f" height="%.2f"/>`, labelMM, y, w.to-w.from,
		w.bottom-w.top)
	for port := w.first; port <= w.last; port++ {
		at := y + in.Bar.Ports[port].AcrossMM - w.top
		fmt.Fprintf(b, `<line class="port" x1="%d" y1="%.2f" x2="%.2f" y2="%.2f"/>`, labelMM, at, labelMM+w.to-w.from, at)
		fmt.Fprintf(b, `<text class="name" x="%.1f" y="%.2f">%s</text>`, labelMM-1.5, at+0.9,
			html.EscapeString(name(int32(port))))
	}
	die := in.Die.DiameterMM
	d.seen(list, w, func(s span) {
		class := "hole"
		if slices.Contains(marked, s.at) {
			class = "hole here"
		}
		from, to := max(s.lead, w.from), min(s.trail, w.to)
		fmt.Fprintf(b, `<rect class="%s" x="%.2f" y="%.2f" width="%.2f" height="%.2f" rx="%.2f"><title>%s to %s mm</title></rect>`,
			class, labelMM+from-w.from, y+in.Bar.Ports[s.port].AcrossMM-w.top-die/2, to-from, die, min(die, to-from)*roundShare,
			printed(s.lead), printed(s.trail))
	})
	fmt.Fprintf(b, `<text class="what" x="%d" y="%.2f">%s</text>`, labelMM, y-1, what)
}

// scale is a line with every tenth millimetre.
func (d *drawer) scale(b *strings.Builder, w window, bottom float64) {
	y := bottom - scaleMM + 2
	first := float64(int(w.from/10)) * 10
	for mm := first; mm <= w.to; mm += 10 {
		if mm < w.from {
			continue
		}
		x := labelMM + mm - w.from
		fmt.Fprintf(b, `<line class="tick" x1="%.2f" y1="%.2f" x2="%.2f" y2="%.2f"/>`, x, y-2, x, y-1.1)
		if int(mm)%20 == 0 {
			fmt.Fprintf(b, `<text class="mm" x="%.2f" y="%.2f">%.0f</text>`, x, y+1.6, mm)
		}
	}
}

// photograph is what was seen, at the same scale.
func photograph(b *strings.Builder, w window, y float64, png []byte) {
	fmt.Fprintf(b, `<image x="%d" y="%.2f" width="%.2f" height="%.2f" preserveAspectRatio="none" href="data:image/png;base64,%s"/>`,
		labelMM, y, w.to-w.from, w.bottom-w.top, base64.StdEncoding.EncodeToString(png))
	fmt.Fprintf(b, `<text class="what" x="%d" y="%.2f">seen</text>`, labelMM, y-1)
}
