package workshop

import (
	"context"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"

	"rollwright/draw"
	"rollwright/draw/pdf"
	"rollwright/draw/png"
	"rollwright/draw/svg"
	"rollwright/music/musicxml"
	"rollwright/music/notation"
	"rollwright/music/piece"
	"rollwright/paper/instrument"
	"rollwright/paper/roll"
	"rollwright/telling/engrave"
	"rollwright/telling/figure"
	"rollwright/text/choice"
	"rollwright/text/words"
)

// FigureInput is the piece as package figure draws it.
func (j *Job) FigureInput() *figure.Input {
	return &figure.Input{Title: j.Title(), Author: j.Composer(), Performance: j.Performance, Plan: j.Plan, Rolls: j.Rolls}
}

// Figure draws the figure that o asks for.
func (j *Job) Figure(o *Options) (*figure.Figure, error) {
	look := figure.Options{Pair: o.Compared, Plain: o.Plain, FromSec: o.FromSec, ToSec: o.ToSec}
	switch len(o.Voices) {
	case 0:
		if o.Piano != "" { // a roll is shown by a voice of its piano
			piano, err := j.piano(o.Piano)
			if err != nil {
				return nil, err
			}
			if v := slices.IndexFunc(j.Piece.Voices, func(v piece.Voice) bool { return v.Piano == piano }); v >= 0 {
				look.Voice = j.Piece.Voices[v].Name
			}
		}
	case 1:
		look.Voice = o.Voices[0]
	default:
		return nil, choice.Errorf("a figure shows one voice, or two as a pair: {pair} %q", strings.Join(o.Voices[:2], ","))
	}
	if o.Slide {
		look.Size = figure.Slide
	}
	if o.BlackInk {
		look.Ink = figure.BlackInk
	}
	book, err := words.Open(o.Language, j.Folder)
	if err != nil {
		return nil, err
	}
	look.Book = book
	return figure.Draw(o.Figure, j.FigureInput(), look)
}

// writeFigure writes a figure.
func writeFigure(ctx context.Context, f *out) ([]string, error) {
	figure, err := f.job.Figure(f.o)
	if err != nil {
		return nil, err
	}
	pages := []*draw.Drawing{figure.Drawing}
	return one(func(w io.Writer, f *out) error { return encodeDrawings(w, f, pages) })(ctx, f)
}

// TimeSpaceScore draws the pages of the score that o asks for.
func (j *Job) TimeSpaceScore(o *Options) ([]*draw.Drawing, error) {
	voices, err := j.voicesNamed(o.Voices)
	if err != nil {
		return nil, err
	}
	book, err := words.Open(o.Language, j.Folder)
	if err != nil {
		return nil, err
	}
	look := engrave.ScoreOptions{
		Title: j.Title(), Composer: j.Composer(), Voices: voices, Book: book, Plain: o.Plain,
		Letter: o.Letter, BlackInk: o.BlackInk, FromSec: o.FromSec, ToSec: o.ToSec,
	}
	for _, c := range j.Plan().Canons {
		if len(c.Crossings) == 0 {
			look.MeetSec = append(look.MeetSec, c.At.Decimal)
		}
	}
	return engrave.Score(j.Performance, look)
}

// writeScore writes a time-space score: a PDF with all its pages; a file for
// each page, named "path-page-1.svg", in formats that hold one.
func writeScore(ctx context.Context, f *out) (made []string, err error) {
	pages, err := f.job.TimeSpaceScore(f.o)
	if err != nil {
		return nil, err
	}
	if f.extension() == ".pdf" || len(pages) == 1 {
		return one(func(w io.Writer, f *out) error { return encodeDrawings(w, f, pages) })(ctx, f)
	}
	for i := range pages {
		page := *f
		page.path = f.named(fmt.Sprintf("-page-%d", i+1))
		more, err := one(func(w io.Writer, f *out) error { return encodeDrawings(w, f, pages[i:i+1]) })(ctx, &page)
		if made = append(made, more...); err != nil {
			return made, err
		}
	}
	return made, nil
}

// writeKit writes sheets to cut out.
func writeKit(w io.Writer, f *out) error {
	j, o := f.job, f.o
	book, err := words.Open(o.Language, j.Folder)
	if err != nil {
		return err
	}
	look := &figure.KitOptions{Letter: o.Letter, Options: figure.Options{Pair: o.Compared, Book: book, Plain: o.Plain}}
	if len(o.Voices) > 0 {
		look.Voice = o.Voices[0]
	}
	if o.BlackInk {
		look.Ink = figure.BlackInk
	}
	pages, err := figure.Kit(j.FigureInput(), look)
	if err != nil {
		return err
	}
	return encodeDrawings(w, f, pages)
}

// writeMusicXML writes the chosen voices, or all, as parts.
func writeMusicXML(w io.Writer, f *out) error {
	j, o := f.job, f.o
	voices, err := j.voicesNamed(o.Voices)
	if err != nil {
		return err
	}
	book, err := words.Open(o.Language, j.Folder)
	if err != nil {
		return err
	}
	score := &musicxml.Score{Title: j.Title(), Composer: j.Composer()}
	if o.OneTempo != "" {
		return j.writeInOneTempo(w, score, voices, book, o.OneTempo)
	}
	for _, v := range voices {
		part := notation.Of(j.Performance, v)
		score.Parts = append(score.Parts, musicxml.Part{
			Part: part, Remark: partRemark(book, part, len(voices)),
			Pedal: pedalOfVoice(j.Pedals, j.Performance.Lines[v].Voice),
		})
	}
	return musicxml.Write(w, score)
}

// writeInOneTempo writes the parts for programs that know one tempo.
func (j *Job) writeInOneTempo(w io.Writer, score *musicxml.Score, voices []int, book *words.Book, value string) error {
	together, err := j.inOneTempo(value)
	if err != nil {
		return err
	}
	for _, v := range voices {
		if part := together.part(v, j.Piece.Voices[v].Name); part != nil {
			score.Parts = append(score.Parts, musicxml.Part{Part: part, Remark: together.remark(book),
				Pedal: pedalOfVoice(j.Pedals, j.Performance.Lines[v].Voice)})
		}
	}
	return musicxml.Write(w, score)
}

// pedalOfVoice is where a voice asks for the sustaining pedal.
func pedalOfVoice(pedals []roll.Span, voice int) []musicxml.Held {
	var held []musicxml.Held
	for _, s := range pedals {
		if s.Voice == voice && s.Role == instrument.Sustain {
			held = append(held, musicxml.Held{FromSec: s.StartSec, ToSec: s.EndSec})
		}
	}
	return held
}

// partRemark says at the beginning of a part how it stands in time.
func partRemark(book *words.Book, p *notation.Part, parts int) string {
	at := book.Decimal(strconv.FormatFloat(p.StartSec, 'f', 3, 64))
	if parts == 1 {
		return ""
	}
	if tempo, ok := p.OneTempo(); ok {
		return book.Say("notation.own-tempo", words.Args{"tempo": book.Decimal(strconv.FormatFloat(tempo, 'f', 2, 64)),
			"at": at})
	}
	return book.Say("notation.changing-tempo", words.Args{"at": at})
}

// voicesNamed are the indices of the named voices, of all when none is named.
func (j *Job) voicesNamed(names []string) ([]int, error) {
	var out []int
	known := j.Voices
	if len(names) == 0 {
		for i := range known {
			out = append(out, i)
		}
		return out, nil
	}
	for _, name := range names {
		i := slices.Index(known, name)
		if i < 0 {
			return nil, fmt.Errorf("the piece has no voice %q; its voices: %s", name, strings.Join(known, ", "))
		}
		out = append(out, i)
	}
	return out, nil
}

// Widths of pictures in pixels when nobody asks: that of a projector, and two
// pixels a dot of a good screen.
const (
	slidePixels = 1920
	pagePixels  = 1890 // 300 to the inch
)

// encodeDrawings writes drawings as the extension of f says; only a PDF can hold
// more than one.
func encodeDrawings(w io.Writer, f *out, pages []*draw.Drawing) error {
	switch f.extension() {
	case ".pdf":
		return pdf.Encode(w, pages, nil)
	case ".svg":
		return svg.Encode(w, pages[0], nil)
	}
	width := f.o.WidthPX
	if width == 0 {
		width = pagePixels
		if f.o.Slide {
			width = slidePixels
		}
	}
	return png.Encode(w, pages[0], &png.Options{PixelsPerMM: float64(width) / pages[0].Frame.W()})
}
