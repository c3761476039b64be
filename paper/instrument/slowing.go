package instrument

import "math"

// A motor that slows under its load turns the spool, after the paper s has been
// wound, at w(1 - k s), k being SlowingPerMM: the load grows with what is wound.
// With build-up the radius is r0 u, u = sqrt(1 + a s), a = h/(pi r0^2), so the
// paper moves at
//
//	v(s) = v0 u (1 - k s),
//
// and the time at s is the integral of 1/v. With q = s/(1 + u - k s) it is
//
//	t = 2/v0 atanh(g q)/g,   g = sqrt(k (k + a)),
//
// which for k = 0 is the quadratic's root that Sec has, and for a = 0 is
// -ln(1 - k s)/(k v0). Solved for s: s = q (2 (1 + k q) + a q)/(1 + k q)^2.

// mostSlowed is the share of its turning that a motor loses at most: what lies
// farther along the paper runs at what is left of it.
const mostSlowed = 0.8

// growth is a: by how much the square of the radius grows along the paper, as a
// share a millimetre.
func (t Transport) growth() float64 {
	if !t.Spool || t.RadiusMM <= 0 {
		return 0
	}
	return t.ThicknessMM / (math.Pi * t.RadiusMM * t.RadiusMM)
}

// widening is u: the radius at a row, as a multiple of that at 0.
func (t Transport) widening(along float64) float64 {
	return math.Sqrt(max(1+t.growth()*along, 0))
}

// slowSec is the time at which a row lies on the bar of a motor that slows.
func (t Transport) slowSec(along float64) float64 {
	k, a, v := t.SlowingPerMM, t.growth(), t.SpeedMMPerSec()
	most := mostSlowed / k
	s := min(along, most)
	u := t.widening(s)
	q := s / (1 + u - k*s)
	sec := 2 / v * q * atanhShare(q*q*k*(k+a))
	if along > most {
		sec += 2 * (along - most) / (v * (1 - mostSlowed) * (u + t.widening(along)))
	}
	return sec
}

// slowAlong is the inverse of slowSec.
func (t Transport) slowAlong(sec float64) float64 {
	k, a, v := t.SlowingPerMM, t.growth(), t.SpeedMMPerSec()
	most := mostSlowed / k
	if full := t.slowSec(most); sec > full {
		d := (sec - full) * v * (1 - mostSlowed) / 2
		return most + d*(2*t.widening(most)+a*d)
	}
	half := v * sec / 2
	q := half * tanhShare(half*half*k*(k+a))
	by := 1 + k*q
	return q * (2*by + a*q) / (by * by)
}

// atanhShare is atanh(x)/x of x = sqrt(square), 1 at 0.
func atanhShare(square float64) float64 {
	x := math.Sqrt(square)
	if x < 1e-4 {
		return 1 + square/3 // the next term is below 1e-17
	}
	return math.Atanh(x) / x
}

// tanhShare is tanh(x)/x likewise.
func tanhShare(square float64) float64 {
	x := math.Sqrt(square)
	if x < 1e-4 {
		return 1 - square/3
	}
	return math.Tanh(x) / x
}

// turning is the speed of the spool's turns at a row, as a share of that at 0.
func (t Transport) turning(along float64) float64 {
	return 1 - min(t.SlowingPerMM*along, mostSlowed)
}
