package musicxml

import (
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"

	"rollwright/exact"
	"rollwright/music/pitch"
)

// Played is what a score plays, its repeats and endings written out. Places count
// quarter notes from its beginning, exactly.
type Played struct {
	Title    string
	Composer string
	Parts    []PlayedPart
	Bars     []exact.Rat // where each begins, and where the last one ends
	Upbeat   bool        // the first bar is one
	Said     []string    // what was left out, as sentences without a point
}

// PlayedPart is a part.
type PlayedPart struct {
	Name   string
	Notes  []PlayedNote
	Pedal  [][2]exact.Rat
	Tempos []PlayedTempo // those that stand in this part
}

// PlayedNote is a note, tied ones joined, as it sounds: transposing parts moved.
type PlayedNote struct {
	From, To exact.Rat
	Key      int
	Letter   byte // from A to G, by which it is spelled
	Level    int  // 1 to 127; 0: no mark has come yet
	Grace    int  // of a grace note, whose From and To are those of its note: 1 is the nearest to it; 0: none
}

// PlayedTempo is quarter notes a minute from a place on.
type PlayedTempo struct {
	At       exact.Rat
	Quarters exact.Real
}

// The bounds of what is read.
const (
	mostPlayed   = 5_000_000
	mostMeasures = 100_000 // written out
)

// ReadPlayed reads a score-partwise file of at most 256 MB: several voices and staves,
// backup and forward, tuplets, ties, chords, grace notes, transposing parts, dynamics,
// tempos of sound elements and metronome marks, the sustaining pedal; repeats, endings
// and jumps are written out. What changes nothing that a roll can play, or cannot be
// told in numbers, is left out and said.
func ReadPlayed(r io.Reader) (*Played, error) {
	limited := &io.LimitedReader{R: r, N: maxBytes + 1}
	d := xml.NewDecoder(limited)
	d.CharsetReader = latin
	s := &scoreReader{Played: &Played{}, names: map[string]string{}}
	if err := s.read(d); err != nil {
		if limited.N <= 0 {
			return nil, fmt.Errorf("musicxml: larger than %d MB", maxBytes>>20)
		}
		line, _ := d.InputPos()
		return nil, fmt.Errorf("musicxml: line %d: %w", line, err)
	}
	if err := s.play(); err != nil {
		return nil, fmt.Errorf("musicxml: %w", err)
	}
	return s.Played, nil
}

type scoreReader struct {
	*Played
	names map[string]string
	parts []*writtenPart
}

// writtenPart is a part as it is written.
type writtenPart struct {
	name     string
	measures []*measure
	open     map[int][]int // key: notes whose ties go on
}

// measure is what stands in a measure, its places counted from its beginning.
type measure struct {
	kids     []*node
	implicit bool
	// What the order of playing depends on.
	forward, backward             bool
	times                         int
	ending                        []int // numbers of the ending that the measure belongs to
	endingStart, endingStop       bool
	segno, coda                   bool
	dacapo, dalsegno, fine, toCod bool
}

func (s *scoreReader) say(format string, args ...any) {
	if text := fmt.Sprintf(format, args...); !slices.Contains(s.Said, text) {
		s.Said = append(s.Said, text)
	}
}

func (s *scoreReader) read(d *xml.Decoder) error {
	root := ""
	for {
		t, err := d.Token()
		switch {
		case err == io.EOF && root != "":
			return nil
		case err == io.EOF:
			return errors.New("there is no score in it")
		case err != nil:
			return err
		}
		if dir, ok := t.(xml.Directive); ok {
			if err := refuseEntities(dir); err != nil {
				return err
			}
		}
		start, ok := t.(xml.StartElement)
		switch {
		case !ok:
		case root == "" && start.Name.Local == "score-timewise":
			return errors.New("it is written measure by measure (score-timewise); save it part by part (score-partwise)")
		case root == "" && start.Name.Local != "score-partwise":
			return fmt.Errorf("the root is %s, want score-partwise", start.Name.Local)
		case root == "":
			root = start.Name.Local
		case start.Name.Local == "part":
			if err := s.part(d, attr(start, "id")); err != nil {
				return err
			}
		default:
			n, err := tree(d, start, 1)
			if err != nil {
				return err
			}
			s.head(n)
		}
	}
}

// head reads what stands ahead of the parts.
func (s *scoreReader) head(n *node) {
	switch n.name {
	case "work":
		s.Title = n.get("work-title").text
	case "movement-title":
		if s.Title == "" {
			s.Title = n.text
		}
	case "identification":
		n.all("creator", func(c *node) {
			if c.attr["type"] == "composer" {
				s.Composer = c.text
			}
		})
	case "part-list":
		n.all("score-part", func(p *node) { s.names[p.attr["id"]] = p.get("part-name").text })
	}
}

// part reads the measures of a part one by one.
func (s *scoreReader) part(d *xml.Decoder, id string) error {
	p := &writtenPart{name: s.names[id], open: map[int][]int{}}
	s.parts = append(s.parts, p)
	var ending []int
	for {
		t, err := d.Token()
		if err != nil {
			return err
		}
		switch t := t.(type) {
		case xml.EndElement:
			return nil
		case xml.StartElement:
			if t.Name.Local != "measure" {
				if err := d.Skip(); err != nil {
					return err
				}
				continue
			}
			if len(p.measures) == mostMeasures {
				return fmt.Errorf("more than %d measures", mostMeasures)
			}
			n, err := tree(d, t, 1)
			if err != nil {
				return err
			}
			m := &measure{kids: n.kids, implicit: n.attr["implicit"] == "yes" || n.attr["number"] == "0"}
			ending = m.signs(ending)
			p.measures = append(p.measures, m)
		}
	}
}

// signs reads what the order of playing depends on; ending is that which goes on from
// the measure before.
func (m *measure) signs(ending []int) []int {
	m.ending = ending
	for _, k := range m.kids {
		switch k.name {
		case "barline":
			k.all("repeat", func(r *node) {
				m.forward = m.forward || r.attr["direction"] == "forward"
				if r.attr["direction"] == "backward" {
					m.backward, m.times = true, max(2, integer(r.attr["times"]))
				}
			})
			k.all("ending", func(e *node) {
				if e.attr["type"] == "start" {
					m.endingStart, m.ending, ending = true, numbersOf(e.attr["number"]), numbersOf(e.attr["number"])
					return
				}
				m.endingStop, ending = true, nil
			})
		case "sound":
			m.jumps(k)
		case "direction":
			k.all("sound", m.jumps)
		}
	}
	return ending
}

func (m *measure) jumps(sound *node) {
	m.segno = m.segno || sound.attr["segno"] != ""
	m.coda = m.coda || sound.attr["coda"] != ""
	m.dacapo = m.dacapo || sound.attr["dacapo"] == "yes"
	m.dalsegno = m.dalsegno || sound.attr["dalsegno"] != ""
	m.fine = m.fine || sound.attr["fine"] != ""
	m.toCod = m.toCod || sound.attr["tocoda"] != ""
}

// numbersOf reads 1, 2 or 1-3.
func numbersOf(text string) []int {
	var out []int
	for _, f := range strings.FieldsFunc(text, func(r rune) bool { return r == ',' || r == ' ' }) {
		from, to, span := strings.Cut(f, "-")
		a, b := integer(from), integer(to)
		if !span {
			b = a
		}
		for n := a; n > 0 && n <= b && n < 100; n++ {
			out = append(out, n)
		}
	}
	return out
}

// marks are the levels of dynamic marks, as everywhere in the house: common practice,
// no source.
var levels = map[string]int{"pppp": 8, "ppp": 16, "pp": 33, "p": 49, "mp": 64, "mf": 80, "f": 96, "ff": 112, "fff": 126,
	"ffff": 127}

// keyAndLetter is a pitch as written, moved by a transposing part.
func keyAndLetter(p *node, move transposition) (int, byte, error) {
	step := p.get("step").text
	octave := p.get("octave").text
	key, err := keyOf(step, p.get("alter").text, integer(octave))
	if err != nil {
		return 0, 0, err
	}
	letter := step[0]
	if move.chromatic != 0 {
		moved := key + move.chromatic
		flat := strings.HasPrefix(pitch.Spelled(key, letter)[1:], "b")
		respelled := pitch.Letter(moved, flat)
		if move.diatonic != 0 {
			if l := "ABCDEFG"[(((int(letter-'A')+move.diatonic)%7)+7)%7]; strings.HasPrefix(pitch.Spelled(moved, l), string(l)) {
				respelled = l
			}
		}
		key, letter = moved, respelled
	}
	if key < 0 || key > 127 {
		return 0, 0, fmt.Errorf("a pitch beyond the keys, which run from C-1 to G9")
	}
	return key, letter, nil
}

// transposition is what a part sounds higher than it is written.
type transposition struct{ chromatic, diatonic int }
