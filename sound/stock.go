package sound

import (
	"cmp"
	"context"
	"math"
	"slices"
	"sync"
)

// A noteID is a note of one timbre.
type noteID struct {
	timbre uint8 // index into the stock's timbres
	key    uint8
	layer  uint8 // index into layerLevels
}

// A note is what is in memory of one: its body by itself, and those of its segments
// that were asked for, strings and body. Each is one float longer than its samples
// (see Cache).
type note struct {
	body     []float32
	segments [][]float32
	used     int // the last need that asked for it

	// Beside the next layer, over the first segment: how loud each is, and how
	// alike. 0 until compare has looked.
	energy, nextEnergy, common float64
}

// A stock is the notes in memory. It is filled by need and read by the mixer, not
// at the same time.
type stock struct {
	timbres []timbre
	bodies  []*bodyMaker
	lengths map[noteID]int // in segments, by timbre and key; layer 0
	cache   *Cache
	notes   map[noteID]*note
	bytes   int64
	needs   int
	arena   arena
}

func newStock(timbres []timbre, cache *Cache) *stock {
	s := &stock{timbres: timbres, cache: cache, notes: map[noteID]*note{}, lengths: map[noteID]int{}}
	for _, t := range timbres {
		s.bodies = append(s.bodies, newBodyMaker(t))
	}
	return s
}

// frames is how long a note of a timbre and key lasts if nothing stops it.
func (s *stock) frames(timbre, key uint8) int {
	id := noteID{timbre, key, 0}
	n, ok := s.lengths[id]
	if !ok {
		n = s.timbres[timbre].segments(s.timbres[timbre].course(int(key)))
		s.lengths[id] = n
	}
	return n * segmentFrames
}

// need brings the notes into memory, each up to as many segments as its value
// says, and lets go of those unused for longest if that makes too many. Keys are worked on all cores; each by itself,
// so the order does not matter. tell hears the share of keys that is done.
func (s *stock) need(ctx context.Context, want map[noteID]int, tell func(done float64)) error {
	s.makeRoom(want)
	byKey := map[noteID][]noteID{}
	for id, last := range want {
		if n := s.notes[id]; n == nil || len(n.segments) < last {
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
func (s *stock) makeRoom(want map[noteID]int) {
	s.needs++
	total := s.bytes
	for id, last := range want {
		if n := s.notes[id]; n != nil {
			n.used = s.needs
			total -= n.size()
			last = max(last, len(n.segments))
		}
		total += noteBytes(last)
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

// noteBytes is the memory of a note of so many segments.
func noteBytes(segments int) int64 { return 4 * int64(bodyFrames+segments*segmentFrames) }

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
		for _, x := range n.segments {
			s.arena.giveBack(x)
		}
		delete(s.notes, id)
	}
}

func (n *note) size() int64 { return noteBytes(len(n.segments)) }

// make brings notes of one key, from the cache as far as they are there.
func (s *stock) make(ids []noteID, want map[noteID]int) []*note {
	t := s.timbres[ids[0].timbre]
	notes := make([]*note, len(ids))
	var runs []wanted
	var of []int
	for i, id := range ids {
		n := s.cache.load(&s.arena, t, id, want[id])
		n.used = s.needs
		notes[i] = n
		if n.body == nil || len(n.segments) < want[id] {
			runs, of = append(runs, wanted{first: len(n.segments), last: want[id]}), append(of, i)
		}
	}
	if len(runs) == 0 {
		return notes
	}
	c := t.course(int(ids[0].key))
	ringing := t.ringingOf(c)
	for i := range runs {
		runs[i].sp = t.spectrumOf(c, ringing, layerLevels[ids[of[i]].layer])
		runs[i].of = s.lengths[noteID{ids[0].timbre, ids[0].key, 0}]
	}
	for i, r := range runs {
		n := notes[of[i]]
		for range r.last - r.first {
			runs[i].out = append(runs[i].out, s.arena.zeros(segmentFrames+1))
		}
		n.segments = append(n.segments, runs[i].out...)
		if n.body == nil {
			n.body = s.arena.zeros(bodyFrames + 1)
			s.bodies[ids[0].timbre].of(n.body[:bodyFrames], r.sp)
		}
	}
	fill(runs, t.rate)
	for i, r := range runs {
		n := notes[of[i]]
		n.addBody(r.first)
		s.cache.save(t, ids[of[i]], n)
	}
	return notes
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

// Dampers land softly: their loss grows over landSec to what it is then. Chosen by ear.
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
	frames := int((t60*1.25 + landSec) * float64(rate)) // 75 dB, the rest by the fade below
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
