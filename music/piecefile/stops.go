package piecefile

import (
	"fmt"
	"strings"

	"rollwright/exact"
	"rollwright/music/piece"
	"rollwright/text/blocks"
	"rollwright/text/draft"
	"rollwright/text/source"
)

// readStops reads when stops are on: "flute 0-64 80-96, tremolo full". A name may
// have several words; its stretches are those of a pedal.
func readStops(r *reader, v *blocks.Value) any {
	s, ok := r.written(v)
	if !ok {
		return nil
	}
	const hint = `write the name of a stop and its stretches in units, stops parted by commas: "flute 0-64 80-96, tremolo full"`
	var out []piece.Stop
	var now piece.Stop
	fail := func(e *source.Error) any { return orNil(nil, r.add(e)) }
	wants := false // every wants its units
	for c := s.inside(); c.skip(); {
		item := c.item()
		text, ends := strings.CutSuffix(item.String(), ",")
		begun := now.Spans.Full || len(now.Spans.List) > 0
		from, to, dash := strings.Cut(text, "-")
		a, err := exact.ParseRat(from)
		b, err2 := exact.ParseRat(to)
		switch {
		case !r.charge(1, v):
			return nil
		case wants:
			x, err := exact.ParseRat(text)
			if err != nil || x.Sign() <= 0 {
				return fail(item.Error("every wants a number of units", hint))
			}
			for _, span := range now.Spans.List {
				if span.To.Cmp(x) > 0 {
					return fail(item.Error(fmt.Sprintf("a stretch ends at unit %v, after they come again", span.To), hint))
				}
			}
			now.Spans.Every, wants = x, false
		case text == "every" && len(now.Spans.List) > 0 && !ends:
			wants = true
		case text == "full" && now.Name != "" && !begun:
			now.Spans.Full = true
		case dash && err == nil && err2 == nil && now.Name != "" && now.Spans.Every.Sign() == 0 && !now.Spans.Full:
			if a.Sign() < 0 || a.Cmp(b) >= 0 {
				return fail(item.Error("this stretch ends before it begins", hint))
			}
			now.Spans.List = append(now.Spans.List, piece.Span{From: a, To: b})
		case !begun && text != "" && !ends:
			now.Name = strings.TrimSpace(now.Name + " " + text)
		default:
			return fail(item.Error(fmt.Sprintf("%q is neither a stop nor a stretch of a voice",
				source.Printable(item.String())), hint))
		}
		if ends {
			out, now = append(out, now), piece.Stop{}
		}
	}
	if now.Name != "" && (now.Spans.Full || len(now.Spans.List) > 0) && !wants {
		return append(out, now)
	}
	return fail(v.Error("a stop is named without a stretch, or a comma too much", hint))
}

// stopsSlot writes stops as they are read.
func stopsSlot(stops []piece.Stop) slot {
	if len(stops) == 0 {
		return slot{name: "stop"}
	}
	var words []string
	for i, s := range stops {
		words = append(words, s.Name)
		if s.Spans.Full {
			words = append(words, "full")
		}
		for _, span := range s.Spans.List {
			words = append(words, ratText(span.From)+"-"+ratText(span.To))
		}
		if s.Spans.Every.Sign() > 0 {
			words = append(words, "every", ratText(s.Spans.Every))
		}
		if i+1 < len(stops) {
			words[len(words)-1] += ","
		}
	}
	return attrSlot("stop", draft.Series(words...))
}
