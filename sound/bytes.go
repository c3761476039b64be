package sound

import (
	"encoding/binary"
	"io"
	"math"
	"unsafe"
)

var littleEndian = binary.NativeEndian.Uint16([]byte{1, 0}) == 1

// bytesOf sees samples as the bytes of a file, little-endian, in place; nil where
// the machine's own order is another.
func bytesOf(x []float32) []byte {
	if !littleEndian || len(x) == 0 {
		return nil
	}
	return unsafe.Slice((*byte)(unsafe.Pointer(&x[0])), 4*len(x))
}

// appendFloats appends samples, little-endian.
func appendFloats(b []byte, x []float32) []byte {
	if own := bytesOf(x); own != nil {
		return append(b, own...)
	}
	for _, v := range x {
		b = binary.LittleEndian.AppendUint32(b, math.Float32bits(v))
	}
	return b
}

// readFloats fills x from a place in a file.
func readFloats(r io.ReaderAt, x []float32, at int64) error {
	if own := bytesOf(x); own != nil {
		_, err := r.ReadAt(own, at)
		return err
	}
	b := make([]byte, 4*len(x))
	if _, err := r.ReadAt(b, at); err != nil {
		return err
	}
	_, err := binary.Decode(b, binary.LittleEndian, x)
	return err
}
