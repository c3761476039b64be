package typeface

import (
	"bytes"
	"compress/zlib"
	"encoding/binary"
	"slices"
)

// table is one table of a font file.
type table struct {
	tag  string
	data []byte
}

// tables splits a TrueType file as OpenType 1.9, "Table directory", lays it out.
func tables(file []byte) []table {
	n := int(binary.BigEndian.Uint16(file[4:]))
	out := make([]table, n)
	for i := range out {
		entry := file[12+16*i:]
		start, size := binary.BigEndian.Uint32(entry[8:]), binary.BigEndian.Uint32(entry[12:])
		out[i] = table{string(entry[:4]), file[start : start+size]}
	}
	return out
}

func find(ts []table, tag string) []byte {
	for _, t := range ts {
		if t.tag == tag {
			return t.data
		}
	}
	return nil
}

// Subset is the TrueType file of the face with only the outlines of the given
// glyphs, those that they are made of, and glyph 0. Glyphs keep their numbers.
// It has the tables that ISO 32000-1, 9.9, asks of a font program embedded in
// a PDF file, and no others: no character map, no names.
func (f Face) Subset(glyphs []uint16) []byte {
	ts := tables(f.Data())
	glyf, loca := find(ts, "glyf"), offsets(ts)
	keep := make([]bool, len(loca)-1)
	var visit func(g uint16)
	visit = func(g uint16) {
		if int(g) >= len(keep) || keep[g] {
			return
		}
		keep[g] = true
		for _, part := range components(glyf[loca[g]:loca[g+1]]) {
			visit(part)
		}
	}
	visit(0)
	for _, g := range glyphs {
		visit(g)
	}
	var outlines, places []byte
	for g, k := range keep {
		places = binary.BigEndian.AppendUint32(places, uint32(len(outlines)))
		if k {
			outlines = append(outlines, glyf[loca[g]:loca[g+1]]...)
			for len(outlines)%4 != 0 {
				outlines = append(outlines, 0)
			}
		}
	}
	places = binary.BigEndian.AppendUint32(places, uint32(len(outlines)))
	head := slices.Clone(find(ts, "head"))
	binary.BigEndian.PutUint16(head[50:], 1) // long offsets in loca
	var out []table
	for _, tag := range []string{"cvt ", "fpgm", "glyf", "head", "hhea", "hmtx", "loca", "maxp", "prep"} {
		switch data := find(ts, tag); {
		case tag == "glyf":
			out = append(out, table{tag, outlines})
		case tag == "loca":
			out = append(out, table{tag, places})
		case tag == "head":
			out = append(out, table{tag, head})
		case data != nil:
			out = append(out, table{tag, data})
		}
	}
	return join(out)
}

// offsets is the loca table: where each glyph begins in glyf, one more than
// there are glyphs.
func offsets(ts []table) []uint32 {
	loca := find(ts, "loca")
	if binary.BigEndian.Uint16(find(ts, "head")[50:]) == 1 {
		out := make([]uint32, len(loca)/4)
		for i := range out {
			out[i] = binary.BigEndian.Uint32(loca[4*i:])
		}
		return out
	}
	out := make([]uint32, len(loca)/2)
	for i := range out {
		out[i] = 2 * uint32(binary.BigEndian.Uint16(loca[2*i:]))
	}
	return out
}

// components are the glyphs that a composite glyph is made of (OpenType 1.9,
// "glyf", composite glyph description).
func components(glyph []byte) []uint16 {
	if len(glyph) < 10 || int16(binary.BigEndian.Uint16(glyph)) >= 0 {
		return nil
	}
	const (
		words       = 0x0001
		scale       = 0x0008
		more        = 0x0020
		xAndYScale  = 0x0040
		twoByTwo    = 0x0080
		headerBytes = 10
	)
	var out []uint16
	for rest := glyph[headerBytes:]; ; {
		flags := binary.BigEndian.Uint16(rest)
		out = append(out, binary.BigEndian.Uint16(rest[2:]))
		size := 6
		if flags&words != 0 {
			size += 2
		}
		switch {
		case flags&scale != 0:
			size += 2
		case flags&xAndYScale != 0:
			size += 4
		case flags&twoByTwo != 0:
			size += 8
		}
		if flags&more == 0 {
			return out
		}
		rest = rest[size:]
	}
}

// join makes a TrueType file of tables that are in the order of their tags.
func join(ts []table) []byte {
	searchRange, selector := 16, 0
	for searchRange*2 <= 16*len(ts) {
		searchRange *= 2
		selector++
	}
	out := []byte{0, 1, 0, 0}
	for _, v := range []int{len(ts), searchRange, selector, 16*len(ts) - searchRange} {
		out = binary.BigEndian.AppendUint16(out, uint16(v))
	}
	place := len(out) + 16*len(ts)
	headAt := 0
	for _, t := range ts {
		data := t.data
		if t.tag == "head" {
			headAt = place
			data = slices.Clone(data)
			clear(data[8:12]) // its checksum leaves out the adjustment
		}
		out = append(out, t.tag...)
		for _, v := range []uint32{checksum(data), uint32(place), uint32(len(t.data))} {
			out = binary.BigEndian.AppendUint32(out, v)
		}
		place += (len(t.data) + 3) &^ 3
	}
	for _, t := range ts {
		out = append(out, t.data...)
		for len(out)%4 != 0 {
			out = append(out, 0)
		}
	}
	if headAt > 0 {
		clear(out[headAt+8 : headAt+12])
		binary.BigEndian.PutUint32(out[headAt+8:], 0xB1B0AFBA-checksum(out))
	}
	return out
}

// checksum is the sum of a table's big-endian words, the last filled up with
// zeros.
func checksum(data []byte) uint32 {
	var sum uint32
	for len(data) >= 4 {
		sum += binary.BigEndian.Uint32(data)
		data = data[4:]
	}
	var last [4]byte
	copy(last[:], data)
	return sum + binary.BigEndian.Uint32(last[:])
}

// WOFF is the face as a web font (WOFF 1.0, W3C Recommendation of 2012): the
// same tables, compressed.
func (f Face) WOFF() []byte {
	ts := tables(f.Data())
	const headerBytes, entryBytes = 44, 20
	var directory, body []byte
	total := 12 + 16*len(ts)
	for _, t := range ts {
		packed := deflate(t.data)
		directory = append(directory, t.tag...)
		for _, v := range []int{headerBytes + entryBytes*len(ts) + len(body), len(packed), len(t.data)} {
			directory = binary.BigEndian.AppendUint32(directory, uint32(v))
		}
		directory = binary.BigEndian.AppendUint32(directory, tableChecksum(t))
		body = append(body, packed...)
		for len(body)%4 != 0 {
			body = append(body, 0)
		}
		total += (len(t.data) + 3) &^ 3
	}
	out := []byte("wOFF\x00\x01\x00\x00")
	out = binary.BigEndian.AppendUint32(out, uint32(headerBytes+len(directory)+len(body)))
	out = binary.BigEndian.AppendUint16(out, uint16(len(ts)))
	out = binary.BigEndian.AppendUint16(out, 0)
	out = binary.BigEndian.AppendUint32(out, uint32(total))
	out = append(out, 0, 1, 0, 0)           // version of the font, then no metadata,
	out = append(out, make([]byte, 5*4)...) // no private data
	return append(append(out, directory...), body...)
}

func tableChecksum(t table) uint32 {
	if t.tag != "head" {
		return checksum(t.data)
	}
	data := slices.Clone(t.data)
	clear(data[8:12])
	return checksum(data)
}

// deflate is data compressed, or data itself when that is no longer.
func deflate(data []byte) []byte {
	var b bytes.Buffer
	z, _ := zlib.NewWriterLevel(&b, zlib.BestCompression) // the level exists
	z.Write(data)                                         // a bytes.Buffer takes everything
	z.Close()
	if b.Len() >= len(data) {
		return data
	}
	return b.Bytes()
}
