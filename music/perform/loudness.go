package perform

import (
	"math"

	"rollwright/music/piece"
)

// loudness is a loudness path, ready to be asked: straight lines of levels over seconds or
// units from where it begins.
type loudness struct {
	legs []loudLeg
	at   func(sec float64) (seconds, units float64) // from its beginning, of a time of the piece
}

// loudLeg is a leg with its places.
type loudLeg struct {
	from, to           float64 // levels
	start, end         float64 // seconds
	startUnit, endUnit float64
	inUnits            bool
}

// neutral is the level at which a path changes nothing (mf).
const neutral = 80

// newLoudness lays legs out. Seconds and Units turn a place of the path into the other.
func newLoudness(legs []piece.LoudLeg, seconds, units func(float64) float64, slower float64,
	at func(float64) (float64, float64)) loudness {
	p := loudness{at: at}
	level, sec, unit := float64(neutral), 0.0, 0.0
	for _, l := range legs {
		leg := loudLeg{from: level, start: sec, startUnit: unit, inUnits: l.OverUnits.Sign() > 0}
		if l.HasFrom {
			leg.from = float64(l.From)
		}
		if leg.to = leg.from; l.HasTo {
			leg.to = float64(l.To)
		}
		if leg.inUnits {
			leg.endUnit = unit + l.OverUnits.Float64()
			leg.end = seconds(leg.endUnit)
		} else {
			leg.end = sec + l.OverSec.Float64()*slower
			leg.endUnit = units(leg.end)
		}
		level, sec, unit = leg.to, leg.end, leg.endUnit
		p.legs = append(p.legs, leg)
	}
	return p
}

// sameInstant is what onsets may be off by rounding and still stand where a leg begins.
const sameInstant = 1e-9

// level is the path at a time of the piece: before its beginning its first level, after
// its legs the last.
func (p *loudness) level(sec float64) float64 {
	t, unit := p.at(sec)
	if t <= 0 {
		return p.legs[0].from
	}
	for i := range p.legs {
		if l := &p.legs[i]; t < l.end-sameInstant {
			share := (t - l.start) / (l.end - l.start)
			if l.inUnits {
				share = (unit - l.startUnit) / (l.endUnit - l.startUnit)
			}
			return l.from + float64((l.to-l.from)*min(max(share, 0), 1))
		}
	}
	return p.legs[len(p.legs)-1].to
}

// levelAt is the level of a stroke that begins at a time of the piece: what all loudness
// paths add to it, rounded half up once, held to 1..127. A billionth is no difference.
func (l *Line) levelAt(level int, sec float64) int16 {
	if len(l.loudness) == 0 {
		return asPlayed(level)
	}
	sum := 0.0
	for i := range l.loudness {
		sum += l.loudness[i].level(sec) - neutral
	}
	return asPlayed(level + int(math.Floor(sum+0.5+1e-9)))
}

// findLoudness gives a line the paths of its own, of its section and of the piece.
func (r *resolver) findLoudness(l *Line) {
	l.loudness = nil
	section := l.voice.Section
	if legs := l.voice.Loudness; len(legs) > 0 {
		l.loudness = append(l.loudness, newLoudness(legs, l.Path.Seconds, l.Path.Units, r.slower(section),
			func(sec float64) (float64, float64) {
				t := l.frame.own(sec) - l.start.hi
				if !l.Bent() {
					t = sec - l.StartSec
				}
				return t, l.Path.Units(t)
			}))
	}
	perUnit := r.unit.Float64()
	seconds := func(units float64) float64 { return units * perUnit }
	units := func(sec float64) float64 { return sec / perUnit }
	if section >= 0 && len(r.piece.Sections[section].Loudness) > 0 {
		begin := r.sections[section].float64()
		slower := r.slower(section)
		inside := func(units float64) float64 { return units * perUnit * slower }
		l.loudness = append(l.loudness, newLoudness(r.piece.Sections[section].Loudness, inside,
			func(sec float64) float64 { return units(sec / slower) }, slower,
			func(sec float64) (float64, float64) {
				t := l.frame.own(sec)
				if l.frame.inside == nil {
					t -= begin
				}
				return t, units(t / slower)
			}))
	}
	if len(r.piece.Loudness) > 0 {
		l.loudness = append(l.loudness, newLoudness(r.piece.Loudness, seconds, units, 1,
			func(sec float64) (float64, float64) {
				t := l.frame.nominal(sec)
				return t, units(t)
			}))
	}
}
