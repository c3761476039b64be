package perform

import (
	"fmt"
	"iter"

	"rollwright/exact"
	"rollwright/music/piece"
)

// maxSpans bounds the stretches of a pedal that come again and again.
const maxSpans = 1_000_000

// Spans are the stretches of a pedal in units from the line's start; those that come again
// do so as long as they begin before its end.
func (l *Line) Spans(spans piece.Spans) iter.Seq[piece.Span] {
	return func(yield func(piece.Span) bool) {
		var from exact.Rat
		for {
			for _, s := range spans.List {
				a, ok1 := s.From.Add(from)
				b, ok2 := s.To.Add(from)
				if !ok1 || !ok2 || from.Sign() > 0 && a.Float64() >= l.Length || !yield(piece.Span{From: a, To: b}) {
					return
				}
			}
			next, ok := from.Add(spans.Every)
			if spans.Every.Sign() <= 0 || !ok {
				return
			}
			from = next
		}
	}
}

// checkSpans complains about pedals that come again too often.
func (r *resolver) checkSpans(l *Line) {
	type stretches struct {
		attribute string
		spans     *piece.Spans
	}
	all := []stretches{{"pedal", &l.voice.Pedal}, {"soft", &l.voice.Soft}}
	for i := range l.voice.Stops {
		all = append(all, stretches{"stop", &l.voice.Stops[i].Spans})
	}
	for _, p := range all {
		if p.spans.Every.Sign() <= 0 {
			continue
		}
		if n := l.Length / p.spans.Every.Float64() * float64(len(p.spans.List)); n > maxSpans {
			r.voiceComplaint(l, p.attribute, fmt.Sprintf("too often: the stretches of %s come more than %d times in %q",
				p.attribute, maxSpans, l.voice.Name),
				"let them come again after more units")
		}
	}
}

// spans finds when every section begins and ends, as it is heard.
func (p *Performance) spans(r *resolver) {
	for i := range p.Piece.Sections {
		r.need(node{sectionAt, i})
		nominal := r.sections[i]
		at := r.whole.of(nominal)
		if p.ShiftExact {
			at = at.add(exactly(p.Shift))
		} else {
			at = at.add(about(newFloat().SetFloat64(p.ShiftSec)))
		}
		s := Span{Start: at.sum, StartExact: at.exact(), StartSec: at.float64(), NominalSec: nominal.float64()}
		s.EndSec = s.StartSec
		for _, voice := range r.inside[i] {
			s.EndSec = max(s.EndSec, p.Lines[voice].EndSec)
		}
		p.Sections = append(p.Sections, s)
	}
}
