package bench_test

import (
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"rollwright/internal/rollcases"
	"rollwright/making/bench"
	"rollwright/paper/instrument"
)

// The front of a roll whose paper moves down has its start below and its bass at
// the left. Turned over (BACK up) about its length the bass changes sides;
// turned half around, both change.
func TestStartNear(t *testing.T) {
	down := &instrument.Instrument{}
	up := &instrument.Instrument{Paper: instrument.Paper{TravelsUp: true}}
	mirrored := &instrument.Instrument{Paper: instrument.Paper{Bass: instrument.Right}}
	for _, c := range []struct {
		back, right bool
		in          *instrument.Instrument
		near        bool
	}{
		{false, false, down, true}, {false, true, down, false}, {true, true, down, true}, {true, false, down, false},
		{false, false, up, false}, {false, true, up, true},
		{false, true, mirrored, true}, {false, false, mirrored, false},
	} {
		p := &bench.Profile{BackUp: c.back, BassRight: c.right}
		if got := p.StartNear(c.in); got != c.near {
			t.Errorf("back up %t, bass right %t, %+v: near %t", c.back, c.right, c.in.Paper, got)
		}
	}
}

// A rack of nine notches to the inch whose first stands under the sustaining
// port (11.6417 mm, the third place outwards from the lowest note): A0, three
// places on, is at notch 4 when the first is 1; C2, port 18 of the bar, at 19.
func TestRack(t *testing.T) {
	r := rollcases.Rolls(t, twoNotes)[0]
	pl := plan(t, r, profile(t, "rack {\n  offset = 11.6417\n  spacing = 25.4/9\n}\n"))
	// C2 is key 36, 15 above A0: notch 4 + 15.
	if got := pl.Notch(pl.Rows[0].Strokes[0].Port); got != 19 {
		t.Errorf("C2 is at notch %d, want 19", got)
	}
	// From the treble the same place is 285.75 - 62.4417 = 223.3083 from the edge:
	// (223.3083 - 11.6417)/2.82222 = 75 places on.
	pl = plan(t, r, profile(t, "rack {\n  offset = 11.6417\n  spacing = 25.4/9\n  from = \"treble\"\n  first = 0\n}\n"))
	if got := pl.Notch(pl.Rows[0].Strokes[0].Port); got != 75 {
		t.Errorf("C2 is at notch %d, want 75", got)
	}
	_, err := bench.New(r, profile(t, "rack {\n  offset = 12.5\n  spacing = 25.4/9\n}\n"))
	if err == nil || !strings.Contains(err.Error(), "no notch of the rack reaches port 18 (C2)") ||
		!strings.Contains(err.Error(), "0.86 mm beside it") {
		t.Errorf("a rack that is off by 0.86 mm: %v", err)
	}
}

func TestFit(t *testing.T) {
	in, err := instrument.Load("88-note", "")
	if err != nil {
		t.Fatal(err)
	}
	if same, err := profile(t, "").Fit(in); err != nil || same != in {
		t.Error("a bench without a die changes the instrument")
	}
	// Webs between punches 2.2578 mm apart: 2.2578 - 1.75 = 0.5078 is within 0.4 to 0.5715.
	fitted, err := profile(t, "punch {\n  die = 1.75\n}\n").Fit(in)
	if err != nil || fitted.Die.DiameterMM != 1.75 || in.Die.DiameterMM == 1.75 {
		t.Errorf("die %v, %v", fitted, err)
	}
	for die, want := range map[string]string{"1.1": "cannot cut a slot", "2": "leaves webs of 0.26 mm",
		"1.6": "leaves webs of 0.66 mm"} {
		if _, err := profile(t, "punch {\n  die = "+die+"\n}\n").Fit(in); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("die %s: %v, want %q", die, err, want)
		}
	}
}

// A place behind is reached from beyond: the paper never stops while it goes
// back.
func TestReach(t *testing.T) {
	c := bench.Crank{TurnMM: 2, Parts: 20, BeyondTurns: 1}
	for _, m := range []struct {
		from, to int64
		want     []bench.Move
	}{
		{5, 12, []bench.Move{{Parts: 7}}},
		{12, 12, []bench.Move{{}}},
		{47, 12, []bench.Move{{Back: true, Parts: 55}, {Parts: 20}}},
	} {
		if got := c.Reach(m.from, m.to); !slices.Equal(got, m.want) {
			t.Errorf("from %d to %d: %v, want %v", m.from, m.to, got, m.want)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		c := bench.Crank{TurnMM: 1, Parts: rapid.IntRange(1, 500).Draw(t, "parts"),
			BeyondTurns: rapid.IntRange(0, 5).Draw(t, "beyond")}
		from, to := rapid.Int64Range(-1e6, 1e6).Draw(t, "from"), rapid.Int64Range(-1e6, 1e6).Draw(t, "to")
		at, lowest := from, from
		moves := c.Reach(from, to)
		for _, m := range moves {
			if m.Back {
				at -= m.Parts
			} else {
				at += m.Parts
			}
			lowest = min(lowest, at)
		}
		if at != to || moves[len(moves)-1].Back {
			t.Fatalf("%v ends at %d", moves, at)
		}
		if to < from && lowest != to-int64(c.BeyondTurns*c.Parts) {
			t.Fatalf("%v turns around at %d", moves, lowest)
		}
	})
}

func TestSplit(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := bench.Crank{TurnMM: 1, Parts: rapid.IntRange(1, 1000).Draw(t, "parts")}
		n := rapid.Int64Range(-1e12, 1e12).Draw(t, "n")
		turns, parts := c.Split(n)
		if turns*int64(c.Parts)+parts != n || parts < 0 || parts >= int64(c.Parts) {
			t.Fatalf("%d of %d: %d and %d", n, c.Parts, turns, parts)
		}
	})
}

// No counter shows a number below zero: -4 parts of a dial of twenty are a turn
// back, then 16 parts on.
func TestCounter(t *testing.T) {
	dial, ratchet := bench.Crank{TurnMM: 2, Parts: 20}, bench.Crank{TurnMM: 0.5, Parts: 1}
	for _, c := range []struct {
		crank  bench.Crank
		parts  int64
		stands string
	}{
		{dial, 47, "crank 2 + 07"}, {dial, 0, "crank 0 + 00"},
		{dial, -4, "crank one turn before 0, dial at 16"}, {dial, -20, "crank one turn before 0, dial at 00"}, {dial, -21, "crank 2 turns before 0, dial at 19"},
		{ratchet, 19, "click 19"}, {ratchet, 0, "click 0"}, {ratchet, -1, "1 click before 0"}, {ratchet, -4, "4 clicks before 0"},
	} {
		if got := c.crank.Stands(c.crank.Split(c.parts)); got != c.stands {
			t.Errorf("%d parts of %s: %q, want %q", c.parts, c.crank.Describe(), got, c.stands)
		}
	}
}
