package calibrate

import (
	"fmt"
	"math"

	"rollwright/paper/instrument"
	"rollwright/paper/roll"
)

// Options say how a test roll is made. The zero value is good.
type Options struct {
	LengthMM float64 // of its music; 0: 12 m. It is made longer where the tests need it
}

// Test is a test roll with what stands where on it. Lengths are as cut.
type Test struct {
	Roll    *roll.Roll
	MarkMM  []float64  // leading edges of the marks: two keys far apart, struck together
	Keys    [3]int     // on which single notes and repetitions are tried: bass, middle, treble
	Slots   [3][]Try   // single notes from the shortest on, on each of Keys
	Repeats [3][]Group // strokes of one key, group after group faster
	Chords  []Chord    // chords, growing
	Pairs   []Pair     // two slots of the middle key with a web between them, growing
}

// Try is one note.
type Try struct{ AlongMM, LengthMM float64 }

// Group is strokesInGroup strokes of single punches.
type Group struct {
	AlongMM, ApartMM float64 // from one leading edge to the next
	PerSec           float64 // at the nominal speed
}

// Chord is so many notes at once, spread over the compass.
type Chord struct {
	AlongMM float64
	Notes   int
}

// Pair is two slots.
type Pair struct{ AlongMM, WebMM float64 }

// The plan of a test roll, chosen so that a stopwatch, an ear and a hand keep
// up at roll tempo 80.
const (
	standardMM     = 12_000
	markEveryMM    = 1000
	clearMM        = 70 // blank paper before and after a mark
	clickEveryMM   = 100
	beginningMM    = 2000 // clicks before the tests
	betweenMM      = 40   // from one try to the next
	longMM         = 4    // a slot that always sounds; short enough to be cut without bridges
	tries          = 10
	growMM         = 0.4
	strokesInGroup = 8
	slowestGroup   = 4 // strokes a second
	fastestGroup   = 16
	mostInChord    = 24
	pairs          = 18
	firstWebMM     = 0.3
	webGrowsMM     = 0.2
)

// NewTest makes the test roll of an instrument: marks at known lengths from 0
// on, every metre; clicks every decimetre; then what the action is asked. Errors: a
// length that is none, too few notes, paper that is moved by hand.
func NewTest(in *instrument.Instrument, o Options) (*Test, error) {
	if in.Transport.Crank {
		return nil, fmt.Errorf("calibrate: the paper of %s is moved by a crank: its speed is the hand's, which no test roll measures; time how long a metre takes as you turn and write roll_tempo = 1968.5 / seconds in the instrument's file", in.Name)
	}
	length := o.LengthMM
	if length == 0 {
		length = standardMM
	}
	if !(length >= 3000 && length <= 30_000) {
		return nil, fmt.Errorf("calibrate: a test roll of %g mm: want 3000 to 30000 mm", length)
	}
	b := &builder{in: in, test: &Test{Roll: &roll.Roll{Instrument: in}}}
	if err := b.keys(); err != nil {
		return nil, err
	}
	b.clicks(beginningMM)
	b.slots()
	b.repeats()
	b.chords()
	b.pairs()
	length = math.Ceil(max(length, b.at)/markEveryMM) * markEveryMM
	b.clicks(length)
	for at := 0.0; at <= length; at += markEveryMM {
		lead := b.cut(b.low, at, longMM).LeadMM
		b.cut(b.high, at, longMM)
		b.test.MarkMM = append(b.test.MarkMM, lead)
	}
	r := b.test.Roll
	r.Sort()
	r.EndSec = in.Transport.Sec(length + longMM)
	return b.test, nil
}

// builder cuts slots along the roll.
type builder struct {
	in        *instrument.Instrument
	test      *Test
	at        float64 // paper from here on is free, but for marks
	low, high int     // keys of the marks
}

// keys chooses which keys are struck.
func (b *builder) keys() error {
	low, high := 128, -1
	notes := 0
	for _, p := range b.in.Bar.Ports {
		if p.Role == instrument.Note {
			low, high, notes = min(low, p.Key), max(high, p.Key), notes+1
		}
	}
	if notes < 8 {
		return fmt.Errorf("calibrate: %s has %d notes: a test roll wants 8", b.in.Name, notes)
	}
	b.low, b.high = low, high
	b.test.Keys = [3]int{low + notes/6, (low + high) / 2, high - notes/6}
	return nil
}

// cut cuts a slot and returns it as cut.
func (b *builder) cut(key int, leadMM, lengthMM float64) roll.Slot {
	port, _ := b.in.Bar.Port(key)
	s := roll.SlotOf(b.in, int32(port), leadMM, leadMM+lengthMM)
	b.test.Roll.Slots = append(b.test.Roll.Slots, s)
	return s
}

// room is the beginning of the next so many millimetres of paper clear of
// marks, and takes them.
func (b *builder) room(mm float64) float64 {
	next := math.Ceil((b.at-clearMM)/markEveryMM) * markEveryMM // the mark that is still near, or to come
	if b.at+mm > next-clearMM {
		b.at = max(b.at, next+clearMM)
		if b.at+mm > next+markEveryMM-clearMM {
			b.at = next + clearMM
		}
	}
	at := b.at
	b.at += mm
	return at
}

// clicks strikes the middle key every clickEveryMM, but where a mark stands.
func (b *builder) clicks(to float64) {
	for at := math.Ceil(b.at/clickEveryMM) * clickEveryMM; at < to; at += clickEveryMM {
		if math.Mod(at, markEveryMM) != 0 {
			b.cut(b.test.Keys[1], at, longMM)
		}
	}
	b.at = max(b.at, to)
}

// slots are single notes, the first a single punch, each longer than the one
// before, on three keys.
func (b *builder) slots() {
	d := b.in.Die.DiameterMM
	grow := max(growMM, b.in.StepMM)
	for k, key := range b.test.Keys {
		for i := range tries {
			s := b.cut(key, b.room(betweenMM), d+float64(i)*grow)
			b.test.Slots[k] = append(b.test.Slots[k], Try{s.LeadMM, s.TrailMM - s.LeadMM})
		}
	}
}

// repeats are strokes of single punches, group after group faster, as long as
// paper stays between them that holds.
func (b *builder) repeats() {
	d, v := b.in.Die.DiameterMM, b.in.Transport.SpeedMMPerSec()
	for k, key := range b.test.Keys {
		for rate := slowestGroup; rate <= fastestGroup; rate++ {
			apart := v / float64(rate)
			if q := b.in.StepMM; q > 0 {
				apart = math.Round(apart/q) * q
			}
			if apart < d+b.in.Chain.WebMinMM+b.in.StepMM {
				break
			}
			at := b.room(strokesInGroup*apart + betweenMM)
			first := b.cut(key, at, d)
			for i := 1; i < strokesInGroup; i++ {
				b.cut(key, first.LeadMM+float64(i)*apart, d)
			}
			b.test.Repeats[k] = append(b.test.Repeats[k], Group{first.LeadMM, apart, v / apart})
		}
	}
}

// chords are spread evenly over the compass.
func (b *builder) chords() {
	var keys []int
	for _, p := range b.in.Bar.Ports {
		if p.Role == instrument.Note {
			keys = append(keys, p.Key)
		}
	}
	for n := 2; n <= min(mostInChord, len(keys)); n += 2 {
		at := b.room(betweenMM)
		for i := range n {
			b.cut(keys[i*(len(keys)-1)/(n-1)], at, longMM)
		}
		b.test.Chords = append(b.test.Chords, Chord{at, n})
	}
}

// pairs are two slots with a web between them.
func (b *builder) pairs() {
	grow := max(webGrowsMM, b.in.StepMM)
	for i := range pairs {
		web := max(firstWebMM, b.in.StepMM/2) + float64(i)*grow
		first := b.cut(b.test.Keys[1], b.room(2*longMM+web+betweenMM), longMM)
		second := b.cut(b.test.Keys[1], first.TrailMM+web, longMM)
		b.test.Pairs = append(b.test.Pairs, Pair{first.LeadMM, second.LeadMM - first.TrailMM})
	}
}

// Section is a stretch of the test roll with its name, for the paper.
type Section struct {
	AlongMM float64
	Name    string
}

// Sections are what stands where, in order: marks by their lengths, and where
// each kind of test begins.
func (t *Test) Sections() []Section {
	var out []Section
	for i := range t.MarkMM {
		out = append(out, Section{t.MarkMM[i], fmt.Sprintf("mark %d", i*markEveryMM)})
	}
	names := [3]string{"bass", "middle", "treble"}
	for k := range names {
		out = append(out, Section{t.Slots[k][0].AlongMM - 10, "single notes, " + names[k]})
	}
	for k := range names {
		out = append(out, Section{t.Repeats[k][0].AlongMM - 10, "repeats, " + names[k]})
	}
	return append(out, Section{t.Chords[0].AlongMM - 10, "chords"}, Section{t.Pairs[0].AlongMM - 10, "pairs"})
}
