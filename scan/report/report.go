// Package report writes what was read from pictures of paper as a page to look at:
// the paper in stretches, every slot outlined, doubtful ones as crops to go through
// with two keys.
//
// In: a read.Reading, whose pictures are read once more. Out: one HTML file that
// needs nothing else. Places are those of the reading, in pixels of its pictures;
// the stretches are drawn smaller, by whole pixels.
package report

import (
	"bytes"
	"context"
	_ "embed"
	"encoding/base64"
	"fmt"
	"html/template"
	"image"
	"image/jpeg"
	"io"
	"math"

	"rollwright/scan/read"
)

//go:embed report.html.tmpl
var pageText string

var pageTemplate = template.Must(template.New("report").Parse(pageText))

// The sizes of the page's pictures.
const (
	stretchWidth = 900  // pixels across, at most
	stretchLong  = 1200 // pixels along, of one stretch
	cropPixels   = 150  // about a slot, at least
	mostStretch  = 400  // stretches of a page; what goes beyond is in the list alone
	mostCrops    = 500
)

// page is what the template shows.
type page struct {
	Title     string
	Summary   string
	Stretches []stretch
	Doubts    []doubt
	More      int // doubtful slots that have no crop
}

// stretch is a piece of a picture.
type stretch struct {
	Picture       string
	Image         template.URL
	Width, Height int // as shown
	Boxes         []box
	FromMM, ToMM  string
}

// box outlines a slot.
type box struct {
	X, Y, W, H string
	Class      string
	Label      string
}

// doubt is a slot to look at.
type doubt struct {
	ID            string
	Image         template.URL
	Port          string
	Lead          string
	Trail         string
	Share         int
	Reason        string
	Width, Height int // of the crop
	X, Y, W, H    int // outline in the crop
	Picture       int // from 1
	AtX, AtY      int // middle of the slot in the picture, in pixels
}

// Write writes the page called title.
func Write(ctx context.Context, w io.Writer, title string, r *read.Reading) error {
	p := page{Title: title}
	var summary bytes.Buffer
	if err := r.WriteSummary(&summary); err != nil {
		return err
	}
	p.Summary = summary.String()
	for i, q := range r.Pictures {
		if err := p.picture(ctx, r, i, q); err != nil {
			return err
		}
	}
	return pageTemplate.Execute(w, &p)
}

// picture adds the stretches and crops of one picture, reading its rows once.
func (p *page) picture(ctx context.Context, r *read.Reading, index int, q *read.Picture) error {
	in, err := r.Open(index)
	if err != nil {
		return err
	}
	defer in.Close()
	less := max(int(math.Ceil(float64(in.Width)/stretchWidth)), 1)
	if in.Width > in.Height {
		less = max(int(math.Ceil(float64(in.Height)/stretchWidth)), 1)
	}
	s := newShrinker(in, less)
	crops := cropsOf(r, index, in)
	line := make([]byte, in.RowBytes())
	for y := range in.Height {
		if y%64 == 0 && ctx.Err() != nil {
			return ctx.Err()
		}
		if _, err := in.Read(line); err != nil {
			return err
		}
		s.row(line)
		for _, c := range crops {
			c.row(y, line, in.Channels)
		}
	}
	for _, c := range crops {
		if len(p.Doubts) == mostCrops {
			p.More++
			continue
		}
		d, err := c.doubt(r)
		if err != nil {
			return err
		}
		d.ID = fmt.Sprintf("%d", len(p.Doubts))
		p.Doubts = append(p.Doubts, d)
	}
	return p.stretches(r, index, q, s.picture(), less)
}

// stretches cuts the small picture into pieces.
func (p *page) stretches(r *read.Reading, index int, q *read.Picture, m image.Image, less int) error {
	b := m.Bounds()
	upright := q.Height >= q.Width
	long := b.Dy()
	if !upright {
		long = b.Dx()
	}
	for from := 0; from < long && len(p.Stretches) < mostStretch; from += stretchLong {
		to := min(from+stretchLong, long)
		part := image.Rect(0, from, b.Dx(), to)
		if !upright {
			part = image.Rect(from, 0, to, b.Dy())
		}
		s, err := stretchOf(r, index, m, part, less)
		if err != nil {
			return err
		}
		s.Picture = q.Name
		p.Stretches = append(p.Stretches, s)
	}
	return nil
}

func stretchOf(r *read.Reading, index int, m image.Image, part image.Rectangle, less int) (stretch, error) {
	s := stretch{Width: part.Dx(), Height: part.Dy()}
	var err error
	if s.Image, err = inline(crop(m, part)); err != nil {
		return s, err
	}
	low, high := math.Inf(1), math.Inf(-1)
	k := float64(less)
	for _, slot := range r.Slots {
		if slot.Picture != index {
			continue
		}
		b := slot.Box
		x0, y0, x1, y1 := b.X0/k-float64(part.Min.X), b.Y0/k-float64(part.Min.Y), b.X1/k-float64(part.Min.X),
			b.Y1/k-float64(part.Min.Y)
		if x1 < 0 || y1 < 0 || x0 > float64(s.Width) || y0 > float64(s.Height) {
			continue
		}
		low, high = min(low, slot.LeadMM), max(high, slot.TrailMM)
		class := "sure"
		if slot.Certainty < 0.9 {
			class = "doubtful"
		}
		s.Boxes = append(s.Boxes, box{tenth(x0 - 1), tenth(y0 - 1), tenth(x1 - x0 + 2), tenth(y1 - y0 + 2), class,
			fmt.Sprintf("%s, %.1f to %.1f mm", read.PortName(r.Instrument, slot.Port), slot.LeadMM, slot.TrailMM)})
	}
	if low <= high {
		s.FromMM, s.ToMM = fmt.Sprintf("%.0f", low), fmt.Sprintf("%.0f", high)
	}
	return s, nil
}

func tenth(v float64) string { return fmt.Sprintf("%.1f", v) }

// inline is a picture as an address of its own.
func inline(m image.Image) (template.URL, error) {
	var b bytes.Buffer
	if err := jpeg.Encode(&b, m, &jpeg.Options{Quality: 78}); err != nil {
		return "", err
	}
	return template.URL("data:image/jpeg;base64," + base64.StdEncoding.EncodeToString(b.Bytes())), nil
}

func crop(m image.Image, r image.Rectangle) image.Image {
	return m.(interface {
		SubImage(image.Rectangle) image.Image
	}).SubImage(r)
}
