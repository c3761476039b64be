package plan_test

import (
	"fmt"
	"math"
	"testing"

	"rollwright/exact"
	"rollwright/music/piece"
	"rollwright/music/plan"
)

// TestComplete: the least common multiple of notes in color and talea.
func TestComplete(t *testing.T) {
	for _, test := range []struct {
		source                 string
		color, talea           int
		notes, colores, taleae int
	}{
		{"common practice", 7, 6, 42, 6, 7},
		{"piano of a quartet of 1941, first movement (K. Kothman, course notes musTh 212, 2012)", 29, 17, 493, 17, 29},
		{"cello of the same: three colores are one talea", 5, 15, 15, 3, 1},
		{"De bon espoir (Machaut): bestmusicteacher.com, isorhythm", 18, 12, 36, 2, 3},
		{"isorhythm questions, Open Knowledge Graph", 8, 5, 40, 5, 8},
		{"Kyrie with color 28 and talea 4 (textbook case)", 28, 4, 28, 1, 7},
		{"one pitch", 1, 9, 9, 9, 1},
	} {
		t.Run(fmt.Sprintf("%dx%d", test.color, test.talea), func(t *testing.T) {
			p := planOf(t, pieceOf(voice("v", ones(test.talea), members(test.color))), plan.Options{})
			v := p.Voices[0]
			if c := v.Complete; c.Notes != test.notes || c.Colores != test.colores || c.Taleae != test.taleae || !c.Is {
				t.Errorf("%s: got %+v", test.source, c)
			}
			if v.Notes != test.notes || v.Color.Statements.Exact != fmt.Sprint(test.colores) ||
				v.Talea.Statements.Exact != fmt.Sprint(test.taleae) {
				t.Errorf("%s: %d notes, statements %v and %v", test.source, v.Notes, v.Color.Statements, v.Talea.Statements)
			}
		})
	}
}

// The layers of a quartet of 1941, first movement: durations of the piano in
// semiquavers, of the cello in quavers (Simundza, IRASM 18/1 (1987) 117-144 and
// 19/1 (1988) 53-73, expanded from the named talas). Pitches are our own.
const (
	pianoTalea = "4 4 4 2 3 2 2 2 2 3 3 3 1 2 3 4 8"
	celloTalea = "4 3 4 4 1 1 3 1 1 1 1 3 1 1 4"
)

func quartet(change ...func(*piece.Voice)) *piece.Piece {
	unit := func(num, den int64) func(*piece.Voice) {
		return func(v *piece.Voice) { v.Unit = exact.NewRat(num, den) }
	}
	with := func(more ...func(*piece.Voice)) []func(*piece.Voice) { return append(more, change...) }
	return pieceOf(
		voice("piano", pianoTalea, members(29), with(tempo("54"), unit(1, 16))...),
		voice("cello", celloTalea, members(5), with(tempo("54"), unit(1, 8))...),
	)
}

// TestQuartetCycles: the piano comes round after 377 crotchets, the cello after
// 16.5, both together after lcm(1508, 66) = 49,764 semiquavers, 12,441
// crotchets: at 54 a minute "over 230 minutes" in the analysis sheets, 230.39
// by arithmetic (54: from memory).
func TestQuartetCycles(t *testing.T) {
	p := planOf(t, quartet(), plan.Options{})
	piano, cello := p.Voices[0], p.Voices[1]
	if piano.Talea.Units.Exact != "52" || cello.Talea.Units.Exact != "33" {
		t.Errorf("taleae of %v and %v", piano.Talea.Units, cello.Talea.Units)
	}
	if piano.Units.Exact != "1508" || cello.Units.Exact != "33" {
		t.Errorf("lengths %v semiquavers and %v quavers", piano.Units, cello.Units)
	}
	together := p.Pairs[0].Together
	if together == nil || together.UnitsA.Exact != "49764" || together.CyclesA != "33" || together.CyclesB != "754" {
		t.Fatalf("together %+v", together)
	}
	if minutes := together.Seconds.Decimal / 60; math.Abs(minutes-12441.0/54) > 1e-9 || math.Abs(minutes-230.39) > 0.005 {
		t.Errorf("together after %v minutes", minutes)
	}
	if ratio := p.Pairs[0].Ratio.Exact; ratio != "1/2" {
		t.Errorf("ratio %s", ratio)
	}
}

// TestQuartetStatements: in the 129 crotchets of the movement the piano's talea
// is heard nearly ten times and its color nearly six, the cello's talea seven
// times and the start of an eighth (same analysis). The last value of the
// piano's tenth talea is cut off there; here items are whole.
func TestQuartetStatements(t *testing.T) {
	bars := func(v *piece.Voice) {
		v.Extent = piece.Extent{Kind: piece.Seconds, Amount: exact.NewRat(129*60, 54)}
	}
	p := planOf(t, quartet(bars), plan.Options{})
	if s := p.Voices[0].Talea.Statements; s.Exact != "10" {
		t.Errorf("piano talea %v times", s)
	}
	if s := p.Voices[0].Color.Statements; s.Exact != "170/29" { // 5.86
		t.Errorf("piano color %v times", s)
	}
	if s := p.Voices[1].Talea.Statements; s.Exact != "39/5" { // 7 and 12/15
		t.Errorf("cello talea %v times", s)
	}
}

// TestNuperRosarum: four statements of 28 breves at 6:4:2:3 last 168, 112, 56
// and 84 units, 420 together (dtv-Atlas zur Musik 1 (1977) 238).
func TestNuperRosarum(t *testing.T) {
	tenor := voice("tenor", ones(14)+" (14)", members(14), func(v *piece.Voice) {
		v.Extent = piece.Extent{Kind: piece.Taleae, Count: 4}
		v.PerTalea.Stretch = []exact.Real{exact.Frac(6, 1), exact.Frac(4, 1), exact.Frac(2, 1), exact.Frac(3, 1)}
	})
	v := planOf(t, pieceOf(tenor), plan.Options{}).Voices[0]
	if v.Units.Exact != "420" || v.Talea.Statements.Exact != "4" {
		t.Errorf("%v units, %v statements", v.Units, v.Talea.Statements)
	}
}

// TestConvergence: claims of C. Nemire, Music Theory Online 20/1 (2014), for
// tempos of 4 and 5 beats a second that meet at the end. The convergence
// period, from one possible simultaneity to the next, is 1 s.
func TestConvergence(t *testing.T) {
	p := planOf(t, canon(piece.Point{Kind: piece.AtEnd},
		voice("slow", "1 1 1 1", "C4", tempo("240"), func(v *piece.Voice) {
			v.Extent = piece.Extent{Kind: piece.Taleae,
				Count: 10}
		}),
		voice("fast", "1 1 1 1", "C5", tempo("300"), func(v *piece.Voice) {
			v.Extent = piece.Extent{Kind: piece.Taleae,
				Count: 10}
		}),
	), plan.Options{})
	pair := p.Pairs[0]
	// In the fifth period from the meeting point, five statements of the slow
	// voice before its end, the echo distance is one period.
	for _, row := range pair.Lag.Rows {
		if row.Place == "6" && (row.Lag.Exact != "1" || row.Behind != "fast" || row.Units.Exact != "5") {
			t.Errorf("fifth period: %+v", row)
		}
	}
	// The difference of the beat numbers is the number of periods left.
	if pair.Meetings.Count != 8 {
		t.Fatalf("%d meetings", pair.Meetings.Count)
	}
	for _, m := range pair.Meetings.List {
		if left := 10 - m.At.Decimal; float64(m.NoteA-m.NoteB) != left {
			t.Errorf("beats %d and %d with %v periods left", m.NoteA, m.NoteB, left)
		}
	}
	if first := pair.Meetings.First; first.NoteA != 9 || first.NoteB != 1 {
		t.Errorf("first meeting %+v", first)
	}
	if pair.Next.Answer != plan.NextAt || pair.Next.At.At.Exact != "10" || pair.Next.At.NoteA != 41 ||
		pair.Next.At.NoteB != 41 {
		t.Errorf("they would meet at the end: %+v", pair.Next)
	}
}

// TestSameTempoOverlap: two voices that both play at 2 and at 3, one slow
// first, the other fast first, have the same tempo for 1/5 of the piece
// (Nemire, as above): here from 20 to 30 of 50 s.
func TestSameTempoOverlap(t *testing.T) {
	legs := func(first, then string) func(*piece.Voice) {
		return func(v *piece.Voice) {
			v.Path = []piece.Leg{
				{From: exact.MustParse(first), HasFrom: true, OverUnits: exact.Int(60)},
				{From: exact.MustParse(then), HasFrom: true, OverUnits: exact.Int(60)},
			}
		}
	}
	p := planOf(t, pieceOf(
		voice("one", "1", "C4", legs("120", "180"), notes(120)),
		voice("two", "1", "C5", legs("180", "120"), notes(120)),
	), plan.Options{})
	equal := p.Pairs[0].EqualSpeeds
	if len(equal) != 1 || math.Abs(float64(equal[0].From)-20) > 1e-6 || math.Abs(float64(equal[0].To)-30) > 1e-6 {
		t.Fatalf("equal speeds %+v", equal)
	}
	if share := float64(equal[0].To-equal[0].From) / float64(p.Length); math.Abs(share-1.0/5) > 1e-7 {
		t.Errorf("overlap is %v of the piece", share)
	}
	if p.Pairs[0].Ratio != nil || p.Pairs[0].Proof != plan.Within {
		t.Errorf("ratio %v, proof %q", p.Pairs[0].Ratio, p.Pairs[0].Proof)
	}
}

// TestEqualSpacing: 12 : 15 : 20, 240 beats, meeting at the end. With so many
// beats a minute they last 20, 16 and 12 minutes and enter at 0, 4 and 8: as
// 1/12, 1/15 and 1/20 are as 5, 4 and 3 (arithmetic).
func TestEqualSpacing(t *testing.T) {
	v := func(name, q string) piece.Voice { return voice(name, "1", "C4", tempo(q), notes(240)) }
	p := planOf(t, canon(piece.Point{Kind: piece.AtEnd}, v("I", "12"), v("II", "15"), v("III", "20")), plan.Options{})
	for i, want := range []struct{ first, seconds float64 }{{0, 1200}, {240, 960}, {480, 720}} {
		if v := p.Voices[i]; float64(v.First) != want.first || v.Seconds.Decimal != want.seconds {
			t.Errorf("%s enters at %v and lasts %v", v.Name, v.First, v.Seconds)
		}
	}
	if p.Canons[0].At.Exact != "1200" {
		t.Errorf("they meet at %v", p.Canons[0].At)
	}
}

// TestFourVoices: 4 : 5 : sqrt(31) : 6 meeting at 2/3, the slowest lasting 240
// s: at 160 s; starts 0, 32, 45.0526, 53.3333, ends 240, 224, 217.4737,
// 213.3333 s (arithmetic: length L/s, start 160 - 2/3 of it).
func TestFourVoices(t *testing.T) {
	v := func(name, s string) piece.Voice { return voice(name, "1", "C4", speed(s), notes(960)) }
	p := planOf(t, canon(piece.Point{Kind: piece.AtShare, X: exact.NewRat(2, 3)},
		v("I", "4"), v("II", "5"), v("III", "sqrt(31)"), v("IV", "6")), plan.Options{})
	for i, want := range []struct{ start, end float64 }{{0, 240}, {32, 224}, {45.0526, 217.4737}, {53.3333, 213.3333}} {
		if v := p.Voices[i]; math.Abs(float64(v.First)-want.start) > 5e-5 || math.Abs(float64(v.End)-want.end) > 5e-5 {
			t.Errorf("%s from %v to %v", v.Name, v.First, v.End)
		}
	}
	if p.Canons[0].At.Exact != "160" {
		t.Errorf("they meet at %v", p.Canons[0].At)
	}
	// 2/3 of 960 units is the onset of note 641, so all six pairs meet there;
	// those with sqrt(31) only there.
	for _, pair := range p.Pairs {
		irrational := pair.A == "III" || pair.B == "III"
		if pair.Proof != plan.Exact || irrational != (pair.Commensurable == "no") {
			t.Errorf("%s with %s: %s, %s", pair.A, pair.B, pair.Commensurable, pair.Proof)
		}
		if m := pair.Meetings; irrational && (m.Count != 1 || m.First.At.Exact != "160" || m.First.NoteA != 641 ||
			m.First.NoteB != 641) {
			t.Errorf("%s with %s meet %d times, %+v", pair.A, pair.B, m.Count, m.First)
		}
		if irrational && pair.Next.Answer != plan.NextNever {
			t.Errorf("%s with %s: next %+v", pair.A, pair.B, pair.Next)
		}
	}
	// 4 and 5 a second share every whole second while both play: from 32 to
	// 223, 192 times.
	if m := p.Pairs[0].Meetings; m.Count != 192 || m.First.At.Exact != "32" || m.Last.At.Exact != "223" {
		t.Errorf("I with II: %+v, %+v, %+v", m.Count, m.First, m.Last)
	}
}

// TestOneCoincidence: a line against itself at sqrt(2), meeting at note 30.
func TestOneCoincidence(t *testing.T) {
	thread := func(name, s string) piece.Voice {
		return voice(name, "3 2 2 (1) 2 2 1", "C3 G3 D4 Bb3 F4", speed(s), notes(6000))
	}
	pair := planOf(t, canon(piece.Point{Kind: piece.AtNote, N: 30}, thread("a", "1"), thread("b", "sqrt(2)")),
		plan.Options{}).Pairs[0]
	if pair.Meetings.Count != 1 || pair.Meetings.First.NoteA != 30 || pair.Meetings.First.NoteB != 30 {
		t.Errorf("meetings %+v", pair.Meetings)
	}
	want := "sqrt(2) is irrational: two lines of rational units at these speeds can coincide at most once, and they do at note 30"
	if pair.Reason != want {
		t.Errorf("reason %q", pair.Reason)
	}
	// Convergents: OEIS A001333 over A000129.
	if got := fmt.Sprint(pair.Convergents); got != "[1 3/2 7/5 17/12 41/29 99/70 239/169 577/408]" {
		t.Errorf("convergents %s", got)
	}
}

// TestNotKnown: whether e/pi is rational nobody knows; its convergents are
// known (OEIS A061360).
func TestNotKnown(t *testing.T) {
	pair := planOf(t, pieceOf(voice("a", "2 1 (1)", "C4 D4", notes(400)),
		voice("b", "2 1 (1)", "C5 D5", speed("e/pi"), notes(400))), plan.Options{}).Pairs[0]
	if pair.Commensurable != "not known" || pair.Next.Answer != plan.NextNotKnown {
		t.Errorf("%s, next %+v", pair.Commensurable, pair.Next)
	}
	if got := fmt.Sprint(pair.Convergents[2:6]); got != "[6/7 13/15 32/37 45/52]" {
		t.Errorf("convergents %s", got)
	}
	// Both begin together, and that one meeting is certain all the same.
	if pair.Meetings.Count != 1 || pair.Meetings.First.NoteA != 1 || pair.Proof != plan.Exact {
		t.Errorf("meetings %+v, %s", pair.Meetings, pair.Proof)
	}
}

// TestClapping: a pattern of 12 quavers, xxx.xx.x.xx., against itself a quaver
// later (Colannino, Gomez, Toussaint, Perspectives of New Music 2009). Strokes
// at 0 1 2 4 5 7 9 10; those one after another are 0-1, 1-2, 4-5 and 9-10: four
// meetings a round.
func TestClapping(t *testing.T) {
	clap := "1 1 2 1 2 2 1 2"
	rounds := func(v *piece.Voice) { v.Extent = piece.Extent{Kind: piece.Taleae, Count: 10} }
	pair := planOf(t, pieceOf(voice("first", clap, "C4", rounds), voice("second", clap, "C4", rounds, at(1, 1))),
		plan.Options{}).Pairs[0]
	if pair.Meetings.Count != 40 || pair.Proof != plan.Exact {
		t.Errorf("%d meetings, %s", pair.Meetings.Count, pair.Proof)
	}
	// Ten rounds end at 120 s, the second voice at 121, when the first would
	// be at stroke 1 of its eleventh and the second at 0.
	if n := pair.Next; n.At == nil || n.At.At.Exact != "121" || n.At.NoteA != 82 || n.At.NoteB != 81 {
		t.Errorf("next %+v", n)
	}
}
