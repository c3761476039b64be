package transcribe

import (
	"archive/zip"
	"bytes"
	"cmp"
	"encoding/xml"
	"fmt"
	"io"
	"slices"
	"strings"

	"rollwright/exact"
	"rollwright/music/musicxml"
)

// ReadMusicXML reads a score-partwise file, its repeats written out; see
// musicxml.ReadPlayed. The name is for complaints.
func ReadMusicXML(name string, r io.Reader) (*File, error) {
	p, err := musicxml.ReadPlayed(r)
	if err != nil {
		return nil, fmt.Errorf("%s cannot be read as MusicXML: %s", name, strings.TrimPrefix(err.Error(), "musicxml: "))
	}
	f := &File{Name: name, Title: p.Title, Composer: p.Composer, Said: p.Said}
	g := &grid{den: 1}
	for _, part := range p.Parts {
		for _, n := range part.Notes {
			g.hold(n.From, n.To)
		}
		for _, s := range part.Pedal {
			g.hold(s[0], s[1])
		}
		for _, t := range part.Tempos {
			g.hold(t.At)
		}
	}
	g.hold(p.Bars...)
	if !g.fits() {
		return nil, fmt.Errorf("%s has durations without a common measure that whole numbers hold", name)
	}
	f.Tick = exact.NewRat(1, 4*g.den)
	return f, f.xmlParts(p, g)
}

func (f *File) xmlParts(p *musicxml.Played, g *grid) error {
	notes := 0
	for i, part := range p.Parts {
		out := Part{Name: part.Name, Number: i + 1, FirstBar: 1}
		if p.Upbeat {
			out.FirstBar = 0
		}
		for _, bar := range p.Bars {
			out.Bars = append(out.Bars, g.ticks(bar))
		}
		for _, n := range part.Notes {
			out.Notes = append(out.Notes, Note{g.ticks(n.From), g.ticks(n.To), uint8(n.Key), uint8(n.Level), uint8(n.Grace),
				n.Letter})
		}
		slices.SortStableFunc(out.Notes, func(a, b Note) int { return cmp.Compare(a.From, b.From) })
		for _, s := range part.Pedal {
			if from, to := g.ticks(s[0]), g.ticks(s[1]); to > from {
				out.Pedal = append(out.Pedal, Span{from, to})
			}
		}
		for _, t := range part.Tempos {
			out.Tempos = append(out.Tempos, Tempo{g.ticks(t.At), t.Quarters})
		}
		slices.SortStableFunc(out.Tempos, func(a, b Tempo) int { return cmp.Compare(a.Tick, b.Tick) })
		notes += len(out.Notes)
		f.Parts = append(f.Parts, out)
	}
	if notes == 0 {
		return fmt.Errorf("%s has no notes", f.Name)
	}
	f.shareTempos()
	return nil
}

// shareTempos makes one tempo map of those that stand in the parts. Parts that say
// different things keep their own, and one that says nothing takes the first.
func (f *File) shareTempos() {
	var first []Tempo
	same := true
	for i := range f.Parts {
		t := f.Parts[i].Tempos
		switch {
		case len(t) == 0:
		case first == nil:
			first = t
		case !slices.EqualFunc(first, t, func(a, b Tempo) bool {
			return a.Tick == b.Tick && a.Quarters.Equal(b.Quarters) == exact.Yes
		}):
			same = false
		}
	}
	if first != nil && first[0].Tick > 0 {
		first = append([]Tempo{{0, exact.Frac(120, 1)}}, first...)
	}
	f.Tempos = first
	for i := range f.Parts {
		t := f.Parts[i].Tempos
		if same || len(t) == 0 {
			f.Parts[i].Tempos = nil
		} else if t[0].Tick > 0 {
			f.Parts[i].Tempos = append([]Tempo{{0, exact.Frac(120, 1)}}, t...)
		}
	}
	if !same {
		f.say("its parts have tempos of their own, and keep them")
	}
}

// grid is the common measure of places in quarter notes.
type grid struct {
	den int64 // ticks in a quarter
	bad bool
}

const finest = 1 << 24 // ticks in a quarter

func (g *grid) hold(places ...exact.Rat) {
	for _, x := range places {
		if d := x.Den(); g.den%d != 0 && !g.bad {
			if g.den = g.den / gcd(g.den, d) * d; g.den > finest {
				g.bad, g.den = true, 1
			}
		}
		g.bad = g.bad || x.Float64()*float64(g.den) > 1<<40
	}
}

func (g *grid) fits() bool { return !g.bad }

func (g *grid) ticks(x exact.Rat) int64 { return x.Num() * (g.den / x.Den()) }

func gcd(a, b int64) int64 {
	for b != 0 {
		a, b = b, a%b
	}
	return a
}

// score is the score in a compressed file, bounded: not what its head says it is long
// counts, but what comes out of it.
func score(name string, raw []byte) ([]byte, error) {
	z, err := zip.NewReader(bytes.NewReader(raw), int64(len(raw)))
	if err != nil || len(z.File) > 1000 {
		return nil, fmt.Errorf("%s is no compressed MusicXML that can be read", name)
	}
	read := func(path string) ([]byte, error) {
		file, err := z.Open(path)
		if err != nil {
			return nil, fmt.Errorf("%s has no %s in it", name, path)
		}
		defer file.Close()
		text, err := io.ReadAll(io.LimitReader(file, MaxBytes+1))
		if err == nil && len(text) > MaxBytes {
			err = fmt.Errorf("%s is larger than %d MB when it is unpacked", name, MaxBytes>>20)
		}
		return text, err
	}
	container, err := read("META-INF/container.xml")
	if err != nil {
		return nil, err
	}
	var c struct {
		Files []struct {
			Path string `xml:"full-path,attr"`
		} `xml:"rootfiles>rootfile"`
	}
	if err := xml.Unmarshal(container, &c); err != nil || len(c.Files) == 0 {
		return nil, fmt.Errorf("%s does not say which of its files is the score", name)
	}
	return read(c.Files[0].Path)
}
