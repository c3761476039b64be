package workshop

import (
	"bytes"
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"rollwright/exact"
	"rollwright/music/perform"
	"rollwright/music/piece"
	"rollwright/music/piecefile"
	"rollwright/music/simple"
	"rollwright/paper/lay"
	"rollwright/text/blocks"
	"rollwright/text/source"
)

// Answer is a number that a piece asks for.
type Answer struct {
	Voice     string `json:"voice"`
	Attribute string `json:"attribute"` // "speed", "tempo_path.leg.2.to"
	Value     Digits `json:"value"`
	Exact     Exact  `json:"exact"`
	Near      []Near `json:"near"` // simple numbers within 1 %, nearest first

	found *perform.Found
}

// Digits is a number as a decimal of at most 18 significant digits.
type Digits string

// MarshalJSON writes the digits as a number.
func (d Digits) MarshalJSON() ([]byte, error) { return []byte(d), nil }

// Exact is an exact number as text; empty, and null in JSON: there is none.
type Exact string

// MarshalJSON writes a string or null.
func (e Exact) MarshalJSON() ([]byte, error) {
	if e == "" {
		return []byte("null"), nil
	}
	return fmt.Appendf(nil, "%q", string(e)), nil
}

// Near is a simple number near to an answer and what it would do: with the first
// condition held, by how many seconds the other is late; negative is early.
type Near struct {
	Value string  `json:"value"`
	OffS  float64 `json:"off_s"` // to the microsecond
}

// The simple numbers that are offered beside an answer.
const (
	nearShare = 0.01
	mostNear  = 5
)

// Answers are the numbers that the piece asks for, in file order.
func (j *Job) Answers() []Answer {
	out := []Answer{}
	for i := range j.Performance.Found {
		f := &j.Performance.Found[i]
		a := Answer{Voice: j.Piece.Voices[f.Voice].Name, Attribute: f.Unknown.Attribute(),
			Value: Digits(perform.Decimal(f.Value)), Near: j.near(f), found: f}
		if f.Exact {
			a.Exact = Exact(f.Value.String())
		}
		out = append(out, a)
	}
	return out
}

// near tries the simple numbers near to an answer.
func (j *Job) near(f *perform.Found) []Near {
	out := []Near{}
	other, ok := j.other(f)
	if !ok {
		return out
	}
	size := f.Value.Float64()
	list := simple.Between(size*(1-nearShare), size*(1+nearShare), simple.Most)
	list = slices.DeleteFunc(list, func(n simple.Number) bool { return n.Value.Equal(f.Value) == exact.Yes })
	slices.SortStableFunc(list, func(a, b simple.Number) int {
		return cmp.Compare(math.Abs(a.Decimal-size), math.Abs(b.Decimal-size))
	})
	for _, n := range list {
		if len(out) == mostNear {
			break
		}
		p, ok := perform.With(j.Piece, f.Voice, f.Unknown, n.Value)
		if !ok {
			continue
		}
		performance, err := perform.New(p, lay.Limits(j.Instruments))
		if err != nil {
			continue
		}
		if late, ok := performance.Late(f.Voice, other); ok {
			out = append(out, Near{n.Value.String(), math.Round(late*1e6)/1e6 + 0})
		}
	}
	return out
}

// other is the condition that a near number would not keep: the one that does
// not put the voice in its place.
func (j *Job) other(f *perform.Found) (piece.Condition, bool) {
	if len(f.Cross) > 0 {
		return piece.Condition{}, false
	}
	placed := j.Piece.Voices[f.Voice].Canon >= 0
	for _, c := range f.Conditions {
		if c.Lasts.Set || placed {
			return c, true
		}
		placed = true
	}
	return piece.Condition{}, false
}

// WithAnswers is the text of the piece with every answer in the place of its
// "?", every other byte as it was.
func (j *Job) WithAnswers() ([]byte, error) {
	text := bytes.Clone(j.File.Text)
	written := map[string]Answer{} // by where they stand: copies of a section share one place
	for _, a := range j.Answers() {
		path, err := piecefile.Path(&source.File{Name: j.File.Name, Text: text}, a.Voice)
		if err != nil {
			return nil, err
		}
		if strings.HasPrefix(a.Attribute, "tempo_path.") {
			path = append(path, "tempo_path", fmt.Sprintf("leg[%d]", a.found.Unknown.Leg+1))
		}
		at := strings.Join(append(path, a.found.Unknown.Word()), "/")
		if other, again := written[at]; again {
			if other.found.Text() != a.found.Text() {
				return nil, fmt.Errorf("%s and %s need different numbers, %s and %s, and share one place in the text; "+
					"write one of them out as a voice of its own", source.Printable(other.Voice), source.Printable(a.Voice),
					other.found.Text(), a.found.Text())
			}
			continue
		}
		written[at] = a
		if text, err = blocks.Set(text, path, a.found.Unknown.Word(), fmt.Sprintf("%q", a.found.Text())); err != nil {
			return nil, err
		}
	}
	return text, nil
}
