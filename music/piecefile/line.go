package piecefile

import (
	"fmt"
	"strings"

	"rollwright/music/piece"
	"rollwright/text/blocks"
	"rollwright/text/source"
)

// lineItem is a duration and, where it sounds, its pitch.
type lineItem struct {
	duration piece.Duration
	pitch    piece.Pitch
}

// line is what a line means: a talea, and the pitches of its sounding items.
type line struct {
	talea []piece.Duration
	color []piece.Pitch
}

var lineKind = &kind[lineItem]{
	name:   "line",
	what:   "pitches with durations",
	sample: "C4:2 D4:1 E4:1",
	one: func(r *reader, c *cursor) (lineItem, *source.Error) {
		return readLineItem(r, c.item())
	},
	move: func(item lineItem, to func(int) int) (lineItem, bool) {
		if item.duration.Silent {
			return item, true
		}
		p, ok := movePitch(item.pitch, to)
		item.pitch = p
		return item, ok
	},
	bareWords: isPitch,
}

func readLine(r *reader, v *blocks.Value) any {
	items, ok := series(r, v, lineKind)
	if !ok {
		return nil
	}
	l := &line{talea: make([]piece.Duration, 0, len(items))}
	for _, item := range items {
		l.talea = append(l.talea, item.duration)
		if !item.duration.Silent {
			l.color = append(l.color, item.pitch)
		}
	}
	if len(l.color) == 0 {
		return orNil(nil, r.add(v.Error("the line is silent from end to end", "write at least one pitch with its duration: C4:2")))
	}
	return l
}

// readLineItem reads C4:2, E4+G4:3!ff, gliss(C3 C6 white):4 or (1).
func readLineItem(r *reader, s span) (lineItem, *source.Error) {
	text := s.String()
	if strings.HasPrefix(text, "(") {
		d, err := duration(s)
		return lineItem{duration: d}, err
	}
	colon := strings.LastIndexByte(text, ':')
	if colon < strings.LastIndexByte(text, ')') {
		colon = -1
	}
	switch {
	case colon < 0 && isPitch(text):
		return lineItem{}, s.Error(text+" has no duration", fmt.Sprintf("in a line each pitch has its duration after a colon: %s:2", text))
	case colon < 0 && strings.HasSuffix(text, ")"):
		return lineItem{}, s.Error(text+" has no duration", "write: "+text+":4")
	case colon < 0:
		return lineItem{}, s.Error(fmt.Sprintf("%q is no pitch with a duration", source.Printable(text)), "items of a line are C4:2, E4+G4:3, or (1) for silence")
	}
	end := len(text)
	loud := strings.IndexByte(text[colon:], '!')
	if loud >= 0 {
		end = colon + loud
	}
	p, err := pitchOrGesture(r, s.part(0, colon))
	if err != nil {
		return lineItem{}, err
	}
	length, err := units(s.part(colon+1, end))
	if err == nil && loud >= 0 {
		p.Level, err = level(s.part(end+1, len(text)))
	}
	return lineItem{piece.Duration{Units: length}, p}, err
}
