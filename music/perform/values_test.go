package perform_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"rollwright/music/event"
	"rollwright/music/perform"
	"rollwright/music/piece"
)

// TestComplete counts what it takes until color and talea end together.
func TestComplete(t *testing.T) {
	tests := []struct {
		source                 string
		color, talea           int
		notes, colores, taleae int
	}{
		{"lcm(7, 6)", 7, 6, 42, 6, 7},
		{"29 chords against 17 durations, Quatuor pour la fin du temps, I (K. Kothman, course notes musTh 212, 2012)", 29, 17, 493, 17, 29},
		{"one talea of 15 is three colores of 5, the same, cello", 5, 15, 15, 3, 1},
		{"color 8, talea 5 (Open Knowledge Graph, isorhythm questions)", 8, 5, 40, 5, 8},
		{"De bon espoir: color 18, talea 12 (textbooks)", 18, 12, 36, 2, 3},
	}
	for _, test := range tests {
		v := voice("a", strings.Repeat("1 ", test.talea), strings.Repeat("60 ", test.color))
		l := mustPerform(t, pieceOf(v)).Lines[0]
		if l.Notes != test.notes || l.Colores != (perform.Statements{Whole: test.colores, Begun: test.colores}) ||
			l.Taleae != (perform.Statements{Whole: test.taleae, Begun: test.taleae}) {
			t.Errorf("%s: %d notes, colores %v, taleae %v; want %d, %d, %d", test.source, l.Notes, l.Colores, l.Taleae,
				test.notes, test.colores, test.taleae)
		}
	}
}

// TestFourStatements: Nuper rosarum flores (1436) has four statements of 28
// breves at 6:4:2:3, so of 168, 112, 56 and 84 units (textbooks).
func TestFourStatements(t *testing.T) {
	v := voice("tenor", strings.Repeat("1 ", 28), strings.Repeat("60 ", 14))
	v.PerTalea.Stretch = reals("6", "4", "2", "3")
	v.Extent = taleae(4)
	l := mustPerform(t, pieceOf(v)).Lines[0]
	lengths := make([]float64, 4)
	for item := range l.All() {
		lengths[item.Talea] += item.Units
	}
	if fmt.Sprint(lengths) != "[168 112 56 84]" || l.Length != 420 {
		t.Errorf("statements last %v, together %v units", lengths, l.Length)
	}
}

// TestCanonProportion: 4 : 5 : sqrt(31) : 6 meeting at 2/3, the slowest lasting
// 240 s: all meet at 160 s, so a voice of L s starts at 160 - 2L/3 and ends L
// later, with L = 240, 192, 960/sqrt(31) and 160 s.
func TestCanonProportion(t *testing.T) {
	perf := mustPerform(t, canonOf31())
	want := []struct {
		start        string
		starts, ends float64
	}{
		{"0", 0, 240},
		{"32", 32, 224},
		{"160 - 640/31*sqrt(31)", 45.0526, 217.4737},
		{"160/3", 53.3333, 213.3333},
	}
	for i, w := range want {
		l := perf.Lines[i]
		if !l.StartExact || l.Start.String() != w.start || !near(l.StartSec, w.starts, 5e-5) ||
			!near(l.EndSec, w.ends, 5e-5) {
			t.Errorf("voice %d from %v = %v to %v; want %v = %v to %v", i, l.Start, l.StartSec, l.EndSec, w.start, w.starts,
				w.ends)
		}
		if !l.SpeedExact {
			t.Errorf("voice %d: the speed %v is said not to be exact", i, l.Speed)
		}
	}
}

// TestCanonEntries: 12 : 15 : 20 with their ends together. The slowest lasts
// 60*T, the others 48*T and 36*T; for entries at 0, 4 and 8 s the slowest
// lasts 20 s (4 = 20 * (1 - 12/15), 8 = 20 * (1 - 12/20)).
func TestCanonEntries(t *testing.T) {
	p := parse(t, `
tune "t" {
  talea = "3 1 (2) 2"
  color = "C4 D4 E4 F4"
}
canon "c" {
  subject = "t"
  meet    = "end"
  lasts   = "20 s"
  speeds  = "12 : 15 : 20"
  voice "a" {}
  voice "b" {}
  voice "c3" {}
}`)
	for i, want := range []string{"0", "4", "8"} {
		if got := mustPerform(t, p).Lines[i].Start.String(); got != want {
			t.Errorf("voice %d enters at %s s, want %s", i, got, want)
		}
	}
}

// TestGeometricSeries: n notes from duration d, each r times the one before,
// last d*(1 - r^n)/(1 - r), and never d/(1 - r).
func TestGeometricSeries(t *testing.T) {
	v := voice("a", "2", "60")
	v.EachNote, v.Extent = real("0.95"), notes(40)
	l := mustPerform(t, pieceOf(v)).Lines[0]
	if want := 2 * (1 - math.Pow(0.95, 40)) / 0.05; !near(l.Length, want, 1e-12) {
		t.Errorf("40 notes last %v units, want %v", l.Length, want)
	}
	v.Extent = units("39.9999")
	if _, err := perform.New(pieceOf(v), perform.Options{}); err != nil {
		t.Errorf("39.9999 units of 40 are not reached: %v", err)
	}
	v.Extent = units("40")
	_, err := perform.New(pieceOf(v), perform.Options{})
	if err == nil || !strings.Contains(err.Error(), "no more than 40 units") {
		t.Errorf("an extent of 40 units, which is never reached: %v", err)
	}
}

// TestExactTies: items that start exactly at the extent are not played, in
// thirds, in roots and in seconds of a root.
func TestExactTies(t *testing.T) {
	thirds := voice("thirds", "1/3", "60")
	thirds.Extent = units("90") // 270 items
	roots := voice("roots", "1/3", "60")
	roots.Stretch, roots.Speed, roots.Extent = real("sqrt(2)"), real("sqrt(2)"), seconds("90") // 1/24 s each: 2160
	powers := voice("powers", "1 1", "60")
	powers.PerTalea.StretchEach, powers.Extent = real("1/2"), units("15/4") // 2 + 1 + 1/2 + 1/4: 8 items
	path := voice("path", "1/3", "60")
	path.Path = []piece.Leg{{From: real("120"), HasFrom: true, To: real("120"), HasTo: true, OverUnits: rat("30")},
		{From: real("60"), HasFrom: true, OverUnits: rat("30")}}
	path.Extent = seconds("10") // 30 units of 1/8 s and 25 of 1/4 s: 165 items
	until := voice("until", "1/7", "60")
	until.Speed, until.Extent = real("sqrt(2)"), piece.Extent{Kind: piece.Until, Ref: toVoice(0)}
	until.Place.At = rat("1") // 10.25 s are left; an item lasts sqrt(2)/112 s: 811.7 items
	perf := mustPerform(t, pieceOf(thirds, roots, powers, path, until))
	for i, want := range []int{270, 2160, 8, 165, 812} {
		if got := perf.Lines[i].Items; got != want {
			t.Errorf("%s has %d items, want %d", perf.Piece.Voices[i].Name, got, want)
		}
	}
}

// TestNanoseconds: halves go up, and a decimal half counts as one although its
// float64 lies below it.
func TestNanoseconds(t *testing.T) {
	tests := []struct {
		sec  float64
		want int64
	}{
		{0, 0}, {1, 1_000_000_000}, {0.0009765625, 976_563}, // 2^-10
		{0.0000015625, 1563}, {12.0000015625, 12_000_001_563}, {0.4e-9, 0}, {0.5e-9, 1},
		{-0.5e-9, 0}, {-1.5e-9, -1}, {36000.0000000004, 36_000_000_000_000}, {1e9, 1e18},
		{2.4999999e-9, 2},
	}
	for _, test := range tests {
		if got := event.Nanoseconds(test.sec); got != test.want {
			t.Errorf("event.Nanoseconds(%v) = %d, want %d", test.sec, got, test.want)
		}
	}
}

// TestGestures shows the strokes of every gesture: part, key, start and end in
// milliseconds, on a note of 8 units of 125 ms.
func TestGestures(t *testing.T) {
	tests := []struct {
		name    string
		keys    string
		gesture piece.Gesture
		hold    []piece.Hold
		want    string
	}{
		{"cluster", "60+61+62", piece.Gesture{Kind: piece.Cluster}, nil, "1:60:0-1000 2:61:0-1000 3:62:0-1000"},
		{"even gliss", "60+62+64+65", piece.Gesture{Kind: piece.Gliss}, nil, "1:60:0-250 2:62:250-500 3:64:500-750 4:65:750-1000"},
		// 1 + 1/2 + 1/4 = 7/4: 4/7, 2/7 and 1/7 of a second
		{"gliss with a ratio", "60+62+64", piece.Gesture{Kind: piece.Gliss, Ratio: real("1/2")}, nil, "1:60:0-571 2:62:571-857 3:64:857-1000"},
		{"trill", "60+62", piece.Gesture{Kind: piece.Trill, EverySec: rat("0.3")}, nil, "1:60:0-300 2:62:300-600 3:60:600-1000"},
		// 3.5 intervals: the last stroke has half of one; in units, 8 of 3 are 2.67 intervals
		{"trill and a half", "60+62", piece.Gesture{Kind: piece.Trill, EverySec: rat("2/7")}, nil, "1:60:0-286 2:62:286-571 3:60:571-857 4:62:857-1000"},
		{"shorter than a stroke", "60+62", piece.Gesture{Kind: piece.Trill, EverySec: rat("3")}, nil, "1:60:0-1000"},
		{"trill in units", "60+62", piece.Gesture{Kind: piece.Trill, EveryUnits: rat("3")}, nil, "1:60:0-375 2:62:375-750 3:60:750-1000"},
		{"repeat, staccato", "60+64", piece.Gesture{Kind: piece.Repeat, EverySec: rat("1/2")}, []piece.Hold{{Share: real("1/2")}}, "1:60:0-250 1:64:0-250 2:60:500-750 2:64:500-750"},
		{"fastest", "60", piece.Gesture{Kind: piece.Repeat, Fastest: true}, []piece.Hold{{Kind: piece.HoldSingle}}, "1:60:0-0 2:60:250-250 3:60:500-500 4:60:750-750"},
		{"spread", "60+64+67", piece.Gesture{Kind: piece.Spread, DelaySec: rat("0.03")}, nil, "1:60:0-1000 2:64:30-1000 3:67:60-1000"},
		{"spread too wide", "60+64", piece.Gesture{Kind: piece.Spread, DelaySec: rat("2")}, nil, "1:60:0-1000 2:64:500-1000"},
		{"grace", "59+60+64", piece.Gesture{Kind: piece.Grace, DelaySec: rat("0.04")}, nil, "1:59:0-40 2:60:40-1040 2:64:40-1040"},
		{"held for a time", "60+62", piece.Gesture{Kind: piece.Gliss}, []piece.Hold{{Kind: piece.HoldTime, Sec: rat("0.7")}}, "1:60:0-500 2:62:500-1000"},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			v := voice("a", "8", test.keys)
			v.Color[0].Gesture, v.Hold = &test.gesture, test.hold
			perf, err := perform.New(pieceOf(v), perform.Options{Fastest: func(int) float64 { return 4 }})
			if err != nil {
				t.Fatal(err)
			}
			var got []string
			for e := range perf.Events() {
				got = append(got, fmt.Sprintf("%d:%d:%.0f-%.0f", e.Part, e.Key, e.StartSec*1000, e.EndSec*1000))
			}
			if text := strings.Join(got, " "); text != test.want {
				t.Errorf("got  %s\nwant %s", text, test.want)
			}
		})
	}
}

// TestLevels: a ramp from 64 to 112 over 4 notes is 64 80 96 112; a level of a
// note's own stands, but what accumulates is added to it.
func TestLevels(t *testing.T) {
	v := voice("a", "1", "60 61 62")
	v.Dynamics = []piece.Dynamic{{Level: 64, To: 112, Over: 4}, {Level: 16}}
	v.Color[1].Level = 100
	v.PerColor.DynamicsEach = -10
	v.Extent = notes(12)
	// notes   1   2   3 |  4   5   6 |  7   8   9 | 10  11  12
	// cycle  64  80  96 | 112 16  64 | 80  96 112 | 16  64  80
	// own         100   |    100     |    100     |    100
	// less    0         | 10         | 20         | 30
	want := "[64 100 96 102 90 54 60 80 92 1 70 50]"
	var got []int
	for item := range mustPerform(t, pieceOf(v)).Lines[0].All() {
		got = append(got, item.Level)
	}
	if fmt.Sprint(got) != want {
		t.Errorf("levels %v, want %s", got, want)
	}
}

// TestItems follows a short voice that goes backward.
func TestItems(t *testing.T) {
	v := voice("a", "3 (1) 2", "60 64+67 62")
	v.RotateColor, v.RotateTalea, v.Backward, v.Extent = 1, 1, true, notes(3)
	invert := 60
	v.Invert, v.Transpose = &piece.Axis{Key: invert}, 12
	// Written: (1) 2 3 | (1) 2 with 64+67, 62, 60. Backward: 2 (1) 3 2 (1) with
	// 60, 62, 64+67; mirrored at 60 and up an octave: 72, 70, 65+68.
	l := mustPerform(t, pieceOf(v)).Lines[0]
	want := []string{
		"0 note 1 at 0 for 2: talea 1/2 color 0/0 [72]",
		"1 note 0 at 2 for 1: talea 1/1 color 0/-1 []",
		"2 note 2 at 3 for 3: talea 0/0 color 0/2 [70]",
		"3 note 3 at 6 for 2: talea 0/2 color 0/1 [65 68]",
		"4 note 0 at 8 for 1: talea 0/1 color 0/-1 []",
	}
	var got []string
	for it := range l.All() {
		got = append(got, fmt.Sprintf("%d note %d at %v for %v: talea %d/%d color %d/%d %v", it.N, it.Note, it.At, it.Units,
			it.Talea, it.TaleaPlace, it.Color, it.ColorPlace, l.Keys(it, nil)))
		if single := l.Item(it.N); single != it {
			t.Errorf("Item(%d) = %+v, All has %+v", it.N, single, it)
		}
	}
	if g, w := strings.Join(got, "\n"), strings.Join(want, "\n"); g != w {
		t.Errorf("got\n%s\nwant\n%s", g, w)
	}
}

func near(a, b, tolerance float64) bool { return math.Abs(a-b) <= tolerance }
