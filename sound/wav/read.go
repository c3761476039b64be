package wav

import (
	"encoding/binary"
	"fmt"
	"io"
	"math"
)

// A Sound is a file that has been read. Ints holds samples of integer formats,
// Floats those of float, interleaved; the other is nil.
type Sound struct {
	Format
	Ints   []int32
	Floats []float32
}

// Decode reads a whole file of the kinds that a Writer makes, RF64 included.
func Decode(r io.Reader) (*Sound, error) {
	var head [12]byte
	if _, err := io.ReadFull(r, head[:]); err != nil {
		return nil, FormatError("no RIFF header: " + err.Error())
	}
	kind := string(head[:4])
	if kind != "RIFF" && kind != "RF64" || string(head[8:]) != "WAVE" {
		return nil, FormatError(fmt.Sprintf("begins with %q, wanted RIFF or RF64 and WAVE", head))
	}
	d := decoder{r: r, s: &Sound{}}
	for {
		err := d.chunk()
		if err == io.EOF {
			break
		}
		if err != nil {
			return nil, err
		}
	}
	if !d.data {
		return nil, FormatError("no data chunk")
	}
	return d.s, nil
}

type decoder struct {
	r      io.Reader
	s      *Sound
	long   uint64 // size of data by ds64
	format bool
	data   bool
}

// chunk reads one chunk; io.EOF when there is none.
func (d *decoder) chunk() error {
	var head [8]byte
	if _, err := io.ReadFull(d.r, head[:]); err != nil {
		if err == io.ErrUnexpectedEOF {
			return FormatError("a chunk header is cut short")
		}
		return err
	}
	size := uint64(binary.LittleEndian.Uint32(head[4:]))
	switch id := string(head[:4]); id {
	case "data":
		if size == math.MaxUint32 && d.long > 0 {
			size = d.long
		}
		return d.samples(size)
	case "fmt ", "ds64", "LIST":
		if size > 1<<20 {
			return FormatError(fmt.Sprintf("chunk %q of %d bytes", id, size))
		}
		body := make([]byte, size+size%2)
		if _, err := io.ReadFull(d.r, body); err != nil {
			return FormatError(fmt.Sprintf("chunk %q is cut short", id))
		}
		return d.known(id, body[:size])
	default:
		n, err := io.CopyN(io.Discard, d.r, int64(size+size%2))
		if err != nil && uint64(n) < size {
			return FormatError(fmt.Sprintf("chunk %q is cut short", id))
		}
		return nil
	}
}

func (d *decoder) known(id string, b []byte) error {
	switch id {
	case "ds64":
		if len(b) < 24 {
			return FormatError("chunk ds64 is too short")
		}
		d.long = binary.LittleEndian.Uint64(b[8:])
	case "fmt ":
		return d.readFormat(b)
	case "LIST":
		d.readInfo(b)
	}
	return nil
}

func (d *decoder) readFormat(b []byte) error {
	if len(b) < 16 {
		return FormatError("chunk fmt is too short")
	}
	le := binary.LittleEndian
	code := le.Uint16(b)
	if code == formatExtensible && len(b) >= 26 {
		code = le.Uint16(b[24:])
	}
	f := &d.s.Format
	f.Channels, f.Rate = int(le.Uint16(b[2:])), int(le.Uint32(b[4:]))
	f.Bits, f.Float = int(le.Uint16(b[14:])), code == formatFloat
	if code != formatPCM && code != formatFloat {
		return fmt.Errorf("wav: sample format %d: %w", code, ErrUnsupported)
	}
	if err := f.check(); err != nil {
		return fmt.Errorf("%w: %w", err, ErrUnsupported)
	}
	d.format = true
	return nil
}

// readInfo reads the tags it knows and passes over anything odd.
func (d *decoder) readInfo(b []byte) {
	if len(b) < 4 || string(b[:4]) != "INFO" {
		return
	}
	for b = b[4:]; len(b) >= 8; {
		size := uint64(binary.LittleEndian.Uint32(b[4:]))
		if size > uint64(len(b)-8) {
			return
		}
		text := string(trimZeros(b[8 : 8+size]))
		switch string(b[:4]) {
		case "INAM":
			d.s.Title = text
		case "IART":
			d.s.Artist = text
		case "ICMT":
			d.s.Comment = text
		}
		b = b[min(8+size+size%2, uint64(len(b))):]
	}
}

func trimZeros(b []byte) []byte {
	for len(b) > 0 && b[len(b)-1] == 0 {
		b = b[:len(b)-1]
	}
	return b
}

// samples reads the data chunk, in pieces, so that a size that lies does not
// allocate more than there is.
func (d *decoder) samples(size uint64) error {
	switch {
	case !d.format:
		return FormatError("data before fmt")
	case d.data:
		return FormatError("two chunks of data")
	}
	width := d.s.Bits / 8
	if size%uint64(d.s.frameBytes()) != 0 {
		return FormatError(fmt.Sprintf("data of %d bytes is no whole number of frames", size))
	}
	buf := make([]byte, 1<<15*width)
	for left := size; left > 0; {
		n := min(left, uint64(len(buf)))
		if _, err := io.ReadFull(d.r, buf[:n]); err != nil {
			return FormatError("chunk data is cut short")
		}
		d.take(buf[:n], width)
		left -= n
	}
	if size%2 == 1 {
		io.CopyN(io.Discard, d.r, 1) // a file that ends without its pad byte is forgiven
	}
	d.s.Frames, d.data = int64(size)/int64(d.s.frameBytes()), true
	return nil
}

func (d *decoder) take(b []byte, width int) {
	le := binary.LittleEndian
	for ; len(b) > 0; b = b[width:] {
		switch {
		case d.s.Float:
			d.s.Floats = append(d.s.Floats, math.Float32frombits(le.Uint32(b)))
		case width == 2:
			d.s.Ints = append(d.s.Ints, int32(int16(le.Uint16(b))))
		default:
			d.s.Ints = append(d.s.Ints, int32(b[0])|int32(b[1])<<8|int32(int8(b[2]))<<16)
		}
	}
}
