package bed

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"rollwright/draw"
	"rollwright/internal/rollcases"
	"rollwright/making/machine"
)

// path writes what a tool is told.
type path struct{ words []string }

func (p *path) Travel(x, y float64) { p.add("travel", x, y) }
func (p *path) On()                 { p.words = append(p.words, "on") }
func (p *path) Mark()               { p.words = append(p.words, "mark") }
func (p *path) Off()                { p.words = append(p.words, "off") }
func (p *path) Line(x, y float64)   { p.add("line", x, y) }

func (p *path) Arc(x, y, _, _ float64) { p.add("arc", x, y) }

func (p *path) add(what string, x, y float64) {
	p.words = append(p.words, fmt.Sprintf("%s %.3f %.3f", what, x, y))
}

// marking is a laser whose programs mark.
func marking(m *machine.Profile) { m.Head.Mark = []string{"M3 S40"} }

// TestMarks, by hand: on the 88-note roll, 285.75 mm wide, the outermost ports lie
// 11.641 mm from the edges, so a mark runs from 0.5 mm to 11.641 - 0.8636 - 1 mm;
// the paper's lower edge lies at Y 40. The paper of the first bed begins a whole
// millimetre before the mark at -70 mm, 10 mm from the end of the bed.
func TestMarks(t *testing.T) {
	r := rollcases.Lay(t, nil, rollcases.Note{60, 0, 0}, rollcases.Note{62, 20, 20})
	first := r.Instrument.Bar.Ports[0].AcrossMM
	last := r.Instrument.Bar.Ports[len(r.Instrument.Bar.Ports)-1].AcrossMM
	o := Options{Marks: []Mark{{400, "cue 1"}, {-70, "start mark"}, {1200, "late"}}}
	p := plan(t, r, rollcases.Machine(t, "laser", marking), o)
	got := &path{}
	p.Run(&p.Beds[0], got)
	low, high := 40+0.5, 40+first-0.8636-1
	low2, high2 := 40+last+0.8636+1, 40+285.75-0.5
	words := strings.Join(got.words, "|")
	if !strings.HasPrefix(words, "travel") || !sameMarks(words, 10, []float64{low, high, low2, high2}) {
		t.Errorf("%.200s\nwant marks at %v", words, []float64{low, high, low2, high2})
	}
	if n := strings.Count(words, "mark"); n != 4 { // two margins each
		t.Errorf("%d marks on the first bed, want 4", n)
	}
	if names := namesOf(p); names != "start mark, cue 1 |  | late" {
		t.Errorf("beds have %q", names)
	}
	notes := strings.Join(p.Notes(&p.Beds[0], ""), "\n")
	if want := "Marks across both margins, power M3 S40: start mark at X 10.00 mm, cue 1 at X 480.00 mm."; !strings.Contains(notes, want) {
		t.Errorf("no %q in\n%s", want, notes)
	}

	byHand := plan(t, r, rollcases.Machine(t, "punch-table", nil), o)
	notes = strings.Join(byHand.Notes(&byHand.Beds[0], ""), "\n")
	if want := "Draw across both margins by hand: start mark at X -"; !strings.Contains(notes, want) ||
		!strings.Contains(notes, " [beyond the bed]") {
		t.Errorf("no %q in\n%s", want, notes)
	}
	if len(byHand.Beds) != len(plan(t, r, byHand.Profile, Options{}).Beds) {
		t.Error("a bed more for marks that the machine does not make")
	}
}

// sameMarks holds the first four places of a path against the ends of two bands,
// which may come in any order.
func sameMarks(words string, x float64, ys []float64) bool {
	n := 0
	for _, w := range strings.Split(words, "|") {
		var what string
		var at, y float64
		if k, _ := fmt.Sscanf(w, "%s %f %f", &what, &at, &y); k != 3 || n == 4 {
			continue
		}
		near := false
		for _, want := range ys {
			near = near || math.Abs(40+285.75+40-y-want) < 0.001 // the bass lies at the top
		}
		if math.Abs(at-x) > 0.001 || !near {
			return false
		}
		n++
	}
	return n == 4
}

func namesOf(p *Plan) string {
	var beds []string
	for i := range p.Beds {
		var names []string
		for _, m := range p.Beds[i].Marks {
			names = append(names, m.Name)
		}
		beds = append(beds, strings.Join(names, ", "))
	}
	return strings.Join(beds, " | ")
}

// TestMarksDrawn: in a drawing marks have a layer, a hue and a width of their own,
// nothing of them is filled, and each lies where the program has it; a punch's
// drawing has none.
func TestMarksDrawn(t *testing.T) {
	r := rollcases.Lay(t, nil, rollcases.Note{60, 0, 0}, rollcases.Note{62, 20, 20})
	o := Options{Marks: []Mark{{-70, "start mark"}}}
	for _, alongY := range []bool{false, true} {
		p := plan(t, r, rollcases.Machine(t, "laser", func(m *machine.Profile) {
			m.AlongY = alongY
			m.Lines.Mark = machine.Line{Hue: draw.Hex(0x00ffff), WidthMM: 0.05}
		}), o)
		d := p.Drawing(&p.Beds[0], "Test")
		marks := d.Layers[0]
		if marks.ID != MarksLayer || marks.Hue != draw.Hex(0x00ffff) || len(marks.Marks) != 2 {
			t.Fatalf("the first layer is %+v", marks)
		}
		for _, m := range marks.Marks {
			line := m.(*draw.Path)
			if line.Fill.A != 0 || fmt.Sprint(line.Stroke) != fmt.Sprint(draw.Stroke{Ink: draw.Hex(0x00ffff), WidthMM: 0.05}) {
				t.Errorf("%q is filled or looks like something else: %+v", line.Title, line.Stroke)
			}
			for _, s := range line.Steps {
				for _, q := range s.P[:1] {
					along := q.X
					if alongY {
						along = d.UpMM - q.Y
					}
					if s.Op != draw.Close && (along < 10-1e-9 || along > 40) {
						t.Errorf("%q lies at %v along the bed", line.Title, along)
					}
				}
			}
		}
		if !strings.Contains(d.Subject, "lines in #00ffff are marks") {
			t.Errorf("not said: %s", d.Subject)
		}
	}
	p := plan(t, r, rollcases.Machine(t, "punch-table", nil), o)
	if d := p.Drawing(&p.Beds[0], "Test"); d.Layers[0].ID == MarksLayer ||
		!strings.Contains(d.Subject, "by hand: start mark") {
		t.Error("a punch marks paper")
	}
}

// TestLooks: every kind of line has the profile's hue and width.
func TestLooks(t *testing.T) {
	r := rollcases.Lay(t, nil, rollcases.Note{60, 0, 4}, rollcases.Note{62, 20, 20})
	p := plan(t, r, rollcases.Machine(t, "laser", func(m *machine.Profile) {
		m.Lines.Cut = machine.Line{Hue: draw.Hex(0x00ff00), WidthMM: 0.02}
		m.Lines.Register = machine.Line{Hue: draw.Black, WidthMM: 0.3}
	}), Options{})
	seen := map[string]draw.Stroke{}
	for _, l := range p.Drawing(&p.Beds[0], "Test").Layers {
		for _, m := range l.Marks {
			switch m := m.(type) {
			case *draw.Slots:
				seen[l.ID+"/"+m.ID] = m.EdgeStroke()
			case *draw.Path:
				seen[l.ID+"/"+m.ID] = m.Stroke
			}
		}
	}
	green, black := draw.Stroke{Ink: draw.Hex(0x00ff00), WidthMM: 0.02}, draw.Stroke{Ink: draw.Black, WidthMM: 0.3}
	want := map[string]draw.Stroke{"holes/cut": green, "holes/path": green, "register/pins": black}
	for name, look := range seen {
		if w, ok := want[name]; !ok || fmt.Sprint(w) != fmt.Sprint(look) {
			t.Errorf("%s: %+v, want %+v", name, look, w)
		}
	}
	if len(seen) < 2 {
		t.Errorf("seen %v", seen)
	}
}
