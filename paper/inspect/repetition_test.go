package inspect_test

import (
	"testing"

	"rollwright/music/perform"
	"rollwright/music/piecefile"
	"rollwright/paper/inspect"
	"rollwright/paper/instrument"
	"rollwright/paper/lay"
	"rollwright/text/source"
)

// A repetition that is as fast as the instrument can is nothing to complain of,
// on every built-in instrument and at every usual tempo of the roll, even where
// the next note of the key follows at once.
func TestFastestIsClean(t *testing.T) {
	const text = "tempo = 60\nvoice \"v\" {\n  line = \"repeat(C4 fastest):40 C4:4 repeat(C4 fastest):2 C4:4 (80) repeat(C5 fastest):400\"\n  hold = \"1 40ms 1 1 1\"\n}\n"
	p, err := piecefile.Parse(&source.File{Name: "v.piece", Text: []byte(text)})
	if err != nil {
		t.Fatal(err)
	}
	for _, l := range instrument.List() {
		for tempo := 60.0; tempo <= 140; tempo += 5 {
			in, err := instrument.Load(l.Name, "")
			if err != nil {
				t.Fatal(err)
			}
			in.Transport = in.Transport.AtLever(tempo)
			perf, err := perform.New(p, perform.Options{
				Fastest:     func(int) float64 { strokes, _ := in.Repetition(); return strokes },
				FastestHold: func(int) float64 { _, sec := in.Repetition(); return sec },
			})
			if err != nil {
				t.Fatal(err)
			}
			rolls, err := lay.Of(perf, []*instrument.Instrument{in})
			if err != nil {
				t.Fatal(err)
			}
			for f := range inspect.All(p, rolls) {
				if f.Kind != inspect.StepError && (f.Note == 1 || f.Note == 3 || f.Note == 5) {
					t.Errorf("%s at %v: %s", l.Name, tempo, f.Text())
					break
				}
			}
		}
	}
}
