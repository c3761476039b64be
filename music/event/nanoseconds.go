package event

import "math"

// Nanoseconds rounds a time to whole nanoseconds, half up. It is the one
// rounding of times: events are sorted by it and tables print it.
//
// A float64 is the nearest to the time that it stands for, so a time that is
// within a unit of sec's last place below a half nanosecond counts as that half
// (up to ten hours; later, within 1/128 ns): 0.0000015625 s is 1563 ns though
// its float64 lies a little below. sec must be within plus or minus 9e9.
func Nanoseconds(sec float64) int64 {
	ns := sec * 1e9
	whole := math.Floor(ns)
	if ns-whole+min(math.Abs(ns)*0x1p-52, 0x1p-7) >= 0.5 {
		whole++
	}
	return int64(whole)
}
