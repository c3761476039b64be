package inspect

import (
	"cmp"
	"slices"

	"rollwright/paper/tear"
)

// lineEnds is where a weak line meets the edges of the paper, along the roll.
type lineEnds struct{ bassMM, trebleMM float64 }

// findWeak looks for the lines that keep too little paper. One that runs straight
// across is a row, of which together tells.
func (s *sweep) findWeak() {
	s.weak = slices.DeleteFunc(tear.Below(s.roll, s.in.Paper.LineMM()), func(l tear.Line) bool {
		from, to := l.Span()
		return to-from <= noiseMM
	})
	slices.SortStableFunc(s.weak, func(a, b tear.Line) int {
		x, _ := a.Span()
		y, _ := b.Span()
		return cmp.Compare(x, y)
	})
}

// weakBefore tells of the weak lines that begin before a place.
func (s *sweep) weakBefore(mm float64) {
	for len(s.weak) > 0 {
		line := &s.weak[0]
		from, _ := line.Span()
		if from > mm {
			return
		}
		f := s.at(WeakLine, Risks, int(s.mostOn(line)))
		f.Port, f.Key, f.At = 0, -1, s.spot(f.Voice, pitchOf)
		f.AlongMM, f.StartSec, f.AcrossMM = from, s.in.Transport.Sec(from), 0
		f.Value, f.Limit, f.Unit = line.LeftMM, s.in.Paper.LineMM(), "mm"
		f.ends = lineEnds{line.Path[0].AlongMM, line.Path[len(line.Path)-1].AlongMM}
		s.tell(f)
		s.weak = s.weak[1:]
	}
}

// mostOn is the first slot on a line of the voice that has most of them.
func (s *sweep) mostOn(line *tear.Line) int32 {
	count := map[int32]int{}
	best := line.Slots[0]
	for _, i := range line.Slots {
		count[s.roll.Slots[i].Causes.First.Voice]++
	}
	for _, i := range line.Slots {
		if count[s.roll.Slots[i].Causes.First.Voice] > count[s.roll.Slots[best].Causes.First.Voice] {
			best = i
		}
	}
	return best
}
