package read

import (
	"encoding/binary"
	"math/bits"
)

// run is a stretch of one row that is as dark (or light) as what lies behind the
// paper: pixels x0 to x1-1. Its ends between the pixels, where the light crosses
// the level halfway, are Left and Right.
type run struct {
	x0, x1 int32
	fl, fr uint8 // where the crossing lies between two pixels' centres, in 256ths
}

// Left and Right are the ends in pixels, 0 being the outer edge of the first one.
func (r run) left() float64  { return float64(r.x0) - 0.5 + float64(r.fl)/256 }
func (r run) right() float64 { return float64(r.x1) - 0.5 + float64(r.fr)/256 }

// blockPixels is how far one level holds across.
const blockPixels = 64

const (
	ones  = 0x0101010101010101
	highs = 0x8080808080808080
	// gather moves the bits at 0, 8, ..., 56 next to each other at 56 to 63: the
	// factors are 2^(56-7i), and no two products meet.
	gather = 0x0102040810204080
)

// appendRuns adds the runs of a row: pixels, turned by flip (0 or 255), below the
// level of their block.
func appendRuns(runs []run, row, levels []byte, flip byte) []run {
	open, from := false, 0
	wide := uint64(flip) * ones
	for b := 0; b*blockPixels < len(row); b++ {
		x := b * blockPixels
		var mask uint64
		n := min(len(row)-x, blockPixels)
		if n == blockPixels {
			mask = below(row[x:x+blockPixels], levels[b], wide)
		} else {
			for i, v := range row[x:] {
				if v^flip < levels[b] {
					mask |= 1 << i
				}
			}
		}
		if (mask == 0 && !open) || (mask == ^uint64(0) && open) {
			continue
		}
		carry := uint64(0)
		if open {
			carry = 1
		}
		turns := mask ^ (mask<<1 | carry)
		if n < blockPixels {
			turns &= 1<<n - 1
		}
		for ; turns != 0; turns &= turns - 1 {
			at := x + bits.TrailingZeros64(turns)
			if open {
				runs = append(runs, between(row, levels, flip, from, at))
			} else {
				from = at
			}
			open = !open
		}
	}
	if open {
		runs = append(runs, between(row, levels, flip, from, len(row)))
	}
	return runs
}

// below has a bit for each of 64 pixels, set where it is below level; eight are
// compared at a time. Most are all paper or all backing, so that all are held together
// first: the upper bit of a byte says that it is not below.
func below(p []byte, level byte, flip uint64) uint64 {
	q := (*[blockPixels]byte)(p)
	var t [blockPixels / 8]uint64
	all, any := ^uint64(0), uint64(0)
	if level > 128 {
		sub := uint64(level-128) * ones
		for i := range t {
			v := binary.LittleEndian.Uint64(q[8*i:8*i+8]) ^ flip
			t[i] = ((v | highs) - sub) & v
			all &= t[i]
			any |= t[i]
		}
	} else {
		sub := uint64(level) * ones
		for i := range t {
			v := binary.LittleEndian.Uint64(q[8*i:8*i+8]) ^ flip
			t[i] = ((v | highs) - sub) | v
			all &= t[i]
			any |= t[i]
		}
	}
	switch {
	case all&highs == highs:
		return 0
	case any&highs == 0:
		return ^uint64(0)
	}
	mask := uint64(0)
	for i, v := range t {
		mask |= bitsOf(^v&highs) << (8 * i)
	}
	return mask
}

// bitsOf are the upper bits of eight bytes next to each other.
func bitsOf(v uint64) uint64 { return (v >> 7) * gather >> 56 }

// between is the run of pixels from x0 to x1-1 with its ends between pixels.
func between(row, levels []byte, flip byte, x0, x1 int) run {
	r := run{int32(x0), int32(x1), 128, 128}
	if x0 > 0 {
		r.fl = crossing(row[x0-1]^flip, row[x0]^flip, levels[x0/blockPixels])
	}
	if x1 < len(row) {
		r.fr = 255 - crossing(row[x1]^flip, row[x1-1]^flip, levels[(x1-1)/blockPixels])
	}
	return r
}

// crossing is how far from the centre of an outer pixel to that of an inner one
// the light passes the level, in 256ths.
func crossing(outer, inner, level byte) uint8 {
	o, i, l := int(outer), int(inner), 2*int(level)-1
	if o <= i {
		return 128
	}
	return uint8(min(max((2*o-l)*128/(o-i), 0), 255))
}
