package find

import (
	"bytes"
	"slices"
	"strings"
	"testing"

	"rollwright/music/perform"
	"rollwright/music/piecefile"
	"rollwright/text/source"
)

// turning are three pitches on two durations, 3/4 s and 1/2 s, and the same line a
// twelfth higher at speed 5/4, from 0.
func turning() []Note {
	var notes []Note
	for v, name := range []string{"low", "high"} {
		at, speed := 0.0, []float64{1, 1.25}[v]
		for i := range 36 {
			notes = append(notes, Note{Key: []int{48, 55, 50}[i%3] + 19*v, StartSec: at, EndSec: at + 0.3/speed, Voice: name})
			at += []float64{0.75, 0.5}[i%2] / speed
		}
	}
	return notes
}

func TestBeginsOfStatements(t *testing.T) {
	d := found(t, turning())
	v := &d.Voices[slices.IndexFunc(d.Voices, func(v Voice) bool { return v.Name == "low" })]
	talea, color := v.TaleaBegins(), v.ColorBegins()
	if len(talea) != 18 || len(color) != 12 { // 36 notes on two durations, of three pitches
		t.Fatalf("%d taleae, %d colores begin", len(talea), len(color))
	}
	for i, b := range talea {
		if at := d.Notes[b.Row].StartSec; b.Statement != i+1 || at != 1.25*float64(i) {
			t.Errorf("talea %d begins at %v s", b.Statement, at)
		}
	}
	for i, b := range color { // three notes: 3/4 + 1/2 + 3/4, then 1/2 + 3/4 + 1/2
		want := 3.75*float64(i/2) + 2*float64(i%2)
		if at := d.Notes[b.Row].StartSec; b.Statement != i+1 || at != want {
			t.Errorf("color %d begins at %v s, not %v", b.Statement, at, want)
		}
	}
}

// TestPartners: each note of the follower is its leader's so many notes later, a
// twelfth higher, at 4/5 of the time.
func TestPartners(t *testing.T) {
	d := found(t, turning())
	if len(d.Canons) != 1 {
		t.Fatalf("%d canons", len(d.Canons))
	}
	c := &d.Canons[0]
	pairs := d.Partners(c)
	if len(pairs) != c.Notes || len(pairs) < 30 {
		t.Fatalf("%d pairs of %d notes", len(pairs), c.Notes)
	}
	for _, p := range pairs {
		a, b := d.Notes[p[0]], d.Notes[p[1]]
		low, high := a, b
		if a.Voice == "high" {
			low, high = b, a
		}
		if high.Key-low.Key != 19 || low.Voice == high.Voice {
			t.Errorf("%v is a partner of %v", a, b)
		}
	}
}

// TestItemsAreWhatIsWritten: what is said piece by piece is what WriteText writes.
func TestItemsAreWhatIsWritten(t *testing.T) {
	d := found(t, turning())
	var b bytes.Buffer
	if err := WriteText(&b, d); err != nil {
		t.Fatal(err)
	}
	whole := strings.Join(strings.Fields(b.String()), " ")
	items := append(d.VoiceItems(0), d.CanonItems(0)...)
	items = append(items, Item{Says: d.Summary()})
	if len(items) < 8 {
		t.Fatalf("%v", items)
	}
	for _, i := range items {
		said := strings.Join(strings.Fields(strings.TrimSpace(i.Label)+" "+i.Says), " ")
		if !strings.Contains(whole, said) {
			t.Errorf("%q is not in\n%s", said, whole)
		}
	}
}

// TestDraftOfOneVoice: a draft of one voice plays its notes and no others.
func TestDraftOfOneVoice(t *testing.T) {
	d := found(t, turning())
	for i, v := range d.Voices {
		var b bytes.Buffer
		if err := WriteDraftOf(&b, d, "turning.csv", []int{i}); err != nil {
			t.Fatal(err)
		}
		p, err := piecefile.Parse(&source.File{Name: "x.piece", Text: b.Bytes()})
		if err != nil {
			t.Fatalf("%v in\n%s", err, b.String())
		}
		played, err := perform.New(p, perform.Options{})
		if err != nil {
			t.Fatal(err)
		}
		got := 0
		for e := range played.Events() {
			if k := slices.IndexFunc(d.Notes, func(n Note) bool {
				return n.Voice == v.Name && n.Key == int(e.Key) && n.StartSec-e.StartSec < 1e-6 && e.StartSec-n.StartSec < 1e-6
			}); k < 0 {
				t.Errorf("%s: %d at %v s is no note of it", v.Name, e.Key, e.StartSec)
			}
			got++
		}
		if got != v.Notes {
			t.Errorf("%s: %d notes, not %d", v.Name, got, v.Notes)
		}
	}
}
