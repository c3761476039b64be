package places

import (
	"bytes"
	"encoding/xml"
	"errors"
	"strings"
	"testing"

	"rollwright/paper/instrument"
	"rollwright/paper/roll"
	"rollwright/scan/proof"
)

func result(t *testing.T, n int) *proof.Result {
	t.Helper()
	in, err := instrument.Load("88-note", "")
	if err != nil {
		t.Fatal(err)
	}
	plan, scan := &roll.Roll{Instrument: in, Voices: []string{"<low>"}}, &roll.Roll{Instrument: in}
	for k := range n {
		s := roll.Slot{Port: int32(10 + k%50), LeadMM: float64(k) * 10, TrailMM: float64(k)*10 + 4}
		s.Causes.First = roll.Cause{Note: int32(k + 1)}
		plan.Slots = append(plan.Slots, s)
		if k%3 != 1 {
			scan.Slots = append(scan.Slots, s)
		}
	}
	r, err := proof.Compare(plan, scan, proof.Options{})
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// TestWriteHTML: every place has its number, its sentence and a drawing that is
// well-formed; names are escaped; the page reaches for nothing else.
func TestWriteHTML(t *testing.T) {
	r := result(t, 30)
	var out bytes.Buffer
	asked := 0
	pictures := func(windows []Window) ([][]byte, error) {
		asked = len(windows)
		var all [][]byte
		for _, w := range windows {
			if w.ToMM-w.FromMM < 30 || w.AcrossToMM <= w.AcrossFromMM {
				t.Errorf("a picture of %+v", w)
			}
			all = append(all, []byte("png"))
		}
		return all, nil
	}
	if err := WriteHTML(&out, r, Options{Title: "A & B", Pictures: pictures}); err != nil {
		t.Fatal(err)
	}
	text := out.String()
	for _, want := range []string{
		"<h1>A &amp; B: proof</h1>", "10 differences: 10 missing; 30 slots planned, 20 slots found.",
		`id="place-10"`, "1 · <b>missing</b> F#1, port 12", "10.0 to 14.0 mm; &lt;low&gt; note 2",
		"data:image/png;base64,cG5n",
	} {
		if !strings.Contains(text, want) {
			t.Errorf("the page lacks %q", want)
		}
	}
	if asked != len(r.Differences) {
		t.Errorf("%d pictures for %d places", asked, len(r.Differences))
	}
	for _, part := range strings.SplitAfter(text, "</svg>") {
		at := strings.Index(part, "<svg")
		if at < 0 {
			continue
		}
		if err := xml.Unmarshal([]byte(part[at:]), new(struct{})); err != nil {
			t.Fatalf("%v in %s", err, part[at:])
		}
		if strings.Count(part, `class="hole here"`) != 1 {
			t.Errorf("a missing slot is rimmed %d times", strings.Count(part, `class="hole here"`))
		}
	}
	if strings.Contains(text, "http") && strings.Contains(strings.ReplaceAll(text, `http-equiv`, ""), "http") {
		t.Error("the page names an address")
	}
}

func TestManyPlacesAndErrors(t *testing.T) {
	r := result(t, 3*(Most+20))
	var out bytes.Buffer
	if err := WriteHTML(&out, r, Options{}); err != nil {
		t.Fatal(err)
	}
	if n := strings.Count(out.String(), "<svg"); n != Most || !strings.Contains(out.String(),
		"The last 20 places are listed without a drawing.") {
		t.Errorf("%d drawings", n)
	}
	gone := errors.New("the picture is gone")
	err := WriteHTML(&out, r, Options{Pictures: func([]Window) ([][]byte, error) { return nil, gone }})
	if !errors.Is(err, gone) {
		t.Error(err)
	}
}
