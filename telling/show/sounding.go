package show

import (
	"sort"

	"rollwright/music/perform"
)

// leastSec is the shortest overlap that counts: of two voices one of which
// follows the other, rounding may leave less.
const leastSec = 0.001

// sounding are those of the voices that have a note between two times, whole or
// in part, by their written durations.
func sounding(in *Input, voices []int, fromSec, toSec float64) []int {
	heard := []int{}
	for _, v := range voices {
		if hasNote(in.Performance.Lines[v], fromSec+leastSec, toSec-leastSec) {
			heard = append(heard, v)
		}
	}
	return heard
}

func hasNote(line *perform.Line, fromSec, toSec float64) bool {
	first := sort.Search(line.Items, func(i int) bool { return line.Item(i).EndSec > fromSec })
	for i := first; i < line.Items; i++ {
		switch item := line.Item(i); {
		case item.StartSec >= toSec:
			return false
		case !item.Silent:
			return true
		}
	}
	return false
}

// last reports whether the piece has other voices, all of which have ended when
// this one begins.
func last(in *Input, voice int) bool {
	lines := in.Performance.Lines
	for v, line := range lines {
		if v != voice && line.EndSec > lines[voice].StartSec+leastSec {
			return false
		}
	}
	return len(lines) > 1
}
