package piecefile

import (
	"fmt"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"rollwright/exact"
	"rollwright/music/piece"
	"rollwright/music/pitch"
	"rollwright/text/source"
)

func file(text string) *source.File { return &source.File{Name: "x.piece", Text: []byte(text)} }

func read(t testing.TB, text string) *piece.Piece {
	t.Helper()
	p, err := Parse(file(text))
	if err != nil {
		t.Fatalf("%v", err)
	}
	return p
}

// voice is the first voice of a piece whose only voice has the given lines.
func voice(t testing.TB, lines string) *piece.Voice {
	t.Helper()
	return &read(t, "voice \"v\" {\n"+lines+"\n}\n").Voices[0]
}

func durations(ds []piece.Duration) string {
	parts := make([]string, len(ds))
	for i, d := range ds {
		parts[i] = d.Units.String()
		if d.Silent {
			parts[i] = "(" + parts[i] + ")"
		}
	}
	return strings.Join(parts, " ")
}

func pitches(ps []piece.Pitch) string {
	parts := make([]string, len(ps))
	for i, p := range ps {
		names := make([]string, len(p.Keys))
		for j, key := range p.Keys {
			names[j] = pitch.Name(key)
		}
		parts[i] = strings.Join(names, "+")
		if p.Level > 0 {
			parts[i] += fmt.Sprintf("!%d", p.Level)
		}
	}
	return strings.Join(parts, " ")
}

func TestTalea(t *testing.T) {
	for _, c := range []struct{ text, want string }{
		{`"3 2 2 (1) 2 2 1"`, "3 2 2 (1) 2 2 1"},
		{`"3 1/2 0.75 ( 1/3 ) (0.1)"`, "3 1/2 3/4 (1/3) (1/10)"},
		{`3`, "3"},
		{`3/4`, "3/4"},
		{`0.1`, "1/10"}, // exactly: nothing passes through binary floating point
		{`"4 times 3"`, "3 3 3 3"},
		{`"2 times [3 1 (2)] 3 times 1/2"`, "3 1 (2) 3 1 (2) 1/2 1/2 1/2"},
		{`"2 times[2 times [1 (2)]3]"`, "1 (2) 1 (2) 3 1 (2) 1 (2) 3"},
		{`"2 times 3 times 1"`, "1 1 1 1 1 1"},
		{`["3 2", 1, "(4)", 2/3]`, "3 2 1 (4) 2/3"},
		{"<<END\n  3 2 |\n  1 | (1)\nEND", "3 2 1 (1)"},
		{`even("5 of 8")`, "2 1 2 1 2"},
		{`rotate("3 2 1 (4)", 2)`, "1 (4) 3 2"},
		{`rotate("3 2 1", -1)`, "1 3 2"},
		{`backward("3 2 (1)")`, "(1) 2 3"},
		{`join("3 2", even("3 of 8"), 1)`, "3 2 3 3 2 1"},
		{`join(backward(rotate("1 2 3", 1)), [4])`, "1 3 2 4"},
	} {
		v := voice(t, "color = \"C4\"\ntalea = "+c.text)
		if got := durations(v.Talea); got != c.want {
			t.Errorf("talea = %s reads as %s; want %s", c.text, got, c.want)
		}
	}
}

// The strings are those of G. Toussaint, The Euclidean Algorithm Generates
// Traditional Musical Rhythms, Bridges 2005 (from memory).
func TestEven(t *testing.T) {
	for _, c := range []struct {
		strokes, units int
		want           string
	}{
		{3, 8, "x..x..x."}, {5, 8, "x.xx.xx."}, {2, 5, "x.x.."}, {3, 7, "x.x.x.."}, {4, 9, "x.x.x.x.."},
		{5, 12, "x..x.x..x.x."}, {7, 12, "x.xx.x.xx.x."}, {7, 16, "x..x.x.x..x.x.x."}, {1, 4, "x..."}, {4, 4, "xxxx"},
	} {
		got := ""
		for _, gap := range spread(c.strokes, c.units) {
			got += "x" + strings.Repeat(".", gap-1)
		}
		if got != c.want {
			t.Errorf("even(%d of %d) is %s, want %s", c.strokes, c.units, got, c.want)
		}
	}
}

func TestColor(t *testing.T) {
	for _, c := range []struct{ text, want string }{
		{`"C2 G2 C3 Bb2 F2+F3 Eb2"`, "C2 G2 C3 A#2 F2+F3 D#2"},
		{`"E3+C2+G2+C2"`, "C2+G2+E3"}, // sorted, a key written twice counts once
		{`"B#3 Cb4+F##4 Ebb5"`, "C4 B3+G4 D5"},
		{`"2 times [C4 D4] E4"`, "C4 D4 C4 D4 E4"},
		{`["C4 D4", "E4"]`, "C4 D4 E4"},
		{`"C4!ff D4+E4!5"`, "C4!112 D4+E4!5"},
		{`transpose("C4 D4+E4", -2)`, "A#3 C4+D4"},
		{`invert("C4 E4+G4", "C4")`, "C4 F3+G#3"}, // E4 is 64: 2*60-64 = 56, G#3; G4 is 67: 53, F3
		{`rotate(["C4", "D4", "E4"], 4)`, "D4 E4 C4"},
		{`join(riff, transpose(riff, 5))`, "C2 E2 G2 F2 A2 C3"},
		{`again`, "G2 E2 C2"},
	} {
		p := read(t, "let {\n  riff = \"C2 E2 G2\"\n  again = backward(riff)\n}\nvoice \"v\" {\n  talea = 1\n  color = "+
			c.text+"\n}\n")
		if got := pitches(p.Voices[0].Color); got != c.want {
			t.Errorf("color = %s reads as %s; want %s", c.text, got, c.want)
		}
	}
}

// The letters by which pitches are written stay with their keys.
func TestLetters(t *testing.T) {
	for _, c := range []struct{ text, want string }{
		{`"Bb3 A#3 Cb4 B#3"`, "Bb3 A#3 Cb4 B#3"},
		{`"G4+Eb4+Bb3+D#4"`, "Bb3+Eb4+G4"}, // one key: as it is written first
		{`transpose("Bb2+Eb3 F#3", 12)`, "Bb3+Eb4 F#4"},
		{`transpose("Bb2 F#3", 5)`, "Eb3 B3"},
		{`transpose("Eb4", -1)`, "D4"},
		{`invert("Eb4+G4", "C4")`, "F3+A3"}, // 63 and 67 about 60: 57 and 53
		{`"cluster(Bb3 Db4 chromatic)"`, "Bb3+B3+C4+Db4"},
		{`"gliss(Db4 Bb3 black)"`, "Db4+Bb3"},
		{`"trill(Eb4 F4 10/s)"`, "Eb4+F4"},
		{`"grace(Ab3 Bb3+Eb4 30ms)"`, "Ab3+Bb3+Eb4"},
		{`"spread(Bb3+Eb4 30ms)"`, "Bb3+Eb4"},
		{`"repeat(Eb4 10/s)"`, "Eb4"},
	} {
		var parts []string
		for _, p := range voice(t, "talea = 1\ncolor = "+c.text).Color {
			var names []string
			move := (&piece.Voice{}).Whole()
			for i := range p.Keys {
				names = append(names, p.Name(i, &move))
			}
			parts = append(parts, strings.Join(names, "+"))
		}
		if got := strings.Join(parts, " "); got != c.want {
			t.Errorf("%s: %s, want %s", c.text, got, c.want)
		}
	}
}

func TestGestures(t *testing.T) {
	for _, c := range []struct {
		text, keys string
		want       piece.Gesture
	}{
		{"gliss(C3 G3 white)", "C3+D3+E3+F3+G3", piece.Gesture{Kind: piece.Gliss}},
		{"gliss(G3 C3 black)", "F#3+D#3+C#3", piece.Gesture{Kind: piece.Gliss}},
		{"gliss(C3 D3 chromatic 0.95)", "C3+C#3+D3", piece.Gesture{Kind: piece.Gliss, Ratio: exact.Frac(19, 20)}},
		{"trill(C5 D5 14/s)", "C5+D5", piece.Gesture{Kind: piece.Trill, EverySec: exact.NewRat(1, 14)}},
		{"trill(D5 C5 E5 1/2)", "D5+C5+E5", piece.Gesture{Kind: piece.Trill, EveryUnits: exact.NewRat(1, 2)}},
		{"repeat(C4 10/s)", "C4", piece.Gesture{Kind: piece.Repeat, EverySec: exact.NewRat(1, 10)}},
		{"repeat(E4+C4 fastest)", "C4+E4", piece.Gesture{Kind: piece.Repeat, Fastest: true}},
		{"cluster(C4 C3 white)", "C3+D3+E3+F3+G3+A3+B3+C4", piece.Gesture{Kind: piece.Cluster}},
		{"spread(C2+G2+E3 30ms)", "C2+G2+E3", piece.Gesture{Kind: piece.Spread, DelaySec: exact.NewRat(3, 100)}},
		{"grace(B3 C4 40 ms)", "B3+C4", piece.Gesture{Kind: piece.Grace, DelaySec: exact.NewRat(1, 25)}},
	} {
		for v, at := range map[*piece.Voice]source.Pos{
			voice(t, "talea = 1\ncolor = \""+c.text+"\""): {Line: 3, Column: 10},
			voice(t, "line = \""+c.text+":3\""):           {Line: 2, Column: 9},
		} {
			c.want.Written = piece.Written{At: at, Width: len(c.text), Text: c.text}
			if pitches(v.Color) != c.keys {
				t.Errorf("%s strikes %s", c.text, pitches(v.Color))
			}
			if diff := cmp.Diff(fmt.Sprint(c.want), fmt.Sprint(*v.Color[0].Gesture)); diff != "" {
				t.Errorf("%s: %s", c.text, diff)
			}
		}
	}
}

func TestLine(t *testing.T) {
	v := voice(t, `line = "C4:2 D4:1 (1) 2 times [E4+G4:3!ff (1/2)] gliss(C3 E3 white):4!p"`)
	if got := durations(v.Talea); got != "2 1 (1) 3 (1/2) 3 (1/2) 4" {
		t.Errorf("talea %s", got)
	}
	if got := pitches(v.Color); got != "C4 D4 E4+G4!112 E4+G4!112 C3+D3+E3!49" {
		t.Errorf("color %s", got)
	}
	if !v.FromLine {
		t.Error("not marked as a line")
	}
}

// Levels: common practice, no source.
func TestDynamicsAndHold(t *testing.T) {
	v := voice(t, "line = \"C4:1\"\ndynamics = \"ppp pp p mp mf f ff fff 1 127 mp to ff over 40\"\nhold = \"0.8 90 ms 1/3 250ms 2 s single 2 times 1.5\"")
	want := "[{16 0 0} {33 0 0} {49 0 0} {64 0 0} {80 0 0} {96 0 0} {112 0 0} {126 0 0} {1 0 0} {127 0 0} {64 112 40}]"
	if got := fmt.Sprint(v.Dynamics); got != want {
		t.Errorf("dynamics %s, want %s", got, want)
	}
	want = "[{0 4/5 0} {1 1 9/100} {0 1/3 0} {1 1 1/4} {1 1 2} {2 1 0} {0 3/2 0} {0 3/2 0}]"
	if got := fmt.Sprint(v.Hold); got != want {
		t.Errorf("hold %s, want %s", got, want)
	}
	if v := voice(t, "line = \"C4:1\"\nhold = 0.8\ndynamics = 100"); fmt.Sprint(v.Hold,
		v.Dynamics) != "[{0 4/5 0}] [{100 0 0}]" {
		t.Errorf("bare numbers: %v %v", v.Hold, v.Dynamics)
	}
}

func TestChange(t *testing.T) {
	for _, c := range []struct{ text, want string }{
		{"transpose = 2", "{[] 2 [] 1 [] 0}"},
		{"transpose = -1\nstretch = \"2/3\"\ndynamics = -5", "{[] -1 [] 2/3 [] -5}"},
		{"transpose = \"0 0 5 0 7 5 0\"", "{[0 0 5 0 7 5 0] 0 [] 1 [] 0}"},
		{"transpose = [2]", "{[2] 0 [] 1 [] 0}"},
		{"transpose = \"3 times 2\"", "{[2 2 2] 0 [] 1 [] 0}"},
		{"stretch = \"1 2/3 1/2\"", "{[] 0 [1 2/3 1/2] 1 [] 0}"},
		{"stretch = \"3/7 * 210\"", "{[] 0 [] 90 [] 0}"},
		{"stretch = sqrt(2)/2", "{[] 0 [] sqrt(2)/2 [] 0}"},
		{"stretch = \"sqrt(2) root(12, 2)\"", "{[] 0 [sqrt(2) root(12, 2)] 1 [] 0}"},
		{"dynamics = \"mf\"", "{[] 0 [] 1 [80] 0}"},
		{"dynamics = \"p f\"", "{[] 0 [] 1 [49 96] 0}"},
		{"dynamics = \"5\"", "{[] 0 [] 1 [] 5}"},
	} {
		v := voice(t, "line = \"C4:1\"\nper_color {\n"+c.text+"\n}")
		const unchanged = "[] 0 [] [] [] 0 " // rotate, backward, invert, transpose_steps
		if got := strings.Replace(fmt.Sprint(v.PerColor), unchanged, "", 1); got != c.want {
			t.Errorf("%s reads as %s, want %s", c.text, got, c.want)
		}
	}
}

func TestTimes(t *testing.T) {
	for _, c := range []struct{ text, want string }{
		{`"2.5 s"`, "5/2"}, {`"90 ms"`, "9/100"}, {`"1:20"`, "80"}, {`"0:07.5"`, "15/2"}, {`"4 min"`, "240"}, {`"1/3 s"`, "1/3"}, {`0`, "0"}, {`"-2 s"`, "-2"},
	} {
		if got := voice(t, "line = \"C4:1\"\nstart = "+c.text).Place.At.String(); got != c.want {
			t.Errorf("start = %s reads as %s, want %s", c.text, got, c.want)
		}
	}
}

func TestExtents(t *testing.T) {
	for _, c := range []struct{ text, want string }{
		{"complete", "{0 0 0 {0 0} false}"}, {"42 notes", "{1 42 0 {0 0} false}"}, {"1 talea", "{2 1 0 {0 0} false}"}, {"6 colores", "{3 6 0 {0 0} false}"},
		{"90 units", "{4 0 90 {0 0} false}"}, {"60 s", "{5 0 60 {0 0} false}"}, {"1:20", "{5 0 80 {0 0} false}"}, {"exactly 90 units", "{4 0 90 {0 0} true}"}, {"until w x ends", "{6 0 0 {1 -1} false}"}, {"until c ends", "{6 0 0 {-1 0} false}"},
	} {
		p := read(t, "voice \"v\" {\n  line = \"C4:1\"\n  extent = \""+c.text+
			"\"\n}\nvoice \"w x\" {\n  line = \"C4:1\"\n}\ncanon \"c\" {\n  line = \"C4:1\"\n  voice \"I\" {}\n}\n")
		if got := fmt.Sprint(p.Voices[0].Extent); got != c.want {
			t.Errorf("%s reads as %s, want %s", c.text, got, c.want)
		}
	}
}

func TestNumbers(t *testing.T) {
	for _, c := range []struct{ text, want string }{
		{"4/5", "4/5"}, {`"21/20"`, "21/20"}, {"sqrt(31)/4", "sqrt(31)/4"}, {`"e/pi"`, "e/pi"}, {"e/pi", "e/pi"}, {"3/7 * 210", "90"}, {"pow(2, 7/12)", "pow(2, 7/12)"},
		{"(1 + 0.5)", "3/2"}, {"quick", "3/2"}, {"quick/2", "3/4"}, {"quick + 2", "7/2"}, {"2*quick - 1/2", "5/2"}, {"-(1 - quick)", "1/2"},
		{`"sqrt(2) * (quick - 1)"`, "sqrt(2)/2"}, {"sqrt(quick + 1/2)", "sqrt(2)"}, {"sqrt(2) + 1", ""}, {"quick-1", ""}, {"1 - quick", ""}, {"quick/0", ""}, {"riff + 1", ""}, {"cents(1200)", "2"}, {"(3/2)", "3/2"},
	} {
		text := "let {\n  quick = 3/2\n  riff  = \"C4 D4\"\n}\nvoice \"v\" {\n  line = \"C4:1\"\n  speed = " + c.text +
			"\n}\n"
		p, err := Parse(file(text))
		if c.want == "" {
			if err == nil {
				t.Errorf("speed = %s is accepted", c.text)
			}
			continue
		}
		if err != nil {
			t.Errorf("speed = %s: %v", c.text, err)
		} else if got := p.Voices[0].Speed.String(); got != c.want {
			t.Errorf("speed = %s reads as %s, want %s", c.text, got, c.want)
		}
	}
}
