package plan

import (
	"cmp"
	"fmt"
	"math/big"
	"slices"
	"testing"

	"rollwright/exact"

	"pgregory.net/rapid"
)

// judgePrec is the precision of the brute-force judge, in bits; instants that
// agree to judgeSame of them are held to be one.
const (
	judgePrec = 200
	judgeSame = -150
)

// lineOf is a voice that states a talea over and over: notes as many as asked
// for, unit seconds long each, from start on.
func lineOf(name string, start exact.Sum, unit exact.Real, talea []int64, notes int) *part {
	s := &steps{cycle: &cycle{}}
	for _, d := range talea {
		s.cycle.at = append(s.cycle.at, s.cycle.length)
		s.cycle.length += d
	}
	p := &part{name: name, unit: unit, hasUnit: true, complete: 1}
	p.onsets.clock = clock{start: start, unit: unit, known: true}
	p.onsets.steps = s
	for i := range notes {
		s.at = append(s.at, int64(i/len(talea))*s.cycle.length+s.cycle.at[i%len(talea)])
	}
	for i := range notes {
		p.onsets.ns = append(p.onsets.ns, nanoseconds(p.onsets.note(i).Float64()))
	}
	p.startSec = start.Float64()
	p.endSec = p.onsets.note(notes-1).Float64() + unit.Float64()*float64(talea[(notes-1)%len(talea)])
	return p
}

// judged is what the judge says about two notes.
type judged struct {
	contact
	distance float64
}

// judge compares every note of one voice with every note of the other.
func judge(a, b *part) (meetings []contact, near []judged) {
	ta, tb := judgeTimes(a), judgeTimes(b)
	same := new(big.Float).SetMantExp(big.NewFloat(1), judgeSame)
	metA, metB := map[int]bool{}, map[int]bool{}
	for i, x := range ta {
		for j, y := range tb {
			if d := new(big.Float).Sub(x, y); d.Abs(d).Cmp(same) < 0 {
				meetings = append(meetings, contact{i, j})
				metA[i], metB[j] = true, true
			}
		}
	}
	between := func(x, y *big.Float) bool {
		if x.Cmp(y) > 0 {
			x, y = y, x
		}
		return slices.ContainsFunc(slices.Concat(ta, tb), func(z *big.Float) bool { return x.Cmp(z) < 0 && z.Cmp(y) < 0 })
	}
	for i, x := range ta {
		for j, y := range tb {
			if !metA[i] && !metB[j] && !between(x, y) {
				d, _ := new(big.Float).Sub(x, y).Float64()
				near = append(near, judged{contact{i, j}, max(d, -d)})
			}
		}
	}
	slices.SortStableFunc(near, func(x, y judged) int { return cmp.Compare(x.distance, y.distance) })
	return meetings, near
}

func judgeTimes(p *part) []*big.Float {
	start, step := p.onsets.clock.start.Float(judgePrec), p.onsets.step().Float(judgePrec)
	var out []*big.Float
	for _, n := range p.onsets.steps.at {
		t := new(big.Float).SetPrec(judgePrec).SetInt64(n)
		out = append(out, t.Mul(t, step).Add(t, start))
	}
	return out
}

// TestSolverAgainstJudge: whatever the speeds, starts and taleae, the solver
// finds the meetings and the distances that comparing all with all at 200 bits
// finds.
func TestSolverAgainstJudge(t *testing.T) {
	units := []string{"1", "1/8", "3/7", "sqrt(2)", "sqrt(2)/3", "sqrt(3)/2", "sqrt(31)/4", "root(12, 2)", "pi/4", "e/3",
		"phi/2", "pi*sqrt(2)/7", "5/4*pi", "2*root(12, 2)/5"}
	rapid.Check(t, func(t *rapid.T) {
		drawLine := func(name string, start exact.Sum) *part {
			unit := exact.MustParse(rapid.SampledFrom(units).Draw(t, name+" unit"))
			talea := rapid.SliceOfN(rapid.Int64Range(1, 6), 1, 5).Draw(t, name+" talea")
			return lineOf(name, start, unit, talea, rapid.IntRange(1, 40).Draw(t, name+" notes"))
		}
		a := drawLine("a", exact.Sum{})
		b := drawLine("b", exact.Sum{})
		switch rapid.IntRange(0, 4).Draw(t, "start") {
		case 1: // b begins so that two notes meet
			i := rapid.IntRange(0, len(a.onsets.ns)-1).Draw(t, "i")
			j := rapid.IntRange(0, len(b.onsets.ns)-1).Draw(t, "j")
			start := a.onsets.note(i).Sub(b.onsets.note(j))
			b = lineOf("b", start, b.unit, rapid.SliceOfN(rapid.Int64Range(1, 6), 1, 5).Draw(t, "again"), len(b.onsets.ns))
		case 2:
			b = lineOf("b", exact.SumRat(big.NewRat(rapid.Int64Range(0, 40).Draw(t, "start"), 8)), b.unit, []int64{1, 2},
				len(b.onsets.ns))
		case 4: // a distance too fine for whole numbers of 63 bits
			b = lineOf("b", exact.SumRat(big.NewRat(1, 1<<61-1)), b.unit, []int64{1, 2}, len(b.onsets.ns))
		case 3:
			b = lineOf("b", exact.SumOf(exact.MustParse("sqrt(5)/3")), b.unit, []int64{3, 1}, len(b.onsets.ns))
		}
		compareWithJudge(t, a, b)
	})
}

func compareWithJudge(t rapid.TB, a, b *part) {
	e := meet(a, b, 1e6, Options{}.withDefaults())
	meetings, near := judge(a, b)
	if e.proof != Exact {
		t.Fatalf("proof is %q", e.proof)
	}
	if e.contacts.count != len(meetings) || !slices.Equal(e.contacts.first, meetings) {
		t.Fatalf("%s with %s: meetings %v, judge %v", a.unit, b.unit, e.contacts.first, meetings)
	}
	misses, _ := e.misses()
	if want := min(5, len(near)); len(misses) > want || (len(misses) == 0) != (want == 0) && len(meetings) == 0 {
		t.Fatalf("%d near misses, judge has %d", len(misses), len(near))
	}
	if len(misses) > 0 && misses[0].Distance.Decimal > near[0].distance+1e-12 {
		t.Fatalf("closest %v, judge %v", misses[0], near[0])
	}
	for _, m := range misses {
		if !slices.ContainsFunc(near, func(j judged) bool {
			return int64(j.a+1) == m.NoteA && int64(j.b+1) == m.NoteB &&
				max(j.distance-m.Distance.Decimal, m.Distance.Decimal-j.distance) < 1e-12
		}) {
			t.Fatalf("near miss %v is unknown to the judge", m)
		}
	}
}

// TestNextAgainstWalk: the next meeting after the end is the one that going on
// note by note finds.
func TestNextAgainstWalk(t *testing.T) {
	units := []string{"1", "2/3", "5/4", "7/6", "sqrt(2)", "11/13"}
	rapid.Check(t, func(t *rapid.T) {
		draw := func(name string) ([]int64, int) {
			return rapid.SliceOfN(rapid.Int64Range(1, 9), 1, 6).Draw(t, name), rapid.IntRange(1, 12).Draw(t, name+" notes")
		}
		unitA := exact.MustParse(rapid.SampledFrom(units).Draw(t, "unit a"))
		unitB := exact.MustParse(rapid.SampledFrom(units).Draw(t, "unit b"))
		taleaA, notesA := draw("a")
		taleaB, notesB := draw("b")
		start := exact.SumRat(big.NewRat(rapid.Int64Range(0, 24).Draw(t, "start"), 12))
		a, b := lineOf("a", exact.Sum{}, unitA, taleaA, notesA), lineOf("b", start, unitB, taleaB, notesB)
		end := max(a.endSec, b.endSec)
		next := meet(a, b, end, Options{}.withDefaults()).next()

		const long = 1500
		longA, longB := lineOf("a", exact.Sum{}, unitA, taleaA, long), lineOf("b", start, unitB, taleaB, long)
		found := meet(longA, longB, end, Options{List: long}.withDefaults())
		var first *contact
		for _, c := range found.contacts.first {
			if longA.onsets.note(c.a).Float64() >= end-1e-9 {
				first = &c
				break
			}
		}
		reach := min(longA.endSec, longB.endSec)
		switch {
		case first == nil && next.Answer == NextAt && next.At.At.Decimal < reach:
			t.Fatalf("next at %v, but going on finds none before %v", next.At, reach)
		case first != nil && next.Answer != NextAt:
			t.Fatalf("next is %v, but going on finds %v", next, *first)
		case first != nil && (next.At.NoteA != int64(first.a+1) || next.At.NoteB != int64(first.b+1)):
			t.Fatalf("next is note %d and %d, going on finds %d and %d", next.At.NoteA, next.At.NoteB, first.a+1, first.b+1)
		}
	})
}

// TestCombine: what the remainders say agrees with trying every number.
func TestCombine(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		set := func(name string) ([]int64, int64) {
			m := rapid.Int64Range(1, 60).Draw(t, name)
			s := rapid.SliceOfNDistinct(rapid.Int64Range(0, m-1), 1, int(min(m, 6)), rapid.ID).Draw(t, name+" set")
			slices.Sort(s)
			return s, m
		}
		setA, modA := set("a")
		setB, modB := set("b")
		least := rapid.Int64Range(-5000, 5000).Draw(t, "least")
		k, found, sure := combine(setA, modA, setB, modB, least)
		want, exists := int64(0), false
		for x := least; x < least+modA*modB; x++ {
			if slices.Contains(setA, mod(x, modA)) && slices.Contains(setB, mod(x, modB)) {
				want, exists = x, true
				break
			}
		}
		if !sure || found != exists || k != want {
			t.Fatalf("got %d %v %v, want %d %v", k, found, sure, want, exists)
		}
		if w, ok := walk(setA, modA, setB, modB, least); ok != exists || ok && w != want {
			t.Fatalf("walking got %d %v, want %d %v", w, ok, want, exists)
		}
	})
}

// TestThreeDistances: n strokes of a line, laid on the pulse of another, leave
// gaps of at most three lengths on a circle of one pulse, and the smallest gap
// is how close the two lines come without meeting (three-distance theorem: V.
// T. Sos, J. Suranyi, S. Swierczkowski, 1957-58). Lengths of the smallest gap
// computed for the theorem's example numbers.
func TestThreeDistances(t *testing.T) {
	for _, test := range []struct {
		unit     string
		notes    int
		smallest float64
		lengths  int
	}{
		{"phi", 5, 0.145898034, 2},
		{"phi", 7, 0.090169944, 3},
		{"phi", 8, 0.090169944, 2},
		{"phi", 10, 0.055728090, 3},
		{"sqrt(2)", 5, 0.171572875, 2},
		{"sqrt(2)", 8, 0.071067812, 3},
		{"sqrt(2)", 12, 0.071067812, 2},
		{"pi", 8, 0.008851425, 2},
		{"pi", 10, 0.008851425, 3},
		{"e", 7, 0.126872686, 2},
		{"e", 10, 0.027972799, 3},
	} {
		t.Run(fmt.Sprint(test.unit, test.notes), func(t *testing.T) {
			pulse := lineOf("pulse", exact.Sum{}, exact.Frac(1, 1), []int64{1}, 4*test.notes)
			line := lineOf("line", exact.Sum{}, exact.MustParse(test.unit), []int64{1}, test.notes)
			e := meet(pulse, line, 0, Options{}.withDefaults())
			misses, _ := e.misses()
			if d := misses[0].Distance.Decimal - test.smallest; max(d, -d) > 1e-9 {
				t.Errorf("closest miss %v, want %v", misses[0].Distance, test.smallest)
			}
			if got := gapLengths(line.onsets.ns); got != test.lengths {
				t.Errorf("%d lengths of gaps, want %d", got, test.lengths)
			}
		})
	}
}

// gapLengths counts the different gaps between instants on a circle of 1 s, to
// a nanosecond or two.
func gapLengths(ns []int64) int {
	var places, gaps []int64
	for _, n := range ns {
		places = append(places, n%1e9)
	}
	slices.Sort(places)
	for i, p := range places {
		gaps = append(gaps, mod(places[(i+1)%len(places)]-p, 1e9))
	}
	slices.Sort(gaps)
	return len(slices.CompactFunc(gaps, func(a, b int64) bool { return max(a-b, b-a) <= 3 }))
}
