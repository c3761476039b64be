package sound

import (
	"cmp"
	"context"
	"math"
	"slices"
	"sync"

	"rollwright/sound/loudness"
)

// A noteID is a note of one timbre.
type noteID struct {
	timbre uint8 // index into the stock's timbres
	key    uint8
	layer  uint8 // index into layerLevels
}

// A note is what is in memory of one: its body by itself, those of its segments that were
// asked for, strings and body, and low partials by themselves. All of it has 16 bits, scaled
// for each piece of it by itself (see rounded).
type note struct {
	body     []float32
	low      [][]float32 // by segment; a value every lowEvery frames
	segments [][]float32
	colour   []float32 // the beginning of the first segment, going away: see nuance
	used     int       // the last need that asked for it

	// Beside the next layer, over the first segment: how loud each is, and how
	// alike. 0 until compare has looked.
	energy, nextEnergy, common float64
}

// An extent is how much of a note is there, or wanted: so many segments, and segments of low
// partials.
type extent struct{ segments, low int }

// covers reports whether all of b is there.
func (a extent) covers(b extent) bool { return a.segments >= b.segments && a.low >= b.low }

func (a extent) and(b extent) extent {
	return extent{max(a.segments, b.segments), max(a.low, b.low)}
}

func (n *note) extent() extent { return extent{len(n.segments), len(n.low)} }

// bytes is the memory of so much of a note.
func (a extent) bytes() int64 {
	return 4 * int64(bodyFrames+echoFrames+a.segments*segmentFrames+a.low*lowFrames)
}

// A stock is the notes in memory. It is filled by need and read by the mixer, not
// at the same time.
type stock struct {
	timbres []timbre
	bodies  []*bodyMaker
	lengths map[noteID][]float64 // by timbre and key, layer 0: see timbre.sinks
	cache   *Cache
	notes   map[noteID]*note
	bytes   int64
	needs   int
	arena   arena
}

func newStock(timbres []timbre, cache *Cache) *stock {
	s := &stock{timbres: timbres, cache: cache, notes: map[noteID]*note{}, lengths: map[noteID][]float64{}}
	for _, t := range timbres {
		s.bodies = append(s.bodies, newBodyMaker(t))
	}
	return s
}

// sinks is how a note of a timbre and key sinks if nothing stops it.
func (s *stock) sinks(timbre, key uint8) []float64 {
	id := noteID{timbre, key, 0}
	left, ok := s.lengths[id]
	if !ok {
		left = s.timbres[timbre].sinks(s.timbres[timbre].course(int(key)))
		s.lengths[id] = left
	}
	return left
}

// frames is how long a note of a timbre and key lasts if nothing stops it.
func (s *stock) frames(timbre, key uint8) int { return len(s.sinks(timbre, key)) * segmentFrames }

// sinksTo is the frame at which a note that nothing stops has sunk to a share of its beginning.
func (s *stock) sinksTo(timbre, key uint8, share float32) int32 {
	left := s.sinks(timbre, key)
	i, _ := slices.BinarySearchFunc(left, float64(share), func(is, share float64) int { return cmp.Compare(share, is) })
	return int32(i * segmentFrames)
}

// need brings the notes into memory, each as far as its value says, and lets go of those unused
// for longest if that makes too many. Keys are worked on all cores; each by itself, so the order
// does not matter. tell hears the share of keys that is done.
func (s *stock) need(ctx context.Context, want map[noteID]extent, tell func(done float64)) error {
	s.makeRoom(want)
	byKey := map[noteID][]noteID{}
	for id, last := range want {
		if n := s.notes[id]; n == nil || !n.extent().covers(last) {
			at := noteID{id.timbre, id.key, 0}
			byKey[at] = append(byKey[at], id)
		}
	}
	keys := make([]noteID, 0, len(byKey))
	for at, ids := range byKey {
		slices.SortFunc(ids, compareIDs)
		keys = append(keys, at)
		s.frames(at.timbre, at.key)
	}
	slices.SortFunc(keys, compareIDs)
	got := make([][]*note, len(keys))
	var mu sync.Mutex
	done := 0
	parallel(len(keys), func(i int) {
		if ctx.Err() != nil {
			return
		}
		got[i] = s.make(byKey[keys[i]], want)
		mu.Lock()
		defer mu.Unlock()
		done++
		tell(float64(done) / float64(len(keys)))
	})
	if err := ctx.Err(); err != nil {
		return err
	}
	for i, at := range keys {
		for j, id := range byKey[at] {
			s.drop(id)
			s.notes[id] = got[i][j]
			s.bytes += got[i][j].size()
		}
	}
	return nil
}

// makeRoom drops notes that are not wanted, the longest unused first, until those
// that are fit beside the rest.
func (s *stock) makeRoom(want map[noteID]extent) {
	s.needs++
	total := s.bytes
	for id, last := range want {
		if n := s.notes[id]; n != nil {
			n.used = s.needs
			total -= n.size()
			last = last.and(n.extent())
		}
		total += last.bytes()
	}
	var idle []noteID
	for id, n := range s.notes {
		if n.used != s.needs {
			idle = append(idle, id)
		}
	}
	slices.SortFunc(idle, func(a, b noteID) int {
		return cmp.Or(cmp.Compare(s.notes[a].used, s.notes[b].used), compareIDs(a, b))
	})
	for _, id := range idle {
		if total <= stockBytes {
			return
		}
		total -= s.notes[id].size()
		s.drop(id)
	}
}

// compare prepares notes that are mixed with the next layer.
func (s *stock) compare(mixed map[noteID]bool) {
	for id := range mixed {
		n := s.notes[id]
		id.layer++
		next := s.notes[id]
		if next == nil || n.energy != 0 || len(n.segments) == 0 || len(next.segments) == 0 {
			continue
		}
		x, y := n.segments[0][:segmentFrames], next.segments[0]
		for i := range x {
			a, b := float64(x[i]), float64(y[i])
			n.energy += a * a
			n.nextEnergy += b * b
			n.common += a * b
		}
	}
}

// mixture is what two layers, in shares of low and high, have to be multiplied by
// so that the mixture is as loud as lies between them: layers that are less alike
// cancel in part.
func (n *note) mixture(low, high float32) float32 {
	a, b := float64(low), float64(high)
	is := a*a*n.energy + b*b*n.nextEnergy + 2*a*b*n.common
	if n.energy == 0 || !(is > 0) {
		return 1
	}
	return float32((a*math.Sqrt(n.energy) + b*math.Sqrt(n.nextEnergy)) / math.Sqrt(is))
}

func compareIDs(a, b noteID) int {
	if a.timbre != b.timbre {
		return int(a.timbre) - int(b.timbre)
	}
	if a.key != b.key {
		return int(a.key) - int(b.key)
	}
	return int(a.layer) - int(b.layer)
}

func (s *stock) drop(id noteID) {
	if n := s.notes[id]; n != nil {
		s.bytes -= n.size()
		s.arena.giveBack(n.body)
		s.arena.giveBack(n.colour)
		for _, x := range n.low {
			s.arena.giveBack(x)
		}
		for _, x := range n.segments {
			s.arena.giveBack(x)
		}
		delete(s.notes, id)
	}
}

func (n *note) size() int64 { return n.extent().bytes() }

// make brings notes of one key, from the cache as far as they are there.
func (s *stock) make(ids []noteID, want map[noteID]extent) []*note {
	t := s.timbres[ids[0].timbre]
	notes := make([]*note, len(ids))
	var runs []wanted
	var of []int
	for i, id := range ids {
		n := s.cache.load(&s.arena, t, id, want[id])
		n.used = s.needs
		notes[i] = n
		if n.body == nil || !n.extent().covers(want[id]) {
			runs, of = append(runs, wanted{have: n.extent(), want: want[id].and(n.extent())}), append(of, i)
		}
	}
	if len(runs) > 0 {
		s.compute(runs, of, ids, notes)
	}
	for _, n := range notes {
		if len(n.segments) > 0 {
			n.colour = s.arena.floats(echoFrames)
			for i, fade := range echoFade {
				n.colour[i] = n.segments[0][i] * fade
			}
		}
	}
	return notes
}

// compute makes what is missing of notes of one key and keeps it in the cache.
func (s *stock) compute(runs []wanted, of []int, ids []noteID, notes []*note) {
	t := s.timbres[ids[0].timbre]
	c := t.course(int(ids[0].key))
	ringing := t.ringingOf(c)
	for i := range runs {
		r, n := &runs[i], notes[of[i]]
		r.sp = t.spectrumOf(c, ringing, layerLevels[ids[of[i]].layer])
		r.of = len(s.sinks(ids[0].timbre, ids[0].key))
		for range r.want.segments - r.have.segments {
			r.out = append(r.out, s.arena.zeros(segmentFrames))
		}
		for range r.want.low - r.have.low {
			r.low = append(r.low, s.arena.zeros(lowFrames))
		}
		if n.body == nil {
			n.body = s.arena.zeros(bodyFrames)
			s.bodies[ids[0].timbre].of(n.body, r.sp)
			rounded(n.body)
		}
	}
	fill(runs, t.rate)
	for i, r := range runs {
		n := notes[of[i]]
		n.segments, n.low = append(n.segments, r.out...), append(n.low, r.low...)
		n.addBody(r.have.segments)
		for _, x := range slices.Concat(r.out, r.low) {
			rounded(x)
		}
		s.cache.save(t, ids[of[i]], n)
	}
}

// rounded brings samples to 16 bits, of which the highest needs all, in steps of a power of
// two: what a note is kept in. The noise of it lies 92 dB and more below the note itself, and
// less than a tenth of a second of it has one step, so that it sinks with the note.
func rounded(x []float32) {
	step := stepOf(x)
	if step == 0 {
		clear(x)
		return
	}
	perStep := 1 / step
	for i, v := range x {
		x[i] = float32(whole(v, perStep)) * step
	}
}

const (
	mostSteps = 1<<15 - 1
	// Below it there is silence: a thousandth of a step of 24 bits.
	leastStep = 1.0 / (1 << 33)
)

// stepOf is the step of samples that need all of 16 bits; 0: they are silent. It is the same
// before and after they are rounded.
func stepOf(x []float32) float32 {
	high := loudness.Highest(x)
	frac, exp := math.Frexp(float64(high)) // high = frac * 2^exp, frac from 1/2 to below 1
	if exp -= 15; frac*(1<<15) > mostSteps {
		exp++
	}
	if step := math.Ldexp(1, exp); high > 0 && step >= leastStep {
		return float32(step)
	}
	return 0
}

// whole is v in steps, to the nearest, ties to even.
func whole(v, perStep float32) int32 {
	const magic = 3 << 22 // adding and taking it away leaves a whole number
	return int32((float32(v*perStep) + magic) - magic)
}

// layersAt are the two layers between which a level lies and the share of the
// upper: in proportion to the speed of the hammer, as loudness nearly goes. Above
// the highest layer that layer is raised a little.
func layersAt(level int) (layer uint8, low, high float32) {
	v := LevelSpeed(level)
	last := len(layerLevels) - 1
	if level >= layerLevels[last] {
		return uint8(last), float32(v / LevelSpeed(layerLevels[last])), 0
	}
	i := 0
	for layerLevels[i+1] <= level {
		i++
	}
	a, b := LevelSpeed(layerLevels[i]), LevelSpeed(layerLevels[i+1])
	x := (v - a) / (b - a)
	return uint8(i), float32(1 - x), float32(x)
}

// A release is what of a note is left: a factor for every frame since something began to
// take it away, from 1.
type release []float32

// Dampers land softly: their loss grows over landSec to what it is then. Assumed.
const landSec = 0.008

// newTakeOver goes from 1 to a share while a hammer is on the strings.
func newTakeOver(share, sec float64, rate int) release {
	r := make(release, int(sec*float64(rate))+2)
	for i := range r {
		x := float64(i) / float64(len(r)-1)
		r[i] = float32(1 - (1-share)*x*x*(3-2*x))
	}
	return r
}

// newRelease takes 60 dB in t60 seconds. A loss that is the same for all
// frequencies is exactly a factor on the whole.
func newRelease(t60 float64, rate int) release {
	perSec := math.Ln10 * 3 / t60
	frames := int((t60 + landSec) * float64(rate)) // 60 dB, the rest by the fade below
	r := make(release, frames)
	landed := min(frames, int(landSec*float64(rate))+1)
	for i := range landed {
		sec := float64(i) / float64(rate)
		r[i] = float32(math.Exp(-perSec * sec * sec / (2 * landSec)))
	}
	left := math.Exp(-perSec * (float64(landed)/float64(rate) - landSec/2))
	frame := math.Exp(-perSec / float64(rate))
	for i := landed; i < frames; i++ {
		r[i] = float32(left)
		left *= frame
	}
	for i := range r {
		end := float64(i+1) / float64(frames)
		r[i] *= float32(1 - end*end*end*end)
	}
	return r
}
