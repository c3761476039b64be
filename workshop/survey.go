package workshop

import (
	"context"
	"fmt"
	"strconv"
	"strings"

	"rollwright/exact"
	"rollwright/music/piece"
	"rollwright/music/simple"
	"rollwright/paper/lay"
	"rollwright/paper/survey"
)

// Survey tries every simple number of a range ("4/3 to 3/2") in one place of the
// piece ("quick.speed"), with p + q at most most. Where several conditions of
// the voice ask for the number, the first one is held.
func (j *Job) Survey(ctx context.Context, attribute, span string, most int, apartSec float64) ([]survey.Row, error) {
	voice, unknown, err := j.target(attribute)
	if err != nil {
		return nil, err
	}
	low, high, err := rangeOf(span)
	if err != nil {
		return nil, err
	}
	if least, largest := unknown.Bounds(); low < least || high > largest {
		return nil, fmt.Errorf("%s goes from %v to %v", attribute, least, largest)
	}
	q := survey.Question{Piece: j.Piece, Voice: voice, Unknown: unknown, Instruments: j.Instruments,
		Options: lay.Limits(j.Instruments), ApartSec: apartSec}
	return q.Run(ctx, simple.Between(low, high, most))
}

// target is the number of a voice that a name such as quick.speed stands for.
func (j *Job) target(name string) (voice int, u piece.Unknown, err error) {
	voice = -1
	for i, v := range j.Piece.Voices {
		if strings.HasPrefix(name, v.Name+".") && (voice < 0 || len(v.Name) > len(j.Piece.Voices[voice].Name)) {
			voice = i
		}
	}
	if voice < 0 {
		return 0, u, fmt.Errorf("%q names no number of a voice; write one such as %s.speed", name, j.Piece.Voices[0].Name)
	}
	v := &j.Piece.Voices[voice]
	word := strings.TrimPrefix(name, v.Name+".")
	kinds := map[string]piece.UnknownKind{"speed": piece.UnknownSpeed, "tempo": piece.UnknownTempo,
		"stretch":   piece.UnknownStretch,
		"each_note": piece.UnknownEachNote, "from": piece.UnknownFrom, "to": piece.UnknownTo, "over": piece.UnknownOver}
	if rest, ok := strings.CutPrefix(word, "tempo_path.leg."); ok {
		leg, attr, _ := strings.Cut(rest, ".")
		n, err := strconv.Atoi(leg)
		u = piece.Unknown{Kind: kinds[attr], Leg: n - 1}
		if err != nil || n < 1 || u.Kind < piece.UnknownFrom {
			u.Kind = piece.NoUnknown
		}
	} else if u.Kind = kinds[word]; u.Kind >= piece.UnknownFrom {
		u.Kind = piece.NoUnknown
	}
	if _, ok := v.Number(u); !ok {
		return 0, u, fmt.Errorf("%q of voice %q is no number that can be tried; there are speed, tempo, stretch, each_note and tempo_path.leg.1.from, .to, .over", word, v.Name)
	}
	if u.Kind == piece.UnknownSpeed && (v.Lasts.Set || v.Canon >= 0 && j.Piece.Canons[v.Canon].Lasts.Set) {
		return 0, u, fmt.Errorf("the speed of %q follows from lasts, so no other can be tried", v.Name)
	}
	return voice, u, nil
}

// rangeOf reads "4/3 to 3/2".
func rangeOf(span string) (low, high float64, err error) {
	from, to, ok := strings.Cut(span, " to ")
	a, err1 := exact.Parse(from)
	b, err2 := exact.Parse(to)
	if !ok || err1 != nil || err2 != nil {
		return 0, 0, fmt.Errorf("%q is no range; write two numbers: \"4/3 to 3/2\"", span)
	}
	low, high = a.Float64(), b.Float64()
	if low > high {
		return 0, 0, fmt.Errorf("the range %q ends before it begins; write \"%s to %s\"", span, to, from)
	}
	return low, high, nil
}
