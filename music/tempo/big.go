package tempo

import (
	"math/big"

	"rollwright/exact"
)

// boundBits is the precision at which the ends of legs are found.
const boundBits = 256

// bound is an end of a leg: its place in units and its time in seconds.
type bound struct {
	units, seconds *big.Float
}

// after is the end of a leg that begins at b.
func (b bound) after(l Leg, unit exact.Rat, speed exact.Real, prec uint) bound {
	units, seconds := l.size(unit, prec)
	seconds.Quo(seconds, speed.Float(prec))
	return bound{
		units:   units.Add(b.units, units),
		seconds: seconds.Add(b.seconds, seconds),
	}
}

// size is the length of the leg in units and in seconds at speed 1.
func (l Leg) size(unit exact.Rat, prec uint) (units, seconds *big.Float) {
	quartersPerUnit := ratFloat(unit, prec)
	quartersPerUnit.Mul(quartersPerUnit, number(4, prec))
	mean := l.meanTempo(prec) // quarters a second times 60
	mean.Quo(mean, number(60, prec))
	if l.OverUnits.Sign() != 0 {
		units = ratFloat(l.OverUnits, prec)
		quarters := new(big.Float).Mul(units, quartersPerUnit)
		return units, quarters.Quo(quarters, mean)
	}
	seconds = ratFloat(l.OverSec, prec)
	quarters := new(big.Float).Mul(seconds, mean)
	return quarters.Quo(quarters, quartersPerUnit), seconds
}

// meanTempo is the number of quarter notes of the leg over its minutes:
//
//	Geometric  T0 ln k / (1 - 1/k)
//	PerUnit    (T1 - T0) / ln k
//	PerSecond  (T0 + T1) / 2
func (l Leg) meanTempo(prec uint) *big.Float {
	from, to := l.From.Float(prec), l.To.Float(prec)
	if l.steady() {
		return from
	}
	if l.Shape == PerSecond {
		from.Add(from, to)
		return from.Quo(from, number(2, prec))
	}
	// ln k and the difference are small together when k is near 1; what they
	// lose in cancelling is made up by more bits.
	k := l.To.Quo(l.From)
	more := prec + lostBits(k)
	lnK := exact.Ln(k.Float(more), more)
	less := new(big.Float).SetPrec(more)
	if l.Shape == Geometric {
		less.Sub(number(1, more), k.Inv().Float(more))
		lnK.Mul(lnK, l.From.Float(more))
		return lnK.Quo(lnK, less).SetPrec(prec)
	}
	less.Sub(l.To.Float(more), l.From.Float(more))
	return less.Quo(less, lnK).SetPrec(prec)
}

// steady reports whether the tempo of the leg does not change: that its two
// tempos are equal, or at least not told apart by exact.MaxBits bits.
func (l Leg) steady() bool { return l.From.Cmp(l.To) == 0 }

// lostBits is some bits more than twice those that k, not 1, shares with 1.
func lostBits(k exact.Real) uint {
	for prec := uint(128); ; prec *= 2 {
		distance := k.Float(prec)
		distance.Sub(distance, number(1, prec))
		if distance.Sign() != 0 {
			return 64 + 2*uint(max(0, -distance.MantExp(nil)))
		}
	}
}

func number(n int64, prec uint) *big.Float { return new(big.Float).SetPrec(prec).SetInt64(n) }

func ratFloat(r exact.Rat, prec uint) *big.Float {
	return new(big.Float).SetPrec(prec).SetRat(r.Big())
}

// BigSeconds is Seconds to prec bits, wrong by a few units in the last place.
// It follows the textbook formulas, without the rearrangements that Seconds
// needs, so that one can judge the other.
func (p *Path) BigSeconds(units *big.Float, prec uint) *big.Float {
	working := prec + 64
	u := new(big.Float).SetPrec(max(working, units.Prec())).Set(units)
	if len(p.legs) == 0 || u.Sign() <= 0 {
		return u.Mul(u, secondsPerUnit(p.tempo, p.unit, p.speed).Float(working)).SetPrec(prec)
	}
	at := bound{number(0, working), number(0, working)}
	for _, l := range p.legs {
		next := at.after(l, p.unit, p.speed, working)
		if u.Cmp(next.units) < 0 {
			u.Sub(u, at.units)
			inside := l.bigSeconds(u, p.unit, working)
			inside.Quo(inside, p.speed.Float(working))
			return inside.Add(inside, at.seconds).SetPrec(prec)
		}
		at = next
	}
	last := secondsPerUnit(p.legs[len(p.legs)-1].To, p.unit, p.speed).Float(working)
	u.Sub(u, at.units)
	return u.Add(u.Mul(u, last), at.seconds).SetPrec(prec)
}

// bigSeconds is the time, at speed 1, that u units from the start of the leg
// take.
func (l Leg) bigSeconds(u *big.Float, unit exact.Rat, prec uint) *big.Float {
	length, _ := l.size(unit, prec)
	t0 := l.From.Float(prec)
	if l.steady() {
		return new(big.Float).Mul(u, secondsPerUnit(l.From, unit, exact.Real{}).Float(prec))
	}
	k := l.To.Quo(l.From)
	prec += lostBits(k)
	share := new(big.Float).SetPrec(prec).Quo(u, length)
	quarters := ratFloat(unit, prec)
	quarters.Mul(quarters, number(4, prec)).Mul(quarters, length) // B
	scale := new(big.Float).SetPrec(prec).Mul(number(60, prec), quarters)
	scale.Quo(scale, t0) // 60 B / T0
	kFloat := k.Float(prec)
	switch l.Shape {
	case Geometric: // 60 B / (T0 ln k) * (1 - k^-share)
		lnK := exact.Ln(kFloat, prec)
		power := exact.Exp(new(big.Float).Neg(new(big.Float).Mul(lnK, share)), prec)
		power.Sub(number(1, prec), power)
		return power.Mul(power, scale).Quo(power, lnK)
	case PerUnit: // 60 B / (T1 - T0) * ln(T(b)/T0)
		kFloat.Sub(kFloat, number(1, prec))
		ratio := new(big.Float).Mul(kFloat, share)
		ratio.Add(ratio, number(1, prec))
		ratio = exact.Ln(ratio, prec)
		return ratio.Mul(ratio, scale).Quo(ratio, kFloat)
	}
	// PerSecond: 60 b = T0 t + (T1-T0)/D t^2/2 with 60 B = D (T0+T1)/2; in
	// x = t/D it is (k-1) x^2 + 2 x - (k+1) share = 0.
	kLess := new(big.Float).SetPrec(prec).Sub(kFloat, number(1, prec))
	kMore := new(big.Float).SetPrec(prec).Add(kFloat, number(1, prec))
	root := new(big.Float).SetPrec(prec).Mul(kLess, kMore)
	root.Mul(root, share).Add(root, number(1, prec)).Sqrt(root)
	root.Sub(root, number(1, prec)).Quo(root, kLess) // x
	return root.Mul(root, scale).Mul(root, number(2, prec)).Quo(root, kMore)
}
