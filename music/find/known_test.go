package find

import (
	"cmp"
	"fmt"
	"math"
	"os"
	"slices"
	"strings"
	"testing"

	"rollwright/music/perform"
	"rollwright/music/piecefile"
	"rollwright/text/source"
)

// The examples of the project, played without the names of their voices, come
// back as their files say: pitches on durations from onset to onset (silences
// belong to the note before), and the speeds of their canons.
func TestExamples(t *testing.T) {
	for name, want := range map[string]string{
		"single-end":   "7 on 6;",
		"two-shuttles": "13 on 12; 13 on 12; sqrt(2)",
		"four-looms":   "10 on 9; 10 on 9; 10 on 9; 10 on 9; 5/3 7/3 3 7/5 9/5 9/7",
		"even-picks":   "5 on 3; 4 on 5; 6 on 7; 7 on 5;",
		"first-thread": "5 on 3; 11 on 4;", // 3 1 2 2 (1) 3 1 2 3 is 3 1 2 3 twice, from onset to onset
		"unwinding":    "4 on 1; 7 on 1; 5 on 1;",
	} {
		d := found(t, example(t, name))
		got := ""
		for i := range d.Voices {
			if v := &d.Voices[i]; v.Color != nil && v.Talea != nil {
				got += fmt.Sprintf("%d on %d; ", len(v.Color.Pitches), len(v.Talea.Durations))
			}
		}
		for _, c := range d.Canons {
			got += c.Near[0].String() + " "
		}
		if strings.TrimSpace(got) != want {
			t.Errorf("%s: found %s, want %s", name, got, want)
		}
	}
}

// Two more, in which voices have keys in common, come back as with the names of their
// voices. Those of one cross, each a series of five pitches two semitones higher, or
// lower, from statement to statement, on durations that come back after five
// statements of four; those of the other get faster each at a rate of its own.
func TestExamplesThatCross(t *testing.T) {
	for name, want := range map[string]string{
		"twill": "120 notes, 5 by -2 on 20, constant; 120 notes, 5 by 2 on 20, constant; ",
		"running-up": "154 notes, 11 by 0 on 7, geometric; 154 notes, 11 by 0 on 7, geometric; " +
			"154 notes, 11 by 0 on 7, geometric; 1 -17, 1 -36, 1 -19, ",
	} {
		for _, named := range []bool{true, false} {
			d := found(t, exampleOf(t, name, named))
			var voices []string
			for i := range d.Voices {
				if v := &d.Voices[i]; v.Color != nil && v.Talea != nil {
					voices = append(voices, fmt.Sprintf("%d notes, %d by %d on %d, %s; ", v.Notes, len(v.Color.Pitches), v.Color.Transpose,
						len(v.Talea.Durations), v.Tempo.Shape))
				}
			}
			slices.Sort(voices)
			got := strings.Join(voices, "")
			for _, c := range d.Canons {
				got += fmt.Sprintf("%.0f %d, ", c.Explained, c.Transpose)
			}
			if got != want {
				t.Errorf("%s, named %v: found %s, want %s", name, named, got, want)
			}
		}
	}
}

// found is what is found in notes.
func found(t testing.TB, notes []Note) *Design {
	t.Helper()
	d, err := Find(t.Context(), notes)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

// example are the notes of an example, nobody knows whose.
func example(t *testing.T, name string) []Note { return exampleOf(t, name, false) }

func exampleOf(t *testing.T, name string, named bool) []Note {
	t.Helper()
	text, err := os.ReadFile("../../examples/" + name + ".piece")
	if err != nil {
		t.Fatal(err)
	}
	p, err := piecefile.Parse(&source.File{Name: name, Text: text})
	if err != nil {
		t.Fatal(err)
	}
	played, err := perform.New(p, perform.Options{})
	if err != nil {
		t.Fatal(err)
	}
	var notes []Note
	for e := range played.Events() {
		n := Note{Key: int(e.Key), StartSec: e.StartSec, EndSec: e.EndSec}
		if named {
			n.Voice, n.Number = p.Voices[e.Voice].Name, int(e.Note)
		}
		notes = append(notes, n)
	}
	return notes
}

// BenchmarkFind finds four voices of one line that nobody named, at 1, sqrt(2),
// phi and sqrt(3), which cross: 20,000 notes in 3 s, and a cost that grows little
// faster than the notes.
func BenchmarkFind(b *testing.B) {
	for _, n := range []int{1000, 3000, 10_000, 20_000, 50_000, 100_000} {
		notes := fourVoices(n)
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if d := found(b, notes); len(d.Voices) != 4 || len(d.Canons) != 6 {
					b.Fatalf("%d voices, %d canons", len(d.Voices), len(d.Canons))
				}
			}
		})
	}
}

func fourVoices(n int) []Note {
	g := newPlant("four", 3)
	talea, color := g.talea(41), g.color(37, 47, 9)
	l := g.line(talea, color, n/4, 1, 0)
	for i, speed := range []float64{1, math.Sqrt2, math.Phi, math.Sqrt(3)} {
		own := plantedLine{units: l.units, total: l.total}
		for _, k := range l.keys {
			own.keys = append(own.keys, []int{k[0] + []int{0, 7, 14, 19}[i]})
		}
		g.sound("", own, 0.12/speed, 1+0.6*l.total*0.12*(1-1/speed), 0.8, same)
	}
	for i := range g.p.notes {
		g.p.notes[i].Number = 0
	}
	slices.SortStableFunc(g.p.notes, func(a, b Note) int { return cmp.Compare(a.StartSec, b.StartSec) })
	return g.p.notes
}
