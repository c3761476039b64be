// Package pdf writes drawings as the pages of a PDF 1.6 file (ISO 32000-1).
//
// Pages are as large as the drawings' frames, 1:1; inside, coordinates are the
// drawings' millimetres with four decimals, brought to points by one matrix.
// Layers are optional content groups, text is real text in embedded subset
// faces, slots are round-ended strokes. The file has no date and no chance in
// it: equal drawings give equal bytes.
package pdf

import (
	"bytes"
	"compress/zlib"
	"crypto/sha256"
	"errors"
	"fmt"
	"io"

	"rollwright/draw"
)

// Options change how pages are written.
type Options struct {
	// UserUnit is for pages over 200 inches (5.08 m), beyond the limit of
	// 14,400 units that ISO 32000-1, annex C, names: true keeps the limit by
	// making the unit larger, which some readers do not know and show the page
	// too small; false keeps the unit and passes the limit, which other readers
	// refuse. Smaller pages are the same either way.
	UserUnit bool
	// CutLines writes slots as closed outlines without filling, for machines that
	// follow lines; else they are thick round-ended strokes. Their ends are cubic
	// curves, within 0.03 % of the circle.
	CutLines bool
}

// limit is the largest page in units of ISO 32000-1, annex C.
const limit = 14400

// pointsPerMM is 72 units an inch over 25.4 mm an inch.
const pointsPerMM = 72 / 25.4

// Encode writes the drawings as pages. Title, author and subject of the file
// are those of the first. It returns what is wrong with a drawing, or the
// first error of w.
func Encode(w io.Writer, pages []*draw.Drawing, o *Options) error {
	if len(pages) == 0 {
		return errors.New("pdf: no page to write")
	}
	for i, d := range pages {
		if err := d.Check(); err != nil {
			return fmt.Errorf("pdf: page %d: %w", i+1, err)
		}
	}
	if o == nil {
		o = &Options{}
	}
	e := &encoder{w: w, hash: sha256.New(), o: o}
	e.document(pages)
	if e.err != nil {
		return fmt.Errorf("pdf: %w", e.err)
	}
	return nil
}

// encoder writes objects one after another and remembers where they begin.
type encoder struct {
	w    io.Writer
	hash interface {
		io.Writer
		Sum([]byte) []byte
	}
	o       *Options
	written int64
	err     error
	offsets []int64 // of object n at n-1; 0: not written yet
	layers  layers
	fonts   fonts
	alphas  alphas
	zlib    *zlib.Writer
}

// Write counts what has gone to w and stops at the first error.
func (e *encoder) Write(p []byte) (int, error) {
	if e.err != nil {
		return 0, e.err
	}
	n, err := e.w.Write(p)
	if err == nil && n < len(p) {
		err = io.ErrShortWrite
	}
	e.hash.Write(p[:n])
	e.written += int64(n)
	e.err = err
	return n, err
}

func (e *encoder) printf(format string, args ...any) { fmt.Fprintf(e, format, args...) }

// reserve is the number of an object that will be written later.
func (e *encoder) reserve() int {
	e.offsets = append(e.offsets, 0)
	return len(e.offsets)
}

// object writes one object.
func (e *encoder) object(n int, format string, args ...any) {
	e.offsets[n-1] = e.written
	e.printf("%d 0 obj\n", n)
	e.printf(format, args...)
	e.printf("\nendobj\n")
}

// stream writes an object with data, compressed while it is made. dict is more
// entries for its dictionary. The length goes into an object of its own, so
// that nothing has to be kept.
func (e *encoder) stream(n int, dict string, fill func(w io.Writer)) {
	length := e.reserve()
	e.offsets[n-1] = e.written
	e.printf("%d 0 obj\n<</Length %d 0 R/Filter/FlateDecode%s>>stream\n", n, length, dict)
	begin := e.written
	if e.zlib == nil {
		e.zlib, _ = zlib.NewWriterLevel(e, 4) // the level exists; 5 takes twice the time for 2 % less
	} else {
		e.zlib.Reset(e) // a new one costs 800 kB, and a worksheet has thousands of pages
	}
	fill(e.zlib)
	e.zlib.Close() // an error of e is kept in e
	size := e.written - begin
	e.printf("\nendstream\nendobj\n")
	e.object(length, "%d", size)
}

func (e *encoder) document(pages []*draw.Drawing) {
	// The comment of bytes over 127 says that the file is binary (7.5.2).
	e.printf("%%PDF-1.6\n%%\xe2\xe3\xcf\xd3\n")
	catalog, tree := e.reserve(), e.reserve()
	e.layers.collect(e, pages)
	e.fonts.collect(e, pages)
	e.alphas.collect(e, pages)
	resources := e.reserve()
	numbers := make([]int, len(pages))
	for i, d := range pages {
		numbers[i] = e.page(d, tree, resources)
	}
	e.fonts.write(e)
	e.alphas.write(e)
	e.object(resources, "<<%s%s%s>>", e.fonts.resources(), e.alphas.resources(), e.layers.resources())
	e.layers.write(e)
	e.tree(tree, numbers)
	info := e.info(pages[0])
	meta := e.metadata(pages[0])
	e.object(catalog, "<</Type/Catalog/Pages %d 0 R/Metadata %d 0 R/Lang(en)"+
		"/ViewerPreferences<</PrintScaling/None/DisplayDocTitle true>>%s>>", tree, meta, e.layers.catalog())
	e.trailer(catalog, info)
}

// page writes one page with its content and returns its number.
func (e *encoder) page(d *draw.Drawing, tree, resources int) int {
	content := e.reserve()
	p := &painter{e: e, drawing: d}
	p.unit = 1
	if long := max(d.Frame.W(), d.Frame.H()) * pointsPerMM; long > limit && e.o.UserUnit {
		p.unit = long / limit
	}
	e.stream(content, "", p.paint)
	n := e.reserve()
	unit := ""
	if p.unit != 1 {
		unit = "/UserUnit " + string(appendReal(nil, p.unit))
	}
	scale := pointsPerMM / p.unit
	e.object(n, "<</Type/Page/Parent %d 0 R/MediaBox[0 0 %s %s]/Contents %d 0 R/Resources %d 0 R%s>>",
		tree, appendReal(nil, d.Frame.W()*scale), appendReal(nil, d.Frame.H()*scale), content, resources, unit)
	return n
}

// tree writes the page tree: one node with all pages.
func (e *encoder) tree(root int, pages []int) {
	var kids bytes.Buffer
	for _, n := range pages {
		fmt.Fprintf(&kids, "%d 0 R\n", n)
	}
	e.object(root, "<</Type/Pages/Count %d/Kids[%s]>>", len(pages), kids.String())
}

// trailer writes the cross-reference table (7.5.4) and the end of the file.
func (e *encoder) trailer(catalog, info int) {
	id := e.hash.Sum(nil)[:16]
	start := e.written
	var b bytes.Buffer
	fmt.Fprintf(&b, "xref\n0 %d\n0000000000 65535 f \n", len(e.offsets)+1)
	for _, at := range e.offsets {
		fmt.Fprintf(&b, "%010d 00000 n \n", at)
	}
	fmt.Fprintf(&b, "trailer\n<</Size %d/Root %d 0 R/Info %d 0 R/ID[<%x><%x>]>>\nstartxref\n%d\n%%%%EOF\n",
		len(e.offsets)+1, catalog, info, id, id, start)
	e.Write(b.Bytes())
}
