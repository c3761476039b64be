package overhear

import "math"

// tuning is by how many cents the take's tones lie above those of A4 = 440 Hz, from
// -50 to 50: the mean direction on a circle of a semitone of all spectral peaks
// from 180 to 1600 Hz. strength, 0 to 1, is how much they agree.
func (s *spectra) tuning() (cents, strength float64) {
	const looked = 400
	frames := s.frames()
	mag := make([]float32, s.bins())
	from, to := int(180/s.hz(1)), min(int(1600/s.hz(1)), s.bins()-2)
	var x, y, total float64
	for i := range min(looked, frames) {
		s.at(i*frames/min(looked, frames), mag)
		var most float32
		for k := from; k < to; k++ {
			most = max(most, mag[k])
		}
		for k := from; k < to; k++ {
			if mag[k] < most/10 || mag[k] <= mag[k-1] || mag[k] < mag[k+1] {
				continue
			}
			key := 69 + 12*math.Log2(s.hz(summit(mag, k))/440)
			w := float64(mag[k] / most)
			angle := 2 * math.Pi * key
			x, y, total = x+w*math.Cos(angle), y+w*math.Sin(angle), total+w
		}
	}
	if total == 0 {
		return 0, 0
	}
	return 100 * math.Atan2(y, x) / (2 * math.Pi), math.Hypot(x, y) / total
}

// summit is where between bins a peak lies: the parabola through the logarithms of
// three (J. O. Smith and X. Serra, ICMC 1987).
func summit(mag []float32, k int) float64 {
	a, b, c := math.Log(float64(mag[k-1])+1e-12), math.Log(float64(mag[k])+1e-12), math.Log(float64(mag[k+1])+1e-12)
	if bend := a - 2*b + c; bend < 0 {
		return float64(k) + 0.5*(a-c)/bend
	}
	return float64(k)
}
