package midi

// A variable-length quantity holds up to 28 bits, seven in a byte, the most
// significant first; every byte but the last has its top bit set.

// maxQuantity is the largest variable-length quantity, four bytes long.
const maxQuantity = 0x0FFFFFFF

// appendQuantity appends v, which is at most maxQuantity.
func appendQuantity(b []byte, v uint32) []byte {
	switch {
	case v < 1<<7:
		return append(b, byte(v))
	case v < 1<<14:
		return append(b, byte(v>>7)|0x80, byte(v)&0x7F)
	case v < 1<<21:
		return append(b, byte(v>>14)|0x80, byte(v>>7)|0x80, byte(v)&0x7F)
	}
	return append(b, byte(v>>21)|0x80, byte(v>>14)|0x80, byte(v>>7)|0x80, byte(v)&0x7F)
}

// quantity reads a variable-length quantity from the front of b: its value and
// the number of its bytes, 0 when b ends within it or it is longer than four.
func quantity(b []byte) (v uint32, n int) {
	for n < len(b) && n < 4 {
		v = v<<7 | uint32(b[n]&0x7F)
		n++
		if b[n-1] < 0x80 {
			return v, n
		}
	}
	return 0, 0
}
