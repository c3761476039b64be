package piecefile

import (
	"fmt"
	"strings"

	"rollwright/exact"
	"rollwright/music/piece"
	"rollwright/text/blocks"
	"rollwright/text/source"
)

// point reads a point of a voice.
func (r *reader) point(v *blocks.Value) (piece.Point, bool) {
	s, ok := r.written(v)
	if !ok {
		return piece.Point{}, false
	}
	fields := strings.Fields(s.String())
	var p piece.Point
	switch {
	case len(fields) == 1 && fields[0] == "start":
		return piece.Point{Kind: piece.AtStart}, true
	case len(fields) == 1 && fields[0] == "end":
		return piece.Point{Kind: piece.AtEnd}, true
	case len(fields) == 2 && fields[0] == "note":
		p = piece.Point{Kind: piece.AtNote, N: count(fields[1])}
	case len(fields) == 3 && fields[0] == "note" && fields[2] == "end":
		p = piece.Point{Kind: piece.AtNoteEnd, N: count(fields[1])}
	case len(fields) == 2 && fields[0] == "unit":
		x, err := exact.ParseRat(fields[1])
		if err == nil && x.Sign() >= 0 && x.Float64() <= 1e9 {
			return piece.Point{Kind: piece.AtUnit, X: x}, true
		}
	default:
		return r.sharePoint(s)
	}
	if p.N > 0 {
		return p, true
	}
	return p, r.add(s.Error(fmt.Sprintf("%q is no point of a voice", source.Printable(s.String())),
		"notes count from 1, units from 0: note 43, note 43 end, unit 12.5"))
}

func (r *reader) sharePoint(s span) (piece.Point, bool) {
	x, err := exact.ParseRat(s.String())
	const hint = `write start, end, note 43, note 43 end, unit 12, or a share of the length: 2/3`
	switch {
	case err != nil:
		return piece.Point{}, r.add(s.Error(fmt.Sprintf("%q is no point of a voice", source.Printable(s.String())), hint))
	case x.Sign() < 0 || x.Cmp(exact.Int(1)) > 0:
		return piece.Point{}, r.add(s.Error(fmt.Sprintf("%v is no share of a length", x),
			"a share lies between 0 and 1; notes and units say so: note 43, unit 12"))
	}
	return piece.Point{Kind: piece.AtShare, X: x}, true
}

// readSpans reads full, or stretches of units: 0-16 24-30.
func readSpans(r *reader, v *blocks.Value) any {
	s, ok := r.written(v)
	if !ok {
		return nil
	}
	const hint = `write full, or stretches in units: "0-16 24-30", or "0-14 every 32"`
	if s.String() == "full" {
		return piece.Spans{Full: true}
	}
	var out piece.Spans
	for c := s.inside(); c.skip(); {
		if len(out.List) > 0 && c.follows("every") {
			var err *source.Error
			if out.Every, err = r.every(c, out.List); err != nil {
				return orNil(nil, r.add(err))
			}
			break
		}
		item := c.item()
		from, to, ok := strings.Cut(item.String(), "-")
		a, err := exact.ParseRat(from)
		b, err2 := exact.ParseRat(to)
		switch {
		case !ok || err != nil || err2 != nil:
			return orNil(nil, r.add(item.Error(fmt.Sprintf("%q is no stretch of a voice", source.Printable(item.String())),
				hint)))
		case a.Sign() < 0 || a.Cmp(b) >= 0:
			return orNil(nil, r.add(item.Error("this stretch ends before it begins", hint)))
		case !r.charge(1, v):
			return nil
		}
		out.List = append(out.List, piece.Span{From: a, To: b})
	}
	if len(out.List) == 0 {
		return orNil(nil, r.add(v.Error("no stretch of the voice is named", hint)))
	}
	return out
}

// every reads after how many units the spans come again.
func (r *reader) every(c *cursor, list []piece.Span) (exact.Rat, *source.Error) {
	const hint = `write after how many units the stretches come again: "0-14 24-30 every 32"`
	if !c.skip() {
		return exact.Rat{}, c.item().Error("every wants a number of units", hint)
	}
	s := c.item()
	x, err := r.units(s)
	switch {
	case err != nil:
		return x, s.Error(fmt.Sprintf("%q is no number of units", source.Printable(s.String())), hint)
	case c.skip():
		return x, c.item().Error("nothing follows every and its units", hint)
	}
	for _, span := range list {
		if span.To.Cmp(x) > 0 {
			return x, s.Error(fmt.Sprintf("a stretch ends at unit %v, after they come again", span.To), hint)
		}
	}
	return x, nil
}
