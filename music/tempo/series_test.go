package tempo

import (
	"math"
	"math/big"
	"testing"

	"pgregory.net/rapid"

	"rollwright/exact"
)

// Worked by the formula of the geometric series, to nine decimals: ten notes
// from 1 s with factor 0.95 last 1*(1 - 0.95^10)/0.05 = 8.025261215 s, the
// tenth 0.95^9 = 0.630249410 s, all for ever 20 s.
func TestGeometricSeries(t *testing.T) {
	for _, test := range []struct {
		d, r float64
		n    int
		sum  float64
		last float64
		all  float64
	}{
		{1, 0.95, 10, 8.025261215, 0.630249410, 20},
		{1, 0.9, 12, 7.175704635, 0.313810596, 10},
		{0.5, math.Exp2(-1. / 12), 12, 4.454288436, 0.5 * math.Exp2(-11./12), 8.908576872},
		{2, 1, 7, 14, 2, math.Inf(1)},
		{1, 2, 5, 31, 16, math.Inf(1)},
	} {
		near(t, "sum", GeometricSum(test.d, test.r, test.n), test.sum, 1e-9)
		near(t, "count", GeometricCount(test.d, test.r, GeometricSum(test.d, test.r, test.n)), float64(test.n), 1e-13)
		e := eachNoteOf(test.r)
		near(t, "last", test.d*e.Power(float64(test.n-1)), test.last, 1e-9)
		near(t, "last by difference", e.Sum(test.d, float64(test.n))-e.Sum(test.d, float64(test.n-1)), test.last, 1e-9)
		if all := e.Limit(test.d); all != test.all && math.Abs(all-test.all) > 1e-9 {
			t.Errorf("all for ever: %v, want %v", all, test.all)
		}
	}
	if got := GeometricCount(1, 0.95, 20.5); !math.IsInf(got, 1) {
		t.Errorf("more than all notes last: %v notes", got)
	}
	if got := GeometricSum(3, 1, 1000); got != 3000 {
		t.Errorf("1000 equal notes of 3 s last %v", got)
	}
}

// An acceleration by 6 % of tempo a note is the factor 1/1.06 of duration, not
// 0.94.
func TestPercentOfTempo(t *testing.T) {
	near(t, "6 %", NewEachNote(exact.Frac(100, 106)).Power(1), 0.943396, 0.5e-6)
}

// From 1 s down to 1/2 s in 13 notes: twelve steps, each the twelfth root.
func TestBetweenNotes(t *testing.T) {
	r := BetweenNotes(one, exact.Frac(1, 2), 13)
	if r.Equal(exact.MustParse("root(12, 1/2)")) != exact.Yes {
		t.Errorf("the factor is %v", r)
	}
	near(t, "the last", NewEachNote(r).Power(12), 0.5, 1e-15)
	defer func() {
		if recover() == nil {
			t.Error("a factor between fewer than two notes")
		}
	}()
	BetweenNotes(one, one, 1)
}

func factors() *rapid.Generator[exact.Real] {
	return rapid.Custom(func(t *rapid.T) exact.Real {
		return exact.MustParse(rapid.SampledFrom([]string{
			"0.95", "1.01", "0.999", "1000000001/1000000000", "999999999999/1000000000000", "root(1000, 2)", "cents(-1)", "1",
			"sqrt(e/pi)",
		}).Draw(t, "factor"))
	})
}

// Sum against adding up term by term at 200 bits, and Count back again.
func TestEachNoteAgainstTheSum(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r, n := factors().Draw(t, "r"), rapid.IntRange(0, 2000).Draw(t, "n")
		d := rapid.Float64Range(1e-3, 10).Draw(t, "d")
		e := NewEachNote(r)
		want := BigSum(big.NewFloat(d), r, n, 200)
		got := e.Sum(d, float64(n))
		if distance(got, want) > 0x1p-49*got {
			t.Fatalf("%d notes from %v s by %v: %v, want %v", n, d, r, got, want)
		}
		// Where a note is a tiny part of the sum, the sum tells less of n.
		last := d * e.Power(float64(n))
		// Near the limit it tells nothing, and the count may be infinite.
		back := e.Count(d, got)
		if last > 0x1p-46*got && math.Abs(back-float64(n))*last > 0x1p-46*(got+last) {
			t.Fatalf("%v s from %v s by %v are %v notes, want %d", got, d, r, back, n)
		}
		power := r.Pow(exact.Int(int64(n))).Float(200)
		if p := e.Power(float64(n)); distance(p, power) > 0x1p-50*p {
			t.Fatalf("%v to the power %d: %v, want %v", r, n, p, power)
		}
	})
}

// A million notes that last ten hours together, each slower by a millionth:
// right to a nanosecond.
func TestAMillionNotesToANanosecond(t *testing.T) {
	r := exact.Frac(1_000_001, 1_000_000)
	e := NewEachNote(r)
	const n = 1_000_000
	d := 36000 / e.Sum(1, n)
	// (r^n - 1)/(r - 1) at 200 bits, where r^n is a fraction of millions of
	// digits but its logarithm is not.
	power := exact.Exp(new(big.Float).SetPrec(300).Mul(exact.Ln(r.Float(400), 300), big.NewFloat(n)), 300)
	power.Sub(power, big.NewFloat(1)).Mul(power, big.NewFloat(n)).Mul(power, big.NewFloat(d))
	if error := distance(e.Sum(d, n), power); error > 1e-9 {
		t.Errorf("off by %v s", error)
	}
}
