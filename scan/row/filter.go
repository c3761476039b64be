package row

import (
	"encoding/binary"
	"fmt"
)

// unfilter undoes a row's filter (W3C Portable Network Graphics, 9.2); distance is
// the bytes of a pixel.
func unfilter(kind byte, row, above []byte, distance int) error {
	above = above[:len(row)]
	first := min(distance, len(row))
	switch kind {
	case 0:
	case 1:
		addLeft(row, distance)
	case 2:
		addBytes(row, above)
	case 3:
		for i := range first {
			row[i] += above[i] / 2
		}
		for c := range first {
			addMeans(row[c:], above[c:], distance)
		}
	case 4:
		addBytes(row[:first], above)
		switch distance {
		case 1:
			paethGrey(row, above)
		case 3:
			paethColour(row, above)
		default:
			for c := range first {
				addPaeth(row[c:], above[c:], distance)
			}
		}
	default:
		return FormatError{fmt.Sprintf("filter %d does not exist: its pixels are damaged", kind)}
	}
	return nil
}

// addLeft adds to each byte the one at a distance before it.
func addLeft(row []byte, distance int) {
	if distance == 1 {
		a := byte(0)
		for i, v := range row {
			a += v
			row[i] = a
		}
		return
	}
	for i := distance; i < len(row); i++ {
		row[i] += row[i-distance]
	}
}

// low are the lower seven bits of eight bytes, ones their lowest.
const (
	low  = 0x7f7f7f7f7f7f7f7f
	ones = 0x0101010101010101
)

// addBytes adds byte by byte, eight at a time: the lower seven bits, then the
// upper one.
func addBytes(row, above []byte) {
	above = above[:len(row)]
	for len(row) >= 8 && len(above) >= 8 {
		a, b := binary.LittleEndian.Uint64(row), binary.LittleEndian.Uint64(above)
		binary.LittleEndian.PutUint64(row, (a&low+b&low)^((a^b)&^low))
		row, above = row[8:], above[8:]
	}
	for i := range row {
		row[i] += above[i]
	}
}

// addMeans adds to each distance-th byte after the first the mean of the one before
// it and the one above it, rounded down.
func addMeans(row, above []byte, distance int) {
	a := int(row[0])
	for i := distance; i < len(row) && i < len(above); i += distance {
		a = (int(row[i]) + (a+int(above[i]))>>1) & 255
		row[i] = byte(a)
	}
}

// addPaeth adds to each distance-th byte after the first what Paeth's filter foretells.
func addPaeth(row, above []byte, distance int) {
	a, c := int(row[0]), int(above[0])
	for i := distance; i < len(row) && i < len(above); i += distance {
		b := int(above[i])
		a = (int(row[i]) + paeth(a, b, c)) & 255
		row[i] = byte(a)
		c = b
	}
}

// paethGrey is addPaeth for pixels of one byte. Where all that is near has one value,
// as paper without noise does, eight pixels keep it: the filter foretells it, and
// nothing is to be added.
func paethGrey(row, above []byte) {
	if len(row) == 0 {
		return
	}
	above = above[:len(row)]
	a, c := int(row[0]), int(above[0])
	i := 1
	for ; i+8 <= len(row); i += 8 {
		same := uint64(a) * ones
		if a == c && binary.LittleEndian.Uint64(row[i:]) == 0 && binary.LittleEndian.Uint64(above[i:]) == same {
			binary.LittleEndian.PutUint64(row[i:], same)
			continue
		}
		r, u := row[i:i+8:i+8], above[i:i+8:i+8]
		for k := range 8 {
			b := int(u[k])
			a = (int(r[k]) + paeth(a, b, c)) & 255
			r[k] = byte(a)
			c = b
		}
	}
	addPaeth(row[i-1:], above[i-1:], 1)
}

// paethColour is addPaeth for the three bytes of a pixel side by side, which wait for
// nothing of each other.
func paethColour(row, above []byte) {
	if len(row) < 3 {
		return
	}
	above = above[:len(row)]
	a0, a1, a2 := int(row[0]), int(row[1]), int(row[2])
	c0, c1, c2 := int(above[0]), int(above[1]), int(above[2])
	for i := 3; i+3 <= len(row); i += 3 {
		r, u := row[i:i+3:i+3], above[i:i+3:i+3]
		b0, b1, b2 := int(u[0]), int(u[1]), int(u[2])
		a0 = (int(r[0]) + paeth(a0, b0, c0)) & 255
		a1 = (int(r[1]) + paeth(a1, b1, c1)) & 255
		a2 = (int(r[2]) + paeth(a2, b2, c2)) & 255
		r[0], r[1], r[2] = byte(a0), byte(a1), byte(a2)
		c0, c1, c2 = b0, b1, b2
	}
}

// paeth is which of a (left), b (above) and c (above left) lies nearest to a + b - c;
// in doubt the first of them. It is written so that nothing has to be jumped over.
func paeth(a, b, c int) int {
	pa, pb := b-c, a-c
	pc := absolute(pa + pb)
	pa, pb = absolute(pa), absolute(pb)
	p, d := b, pb
	if pc < pb {
		p, d = c, pc
	}
	if pa <= d {
		p = a
	}
	return p
}

func absolute(n int) int {
	m := n >> 63
	return (n ^ m) - m
}
