package find

import (
	"math"
	"slices"
	"strconv"
	"strings"

	"rollwright/exact"
	"rollwright/text/draft"
	"rollwright/text/say"
)

// mate is a follower of a canon that plays the leader's series as they are.
type mate struct {
	voice     int
	speed     string // against the leader, exact if a simple number is near
	value     float64
	transpose int
	inverted  bool
	mirror    int // inverted: a key and its image add up to this
}

// canon writes the voices that play the series of voice i as they are: as a
// canon if they have one meeting point, else each like the first.
func (t *drafting) canon(i int) bool {
	var mates []mate
	for k := range t.d.Canons {
		c := &t.d.Canons[k]
		if c.Leader != i || slices.Contains(t.done, c.Follower) {
			continue
		}
		if m, ok := t.mate(c); ok {
			mates = append(mates, m)
		}
	}
	if len(mates) == 0 {
		return false
	}
	for _, m := range mates {
		t.strays(&t.d.Voices[m.voice])
		t.done = append(t.done, m.voice)
	}
	if unit, at, ok := t.meeting(i, mates); ok {
		t.meetingCanon(i, mates, unit, at)
		return true
	}
	v := &t.d.Voices[i]
	leader := t.name(v.Name)
	t.entries = append(t.entries, draft.Block("voice", leader, t.series(v)...).Above(t.about(v)))
	for _, m := range mates {
		t.likeVoice(leader, m)
	}
	return true
}

// mate says how a follower plays the leader's series, if it does so from their
// beginning, at a constant tempo.
func (t *drafting) mate(c *Canon) (mate, bool) {
	a, b := &t.d.Voices[c.Leader], &t.d.Voices[c.Follower]
	m := mate{voice: c.Follower, transpose: c.Transpose, inverted: c.Inverted}
	if c.Backward || c.Changes || !b.written() || a.moves() || b.moves() {
		return m, false
	}
	if !slices.Equal(a.clock.whole, b.clock.whole) || len(a.Color.Pitches) != len(b.Color.Pitches) {
		return m, false
	}
	want := a.Color.Transpose
	if c.Inverted {
		want = -want
	}
	if b.Color.Transpose != want {
		return m, false
	}
	m.mirror = a.Color.Pitches[0][0] + b.Color.Pitches[0][len(b.Color.Pitches[0])-1]
	for k, keys := range a.Color.Pitches {
		moved := make([]int, len(keys))
		for j, key := range keys {
			if moved[j] = key + c.Transpose; c.Inverted {
				moved[j] = m.mirror - key
			}
		}
		slices.Sort(moved)
		if !slices.Equal(moved, b.Color.Pitches[k]) {
			return m, false
		}
	}
	m.value = a.clock.unit / b.clock.unit
	m.speed = tidyNumber(m.value, m.value*(a.unitError()+b.unitError())/4)
	off := m.value * 2 * (a.unitError() + b.unitError())
	if len(c.Near) > 0 && math.Abs(c.Near[0].Float64()-m.value) <= off+1e-9 {
		m.speed, m.value = c.Near[0].String(), c.Near[0].Float64()
	}
	return m, true
}

// meeting is the unit of the line, counted from its start, at which all voices
// are at one instant, if there is one, and the instant.
func (t *drafting) meeting(i int, mates []mate) (unit, at float64, ok bool) {
	a := &t.d.Voices[i]
	places := slices.Max(a.rhythm.places)
	for k, m := range mates {
		b := &t.d.Voices[m.voice]
		if m.inverted || slices.Max(b.rhythm.places) != places || math.Abs(m.value-1) < 1e-9 {
			return 0, 0, false
		}
		// from_a + unit_a u = from_b + unit_a u / speed
		u := (b.clock.from - a.clock.from) / a.clock.unit / (1 - 1/m.value)
		off := (a.fromError() + b.fromError()) / a.clock.unit / math.Abs(1-1/m.value)
		u = nearWhole(u, off)
		if k > 0 && math.Abs(u-unit) > off+1e-6 {
			return 0, 0, false
		}
		if k == 0 {
			unit = u
		}
	}
	if unit < 0 {
		return 0, 0, false
	}
	at = a.clock.from + unit*a.clock.unit
	for _, m := range mates {
		b := &t.d.Voices[m.voice]
		if math.Abs(at-unit*a.clock.unit/m.value-b.clock.from) > 0.002 {
			return 0, 0, false
		}
	}
	return unit, at, true
}

// nearWhole is the whole number or half that is within off, else the number to a
// thousandth.
func nearWhole(u, off float64) float64 {
	if r := math.Round(u*2) / 2; math.Abs(r-u) <= off+1e-6 {
		return r
	}
	return math.Round(u*1e6) / 1e6
}

// meetingCanon writes a tune and a canon of it.
func (t *drafting) meetingCanon(i int, mates []mate, unit, at float64) {
	a := &t.d.Voices[i]
	tune := t.name("line")
	t.entries = append(t.entries, draft.Block("tune", tune, t.material(a, a.holdOf())...).Above(t.about(a)))
	speeds := []string{"1"}
	for _, m := range mates {
		speeds = append(speeds, m.speed)
	}
	inside := []draft.Entry{
		draft.Attr("subject", draft.Quoted(tune)),
		draft.Attr("meet", draft.Quoted("unit "+fraction(unit))),
		draft.Attr("at", draft.Quoted(tidySeconds(at, 2*a.fromError())+" s")),
	}
	inside = append(inside, t.canonTempo(a, speeds)...)
	names := []string{}
	for k, v := range append([]int{i}, voicesOf(mates)...) {
		voice := &t.d.Voices[v]
		var own []draft.Entry
		if k > 0 && mates[k-1].transpose != 0 {
			own = append(own, draft.Attr("transpose", draft.Bare(strconv.Itoa(mates[k-1].transpose))))
		}
		if k > 0 {
			own = append(own, holdBeside(a.holdOf(), voice.holdOf())...)
		}
		name := t.name(voice.Name)
		names = append(names, name)
		inside = append(inside, draft.Block("voice", name, own...))
	}
	remark := strings.Join(names, ", ") + " play one line and are at one place of it " + say.Clock(at, 1) +
		" from the beginning."
	t.entries = append(t.entries, draft.Block("canon", t.name("canon"), inside...).Above(remark))
}

// canonTempo are the speeds as a proportion: in whole numbers with the length of
// the slowest voice where they are fractions, else against the leader's tempo.
func (t *drafting) canonTempo(a *Voice, speeds []string) []draft.Entry {
	if whole, ok := proportion(speeds); ok {
		total := int64(0)
		for p := range slices.Max(a.rhythm.places) + 1 {
			total += a.clock.whole[p%len(a.clock.whole)]
		}
		slowest := 1.0
		for _, s := range speeds {
			slowest = math.Min(slowest, exact.MustParse(s).Float64())
		}
		lasts := float64(total) * a.clock.unit / slowest
		return []draft.Entry{draft.Attr("lasts", draft.Quoted(tidySeconds(lasts, lasts*a.unitError()/2)+" s")),
			draft.Attr("speeds", draft.Quoted(strings.Join(whole, " : ")))}
	}
	return append(tempoEntries(a), draft.Attr("speeds", draft.Quoted(strings.Join(speeds, " : "))))
}

// proportion makes fractions whole numbers: 1, 4/3, 5/3 are 3 : 4 : 5.
func proportion(speeds []string) ([]string, bool) {
	common := int64(1)
	var all []exact.Rat
	for _, s := range speeds {
		r, err := exact.ParseRat(s)
		if err != nil || r.Den() > 100 {
			return nil, false
		}
		all = append(all, r)
		common = common / gcd(common, r.Den()) * r.Den()
	}
	if common > 1000 {
		return nil, false
	}
	out := make([]string, len(all))
	for i, r := range all {
		out[i] = strconv.FormatInt(r.Num()*(common/r.Den()), 10)
	}
	return out, true
}

// likeVoice writes a voice that is like the leader.
func (t *drafting) likeVoice(leader string, m mate) {
	v := &t.d.Voices[m.voice]
	inside := []draft.Entry{
		draft.Attr("like", draft.Quoted(leader)),
		draft.Attr("speed", draft.Bare(m.speed)),
	}
	switch {
	case m.inverted && m.mirror%2 == 0:
		inside = append(inside, draft.Attr("invert", draft.Quoted(keyName(m.mirror/2))))
	case m.inverted:
		inside = append(inside, draft.Attr("invert", draft.Quoted(keyName((m.mirror-1)/2))),
			draft.Attr("transpose", draft.Bare("1")))
	case m.transpose != 0:
		inside = append(inside, draft.Attr("transpose", draft.Bare(strconv.Itoa(m.transpose))))
	}
	inside = append(inside, draft.Attr("extent", draft.Quoted(say.Count(slices.Max(v.rhythm.places)+1, "note"))))
	inside = append(inside, holdBeside(t.d.leaderHold(leader), v.holdOf())...)
	inside = append(inside, draft.Attr("start", draft.Quoted(tidySeconds(v.clock.from, v.fromError())+" s")))
	t.entries = append(t.entries, draft.Block("voice", t.name(v.Name), inside...).Above(t.about(v)))
}

// leaderHold is how the notes of the voice written under a name are held.
func (d *Design) leaderHold(name string) held {
	for i := range d.Voices {
		if d.Voices[i].Name == name && d.Voices[i].rhythm != nil {
			return d.Voices[i].holdOf()
		}
	}
	return held{share: -1}
}

// holdBeside is the hold of a voice where it is not that of the voice it is like.
func holdBeside(leader, own held) []draft.Entry {
	if own.silent != nil || leader.sec == 0 && own.sec == 0 && math.Abs(leader.share-own.share) < 0.005 {
		return nil
	}
	if own.sec > 0 {
		return []draft.Entry{draft.Attr("hold", draft.Quoted(strconv.FormatFloat(math.Round(own.sec*1e4)/10, 'f', -1, 64)+
			" ms"))}
	}
	return []draft.Entry{draft.Attr("hold", draft.Bare(strconv.FormatFloat(own.share, 'f', -1, 64)))}
}

func voicesOf(mates []mate) []int {
	out := make([]int, len(mates))
	for i, m := range mates {
		out[i] = m.voice
	}
	return out
}

// fraction writes a number of units: whole, or a fraction of thousandths at most.
func fraction(x float64) string {
	num, den := simplest(math.Max(x-5e-7, 0), x+5e-7)
	return exact.NewRat(num, den).String()
}
