package inspect

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"rollwright/music/piece"
	"rollwright/text/source"
)

// gestures are the members of the color that the two strokes of a pair are of one
// voice; at least one of them is a gesture.
type gestures struct{ earlier, later *piece.Pitch }

// ofGestures finds the gestures of a pair of strokes of one voice. The finding is
// then about that member of the color: only there can it be mended.
func (s *sweep) ofGestures(f *Finding) {
	switch f.Kind {
	case StrokeLost, Repetition, ShortBridge, UnclearWeb:
	default:
		return
	}
	if f.Voice < 0 || f.Voice != f.Other || f.Note < 1 || f.OtherNote < 1 || !s.gestured[f.Voice] {
		return
	}
	g := &gestures{s.member(f.Voice, f.OtherNote), s.member(f.Voice, f.Note)}
	for _, p := range []*piece.Pitch{g.earlier, g.later} {
		if p.Gesture.Manner() != piece.Plain {
			f.gestures, f.At, f.Width = g, p.Gesture.AsWritten().At, p.Gesture.AsWritten().Width
		}
	}
	if f.gestures != nil {
		f.Before = g.earlier.Gesture.AsWritten().At
	}
}

// hasGestures reports whether some member of a color is a gesture.
func hasGestures(color []piece.Pitch) bool {
	return slices.ContainsFunc(color, func(p piece.Pitch) bool { return p.Gesture.Manner() != piece.Plain })
}

// member is the member of the color that a voice's note is.
func (s *sweep) member(voice, note int) *piece.Pitch {
	return memberOf(&s.piece.Voices[voice], note, s.reach.last(voice))
}

// memberOf is the member of the color that a note is, of a voice with so many.
func memberOf(v *piece.Voice, note, last int) *piece.Pitch {
	size, n := len(v.Color), note-1
	if v.Backward {
		n = last - note
	}
	return &v.Color[(n%size+v.RotateColor%size+size)%size]
}

// gentler is what parts the strokes of gestures, or empty where the finding is not
// about any or nothing would.
func (f *Finding) gentler() string {
	switch {
	case f.gestures == nil:
		return ""
	case f.Note != f.OtherNote:
		return f.apartGestures()
	}
	text, most := f.instead()
	if text == "" {
		return ""
	}
	hold := ""
	if share, ok := f.gestureHold(); ok {
		hold = fmt.Sprintf("its hold leaves too little paper: hold = %s%s would leave enough; or ", figure(share), f.in(f.Voice))
	}
	switch f.gestures.later.Gesture.Manner() {
	case piece.Grace:
		return fmt.Sprintf("at least %.0fms ahead: write %s", math.Ceil(1000/most), text)
	case piece.Repeat:
		if most == 0 {
			return hold + "write " + text + ", which is what the instrument can"
		}
		if hold != "" { // so slow only because of its hold
			return fmt.Sprintf("%swrite %s, or fastest in place of the number", hold, text)
		}
		return fmt.Sprintf("at most %s a second: write %s, or fastest in place of the number", figure(most), text)
	}
	if hold != "" {
		return fmt.Sprintf("%sat most %s a second: write %s", hold, figure(most), text)
	}
	return fmt.Sprintf("at most %s a second: write %s", figure(most), text)
}

// gestureHold is the share, in hundredths, rounded down, for which the strokes of a
// repetition or a trill would have to be held to leave paper enough at the rate that
// they have. It is false where their hold is shorter already, is no single share, or
// where what is left of a stroke would be less than a punch or than the action needs:
// then the rate is at fault.
func (f *Finding) gestureHold() (share float64, ok bool) {
	holds, manner := f.of(f.Voice).Hold, f.gestures.later.Gesture.Manner()
	if len(holds) != 1 || holds[0].Kind != piece.HoldShare || manner != piece.Repeat && manner != piece.Trill ||
		f.gestures.later.Hold != nil || f.gestures.later.Gesture.Fastest {
		return 0, false
	}
	in := f.roll.Instrument
	v, d, e := in.Transport.SpeedMMPerSec(), in.Die.DiameterMM, in.EdgeShiftMM()
	m := 1.0
	if manner == piece.Trill {
		m = float64(returns(f.gestures.later.Keys))
	}
	share = math.Floor(100*m*(1-f.gapSec()/f.apart)+1e-9) / 100
	if share <= 0 || share >= holds[0].Share.Float64() || v*share*f.apart/m+2*e < d || f.longEnoughAt(share) < m/f.apart {
		return 0, false
	}
	return share, true
}

// gapSec is the time from where a stroke ends to where the next on its key may begin.
func (f *Finding) gapSec() float64 {
	in := f.roll.Instrument
	v, e := in.Transport.SpeedMMPerSec(), in.EdgeShiftMM()
	paper := max(in.Action.GapPaperMM, in.Paper.BridgeMM) + in.StepMM
	return max(paper+2*e, in.Action.GapSec*v+in.StepMM) / v
}

// instead is how the gesture that both strokes are of is written with strokes that are
// far enough apart, with the most strokes a second; 0 where the instrument says. It is
// empty where no rate would do.
func (f *Finding) instead() (text string, most float64) {
	if f.gestures == nil || f.Note != f.OtherNote {
		return "", 0
	}
	g, most := f.gestures.later, f.mostStrokes()
	switch kind := g.Gesture.Manner(); {
	case kind == piece.Repeat && most == 0 && !g.Gesture.Fastest:
		return rewritten(g, 1, "fastest"), 0
	case most == 0:
		return "", 0
	case kind == piece.Repeat:
		return rewritten(g, 1, figure(most)+"/s"), most
	case kind == piece.Trill:
		return rewritten(g, len(g.Keys), figure(most)+"/s"), most
	case kind == piece.Grace:
		return rewritten(g, 2, fmt.Sprintf("%.0fms", math.Ceil(1000/most))), most
	}
	return "", 0
}

// apartGestures parts two members of the color that strike one key where they meet.
func (f *Finding) apartGestures() string {
	in := f.roll.Instrument
	slot := in.Die.DiameterMM + in.StepMM
	silence := 1/in.StrokesASecond(slot, max(in.Action.GapPaperMM, in.Paper.BridgeMM)) - f.apart
	if f.Kind == ShortBridge {
		silence = (f.Limit - f.Value + in.StepMM) / in.Transport.SpeedMMPerSec()
	}
	text := fmt.Sprintf("other keys where %s meets %s", f.named(f.gestures.earlier), f.named(f.gestures.later))
	if silence <= 0 {
		return text
	}
	return fmt.Sprintf("%s, or a silence of %.0f ms between the two", text, math.Ceil(1000*silence))
}

// named is a member of the color as it stands in the text.
func (f *Finding) named(p *piece.Pitch) string {
	if p.Gesture.AsWritten().Text == "" {
		return "the " + f.port() + " beside it"
	}
	return source.Printable(p.Gesture.AsWritten().Text)
}

// rewritten is the gesture as it stands in the text, with the first so many words
// in its parentheses and last after them.
func rewritten(g *piece.Pitch, words int, last string) string {
	name, inside, _ := strings.Cut(strings.TrimSuffix(g.Gesture.AsWritten().Text, ")"), "(")
	args := strings.Fields(inside)
	if len(args) < words {
		return last
	}
	return fmt.Sprintf("%s(%s %s)", name, strings.Join(args[:words], " "), last)
}

// mostStrokes is how many strokes a second the gesture may have so that nothing is
// to be said against any two of them, rounded down to a tenth; 0 when its holds
// leave no paper between two strokes of a key at any rate, or when it has no more
// than that already.
//
// At R strokes a second, m of them from a key to its return, a stroke held for
// the share h of itself cuts a slot of v*h/R + 2e, at least one punch d, on paper
// of speed v, where e is the edge shift of the bar. The m/R seconds hold that
// slot and, on paper, the gap G, in time the action's gap T; one row more for
// what rounding may take away.
func (f *Finding) mostStrokes() float64 {
	in := f.roll.Instrument
	v, d, e := in.Transport.SpeedMMPerSec(), in.Die.DiameterMM, in.EdgeShiftMM()
	m := float64(returns(f.gestures.later.Keys))
	if f.gestures.later.Gesture.Manner() != piece.Trill {
		m = 1
	}
	paper := max(in.Action.GapPaperMM, in.Paper.BridgeMM) + in.StepMM
	gap := f.gapSec()
	most := m / (max(d+paper, d-2*e+in.Action.GapSec*v+in.StepMM) / v)
	for _, h := range f.of(f.Voice).Hold {
		switch h.Kind {
		case piece.HoldShare:
			share := h.Share.Float64()
			most = min(most, (m-share)/gap, f.longEnoughAt(share))
		case piece.HoldTime:
			most = min(most, max(m/(h.Sec.Float64()+gap), (m-1)/gap))
		}
	}
	most = math.Floor(10*most+1e-9) / 10
	if most <= 0 || most >= m/f.apart {
		return 0
	}
	return most
}

// longEnoughAt is the most strokes a second that keep the port open for as long as
// the action needs when each is held for the share of itself, the last one too, which
// may have half the time of the others.
func (f *Finding) longEnoughAt(share float64) float64 {
	in := f.roll.Instrument
	v := in.Transport.SpeedAt(f.roll.EndSec)
	needs := in.Action.ShortestSec + in.StepMM/v
	if in.OpenMM(in.Die.DiameterMM)/v >= needs {
		return math.Inf(1)
	}
	return share / 2 / needs
}

// returns is how many strokes it takes at least until a key comes again when the
// keys are struck in turn.
func returns(keys []int) int {
	least := len(keys)
	for i, key := range keys {
		for n := 1; n < least; n++ {
			if keys[(i+n)%len(keys)] == key {
				least = n
			}
		}
	}
	return least
}
