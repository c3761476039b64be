package plan

import (
	"fmt"
	"math"
	"reflect"
	"slices"
	"strings"

	"rollwright/exact"
	"rollwright/music/piece"
)

// SamePlace is an instant, or a stretch of time, at which two voices that play one tune
// stand at the same place of it; right to a millionth of a second.
type SamePlace struct {
	From Seconds `json:"from_s"`
	To   Seconds `json:"to_s"`  // equal to From for an instant
	Unit float64 `json:"unit"`  // of the tune, from its start, at From
	Meet bool    `json:"point"` // the meeting point of their canon: by construction
}

// samePlaces finds when two voices stand at one place of their tune, while both play; none
// where they play different ones.
//
// Between the boundaries of legs the distance of the two is smooth; it is looked at in a
// fixed number of places there, a change of sign is closed in on by halving and a distance
// that only touches 0 by narrowing down where it is least.
func samePlaces(a, b *part, canon *piece.Canon) []SamePlace {
	if !oneTune(a.voice, b.voice) {
		return nil
	}
	length := min(a.line.Length, b.line.Length)
	d := distanceInTune{a, b, length}
	var out []SamePlace
	for _, p := range apartFromStart(d.zeros()) {
		at := SamePlace{From: Seconds(sixDigits(a.line.SecondsAt(p[0]))), To: Seconds(sixDigits(a.line.SecondsAt(p[1]))),
			Unit: sixDigits(p[0])}
		if p[0] == p[1] {
			at.To = at.From
		}
		out = append(out, at)
	}
	return withPoint(out, a, canon)
}

// withPoint marks the meeting point of a canon among the places. It is there by
// construction, also where only its neighbourhood was found.
func withPoint(places []SamePlace, a *part, canon *piece.Canon) []SamePlace {
	if canon == nil {
		return places
	}
	m, ok := a.point(canon.Meet)
	if !ok {
		return places
	}
	for i := range places {
		if float64(places[i].From) <= m.sec+samePoint && float64(places[i].To) >= m.sec-samePoint {
			places[i].Meet = true
			return places
		}
	}
	return places
}

// samePoint is how far from a meeting point a place may be found that is it.
const samePoint = 2e-6

// oneTune reports whether two voices play the same durations in the same units, and pitches
// that are moved from the same.
func oneTune(a, b *piece.Voice) bool {
	if a.Canon >= 0 && a.Canon == b.Canon && len(a.Talea) == len(b.Talea) && same(a.Stretch, b.Stretch) {
		return a.Backward == b.Backward
	}
	return len(a.Talea) > 1 && len(a.Color) > 1 && a.Backward == b.Backward && a.RotateTalea == b.RotateTalea &&
		a.RotateColor == b.RotateColor && same(a.Stretch, b.Stretch) && same(a.EachNote, b.EachNote) &&
		slices.Equal(a.Talea, b.Talea) && slices.EqualFunc(a.Color, b.Color, sameMember) && sameStretches(a, b)
}

func sameMember(a, b piece.Pitch) bool { return slices.Equal(a.Keys, b.Keys) }

func sameStretches(a, b *piece.Voice) bool {
	one := func(x, y *piece.Change) bool {
		return slices.Equal(x.Rotate, y.Rotate) && x.RotateEach == y.RotateEach && slices.Equal(x.Backward, y.Backward) &&
			same(x.StretchEach, y.StretchEach) && reflect.DeepEqual(x.Stretch, y.Stretch)
	}
	return one(&a.PerTalea, &b.PerTalea) && one(&a.PerColor, &b.PerColor)
}

// distanceInTune is how much later one voice comes to a place than the other.
type distanceInTune struct {
	a, b   *part
	length float64 // units that both play
}

func (d *distanceInTune) at(units float64) float64 {
	return d.b.line.SecondsAt(units) - d.a.line.SecondsAt(units)
}

// edges are the places between which the distance is smooth, in units.
func (d *distanceInTune) edges() []float64 {
	out := []float64{0, d.length}
	for _, p := range []*part{d.a, d.b} {
		for _, sec := range p.edges() {
			if u := p.unitsAt(sec); u > 0 && u < d.length {
				out = append(out, u)
			}
		}
	}
	slices.Sort(out)
	return slices.CompactFunc(out, func(x, y float64) bool { return math.Abs(y-x) < 1e-9*max(1, d.length) })
}

// zeroSec is what a distance may be and count as none.
const zeroSec = 5e-9

// zeros are the stretches of places at which the distance is 0, each from and to.
func (d *distanceInTune) zeros() [][2]float64 {
	type look struct{ units, sec float64 }
	var all []look
	steps := legSamples
	if d.a.steady() && d.b.steady() {
		steps = 1
	}
	edges := d.edges()
	for i, u := range edges {
		if i > 0 {
			for k := 1; k < steps; k++ {
				v := edges[i-1] + (u-edges[i-1])*float64(k)/float64(steps)
				all = append(all, look{v, d.at(v)})
			}
		}
		all = append(all, look{u, d.at(u)})
	}
	var out [][2]float64
	zero := func(x look) bool { return math.Abs(x.sec) <= zeroSec }
	for i := 0; i < len(all); i++ {
		switch {
		case zero(all[i]):
			last := i
			for last+1 < len(all) && zero(all[last+1]) {
				last++
			}
			out = append(out, [2]float64{all[i].units, all[last].units})
			i = last
		case i+1 < len(all) && !zero(all[i+1]) && (all[i].sec < 0) != (all[i+1].sec < 0):
			u := d.close(all[i].units, all[i+1].units)
			out = append(out, [2]float64{u, u})
		case i > 0 && i+1 < len(all) && (all[i-1].sec < 0) == (all[i].sec < 0) && (all[i].sec < 0) == (all[i+1].sec < 0) &&
			math.Abs(all[i].sec) <= min(math.Abs(all[i-1].sec), math.Abs(all[i+1].sec)):
			if u := d.least(all[i-1].units, all[i+1].units); math.Abs(d.at(u)) <= zeroSec {
				out = append(out, [2]float64{u, u})
			}
		}
	}
	return out
}

// close halves an interval in which the distance changes its sign.
func (d *distanceInTune) close(from, to float64) float64 {
	negative := d.at(from) < 0
	for range 60 {
		middle := from + (to-from)/2
		if (d.at(middle) < 0) == negative {
			from = middle
		} else {
			to = middle
		}
	}
	return from + (to-from)/2
}

// least is where between two places the distance is smallest, by thirds.
func (d *distanceInTune) least(from, to float64) float64 {
	for range 80 {
		x, y := from+(to-from)/3, to-(to-from)/3
		if math.Abs(d.at(x)) < math.Abs(d.at(y)) {
			to = y
		} else {
			from = x
		}
	}
	return from + (to-from)/2
}

// apartFromStart leaves out that two voices begin together: no one wonders at that.
func apartFromStart(zeros [][2]float64) [][2]float64 {
	return slices.DeleteFunc(zeros, func(z [2]float64) bool { return z[0] == 0 && z[1] == 0 })
}

// surprising reports whether two voices stand at one place of their tune at another time
// than at the meeting point of their canon, and not because they go together from the start.
func surprising(places []SamePlace) bool {
	return slices.ContainsFunc(places, func(p SamePlace) bool { return !p.Meet && p.Unit > 0 })
}

// crossingRows say when voices stand at one place of their tune, pairs that do so at the same
// instants together.
func (p *Plan) crossingRows() []Row {
	var rows []Row
	pairs := map[string][]string{}
	for i := range p.Pairs {
		q := &p.Pairs[i]
		if !surprising(q.SamePlaces) {
			continue
		}
		what := placesText(q.SamePlaces, mostPlaces)
		if pairs[what] == nil {
			rows = append(rows, Row{What: what})
		}
		pairs[what] = append(pairs[what], q.A+" and "+q.B)
	}
	for i := range rows {
		rows[i].Who = namesText(pairs[rows[i].What])
	}
	return rows
}

// samePlace says when two voices stand at one place of their tune.
func (t *text) samePlace(p *Pair) {
	if !surprising(p.SamePlaces) {
		return
	}
	t.item("one place", "%s", placesText(p.SamePlaces, t.few(len(p.SamePlaces), mostPlaces)))
}

// mostPlaces is how many places are named unless all are asked for.
const mostPlaces = 8

func placesText(places []SamePlace, most int) string {
	var said []string
	for _, p := range places[:min(most, len(places))] {
		text := fmt.Sprintf("at %s (unit %s)", clockTime(float64(p.From)), decimal(p.Unit, 6))
		if p.To > p.From {
			text = fmt.Sprintf("from %s to %s, from unit %s on", clockTime(float64(p.From)), clockTime(float64(p.To)),
				decimal(p.Unit, 6))
		}
		if p.Meet {
			text += ", the meeting point"
		}
		said = append(said, text)
	}
	if rest := len(places) - len(said); rest > 0 {
		said = append(said, fmt.Sprintf("and %d times more", rest))
	}
	return "at one place of the tune " + strings.Join(said, "; ")
}

// declared says what of two voices falls together because the piece says that it shall,
// where that is not proved from numbers; empty: nothing does.
func declared(p *piece.Piece, a, b *part) string {
	if c := a.voice.Canon; c >= 0 && c == b.voice.Canon && !p.Canons[c].Crosses() && inTime(a.voice) && inTime(b.voice) {
		return fmt.Sprintf("; %s of each falls at one instant by construction: canon %s meets there", pointText(p.Canons[c].Meet),
			p.Canons[c].Name)
	}
	for _, x := range [2][2]*part{{a, b}, {b, a}} {
		mine, theirs := x[0], x[1]
		place := mine.voice.Place
		if place.Kind == piece.MeetWith && place.Ref.Voice == theirs.line.Voice && inTime(mine.voice) {
			return fmt.Sprintf("; %s of %s falls on %s of %s by construction: it is put there", pointText(place.Mine), mine.name,
				pointText(place.Theirs), theirs.name)
		}
	}
	return ""
}

// laterBy says by how much a voice comes later, or earlier, than it would meet; empty: not at
// all.
func laterBy(p *piece.Place) string {
	var out []string
	for _, by := range []struct {
		amount exact.Rat
		unit   string
	}{{p.LaterSec, "s"}, {p.LaterUnits, "units"}} {
		switch by.amount.Sign() {
		case 1:
			out = append(out, by.amount.String()+" "+by.unit+" later")
		case -1:
			out = append(out, strings.TrimPrefix(by.amount.String(), "-")+" "+by.unit+" earlier")
		}
	}
	return strings.Join(out, " and ")
}

// meetsAt says which point of a canon's voices falls when.
func (c *Canon) meetsAt() string {
	text := fmt.Sprintf("%s of each falls at %s", c.Meet, instant(c.At)+nominalText(c.Nominal))
	if len(c.Later) > 0 {
		text += "; but " + strings.Join(c.Later, ", ")
	}
	return text
}

func (c *Canon) briefMeet() string {
	text := fmt.Sprintf("%s of each, at %s", c.Meet, instant(c.At))
	if len(c.Later) > 0 {
		text += "; but " + strings.Join(c.Later, ", ")
	}
	return text
}

// inTime reports whether a voice is neither later nor earlier than what it meets.
func inTime(v *piece.Voice) bool {
	return v.Place.LaterSec == (exact.Rat{}) && v.Place.LaterUnits == (exact.Rat{})
}
