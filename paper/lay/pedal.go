package lay

import (
	"cmp"
	"slices"

	"rollwright/paper/instrument"
	"rollwright/paper/roll"
)

// pedal is one control port with the spans it has to serve.
type pedal struct {
	port  int32
	spans []roll.Span // by start, none reaching the next
}

// newPedals sorts the spans of this roll to their ports, joining those that
// overlap. Spans without a port are noted in the roll.
func (l *layer) newPedals(spans []roll.Span) []pedal {
	var out []pedal
	for _, role := range []instrument.Role{instrument.Sustain, instrument.Soft} {
		var mine []roll.Span
		for _, s := range spans {
			if s.Piano == l.roll.Piano && s.Role == role && s.EndSec > s.StartSec {
				mine = append(mine, s)
				l.roll.EndSec = max(l.roll.EndSec, s.EndSec)
				if s.Units.Beyond() {
					l.roll.Beyond = append(l.roll.Beyond, s)
				}
			}
		}
		slices.SortStableFunc(mine, func(a, b roll.Span) int { return cmp.Compare(a.StartSec, b.StartSec) })
		port := slices.IndexFunc(l.in.Bar.Ports, func(p instrument.Port) bool { return p.Role == role })
		if port < 0 {
			l.roll.NoPort = append(l.roll.NoPort, mine...)
		} else if len(mine) > 0 {
			out = append(out, pedal{int32(port), joined(mine)})
		}
	}
	out = append(out, l.newStops(spans)...)
	slices.SortStableFunc(l.roll.Beyond, func(a, b roll.Span) int { return cmp.Compare(a.StartSec, b.StartSec) })
	return out
}

// newStops sorts the spans of stops to the ports of their registers: a slot over a
// port that works while it is open, or a stroke on the one that switches on and one
// on the one that switches off.
func (l *layer) newStops(spans []roll.Span) []pedal {
	var out []pedal
	byStop := map[string][]roll.Span{}
	var names []string // in the order of the piece
	for _, s := range spans {
		if s.Piano != l.roll.Piano || s.Role != instrument.Register || s.EndSec <= s.StartSec {
			continue
		}
		if byStop[s.Stop] == nil {
			names = append(names, s.Stop)
		}
		byStop[s.Stop] = append(byStop[s.Stop], s)
		l.roll.EndSec = max(l.roll.EndSec, s.EndSec)
		if s.Units.Beyond() {
			l.roll.Beyond = append(l.roll.Beyond, s)
		}
	}
	for _, name := range names {
		mine := byStop[name]
		slices.SortStableFunc(mine, func(a, b roll.Span) int { return cmp.Compare(a.StartSec, b.StartSec) })
		found := false
		for i, p := range l.in.Bar.Ports {
			if p.Role != instrument.Register || p.Stop != name {
				continue
			}
			found = true
			works := joined(slices.Clone(mine))
			for k := range works {
				switch p.Mode {
				case instrument.On:
					works[k].EndSec = works[k].StartSec
				case instrument.Off:
					works[k].StartSec = works[k].EndSec
				}
			}
			out = append(out, pedal{int32(i), works})
		}
		if !found {
			l.roll.NoPort = append(l.roll.NoPort, mine...)
		}
	}
	return out
}

// joined makes one span of those that overlap or touch.
func joined(spans []roll.Span) []roll.Span {
	out := spans[:1]
	for _, s := range spans[1:] {
		if last := &out[len(out)-1]; s.StartSec <= last.EndSec {
			last.EndSec = max(last.EndSec, s.EndSec)
		} else {
			out = append(out, s)
		}
	}
	return out
}

func (l *layer) pedal(p pedal) {
	for _, s := range p.spans {
		l.strike(stroke{s.StartSec, s.EndSec, p.port, roll.Cause{Voice: int32(s.Voice)}})
	}
}
