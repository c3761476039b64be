package plan_test

import (
	"bytes"
	"encoding/json"
	"math"
	"strings"
	"testing"

	"rollwright/exact"
	"rollwright/music/perform"
	"rollwright/music/piece"
	"rollwright/music/plan"
)

func path(legs ...piece.Leg) func(*piece.Voice) {
	return func(v *piece.Voice) { v.Path = legs }
}

func leg(from, to string, over int64, shape piece.Shape) piece.Leg {
	return piece.Leg{From: exact.MustParse(from), To: exact.MustParse(to), HasFrom: true, HasTo: true,
		OverUnits: exact.Int(over), Shape: shape}
}

// TestNext: where two lines meet after the end, by hand.
func TestNext(t *testing.T) {
	for _, test := range []struct {
		name         string
		a, b         piece.Voice
		answer       string
		exact        string
		noteA, noteB int64
	}{
		// Every 3 s and every 2 s; the piece ends at 12, where both come round.
		{"at the end", voice("a", "3", "C4", notes(4)), voice("b", "2", "C4", notes(6)), plan.NextAt, "12", 5, 7},
		// It ends at 15: the next multiple of 6 is 18.
		{"later", voice("a", "3", "C4", notes(5)), voice("b", "2", "C4", notes(2)), plan.NextAt, "18", 7, 10},
		// Every 2 s, and every 2 s from 1 s on.
		{"never: parity", voice("a", "2", "C4", notes(4)), voice("b", "2", "C4", notes(4), at(1, 1)), plan.NextNever, "", 0, 0},
		// a at 0 of 4, b at 1 and 3 of 4 (its talea begins silent).
		{"never: taleae", voice("a", "1 (3)", "C4"), voice("b", "(1) 1 (1) 1", "C4"), plan.NextNever, "", 0, 0},
		// Thirds from 0, halves from 1/6: together at 2/3, 5/3, ...; the piece
		// ends at 5/3.
		{"grid between", voice("a", "1/3", "C4", notes(4)), voice("b", "1/2", "C4", notes(3), at(1, 6)), plan.NextAt, "5/3", 6, 4},
		{"irrational", voice("a", "1", "C4", notes(4)), voice("b", "1", "C4", speed("sqrt(2)"), notes(4)), plan.NextNever, "", 0, 0},
		{"path", voice("a", "1", "C4", path(leg("60", "90", 8, piece.Geometric)), notes(4)), voice("b", "1", "C4", notes(4)), plan.NextNotComputed, "", 0, 0},
		{"changing", voice("a", "1", "C4", notes(4), func(v *piece.Voice) { v.PerTalea.StretchEach = exact.Frac(2, 1) }), voice("b", "1", "C4", notes(4)), plan.NextNotComputed, "", 0, 0},
	} {
		t.Run(test.name, func(t *testing.T) {
			next := planOf(t, pieceOf(test.a, test.b), plan.Options{}).Pairs[0].Next
			if next.Answer != test.answer || next.Reason == "" {
				t.Fatalf("got %+v", next)
			}
			if test.answer == plan.NextAt && (next.At.At.Exact != test.exact || next.At.NoteA != test.noteA ||
				next.At.NoteB != test.noteB) {
				t.Errorf("got %+v", next.At)
			}
		})
	}
}

// TestOnlyMeetingAfterTheEnd: two irrational lines are on their way to their
// only meeting when the piece stops. b plays 20 notes, each sqrt(2)/2 s, and is
// placed so that its note 31 would fall on note 41 of a, at 40 s.
func TestOnlyMeetingAfterTheEnd(t *testing.T) {
	a := voice("a", "1", "C4", notes(60))
	b := voice("b", "1", "C5", speed("sqrt(2)"), notes(31))
	b.Place = piece.Place{Kind: piece.MeetWith, Ref: piece.Ref{Voice: 0, Canon: -1},
		Mine: piece.Point{Kind: piece.AtUnit, X: exact.Int(30)}, Theirs: piece.Point{Kind: piece.AtUnit, X: exact.Int(40)}}
	a.Extent.Count, b.Extent.Count = 30, 20
	pair := planOf(t, pieceOf(a, b), plan.Options{}).Pairs[0]
	if pair.Meetings.Count != 0 || pair.Next.Answer != plan.NextAt {
		t.Fatalf("meetings %+v, next %+v", pair.Meetings, pair.Next)
	}
	if m := pair.Next.At; m.At.Exact != "40" || m.NoteA != 41 || m.NoteB != 31 {
		t.Errorf("next %+v", m)
	}
	if !strings.Contains(pair.Reason, "when a has ended and when b has ended") {
		t.Errorf("reason %q", pair.Reason)
	}
}

// TestSharedPath: voices on one tempo path meet where their units do, exactly.
func TestSharedPath(t *testing.T) {
	rising := path(leg("60", "240", 32, piece.Geometric))
	pair := planOf(t, pieceOf(voice("a", "3", "C4", rising, notes(10)), voice("b", "2", "C5", rising, notes(15))),
		plan.Options{}).Pairs[0]
	if pair.Proof != plan.Exact || pair.Meetings.Count != 5 { // units 0 6 12 18 24
		t.Errorf("%s, %d meetings", pair.Proof, pair.Meetings.Count)
	}
	if len(pair.EqualSpeeds) != 1 || pair.EqualSpeeds[0].From != 0 {
		t.Errorf("equal speeds %+v", pair.EqualSpeeds)
	}
}

// TestEqualInstant: from 60 to 240 in equal ratios passes 120 halfway, at unit
// 16 of 32; there a voice at 120 is as fast.
func TestEqualInstant(t *testing.T) {
	p := planOf(t, pieceOf(
		voice("rising", "1", "C4", path(leg("60", "240", 32, piece.Geometric)), notes(32)),
		voice("even", "1", "C5", tempo("120"), notes(60)),
		voice("falling", "1", "C5", path(leg("240", "60", 32, piece.PerSecond)), notes(32)),
	), plan.Options{})
	// t = 60*B/(T0*ln k) * (1 - k^(-b/B)) with B 32, T0 60, k 4, b 16.
	sec := 32 / math.Log(4) * (1 - 0.5)
	equal := p.Pairs[0].EqualSpeeds
	if len(equal) != 1 || math.Abs(float64(equal[0].From)-sec) > 1e-6 || equal[0].UnitA != 16 {
		t.Errorf("rising and even: %+v, want %v", equal, sec)
	}
	// Falling by equal steps a second, 240 to 60 in 12.8 s (2*32*60/300), is at
	// 120 after two thirds of that time.
	equal = p.Pairs[2].EqualSpeeds
	if len(equal) != 1 || math.Abs(float64(equal[0].From)-12.8*2/3) > 1e-6 {
		t.Errorf("even and falling: %+v", equal)
	}
}

// TestJump: a tempo that jumps past another is not equal to it.
func TestJump(t *testing.T) {
	p := planOf(t, pieceOf(
		voice("steps", "1", "C4", path(leg("60", "60", 10, piece.Geometric), leg("120", "120", 10, piece.Geometric)),
			notes(20)),
		voice("even", "1", "C5", tempo("90"), notes(30)),
	), plan.Options{})
	equal := p.Pairs[0].EqualSpeeds
	if len(equal) != 1 || !equal[0].Jump || equal[0].From != 10 {
		t.Errorf("got %+v", equal)
	}
}

// TestTable: 4 pitches on 6 durations share the factor 2: C and E are only ever
// on the first, third and fifth, which are 3 1 2.
func TestTable(t *testing.T) {
	v := planOf(t, pieceOf(voice("v", "3 5 1 5 (1) 2 5", "C4 D4 E4 F4")), plan.Options{}).Voices[0]
	for i, want := range [][]plan.Get{
		{{1, "3", 1}, {3, "1", 1}, {6, "2", 1}},
		{{2, "5", 1}, {4, "5", 1}, {7, "5", 1}},
		{{1, "3", 1}, {3, "1", 1}, {6, "2", 1}},
		{{2, "5", 1}, {4, "5", 1}, {7, "5", 1}},
	} {
		row := v.Table[i]
		if len(row.Gets) != len(want) {
			t.Fatalf("%s gets %+v", row.Pitch, row.Gets)
		}
		for k := range want {
			if row.Gets[k] != want[k] {
				t.Errorf("%s gets %+v", row.Pitch, row.Gets)
			}
		}
	}
}

// TestTableNote: statements that change are not the table's.
func TestTableNote(t *testing.T) {
	v := voice("v", "2 1", "C4 D4 E4", func(v *piece.Voice) {
		v.PerTalea.StretchEach = exact.Frac(2, 3)
		v.PerColor.Transpose = []int{0, 5}
	})
	if note := planOf(t, pieceOf(v), plan.Options{}).Voices[0].TableNote; note != "pitches and durations of a first statement; later ones change" {
		t.Errorf("note %q", note)
	}
}

// TestUnfinished: a voice that stops early says what the whole would be.
func TestUnfinished(t *testing.T) {
	v := planOf(t, pieceOf(voice("v", ones(6), members(7), notes(20))), plan.Options{}).Voices[0]
	if c := v.Complete; c.Is || c.Notes != 42 || c.Seconds.Exact != "42" || c.Times.Exact != "10/21" {
		t.Errorf("complete %+v", c)
	}
	if v.Talea.Statements.Exact != "10/3" || v.Color.Statements.Exact != "20/7" {
		t.Errorf("statements %v and %v", v.Talea.Statements, v.Color.Statements)
	}
}

// TestBackwardLag: in a canon turned backward statements run from last to
// first; the lag is still between the same items.
func TestBackwardLag(t *testing.T) {
	back := func(name, s string) piece.Voice {
		return voice(name, "2 1", "C4 D4 E4", speed(s), func(v *piece.Voice) { v.Backward = true })
	}
	lag := planOf(t, canon(piece.Point{}, back("a", "1"), back("b", "2")), plan.Options{}).Pairs[0].Lag
	want := []string{"0", "0", "3/2", "3", "9/2"} // meet, 1, 2, 3, end: 9 units a, 4.5 s b
	for i, row := range lag.Rows {
		if row.Lag.Exact != want[i] {
			t.Errorf("row %s: lag %v, want %s", row.Place, row.Lag, want[i])
		}
	}
	if len(lag.Rows) != 5 || lag.Rows[4].Behind != "a" || lag.Rows[4].Units.Exact != "9/2" {
		t.Errorf("rows %+v", lag.Rows)
	}
}

// TestShift: a voice that would begin before 0 moves everything.
func TestShift(t *testing.T) {
	a := voice("a", "1", "C4", notes(3))
	b := voice("b", "1", "C5", notes(5))
	b.Place = piece.Place{Kind: piece.MeetAt, At: exact.Int(3), Mine: piece.Point{Kind: piece.AtEnd}}
	p := planOf(t, pieceOf(a, b), plan.Options{})
	if p.Shift.By.Exact != "2" || p.Shift.Voice != "b" || p.Voices[0].First != 2 {
		t.Errorf("shift %+v, a begins at %v", p.Shift, p.Voices[0].First)
	}
}

// TestDensity: 12 notes a second for 5 s, then silence to 15 s but for one.
func TestDensity(t *testing.T) {
	d := planOf(t, pieceOf(voice("fast", "1/12", "C4", notes(60)), voice("late", "1", "C4", notes(1), at(14, 1))),
		plan.Options{}).Density
	if d.Bin != 0.5 || len(d.Counts) != 30 || d.Counts[0] != 6 || d.Counts[10] != 0 || d.Counts[28] != 1 {
		t.Errorf("density %+v", d)
	}
	if d.PeakRate != 12 || d.PeakBin != 0 || d.Busiest != 12 || d.From != 0 || math.Abs(d.Mean-61.0/15) > 1e-12 {
		t.Errorf("density %+v", d)
	}
}

// TestBounds: what is not compared is said.
func TestBounds(t *testing.T) {
	p := pieceOf(voice("a", "1", "C4", notes(50)), voice("b", "1", "C4", notes(50)), voice("c", "1", "C4", notes(50)))
	few := planOf(t, p, plan.Options{MaxVoices: 2})
	if len(few.Pairs) != 1 || !strings.Contains(few.NotCompared, "first 2 of 3 voices") {
		t.Errorf("%d pairs, %q", len(few.Pairs), few.NotCompared)
	}
	short := planOf(t, p, plan.Options{Steps: 150})
	if len(short.Pairs) != 1 || !strings.Contains(short.NotCompared, "2 pairs") {
		t.Errorf("%d pairs, %q", len(short.Pairs), short.NotCompared)
	}
}

// TestEmpty: a piece without voices has a plan.
func TestEmpty(t *testing.T) {
	p := plan.New(&perform.Performance{Piece: &piece.Piece{}, ShiftVoice: -1}, plan.Options{})
	var text, data bytes.Buffer
	if err := plan.WriteText(&text, p, plan.TextOptions{}); err != nil {
		t.Fatal(err)
	}
	if err := plan.WriteJSON(&data, p); err != nil {
		t.Fatal(err)
	}
	if !json.Valid(data.Bytes()) || strings.Contains(data.String(), "NaN") {
		t.Errorf("json: %s", data.String())
	}
}

// A title of any length is underlined within the width of a terminal.
func TestLongTitle(t *testing.T) {
	p := read(t, "7x6")
	for title, want := range map[string]string{
		"Weft": "Weft\n====\n",
		" ":    "Without title\n=============\n",
		strings.Repeat("wärp ", 30): strings.Repeat("wärp ", 15) + "wärp\n" + strings.Repeat("wärp ", 13) + "wärp\n" +
			strings.Repeat("=", 79) + "\n",
		strings.Repeat("w", 100) + " x": strings.Repeat("w", 100) + "\nx\n" + strings.Repeat("=", 80) + "\n",
	} {
		var text bytes.Buffer
		p.Title = title
		if err := plan.WriteText(&text, p, plan.TextOptions{}); err != nil {
			t.Fatal(err)
		}
		if !strings.HasPrefix(text.String(), want) {
			t.Errorf("%q: %.250q, want %q", title, text.String(), want)
		}
	}
}
