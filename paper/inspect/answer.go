package inspect

import (
	"fmt"
	"math"
	"slices"

	"rollwright/music/piece"
	"rollwright/paper/roll"
)

// Answer is what an instrument has said of a doubt, on a trial strip.
type Answer struct {
	Piano  string // may be empty
	Kind   Kind
	Value  float64 // what was tried
	Unit   string  // of Value
	Played bool    // as written
}

// KindOf is the kind of that name.
func KindOf(name string) (Kind, bool) {
	i := slices.Index(kindNames[:], name)
	return Kind(max(i, 0)), i >= 0
}

// WorseThan reports whether f is further from good than g, of the same kind.
func (f *Finding) WorseThan(g *Finding) bool { return f.worse(g) }

// LastMM is where a weak line ends along the roll; of everything else AlongMM.
func (f *Finding) LastMM() float64 {
	if f.Kind == WeakLine {
		return max(f.AlongMM, f.ends.bassMM, f.ends.trebleMM)
	}
	return f.AlongMM
}

// CheckAnswered is Check where trial strips have answered doubts: what is no worse
// than something that was played is no finding, and what is no better than something
// that was not cannot be played here.
func CheckAnswered(p *piece.Piece, rolls []*roll.Roll, answers []Answer) *Report {
	return check(p, rolls, answers)
}

// answered looks whether a finding is answered: off, or cannot be played.
func (s *sweep) answered(f *Finding) (off bool) {
	for i := range s.answers {
		a := &s.answers[i]
		if a.Kind != f.Kind || a.Unit != f.Unit || a.Piano != s.roll.Name {
			continue
		}
		tried := *f
		tried.Value = a.Value
		switch {
		case !a.Played && !tried.worse(f):
			f.Severity, f.refused = Forbids, true
			return false
		case a.Played && !f.worse(&tried):
			off = true
		}
	}
	return off
}

// Offers are the lines for the file of an instrument that follow from answers: what
// was played sets the limit, and nothing else does.
func Offers(answers []Answer, widthMM float64) []string {
	var out []string
	for _, a := range answers {
		if !a.Played {
			continue
		}
		block, line := "", ""
		switch a.Kind {
		case ShortBridge:
			block, line = "paper", fmt.Sprintf("bridge = %s", offered(a.Value, 3, math.Floor))
		case ShortSlot:
			block, line = "paper", fmt.Sprintf("slot = %s", offered(a.Value, 3, math.Floor))
		case OpenSlot:
			block, line = "paper", fmt.Sprintf("open_slot = %s", offered(a.Value, 1, math.Ceil))
		case RowCutAway:
			block, line = "paper", fmt.Sprintf("row_share = %s", offered(a.Value/100, 3, math.Ceil))
		case WeakLine:
			block, line = "paper", fmt.Sprintf("row_share = %s", offered(1-a.Value/widthMM, 3, math.Ceil))
		case NearEdge:
			block, line = "paper", fmt.Sprintf("edge = %s", offered(a.Value, 3, math.Floor))
		case TooShort:
			block, line = "action", fmt.Sprintf("shortest = \"%s ms\"", offered(a.Value, 1, math.Floor))
		case AtOnce:
			block, line = "action", fmt.Sprintf("notes_at_once = %.0f", a.Value)
		case Rate:
			block, line = "action", fmt.Sprintf("notes_a_second = %.0f", a.Value)
		case Repetition:
			block, line = "action", fmt.Sprintf("gap_paper = %s", offered(a.Value, 3, math.Floor))
			if a.Unit == "ms" {
				line = fmt.Sprintf("gap_time = \"%s ms\"", offered(a.Value, 1, math.Floor))
			}
		default:
			continue
		}
		text := block + " { " + line + " }"
		if a.Piano != "" {
			text = a.Piano + ": " + text
		}
		if !slices.Contains(out, text) {
			out = append(out, text)
		}
	}
	return out
}

// offered is a number with so many decimals, rounded so that what was played stays
// within it.
func offered(x float64, places int, round func(float64) float64) string {
	scale := math.Pow10(places)
	noise := 1e-6
	if round(0.5) == 1 {
		noise = -noise
	}
	return thousandths(round(x*scale+noise) / scale)
}
