package lay

import (
	"math"
	"slices"

	"rollwright/paper/instrument"
	"rollwright/paper/roll"
)

// track is level ports that are set together: those of one half, or, where some
// serve the whole compass, all. What they say is a state: bit i is the i-th
// port, open or shut.
type track struct {
	ports  []int32
	levels [3][]int // of each half that hears the track: the level of each state; nil: it does not
	sec    []float64
	at     [][2]instant // what begins then, bass and treble; notes 0: nothing
}

// newTracks divides the level ports into tracks.
func newTracks(in *instrument.Instrument) []track {
	var of [3][]int32
	for i, p := range in.Bar.Ports {
		if p.Role == instrument.Level {
			of[p.Half] = append(of[p.Half], int32(i))
		}
	}
	both := []instrument.Half{instrument.Bass, instrument.Treble}
	if len(of[instrument.BothHalves]) > 0 {
		all := slices.Concat(of[0], of[1], of[2])
		slices.Sort(all)
		return []track{newTrack(in, all, both)}
	}
	var tracks []track
	for _, half := range both {
		if len(of[half]) > 0 {
			tracks = append(tracks, newTrack(in, of[half], []instrument.Half{half}))
		}
	}
	return tracks
}

func newTrack(in *instrument.Instrument, ports []int32, halves []instrument.Half) track {
	t := track{ports: ports}
	for _, half := range halves {
		t.levels[half] = make([]int, 1<<len(ports))
		for state := range t.levels[half] {
			number := 0
			for bit, port := range ports {
				p := in.Bar.Ports[port]
				if state>>bit&1 == 1 && (p.Half == instrument.BothHalves || p.Half == half) {
					number += p.Weight
				}
			}
			t.levels[half][state] = in.Levels.Steps[min(number, len(in.Levels.Steps)-1)]
		}
	}
	return t
}

// collect puts the instants of the halves that hear the track in one order.
func (t *track) collect(halves [3][]instant) {
	var lists [2][]instant
	for i, half := range []instrument.Half{instrument.Bass, instrument.Treble} {
		if t.levels[half] != nil {
			lists[i] = halves[half]
		}
	}
	for len(lists[0]) > 0 || len(lists[1]) > 0 {
		sec := math.Inf(1)
		for _, list := range lists {
			if len(list) > 0 {
				sec = min(sec, list[0].sec)
			}
		}
		var both [2]instant
		for i := range lists {
			if len(lists[i]) > 0 && lists[i][0].sec-sec <= togetherSec {
				both[i], lists[i] = lists[i][0], lists[i][1:]
			}
		}
		t.sec, t.at = append(t.sec, sec), append(t.at, both)
	}
}

// apart is how far the notes of instant i are off in a state.
func (t *track) apart(i, state int) float64 {
	sum := 0.0
	for k, half := range []instrument.Half{instrument.Bass, instrument.Treble} {
		if one := &t.at[i][k]; one.notes > 0 {
			sum += one.apart(t.levels[half][state])
		}
	}
	return sum
}

// changeCost is what a change of state costs beside squares of levels: less
// than any of them, so that ports rest where it makes no difference.
const changeCost = 1.0 / 1024

// choose finds the states, one an instant, that are closest to what is written,
// of all that the ports can do: a change comes lead before its instant, after
// the instant before, and no sooner after the last change than a port opens and
// shuts. For each instant before which a change may come, the best of what can
// stand before is kept (the cost of a stretch in one state is the difference of
// two running sums), so the work grows with instants times states.
func (t *track) choose(l *layer) []int {
	n, states := len(t.sec), 1<<len(t.ports)
	c := l.timing()
	rest := max(c.punch, c.gap) + c.row
	sums := make([]float64, states) // cost of all instants before i in each state
	open := make([]float64, states) // the best beginning of a stretch in each state, less that sum there
	begin := make([]int32, states)
	from, last := make([]int32, n+1), make([]int16, n+1)
	var waiting []change
	for i := 0; i <= n; i++ {
		if i == 0 || i == n || t.sec[i]-t.sec[i-1] > c.lead+c.row {
			sec := math.Inf(1)
			if i < n {
				sec = t.sec[i] - c.lead
			}
			for len(waiting) > 0 && waiting[0].sec+rest <= sec {
				waiting[0].join(open, begin)
				waiting = waiting[1:]
			}
			best := 0.0
			if i > 0 {
				best = math.Inf(1)
				for s := range states {
					if cost := sums[s] + open[s]; cost < best {
						best, from[i], last[i] = cost, begin[s], int16(s)
					}
				}
			}
			waiting = t.mark(waiting, i, sec, best, sums, open)
		}
		if i < n {
			for s := range states {
				sums[s] += t.apart(i, s)
			}
		}
	}
	return t.trace(from, last)
}

// change is an instant before which the state may change.
type change struct {
	at   int32
	sec  float64
	less []float64 // of each state: the best cost before it, less the sum there
}

// mark remembers a place for a change. At the beginning of the roll all ports
// are shut already, and nothing keeps that state waiting.
func (t *track) mark(waiting []change, i int, sec, best float64, sums, open []float64) []change {
	less := make([]float64, len(sums))
	for s := range less {
		less[s] = best + changeCost - sums[s]
	}
	if i == 0 {
		for s := range open {
			open[s] = math.Inf(1)
		}
		open[0] = less[0]
	}
	return append(waiting, change{int32(i), sec, less})
}

// join makes the change a beginning where it is better than what there is.
func (c *change) join(open []float64, begin []int32) {
	for s, cost := range c.less {
		if cost < open[s] {
			open[s], begin[s] = cost, c.at
		}
	}
}

// trace walks back through the best choices.
func (t *track) trace(from []int32, last []int16) []int {
	out := make([]int, len(t.sec))
	for i := len(t.sec); i > 0; {
		begin := int(from[i])
		for k := begin; k < i; k++ {
			out[k] = int(last[i])
		}
		i = begin
	}
	return out
}

// strike opens and shuts the ports so that they say states, and shuts all after
// the last note.
func (t *track) strike(l *layer, states []int) {
	since := make([]float64, len(t.ports))
	cause := make([]roll.Cause, len(t.ports))
	was := 0
	set := func(state int, sec float64, why roll.Cause) {
		for bit, port := range t.ports {
			switch open, want := was>>bit&1 == 1, state>>bit&1 == 1; {
			case want && !open:
				since[bit], cause[bit] = sec, why
			case open && !want:
				l.strike(stroke{since[bit], sec, port, cause[bit]})
			}
		}
		was = state
	}
	levels := &l.in.Levels
	for i, state := range states {
		if state != was {
			set(state, t.sec[i]-levels.AccentLeadSec, t.loudest(i))
		}
	}
	set(0, l.roll.EndSec+levels.AccentCloseSec, roll.Cause{})
}

// loudest is the cause of the loudest note that begins at instant i.
func (t *track) loudest(i int) roll.Cause {
	bass, treble := &t.at[i][0], &t.at[i][1]
	if treble.notes > 0 && (bass.notes == 0 || treble.cause.Level > bass.cause.Level) {
		return treble.cause
	}
	return bass.cause
}
