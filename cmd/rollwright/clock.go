package main

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"rollwright/text/say"
)

// clock is a time in seconds, written 12.5, 12.5s, 90ms or 1:20.5.
type clock float64

// UnmarshalText reads a time as a person writes it.
func (c *clock) UnmarshalText(text []byte) error {
	s := strings.TrimSpace(string(text))
	minutes, rest, colon := strings.Cut(s, ":")
	if !colon {
		minutes, rest = "0", s
	}
	scale := 1.0
	if short, ok := strings.CutSuffix(rest, "ms"); ok {
		rest, scale = short, 1e-3
	} else {
		rest = strings.TrimSuffix(rest, "s")
	}
	m, errM := strconv.ParseUint(minutes, 10, 16)
	sec, errS := strconv.ParseFloat(strings.TrimSpace(rest), 64)
	if errM != nil || errS != nil || !(sec >= 0 && sec < 1e6) || colon && sec >= 60 {
		if point := strings.Replace(s, ",", ".", 1); point != s && c.UnmarshalText([]byte(point)) == nil {
			return fmt.Errorf("%q has a comma: write %s", s, point)
		}
		return fmt.Errorf("%q is no time; write seconds, 12.5, or minutes and seconds, 1:20", s)
	}
	*c = clock(float64(m)*60 + sec*scale)
	return nil
}

// String is the time to the millisecond, from a minute on to the tenth of a second.
func (c clock) String() string {
	if ms := math.Round(float64(c) * 1000); ms < 60000 {
		return strconv.FormatFloat(ms/1000, 'f', -1, 64) + " s"
	}
	return say.Clock(float64(c), 1)
}

// A place is a time, or a note whose time the piece knows.
type place struct {
	clock clock
	note  int // 0: none
	voice string
}

// UnmarshalText reads a time, or "note 80 of low".
func (p *place) UnmarshalText(text []byte) error {
	rest, isNote := strings.CutPrefix(strings.TrimSpace(string(text)), "note ")
	if !isNote {
		return p.clock.UnmarshalText(text)
	}
	number, voice, of := strings.Cut(strings.TrimSpace(rest), " of ")
	n, err := strconv.Atoi(number)
	if voice = strings.TrimSpace(voice); !of || err != nil || n < 1 || voice == "" {
		return fmt.Errorf("%q is no note; write the number of a note and its voice, note 80 of low", string(text))
	}
	*p = place{note: n, voice: voice}
	return nil
}
