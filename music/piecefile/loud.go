package piecefile

import (
	"fmt"
	"strconv"
	"strings"

	"rollwright/exact"
	"rollwright/music/piece"
	"rollwright/text/blocks"
	"rollwright/text/source"
)

// marks are the levels of the dynamic marks: common practice, no source.
var marks = map[string]int{"ppp": 16, "pp": 33, "p": 49, "mp": 64, "mf": 80, "f": 96, "ff": 112, "fff": 126}

const levelHint = "write ppp pp p mp mf f ff fff, or a number from 1 to 127"

func isMark(s string) bool { return marks[s] != 0 }

// level reads mf or a number from 1 to 127.
func level(s span) (int, *source.Error) {
	text := s.String()
	if n := marks[text]; n != 0 {
		return n, nil
	}
	n, err := strconv.Atoi(text)
	switch {
	case err != nil:
		return 0, s.Error(fmt.Sprintf("%q is no level", source.Printable(text)), levelHint)
	case n < 1 || n > 127:
		return 0, s.Error(fmt.Sprintf("the level %d is beyond 1 to 127", n), levelHint)
	}
	return n, nil
}

var dynamicsKind = &kind[piece.Dynamic]{name: "dynamics", what: "levels", sample: "p mf f", one: dynamic,
	bareWords: isMark}

func readDynamics(r *reader, v *blocks.Value) any {
	out, ok := series(r, v, dynamicsKind)
	return orNil(out, ok)
}

// dynamic reads a level, or a ramp: mp to ff over 40.
func dynamic(_ *reader, c *cursor) (piece.Dynamic, *source.Error) {
	from, err := level(c.item())
	if err != nil || !c.follows("to") {
		return piece.Dynamic{Level: from}, err
	}
	const hint = "mp to ff over 40 is a ramp over 40 notes"
	if !c.skip() {
		return piece.Dynamic{}, c.item().Error("after to a level is wanted", hint)
	}
	to, err := level(c.item())
	if err != nil {
		return piece.Dynamic{}, err
	}
	if !c.follows("over") || !c.skip() {
		return piece.Dynamic{}, c.peek().Error("a ramp wants the notes it goes over", hint)
	}
	s := c.item()
	over := count(s.String())
	if over == 0 {
		return piece.Dynamic{}, s.Error(fmt.Sprintf("a ramp over %q notes", source.Printable(s.String())), hint)
	}
	return piece.Dynamic{Level: from, To: to, Over: over}, nil
}

var holdKind = &kind[piece.Hold]{
	name: "hold", what: "holds", sample: "0.5 1", one: hold,
	bareWords: func(s string) bool { return s == "single" },
	numbers:   true,
}

func readHold(r *reader, v *blocks.Value) any {
	out, ok := series(r, v, holdKind)
	return orNil(out, ok)
}

const holdHint = `write a share of the written length (0.8), a time (90 ms) or single`

// hold reads 0.8, 90 ms, 90ms or single.
func hold(r *reader, c *cursor) (piece.Hold, *source.Error) {
	s := c.item()
	if s.String() == "single" {
		return piece.Hold{Kind: piece.HoldSingle}, nil
	}
	if c.follows("ms") || c.follows("s") {
		s.j = c.i
	}
	if strings.HasSuffix(s.String(), "s") {
		sec, problem, _ := parseTime(s.String())
		switch {
		case problem != "":
			return piece.Hold{}, s.Error(fmt.Sprintf("%q is no hold", source.Printable(s.String())), holdHint)
		case sec.Sign() <= 0:
			return piece.Hold{}, s.Error("a hold of no time", "write a time of more than 0, or single for one punch")
		}
		return piece.Hold{Kind: piece.HoldTime, Sec: sec}, nil
	}
	share, err := r.share(s)
	return piece.Hold{Kind: piece.HoldShare, Share: share}, err
}

// notPositive reports whether s is a fraction of 0 or less.
func notPositive(s span) bool {
	x, err := fraction(s.String())
	return err == nil && x.Sign() <= 0
}

// share reads a positive share of a length.
func (r *reader) share(s span) (exact.Real, *source.Error) {
	x, err := r.exactReal(s)
	switch {
	case err != nil && notPositive(s):
		return x.x, s.Error("a hold of "+s.String(), "a hold is more than 0; write single for one punch")
	case err != nil && err.Problem == tooHard:
		return x.x, err
	case err != nil:
		return x.x, s.Error(fmt.Sprintf("%q is no hold", source.Printable(s.String())), holdHint)
	case x.size > 1000 || x.size < 1e-6:
		return x.x, s.Error("a hold beyond all measure", holdHint)
	}
	return x.x, nil
}
