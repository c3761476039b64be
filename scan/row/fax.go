package row

import (
	"bufio"
	"errors"
	"io"
	"strings"
	"sync"
)

// Codes of ITU-T T.4 (07/2003), tables 2 and 3: those of runs of 0 to 63, then those
// of 64, 128, ... to 1728, then those that white and black share, to 2560.
const (
	whiteCodes = `00110101 000111 0111 1000 1011 1100 1110 1111 10011 10100 00111 01000 001000 000011 110100 110101
101010 101011 0100111 0001100 0001000 0010111 0000011 0000100 0101000 0101011 0010011 0100100 0011000 00000010
00000011 00011010 00011011 00010010 00010011 00010100 00010101 00010110 00010111 00101000 00101001 00101010 00101011
00101100 00101101 00000100 00000101 00001010 00001011 01010010 01010011 01010100 01010101 00100100 00100101 01011000
01011001 01011010 01011011 01001010 01001011 00110010 00110011 00110100
11011 10010 010111 0110111 00110110 00110111 01100100 01100101 01101000 01100111 011001100 011001101 011010010
011010011 011010100 011010101 011010110 011010111 011011000 011011001 011011010 011011011 010011000 010011001
010011010 011000 010011011`
	blackCodes = `0000110111 010 11 10 011 0011 0010 00011 000101 000100 0000100 0000101 0000111 00000100 00000111
000011000 0000010111 0000011000 0000001000 00001100111 00001101000 00001101100 00000110111 00000101000 00000010111
00000011000 000011001010 000011001011 000011001100 000011001101 000001101000 000001101001 000001101010 000001101011
000011010010 000011010011 000011010100 000011010101 000011010110 000011010111 000001101100 000001101101 000011011010
000011011011 000001010100 000001010101 000001010110 000001010111 000001100100 000001100101 000001010010 000001010011
000000100100 000000110111 000000111000 000000100111 000000101000 000001011000 000001011001 000000101011 000000101100
000001011010 000001100110 000001100111
0000001111 000011001000 000011001001 000001011011 000000110011 000000110100 000000110101 0000001101100 0000001101101
0000001001010 0000001001011 0000001001100 0000001001101 0000001110010 0000001110011 0000001110100 0000001110101
0000001110110 0000001110111 0000001010010 0000001010011 0000001010100 0000001010101 0000001011010 0000001011011
0000001100100 0000001100101`
	sharedCodes = `00000001000 00000001100 00000001101 000000010010 000000010011 000000010100 000000010101 000000010110
000000010111 000000011100 000000011101 000000011110 000000011111`
)

// The codes of a row against the one above (table 4): a change lies right below the one
// above, or one to three to its right, or to its left; the row passes under a run; two
// runs follow.
const (
	modeCodes = `1 011 000011 0000011 010 000010 0000010 0001 001`
	rightMost = 3 // up to here a mode is by how much a change lies to the right, then to the left
	passes    = 7
	twoRuns   = 8
)

// faxCode is what a code means; bits is 0 where there is none.
type faxCode struct {
	bits  uint8
	value int16
}

// mostCodeBits is the length of the longest code.
const mostCodeBits = 13

// faxTables are the codes by the next 13 bits.
type faxTables struct{ white, black, mode []faxCode }

var faxCodes = sync.OnceValue(func() *faxTables {
	t := &faxTables{make([]faxCode, 1<<mostCodeBits), make([]faxCode, 1<<mostCodeBits), make([]faxCode, 1<<mostCodeBits)}
	for table, codes := range map[*[]faxCode]string{&t.white: whiteCodes, &t.black: blackCodes} {
		for i, code := range strings.Fields(codes + " " + sharedCodes) {
			run := i
			if i >= 64 {
				run = (i - 63) * 64
			}
			enter(*table, code, int16(run))
		}
	}
	for i, code := range strings.Fields(modeCodes) {
		enter(t.mode, code, int16(i))
	}
	return t
})

// enter puts a code wherever bits begin with it.
func enter(table []faxCode, code string, value int16) {
	at := 0
	for _, c := range code {
		at = at<<1 | int(c-'0')
	}
	free := mostCodeBits - len(code)
	for i := range 1 << free {
		table[at<<free|i] = faxCode{uint8(len(code)), value}
	}
}

var errFax = errors.New("a code that does not exist")

// fax decodes rows of Group 3 (ITU-T T.4), each after its end-of-line code or without
// one, in one dimension or two. A bit of what it gives is 1 where the code says black.
type fax struct {
	in      *bufio.Reader
	twoD    bool
	width   int
	rows    int // still to come
	bits    uint64
	count   uint  // of bits
	filled  uint  // of them, those after the end of the input
	last    []int // where colours change in the row above, beginning with the first black
	now     []int
	line    []byte
	pending []byte
}

func newFax(in io.Reader, twoD bool, width, rows int) *fax {
	return &fax{in: bufio.NewReader(in), twoD: twoD, width: width, rows: rows, line: make([]byte, (width+7)/8)}
}

func (f *fax) Read(dst []byte) (int, error) {
	if len(f.pending) == 0 {
		if f.rows == 0 {
			return 0, io.EOF
		}
		if err := f.row(); err != nil {
			return 0, err
		}
		f.rows--
		f.pending = f.line
	}
	n := copy(dst, f.pending)
	f.pending = f.pending[n:]
	return n, nil
}

// peek is the next 13 bits; 0 after the end.
func (f *fax) peek() int {
	for f.count < mostCodeBits {
		b, err := f.in.ReadByte()
		if err != nil {
			f.filled += 8
		}
		f.bits = f.bits<<8 | uint64(b)
		f.count += 8
	}
	return int(f.bits>>(f.count-mostCodeBits)) & (1<<mostCodeBits - 1)
}

func (f *fax) skip(n uint) { f.count -= n }

// ended reports whether all of the input has been used.
func (f *fax) ended() bool { return f.count <= f.filled }

// endOfLine skips zeros and the 1 after them where there are eleven or more: fill, and
// the end of the row before.
func (f *fax) endOfLine() bool {
	if f.peek()>>2 != 0 {
		return false
	}
	for !f.ended() {
		one := f.peek()>>(mostCodeBits-1) == 1
		f.skip(1)
		if one {
			return true
		}
	}
	return false
}

func (f *fax) row() error {
	marked := f.endOfLine()
	oneD := true
	if f.twoD && marked {
		oneD = f.peek()>>(mostCodeBits-1) == 1
		f.skip(1)
	}
	f.now = f.now[:0]
	var err error
	if oneD {
		err = f.alone()
	} else {
		err = f.against()
	}
	if err != nil {
		if f.ended() {
			return io.ErrUnexpectedEOF
		}
		return err
	}
	f.paint()
	f.last, f.now = f.now, f.last
	return nil
}

// run is a run of white or black, its codes added up.
func (f *fax) run(black bool) (int, error) {
	table := faxCodes().white
	if black {
		table = faxCodes().black
	}
	for total := 0; ; {
		c := table[f.peek()]
		if c.bits == 0 {
			return 0, errFax
		}
		f.skip(uint(c.bits))
		total += int(c.value)
		if total > f.width {
			return 0, errFax
		}
		if c.value < 64 {
			return total, nil
		}
	}
}

// alone is a row in one dimension: runs of white and black by turns.
func (f *fax) alone() error {
	black := false
	for at := 0; at < f.width; black = !black {
		n, err := f.run(black)
		if err != nil {
			return err
		}
		if at += n; at > f.width {
			return errFax
		}
		f.now = append(f.now, at)
	}
	return nil
}

// against is a row by its differences from the one above (4.2).
func (f *fax) against() error {
	at, black := -1, false
	for at < f.width {
		c := faxCodes().mode[f.peek()]
		if c.bits == 0 {
			return errFax
		}
		f.skip(uint(c.bits))
		b1, b2 := f.above(at, black)
		switch v := int(c.value); {
		case v == passes:
			at = b2
		case v == twoRuns:
			from := max(at, 0)
			one, err := f.run(black)
			if err != nil {
				return err
			}
			two, err := f.run(!black)
			if err != nil {
				return err
			}
			if at = from + one + two; at > f.width {
				return errFax
			}
			f.now = append(f.now, from+one, at)
		default:
			if v > rightMost {
				v = rightMost - v
			}
			to := b1 + v
			if to < max(at, 0) || to > f.width {
				return errFax
			}
			at, black = to, !black
			f.now = append(f.now, at)
		}
	}
	return nil
}

// above are the first change in the row above that lies beyond at and leads to the
// other colour, and the one after it.
func (f *fax) above(at int, black bool) (b1, b2 int) {
	i := 0
	if black {
		i = 1
	}
	for ; i < len(f.last); i += 2 {
		if f.last[i] > at {
			b1, b2 = f.last[i], f.width
			if i+1 < len(f.last) {
				b2 = f.last[i+1]
			}
			return b1, b2
		}
	}
	return f.width, f.width
}

// paint makes bits of the changes.
func (f *fax) paint() {
	clear(f.line)
	for i := 0; i < len(f.now); i += 2 {
		end := f.width
		if i+1 < len(f.now) {
			end = f.now[i+1]
		}
		for x := f.now[i]; x < end; x++ {
			f.line[x>>3] |= 0x80 >> (x & 7)
		}
	}
}
