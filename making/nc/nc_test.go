package nc_test

import (
	"bytes"
	"io"
	"math"
	"regexp"
	"slices"
	"strings"
	"testing"

	"rollwright/internal/rollcases"
	"rollwright/making/bed"
	"rollwright/making/machine"
	"rollwright/making/nc"
	"rollwright/music/event"
	"rollwright/music/piece"
	"rollwright/paper/instrument"
	"rollwright/paper/lay"
	"rollwright/paper/roll"
)

// someRoll is a roll with single punches, bridged chains, a slot long enough to
// run over the end of a bed, and, for chains without bridges, for tabs.
func someRoll(t testing.TB, change func(*instrument.Instrument)) *roll.Roll {
	t.Helper()
	notes := []rollcases.Note{{21, 0, 0}, {108, 0.4, 0.4}} // A0 first, then C8: the hand
	for i := range 150 {
		at := 1 + float64(i)*0.23
		notes = append(notes,
			rollcases.Note{float64(30 + i*37%70), at, at + 0.05 + float64(i%5)*0.3},
			rollcases.Note{float64(25 + i*11%80), at + 0.1, at + 0.1})
	}
	return rollcases.Lay(t, change, append(notes, rollcases.Note{60, 34, 80})...)
}

func plan(t testing.TB, r *roll.Roll, m *machine.Profile, o bed.Options) *bed.Plan {
	t.Helper()
	p, err := bed.New(r, m, o)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func program(t testing.TB, p *bed.Plan, b *bed.Bed) string {
	t.Helper()
	var out bytes.Buffer
	if err := nc.Encode(&out, p, b, nc.Options{Title: "Test (ü)"}); err != nil {
		t.Fatal(err)
	}
	return out.String()
}

// cut is what a bed's program cuts, by the interpreter: the holes by which the
// paper is laid first.
func cut(t testing.TB, p *bed.Plan, b *bed.Bed) (*interpreter, []stroke, []stroke) {
	t.Helper()
	in, err := interpret(program(t, p, b))
	if err != nil {
		t.Fatalf("bed %d: %v", b.Number, err)
	}
	for i := range in.strokes {
		if p.Profile.AlongY { // back from the machine's axes: a quarter turn clockwise
			for k, q := range in.strokes[i].points {
				in.strokes[i].points[k] = spot{q.y, p.Profile.Bed.AcrossMM - q.x}
			}
		}
	}
	n := 0
	if b.Number < len(p.Beds) {
		n = 2
	}
	return in, in.strokes[:n], in.strokes[n:]
}

// tolerance is the last place of a program: a ten-thousandth of a millimetre,
// or a hundred-thousandth of an inch, and half of it is rounding.
func tolerance(m *machine.Profile) float64 {
	if m.Inches {
		return 0.00015
	}
	return 0.00006
}

// TestSlotOverTwoBeds: an opening longer than the overlap is cut in pieces that
// reach into each other by one round end.
func TestSlotOverTwoBeds(t *testing.T) {
	r := someRoll(t, func(in *instrument.Instrument) { in.Chain.Bridged = false })
	for _, name := range []string{"laser", "punch-table"} {
		m := rollcases.Machine(t, name, func(m *machine.Profile) { m.Tabs = machine.Tabs{} })
		p := plan(t, r, m, bed.Options{})
		var long []spot // from and to
		for _, s := range assemble(t, p, func(s *stroke) spot { x0, _, x1, _ := s.bounds(); return spot{x0, x1 - x0} }) {
			if s.y > 200 {
				long = append(long, s)
			}
		}
		if name == "punch-table" {
			if got := punchTable(t, r); len(got) != len(assemble(t, p, func(s *stroke) spot { return s.points[0] })) {
				t.Error("a punch is lost between two beds")
			}
			continue
		}
		if len(long) < 3 {
			t.Fatalf("%d long pieces", len(long))
		}
		for i := 1; i < len(long); i++ {
			into := long[i-1].x + long[i-1].y - long[i].x
			if math.Abs(into-2*p.RadiusMM) > 0.0003 {
				t.Errorf("piece %d reaches %v mm into the one before, want %v", i, into, 2*p.RadiusMM)
			}
		}
	}
}

// TestTabs: with tabs the long opening's sides are left off for the tab's width,
// kerf taken into account, in equal numbers on both sides.
func TestTabs(t *testing.T) {
	r := someRoll(t, func(in *instrument.Instrument) { in.Chain.Bridged = false })
	m := rollcases.Machine(t, "laser", nil)
	whole := rollcases.Machine(t, "laser", func(m *machine.Profile) { m.Tabs = machine.Tabs{} })
	with, without := plan(t, r, m, bed.Options{}), plan(t, r, whole, bed.Options{})
	a, _ := with.Total()
	b, _ := without.Total()
	tabs := a.Strokes - b.Strokes
	if tabs <= 0 || tabs%2 != 0 {
		t.Fatalf("%d tabs", tabs)
	}
	if got, want := b.CutMM-a.CutMM, float64(tabs)*(m.Tabs.WidthMM+m.Head.KerfMM); math.Abs(got-want) > 1e-6 {
		t.Errorf("the tabs leave %v mm uncut, want %v", got, want)
	}
}

// TestMeasures: travel and cut by the interpreter are those that the plan says.
func TestMeasures(t *testing.T) {
	r := someRoll(t, nil)
	for _, name := range programmed() {
		p := plan(t, r, rollcases.Machine(t, name, nil), bed.Options{})
		for i := range p.Beds {
			in, _, _ := cut(t, p, &p.Beds[i])
			b := &p.Beds[i]
			if math.Abs(in.travelMM-b.Path.TravelMM) > 0.05 || math.Abs(in.cutMM-b.Path.CutMM) > 0.05 ||
				len(in.strokes) != b.Path.Strokes {
				t.Errorf("%s bed %d: travel %.2f cut %.2f strokes %d, want %.2f %.2f %d", name, b.Number,
					in.travelMM, in.cutMM, len(in.strokes), b.Path.TravelMM, b.Path.CutMM, b.Path.Strokes)
			}
		}
	}
}

// TestHead: what stands at the head of a program.
func TestHead(t *testing.T) {
	r := someRoll(t, nil)
	p := plan(t, r, rollcases.Machine(t, "laser", nil), bed.Options{Copies: 3})
	text := whole(program(t, p, &p.Beds[1]))
	for _, want := range []string{"unattended", "extinguisher", "fume extraction", "manual", "local codes",
		"Test [ue]: bed 2 of", "Copies: 3", "G21",
		"Settings to check: power M3 S300, feed 900.00 mm/min, kerf 0.15 mm: assumed, measure yours.", "One pass cuts "} {
		if !strings.Contains(text, want) {
			t.Errorf("the head does not say %q", want)
		}
	}
	p = plan(t, r, rollcases.Machine(t, "punch-table", nil), bed.Options{})
	for _, want := range []string{"eye protection", "pinch", "mains"} {
		if !strings.Contains(whole(program(t, p, &p.Beds[0])), want) {
			t.Errorf("the head does not say %q", want)
		}
	}
}

// whole is a program with comments of several lines on one.
func whole(program string) string { return strings.ReplaceAll(program, ")\n(  ", " ") }

// TestCommentLines: a comment is at most 80 characters long, brackets included,
// and loses none of its words, not even one that is longer than a line.
func TestCommentLines(t *testing.T) {
	r := someRoll(t, nil)
	p := plan(t, r, rollcases.Machine(t, "laser", nil), bed.Options{})
	for _, title := range []string{"", "A Title of Many Words, as Long as Titles Were when Books Said on Their First Page What Was in Them", strings.Repeat("W", 300)} {
		var out bytes.Buffer
		if err := nc.Encode(&out, p, &p.Beds[0], nc.Options{Title: title}); err != nil {
			t.Fatal(err)
		}
		for line := range strings.Lines(out.String()) {
			if line = strings.TrimSuffix(line, "\n"); strings.HasPrefix(line, "(") && len(line) > 80 {
				t.Errorf("%d characters: %s", len(line), line)
			}
		}
		if got := strings.ReplaceAll(whole(out.String()), " ", ""); !strings.Contains(got, "("+
			strings.ReplaceAll(title, " ", "")) {
			t.Errorf("the title %q is cut", title)
		}
	}
}

// inComments is whatever a program may hold between the brackets of a comment.
var inComments = regexp.MustCompile(`^[A-Za-z0-9 .,\-+=/\[\]:&]*$`)

// comments are what stands between the brackets of a program that is otherwise
// made of words, or the line that is neither.
func comments(t testing.TB, program string) []string {
	t.Helper()
	var list []string
	for line := range strings.Lines(program) {
		line = strings.TrimSuffix(line, "\n")
		if text, ok := strings.CutPrefix(line, "("); ok {
			text, closed := strings.CutSuffix(text, ")")
			if !closed || !inComments.MatchString(text) {
				t.Errorf("a control may take %q for more than a comment", line)
			}
			list = append(list, text)
		} else if line != "%" && strings.Trim(line, "ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789.- ") != "" {
			t.Errorf("%q is no line of words", line)
		}
	}
	return list
}

// TestCommentCharacters, by hand: no character that controls take out of the
// stream is left of a title, and letters with accents are read all the same.
func TestCommentCharacters(t *testing.T) {
	p := plan(t, someRoll(t, nil), rollcases.Machine(t, "laser", nil), bed.Options{})
	for title, want := range map[string]string{
		"Stop! 100% ~now (v2; ok)":          "Stop. 100 now [v2: ok]: bed",
		"Mühle, Ärger & Größe":              "Muehle, Aerger & Groesse: bed",
		"Čas, łąka, s\u2019il vous plaît":   "Cas, laka, sil vous plait: bed",
		"u\u0308ber | \u2013 #1 $x ^ < > @": "uber / - 1 x: bed",
		"\u7d19 \U0001f3b9 \x00\r\n\t\"":    "x: bed",
	} {
		var out bytes.Buffer
		if err := nc.Encode(&out, p, &p.Beds[0], nc.Options{Title: title}); err != nil {
			t.Fatal(err)
		}
		if got := comments(t, out.String()); !strings.HasPrefix(got[0], want) {
			t.Errorf("%q is written %q, want %q", title, got[0], want)
		}
	}
}

// FuzzComment: whatever a piece or a machine is called, its program has no
// character in a comment that is not known to be harmless.
func FuzzComment(f *testing.F) {
	for _, title := range []string{"", "Stop! 100% ~now (v2; ok)", "Mühle", "a)\nM3", "\xff\x18?"} {
		f.Add(title, title)
	}
	r := someRoll(f, nil)
	f.Fuzz(func(t *testing.T, title, name string) {
		p := plan(t, r, rollcases.Machine(t, "laser", func(m *machine.Profile) { m.Name, m.Title = name, name }),
			bed.Options{})
		var out bytes.Buffer
		if err := nc.Encode(&out, p, &p.Beds[0], nc.Options{Title: title}); err != nil {
			t.Fatal(err)
		}
		comments(t, out.String())
	})
}

// BenchmarkEncode plans and writes 200,000 punches: as slots of nine, and as
// single notes, each a stroke of its own to find a way to.
func BenchmarkEncode(b *testing.B) {
	in, err := instrument.Load("88-note", "")
	if err != nil {
		b.Fatal(err)
	}
	p := &piece.Piece{Pianos: []piece.Piano{{}}, Voices: []piece.Voice{{Name: "a"}}}
	for _, notes := range []struct {
		name             string
		count            int
		everySec, forSec float64
	}{{"slots", 23_000, 0.012, 0.3}, {"single", 200_000, 0.003, 0}} {
		events := func(yield func(event.Event) bool) {
			for i := range notes.count {
				at := float64(i) * notes.everySec
				if !yield(event.Event{StartSec: at, EndSec: at + notes.forSec, Note: int32(i + 1), Part: 1,
					Key: int16(21 + i*37%88), Level: 80, Single: notes.forSec == 0}) {
					return
				}
			}
		}
		rolls, err := lay.Out(p, events, []*instrument.Instrument{in}, lay.Options{})
		if err != nil {
			b.Fatal(err)
		}
		for _, name := range programmed() {
			m := rollcases.Machine(b, name, nil)
			b.Run(notes.name+"/"+name, func(b *testing.B) {
				strokes := 0
				for b.Loop() {
					p := plan(b, rolls[0], m, bed.Options{})
					for i := range p.Beds {
						if err := nc.Encode(io.Discard, p, &p.Beds[i], nc.Options{}); err != nil {
							b.Fatal(err)
						}
					}
					path, _ := p.Total()
					strokes = path.Strokes
				}
				b.ReportMetric(float64(strokes), "strokes")
			})
		}
	}
}

// programmed are the built-in machines that read programs: all but knives.
func programmed() []string {
	return slices.DeleteFunc(machine.Names(), func(name string) bool { return name == "knife" })
}

// TestKnife: a knife is refused.
func TestKnife(t *testing.T) {
	p := plan(t, someRoll(t, nil), rollcases.Machine(t, "knife", nil), bed.Options{})
	if err := nc.Encode(io.Discard, p, &p.Beds[0], nc.Options{}); err == nil {
		t.Error("a knife has a program")
	}
}
