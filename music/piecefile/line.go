package piecefile

import (
	"fmt"
	"strings"

	"rollwright/exact"
	"rollwright/music/piece"
	"rollwright/text/blocks"
	"rollwright/text/source"
)

// lineItem is a duration and, where it sounds, its pitch.
type lineItem struct {
	duration piece.Duration
	pitch    piece.Pitch
}

var lineKind = &kind[lineItem]{
	name:   "line",
	what:   "pitches with durations",
	sample: "C4:2 D4:1 E4:1",
	one: func(r *reader, c *cursor) (lineItem, *source.Error) {
		return readLineItem(r, c.item())
	},
	move: func(item lineItem, to *piece.Move) (lineItem, bool) {
		if item.duration.Silent {
			return item, true
		}
		p, ok := movePitch(item.pitch, to)
		item.pitch = p
		return item, ok
	},
	longer: func(item lineItem, by exact.Rat) (lineItem, bool) {
		d, ok := longerDuration(item.duration, by)
		item.duration = d
		return item, ok
	},
	bareWords: isPitch,
}

func readLine(r *reader, v *blocks.Value) any { return r.materialOf(aLine, v) }

func (r *reader) lineMaterial(v *blocks.Value) (*material, bool) {
	items, marks, ok := marked(r, v, lineKind)
	if !ok {
		return nil, false
	}
	m := &material{talea: make([]piece.Duration, 0, len(items)), marks: marks}
	for _, item := range items {
		m.talea = append(m.talea, item.duration)
		if !item.duration.Silent {
			m.color = append(m.color, item.pitch)
		}
	}
	if len(m.color) == 0 {
		return nil, r.add(v.Error("the line is silent from end to end", "write at least one pitch with its duration: C4:2"))
	}
	return m, true
}

// readLineItem reads C4:2, E4+G4:3!ff~0.3, gliss(C3 C6 white):4, (1), or D, which takes
// over octave and duration.
func readLineItem(r *reader, s span) (lineItem, *source.Error) {
	text, tune := s.String(), s.c.tune
	if strings.HasPrefix(text, "(") {
		d, err := r.duration(s)
		if err == nil && tune != nil {
			tune.duration = d.Units
		}
		return lineItem{duration: d}, err
	}
	closing := strings.LastIndexByte(text, ')') + 1
	own := len(text)
	if i := strings.IndexAny(text[closing:], "!~"); i >= 0 {
		own = closing + i
	}
	colon := strings.IndexByte(text[closing:own], ':')
	if colon >= 0 {
		colon += closing
	}
	head := own
	if colon >= 0 {
		head = colon
	}
	if e := lineProblem(s, text, head, colon < 0, tune); e != nil {
		return lineItem{}, e
	}
	p, err := pitchOrGesture(r, s.part(0, head))
	if err != nil {
		return lineItem{}, err
	}
	p.Offset = s.offset()
	item := lineItem{pitch: p}
	if colon < 0 {
		item.duration.Units = tune.duration
	} else if item.duration.Units, err = r.units(s.part(colon+1, own)); err != nil {
		return item, err
	}
	if tune != nil {
		tune.duration = item.duration.Units
	}
	return item, r.ownOf(s, own, &item.pitch)
}

// lineProblem is what is wrong with an item that has no duration and can take none over.
func lineProblem(s span, text string, head int, without bool, tune *melody) *source.Error {
	if !without || tune != nil && tune.duration.Sign() > 0 {
		return nil
	}
	switch {
	case isPitch(text[:head]):
		return s.Error(text+" has no duration", fmt.Sprintf("the first item of a line has its duration after a colon, and others may take it over: %s:2", text[:head]))
	case strings.HasSuffix(text, ")"):
		return s.Error(text+" has no duration", "write: "+text+":4")
	}
	return s.Error(fmt.Sprintf("%q is no pitch with a duration", source.Printable(text)),
		"items of a line are C4:2, E4+G4:3, or (1) for silence")
}

// ownOf reads an item's own level and hold, from byte at of it: !ff~0.3.
func (r *reader) ownOf(s span, at int, p *piece.Pitch) (err *source.Error) {
	text := s.String()
	if at == len(text) {
		return nil
	}
	end := len(text)
	if n := strings.IndexByte(text[at:], '~'); n >= 0 {
		end = at + n
	}
	if text[at] == '!' {
		if p.Level, err = level(s.part(at+1, end)); err != nil {
			return err
		}
	}
	if end == len(text) {
		return nil
	}
	return r.ownHold(s, end, p)
}

// ownHold reads what follows the ~ at byte at of an item.
func (r *reader) ownHold(s span, at int, p *piece.Pitch) *source.Error {
	rest := s.part(at+1, len(s.String()))
	text := rest.String()
	if pitched, _, _ := strings.Cut(text, ":"); pitched != "" && pitched[0] >= 'A' && pitched[0] <= 'G' {
		return rest.Error("~ is for how much of a note sounds, and joins no notes",
			"a note that goes on is one note, with the sum of its durations: "+tiedHint(s.String()))
	}
	if level := strings.IndexByte(text, '!'); level >= 0 {
		return rest.Error("the level comes before the hold", "write: "+s.String()[:at]+text[level:]+"~"+text[:level])
	}
	c := rest.inside()
	h, err := hold(r, c)
	if err == nil && c.skip() {
		err = rest.Error(fmt.Sprintf("%q is no hold", source.Printable(text)), holdHint)
	}
	p.Hold = &h
	return err
}

// tiedHint is C4:2~C4:3 with the sum: C4:5.
func tiedHint(text string) string {
	const plain = "C4:5"
	var sum exact.Rat
	head := ""
	for i, part := range strings.Split(text, "~") {
		name, units, ok := strings.Cut(part, ":")
		x, err := exact.ParseRat(units)
		if !ok || err != nil || i > 0 && name != head {
			return plain
		}
		head = name
		if sum, ok = sum.Add(x); !ok {
			return plain
		}
	}
	return head + ":" + sum.String()
}
