package roll

import (
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"rollwright/paper/instrument"
)

// plainChain is an instrument with round numbers: die 2 mm, slots every 1 mm,
// webs 0.5 mm wide (2.5 mm between centres), 0.4 mm at least, 4 mm open first.
func plainChain(step float64, bridged bool) *instrument.Instrument {
	return &instrument.Instrument{
		Die:    instrument.Die{DiameterMM: 2},
		StepMM: step,
		Chain:  instrument.Chain{Bridged: bridged, SlotSpacingMM: 1, BridgeSpacingMM: 2.5, WebMinMM: 0.4, OpenFirstMM: 4},
	}
}

func TestChain(t *testing.T) {
	tests := []struct {
		name        string
		step        float64
		bridged     bool
		first, last float64
		want        []float64
	}{
		{"one punch", 0, true, 1, 1, []float64{1}},
		// 2.1/1 needs 3 spaces of 0.7.
		{"slot", 0, false, 1, 3.1, []float64{1, 1.7, 2.4, 3.1}},
		{"slot, spaces come out even", 0, false, 1, 4, []float64{1, 2, 3, 4}},
		// 0.3 mm rows: floor(1/0.3) = 3 rows = 0.9 mm, then what is left.
		{"slot in rows", 0.3, false, 3, 5.1, []float64{3, 3.9, 4.8, 5.1}},
		// Open over 4-2 = 2 mm, then every 2.5; 2.4 mm are left at the end, which is 2+0.4: a web of 0.4.
		{"bridged, a web at the end", 0, true, 0, 9.4, []float64{0, 1, 2, 4.5, 7, 9.4}},
		// 2.3 mm are left: less than 2.4, so three overlapping punches.
		{"bridged, a slot at the end", 0, true, 0, 9.3, []float64{0, 1, 2, 4.5, 7, 7 + 2.3/3, 7 + 4.6/3, 9.3}},
		{"bridged, nothing left", 0, true, 0, 7, []float64{0, 1, 2, 4.5, 7}},
		{"bridged, shorter than the opening", 0, true, 0, 1.5, []float64{0, 0.75, 1.5}},
		// 0.4 mm rows: slots 2 rows, webs floor(2.5/0.4) = 6 rows, open 5 rows, last web from 6 rows (2.4 mm).
		// Rows 0 2 4 5, 11, 17, then 5 rows are left: 19 21 22.
		{"bridged in rows", 0.4, true, 0, 8.8, []float64{0, 0.8, 1.6, 2, 4.4, 6.8, 7.6, 8.4, 8.8}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			r := &Roll{Instrument: plainChain(tt.step, tt.bridged)}
			s := Slot{FirstMM: tt.first, LastMM: tt.last}
			got := slices.Collect(r.Punches(&s))
			same := slices.EqualFunc(got, tt.want, func(a, b float64) bool { return math.Abs(a-b) < 1e-9 })
			if !same {
				t.Errorf("punches %v, want %v", got, tt.want)
			}
		})
	}
}

func TestRows(t *testing.T) {
	// Halfway between rows is the later one, and arithmetic's noise does not decide it: 0.15/0.1 is 1.4999999999999998.
	for _, tt := range []struct {
		mm, q           float64
		nearest, before int64
	}{
		{0.15, 0.1, 2, 1}, {-0.15, 0.1, -1, -2}, {0.1499, 0.1, 1, 1}, {0.3, 0.1, 3, 3}, {-0.3, 0.1, -3, -3}, {25.4, 25.4 / 45, 45, 45},
	} {
		if got := nearestRow(tt.mm, tt.q); got != tt.nearest {
			t.Errorf("nearestRow(%v, %v) = %d, want %d", tt.mm, tt.q, got, tt.nearest)
		}
		if got := rowBefore(tt.mm, tt.q); got != tt.before {
			t.Errorf("rowBefore(%v, %v) = %d, want %d", tt.mm, tt.q, got, tt.before)
		}
	}
}

// TestChainLeavesNoSliver: two neighbouring holes overlap or leave a web that
// holds and does not shut the port; first and last stand where they should;
// as many are walked as counted; the longest open stretch is what a walk
// finds.
func TestChainLeavesNoSliver(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := plainChain(rapid.SampledFrom([]float64{0, 0.1, 0.25, 0.5, 0.4}).Draw(t, "step"),
			rapid.Bool().Draw(t, "bridged"))
		d := NewDie(in)
		first := d.Centre(rapid.Float64Range(-100, 1e5).Draw(t, "first"))
		last := max(first, d.Centre(first+rapid.Float64Range(0, 60).Draw(t, "length")))
		r, s := &Roll{Instrument: in}, Slot{FirstMM: first, LastMM: last, LeadMM: first - 1, TrailMM: last + 1}
		got := slices.Collect(r.Punches(&s))
		if c := d.chain(first, last); c.punches() != len(got) {
			t.Fatalf("%d punches walked, %d counted", len(got), c.punches())
		}
		if math.Abs(got[0]-first) > 1e-6 || math.Abs(got[len(got)-1]-last) > 1e-6 {
			t.Fatalf("from %v to %v, want %v to %v", got[0], got[len(got)-1], first, last)
		}
		longest, begin := 0.0, got[0]
		for i := 1; i < len(got); i++ {
			apart := got[i] - got[i-1]
			if apart <= 0 || apart > 2.5+1e-6 || apart >= 2 && apart < 2.4-1e-6 || !in.Chain.Bridged && apart > 1+1e-6 {
				t.Fatalf("centres %v apart at %v", apart, got[i])
			}
			if apart >= 2 {
				longest, begin = max(longest, got[i-1]-begin+2), got[i]
			}
		}
		longest = max(longest, got[len(got)-1]-begin+2)
		if open := r.LongestOpenMM(&s); math.Abs(open-longest) > 1e-6 {
			t.Fatalf("longest open %v, want %v", open, longest)
		}
	})
}

func TestAppendMM(t *testing.T) {
	for mm, want := range map[float64]string{
		0: "0.0000", -0.00004: "0.0000", -0.00006: "-0.0001", 0.00005: "0.0001", 12345.67894: "12345.6789",
		-7: "-7.0000", 1.7272: "1.7272", 0.1: "0.1000", -0.0312: "-0.0312",
	} {
		if got := string(AppendMM(nil, mm)); got != want {
			t.Errorf("AppendMM(%v) = %s, want %s", mm, got, want)
		}
	}
}
