package workshop

import (
	"context"
	"errors"
	"fmt"
	"io"
	"path/filepath"
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
	"rollwright/paper/lay"
	"rollwright/paper/roll"
	"rollwright/telling/engrave"
	"rollwright/telling/figure"
	"rollwright/text/outfile"
	"rollwright/text/words"
)

// Explaining says which figure is written in place of the roll.
type Explaining struct {
	Figure   string    // kind; empty: none
	Voices   []string  // the voice shown: none for the one that suits the kind, or one
	Compared [2]string // the two voices that are compared
	Slide    bool      // for a projector; else for a page
	BlackInk bool      // black and greys alone
	Plain    bool      // pitch series and rhythm series for color and talea
	Language string    // "", "en", or the path of a language file
	Score    bool      // a time-space score in place of a figure
}

// explains reports whether something else than the roll is asked for.
func (e *Explaining) explains() bool { return e.Figure != "" || e.Score }

// FigureInput is the piece as package figure draws it.
func (j *Job) FigureInput() *figure.Input {
	return &figure.Input{Title: j.Title(), Author: j.Piece.Composer, Performance: j.Performance, Plan: j.Plan, Rolls: j.Rolls}
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
		return nil, fmt.Errorf("a figure shows one voice, or two as a pair: --pair %q", strings.Join(o.Voices[:2], ","))
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

// writeExplained writes a figure to the file named path and returns its name.
func (j *Job) writeExplained(ctx context.Context, path string, o *Options) ([]string, error) {
	if strings.ToLower(filepath.Ext(path)) == ".musicxml" {
		if o.explains() {
			return nil, fmt.Errorf("%s: a figure or score is a drawing; end the name in .pdf, .svg or .png", path)
		}
		if err := outfile.Write(ctx, path, func(w io.Writer) error { return j.writeMusicXML(w, nil, o) }); err != nil {
			return nil, err
		}
		return []string{path}, nil
	}
	if o.Score {
		return j.writeScore(ctx, path, o)
	}
	f, err := j.Figure(o)
	if err == nil {
		err = outfile.Write(ctx, path, func(w io.Writer) error { return encodeDrawings(w, path, []*draw.Drawing{f.Drawing}, o) })
	}
	if err != nil {
		return nil, err
	}
	return []string{path}, nil
}

// TimeSpaceScore draws the pages of the score that o asks for.
func (j *Job) TimeSpaceScore(o *Options) ([]*draw.Drawing, error) {
	if o.Figure != "" {
		return nil, errors.New("a file holds a figure or a score: --figure or --score")
	}
	voices, err := j.voicesNamed(o.Voices)
	if err != nil {
		return nil, err
	}
	book, err := words.Open(o.Language, j.Folder)
	if err != nil {
		return nil, err
	}
	look := engrave.ScoreOptions{
		Title: j.Title(), Composer: j.Piece.Composer, Voices: voices, Book: book, Plain: o.Plain,
		Letter: o.Letter, BlackInk: o.BlackInk, FromSec: o.FromSec, ToSec: o.ToSec,
	}
	for _, c := range j.Plan().Canons {
		look.MeetSec = append(look.MeetSec, c.At.Decimal)
	}
	return engrave.Score(j.Performance, look)
}

// writeScore writes a time-space score: a PDF with all its pages; a file for
// each page, named "path-page-1.svg", in formats that hold one.
func (j *Job) writeScore(ctx context.Context, path string, o *Options) (made []string, err error) {
	pages, err := j.TimeSpaceScore(o)
	if err != nil {
		return nil, err
	}
	extension := filepath.Ext(path)
	if strings.EqualFold(extension, ".pdf") || len(pages) == 1 {
		err = outfile.Write(ctx, path, func(w io.Writer) error { return encodeDrawings(w, path, pages, o) })
		if err != nil {
			return nil, err
		}
		return []string{path}, nil
	}
	for i := range pages {
		name := fmt.Sprintf("%s-page-%d%s", strings.TrimSuffix(path, extension), i+1, extension)
		if err := outfile.Write(ctx, name, func(w io.Writer) error { return encodeDrawings(w, name, pages[i:i+1], o) }); err != nil {
			return made, err
		}
		made = append(made, name)
	}
	return made, nil
}

// writeMusicXML writes the chosen voices, or all, as parts.
func (j *Job) writeMusicXML(w io.Writer, _ *roll.Roll, o *Options) error {
	voices, err := j.voicesNamed(o.Voices)
	if err != nil {
		return err
	}
	book, err := words.Open(o.Language, j.Folder)
	if err != nil {
		return err
	}
	score := &musicxml.Score{Title: j.Title(), Composer: j.Piece.Composer}
	pedals := lay.Pedals(j.Performance)
	for _, v := range voices {
		part := notation.Of(j.Performance, v)
		score.Parts = append(score.Parts, musicxml.Part{Part: part, Remark: partRemark(book, part, len(voices)), Pedal: pedalOfVoice(pedals, j.Performance.Lines[v].Voice)})
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
		return book.Say("notation.own-tempo", words.Args{"tempo": book.Decimal(strconv.FormatFloat(tempo, 'f', 2, 64)), "at": at})
	}
	return book.Say("notation.changing-tempo", words.Args{"at": at})
}

// voicesNamed are the indices of the named voices, of all when none is named.
func (j *Job) voicesNamed(names []string) ([]int, error) {
	var out []int
	known := j.voiceNames()
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

// encodeDrawings writes drawings as the extension of path says; only a PDF can
// hold more than one.
func encodeDrawings(w io.Writer, path string, pages []*draw.Drawing, o *Options) error {
	switch extension := strings.ToLower(filepath.Ext(path)); extension {
	case ".pdf":
		return pdf.Encode(w, pages, nil)
	case ".svg":
		return svg.Encode(w, pages[0], nil)
	case ".png":
		width := o.WidthPX
		if width == 0 {
			width = pagePixels
			if o.Slide {
				width = slidePixels
			}
		}
		return png.Encode(w, pages[0], &png.Options{PixelsPerMM: float64(width) / pages[0].Frame.W()})
	default:
		return fmt.Errorf("%s: a figure or score is a drawing; end the name in .pdf, .svg or .png, not %s", path, extension)
	}
}

// buildNotation writes the piece in notation. A piece with a note that MusicXML
// has no name for is built without it; writing it says why.
func (j *Job) buildNotation(ctx context.Context, path string, o Options) ([]string, error) {
	made, err := j.Write(ctx, path, o)
	if errors.Is(err, musicxml.ErrTooLow) {
		return nil, nil
	}
	return made, err
}

// buildScore writes the time-space score. A piece of more voices or minutes than
// paper holds is built without it; writing it says why.
func (j *Job) buildScore(ctx context.Context, path string, o Options) ([]string, error) {
	o.Score = true
	made, err := j.Write(ctx, path, o)
	var large engrave.TooLarge
	if errors.As(err, &large) {
		return nil, nil
	}
	return made, err
}
