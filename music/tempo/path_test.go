package tempo

import (
	"math"
	"math/big"
	"strings"
	"testing"

	"gonum.org/v1/gonum/integrate/quad"
	"pgregory.net/rapid"

	"rollwright/exact"
)

var (
	quarter = exact.NewRat(1, 4)
	one     = exact.Real{}
)

func tempoOf(n int64) exact.Real { return exact.Frac(n, 1) }

func leg(from, to, overUnits int64, shape Shape) Leg {
	return Leg{From: tempoOf(from), To: tempoOf(to), HasFrom: true, HasTo: true, OverUnits: exact.Int(overUnits),
		Shape: shape}
}

func mustNew(t interface{ Fatal(...any) }, legs []Leg, before exact.Real, unit exact.Rat, speed exact.Real) *Path {
	p, err := New(legs, before, unit, speed)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s: %.15g, want %.15g", what, got, want)
	}
}

// From 60 to 120 quarter notes a minute over 16 of them.
func TestThreeLawsOfAcceleration(t *testing.T) {
	for _, test := range []struct {
		shape      Shape
		want, form float64
	}{
		{PerSecond, 10.6667, 120 * 16. / (60 + 120)},
		{PerUnit, 11.0904, 60 * 16 * math.Log(2) / (120 - 60)},
		{Geometric, 11.5416, 60 * 16 * (1./60 - 1./120) / math.Log(2)},
	} {
		p := mustNew(t, []Leg{leg(60, 120, 16, test.shape)}, one, quarter, one)
		near(t, test.shape.String(), p.Seconds(16), test.want, 0.5e-4)
		near(t, test.shape.String(), p.Seconds(16), test.form, 1e-14)
		// The last tempo holds: a quarter note at 120 lasts half a second.
		near(t, "one more", p.Seconds(17)-p.Seconds(16), 0.5, 1e-14)
		near(t, "tempo at 0", p.Tempo(0), 60, 1e-12)
		near(t, "tempo at 16", p.Tempo(16), 120, 1e-12)
		near(t, "tempo at 1000", p.Tempo(1000), 120, 1e-12)
		// The other way the durations are the same, read backwards.
		back := mustNew(t, []Leg{leg(120, 60, 16, test.shape)}, one, quarter, one)
		for _, u := range []float64{0, 1, 5.5, 8, 16} {
			near(t, "backwards", back.Seconds(16)-back.Seconds(16-u), p.Seconds(u), 1e-14)
		}
	}
}

// Half way: the geometric mean 84.85, the mean 90 of units, and in time the
// root mean square 94.87 (T^2 is linear in the units when T is in the time).
func TestTempoHalfWay(t *testing.T) {
	for shape, want := range map[Shape]float64{
		Geometric: math.Sqrt(60 * 120), PerUnit: 90, PerSecond: math.Sqrt((60*60 + 120*120) / 2),
	} {
		up := mustNew(t, []Leg{leg(60, 120, 16, shape)}, one, quarter, one)
		down := mustNew(t, []Leg{leg(120, 60, 16, shape)}, one, quarter, tempoOf(3))
		near(t, shape.String(), up.Tempo(8), want, 1e-12)
		near(t, shape.String()+" slowing, three times as fast", down.Tempo(8), 3*want, 1e-12)
	}
}

// Metric modulation: a triplet quaver at crotchet 90 goes on as a semiquaver.
// There are 3 in the old beat and 4 in the new: 90 * 3/4 = 67.5.
func TestMetricModulation(t *testing.T) {
	old := Constant(tempoOf(90), exact.NewRat(1, 12), one)
	changed := Constant(tempoOf(90).Mul(exact.Frac(3, 4)), exact.NewRat(1, 16), one)
	near(t, "new tempo", changed.Tempo(0), 67.5, 0)
	a, _ := old.SecondsPerUnit()
	b, _ := changed.SecondsPerUnit()
	if a.Equal(b) != exact.Yes || a.String() != "2/9" {
		t.Errorf("the pulse changes from %v to %v s", a, b)
	}
}

func TestConstant(t *testing.T) {
	// A semiquaver at 120 lasts 1/8 s, at speed sqrt 2 that is sqrt(2)/16.
	p := Constant(tempoOf(120), exact.NewRat(1, 16), exact.MustParse("sqrt(2)"))
	each, ok := p.SecondsPerUnit()
	if !ok || each.String() != "sqrt(2)/16" {
		t.Errorf("a unit lasts %v, %v", each, ok)
	}
	if got := p.Seconds(1); got != each.Float64() {
		t.Errorf("one unit is %v, the nearest is %v", got, each.Float64())
	}
	near(t, "tempo", p.Tempo(7), 120*math.Sqrt2, 1e-12)
	near(t, "before 0", p.Seconds(-16), -math.Sqrt2, 1e-15)
	near(t, "units before 0", p.Units(-math.Sqrt2), -16, 1e-14)
	rapid.Check(t, func(t *rapid.T) {
		units := rapid.Float64Range(-1e7, 1e7).Draw(t, "units")
		want := p.BigSeconds(big.NewFloat(units), 200)
		if error := distance(p.Seconds(units), want); error > math.Abs(units)*0.09*0x1p-52+math.SmallestNonzeroFloat64 {
			t.Fatalf("%v units: %v s, off by %v", units, p.Seconds(units), error)
		}
	})
}

func TestOneTempoInSeveralLegs(t *testing.T) {
	legs := []Leg{leg(90, 90, 4, PerUnit), {OverSec: exact.Int(3)}, leg(90, 90, 5, Geometric)}
	p := mustNew(t, legs, tempoOf(77), quarter, one)
	each, ok := p.SecondsPerUnit()
	if !ok || each.String() != "2/3" {
		t.Errorf("a unit lasts %v, %v", each, ok)
	}
	near(t, "30 units", p.Seconds(30), 20, 0)
	legs[1] = leg(90, 91, 1, PerUnit)
	if each, ok := mustNew(t, legs, one, quarter, one).SecondsPerUnit(); ok {
		t.Errorf("though the tempo changes, a unit lasts %v", each)
	}
}

// Legs go on from one another; one without To is constant; tempos may jump.
func TestLegsInARow(t *testing.T) {
	p := mustNew(t, []Leg{
		{OverUnits: exact.Int(4)}, // 100 from before: 4 * 0.6 = 2.4 s
		{To: tempoOf(50), HasTo: true, OverUnits: exact.Int(8), Shape: PerSecond}, // 120*8/150 = 6.4 s
		{OverSec: exact.Int(6)}, // at 50: 5 units
		{From: tempoOf(200), HasFrom: true, OverUnits: exact.Int(10)},           // a jump: 3 s
		{To: tempoOf(40), HasTo: true, OverSec: exact.Int(5), Shape: PerSecond}, // 120 quarters a minute on average: 10 units
	}, tempoOf(100), quarter, one)
	for _, test := range []struct{ units, seconds, tempo float64 }{
		{-10, -6, 100}, {0, 0, 100}, {4, 2.4, 100}, {12, 8.8, 50}, {17, 14.8, 200}, {27, 17.8, 200}, {37, 22.8, 40}, {39, 25.8, 40},
	} {
		near(t, "seconds", p.Seconds(test.units), test.seconds, 1e-13)
		near(t, "units", p.Units(test.seconds), test.units, 1e-12)
		near(t, "tempo", p.Tempo(test.units), test.tempo, 1e-11)
	}
	faster := p.Faster(exact.Frac(2, 1))
	near(t, "twice as fast", faster.Seconds(37), 11.4, 1e-13)
	near(t, "its tempo", faster.Tempo(37), 80, 1e-11)
	near(t, "the first is unchanged", p.Seconds(37), 22.8, 1e-13)
	near(t, "constant and faster", Constant(tempoOf(60), quarter, one).Faster(exact.Frac(3, 1)).Seconds(9), 3, 0)
	if !p.last.sameAs(newSteady(exact.Frac(3, 2))) {
		t.Errorf("the last tempo is %v seconds a unit", p.last.hi)
	}
}

func (s steady) sameAs(t steady) bool { return s == t }

func TestLegsThatCannotBe(t *testing.T) {
	good := leg(60, 120, 16, Geometric)
	for want, change := range map[string]func(*Leg){
		"leg 2: its length is 0; it must be more than 0":                                func(l *Leg) { l.OverUnits = exact.Rat{} },
		"leg 2: its length is -3; it must be more than 0":                               func(l *Leg) { l.OverUnits = exact.Int(-3) },
		"leg 2: its length is given both in units and in seconds":                       func(l *Leg) { l.OverSec = exact.Int(1) },
		"leg 2: its length of 1e+10 is more than 1e+09":                                 func(l *Leg) { l.OverUnits = exact.Int(1e10) },
		"leg 2: a tempo of 1e+10 quarter notes a minute is not between 1e-06 and 1e+09": func(l *Leg) { l.To = tempoOf(1e10) },
		"leg 2: a tempo of 1e-07 quarter notes a minute is not between 1e-06 and 1e+09": func(l *Leg) {
			l.From = exact.Frac(1,
				1e7)
		},
		"leg 2: there is no shape Shape(9)": func(l *Leg) { l.Shape = 9 },
	} {
		bad := good
		change(&bad)
		if _, err := New([]Leg{good, bad}, one, quarter, one); err == nil || err.Error() != want {
			t.Errorf("got %v, want %s", err, want)
		}
	}
	if _, err := New(make([]Leg, MaxLegs+1), one, quarter, one); err == nil ||
		!strings.Contains(err.Error(), "legs are more than") {
		t.Errorf("too many legs: %v", err)
	}
	p := mustNew(t, nil, tempoOf(90), quarter, one)
	near(t, "no legs", p.Seconds(9), 6, 1e-15)
}

// paths draws paths of a few legs, among them hardly changing and wildly
// changing ones. The speed is such that they last hours at most.
func paths() *rapid.Generator[*Path] {
	tempos := rapid.SampledFrom([]string{
		"60", "61", "120", "90", "60 * 1000000000001/1000000000000", "60 * cents(0.0001)", "sqrt(2)*100", "e/pi*60",
		"1/1000", "100000", "7", "333.3", "100*root(12, 2)",
	})
	return rapid.Custom(func(t *rapid.T) *Path {
		var legs []Leg
		for range rapid.IntRange(1, 5).Draw(t, "legs") {
			l := Leg{Shape: rapid.SampledFrom([]Shape{Geometric, PerUnit, PerSecond}).Draw(t, "shape")}
			if l.HasFrom = rapid.Bool().Draw(t, "has from"); l.HasFrom {
				l.From = exact.MustParse(tempos.Draw(t, "from"))
			}
			if l.HasTo = rapid.IntRange(0, 4).Draw(t, "has to") > 0; l.HasTo {
				l.To = exact.MustParse(tempos.Draw(t, "to"))
			}
			over := exact.NewRat(rapid.Int64Range(1, 4000).Draw(t, "over"), rapid.Int64Range(1, 7).Draw(t, "of"))
			if rapid.Bool().Draw(t, "in seconds") {
				l.OverSec = over
			} else {
				l.OverUnits = over
			}
			legs = append(legs, l)
		}
		unit := exact.NewRat(1, rapid.Int64Range(1, 48).Draw(t, "unit"))
		speed := exact.MustParse(rapid.SampledFrom([]string{"1", "3/2", "sqrt(31)/4", "e/pi"}).Draw(t, "speed"))
		return mustNew(t, legs, tempoOf(75), unit, speed)
	})
}

func distance(got float64, want *big.Float) float64 {
	d, _ := new(big.Float).SetPrec(200).Sub(new(big.Float).SetPrec(200).SetFloat64(got), want).Float64()
	return math.Abs(d)
}

// someUnits draws a place on the path, ends of legs and their neighbours too.
func someUnits(t *rapid.T, p *Path) float64 {
	units := rapid.Float64Range(0, 1.2).Draw(t, "where") * p.end.unit.hi
	if len(p.spans) > 0 && rapid.Bool().Draw(t, "at an end") {
		units = rapid.SampledFrom(p.spans).Draw(t, "span").end.unit.hi
		switch rapid.IntRange(-1, 1).Draw(t, "next to it") {
		case -1:
			units = math.Nextafter(units, 0)
		case 1:
			units = math.Nextafter(units, 1e300)
		}
	}
	return units
}

// endOfLeg is the time at the end of the leg in which units lie, or units' own
// time after the last leg.
func (p *Path) endOfLeg(units float64) float64 {
	for _, s := range p.spans {
		if units < s.end.unit.hi {
			return s.end.sec.hi
		}
	}
	return max(p.end.sec.hi, p.Seconds(units))
}

func TestSecondsAgreesWithBigSeconds(t *testing.T) {
	worst := 0.0
	rapid.Check(t, func(t *rapid.T) {
		p := paths().Draw(t, "path")
		units := someUnits(t, p)
		got := p.Seconds(units)
		if units == 0 {
			return
		}
		error := distance(got, p.BigSeconds(big.NewFloat(units), 200)) / p.endOfLeg(units)
		worst = max(worst, error)
		if !(error <= 0x1p-48) {
			t.Fatalf("%v units: %v s, off by %.3g of the end of the leg", units, got, error)
		}
	})
	t.Logf("worst: 2^%.1f of the time at the end of the leg", math.Log2(worst))
}

func TestUnitsIsTheInverse(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := paths().Draw(t, "path")
		units := someUnits(t, p)
		seconds := p.Seconds(units)
		back := p.Units(seconds)
		// What Seconds is off counts in units at the tempo of the place, the
		// faster of both at a jump.
		fastest := max(p.Tempo(units), p.Tempo(math.Nextafter(back, 0)), p.Tempo(math.Nextafter(units, 0)))
		perSecond := fastest / 60 / (4 * p.unit.Float64())
		tolerance := 0x1p-48*max(units, back) + 0x1p-47*p.endOfLeg(units)*perSecond
		if math.Abs(back-units) > tolerance {
			t.Fatalf("%v units are %v s are %v units: off by %.3g, more than %.3g", units, seconds, back, back-units, tolerance)
		}
		again := p.Seconds(back)
		slowest := 240 * p.unit.Float64() / min(p.Tempo(back), p.Tempo(math.Nextafter(back, 0)),
			p.Tempo(math.Nextafter(back, 1e300)))
		if math.Abs(again-seconds) > 0x1p-46*p.endOfLeg(max(units, back))+0x1p-48*back*slowest {
			t.Fatalf("%v s are %v units are %v s", seconds, back, again)
		}
	})
}

func TestSecondsAndUnitsNeverTurnBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := paths().Draw(t, "path")
		units := someUnits(t, p)
		seconds, step := p.Seconds(units), 0x1p-48*max(p.unitsAtEndOfLeg(units), units)
		for range 40 {
			units += step
			next := p.Seconds(units)
			if next < seconds {
				t.Fatalf("at %v units the time goes back from %v to %v", units, seconds, next)
			}
			seconds = next
		}
		place, step := p.Units(seconds), 0x1p-46*p.endOfLeg(units)
		for range 40 {
			seconds += step
			next := p.Units(seconds)
			if next < place {
				t.Fatalf("at %v s the place goes back from %v to %v", seconds, place, next)
			}
			place = next
		}
	})
}

func (p *Path) unitsAtEndOfLeg(units float64) float64 {
	for _, s := range p.spans {
		if units < s.end.unit.hi {
			return s.end.unit.hi
		}
	}
	return max(p.end.unit.hi, units)
}

// The laws themselves, integrated numerically (Gauss and Legendre, 60 points):
// minutes are the integral of 1/tempo over quarter notes, and for PerSecond
// quarter notes are the integral of the tempo over minutes.
func TestAgainstQuadrature(t *testing.T) {
	for _, test := range []struct {
		t0, t1 int64
		length float64 // quarter notes
	}{
		{60, 120, 16}, {120, 60, 16}, {60, 240, 64}, {300, 7, 11}, {100, 101, 1000}, {1000, 999, 3},
	} {
		t0, t1 := float64(test.t0), float64(test.t1)
		for shape, law := range map[Shape]func(b float64) float64{
			Geometric: func(b float64) float64 { return t0 * math.Pow(t1/t0, b/test.length) },
			PerUnit:   func(b float64) float64 { return t0 + (t1-t0)*b/test.length },
		} {
			p := mustNew(t, []Leg{leg(test.t0, test.t1, int64(4*test.length), shape)}, one, exact.NewRat(1, 16), one)
			for _, share := range []float64{0.1, 0.5, 0.77, 1} {
				b := share * test.length
				minutes := quad.Fixed(func(b float64) float64 { return 1 / law(b) }, 0, b, 60, quad.Legendre{}, 0)
				near(t, shape.String(), p.Seconds(4*b)/(60*minutes), 1, 1e-13)
				near(t, shape.String()+" tempo", p.Tempo(4*b)/law(b), 1, 1e-13)
			}
		}
		p := mustNew(t, []Leg{leg(test.t0, test.t1, int64(4*test.length), PerSecond)}, one, exact.NewRat(1, 16), one)
		end := p.Seconds(4*test.length) / 60
		law := func(minutes float64) float64 { return t0 + (t1-t0)*minutes/end }
		for _, share := range []float64{0.1, 0.5, 0.77, 1} {
			b := quad.Fixed(law, 0, share*end, 60, quad.Legendre{}, 0)
			near(t, "per-second", p.Units(60*share*end)/(4*b), 1, 1e-13)
			near(t, "per-second", p.Seconds(4*b)/(60*share*end), 1, 1e-13)
			near(t, "per-second tempo", p.Tempo(4*b)/law(share*end), 1, 1e-12)
		}
	}
}

// A leg over a time ends after that time, whatever its law, divided by the
// speed; and it is the same leg as one over the units it then has.
func TestLegsOverATime(t *testing.T) {
	for _, shape := range []Shape{Geometric, PerUnit, PerSecond} {
		for _, to := range []int64{60, 61, 240, 3} {
			l := leg(60, to, 0, shape)
			l.OverUnits, l.OverSec = exact.Rat{}, exact.NewRat(41, 2)
			p := mustNew(t, []Leg{l}, one, exact.NewRat(1, 16), exact.Frac(5, 4))
			near(t, "units at the end", p.Seconds(p.Units(20.5/1.25)), 16.4, 1e-13)
			if p.constant {
				continue
			}
			near(t, "end of the leg", p.end.sec.hi, 16.4, 1e-14)
			units, ok := exact.FromBig(new(big.Rat).SetFloat64(math.Round(p.end.unit.hi*1e9) / 1e9))
			if !ok {
				t.Fatal("the units do not fit")
			}
			l.OverUnits, l.OverSec = units, exact.Rat{}
			q := mustNew(t, []Leg{l}, one, exact.NewRat(1, 16), exact.Frac(5, 4))
			for share := 0.0; share <= 1; share += 0.125 {
				near(t, "the same over units", q.Seconds(share*p.end.unit.hi), p.Seconds(share*p.end.unit.hi), 1e-8)
			}
		}
	}
}

// Near k = 1 every law goes over into the constant tempo, without a step.
func TestHardlyAnyChange(t *testing.T) {
	for _, shape := range []Shape{Geometric, PerUnit, PerSecond} {
		for _, change := range []string{"cents(0.001)", "cents(-0.0001)", "1000000000000001/1000000000000000",
			"999999999999999999/1000000000000000000"} {
			l := leg(60, 60, 3600, shape)
			k := exact.MustParse(change)
			l.To = l.From.Mul(k)
			p := mustNew(t, []Leg{l}, one, quarter, one)
			if p.constant {
				t.Fatalf("%s is taken for no change", change)
			}
			for _, u := range []float64{0.5, 1000, 1800, 3599, 3600} {
				// To first order all laws are u - (k-1) u^2/(2*3600).
				less, _ := new(big.Float).Sub(k.Float(200), big.NewFloat(1)).Float64()
				near(t, shape.String()+" "+change, p.Seconds(u), u-less*u*u/7200, 1e-12+less*less*3600)
				near(t, shape.String()+" back "+change, p.Units(u), u+less*u*u/7200, 1e-12+less*less*3600)
			}
		}
	}
}

func TestShapeNames(t *testing.T) {
	for shape, want := range map[Shape]string{Geometric: "geometric", PerUnit: "per-unit", PerSecond: "per-second",
		7: "Shape(7)"} {
		if got := shape.String(); got != want {
			t.Errorf("%d is called %s, want %s", int8(shape), got, want)
		}
	}
}

func BenchmarkSeconds(b *testing.B) {
	for _, shape := range []Shape{Geometric, PerUnit, PerSecond} {
		p := mustNew(b, []Leg{leg(60, 120, 16, shape), leg(120, 100, 16, shape), leg(100, 300, 16, shape)}, one, quarter, one)
		b.Run(shape.String(), func(b *testing.B) {
			for b.Loop() {
				p.Seconds(20.5)
			}
		})
	}
	p := Constant(tempoOf(60), quarter, one)
	b.Run("constant", func(b *testing.B) {
		for b.Loop() {
			p.Seconds(20.5)
		}
	})
}

func BenchmarkNew(b *testing.B) {
	legs := []Leg{leg(60, 120, 16, Geometric)}
	for b.Loop() {
		mustNew(b, legs, one, quarter, one)
	}
}
