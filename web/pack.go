package web

import (
	"encoding/binary"
	"encoding/json"
	"math"
)

// packed is an answer in binary: the length of a JSON text as a 32-bit number,
// the text, then arrays one after the other, all little-endian and each
// beginning at a multiple of eight bytes, counted from the first. The text's
// member "arrays" says what they are.
type packed struct {
	list []packedArray
	data []byte
}

// packedArray tells where an array is.
type packedArray struct {
	Name   string `json:"name"`
	Type   string `json:"type"`   // f64, f32, i32, u16, u8
	Length int    `json:"length"` // in numbers
	Offset int    `json:"offset"` // in bytes from the first array
}

// begin lists an array of n numbers of so many bytes and makes room for it.
func (p *packed) begin(name, kind string, n, size int) []byte {
	for len(p.data)%8 != 0 {
		p.data = append(p.data, 0)
	}
	at := len(p.data)
	p.list = append(p.list, packedArray{name, kind, n, at})
	p.data = append(p.data, make([]byte, n*size)...)
	return p.data[at:]
}

func (p *packed) floats(name string, n int, at func(i int) float64) {
	out := p.begin(name, "f64", n, 8)
	for i := range n {
		binary.LittleEndian.PutUint64(out[8*i:], math.Float64bits(at(i)))
	}
}

func (p *packed) ints(name string, n int, at func(i int) int32) {
	out := p.begin(name, "i32", n, 4)
	for i := range n {
		binary.LittleEndian.PutUint32(out[4*i:], uint32(at(i)))
	}
}

func (p *packed) bytes(name string, n int, at func(i int) uint8) {
	out := p.begin(name, "u8", n, 1)
	for i := range n {
		out[i] = at(i)
	}
}

// join adds the arrays of another answer.
func (p *packed) join(q *packed) {
	for len(p.data)%8 != 0 {
		p.data = append(p.data, 0)
	}
	base := len(p.data)
	for _, a := range q.list {
		a.Offset += base
		p.list = append(p.list, a)
	}
	p.data = append(p.data, q.data...)
}

// assemble is the whole answer around head, whose arrays it has to list.
func (p *packed) assemble(head any) ([]byte, error) {
	text, err := json.Marshal(head)
	if err != nil {
		return nil, err
	}
	start := (4 + len(text) + 7) / 8 * 8
	out := make([]byte, start, start+len(p.data))
	binary.LittleEndian.PutUint32(out, uint32(len(text)))
	copy(out[4:], text)
	for i := 4 + len(text); i < start; i++ {
		out[i] = ' '
	}
	return append(out, p.data...), nil
}
