package perform_test

import (
	"testing"

	"rollwright/music/event"
	"rollwright/music/piece"
)

// TestHardPieces has the judge look at long and awkward pieces. Each is within
// a nanosecond; the bounds here are what is reached, with room.
func TestHardPieces(t *testing.T) {
	// A float64 near 36000 is within 2^-38 s, 0.004 ns; a hold rounds thrice.
	const rounding = 1.2e-11
	tests := map[string]struct {
		piece     *piece.Piece
		tolerance float64
	}{
		"ten hours of sevenths":       {tenHoursOfSevenths(), rounding},
		"ten hours along a path":      {tenHoursOfPath(), nanosecond},
		"ten hours, slowing":          {tenHoursSlowing(), nanosecond},
		"canon with a root of 31":     {canonOf31(), rounding},
		"sixty statements of 2/3":     {statementsOfTwoThirds(), rounding},
		"growing by roots":            {growingByRoots(), rounding},
		"huge units":                  {hugeUnits(), nanosecond},
		"as long as an accelerando":   {asLongAsAccelerando(), rounding},
		"trills along a path":         {trillsAlongPath(), nanosecond},
		"grace notes far ahead":       {graceFarAhead(), rounding},
		"notes shorter than 1 ns":     {shorterThanNanosecond(), rounding},
		"backward, shrinking":         {backwardShrinking(), rounding},
		"section after an irrational": {sectionsOfRoots(), rounding},
	}
	for name, test := range tests {
		t.Run(name, func(t *testing.T) {
			largest := compareWithJudge(t, mustPerform(t, test.piece), test.tolerance)
			t.Logf("largest difference %.3g s", largest)
		})
	}
}

// tenHoursOfSevenths: 20 quarter notes a minute; a unit of 1/16 lasts 0.75 s,
// so 48,000 units are ten hours.
func tenHoursOfSevenths() *piece.Piece {
	v := voice("a", "1/7 22/7 3 (5/9) 14.35 29", "60 61+65 62")
	v.Tempo, v.Extent = real("20"), units("48000")
	v.Hold = []piece.Hold{{Share: real("4/5")}, {Kind: piece.HoldTime, Sec: rat("0.09")}, {Share: real("sqrt(2)")}}
	return pieceOf(v)
}

func tenHoursOfPath() *piece.Piece {
	v := voice("a", "901 450 (7) 270.5 1/3", "60 61 62")
	v.Extent = seconds("36000")
	v.Path = []piece.Leg{
		{From: real("60"), HasFrom: true, To: real("240"), HasTo: true, OverUnits: rat("90000")},
		{To: real("61.25"), HasTo: true, OverSec: rat("7200"), Shape: piece.PerSecond},
		{To: real("200"), HasTo: true, OverUnits: rat("70000.75"), Shape: piece.PerUnit},
		{From: real("199"), HasFrom: true, OverSec: rat("60")},
		{From: real("33*sqrt(2)"), HasFrom: true, To: real("34*sqrt(2)"), HasTo: true, OverSec: rat("30000")},
	}
	return pieceOf(v)
}

// tenHoursSlowing: each of 360 items 1.02 times as long as the one before;
// with lasts it takes ten hours whatever that comes to.
func tenHoursSlowing() *piece.Piece {
	v := voice("a", "2 (1/3) 1", "60 61 62 63")
	v.EachNote, v.Extent = real("1.02"), taleae(120)
	v.Lasts = piece.Lasts{Set: true, Sec: rat("36000")}
	return pieceOf(v)
}

func canonOf31() *piece.Piece {
	p := pieceOf()
	c := piece.Canon{Name: "four", Section: -1, Meet: piece.Point{Kind: piece.AtShare, X: rat("2/3")},
		Lasts: piece.Lasts{Set: true, Sec: rat("240")}}
	for i, speed := range []string{"4", "5", "sqrt(31)", "6"} {
		v := voice(speed, "3 2 2 (1) 2 2 1", "48 55 50 58 53")
		v.Speed, v.Canon, v.Place.Kind = real(speed), 0, piece.InCanon
		v.Extent, v.Transpose = notes(300), []int{0, 7, 14, 19}[i]
		c.Voices = append(c.Voices, i)
		p.Voices = append(p.Voices, v)
	}
	p.Canons = []piece.Canon{c}
	return p
}

// statementsOfTwoThirds: (2/3)^59 needs whole numbers of 94 bits.
func statementsOfTwoThirds() *piece.Piece {
	v := voice("a", "4 2 (2) 3 1", "60 61 62 63 64 65")
	v.PerTalea.StretchEach, v.Extent = real("2/3"), taleae(60)
	return pieceOf(v)
}

func growingByRoots() *piece.Piece {
	v := voice("a", "1 1/3 (1/5)", "60 61 62 63 64")
	v.PerTalea.Stretch = reals("1", "sqrt(2)", "phi")
	v.PerColor.StretchEach, v.EachNote = real("root(12, 2)"), real("cents(-7)")
	v.Extent = notes(400)
	return pieceOf(v)
}

// hugeUnits: positions so large that their float64 is off by a unit of
// 0.03 ms at first, and a slow tempo afterwards.
func hugeUnits() *piece.Piece {
	v := voice("a", "300000000 1/3", "60 61")
	v.Extent = notes(40)
	v.Path = []piece.Leg{
		{From: real("900000000"), HasFrom: true, OverUnits: rat("1000000000")},
		{From: real("900000000"), HasFrom: true, OverUnits: rat("1000000000")},
		{From: real("60000000"), HasFrom: true, To: real("50000000"), HasTo: true, OverUnits: rat("1000000000")},
	}
	return pieceOf(v)
}

func asLongAsAccelerando() *piece.Piece {
	a := voice("a", "3 2 (1)", "60 61 62 63")
	a.Path = []piece.Leg{{From: real("60"), HasFrom: true, To: real("147"), HasTo: true, OverUnits: rat("100")}}
	a.Extent = notes(120)
	b := voice("b", "3 2 2 (1)", "60 61 62 63 64")
	b.Extent, b.Lasts = notes(100), piece.Lasts{Set: true, As: toVoice(0)}
	b.Place = piece.Place{Kind: piece.MeetWith, Ref: toVoice(0), Mine: piece.Point{Kind: piece.AtEnd},
		Theirs: piece.Point{Kind: piece.AtNote, N: 77}}
	return pieceOf(a, b)
}

func trillsAlongPath() *piece.Piece {
	v := voice("a", "4 3 (1) 1/3", "60+62 64+65 67")
	v.Color[0].Gesture = &piece.Gesture{Kind: piece.Trill, EveryUnits: rat("2/7")}
	v.Color[1].Gesture = &piece.Gesture{Kind: piece.Trill, EverySec: rat("1/14")}
	v.Color[2].Gesture = &piece.Gesture{Kind: piece.Repeat, Fastest: true}
	v.Path = []piece.Leg{{From: real("60"), HasFrom: true, To: real("30"), HasTo: true, OverUnits: rat("64"),
		Shape: piece.PerUnit}}
	v.Extent, v.Backward = taleae(9), true
	return pieceOf(v)
}

// graceFarAhead: grace strokes come before several notes, and before 0.
func graceFarAhead() *piece.Piece {
	v := voice("a", "1 1 1/2", "60 61+62 63+64 65")
	v.Color[1].Gesture = &piece.Gesture{Kind: piece.Grace, DelaySec: rat("0.9")}
	v.Color[2].Gesture = &piece.Gesture{Kind: piece.Grace, DelaySec: rat("1/30")}
	v.Extent = notes(300)
	return pieceOf(v)
}

// shorterThanNanosecond: 8 notes in a nanosecond, sorted by key in each.
func shorterThanNanosecond() *piece.Piece {
	v := voice("a", "1/1000000000", "60 59 70 20 80 61 62")
	v.Extent = notes(1000)
	return pieceOf(v)
}

func backwardShrinking() *piece.Piece {
	v := voice("a", "3 2 (1/3) 1", "60 61 62 63 64")
	v.EachNote, v.Extent, v.Backward = real("0.95"), taleae(30), true
	v.PerColor.StretchEach = real("9/8")
	return pieceOf(v)
}

// sectionsOfRoots has no section: a voice after one after one, all with roots.
func sectionsOfRoots() *piece.Piece {
	p := pieceOf()
	for i, speed := range []string{"sqrt(2)", "sqrt(3)", "e/pi", "phi"} {
		v := voice(speed, "3 2 2 (1) 2 2 1", "48 55 50 58 53")
		v.Speed, v.Stretch = real(speed), real("sqrt(7)")
		if i > 0 {
			v.Place = piece.Place{Kind: piece.After, Ref: toVoice(i - 1)}
		}
		p.Voices = append(p.Voices, v)
	}
	return p
}

// TestManyEvents has a million events come out sorted and counted.
func TestManyEvents(t *testing.T) {
	p := pieceOf()
	for _, speed := range []string{"1", "sqrt(2)", "e/pi"} {
		v := voice(speed, "1/3 1/2 (1/7) 1/5", "60+64 62 59+61+50 70")
		v.Color[1].Gesture = &piece.Gesture{Kind: piece.Repeat, EverySec: rat("0.011")}
		v.Color[3].Gesture = &piece.Gesture{Kind: piece.Grace, DelaySec: rat("0.2")}
		v.Speed, v.Extent = real(speed), notes(100_000)
		p.Voices = append(p.Voices, v)
	}
	perf := mustPerform(t, p)
	count := 0
	var last event.Event
	for e := range perf.Events() {
		if count > 0 && !inOrder(&last, &e) || e.StartSec < 0 || e.EndSec < e.StartSec {
			t.Fatalf("event %+v\nafter %+v", e, last)
		}
		last = e
		count++
	}
	if count != perf.Count || count < 500_000 {
		t.Fatalf("%d events, counted %d", count, perf.Count)
	}
}
