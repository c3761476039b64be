package piecefile

import (
	"fmt"
	"strings"

	"rollwright/exact"
	"rollwright/text/blocks"
	"rollwright/text/say"
)

func (r *reader) canon(b *blocks.Block, section int, voices *int) {
	c := &canon{block: b, section: section, index: len(r.canons)}
	c.name = r.copyName(r.name(b, "canon", `canon "four" {`))
	c.copy = r.copying
	r.canons = append(r.canons, c)
	r.define(b, c.name, &named{canon: c})
	known := append(voiceWords(aStart, aMeet, aLater), "subject", "meet", "at", "speeds", "voice {", "cross {")
	r.unknown(b.Body, known, "a canon")
	r.readingCanon = c
	defer func() { r.readingCanon = nil }()
	c.own = r.read(b.Body, aStart, aMeet, aLasts, aLater)
	if a := b.Body.Get("lasts"); a != nil {
		c.lasts = &setting{at: a.At, value: a.Value, meaning: readLasts(r, a.Value)}
	}
	c.like, c.own[aLike] = c.own[aLike], nil
	r.canonWords(c)
	r.readCrosses(c)
	for i, inner := range b.Body.Of("voice") {
		if r.tooMany(inner) {
			break
		}
		if !r.leaves(inner) {
			r.voice(inner, c, section, voices)
			c.voices[len(c.voices)-1].nth = i
		}
	}
	if len(c.voices) == 0 && r.many == nil {
		r.add(b.Error("this canon has no voices", `write some in it: voice "I" {}`))
	}
	r.matchSpeeds(c)
}

// canonWords reads what a canon alone has.
func (r *reader) canonWords(c *canon) {
	body := c.block.Body
	if a := body.Get("subject"); a != nil {
		s, ok := r.written(a.Value)
		if c.unread = !ok; ok {
			c.subject = &s
		}
		if c.like != nil {
			r.add(c.like.Error("subject and like exclude each other",
				"both say what the voices of the canon play: delete one of the two"))
		}
	}
	if a := body.Get("meet"); a != nil {
		c.meet, _ = r.point(a.Value)
	}
	if a := body.Get("at"); a != nil {
		if at, ok := r.instant(a.Value); ok {
			c.at = &at
		}
	}
	if a := body.Get("speeds"); a != nil {
		c.speedAt = &setting{at: a.At, value: a.Value}
		c.speeds = r.proportion(a.Value)
	}
}

// proportion reads 4 : 5 : sqrt(31) : 6, or a list.
func (r *reader) proportion(v *blocks.Value) []exact.Real {
	if v = r.meantAs(v, asNumber); v == nil {
		return nil
	}
	list, err := v.List()
	if !r.add(err) {
		return nil
	}
	var out []exact.Real
	for _, member := range list {
		s, ok := r.written(member)
		if !ok {
			return nil
		}
		for i, text := 0, s.String(); i <= len(text); {
			end := len(text)
			if n := strings.IndexByte(text[i:], ':'); n >= 0 {
				end = i + n
			}
			x, ok := r.speed(s.part(i, end).inside().rest())
			if !ok {
				return nil
			}
			out = append(out, x)
			i = end + 1
		}
	}
	return out
}

func (r *reader) speed(s span) (exact.Real, bool) {
	x, err := r.exactReal(s)
	switch {
	case s.String() == "":
		err = s.Error("a speed is missing beside this colon", `a proportion has a number on each side of a colon: "4 : 5 : 6"`)
	case err != nil && strings.ContainsAny(s.String(), " ,"):
		err.Hint = `speeds are parted by colons: "4 : 5 : sqrt(31) : 6"`
	case err == nil && (x.size < leastFactor || x.size > mostFactor):
		err = s.Error(fmt.Sprintf("a speed beyond %s to %s", plain(leastFactor), plain(mostFactor)), "")
	}
	return x.x, r.add(err)
}

// matchSpeeds gives each voice of a canon its member of the proportion.
func (r *reader) matchSpeeds(c *canon) {
	if c.speeds == nil {
		return
	}
	if s := c.own[aSpeed]; s != nil {
		r.add(s.Error("speed and speeds exclude each other", "speeds has one for each voice: delete one of the two"))
	}
	if all := len(c.block.Body.Of("voice")); len(c.speeds) != all {
		r.add(c.speedAt.Error(fmt.Sprintf("the canon has %s and %s", say.Count(len(c.speeds), "speed"),
			say.Count(all, "voice")),
			"each voice has one speed, in the order of the voices"))
		return
	}
	for _, n := range c.voices {
		if s := n.own[aSpeed]; s != nil {
			r.add(s.Error("this voice has its speed from the canon already",
				fmt.Sprintf("line %d has speeds for all voices: delete one of the two", c.speedAt.at.Line)))
		}
		own := *c.speedAt
		own.meaning = c.speeds[n.nth]
		n.own[aSpeed] = &own
	}
}
