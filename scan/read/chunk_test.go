package read

import (
	"encoding/binary"
	"hash/crc32"
	"io"
)

// writeChunk writes a chunk of a PNG file.
func writeChunk(w io.Writer, name string, body []byte) error {
	b := binary.BigEndian.AppendUint32(nil, uint32(len(body)))
	b = append(append(b, name...), body...)
	b = binary.BigEndian.AppendUint32(b, crc32.ChecksumIEEE(b[4:]))
	_, err := w.Write(b)
	return err
}
