package find

import (
	"fmt"
	"math"
	"slices"
)

// damages is how the notes of a kind are spoiled.
type damages struct {
	jitter  float64
	rows    bool
	damaged bool
	unnamed bool
}

// kinds are the designs that are planted, by name.
var kinds = map[string]func(g *plant, d damages) planted{
	"series":     func(g *plant, d damages) planted { return g.series(d, 1, 0, Constant, false) },
	"chords":     func(g *plant, d damages) planted { return g.series(d, 1, 0, Constant, true) },
	"transposed": func(g *plant, d damages) planted { return g.series(d, 1, g.between(1, 3), Constant, false) },
	"stretched":  func(g *plant, d damages) planted { return g.series(d, 2, 0, Constant, false) },
	"geometric":  func(g *plant, d damages) planted { return g.series(d, 1, 0, Geometric, false) },
	"per-unit":   func(g *plant, d damages) planted { return g.series(d, 1, 0, PerUnit, false) },
	"per-second": func(g *plant, d damages) planted { return g.series(d, 1, 0, PerSecond, false) },
	"canon":      func(g *plant, d damages) planted { return g.canon(d, 2, false, false, true) },
	"inverted":   func(g *plant, d damages) planted { return g.canon(d, 2, true, false, true) },
	"backward":   func(g *plant, d damages) planted { return g.canon(d, 2, false, true, true) },
	"three":      func(g *plant, d damages) planted { return g.canon(d, 3, false, false, true) },
	"freely":     func(g *plant, d damages) planted { return g.canon(d, 2, false, false, false) },
	"both":       (*plant).bothMove,
	"half":       (*plant).half,
	"unnamed two": func(g *plant, d damages) planted {
		d.unnamed = true
		return g.canon(d, 2, false, false, true)
	},
	"unnamed three": func(g *plant, d damages) planted {
		d.unnamed = true
		return g.canon(d, 3, false, false, true)
	},
	"unnamed inverted": func(g *plant, d damages) planted {
		d.unnamed = true
		return g.canon(d, 2, true, false, true)
	},
	"unnamed apart": func(g *plant, d damages) planted {
		d.unnamed = true
		return g.series(d, 1, 0, Constant, false)
	},
	"unnamed chords": func(g *plant, d damages) planted {
		d.unnamed = true
		return g.series(d, 1, 0, Constant, true)
	},
	"unnamed stretched": func(g *plant, d damages) planted {
		d.unnamed = true
		return g.series(d, 2, 0, Constant, false)
	},
	"unnamed moving": func(g *plant, d damages) planted {
		d.unnamed = true
		return g.series(d, 1, 0, []Shape{Geometric, PerUnit, PerSecond}[g.r.IntN(3)], false)
	},
	// In ranges of their own: lines backward, or with tempos that move each in its
	// way, are not parted where they cross.
	"unnamed backward": func(g *plant, d damages) planted {
		d.unnamed, g.apart = true, true
		return g.canon(d, 2, false, true, true)
	},
	"unnamed both": func(g *plant, d damages) planted {
		d.unnamed, g.apart = true, true
		return g.bothMove(d)
	},
}

// series is two voices, each with a talea and a color of its own.
func (g *plant) series(d damages, stretching float64, transpose int, shape Shape, chords bool) planted {
	for i, name := range []string{"low", "high"} {
		centre := 45 + 24*i
		if chords && d.unnamed {
			centre = 42 + 33*i // a chord reaches 9 keys higher, and ranges are what parts the voices
		}
		talea := g.talea(g.between(4, 13))
		color := g.color(g.between(5, 14), centre, 9)
		if chords {
			k := g.r.IntN(len(color))
			color[k] = append(color[k], color[k][0]+g.between(3, 5), color[k][0]+g.between(7, 9))
		}
		notes := max(4*max(len(talea), len(color)), g.between(60, 120))
		stretch, text := 1.0, "1"
		if stretching != 1 {
			all := []string{"3/4", "4/5", "9/10", "5/4", "6/5", "2/3"}
			text = all[g.r.IntN(len(all))]
			var n, m float64
			fmt.Sscanf(text, "%g/%g", &n, &m)
			stretch = n / m
			talea = g.talea(g.between(5, 9))
			notes = len(talea) * g.between(5, 7)
			color = g.color(g.between(4, 8), centre, 9)
		}
		if transpose != 0 {
			notes = min(notes, len(color)*(24/abs(transpose)))
			notes = max(notes, 3*len(talea))
		}
		unit := 0.1 + 0.02*float64(g.between(0, 10))
		if stretch < 1 {
			unit = 1.0
		}
		l := g.line(talea, color, notes, stretch, transpose)
		seconds, ratio := same, 1.0
		if shape != Constant {
			ratio = 1.5 + 2.5*g.r.Float64()
			if g.r.IntN(2) == 0 {
				ratio = 1 / ratio
			} else {
				unit *= 2
			}
			ratio = math.Round(ratio*1e6) / 1e6
			seconds = path(shape, l.total, ratio)
		}
		start := 0.5 + 3*g.r.Float64()
		g.sound(name, l, unit, start, 0.8, seconds)
		g.p.voices = append(g.p.voices, plantedVoice{name: name, talea: talea, color: color, unit: unit, shape: shape,
			ratio:   ratio,
			stretch: text, transpose: transpose, notes: notes})
	}
	return g.finish(d.jitter, d.rows, d.damaged, !d.unnamed)
}

// speeds that canons have, as they would be written.
var speeds = []string{"sqrt(2)", "4/3", "3/2", "phi", "5/3", "sqrt(3)", "e/2", "pi/2", "7/5", "21/20", "cbrt(2)", "5/4",
	"6/5"}

// canon is a line in several voices that meet once. Without series the line
// never comes back.
func (g *plant) canon(d damages, voices int, inverted, backward, series bool) planted {
	talea, color := g.talea(g.between(6, 12)), g.color(g.between(5, 13), 50, 9)
	for len(talea)*len(color)/int(gcd(int64(len(talea)), int64(len(color)))) < 40 {
		color = g.color(len(color)+1, 50, 9) // a line that comes back as a whole would have many places
	}
	notes := g.between(70, 130)
	notes = min(notes, len(talea)*len(color)/int(gcd(int64(len(talea)), int64(len(color)))))
	if !series {
		notes = g.between(50, 90)
		talea, color = g.talea(notes), g.color(notes, 50, 9)
	}
	l := g.line(talea, color, notes, 1, 0)
	unit := 0.12 + 0.02*float64(g.between(0, 9))
	meet := l.total * (0.3 + 0.6*g.r.Float64())
	chosen := g.r.Perm(len(speeds))[:voices-1]
	start, at := 1.0, 1.0+meet*unit
	names := []string{"slow", "quick", "third"}
	type one struct {
		speed float64
		text  string
		shift int
	}
	all := []one{{1, "1", 0}}
	for _, c := range chosen {
		all = append(all, one{mustReal(speeds[c]), speeds[c], g.shift(-5, 19)})
	}
	for i, v := range all {
		own := plantedLine{keys: slices.Clone(l.keys), units: l.units, total: l.total}
		turned := i == 1 && backward
		if turned {
			own = reversed(l)
		}
		for k := range own.keys {
			key := own.keys[k][0]
			if i == 1 && inverted {
				key = 100 - key
			}
			own.keys[k] = []int{key + v.shift}
		}
		begin := start
		if i > 0 {
			begin = at - meet*unit/v.speed
			if turned {
				begin = start + 2 + 3*g.r.Float64()
			}
		}
		g.sound(names[i], own, unit/v.speed, begin, 0.9, same)
		pv := plantedVoice{name: names[i], unit: unit / v.speed, shape: Constant, ratio: 1, stretch: "1", notes: notes}
		if series {
			pv.talea, pv.color = talea, color
			if i > 0 {
				pv.color, pv.talea = own.keys[:len(color)], slices.Clone(talea)
			}
			if turned {
				pv.talea = nil
				for k := range len(talea) {
					pv.talea = append(pv.talea, talea[(notes-1-k)%len(talea)])
				}
			}
		}
		g.p.voices = append(g.p.voices, pv)
		if i == 0 {
			continue
		}
		c := plantedCanon{leader: names[0], follower: names[i], speed: v.speed, near: v.text, transpose: v.shift,
			inverted: i == 1 && inverted, backward: turned, meet: at}
		if c.inverted {
			c.transpose = 100 - 2*l.keys[0][0] + v.shift
		}
		if turned {
			c.meet = math.NaN()
		}
		g.p.canons = append(g.p.canons, c)
	}
	return g.finish(d.jitter, d.rows, d.damaged, !d.unnamed)
}

// reversed is a line from its last note to its first, each with its duration.
func reversed(l plantedLine) plantedLine {
	out := plantedLine{total: l.total}
	n := len(l.units)
	for i := n - 1; i >= 0; i-- {
		end := l.total
		if i+1 < n {
			end = l.units[i+1]
		}
		out.units = append(out.units, l.total-end)
		out.keys = append(out.keys, l.keys[i])
	}
	return out
}

// bothMove is a canon of two voices that both get faster, and meet.
func (g *plant) bothMove(d damages) planted {
	talea, color := g.talea(g.between(6, 11)), g.color(g.between(5, 13), 45, 9)
	if gcd(int64(len(talea)), int64(len(color))) > 1 {
		return g.bothMove(d)
	}
	notes := min(g.between(80, 130), len(talea)*len(color))
	l := g.line(talea, color, notes, 1, 0)
	all := []Shape{Geometric, PerUnit, PerSecond}
	shape := all[g.r.IntN(3)]
	shift := g.shift(3, 24)
	r1, r2 := 1.5+0.5*g.r.Float64(), 2.5+g.r.Float64()
	r1, r2 = math.Round(r1*1e6)/1e6, math.Round(r2*1e6)/1e6
	u1, u2 := 0.3, 0.42
	s1, s2 := path(shape, l.total, r1), path(shape, l.total, r2)
	meet := math.Round(l.total * (0.5 + 0.4*g.r.Float64()))
	a1, a2 := s1(meet)*u1, s2(meet)*u2
	for x := 0.0; x < l.total; x++ { // two voices that both get faster may meet twice: not here
		if math.Abs(x-meet) > 2 && (s1(x)*u1-a1-s2(x)*u2+a2)*(s1(x+1)*u1-a1-s2(x+1)*u2+a2) <= 0 {
			return g.bothMove(d)
		}
	}
	const h = 1e-3
	v1, v2 := (s1(meet+h)-s1(meet-h))*u1, (s2(meet+h)-s2(meet-h))*u2
	speed := v1 / v2
	if math.Abs(speed-1) < 0.03 { // where they are equally fast they touch, and no onset tells where
		return g.bothMove(d)
	}
	start1, start2 := 1.0, 1+a1-a2
	if start2 < 1 {
		start1, start2 = 1+a2-a1, 1
	}
	g.sound("one", l, u1, start1, 0.8, s1)
	up := plantedLine{units: l.units, total: l.total}
	for _, k := range l.keys {
		up.keys = append(up.keys, []int{k[0] + shift})
	}
	g.sound("two", up, u2, start2, 0.8, s2)
	c := plantedCanon{leader: "one", follower: "two", speed: speed, transpose: shift, meet: start1 + a1}
	if start2 < start1 {
		c.leader, c.follower, c.speed, c.transpose = "two", "one", 1/speed, -shift
	}
	g.p.canons = append(g.p.canons, c)
	g.p.voices = []plantedVoice{
		{name: "one", talea: talea, color: color, unit: u1, shape: shape, ratio: r1, stretch: "1", notes: notes},
		{name: "two", talea: talea, color: up.keys[:len(color)], unit: u2, shape: shape, ratio: r2, stretch: "1", notes: notes}}
	return g.finish(d.jitter, d.rows, d.damaged, !d.unnamed)
}

// half is a voice with a talea on pitches that never come back, and one with a
// color on durations that never do.
func (g *plant) half(d damages) planted {
	talea, color := g.talea(g.between(5, 11)), g.color(g.between(5, 12), 70, 9)
	notes := g.between(70, 110)
	a := g.line(talea, g.color(notes, 45, 9), notes, 1, 0)
	b := g.line(g.talea(notes), color, notes, 1, 0)
	g.sound("drum", a, 0.15, 1, 0.8, same)
	g.sound("bell", b, 0.17, 2, 0.8, same)
	g.p.voices = []plantedVoice{
		{name: "drum", talea: talea, unit: 0.15, shape: Constant, ratio: 1, stretch: "1", notes: notes},
		{name: "bell", color: color, unit: 0.17, shape: Constant, ratio: 1, stretch: "1", notes: notes}}
	return g.finish(d.jitter, d.rows, d.damaged, !d.unnamed)
}
