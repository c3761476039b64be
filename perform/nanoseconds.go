package perform

import "math"

// Nanoseconds rounds a time to whole nanoseconds, half up. It is the one
// rounding of times: events are sorted by it and tables print it.
//
// A float64 is the nearest to the time that it stands for, so a time that is
// within half a unit of sec's last place of a half nanosecond counts as that
// half: 0.0000015625 s is 1563 ns though its float64 lies a little below. sec
// must be within plus or minus 9e9.
func Nanoseconds(sec float64) int64 {
	ns := sec * 1e9
	return int64(math.Floor(ns + math.Abs(ns)*0x1p-52 + 0.5))
}
