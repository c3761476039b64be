package workshop

import (
	"io"
	"strings"

	"rollwright/draw"
	"rollwright/draw/dxf"
	"rollwright/draw/pdf"
	"rollwright/draw/png"
	"rollwright/draw/svg"
	"rollwright/making/machine"
	"rollwright/paper/sheet"
	"rollwright/paper/table"
	"rollwright/paper/tear"
)

// sheets are the options of a drawing of the roll.
func (f *out) sheets() *sheet.Options {
	o := f.o
	s := &sheet.Options{
		Title: f.edition.SpoolTitle(f.roll), Composer: f.edition.Composer, // package sheet adds the piano's name
		Back: o.Back, Names: o.Names, Leader: o.Leader,
		ScaleAlong: o.ScaleAlong, ScaleAcross: o.ScaleAcross, MarginMM: o.MarginMM, OverlapMM: o.OverlapMM,
	}
	for _, c := range f.roll.Cues {
		s.Cues = append(s.Cues, sheet.Cue(c))
	}
	if o.Letter {
		s.Paper = sheet.Letter
	}
	return s
}

// forReading are the options of a drawing that no machine cuts: weak lines are on it.
func (f *out) forReading() *sheet.Options {
	s := f.sheets()
	s.Weak = tear.Below(f.roll.Roll, f.roll.Instrument.Paper.LineMM())
	return s
}

func writeTiles(w io.Writer, f *out) error {
	pages, err := sheet.Tiles(f.roll.Roll, f.forReading())
	if err != nil {
		return err
	}
	if pages, err = f.withForm(pages); err != nil {
		return err
	}
	return pdf.Encode(w, pages, nil)
}

func writeLongPDF(w io.Writer, f *out) error {
	page, err := sheet.Long(f.roll.Roll, f.forReading())
	if err != nil {
		return err
	}
	return pdf.Encode(w, []*draw.Drawing{page}, &pdf.Options{UserUnit: f.o.Long == LongUnit})
}

// writeSVG writes a plain drawing with the cautions of cutting: whoever cuts from
// it has read no other file.
func writeSVG(w io.Writer, f *out) error {
	page, err := sheet.Long(f.roll.Roll, f.sheets())
	if err != nil {
		return err
	}
	page.Subject = strings.Join(append([]string{page.Subject}, machine.Cautions()...), "\n")
	return svg.Encode(w, page, &svg.Options{CutLines: f.o.Outlines})
}

// writeDXF is the same for the other format that cutters read.
func writeDXF(w io.Writer, f *out) error {
	page, err := sheet.Long(f.roll.Roll, f.sheets())
	if err != nil {
		return err
	}
	return dxf.Encode(w, page, &dxf.Options{Comments: machine.Cautions()})
}

func writePicture(w io.Writer, f *out) error {
	o := f.o
	look := &sheet.Look{
		Title: f.edition.Title, Voices: f.roll.Voices, Back: o.Back, Strips: o.Strips,
		FromSec: o.FromSec, ToSec: o.ToSec, Bar: o.Bar, Dark: o.Dark, WidthPX: o.WidthPX,
	}
	look.Weak = tear.Below(f.roll.Roll, f.roll.Instrument.Paper.LineMM())
	if o.untitled {
		look.Title = ""
	}
	picture, pixelsPerMM, err := sheet.Preview(f.roll.Roll, look)
	if err != nil {
		return err
	}
	return png.Encode(w, picture, &png.Options{PixelsPerMM: pixelsPerMM})
}

func writeTable(w io.Writer, f *out) error {
	if f.o.Punches {
		return table.WritePunches(w, table.CSV, f.edition.Papers())
	}
	return table.WriteHoles(w, table.CSV, f.edition.Papers())
}
