package inspect

import (
	"fmt"
	"regexp"
	"strings"
	"testing"

	"rollwright/music/perform"
	"rollwright/music/piecefile"
	"rollwright/paper/instrument"
	"rollwright/paper/lay"
	"rollwright/text/source"
)

// written is what check says of a piece with one voice of this text.
func written(t *testing.T, in *instrument.Instrument, voice string) *Report {
	t.Helper()
	p, err := piecefile.Parse(&source.File{Name: "x.piece", Text: []byte("voice \"v\" {\n" + voice + "}\n")})
	if err != nil {
		t.Fatal(err)
	}
	performance, err := perform.New(p, perform.Options{
		Fastest:     func(int) float64 { strokes, _ := in.Repetition(); return strokes },
		FastestHold: func(int) float64 { _, sec := in.Repetition(); return sec },
	})
	if err != nil {
		t.Fatal(err)
	}
	rolls, err := lay.Of(performance, []*instrument.Instrument{in})
	if err != nil {
		t.Fatal(err)
	}
	return Check(p, rolls)
}

var toWrite = regexp.MustCompile(`write (\w+\([^)]*\))`)

// A gesture that is too fast is found at its own place, and what the remedy says
// to write in its stead is one that nothing is to be said against.
func TestGesturesTooFast(t *testing.T) {
	stepped := load(t, "88-note", func(in *instrument.Instrument) { in.StepMM = 0.5 })
	spool := load(t, "88-note", func(in *instrument.Instrument) {
		in.Transport.Spool, in.Transport.RadiusMM, in.Transport.ThicknessMM = true, 25, 0.06
	})
	for _, c := range []struct{ gesture, hold, want string }{
		{"trill(E6 F6 1/8)", "1", ""}, // 1/8 unit is 15.6 ms at 120: 64 a second
		// At R a second a key returns after 2/R, its stroke has 1/R of that: the 2.794 mm
		// of a bridge are 40.64 mm/s in 68.75 ms, so R is 14.54.
		{"trill(E6 F6 40/s)", "1", "at most 14.5 a second: write trill(E6 F6 14.5/s)"},
		{"trill(E6 F6 20/s)", "1", "at most 14.5 a second: write trill(E6 F6 14.5/s)"},
		{"trill(E6  F6 G6 100/s)", "0.9", ""},
		{"trill(E6 F6 E6 60/s)", "0.5", ""}, // E6 follows on E6
		{"trill(E6 F6 60/s)", "\"60 ms\"", ""},
		{"trill(E6 F6 60/s)", "\"single\"", ""},
		{"trill(E6 F6 60/s)", "\"0.7 1.2 40 ms\"", ""},
		{"repeat(C4 30/s)", "1", "write repeat(C4 fastest), which is what the instrument can"},
		{"repeat(C4+E4 30/s)", "0.5", ""},
		{"repeat(C4 11/s)", "0.6", ""},
		{"grace(C4 C4 30 ms)", "0.3", ""},
		{"grace(C4 C4+E4 30ms)", "\"single\"", ""},
	} {
		for name, in := range map[string]*instrument.Instrument{"88-note": load(t, "88-note", nil), "stepped": stepped,
			"spool": spool} {
			voice := "  talea = \"(4) 16 (4) 13\"\n  color = \"C2 %s G2\"\n  hold = " + c.hold + "\n  extent = \"100 notes\"\n"
			before := strings.Index(fmt.Sprintf(voice, c.gesture), c.gesture)
			column := before - strings.LastIndexByte(voice[:before], '\n')
			report := written(t, in, fmt.Sprintf(voice, c.gesture))
			found := false
			for _, g := range report.Groups {
				if f := &g.Worst; f.gestures != nil {
					found = true
					checkGesture(t, f, name, c.want, column)
					instead := toWrite.FindStringSubmatch(f.Remedy())
					if instead == nil {
						t.Errorf("%s, hold %s, %s: %s: nothing to write in %q", c.gesture, c.hold, name, f.Message(), f.Remedy())
						continue
					}
					if changes := f.Changes(); len(changes) != 1 || changes[0].Text() != instead[1] ||
						changes[0].Old.Text != c.gesture {
						t.Errorf("%s: %v, want %s", c.gesture, changes, instead[1])
					}
					for _, still := range written(t, in, fmt.Sprintf(voice, instead[1])).Groups {
						// no rate makes a punch longer
						if still.Severity != Note && (still.Kind != TooShort || !strings.Contains(c.hold, "single")) {
							t.Errorf("%s, hold %s, %s: after %s: %s\n    %s", c.gesture, c.hold, name, instead[1], still.Text(),
								still.Worst.Remedy())
						}
					}
				}
			}
			if !found {
				t.Errorf("%s, hold %s, %s: no finding", c.gesture, c.hold, name)
			}
		}
	}
}

func checkGesture(t *testing.T, f *Finding, name, want string, column int) {
	t.Helper()
	if want != "" && name == "88-note" && f.Remedy() != want {
		t.Errorf("%q, want %q", f.Remedy(), want)
	}
	if place := fmt.Sprintf("x.piece:3:%d", column); !strings.HasSuffix(f.Where(), place) {
		t.Errorf("%q, want %q in it", f.Where(), place)
	}
	if length := len(f.gestures.later.Gesture.AsWritten().Text); f.Width != length {
		t.Errorf("%d characters are marked, want %d", f.Width, length)
	}
}

// Where two gestures meet on a key, both are named, and the silence that is
// wanted between them is enough. Backward, the last note of the color is the first.
func TestGesturesMeet(t *testing.T) {
	in := load(t, "88-note", nil)
	for _, c := range []struct{ voice, with string }{
		{"  talea = \"2%s 16 (8)\"\n  color = \"gliss(C5 C6 white) trill(C6 E6 8/s)\"\n  hold = 0.5\n", "other keys where gliss(C5 C6 white) meets trill(C6 E6 8/s), or a silence of "},
		{"  talea = \"2%s 16 (8)\"\n  color = \"gliss(C5 C6 white) C6\"\n  hold = 0.5\n", "other keys where gliss(C5 C6 white) meets the C6 beside it, or a silence of "},
		{"  talea = \"16%s 2 (8)\"\n  color = \"trill(C6 E6 8/s) gliss(C5 C6 white)\"\n  hold = 0.5\n  backward = true\n", "other keys where gliss(C5 C6 white) meets trill(C6 E6 8/s), or a silence of "},
		{"  talea = \"2%s 16 (8)\"\n  color = \"trill(C6 E6 8/s) gliss(C5 C6 white)\"\n  hold = 0.5\n  rotate_color = 1\n", "other keys where gliss(C5 C6 white) meets trill(C6 E6 8/s), or a silence of "},
	} {
		report := written(t, in, fmt.Sprintf(c.voice, ""))
		if len(report.Groups) == 0 || report.Groups[0].Worst.gestures == nil {
			t.Errorf("%s: %s", c.voice, report.Summary())
			continue
		}
		f := &report.Groups[0].Worst
		wait, ok := strings.CutPrefix(f.Remedy(), c.with)
		if !ok {
			t.Errorf("%q, want %q", f.Remedy(), c.with)
			continue
		}
		var ms float64
		if _, err := fmt.Sscanf(wait, "%f ms between the two", &ms); err != nil {
			t.Errorf("%q: %v", wait, err)
		}
		// A sixteenth at 120 is 125 ms.
		if after := written(t, in, fmt.Sprintf(c.voice, fmt.Sprintf(" (%g)",
			ms/125))); after.Counts[Forbids]+after.Counts[Risks] > 0 {
			t.Errorf("with %v ms between: %s", ms, after.Groups[0].Text())
		}
	}
}

// A finding calls a note what its composer calls it: Eb4, a tone higher F4, four semitones
// higher G4; Gb4 an octave higher; and so in a voice that goes backward.
func TestFindingsSpelled(t *testing.T) {
	for _, c := range []struct{ voice, want string }{
		{"  talea = \"1/8\"\n  color = \"Eb4 Eb4\"\n", "Eb4"},
		{"  talea = \"1/8\"\n  color = \"Gb4 Gb4\"\n  transpose = 12\n", "Gb5"},
		{"  talea = \"1/8\"\n  color = \"C4 Db4 Db4\"\n  backward = true\n", "Db4"},
		{"  talea = \"8 1/8 1/8\"\n  color = \"C4 Db4 Db4\"\n  extent = \"6 notes\"\n  per_color {\n    transpose = \"0 2\"\n  }\n", "Db4"},
	} {
		r := written(t, load(t, "88-note", nil), c.voice)
		if len(r.Groups) == 0 {
			t.Fatalf("%s: nothing is found", c.voice)
		}
		f := &r.Groups[0].First
		if !strings.Contains(f.Message(), c.want) || !strings.Contains(f.Where(), c.want) || strings.Contains(f.Where(), "#") {
			t.Errorf("%s%s\n%s; want %s", c.voice, f.Message(), f.Where(), c.want)
		}
	}
}
