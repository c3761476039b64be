package strip

import (
	"fmt"
	"strings"

	"rollwright/draw"
	"rollwright/draw/typeface"
	"rollwright/text/say"
)

// Sizes of the form on paper, in millimetres.
const (
	formEdgeMM  = 14
	formTextMM  = 3.4
	formLeadMM  = 4.9
	formBoxMM   = 5
	formTicksMM = 40 // the columns of yes and no, at the right
)

// Sheets are the questions of one strip as pages to print and to tick beside the
// instrument: the same, with the same names, as Form writes. letter says whether they
// are Letter, else A4.
func (s *Strip) Sheets(title string, letter bool) []*draw.Drawing {
	f := &form{title: typeface.Clean(title), w: 210, h: 297} // A4, ISO 216
	if letter {
		f.w, f.h = 215.9, 279.4 // 8 1/2 x 11 in, ANSI/ASME Y14.1
	}
	f.page()
	for _, text := range []string{
		"Play the strip, listen, and tick. Then write \"yes\" or \"no\" behind played in the form of answers, a file that ends in " + Extension + " and has the same numbers, and let the piece be checked with it.",
		cannotShow([]*Strip{s}),
	} {
		f.paragraph(f.w-2*formEdgeMM, text)
	}
	for i := range s.Windows {
		f.window(s, &s.Windows[i])
	}
	for _, k := range s.NoRoom {
		f.paragraph(f.w-2*formEdgeMM, fmt.Sprintf("Not on the strip for want of room: %s.", k))
	}
	return f.pages
}

// form is pages in the making.
type form struct {
	title string
	w, h  float64
	pages []*draw.Drawing
	l     *draw.Layer
	y     float64
}

func (f *form) page() {
	d := &draw.Drawing{Frame: draw.Box(0, 0, f.w, f.h), Title: f.title, Subject: "Form for a trial strip"}
	f.pages = append(f.pages, d)
	f.l = d.Layer("form", "Form")
	f.y = formEdgeMM + 5
	number := fmt.Sprintf("form, page %d", len(f.pages))
	f.l.Add(draw.Serif(formEdgeMM, f.y, 6, typeface.Serif.Fit("Trial strip: "+f.title, 6, f.w-2*formEdgeMM-34), draw.Start),
		draw.Bold(f.w-formEdgeMM, f.y, formTextMM, number, draw.End))
	f.y += 3
	f.l.Add((&draw.Path{Stroke: draw.Main(draw.InkDark)}).Line(formEdgeMM, f.y, f.w-formEdgeMM, f.y))
	f.y += 8
}

// room begins a new page where so much would not fit.
func (f *form) room(mm float64) {
	if f.y+mm > f.h-formEdgeMM {
		f.page()
	}
}

func (f *form) paragraph(width float64, text string) {
	lines := typeface.Serif.Wrap(text, formTextMM, width)
	f.room(float64(len(lines)) * formLeadMM)
	for _, line := range lines {
		f.l.Add(draw.Serif(formEdgeMM, f.y, formTextMM, line, draw.Start))
		f.y += formLeadMM
	}
	f.y += 2
}

// window is a letter with its questions.
func (f *form) window(s *Strip, w *Window) {
	head := placed(s, w)
	lines := typeface.Serif.Wrap(head, formTextMM, f.w-2*formEdgeMM-12)
	f.room(float64(len(lines)+4)*formLeadMM + 2*formBoxMM)
	f.y += 2
	f.l.Add(draw.Bold(formEdgeMM, f.y+1.5, 8, w.Letter, draw.Start))
	for _, line := range lines {
		f.l.Add(draw.Second(draw.Serif(formEdgeMM+12, f.y, formTextMM, line, draw.Start)))
		f.y += formLeadMM
	}
	f.y += 1.5
	for i := range w.Doubts {
		f.doubt(&w.Doubts[i])
	}
}

// doubt is a question with its boxes and a line to write on.
func (f *form) doubt(d *Doubt) {
	const indent = 12
	lines := typeface.Serif.Wrap(asks(d), formTextMM, f.w-2*formEdgeMM-indent-formTicksMM-4)
	f.room(float64(len(lines))*formLeadMM + 9)
	f.l.Add(draw.Bold(formEdgeMM, f.y, formTextMM, d.Name, draw.Start))
	x := f.w - formEdgeMM - formTicksMM
	for _, answer := range []string{"yes", "no"} {
		f.l.Add((&draw.Path{Stroke: draw.Main(draw.InkDark)}).Rect(draw.Box(x, f.y-formBoxMM+1, x+formBoxMM, f.y+1)),
			draw.Label(x+formBoxMM+1.6, f.y, formTextMM, answer, draw.Start))
		x += formTicksMM / 2
	}
	for _, line := range lines {
		f.l.Add(draw.Serif(formEdgeMM+indent, f.y, formTextMM, line, draw.Start))
		f.y += formLeadMM
	}
	f.y += 4
	f.l.Add((&draw.Path{Stroke: draw.Hair(draw.InkFaint)}).Line(formEdgeMM+indent, f.y, f.w-formEdgeMM, f.y))
	f.y += 5
}

// placed says where a window lies on roll and strip, and how fast paper runs at both.
func placed(s *Strip, w *Window) string {
	t := &s.Roll.Instrument.Transport
	from, to := t.Sec(w.FromMM), t.Sec(w.ToMM)
	here, there := t.SpeedAt(t.Sec(w.FromMM+w.MovedMM)), t.SpeedAt(from)
	name := ""
	if s.Roll.Name != "" {
		name = "piano " + s.Roll.Name + ", "
	}
	return fmt.Sprintf("%sthe roll from %s to %s, on the strip from %s; paper runs at %.1f mm/s here, at %.1f mm/s there",
		name, say.Clock(max(from, 0), 1), say.Clock(to, 1), say.Paper(w.FromMM+w.MovedMM), here, there)
}

// asks is a doubt as a question.
func asks(d *Doubt) string {
	count := ""
	if d.Strokes > 0 {
		count = say.Count(d.Strokes, "stroke") + " of this port: "
	}
	return fmt.Sprintf("%s%s. Played as written?", count, d.Message())
}

// cannotShow says what no strip can answer, with the cautions of its instruments.
func cannotShow(strips []*Strip) string {
	return strings.TrimSpace("What the strip can't show: it plays near the beginning of its spool, so a place from late in the roll runs at another speed than it will there, as each doubt says; how the paper ages, tires and tears over the whole roll; how the wind holds out over minutes. " + cautions(strips))
}
