package flac

// An encoder makes blocks, one at a time, and keeps its scratch between them.
type encoder struct {
	f      Format
	window []float64
	float  []float64
	mid    []int32
	side   []int32
}

func newEncoder(f Format) *encoder {
	return &encoder{f: f, window: tukey(blockFrames)}
}

// Channel assignments of a stereo block (RFC 9639, 9.1.3).
const (
	leftRight = 1
	leftSide  = 8
	sideRight = 9
	midSide   = 10
)

// block encodes one block, the number-th of the file. Two channels are coded as
// left and right, or either of them with their difference, or their mean with it,
// whatever is shortest.
func (e *encoder) block(channels [][]int32, number uint64) []byte {
	frames := len(channels[0])
	if len(channels) == 1 {
		return e.finish(0, number, frames, e.plan(channels[0], e.f.Bits))
	}
	left, right := channels[0], channels[1]
	e.mid, e.side = e.mid[:0], e.side[:0]
	for i, l := range left {
		e.mid = append(e.mid, (l+right[i])>>1)
		e.side = append(e.side, l-right[i])
	}
	l, r := e.plan(left, e.f.Bits), e.plan(right, e.f.Bits)
	m, s := e.plan(e.mid, e.f.Bits), e.plan(e.side, e.f.Bits+1)
	best, as, a, b := l.size+r.size, byte(leftRight), l, r
	if size := l.size + s.size; size < best {
		best, as, a, b = size, leftSide, l, s
	}
	if size := s.size + r.size; size < best {
		best, as, a, b = size, sideRight, s, r
	}
	if size := m.size + s.size; size < best {
		as, a, b = midSide, m, s
	}
	return e.finish(as, number, frames, a, b)
}

// finish writes a block: header, subframes, checksums (RFC 9639, 9.1 and 9.3).
func (e *encoder) finish(as byte, number uint64, frames int, subs ...*subframe) []byte {
	w := &bitWriter{}
	w.put(0x3ffe<<2, 16) // sync code, fixed block size
	size := uint64(12)   // 4096
	if frames != blockFrames {
		size = 7 // 16 bits at the end of the header
	}
	w.put(size, 4)
	w.put(rateCode(e.f.Rate), 4)
	w.put(uint64(as), 4)
	w.put(uint64(map[int]int{16: 4, 24: 6}[e.f.Bits]), 3)
	w.put(0, 1)
	w.putNumber(number)
	if size == 7 {
		w.put(uint64(frames-1), 16)
	}
	w.align()
	w.put(uint64(crc8(w.b)), 8)
	for _, s := range subs {
		s.write(w)
	}
	w.align()
	sum := crc16(w.b)
	return append(w.b, byte(sum>>8), byte(sum))
}

// rateCode is the four bits for a sample rate; 0 refers to the file's head.
func rateCode(rate int) uint64 {
	switch rate {
	case 44100:
		return 9
	case 48000:
		return 10
	}
	return 0
}

// A bitWriter packs bits, the most significant first.
type bitWriter struct {
	b    []byte
	acc  uint64
	have uint // bits in acc, fewer than 8 between calls
}

// put writes the low n bits of v, n at most 56.
func (w *bitWriter) put(v uint64, n uint) {
	w.acc = w.acc<<n | v&(1<<n-1)
	w.have += n
	for w.have >= 8 {
		w.have -= 8
		w.b = append(w.b, byte(w.acc>>w.have))
	}
}

// putUnary writes n zeros and a one.
func (w *bitWriter) putUnary(n uint64) {
	for n >= 32 {
		w.put(0, 32)
		n -= 32
	}
	w.put(1, uint(n)+1)
}

func (w *bitWriter) align() {
	if w.have > 0 {
		w.put(0, 8-w.have)
	}
}

// putNumber writes a number of up to 36 bits as UTF-8 would, carried on (RFC
// 9639, 9.1.5).
func (w *bitWriter) putNumber(n uint64) {
	if n < 0x80 {
		w.put(n, 8)
		return
	}
	more := uint(1) // bytes after the first: each brings 6 bits, the first loses one
	for n>>(5*more+6) != 0 {
		more++
	}
	w.put((0xff<<(7-more)&0xff)|n>>(6*more), 8)
	for i := int(more) - 1; i >= 0; i-- {
		w.put(0x80|n>>(6*uint(i))&0x3f, 8)
	}
}

// crc8 is the checksum of a block's header: polynomial x^8 + x^2 + x + 1.
func crc8(b []byte) byte {
	c := byte(0)
	for _, x := range b {
		c ^= x
		for range 8 {
			c = c<<1 ^ c>>7*0x07
		}
	}
	return c
}

// crc16 is the checksum of a block: polynomial x^16 + x^15 + x^2 + 1.
func crc16(b []byte) uint16 {
	c := uint16(0)
	for _, x := range b {
		c = c<<8 ^ crc16Table[byte(c>>8)^x]
	}
	return c
}

var crc16Table = func() (t [256]uint16) {
	for i := range t {
		c := uint16(i) << 8
		for range 8 {
			c = c<<1 ^ c>>15*0x8005
		}
		t[i] = c
	}
	return t
}()
