package labels_test

import (
	"bytes"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"rollwright/draw"
	"rollwright/draw/pdf"
	"rollwright/internal/judge"
	"rollwright/internal/rollcases"
	"rollwright/making/bench"
	"rollwright/making/labels"
	"rollwright/paper/instrument"
	"rollwright/paper/roll"
	"rollwright/paper/spools"
)

// set is the labels of a piece on spools of so much music.
func set(t testing.TB, text string, longestMM float64, stretch instrument.Stretch) *labels.Set {
	t.Helper()
	f, instruments := rollcases.Performed(t, text)
	for i, in := range instruments {
		instruments[i] = in.Stretched(stretch)
	}
	cuts, err := spools.Cuts(f, instruments, spools.Options{LongestMM: longestMM})
	if err != nil {
		t.Fatal(err)
	}
	all, err := spools.Split(f, instruments, cuts)
	if err != nil {
		t.Fatal(err)
	}
	return &labels.Set{Title: f.Piece.Title, Composer: f.Piece.Composer, Spools: all, Stretch: stretch,
		Rests: spools.Rests(f.Events(), labels.LeastRestSec)}
}

// Two pianos at tempo 85; pairs of notes of a second with two seconds of
// silence, ten times: 38 s to the end of the last note.
const two = `title = "Weft and Warp"
composer = "Hollinbeck Mill"
tempo = 60
unit = "1/4"
piano "left" {
  roll_tempo = 85
}
piano "right" {
  roll_tempo = 85
}
voice "a" {
  talea = "1 1 (2)"
  color = "C4 D4"
  extent = "20 notes"
  piano = "left"
}
voice "b" {
  like  = "a"
  piano = "right"
}
`

// pages are the words of each page, read by another program.
func pages(t *testing.T, s *labels.Set) []string {
	t.Helper()
	var b bytes.Buffer
	if err := pdf.Encode(&b, s.Pages(), nil); err != nil {
		t.Fatal(err)
	}
	name := filepath.Join(t.TempDir(), "labels.pdf")
	if err := os.WriteFile(name, b.Bytes(), 0o644); err != nil {
		t.Fatal(err)
	}
	out := judge.Run(t, "pdftotext", "-raw", name, "-")
	list := strings.Split(strings.TrimSuffix(string(out), "\f"), "\f")
	for i := range list {
		list[i] = strings.Join(strings.Fields(list[i]), " ")
	}
	return list
}

func says(t *testing.T, page string, wants ...string) {
	t.Helper()
	for _, want := range wants {
		if !strings.Contains(page, want) {
			t.Errorf("no %q in\n%s", want, page)
		}
	}
}

// At tempo 85 (43.18 mm/s) 1000 mm are 23.16 s: the first spool ends half a
// second before the note at 20, at 19.5; from there the piece has 18.5 s left.
// The last note of the first spool ends at 18 s: 777.24 mm.
func TestLabels(t *testing.T) {
	got := pages(t, set(t, two, 1000, instrument.Stretch{}))
	if len(got) != 7 { // 2 pianos and a page of cues for each of 2 spools, and one about paper
		t.Fatalf("%d pages", len(got))
	}
	says(t, got[0], "Weft and Warp", "Hollinbeck Mill", "piano left · spool 1 of 2", "TEMPO 85", "lasts 0:18.0",
		"0.78 m (2 ft 7 in) of music", "88-note roll, constant speed", "0:00.0 to 0:19.5", "leader with tab 1.20 m",
		"trailer 0.50 m")
	says(t, got[1], "piano right · spool 1 of 2")
	// 19.5 s at one in a hundred are 0.195 s, written as 0.20.
	says(t, got[2], "spool 1 of 2", "If their speeds differ by 1 %, they are 0.20 s apart after 0:19.5",
		"after 3 s already the ear hears two attacks (30 ms)", "0:02.0 to 0:04.0 (drift by then 0.02 s)",
		"86.36 mm before the row of time 0")
	says(t, got[4], "piano right · spool 2 of 2", "0:19.5 to 0:38.0")
	says(t, got[6], "lie open for a day or two in the room where the roll will play",
		"0.4 % across moves the outermost hole 0.5 mm.", "same size at the bench and at the instrument", "100 mm")
}

// Paper that is 0.25 % wider at the bench: the sustaining port, 131.2333 mm from
// the centre, would be 0.33 mm beside its opening, which is worth a warning;
// at 0.2 %, 0.26 mm, it is not. The tempo on the label is the instrument's.
func TestStretchedPaper(t *testing.T) {
	got := pages(t, set(t, two, 0, instrument.Stretch{Along: 1.004, Across: 1.0025}))
	says(t, got[0], "TEMPO 85", "one spool")
	says(t, got[len(got)-1], "1.0025 times as wide and 1.004 times as long", "about its centre",
		"0.33 mm beside their ports: more than 0.3 mm. Rather condition the paper")
	got = pages(t, set(t, two, 0, instrument.Stretch{Across: 1.002}))
	last := got[len(got)-1]
	says(t, last, "0.26 mm beside their ports.")
	if strings.Contains(last, "Rather condition") {
		t.Error("a warning below 0.3 mm")
	}
}

// One piano has no page about playing together.
func TestOnePiano(t *testing.T) {
	one := two[:strings.Index(two, "piano \"left\"")] + "voice \"a\" {\n  talea = \"1\"\n  color = \"C4\"\n  extent = \"20 notes\"\n}\n"
	if got := pages(t, set(t, one, 0, instrument.Stretch{})); len(got) != 2 {
		t.Errorf("%d pages, want labels and paper", len(got))
	}
}

// However many cues and however long the title, nothing leaves its page.
func TestPagesKeepTheirMargins(t *testing.T) {
	for _, letter := range []bool{false, true} {
		s := set(t, two, 700, instrument.Stretch{})
		s.Title, s.Letter = strings.Repeat("Warp ", 50), letter
		for _, spool := range s.Spools {
			s.Cues = append(s.Cues, spools.Pair{CueMM: 5}.Cues([]*roll.Roll{spool.Roll, spool.Roll}))
		}
		cues := 0
		for n, d := range s.Pages() {
			if err := d.Check(); err != nil {
				t.Fatal(err)
			}
			for _, l := range d.Layers {
				for _, m := range l.Marks {
					text, ok := m.(*draw.Text)
					if !ok {
						continue
					}
					if strings.HasPrefix(text.Text, "cue ") && text.Text != "cue" {
						cues++
					}
					if b := text.Bounds(); b.Min.X < 9 || b.Max.X > d.Frame.W()-9 || b.Min.Y < 8 || b.Max.Y > d.Frame.H()-8 {
						t.Errorf("page %d: %q lies at %v", n+1, text.Text, b)
					}
				}
			}
		}
		want := 0
		for i := 1; i < len(s.Cues); i += 2 { // one page of cues for both pianos
			want += len(s.Cues[i]) - 1
		}
		if cues != want {
			t.Errorf("%d cues are drawn, want %d", cues, want)
		}
	}
}

// A long title and a long name of a piano stand whole on every label, in lines
// that do not touch each other, and nothing leaves its label. Of what is too
// long for any label the beginning stays, and the number of the spool.
func TestLongWordsOnLabels(t *testing.T) {
	for _, tt := range []struct {
		title, composer, piano string
		whole                  bool
	}{
		{"Weft", "Hollinbeck Mill", "left", true},
		{"Weft", "", "", true},
		{"The Exceedingly Long and Curious Story of the Mill by the Weir and of Its Two Rolls, Which Never End at the Same Time", "Hollinbeck Mill", "the older instrument at the left of the hall", true},
		{"Exceedinglylongandcurious", "", strings.Repeat("left", 15), false},
		{strings.Repeat("Warp and Weft ", 60), strings.Repeat("Hollinbeck ", 30), strings.Repeat("left ", 60), false},
	} {
		s := set(t, two, 1000, instrument.Stretch{})
		s.Title, s.Composer = strings.TrimSpace(tt.title), tt.composer
		s.Spools[0].Roll.Name = strings.TrimSpace(tt.piano)
		page := s.Pages()[0]
		var boxes []draw.Rect
		var texts []*draw.Text
		for _, m := range page.Layers[0].Marks {
			switch m := m.(type) {
			case *draw.Path:
				if len(m.Stroke.DashMM) > 0 {
					box, _ := m.Bounds()
					boxes = append(boxes, box)
				}
			case *draw.Text:
				texts = append(texts, m)
			}
		}
		if len(boxes) != 3 {
			t.Fatalf("%d labels, want 3", len(boxes))
		}
		for _, box := range boxes {
			var on []*draw.Text
			var words []string
			for _, text := range texts {
				if b := text.Bounds(); b.Min.Y > box.Min.Y && b.Max.Y < box.Max.Y && text.At.X < box.Max.X {
					if b.Min.X < box.Min.X+2 || b.Max.X > box.Max.X-2 {
						t.Errorf("%q leaves its label", text.Text)
					}
					for _, o := range on {
						if c := o.Bounds(); b.Min.X < c.Max.X && c.Min.X < b.Max.X && text.At.Y-0.55*text.SizeMM < o.At.Y &&
							o.At.Y-0.55*o.SizeMM < text.At.Y {
							t.Errorf("%q lies on %q", text.Text, o.Text)
						}
					}
					on, words = append(on, text), append(words, text.Text)
				}
			}
			all := strings.Join(words, " ")
			if tt.whole && (!strings.Contains(all, s.Title) || !strings.Contains(all, tt.piano)) ||
				!strings.Contains(all, "spool 1 of 2") || !strings.Contains(all, s.Title[:4]) {
				t.Errorf("%q, %q: a label says %q", tt.title, tt.piano, all)
			}
		}
	}
}

// The right piano ends a unit before the left one, and its roll is as long all
// the same: 38 s at tempo 85 are 1640.84 mm, 64.6 in; with 1200 mm of leader and
// 500 of trailer 3340.84, 131.53 in. Two seconds are 86.36 mm, 3.4 in; the zero line of a crank
// of an eighth of an inch lies 28 turns before, 3.5 in. Cues count from the row of
// time 0 with the minus sign of print.
func TestLabelsAtABenchInInches(t *testing.T) {
	s := set(t, strings.Replace(two, "  like  = \"a\"", "  like  = \"a\"\n  extent = \"19 notes\"", 1), 0,
		instrument.Stretch{})
	s.Lengths, s.ZeroMM = bench.InchesDecimal, []float64{88.9, 88.9}
	rolls := []*roll.Roll{s.Spools[0].Roll, s.Spools[1].Roll}
	cues := spools.Pair{CueMM: 500}.Cues(rolls)
	s.Cues = [][]spools.Cue{cues, cues}
	got := pages(t, s)
	for _, page := range got[:2] {
		says(t, page, "lasts 0:38.0", "5 ft 5 in (1.64 m) of music", "leader with tab 3 ft 11 in", "paper in all 11 ft 0 in",
			"in across")
	}
	says(t, got[2], "3.400 in before the row of time 0", "Worksheets count from a zero line 3.500 in before the row of time 0.", "start mark \u22120:02.0 \u22123.400 \u22123.400", "right, in")
	if strings.Contains(got[2], " -3") || strings.Contains(got[2], " -0") {
		t.Error("a hyphen stands for minus")
	}
}

func Example() {
	s := labels.Set{Title: "Weft"}
	in, err := instrument.Load("88-note", "")
	if err != nil {
		panic(err)
	}
	s.Spools = []*spools.Spool{{Roll: &roll.Roll{Instrument: in, EndSec: 60}, Number: 1, Of: 1, ToSec: 60}}
	for _, page := range s.Pages() {
		fmt.Println(page.Subject)
	}
	// Output:
	// Labels for roll and box
	// Leader, tab, paper
}

// What sounds across the end of a spool is said below the lengths, whose lines are
// 5 mm apart, with 1.5 mm more between. A note of 30 s on paper of 1000 mm, 23 s,
// has to be cut.
func TestNotesAcrossTheEnd(t *testing.T) {
	const held = "tempo = 60\nunit = \"1/4\"\nvoice \"a\" {\n  talea = \"30\"\n  color = \"C4\"\n  extent = \"1 note\"\n}\n" +
		"voice \"b\" {\n  talea = \"1 1 1 1\"\n  color = \"G4\"\n  extent = \"30 notes\"\n}\n"
	var slots, said *draw.Text
	for _, page := range set(t, held, 1000, instrument.Stretch{}).Pages() {
		for _, l := range page.Layers {
			for _, m := range l.Marks {
				switch text, ok := m.(*draw.Text); {
				case ok && text.Text == "slots" && slots == nil:
					slots = text
				case ok && said == nil && strings.HasPrefix(text.Text, "One note sounds across the end"):
					said = text
				}
			}
		}
	}
	if slots == nil || said == nil {
		t.Fatal("nothing is said of the note")
	}
	if said.At.X != slots.At.X || math.Abs(said.At.Y-slots.At.Y-6.5) > 1e-9 {
		t.Errorf("it is said at %v, the last length at %v", said.At, slots.At)
	}
}

// words are all texts of sheets.
func words(pages []*draw.Drawing) string {
	var all []string
	for _, p := range pages {
		for _, l := range p.Layers {
			for _, m := range l.Marks {
				if text, ok := m.(*draw.Text); ok {
					all = append(all, text.Text)
				}
			}
		}
	}
	return strings.Join(all, " ")
}

// TestCopies: every copy has its labels and its number; the date is the one that was
// given, and where none was there is room for it.
func TestCopies(t *testing.T) {
	s := set(t, two, 0, instrument.Stretch{})
	one := words(s.Pages())
	if strings.Contains(one, "copy") || !strings.Contains(one, "punched ____________ at ____ % humidity") {
		t.Errorf("of one copy: %s", one)
	}
	pages := len(s.Pages())
	s.Copies, s.Date = 3, "2026-11-30"
	all := words(s.Pages())
	for _, want := range []string{"copy 1 of 3", "copy 2 of 3", "copy 3 of 3"} {
		if n := strings.Count(all, want); n != 6 { // three labels on the sheet of each of two pianos
			t.Errorf("%q stands there %d times, want 6", want, n)
		}
	}
	if n := strings.Count(all, "punched 2026-11-30 at"); n != 2*2*3 || strings.Contains(all, "punched _") {
		t.Errorf("the date stands there %d times", n)
	}
	if got := len(s.Pages()); got != pages+2*2 {
		t.Errorf("%d sheets, want %d and two more for each of two copies more", got, pages)
	}
}

// TestCrankedLabels, by hand: a strip at roll tempo 31.5 moves 31.5 * 0.508 =
// 16.002 mm a second, a metre in 62.5 s; it has no lever, no motor, no tab, and is 70 mm
// wide, so lines to watch it by are 50 mm apart.
func TestCrankedLabels(t *testing.T) {
	s := set(t, `title = "Strip"
instrument = "20-note-strip"
voice "a" {
  talea = "1"
  color = "C5"
  extent = "8 notes"
  hold = "single"
}
`, 0, instrument.Stretch{})
	all := words(s.Pages())
	for _, want := range []string{"A METRE IN", "62 s", "a metre in 62 s", "50 mm"} {
		if !strings.Contains(all, want) {
			t.Errorf("no %q", want)
		}
	}
	for _, no := range []string{"TEMPO", "uction", "Tab", "tab;", "1 turns"} {
		if strings.Contains(all, no) {
			t.Errorf("%q of a strip that is turned by hand", no)
		}
	}
}
