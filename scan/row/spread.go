package row

import "encoding/binary"

// spread makes a byte of each sample of 1, 2 or 4 bits, the upper ones first: what
// each byte of them becomes, the first sample lowest.
type spread struct {
	per   int // samples a byte
	bytes [256]uint64
}

// newSpread is the spread by which sample v becomes meaning[v].
func newSpread(bits int, meaning *[256]byte) *spread {
	s := &spread{per: 8 / bits}
	for b := range s.bytes {
		for k := range s.per {
			v := b >> (8 - bits*(k+1)) & (1<<bits - 1)
			s.bytes[b] |= uint64(meaning[v]) << (8 * k)
		}
	}
	return s
}

// unpack fills dst with the samples of raw.
func (s *spread) unpack(dst, raw []byte) {
	i := 0
	for ; len(dst) >= 8 && i < len(raw); i++ {
		binary.LittleEndian.PutUint64(dst, s.bytes[raw[i]]) // what it writes too much is overwritten
		dst = dst[s.per:]
	}
	for k := range dst {
		dst[k] = byte(s.bytes[raw[i+k/s.per]] >> (k % s.per * 8))
	}
}

// places are the numbers from 0: samples that say where in a palette a colour is.
var places = func() (t [256]byte) {
	for v := range t {
		t[v] = byte(v)
	}
	return t
}()

// turnRound makes dark of light, eight pixels at a time.
func turnRound(p []byte) {
	for ; len(p) >= 8; p = p[8:] {
		binary.LittleEndian.PutUint64(p, ^binary.LittleEndian.Uint64(p))
	}
	for i := range p {
		p[i] = ^p[i]
	}
}
