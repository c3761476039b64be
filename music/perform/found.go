package perform

import (
	"math/big"
	"slices"
	"strings"

	"rollwright/exact"
	"rollwright/music/piece"
)

// Found is a number that a voice asked for, and what it came to.
type Found struct {
	Voice   int // index into piece.Piece.Voices
	Unknown piece.Unknown
	// Value is what the voice is performed with: the answer itself where Exact,
	// else the answer rounded to 18 significant digits.
	Value exact.Real
	Exact bool

	Conditions []piece.Condition // what made it, in the order of the text
	Cross      []piece.Cross     // crossings of its canon, which had a part in it
}

// Text is the number as it is written in a piece: 43/31, sqrt(2)*7/5, or 18
// significant digits.
func (f *Found) Text() string {
	if f.Exact {
		return f.Value.String()
	}
	return Decimal(f.Value)
}

// Digits is how many significant digits of a number that is no product are
// kept.
const Digits = 18

// Decimal is x as a decimal of at most 18 significant digits, without an
// exponent: rounded to nearest, zeros at the end left out.
func Decimal(x exact.Real) string {
	text, _ := rounded(x.Float(workPrec))
	return text
}

// rounded is x, more than 0, to 18 significant digits as text and as a
// fraction. This is where an answer that is no product stops being exact.
func rounded(x *big.Float) (string, *big.Rat) {
	text := x.Text('e', Digits-1)
	r, _ := new(big.Rat).SetString(text)
	// 10^-k with the last digit at place k: as many decimals as that.
	_, exponent, _ := strings.Cut(text, "e")
	places := Digits - 1 - atoi(exponent)
	out := r.FloatString(max(places, 0))
	if strings.Contains(out, ".") {
		out = strings.TrimRight(strings.TrimRight(out, "0"), ".")
	}
	return out, r
}

func atoi(s string) int {
	n, _ := new(big.Int).SetString(strings.TrimPrefix(s, "+"), 10)
	return int(n.Int64())
}

// asked is a piece whose voices may be changed when it has unknowns: what is
// found is put in their place.
func asked(p *piece.Piece) *piece.Piece {
	if !slices.ContainsFunc(p.Voices, func(v piece.Voice) bool {
		return v.Unknown.Kind != piece.NoUnknown || len(v.Copied) > 0
	}) {
		return p
	}
	q := *p
	q.Voices = slices.Clone(p.Voices)
	return &q
}

// answered forgets the questions of a piece that has been performed.
func answered(p *piece.Piece) {
	for i := range p.Voices {
		if v := &p.Voices[i]; v.Unknown.Kind != piece.NoUnknown || len(v.Copied) > 0 {
			v.Unknown, v.Copied = piece.Unknown{}, nil
		}
	}
}
