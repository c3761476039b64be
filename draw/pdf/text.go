package pdf

import (
	"bytes"
	"crypto/sha256"
	"fmt"
	"io"
	"slices"
	"strings"
	"unicode/utf16"

	"rollwright/draw"
	"rollwright/draw/typeface"
)

// producer names the program in the file.
const producer = "rollwright"

// info writes the information dictionary (14.3.3), without dates.
func (e *encoder) info(d *draw.Drawing) int {
	n := e.reserve()
	e.object(n, "<</Title %s/Author %s/Subject %s/Producer(%s)>>", textString(d.Title), textString(d.Author),
		textString(d.Subject), producer)
	return n
}

// textString is text as UTF-16 in hexadecimal (7.9.2.2).
func textString(text string) string {
	var b strings.Builder
	b.WriteString("<FEFF")
	for _, u := range utf16.Encode([]rune(typeface.Clean(text))) {
		fmt.Fprintf(&b, "%04X", u)
	}
	return b.String() + ">"
}

var entities = strings.NewReplacer("&", "&amp;", "<", "&lt;", ">", "&gt;")

// metadata writes the same as XMP (ISO 16684-1). It is not compressed, as
// 14.3.2 asks for the sake of programs that only scan files.
func (e *encoder) metadata(d *draw.Drawing) int {
	n := e.reserve()
	x := func(s string) string { return entities.Replace(typeface.Clean(s)) }
	packet := "<?xpacket begin=\"\ufeff\" id=\"W5M0MpCehiHzreSzNTczkc9d\"?>\n" +
		`<x:xmpmeta xmlns:x="adobe:ns:meta/"><rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#">` +
		`<rdf:Description rdf:about="" xmlns:dc="http://purl.org/dc/elements/1.1/" xmlns:pdf="http://ns.adobe.com/pdf/1.3/">` +
		`<dc:format>application/pdf</dc:format>` +
		`<dc:title><rdf:Alt><rdf:li xml:lang="x-default">` + x(d.Title) + `</rdf:li></rdf:Alt></dc:title>` +
		`<dc:creator><rdf:Seq><rdf:li>` + x(d.Author) + `</rdf:li></rdf:Seq></dc:creator>` +
		`<dc:description><rdf:Alt><rdf:li xml:lang="x-default">` + x(d.Subject) + `</rdf:li></rdf:Alt></dc:description>` +
		`<pdf:Producer>` + producer + `</pdf:Producer>` +
		"</rdf:Description></rdf:RDF></x:xmpmeta>\n<?xpacket end=\"r\"?>"
	e.object(n, "<</Type/Metadata/Subtype/XML/Length %d>>stream\n%s\nendstream", len(packet), packet)
	return n
}

// fonts are the faces that the pages use, with the characters of each glyph.
type fonts struct {
	used  []typeface.Face
	font  map[typeface.Face]int
	runes map[typeface.Face]map[uint16]rune
}

func (f *fonts) collect(e *encoder, pages []*draw.Drawing) {
	f.font, f.runes = map[typeface.Face]int{}, map[typeface.Face]map[uint16]rune{}
	for _, d := range pages {
		for _, l := range d.Layers {
			for _, m := range l.Marks {
				if t, ok := m.(*draw.Text); ok {
					f.add(t)
				}
			}
		}
	}
	slices.Sort(f.used)
	for _, face := range f.used {
		f.font[face] = e.reserve()
	}
}

func (f *fonts) add(t *draw.Text) {
	if f.runes[t.Face] == nil {
		f.runes[t.Face] = map[uint16]rune{}
		f.used = append(f.used, t.Face)
	}
	for _, r := range typeface.Clean(t.Text) {
		g := t.Face.Glyph(r)
		if old, ok := f.runes[t.Face][g]; !ok || r < old {
			f.runes[t.Face][g] = r // of several characters with one glyph the first
		}
	}
}

func (f *fonts) resources() string {
	if len(f.used) == 0 {
		return ""
	}
	var b strings.Builder
	b.WriteString("/Font<<")
	for _, face := range f.used {
		fmt.Fprintf(&b, "/F%d %d 0 R", face, f.font[face])
	}
	return b.String() + ">>"
}

func (f *fonts) write(e *encoder) {
	for _, face := range f.used {
		f.writeFace(e, face)
	}
}

// writeFace writes a face as a composite font whose codes are glyph numbers
// (9.7: Type0 over CIDFontType2, Identity-H).
func (f *fonts) writeFace(e *encoder, face typeface.Face) {
	glyphs := sortedKeys(f.runes[face])
	file, unicodes, descriptor, descendant := e.reserve(), e.reserve(), e.reserve(), e.reserve()
	data := face.Subset(glyphs)
	e.stream(file, fmt.Sprintf("/Length1 %d", len(data)), func(w io.Writer) { w.Write(data) })
	e.stream(unicodes, "", func(w io.Writer) { w.Write(toUnicode(glyphs, f.runes[face])) })
	name := subsetTag(face, glyphs) + "+" + face.String()
	flags, slant := 4, 0 // symbolic: codes are glyphs (9.8.2)
	if face.Serifs() {
		flags |= 2
	}
	if face.Italic() {
		flags |= 64
		slant = -12
	}
	e.object(descriptor, "<</Type/FontDescriptor/FontName/%s/Flags %d/FontBBox[-200 %d 1400 %d]/ItalicAngle %d/Ascent %d/Descent %d/CapHeight %d/StemV 80/FontFile2 %d 0 R>>",
		name, flags, -face.Descent(), face.Ascent(), slant, face.Ascent(), -face.Descent(), face.CapHeight(), file)
	var widths strings.Builder
	for _, g := range glyphs {
		fmt.Fprintf(&widths, "%d[%d]", g, face.Advance(g))
	}
	e.object(descendant, "<</Type/Font/Subtype/CIDFontType2/BaseFont/%s/CIDSystemInfo<</Registry(Adobe)/Ordering(Identity)/Supplement 0>>/FontDescriptor %d 0 R/DW 0/W[%s]/CIDToGIDMap/Identity>>",
		name, descriptor, widths.String())
	e.object(f.font[face], "<</Type/Font/Subtype/Type0/BaseFont/%s/Encoding/Identity-H/DescendantFonts[%d 0 R]/ToUnicode %d 0 R>>", name, descendant, unicodes)
}

func sortedKeys(m map[uint16]rune) []uint16 {
	keys := make([]uint16, 0, len(m))
	for k := range m {
		keys = append(keys, k)
	}
	slices.Sort(keys)
	return keys
}

// subsetTag is six capitals that differ when face or glyphs do (9.6.4).
func subsetTag(face typeface.Face, glyphs []uint16) string {
	h := sha256.New()
	h.Write([]byte{byte(face)})
	for _, g := range glyphs {
		h.Write([]byte{byte(g >> 8), byte(g)})
	}
	tag := h.Sum(nil)[:6]
	for i := range tag {
		tag[i] = 'A' + tag[i]%26
	}
	return string(tag)
}

// toUnicode is the map from codes back to characters (9.10.3), in blocks of at
// most 100.
func toUnicode(glyphs []uint16, runes map[uint16]rune) []byte {
	var b bytes.Buffer
	b.WriteString("/CIDInit /ProcSet findresource begin\n12 dict begin\nbegincmap\n/CIDSystemInfo<</Registry(Adobe)/Ordering(UCS)/Supplement 0>>def\n/CMapName/Adobe-Identity-UCS def\n/CMapType 2 def\n1 begincodespacerange\n<0000><FFFF>\nendcodespacerange\n")
	for block := range slices.Chunk(glyphs, 100) {
		fmt.Fprintf(&b, "%d beginbfchar\n", len(block))
		for _, g := range block {
			r := runes[g]
			if g == 0 {
				r = '\uFFFD'
			}
			fmt.Fprintf(&b, "<%04X><", g)
			for _, u := range utf16.Encode([]rune{r}) {
				fmt.Fprintf(&b, "%04X", u)
			}
			b.WriteString(">\n")
		}
		b.WriteString("endbfchar\n")
	}
	b.WriteString("endcmap\nCMapName currentdict /CMap defineresource pop\nend\nend\n")
	return b.Bytes()
}
