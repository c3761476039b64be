package perform

import (
	"fmt"

	"rollwright/exact"
	"rollwright/music/piece"
	"rollwright/text/source"
)

// findSpeed finds a voice's speed and with it how its units become seconds.
func (r *resolver) findSpeed(l *Line) bool {
	speed := r.speedOf(l.voice)
	path, err := newPath(l.voice, speed)
	if err != nil {
		return r.voiceComplaint(l, "tempo_path", err.Error(), "")
	}
	l.Path, l.Speed, l.SpeedExact = path, speed, true
	factor, isExact, ok := r.factor(l)
	if !ok {
		return false
	}
	if factor.Equal(exact.Real{}) != exact.Yes {
		l.Path, l.Speed, l.SpeedExact = path.Faster(factor), l.Speed.Mul(factor), isExact
	}
	l.clock = newVoiceClock(l.voice, l.Path)
	rough, durations := r.roughly(l.voice)
	l.Rough, l.SpeedExact = rough || durations, l.SpeedExact && !rough
	if unit := l.Path.Tempo(0); !(unit > 1e-9 && unit < 1e15) {
		return r.voiceComplaint(l, "speed", fmt.Sprintf("%q would play at %.3g quarter notes a minute", l.voice.Name, unit),
			"check speed, tempo and lasts")
	}
	return true
}

// speedOf is a voice's speed, that of its section included.
func (r *resolver) speedOf(v *piece.Voice) exact.Real {
	return v.Speed.Mul(r.sectionSpeed(v.Section))
}

func (r *resolver) sectionSpeed(section int) exact.Real {
	if section < 0 {
		return exact.Real{}
	}
	return r.piece.Sections[section].Speed
}

// slower is by how much a section's speed makes its times longer.
func (r *resolver) slower(section int) float64 { return 1 / r.sectionSpeed(section).Float64() }

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
	return r.fit(have, v.Lasts, v.Section, v.Places, v.Name)
}

// durationWithout is how long a voice lasts without lasts.
func (r *resolver) durationWithout(l *Line) (amount, bool) {
	if !r.need(node{lengthOf, l.Voice}) {
		return amount{}, false
	}
	path, err := newPath(l.voice, r.speedOf(l.voice))
	if err != nil {
		return amount{}, false // findSpeed says so
	}
	c := newVoiceClock(l.voice, path)
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
	state.factor, state.factorExact, ok = r.fit(have, c.Lasts, c.Section, c.Places, c.Name)
	return ok
}

// fit is the factor that makes a duration what is asked for.
func (r *resolver) fit(have amount, wanted piece.Lasts, section int, places piece.Places, name string) (exact.Real,
	bool, bool) {
	want := r.time(section, wanted.Sec, exact.Rat{})
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
