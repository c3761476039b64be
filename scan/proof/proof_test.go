package proof

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"

	"rollwright/internal/long"
	"rollwright/paper/roll"
)

// TestPlantedDefects: in rolls that are like themselves in many places, on paper
// that has suffered in one way or another, every planted defect is found and
// named rightly, and at most one in a thousand slots is called wrong that is not.
func TestPlantedDefects(t *testing.T) {
	in := builtin(t, "88-note")
	for _, tt := range []struct {
		name     string
		lengthMM float64
		voices   int
		worn     worn
	}{
		{"as it is", 8000, 4, worn{}},
		{"read", 8000, 4, worn{noise: 0.08}},
		{"shrunk", 30000, 5, worn{noise: 0.08, stretch: -0.01, offset: 431}},
		{"grown and breathing", 12000, 4, worn{noise: 0.08, stretch: 0.008, breathe: 0.004}},
		{"a splice", 12000, 4, worn{noise: 0.08, stretch: 0.004, cuts: []cut{{5011, 137}}}},
		{"two splices, one with blank paper", 12000, 4, worn{noise: 0.08, stretch: -0.004, cuts: []cut{{3011, 840}, {7200, -55}}}},
		{"slipped", 12000, 4, worn{noise: 0.08, stretch: 0.002, cuts: []cut{{6011, 2.2}}}},
		{"without its beginning", 12000, 4, worn{noise: 0.08, stretch: 0.006, from: 3900, offset: -3900}},
		{"without its end", 12000, 4, worn{noise: 0.08, stretch: 0.006, to: 7000}},
		{"one voice", 12000, 1, worn{noise: 0.08, stretch: 0.01, cuts: []cut{{5011, 300}}}},
		{"everything", 20000, 6, worn{noise: 0.1, stretch: 0.009, breathe: 0.003, from: 2100, to: 18200, offset: -1900, cuts: []cut{{6011, 3.1}, {9000, 512}, {14000, -20}}}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			slots, found, wanted, wrong := 0, 0, 0, 0
			for seed := range uint64(4) {
				plan := cyclic(in, seed, tt.lengthMM, tt.voices)
				spoiled, done := plant(plan, seed, 23)
				r, err := Compare(plan, tt.worn.scan(spoiled, seed), Options{})
				if err != nil {
					t.Fatal(err)
				}
				f, w, x := judged(t, r, done, tt.worn)
				slots, found, wanted, wrong = slots+len(plan.Slots), found+f, wanted+w, wrong+x
				if len(r.Jumps) != len(tt.worn.cuts) {
					t.Errorf("seed %d: jumps %+v, want %d", seed, r.Jumps, len(tt.worn.cuts))
				}
			}
			t.Logf("%d slots, %d of %d planted found, %d false", slots, found, wanted, wrong)
			if found < wanted || 1000*wrong > slots {
				t.Errorf("%d of %d planted found, %d false in %d slots", found, wanted, wrong, slots)
			}
		})
	}
}

// TestOneByOne: one defect in a roll, of each kind and in many places, is named rightly,
// and nothing else is. Its long series plants two thousand.
func TestOneByOne(t *testing.T) {
	in := builtin(t, "88-note")
	w := worn{noise: 0.08, stretch: 0.006, breathe: 0.003}
	var count [Kinds]int
	slots, wrong := 0, 0
	for n := range uint64(long.Of(200, 2000)) {
		plan := cyclic(in, n%5, 6000, 4)
		third := len(plan.Slots)/3 + 1
		at := third + int(n*37)%(len(plan.Slots)-third-20)
		spoiled, done := plant(plan, n, 2*at) // the next would lie beyond the roll
		if len(done) == 0 {
			continue // no room for this kind there
		}
		r, err := Compare(plan, w.scan(spoiled, n), Options{})
		if err != nil {
			t.Fatal(err)
		}
		found, wanted, x := judged(t, r, done, w)
		if found != wanted {
			t.Errorf("%v at %.1f mm: %s", done[0].kind, done[0].at, kinds(r))
		}
		count[done[0].kind]++
		slots, wrong = slots+len(plan.Slots), wrong+x
	}
	t.Logf("planted %v, %d false in %d slots", count, wrong, slots)
	if 1000*wrong > slots {
		t.Errorf("%d false in %d slots", wrong, slots)
	}
	for kind, n := range count {
		if n < 2 {
			t.Errorf("%v was planted %d times", Kind(kind), n)
		}
	}
}

// kinds is what is found, in words short enough to read.
func kinds(r *Result) string {
	var out []string
	for i := range r.Differences {
		d := &r.Differences[i]
		text := fmt.Sprintf("%v %d", d.Kind, d.Port+1)
		if len(d.Plan) > 0 {
			text += fmt.Sprintf(" %.1f-%.1f", d.LeadMM, d.TrailMM)
		}
		if len(d.Found) > 0 {
			text += fmt.Sprintf(" as %.1f-%.1f", d.FoundLeadMM, d.FoundTrailMM)
		}
		out = append(out, text)
	}
	return strings.Join(out, "; ")
}

// TestRules, by hand: a ladder of slots on other ports holds the paper in place,
// a slot every 10 mm, and port 50 (index 49) is the one that differs.
func TestRules(t *testing.T) {
	in := builtin(t, "88-note")
	type edges [2]float64
	for _, tt := range []struct {
		name        string
		plan, found []edges
		want        string
	}{
		{"as planned", []edges{{100, 110}}, []edges{{100.4, 109.6}}, ""},
		{"missing", []edges{{100, 110}}, nil, "missing 50 100.0-110.0"},
		{"extra", nil, []edges{{100, 110}}, "extra 50 as 100.0-110.0"},
		{"both edges, one way", []edges{{100, 110}}, []edges{{101, 111}}, "shifted 50 100.0-110.0 as 101.0-111.0"},
		{"both edges, unequally by less than the tolerance", []edges{{100, 110}}, []edges{{101, 111.4}}, "shifted 50 100.0-110.0 as 101.0-111.4"},
		{"both edges, unequally", []edges{{100, 110}}, []edges{{101, 112}}, "long 50 100.0-110.0 as 101.0-112.0"},
		{"both edges, towards each other", []edges{{100, 110}}, []edges{{101, 109}}, "short 50 100.0-110.0 as 101.0-109.0"},
		{"one edge, shorter", []edges{{100, 110}}, []edges{{100, 109}}, "short 50 100.0-110.0 as 100.0-109.0"},
		{"one edge, longer", []edges{{100, 110}}, []edges{{98, 110}}, "long 50 100.0-110.0 as 98.0-110.0"},
		{"a punch, moved beside itself", []edges{{100, 101.7}}, []edges{{103, 104.7}}, "shifted 50 100.0-101.7 as 103.0-104.7"},
		{"moved just so far", []edges{{100, 101.7}}, []edges{{104, 105.7}}, "shifted 50 100.0-101.7 as 104.0-105.7"},
		{"moved too far", []edges{{100, 101.7}}, []edges{{104.2, 105.9}}, "missing 50 100.0-101.7; extra 50 as 104.2-105.9"},
		{"moved too far, overlapping", []edges{{100, 120}}, []edges{{105, 125}}, "missing 50 100.0-120.0; extra 50 as 105.0-125.0"},
		{"of another length beside it", []edges{{100, 101.7}}, []edges{{102, 106}}, "missing 50 100.0-101.7; extra 50 as 102.0-106.0"},
		{"a stroke that answers to another", []edges{{100, 101.7}, {105, 106.7}}, []edges{{105, 106.7}}, "missing 50 100.0-101.7"},
		{"a stroke between", []edges{{100, 101.7}, {110, 111.7}}, []edges{{100, 101.7}, {104, 105.7}, {110, 111.7}}, "extra 50 as 104.0-105.7"},
		{"joined", []edges{{100, 104}, {107, 111}}, []edges{{100, 111}}, "joined 50 100.0-111.0 as 100.0-111.0"},
		{"three joined", []edges{{100, 104}, {107, 111}, {113, 117}}, []edges{{100, 117}}, "joined 50 100.0-117.0 as 100.0-117.0"},
		{"split", []edges{{100, 110}}, []edges{{100, 103}, {106, 110}}, "split 50 100.0-110.0 as 100.0-110.0"},
		{"split, and short", []edges{{100, 110}}, []edges{{100, 103}, {106, 108}}, "split 50 100.0-110.0 as 100.0-108.0"},
		{"one too long, the next too late", []edges{{100, 104}, {107, 117}}, []edges{{100, 111}, {113, 117}}, "long 50 100.0-104.0 as 100.0-111.0; short 50 107.0-117.0 as 113.0-117.0"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			rolls := [2]*roll.Roll{}
			for i, list := range [][]edges{tt.plan, tt.found} {
				r := &roll.Roll{Instrument: in}
				for k := range 30 {
					r.Slots = append(r.Slots, slotAt(int32(10+k), float64(k)*10, float64(k)*10+4))
				}
				for _, e := range list {
					r.Slots = append(r.Slots, slotAt(49, e[0], e[1]))
				}
				r.Sort()
				rolls[i] = r
			}
			r, err := Compare(rolls[0], rolls[1], Options{})
			if err != nil {
				t.Fatal(err)
			}
			if got := kinds(r); got != tt.want {
				t.Errorf("%s, want %s", got, tt.want)
			}
			n := r.Same + r.Count[Missing] + r.Count[Shifted] + r.Count[Short] + r.Count[Long] + r.Count[Split]
			if r.Count[Joined] == 0 && n != len(rolls[0].Slots) {
				t.Errorf("%d slots of the plan are accounted for, of %d", n, len(rolls[0].Slots))
			}
		})
	}
}

func slotAt(port int32, lead, trail float64) roll.Slot {
	return roll.Slot{Port: port, LeadMM: lead, TrailMM: trail}
}

// TestAPieceOfTheRoll: a photograph of a metre and a half somewhere in the roll
// finds its place, and what lies outside is counted as such.
func TestAPieceOfTheRoll(t *testing.T) {
	in := builtin(t, "88-note")
	plan := cyclic(in, 3, 9000, 4)
	w := worn{noise: 0.08, stretch: 0.006, from: 4200, to: 5700, offset: -4200}
	r, err := Compare(plan, w.scan(plan, 1), Options{})
	if err != nil {
		t.Fatal(err)
	}
	if r.Before == 0 || r.After == 0 || len(r.Differences) != r.Before+r.After || r.FromMM < 4200 || r.ToMM > 5700 {
		t.Errorf("from %.1f to %.1f mm: %d before, %d after, of %v", r.FromMM, r.ToMM, r.Before, r.After, r.Count)
	}
}

// TestSmallRolls: with a handful of slots there is little to hold on to, and still
// the one that is missing is the one that is named.
func TestSmallRolls(t *testing.T) {
	in := builtin(t, "88-note")
	for n := 1; n < 12; n++ {
		for gone := -1; gone < n && n > 1; gone++ {
			plan, scan := &roll.Roll{Instrument: in}, &roll.Roll{Instrument: in}
			for k := range n {
				s := slotAt(int32(20+k*7%11), float64(k*k)*5, float64(k*k)*5+3)
				plan.Slots = append(plan.Slots, s)
				if k != gone {
					scan.Slots = append(scan.Slots, slotAt(s.Port, s.LeadMM*1.004+17, s.TrailMM*1.004+17))
				}
			}
			r, err := Compare(plan, scan, Options{})
			if err != nil {
				t.Fatalf("%d slots, less %d: %v", n, gone, err)
			}
			want := min(gone+1, 1)
			if len(r.Differences) != want || want == 1 && (r.Differences[0].Kind != Missing ||
				int(r.Differences[0].Plan[0]) != gone) {
				t.Errorf("%d slots, less %d: %s", n, gone, kinds(r))
			}
		}
	}
}

// TestNotTheSameRoll: another piece, nothing at all, and the right one the wrong
// way round cannot be compared, and the last is said.
func TestNotTheSameRoll(t *testing.T) {
	in := builtin(t, "88-note")
	plan, other := cyclic(in, 1, 6000, 4), cyclic(in, 77, 6000, 4)
	back := &roll.Roll{Instrument: in}
	turned := &roll.Roll{Instrument: in}
	for _, s := range plan.Slots {
		back.Slots = append(back.Slots, slotAt(int32(len(in.Bar.Ports))-1-s.Port, s.LeadMM, s.TrailMM))
		turned.Slots = append(turned.Slots, slotAt(s.Port, 7000-s.TrailMM, 7000-s.LeadMM))
	}
	back.Sort()
	turned.Sort()
	for _, tt := range []struct {
		name                string
		scan                *roll.Roll
		mirrored, backwards bool
	}{
		{"another piece", other, false, false}, {"nothing", &roll.Roll{Instrument: in}, false, false},
		{"the back", back, true, false}, {"from its end", turned, false, true},
	} {
		_, err := Compare(plan, tt.scan, Options{})
		var e *UnlikeError
		if !errors.As(err, &e) || e.Mirrored != tt.mirrored || e.Backwards != tt.backwards {
			t.Errorf("%s: %+v", tt.name, e)
		}
	}
	if r, err := Compare(&roll.Roll{Instrument: in}, &roll.Roll{Instrument: in}, Options{}); err != nil ||
		len(r.Differences) > 0 {
		t.Errorf("two empty rolls: %v", err)
	}
}

// TestThereAndBack: ToScan turns ToPlan round.
func TestThereAndBack(t *testing.T) {
	in := builtin(t, "88-note")
	plan := cyclic(in, 5, 9000, 4)
	w := worn{noise: 0.05, stretch: 0.008, breathe: 0.003, cuts: []cut{{4000, 210}}}
	r, err := Compare(plan, w.scan(plan, 1), Options{})
	if err != nil {
		t.Fatal(err)
	}
	for mm := -100.0; mm < 9200; mm += 37 {
		if mm > 3990 && mm < 4220 {
			continue // lost, or next to it
		}
		if back := r.Map.ToPlan(r.Map.ToScan(mm)); math.Abs(back-mm) > 1e-5 {
			t.Errorf("%.1f mm comes back as %.6f", mm, back)
		}
	}
	// In what was lost there is only the splice.
	if a, b := r.Map.ToScan(4050), r.Map.ToScan(4150); math.Abs(a-b) > 1 {
		t.Errorf("places in the lost stretch lie at %.1f and %.1f", a, b)
	}
}

// BenchmarkProof30m: a roll of 30 m, 20,000 slots.
func BenchmarkProof30m(b *testing.B) {
	in := builtin(b, "88-note")
	plan := cyclic(in, 9, 30000, 9)
	spoiled, _ := plant(plan, 9, 101)
	scan := worn{noise: 0.08, stretch: 0.009, breathe: 0.002, cuts: []cut{{12000, 300}}}.scan(spoiled, 9)
	b.ReportMetric(float64(len(plan.Slots)), "slots")
	for b.Loop() {
		if _, err := Compare(plan, scan, Options{}); err != nil {
			b.Fatal(err)
		}
	}
}

// TestWriteCSV, by hand.
func TestWriteCSV(t *testing.T) {
	in := builtin(t, "88-note")
	plan := &roll.Roll{Instrument: in, Voices: []string{"low", "x,y"}}
	scan := &roll.Roll{Instrument: in}
	for k := range 12 {
		s := slotAt(int32(20+k), float64(k)*10, float64(k)*10+4)
		s.Causes.First = roll.Cause{Voice: 0, Note: int32(k + 1)}
		if k == 5 {
			s.Causes.More = []roll.Cause{{Voice: 1, Note: 3}}
		}
		plan.Slots = append(plan.Slots, s)
		if k == 7 {
			s.TrailMM -= 1.5
		}
		if k != 5 {
			scan.Slots = append(scan.Slots, s)
		}
	}
	scan.Slots = append(scan.Slots, slotAt(0, 42, 44))
	scan.Sort()
	r, err := Compare(plan, scan, Options{})
	if err != nil {
		t.Fatal(err)
	}
	var out strings.Builder
	if err := r.WriteCSV(&out); err != nil {
		t.Fatal(err)
	}
	want := `kind,port,key,lead_mm,trail_mm,found_lead_mm,found_trail_mm,voice,note
extra,1,,,,42.0000,44.0000,,
missing,26,44,50.0000,54.0000,,,"low+x,y",6+3
short,28,46,70.0000,74.0000,70.0000,72.5000,low,8
`
	if out.String() != want {
		t.Errorf("%s\nwant\n%s", out.String(), want)
	}
}

// TestOnlyWhatIsLost: at a splice the slots that lay in what is lost are missing, and
// nothing else is said, whatever the paper did besides.
func TestOnlyWhatIsLost(t *testing.T) {
	in := builtin(t, "88-note")
	for seed := range uint64(6) {
		plan := cyclic(in, seed, 12000, 5)
		// The paper is cut in a place where no slot is open, and joined in another.
		lead, trail := 5000.0, 5400.0
		for moved := true; moved; {
			moved = false
			for i := range plan.Slots {
				s := &plan.Slots[i]
				if s.LeadMM < lead && s.TrailMM > lead {
					lead, moved = s.LeadMM-.01, true
				}
				if s.LeadMM < trail && s.TrailMM > trail {
					trail, moved = s.TrailMM+.01, true
				}
			}
		}
		lost := 0
		for i := range plan.Slots {
			if s := &plan.Slots[i]; s.LeadMM > lead && s.TrailMM < trail {
				lost++
			}
		}
		w := worn{noise: 0.08, stretch: 0.007, breathe: 0.002, cuts: []cut{{lead, trail - lead}}}
		r, err := Compare(plan, w.scan(plan, seed), Options{})
		if err != nil {
			t.Fatal(err)
		}
		if len(r.Differences) != lost || r.Count[Missing] != lost || len(r.Jumps) != 1 {
			t.Errorf("seed %d: %v, want %d missing; jumps %+v", seed, r.Count, lost, r.Jumps)
		}
	}
}
