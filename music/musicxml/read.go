package musicxml

import (
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"
)

// Bounds of a file that is read.
const (
	maxBytes = 256 << 20
	maxNotes = 2_000_000
)

// Heard is a sounding note of a file, tied notes joined.
type Heard struct {
	Part     int // from 0
	Measure  string
	Key      int     // 60 is C4
	StartSec float64 // at the part's own tempos
	EndSec   float64
	Quarters float64 // where it begins, in quarter notes from the part's beginning
}

// File is what is read of a file.
type File struct {
	Title string
	Names []string // of the parts
	Notes []Heard  // part by part, in the order of the file
}

// Read reads the notes of a score-partwise file: pitched notes, rests, chords,
// ties, backup and forward, divisions, and tempos of sound elements, which hold
// within their part from where they stand. What carries neither pitch nor time
// is passed over. The error says what is broken, with its line.
func Read(r io.Reader) (*File, error) {
	limited := &io.LimitedReader{R: r, N: maxBytes + 1}
	d := xml.NewDecoder(limited)
	in := &reader{d: d, file: &File{}, names: map[string]string{}}
	if err := in.read(); err != nil {
		if limited.N <= 0 {
			return nil, fmt.Errorf("musicxml: larger than %d MB", maxBytes>>20)
		}
		line, _ := d.InputPos()
		return nil, fmt.Errorf("musicxml: line %d: %w", line, err)
	}
	return in.file, nil
}

type reader struct {
	d     *xml.Decoder
	file  *File
	names map[string]string // of parts, by ID
}

func (r *reader) read() error {
	root := false
	for {
		t, err := r.d.Token()
		if err == io.EOF {
			if !root {
				return errors.New("there is no score-partwise")
			}
			return nil
		}
		if err != nil {
			return err
		}
		start, ok := t.(xml.StartElement)
		if !ok {
			continue
		}
		switch name := start.Name.Local; {
		case !root && name != "score-partwise":
			return fmt.Errorf("the root is %s, want score-partwise", name)
		case !root:
			root = true
		default:
			if err := r.top(start); err != nil {
				return err
			}
		}
	}
}

// top reads a child of the root.
func (r *reader) top(start xml.StartElement) error {
	switch start.Name.Local {
	case "work":
		var w struct {
			Title string `xml:"work-title"`
		}
		err := r.d.DecodeElement(&w, &start)
		r.file.Title = w.Title
		return err
	case "part-list":
		var l struct {
			Parts []struct {
				ID   string `xml:"id,attr"`
				Name string `xml:"part-name"`
			} `xml:"score-part"`
		}
		err := r.d.DecodeElement(&l, &start)
		for _, p := range l.Parts {
			r.names[p.ID] = p.Name
		}
		return err
	case "part":
		p := &partReader{reader: r, part: len(r.file.Names), divisions: 1, tempo: 120, open: map[int]int{}}
		r.file.Names = append(r.file.Names, r.names[attr(start, "id")])
		return p.read()
	}
	return r.d.Skip()
}

func attr(e xml.StartElement, name string) string {
	for _, a := range e.Attr {
		if a.Name.Local == name {
			return a.Value
		}
	}
	return ""
}

// partReader keeps the place in a part.
type partReader struct {
	*reader
	part      int
	measure   string
	divisions float64
	tempo     float64
	quarters  float64 // where the next note begins
	sec       float64
	chordAt   float64 // where the last note began, for a chord
	chordSec  float64
	open      map[int]int // key: index of the note that a tie goes on from
}

func (p *partReader) read() error {
	for {
		t, err := p.d.Token()
		if err != nil {
			return err
		}
		switch t := t.(type) {
		case xml.EndElement:
			if t.Name.Local == "part" {
				return nil
			}
		case xml.StartElement:
			if err := p.child(t); err != nil {
				return err
			}
		}
	}
}

func (p *partReader) child(t xml.StartElement) error {
	switch t.Name.Local {
	case "measure":
		p.measure = attr(t, "number")
		return nil
	case "attributes":
		var a struct {
			Divisions string `xml:"divisions"`
		}
		if err := p.d.DecodeElement(&a, &t); err != nil || a.Divisions == "" {
			return err
		}
		return number(a.Divisions, "divisions", &p.divisions)
	case "sound":
		if err := p.sound(attr(t, "tempo")); err != nil {
			return err
		}
		return p.d.Skip()
	case "direction":
		var d struct {
			Sound struct {
				Tempo string `xml:"tempo,attr"`
			} `xml:"sound"`
		}
		if err := p.d.DecodeElement(&d, &t); err != nil {
			return err
		}
		return p.sound(d.Sound.Tempo)
	case "backup", "forward":
		var m struct {
			Duration string `xml:"duration"`
		}
		if err := p.d.DecodeElement(&m, &t); err != nil {
			return err
		}
		var n float64
		if err := number(m.Duration, "duration", &n); err != nil {
			return err
		}
		if t.Name.Local == "backup" {
			n = -n
		}
		p.advance(n / p.divisions)
		return nil
	case "note":
		return p.note(t)
	}
	return p.d.Skip()
}

func (p *partReader) sound(tempo string) error {
	if tempo == "" {
		return nil
	}
	return number(tempo, "tempo", &p.tempo)
}

// number reads a number that must be more than 0.
func number(text, what string, to *float64) error {
	v, err := strconv.ParseFloat(strings.TrimSpace(text), 64)
	if err != nil || !(v > 0 && v < 1e12) {
		return fmt.Errorf("%s %q: want a number more than 0", what, text)
	}
	*to = v
	return nil
}

func (p *partReader) advance(quarters float64) {
	p.quarters += quarters
	p.sec += quarters * 60 / p.tempo
}

func (p *partReader) note(start xml.StartElement) error {
	var n struct {
		Grace *struct{} `xml:"grace"`
		Chord *struct{} `xml:"chord"`
		Pitch *struct {
			Step   string `xml:"step"`
			Alter  string `xml:"alter"`
			Octave int    `xml:"octave"`
		} `xml:"pitch"`
		Duration string `xml:"duration"`
		Ties     []struct {
			Type string `xml:"type,attr"`
		} `xml:"tie"`
	}
	if err := p.d.DecodeElement(&n, &start); err != nil {
		return err
	}
	if n.Grace != nil {
		return nil // it takes no time of its own
	}
	var duration float64
	if err := number(n.Duration, "duration", &duration); err != nil {
		return err
	}
	at, sec := p.quarters, p.sec
	if n.Chord != nil {
		at, sec = p.chordAt, p.chordSec
	} else {
		p.chordAt, p.chordSec = at, sec
		p.advance(duration / p.divisions)
	}
	if n.Pitch == nil {
		return nil
	}
	key, err := keyOf(n.Pitch.Step, n.Pitch.Alter, n.Pitch.Octave)
	if err != nil {
		return err
	}
	end := sec + duration/p.divisions*60/p.tempo
	starts, stops := false, false
	for _, t := range n.Ties {
		starts, stops = starts || t.Type == "start", stops || t.Type == "stop"
	}
	if i, ok := p.open[key]; ok && stops {
		p.file.Notes[i].EndSec = end
	} else {
		if len(p.file.Notes) == maxNotes {
			return fmt.Errorf("more than %d notes", maxNotes)
		}
		p.open[key] = len(p.file.Notes)
		p.file.Notes = append(p.file.Notes, Heard{Part: p.part, Measure: p.measure, Key: key, StartSec: sec, EndSec: end,
			Quarters: at})
	}
	if !starts {
		delete(p.open, key)
	}
	return nil
}

func keyOf(step, alter string, octave int) (int, error) {
	i := strings.Index("C D EF G A B", step)
	if len(step) != 1 || i < 0 || step == " " {
		return 0, fmt.Errorf("step %q: want a letter from A to G", step)
	}
	shift := 0.0
	if alter != "" {
		var err error
		if shift, err = strconv.ParseFloat(strings.TrimSpace(alter), 64); err != nil || !(shift >= -12 && shift <= 12) {
			return 0, fmt.Errorf("alter %q: want semitones", alter)
		}
	}
	if octave < 0 || octave > 9 {
		return 0, fmt.Errorf("octave %d: want 0 to 9", octave)
	}
	return (octave+1)*12 + i + int(shift), nil
}
