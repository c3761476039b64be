package perform

import (
	"fmt"

	"rollwright/exact"
	"rollwright/music/piece"
	"rollwright/text/source"
)

// findSpeed finds a voice's speed and with it how its units become seconds.
func (r *resolver) findSpeed(l *Line) bool {
	path, err := newPath(l.voice)
	if err != nil {
		return r.voiceComplaint(l, "tempo_path", err.Error(), "")
	}
	l.Path, l.Speed, l.SpeedExact = path, l.voice.Speed, true
	factor, isExact, ok := r.factor(l)
	if !ok {
		return false
	}
	if factor.Equal(exact.Real{}) != exact.Yes {
		l.Path, l.Speed, l.SpeedExact = path.Faster(factor), l.Speed.Mul(factor), isExact
	}
	l.clock = newClock(l.voice, l.Path)
	speed, durations := r.roughly(l.voice)
	l.Rough, l.SpeedExact = speed || durations, l.SpeedExact && !speed
	if unit := l.Path.Tempo(0); !(unit > 1e-9 && unit < 1e15) {
		return r.voiceComplaint(l, "speed", fmt.Sprintf("%q would play at %.3g quarter notes a minute", l.voice.Name, unit),
			"check speed, tempo and lasts")
	}
	return true
}

// factor is by how much lasts multiplies a voice's speed: that of its canon,
// if that says how long it lasts, else its own.
func (r *resolver) factor(l *Line) (factor exact.Real, isExact, ok bool) {
	v := l.voice
	if v.Canon >= 0 && r.piece.Canons[v.Canon].Lasts.Set {
		c := &r.canons[v.Canon]
		ok = r.need(node{factorOf, v.Canon})
		return c.factor, c.factorExact, ok
	}
	if !v.Lasts.Set {
		return exact.Real{}, true, true
	}
	have, ok := r.durationWithout(l)
	if !ok {
		return exact.Real{}, false, false
	}
	return r.fit(have, v.Lasts, v.Places, v.Name)
}

// durationWithout is how long a voice lasts without lasts.
func (r *resolver) durationWithout(l *Line) (amount, bool) {
	if !r.need(node{lengthOf, l.Voice}) {
		return amount{}, false
	}
	path, err := newPath(l.voice)
	if err != nil {
		return amount{}, false // findSpeed says so
	}
	c := newClock(l.voice, path)
	return c.of(l.length), true
}

// findFactor finds by how much a canon's lasts multiplies its speeds: what its
// longest voice asks for.
func (r *resolver) findFactor(canon int) bool {
	c := &r.piece.Canons[canon]
	have, ok := r.maximum(c.Voices, r.durationWithout)
	if !ok {
		return false
	}
	state := &r.canons[canon]
	state.factor, state.factorExact, ok = r.fit(have, c.Lasts, c.Places, c.Name)
	return ok
}

// fit is the factor that makes a duration what is asked for.
func (r *resolver) fit(have amount, wanted piece.Lasts, places piece.Places, name string) (exact.Real, bool, bool) {
	want := exactlyRat(wanted.Sec)
	if wanted.Sec.Sign() <= 0 {
		var ok bool
		if want, ok = r.longest(wanted.As); !ok {
			return exact.Real{}, false, false
		}
	}
	factor, isExact, ok := ratio(have, want)
	if !ok {
		r.errs = append(r.errs, &source.Error{File: r.piece.File, At: places.Of("lasts"),
			Problem: fmt.Sprintf("%q cannot be made to last that long: a length of nothing has no speed", name)})
	}
	return factor, isExact, ok
}
