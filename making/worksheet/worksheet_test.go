package worksheet_test

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"rollwright/draw"
	"rollwright/draw/pdf"
	"rollwright/internal/judge"
	"rollwright/internal/rollcases"
	"rollwright/making/bench"
	"rollwright/making/worksheet"
	"rollwright/paper/roll"
)

// plan is the work on the first roll of a piece at a bench.
func plan(t testing.TB, piece, profile string, marks ...bench.Mark) *bench.Plan {
	t.Helper()
	b, err := bench.Load(profile, "")
	if err != nil {
		t.Fatal(err)
	}
	out, err := bench.New(rollcases.Rolls(t, piece)[0], b, marks...)
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// full is chords, pedal, accents, and silences of more than a metre: rows of
// every kind.
const full = `title = "Weft"
voice "low" {
  talea = "3 2 2 (40) 2 2 1"
  color = "C2+G2+C3+E3+G3+Bb3+D4 G2 C3+C4 Bb2 F2+F3 Eb2"
  pedal = "0-16 24-60"
  dynamics = "f mp"
}
voice "high" {
  talea = "1 1 (120) 5"
  color = "C6 D6+F6 A6"
  speed = "4/3"
}
`

// chords are rows of many strokes, which stay in one column.
const chords = `voice "a" {
  talea  = "4 3"
  color  = "C2+E2+G2+C3+E3+G3+C4+E4+G4 C5+D5+F5+A5+C6"
  hold   = "single"
  extent = "300 notes"
}
`

var marks = []bench.Mark{{AlongMM: -81.28, Name: "start mark"}, {AlongMM: 1000, Name: "cue 1"},
	{AlongMM: 9000, Name: "cue 2"}}

// readBack turns a worksheet into text by an independent reader of PDF, in the
// order of the page (-layout) or of drawing (-raw), or what lies in a part of each
// page.
func readBack(t *testing.T, p *bench.Plan, o worksheet.Options, how ...string) string {
	t.Helper()
	name := filepath.Join(t.TempDir(), "sheet.pdf")
	var b bytes.Buffer
	if err := pdf.Encode(&b, worksheet.Pages(p, o), nil); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(name, b.Bytes(), 0o644); err != nil {
		t.Fatal(err)
	}
	out := judge.Run(t, "pdftotext", append(how, name, "-")...)
	return string(out)
}

// expected are the words of every row as a person reads them from the page, line
// after line: rows, lines to draw, lengths to measure.
func expected(p *bench.Plan, sums bool) []string {
	c, lengths := p.Profile.Crank, p.Profile.Lengths
	var out []string
	stop := 0
	stops := func(dial int64) {
		for ; stop < len(p.Stops) && p.Stops[stop].Dial <= dial; stop++ {
			s := p.Stops[stop]
			out = append(out, fmt.Sprintf("draw a line across the margins at %s %s (%s): %s",
				map[bool]string{true: "click", false: "crank"}[c.Clicks()], c.Text(p.Reading(s.Dial)),
				lengths.With(p.RunningMM(s.Dial)), s.Name))
		}
	}
	for i, row := range p.Rows {
		stops(row.Dial)
		turns, parts := c.Split(p.Advance(i))
		arrow := "→"
		if row.Leftward {
			arrow = "←"
		}
		text := fmt.Sprintf("%d %s %s %s %s", i+1, c.Text(turns, parts), c.Text(p.Reading(row.Dial)),
			lengths.Text(p.RunningMM(row.Dial)), arrow)
		for _, s := range row.Strokes {
			text += fmt.Sprintf(" %d %s", p.Notch(s.Port), p.Roll.Instrument.Bar.Ports[s.Port].Name())
			if s.Of > 1 {
				text += fmt.Sprintf(" %d/%d", s.N, s.Of)
			}
		}
		if sums {
			text += fmt.Sprintf(" %d", row.Before+len(row.Strokes))
		}
		out = append(out, text)
		if row.Check {
			out = append(out, fmt.Sprintf("measure zero line to the holes of row %s: %s found", thousands(i+1),
				lengths.With(p.RunningMM(row.Dial))))
		}
	}
	stops(1 << 62)
	return out
}

func thousands(n int) string {
	if n < 1000 {
		return strconv.Itoa(n)
	}
	return fmt.Sprintf("%d,%03d", n/1000, n%1000)
}

// TestPagesReadBack draws worksheets, has another program read them, column after
// column, and compares the words with the rows.
func TestPagesReadBack(t *testing.T) {
	for _, c := range []struct {
		piece, profile, zero string
		columns              int
	}{
		{full, "crank-2mm", "mm from", 2}, {full, "crank-eighth", "in from", 2}, {full, "ratchet-45", "in from zero", 1},
		{chords, "crank-2mm", "mm from zero", 1}, {chords, "crank-eighth", "in from zero", 1},
	} {
		p := plan(t, c.piece, c.profile, marks...)
		o := worksheet.Options{Title: "Weft", Piano: "left", Spool: 2, Spools: 3}
		pages := strings.Split(strings.TrimSuffix(readBack(t, p, o, "-layout"), "\f"), "\f")
		for _, page := range pages[1 : len(pages)-1] {
			for _, want := range []string{"piano left, spool 2 of 3", "FRONT up", "BASS at your left", "START towards you",
				c.zero} {
				if !strings.Contains(page, want) {
					t.Fatalf("%s: a page does not say %q:\n%s", c.profile, want, page)
				}
			}
			if two := strings.Contains(page, "↓"); two != (c.columns == 2) {
				t.Fatalf("%s: %q in two columns: %v", c.profile, page[:200], two)
			}
		}
		got := inOrder(t, p, o, c.columns, len(pages))
		want := strings.Fields(strings.Join(expected(p, c.columns == 1), " "))
		for i := range want {
			if i >= len(got) || got[i] != want[i] {
				t.Fatalf("%s: word %d of %d: got %q, want %q", c.profile, i, len(want), got[i:min(i+20, len(got))],
					want[i:min(i+20, len(want))])
			}
		}
		if len(got) != len(want) {
			t.Errorf("%s: %d words more than the rows have: %q", c.profile, len(got)-len(want), got[len(want):])
		}
	}
}

// inOrder are the words of all rows, as the columns of A4 pages have them from left
// to right. 72 dots are an inch.
func inOrder(t *testing.T, p *bench.Plan, o worksheet.Options, columns, pages int) []string {
	t.Helper()
	const dots = 72 / 25.4
	top, width := 33.0, 210.0
	if columns == 2 {
		top, width = 36.4, 105.0 // the rule in the middle of the page
	}
	parts := make([][]string, columns)
	for i := range parts {
		text := readBack(t, p, o, "-layout", "-f", "2", "-l", strconv.Itoa(pages-1),
			"-x", strconv.Itoa(int(float64(i)*width*dots)), "-W", strconv.Itoa(int(width*dots)),
			"-y", strconv.Itoa(int(top*dots)), "-H", strconv.Itoa(int((275.6-top)*dots)))
		parts[i] = strings.Split(strings.TrimSuffix(text, "\f"), "\f")
	}
	var words []string
	for page := range parts[0] {
		for _, part := range parts {
			words = append(words, strings.Fields(strings.ReplaceAll(part[page], "_", ""))...)
		}
	}
	return words
}

// Two columns say which comes first and what each holds, and a rule parts them.
func TestTwoColumns(t *testing.T) {
	p := plan(t, full, "crank-2mm", marks...)
	pages := worksheet.Pages(p, worksheet.Options{})
	next := 1
	for _, d := range pages[1 : len(pages)-1] {
		var heads []string
		rule := false
		for _, m := range d.Layers[0].Marks {
			switch m := m.(type) {
			case *draw.Text:
				if strings.HasSuffix(m.Text, "↓") {
					heads = append(heads, m.Text)
				}
			case *draw.Path:
				b, _ := m.Bounds()
				rule = rule || b.W() < 1 && b.H() > 200 && b.Min.X > 104 && b.Max.X < 106
			}
		}
		for i, head := range heads {
			var from, to int
			which := ""
			if len(heads) == 2 {
				which = []string{"first ", "then "}[i]
			}
			if _, err := fmt.Sscanf(head, which+"rows %d to %d ↓", &from, &to); err != nil || from != next {
				t.Errorf("%q, want rows from %d: %v", head, next, err)
			}
			next = to + 1
		}
		if rule != (len(heads) == 2) {
			t.Errorf("heads %q, a rule between: %v", heads, rule)
		}
	}
	if next != len(p.Rows)+1 {
		t.Errorf("the last row is %d of %d", next-1, len(p.Rows))
	}
}

// No two words of the rows run into each other, whatever bench and paper.
func TestRowsKeepApart(t *testing.T) {
	for _, piece := range []string{full, chords} {
		for _, profile := range []string{"crank-2mm", "crank-eighth", "ratchet-45"} {
			for n, d := range worksheet.Pages(plan(t, piece, profile, marks...),
				worksheet.Options{Letter: profile == "crank-eighth"}) {
				var texts []draw.Rect
				var words []string
				for _, l := range d.Layers {
					for _, m := range l.Marks {
						if text, ok := m.(*draw.Text); ok && l.ID == "rows" && text.Text != "" {
							texts, words = append(texts, text.Bounds()), append(words, text.Text)
						}
					}
				}
				for i, a := range texts {
					for j, b := range texts[:i] {
						if a.Min.X < b.Max.X && b.Min.X < a.Max.X && a.Min.Y < b.Max.Y && b.Min.Y < a.Max.Y {
							t.Fatalf("%s, page %d: %q runs into %q", profile, n+1, words[j], words[i])
						}
					}
				}
			}
		}
	}
}

// The strokes of a long pedal stand on one line each, under a name cut short that
// the first page explains; where all have room the name is whole.
func TestPedalsHaveRoom(t *testing.T) {
	const pedal = "voice \"a\" {\n  talea = \"2\"\n  color = \"C4 D4 E4\"\n  extent = \"%d notes\"\n  pedal = \"0-%d\"\n}\n"
	for _, c := range []struct {
		notes int
		name  string
	}{{4, "sustain"}, {600, "sust."}} {
		p := plan(t, fmt.Sprintf(pedal, c.notes, min(2*c.notes, 80)), "crank-2mm")
		pages := worksheet.Pages(p, worksheet.Options{})
		named := 0
		for _, d := range pages[1 : len(pages)-1] {
			for _, l := range d.Layers {
				for _, m := range l.Marks {
					text, ok := m.(*draw.Text)
					if !ok || l.ID != "rows" {
						continue
					}
					if name, chain, two := strings.Cut(text.Text, "  "); two && strings.HasPrefix(name, "sust") {
						named++
						if name != c.name || chain == "" {
							t.Fatalf("%d notes: %q, want %s", c.notes, text.Text, c.name)
						}
					} else if strings.HasPrefix(text.Text, "sust") {
						t.Fatalf("%d notes: %q has its chain on another line", c.notes, text.Text)
					}
				}
			}
		}
		guide := strings.Join(strings.Fields(strings.Split(readBack(t, p, worksheet.Options{}, "-raw"), "\f")[0]), " ")
		if named == 0 || strings.Contains(guide, "“sust.” is sustain.") != (c.name == "sust.") {
			t.Errorf("%d notes: %d strokes of the pedal; the first page says:\n%s", c.notes, named, guide)
		}
	}
}

// The first page says what must not be mistaken, and what it will take: 801
// punches at 400 an hour are 2.0 hours, two sittings of two hours.
func TestGuide(t *testing.T) {
	p := plan(t, "voice \"a\" {\n  talea = \"4\"\n  color = \"C4\"\n  hold = \"single\"\n  extent = \"801 notes\"\n}\n",
		"crank-2mm")
	page := strings.Join(strings.Fields(strings.Split(readBack(t, p, worksheet.Options{}, "-raw"), "\f")[0]), " ")
	for _, want := range []string{
		"Untitled", "BASS", "TREBLE", "FRONT of the paper is up", "turn back a full turn beyond it and come forward again",
		"“2 + 06” is two turns and 6 parts of the dial", "1200.00 mm from the beginning of the paper", "eye protection",
		"punches 801", "rows 801", "hours 2.0", "sittings of 2 h 2", "leader 1.20 m", "assumed, until your own is known",
	} {
		if !strings.Contains(page, want) {
			t.Errorf("the first page does not say %q:\n%s", want, page)
		}
	}
}

// Every page of rows, and the first, names the punch, the paper and the tempo that the
// roll was laid out for, and how the paper lies, however long the piano's name is. 285.75 mm
// are 11 1/4 in.
func TestPagesNamePunchPaperAndTempo(t *testing.T) {
	for profile, width := range map[string]string{"crank-2mm": "285.75 mm", "crank-eighth": "11 1/4 in"} {
		p := plan(t, full, profile)
		in := p.Roll.Instrument
		want := fmt.Sprintf("die %.4g mm · paper %s · roll tempo %v", in.Die.DiameterMM, width, in.Transport.RollTempo)
		o := worksheet.Options{Piano: strings.Repeat("left ", 30), Spool: 2, Spools: 13}
		pages := strings.Split(strings.TrimSuffix(readBack(t, p, o, "-raw"), "\f"), "\f")
		for i, page := range pages[:len(pages)-1] {
			if !strings.Contains(page, want) {
				t.Errorf("%s, page %d does not say %q:\n%s", profile, i+1, want, page)
			}
			if i > 0 && !strings.Contains(page, "BASS at your") {
				t.Errorf("%s, page %d: the name has cut off how the paper lies:\n%s", profile, i+1, page)
			}
		}
	}
}

// Every row is on one page, and nothing lies outside the paper or in the foot.
func TestPagesKeepTheirMargins(t *testing.T) {
	for _, letter := range []bool{false, true} {
		p := plan(t, full, "crank-2mm", marks...)
		for n, d := range worksheet.Pages(p, worksheet.Options{Title: strings.Repeat("Long ", 60), Letter: letter}) {
			if err := d.Check(); err != nil {
				t.Fatal(err)
			}
			for _, l := range d.Layers {
				for _, m := range l.Marks {
					text, ok := m.(*draw.Text)
					if !ok {
						continue
					}
					if b := text.Bounds(); b.Min.X < 9 || b.Max.X > d.Frame.W()-9 || b.Min.Y < 8 || b.Max.Y > d.Frame.H()-8 {
						t.Errorf("page %d: %q lies at %v", n+1, text.Text, b)
					}
					if l.ID == "rows" && text.At.Y > d.Frame.H()-20 {
						t.Errorf("page %d: %q runs into the foot", n+1, text.Text)
					}
				}
			}
		}
	}
}

// TestCSVReadsBack compares the table with the plan.
func TestCSVReadsBack(t *testing.T) {
	p := plan(t, full, "crank-eighth", marks...)
	var b bytes.Buffer
	c := worksheet.NewCSV(&b)
	c.Add(p, "left", 2)
	if err := c.Close(); err != nil {
		t.Fatal(err)
	}
	records, err := csv.NewReader(&b).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	column := map[string]int{}
	for i, name := range records[0] {
		column[name] = i
	}
	row, total, crank, lines := 0, 0, p.Start, 0
	for _, r := range records[1:] {
		at := func(name string) string { return r[column[name]] }
		number := func(name string) int64 {
			n, err := strconv.ParseInt(at(name), 10, 64)
			if err != nil {
				t.Fatalf("row %d: %s is %q", row+1, name, at(name))
			}
			return n
		}
		reading := p.Start + number("crank_turns")*int64(p.Profile.Crank.Parts) + number("crank_parts")
		if at("line") != "" {
			lines++
			continue
		}
		plan := p.Rows[row]
		crank += number("turns")*int64(p.Profile.Crank.Parts) + number("parts")
		if crank != plan.Dial || reading != plan.Dial || number("row") != int64(row+1) || at("piano") != "left" ||
			at("spool") != "2" {
			t.Fatalf("row %d: the crank is at %d, reads %d, want %d", row+1, crank, reading, plan.Dial)
		}
		if mm, _ := strconv.ParseFloat(at("along_mm"), 64); roll.Printed(mm) != roll.Printed(p.AlongMM(plan.Dial)) {
			t.Fatalf("row %d: along %s, want %g", row+1, at("along_mm"), p.AlongMM(plan.Dial))
		}
		var ports, chains []string
		for _, s := range plan.Strokes {
			ports = append(ports, strconv.Itoa(int(s.Port)+1))
			chains = append(chains, fmt.Sprintf("%d/%d", s.N, s.Of))
		}
		total += len(plan.Strokes)
		if at("ports") != strings.Join(ports, " ") || at("chains") != strings.Join(chains, " ") ||
			number("strokes") != int64(len(ports)) || number("total") != int64(total) {
			t.Fatalf("row %d: %v", row+1, r)
		}
		if (at("measure") != "") != plan.Check || (at("order") == "left") != plan.Leftward {
			t.Fatalf("row %d: %v", row+1, r)
		}
		row++
	}
	if row != len(p.Rows) || lines != len(marks)+1 /* the row of time 0 */ || total != p.Punches {
		t.Errorf("%d rows, %d lines, %d punches; want %d, %d, %d", row, lines, total, len(p.Rows), len(marks), p.Punches)
	}
}

type full1 struct{ left int }

func (f *full1) Write(p []byte) (int, error) {
	if f.left -= len(p); f.left < 0 {
		return 0, io.ErrShortWrite
	}
	return len(p), nil
}

func TestCSVTellsOfAFullDisk(t *testing.T) {
	c := worksheet.NewCSV(&full1{1000})
	c.Add(plan(t, full, "crank-2mm"), "", 0)
	if err := c.Close(); err == nil {
		t.Error("a table that could not be written was called done")
	}
}

// No two words at the head of a page overlap, nor do they come nearer than a
// blank: whatever bench, units, title.
func TestHeadsKeepApart(t *testing.T) {
	const blank = 1.5 // mm: a space of the smallest text is 0.75
	for _, profile := range []string{"crank-2mm", "crank-eighth", "ratchet-45"} {
		p := plan(t, full, profile, marks...)
		for _, o := range []worksheet.Options{{Title: "Kiln"}, {Title: strings.Repeat("Long ", 60),
			Piano: strings.Repeat("left ", 30), Spool: 2, Spools: 13, Letter: true}} {
			for n, d := range worksheet.Pages(p, o) {
				var heads []*draw.Text
				for _, l := range d.Layers {
					for _, m := range l.Marks {
						if text, ok := m.(*draw.Text); ok && text.TurnDeg == 0 && (l.ID == "head" || l.ID == "slips") {
							heads = append(heads, text)
						}
					}
				}
				for i, a := range heads {
					for _, b := range heads[:i] {
						x, y := a.Bounds(), b.Bounds()
						if x.Min.X-blank < y.Max.X && y.Min.X-blank < x.Max.X && x.Min.Y < y.Max.Y && y.Min.Y < x.Max.Y {
							t.Errorf("%s, page %d: %q runs into %q", profile, n+1, b.Text, a.Text)
						}
					}
				}
			}
		}
	}
}

// The ratchet speaks of clicks and of no screw; where a start mark lies before
// the row of time 0, both worksheet and labels tell its place from that row.
func TestWordsOfTheGuide(t *testing.T) {
	page := func(profile string, marks ...bench.Mark) string {
		return strings.Join(strings.Fields(strings.Split(readBack(t, plan(t, full, profile, marks...), worksheet.Options{},
			"-raw"), "\f")[0]), " ")
	}
	ratchet := page("ratchet-45")
	for _, not := range []string{"crank", "screw", "dial", "turn"} {
		if strings.Contains(strings.Replace(ratchet, "16 turns, 1.8 in across", "", 1), " "+not) { // of the spool
			t.Errorf("a ratchet has no %s:\n%s", not, ratchet)
		}
	}
	for _, want := range []string{"how many clicks to go on: “37” is 37 clicks", "let the paper back 5 clicks beyond it",
		"It is the row of time 0, from which labels and cues count, too."} {
		if !strings.Contains(ratchet, want) {
			t.Errorf("no %q in\n%s", want, ratchet)
		}
	}
	// 81.28 mm are 40.64 turns of 2 mm: the zero line lies 41 turns before.
	started := page("crank-2mm", marks[0])
	for _, want := range []string{"lies 82.00 mm farther on and has a line of its own",
		"The start mark is 81.28 mm before the row of time 0."} {
		if !strings.Contains(started, want) {
			t.Errorf("no %q in\n%s", want, started)
		}
	}
}

// An empty roll has its pages too.
func TestNothingToPunch(t *testing.T) {
	p := plan(t, "voice \"a\" {\n  talea = \"4\"\n  color = \"C0\"\n  extent = \"1 notes\"\n}\n", "crank-2mm")
	text := readBack(t, p, worksheet.Options{}, "-layout")
	if !strings.Contains(text, "nothing to punch") || !strings.Contains(text, "page 1 of 1") {
		t.Errorf("got\n%s", text)
	}
}

const dense = `voice "a" {
  talea  = "3 2 2 1"
  color  = "C2+G2+C3 D3+A3+F4 E4+B4+G5"
  extent = "5350 notes"
}
voice "b" {
  talea  = "2 2 1"
  color  = "C5+E5+A5 D5+F5+C6"
  speed  = "sqrt(2)"
  extent = "5350 notes"
}
`

// 200,000 punches from the roll to the bytes of the PDF.
func BenchmarkPDF(b *testing.B) {
	p := plan(b, dense, "crank-2mm")
	for b.Loop() {
		again, err := bench.New(p.Roll, p.Profile)
		if err != nil {
			b.Fatal(err)
		}
		if err := pdf.Encode(io.Discard, worksheet.Pages(again, worksheet.Options{Title: "Dense"}), nil); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(p.Punches), "punches")
}

// The same as CSV.
func BenchmarkCSV(b *testing.B) {
	p := plan(b, dense, "crank-2mm")
	for b.Loop() {
		again, err := bench.New(p.Roll, p.Profile)
		if err != nil {
			b.Fatal(err)
		}
		c := worksheet.NewCSV(io.Discard)
		c.Add(again, "", 0)
		if err := c.Close(); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(p.Punches), "punches")
}

// Half a turn is rounded on the page as on the command line: 12.5 turns are 13, where rounding
// to even would say 12.
func TestGuideRoundsTurnsAsTheCommandDoes(t *testing.T) {
	p := plan(t, "voice \"a\" {\n  talea = \"4\"\n  color = \"C4\"\n  hold = \"single\"\n  extent = \"8 notes\"\n}\n",
		"crank-2mm")
	parts := int64(p.Profile.Crank.Parts)
	p.Rows[len(p.Rows)-1].Dial = p.Start + 12*parts + parts/2
	if got, want := p.Profile.Crank.Work(p.Estimate(bench.Pace{}).Turns), "13 turns of the crank"; got != want {
		t.Errorf("the command says %q, not %q", got, want)
	}
	page := strings.Join(strings.Fields(strings.Split(readBack(t, p, worksheet.Options{}, "-raw"), "\f")[0]), " ")
	if want := "turns of the crank 13 "; !strings.Contains(page, want) {
		t.Errorf("the first page does not say %q:\n%s", want, page)
	}
}
