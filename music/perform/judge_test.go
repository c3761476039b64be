package perform_test

import (
	"fmt"
	"math/big"
	"slices"

	"rollwright/exact"
	"rollwright/music/event"
	"rollwright/music/perform"
	"rollwright/music/piece"
	"rollwright/music/tempo"
)

// The judge works a piece out a second time, item by item and without any
// cleverness, in big.Float of 220 bits: no whole numbers, no blocks, no heap,
// no dependency graph (voices may refer only to earlier ones). It shares no code
// with the package but the types of piece and tempo.Path.BigSeconds.

const judgeBits = 220

func bigOf(x float64) *big.Float { return new(big.Float).SetPrec(judgeBits).SetFloat64(x) }
func ratOf(r exact.Rat) *big.Float {
	return new(big.Float).SetPrec(judgeBits).SetRat(r.Big())
}
func plus(a, b *big.Float) *big.Float  { return bigOf(0).Add(a, b) }
func minus(a, b *big.Float) *big.Float { return bigOf(0).Sub(a, b) }
func times(a, b *big.Float) *big.Float { return bigOf(0).Mul(a, b) }
func over(a, b *big.Float) *big.Float  { return bigOf(0).Quo(a, b) }

// before reports a < b, where a difference below 1e-50 is none.
func before(a, b *big.Float) bool { return minus(b, a).Cmp(bigOf(1e-50)) > 0 }

type judgedItem struct {
	silent           bool
	units            *big.Float // duration
	note             int        // as written, from 0
	statement, color int
	pitch            piece.Pitch
	level            int
	hold             piece.Hold
	at               *big.Float // as performed, units
	from, to         *big.Float // seconds from the voice's start
}

type judgedVoice struct {
	items       []judgedItem // as performed
	notes       int
	length, end *big.Float // units; seconds from the voice's start
	start       *big.Float // seconds
	seconds     func(units *big.Float) *big.Float
}

type judgedEvent struct {
	voice, note, part, key, level int
	from, to                      *big.Float
	single                        bool
}

// judge is the events of a piece, in no order, and the shift.
func judge(p *piece.Piece, fastest float64) (events []judgedEvent, shift *big.Float) {
	voices := make([]*judgedVoice, len(p.Voices))
	for i := range p.Voices {
		voices[i] = judgeVoice(p, i, voices)
		if c := p.Voices[i].Canon; c >= 0 && i == slices.Max(p.Canons[c].Voices) {
			judgeCanon(p, c, voices)
		}
	}
	for i, v := range voices {
		n := 0
		for _, item := range v.items {
			if !item.silent {
				n++
				events = append(events, strokesOf(&p.Voices[i], v, i, n, item, fastest)...)
			}
		}
	}
	earliest := bigOf(0)
	for _, e := range events {
		if e.from.Cmp(earliest) < 0 {
			earliest = e.from
		}
	}
	for i := range events {
		events[i].from, events[i].to = minus(events[i].from, earliest), minus(events[i].to, earliest)
	}
	return events, bigOf(0).Neg(earliest)
}

func judgeVoice(p *piece.Piece, i int, voices []*judgedVoice) *judgedVoice {
	v, j := &p.Voices[i], &judgedVoice{}
	path, err := judgePath(v)
	if err != nil {
		panic(err)
	}
	factor := bigOf(1)
	j.seconds = func(units *big.Float) *big.Float { return over(path.BigSeconds(units, judgeBits), factor) }
	if v.Place.Kind != piece.InCanon && (v.Extent.Kind == piece.Until) {
		j.start = judgeStart(p, v, j, voices)
	}
	writeItems(v, j, voices)
	if v.Backward {
		slices.Reverse(j.items)
	}
	at := bigOf(0)
	for k := range j.items {
		j.items[k].at = at
		at = plus(at, j.items[k].units)
	}
	j.length = at
	if v.Lasts.Set {
		want := ratOf(v.Lasts.Sec)
		if v.Lasts.Sec.Sign() == 0 {
			want = voices[v.Lasts.As.Voice].end
		}
		factor = over(j.seconds(j.length), want)
	}
	j.settle()
	if v.Place.Kind != piece.InCanon {
		j.start = judgeStart(p, v, j, voices)
	}
	return j
}

func (j *judgedVoice) settle() {
	for k := range j.items {
		item := &j.items[k]
		item.from, item.to = j.seconds(item.at), j.seconds(plus(item.at, item.units))
	}
	j.end = j.seconds(j.length)
}

func judgePath(v *piece.Voice) (*tempo.Path, error) {
	var legs []tempo.Leg
	for _, l := range v.Path {
		legs = append(legs, tempo.Leg{From: l.From, To: l.To, HasFrom: l.HasFrom, HasTo: l.HasTo,
			OverUnits: l.OverUnits, OverSec: l.OverSec, Shape: tempo.Shape(l.Shape)})
	}
	return tempo.New(legs, v.Tempo, v.Unit, v.Speed)
}

// changeOf is the value of a list, or of a power, in statement i.
func changeOf(list []exact.Real, each exact.Real, i int) *big.Float {
	if len(list) > 0 {
		return list[i%len(list)].Float(judgeBits)
	}
	return each.Pow(exact.Int(int64(i))).Float(judgeBits)
}

// writeItems makes the items up to the extent, in the order of writing.
func writeItems(v *piece.Voice, j *judgedVoice, voices []*judgedVoice) {
	talea := append(slices.Clone(v.Talea), v.Talea...)[mod(v.RotateTalea, len(v.Talea)):][:len(v.Talea)]
	color := append(slices.Clone(v.Color), v.Color...)[mod(v.RotateColor, len(v.Color)):][:len(v.Color)]
	dynamics := levelsOf(v.Dynamics)
	holds := v.Hold
	if len(holds) == 0 {
		holds = []piece.Hold{{}}
	}
	at := bigOf(0)
	power := bigOf(1)
	for n := 0; ; n++ {
		place, statement := n%len(talea), n/len(talea)
		complete := n > 0 && place == 0 && j.notes%len(color) == 0
		if endsAt(v, j, n, place, statement, complete, at, voices) {
			return
		}
		item := judgedItem{silent: talea[place].Silent, statement: statement, note: j.notes}
		item.color = max(j.notes-1, 0) / len(color)
		if !item.silent {
			item.color = j.notes / len(color)
			item.pitch = color[j.notes%len(color)]
			item.level = judgedLevel(v, item, dynamics[j.notes%len(dynamics)])
			item.hold = holds[j.notes%len(holds)]
			j.notes++
		}
		d := times(ratOf(talea[place].Units), v.Stretch.Float(judgeBits))
		d = times(d, changeOf(v.PerTalea.Stretch, v.PerTalea.StretchEach, item.statement))
		d = times(d, changeOf(v.PerColor.Stretch, v.PerColor.StretchEach, item.color))
		item.units = times(d, power)
		at = plus(at, item.units)
		power = times(power, v.EachNote.Float(judgeBits))
		j.items = append(j.items, item)
	}
}

func mod(a, n int) int { return ((a % n) + n) % n }

func endsAt(v *piece.Voice, j *judgedVoice, n, place, statement int, complete bool, at *big.Float,
	voices []*judgedVoice) bool {
	e := v.Extent
	lastSounds := n > 0 && !j.items[n-1].silent
	switch e.Kind {
	case piece.Complete:
		return complete
	case piece.Notes:
		return lastSounds && j.notes == e.Count
	case piece.Taleae:
		return place == 0 && statement == e.Count
	case piece.Colores:
		return lastSounds && j.notes == e.Count*len(v.Color)
	case piece.Units:
		return !before(at, ratOf(e.Amount))
	case piece.Seconds:
		return !before(j.seconds(at), ratOf(e.Amount))
	}
	other := voices[e.Ref.Voice]
	return !before(plus(j.start, j.seconds(at)), plus(other.start, other.end))
}

func levelsOf(dynamics []piece.Dynamic) []int {
	var levels []int
	for _, d := range dynamics {
		if d.Over == 0 {
			levels = append(levels, d.Level)
		}
		for i := range d.Over {
			level := new(big.Rat).SetInt64(int64(d.To))
			if d.Over > 1 {
				level.SetFrac64(int64((d.To-d.Level)*i), int64(d.Over-1))
				level.Add(level, new(big.Rat).SetInt64(int64(d.Level)))
			}
			level.Add(level, big.NewRat(1, 2)) // floor of this is rounding half up
			levels = append(levels, int(new(big.Int).Div(level.Num(), level.Denom()).Int64()))
		}
	}
	if len(levels) == 0 {
		return []int{80}
	}
	return levels
}

func judgedLevel(v *piece.Voice, item judgedItem, level int) int {
	if item.pitch.Level != 0 {
		level = item.pitch.Level
	}
	if list := v.PerColor.Dynamics; len(list) == 0 {
		level += v.PerColor.DynamicsEach * item.color
	} else if item.pitch.Level == 0 {
		level = list[item.color%len(list)]
	}
	if list := v.PerTalea.Dynamics; len(list) == 0 {
		level += v.PerTalea.DynamicsEach * item.statement
	} else if item.pitch.Level == 0 {
		level = list[item.statement%len(list)]
	}
	return min(max(level, 1), 127)
}

func judgeStart(p *piece.Piece, v *piece.Voice, j *judgedVoice, voices []*judgedVoice) *big.Float {
	place := v.Place
	switch place.Kind {
	case piece.After:
		if place.Ref.Voice < 0 {
			latest := bigOf(-1e9)
			for _, k := range p.Canons[place.Ref.Canon].Voices {
				if end := plus(voices[k].start, voices[k].end); end.Cmp(latest) > 0 {
					latest = end
				}
			}
			return plus(latest, ratOf(place.At))
		}
		other := voices[place.Ref.Voice]
		return plus(plus(other.start, other.end), ratOf(place.At))
	case piece.MeetWith:
		other := voices[place.Ref.Voice]
		return minus(plus(other.start, judgePoint(other, place.Theirs)), judgePoint(j, place.Mine))
	case piece.MeetAt:
		return minus(ratOf(place.At), judgePoint(j, place.Mine))
	}
	return ratOf(place.At)
}

func judgePoint(j *judgedVoice, p piece.Point) *big.Float {
	switch p.Kind {
	case piece.AtStart:
		return bigOf(0)
	case piece.AtEnd:
		return j.end
	case piece.AtUnit:
		return j.seconds(ratOf(p.X))
	case piece.AtShare:
		return j.seconds(times(j.length, ratOf(p.X)))
	}
	n := 0
	for _, item := range j.items {
		if item.silent {
			continue
		}
		if n++; n == p.N && p.Kind == piece.AtNote {
			return item.from
		} else if n == p.N {
			return item.to
		}
	}
	panic(fmt.Sprint("no note ", p.N))
}

func judgeCanon(p *piece.Piece, i int, voices []*judgedVoice) {
	c := p.Canons[i]
	if c.Lasts.Set {
		longest := bigOf(0)
		for _, k := range c.Voices {
			if voices[k].end.Cmp(longest) > 0 {
				longest = voices[k].end
			}
		}
		factor := over(longest, ratOf(c.Lasts.Sec))
		for _, k := range c.Voices {
			plain := voices[k].seconds
			voices[k].seconds = func(units *big.Float) *big.Float { return over(plain(units), factor) }
			voices[k].settle()
		}
	}
	meeting := bigOf(0)
	if c.HasAt {
		meeting = ratOf(c.At)
	}
	for _, k := range c.Voices {
		if offset := judgePoint(voices[k], c.Meet); !c.HasAt && offset.Cmp(meeting) > 0 {
			meeting = offset
		}
	}
	for _, k := range c.Voices {
		voices[k].start = minus(meeting, judgePoint(voices[k], c.Meet))
	}
}

// strokesOf are the events of one note.
func strokesOf(v *piece.Voice, j *judgedVoice, voice, n int, item judgedItem, fastest float64) []judgedEvent {
	var events []judgedEvent
	from, to := plus(j.start, item.from), plus(j.start, item.to)
	add := func(from, to *big.Float, key, part int) {
		e := judgedEvent{voice: voice, note: n, part: part, level: item.level, from: from}
		e.key = key + statementOf(v.PerColor, item.color) + statementOf(v.PerTalea, item.statement)
		if v.Invert != nil {
			e.key = 2*v.Invert.Key - e.key
		}
		e.key += v.Transpose
		switch item.hold.Kind {
		case piece.HoldSingle:
			e.to, e.single = from, true
		case piece.HoldTime:
			if e.to = plus(from, ratOf(item.hold.Sec)); e.to.Cmp(to) > 0 {
				e.to = to
			}
		default:
			e.to = plus(from, times(minus(to, from), item.hold.Share.Float(judgeBits)))
		}
		events = append(events, e)
	}
	g, keys := item.pitch.Gesture, item.pitch.Keys
	duration := minus(to, from)
	switch g.Manner() {
	case piece.Plain, piece.Cluster:
		for i, k := range keys {
			part := 1
			if g.Manner() == piece.Cluster {
				part = i + 1
			}
			add(from, to, k, part)
		}
	case piece.Gliss:
		total := bigOf(0)
		for i := range keys {
			total = plus(total, g.Ratio.Pow(exact.Int(int64(i))).Float(judgeBits))
		}
		begin, sum := from, bigOf(0)
		for i, k := range keys {
			sum = plus(sum, g.Ratio.Pow(exact.Int(int64(i))).Float(judgeBits))
			end := plus(from, over(times(duration, sum), total))
			add(begin, end, k, i+1)
			begin = end
		}
	case piece.Spread:
		delay := ratOf(g.DelaySec)
		if times(delay, bigOf(float64(len(keys)-1))).Cmp(duration) >= 0 {
			delay = over(duration, bigOf(float64(len(keys))))
		}
		for i := range keys {
			k := keys[i]
			if v.Invert != nil {
				k = keys[len(keys)-1-i]
			}
			add(plus(from, times(delay, bigOf(float64(i)))), to, k, i+1)
		}
	case piece.Grace:
		add(minus(from, ratOf(g.DelaySec)), from, keys[0], 1)
		for _, k := range keys[1:] {
			add(from, to, k, 2)
		}
	case piece.Trill, piece.Repeat:
		every := ratOf(g.EverySec)
		if g.Fastest {
			every = over(bigOf(1), bigOf(fastest))
		}
		strokeAt := func(i int) *big.Float {
			if g.EveryUnits.Sign() > 0 {
				return plus(j.start, j.seconds(plus(item.at, times(ratOf(g.EveryUnits), bigOf(float64(i))))))
			}
			return plus(from, times(every, bigOf(float64(i))))
		}
		// Another stroke comes while at least half of its interval is left; of
		// the fastest ones, a whole one.
		left := func(i int) bool {
			var rest *big.Float // in intervals
			if units := ratOf(g.EveryUnits); units.Sign() > 0 {
				rest = minus(over(item.units, units), bigOf(float64(i)))
			} else {
				rest = over(minus(to, strokeAt(i)), every)
			}
			needed := 0.5
			if g.Fastest {
				needed = 1
			}
			return rest.Cmp(bigOf(needed-1e-9)) >= 0
		}
		for i := 0; i == 0 || left(i); i++ {
			end := strokeAt(i + 1)
			if !left(i + 1) {
				end = to
			}
			if g.Kind == piece.Trill {
				add(strokeAt(i), end, keys[i%len(keys)], i+1)
				continue
			}
			for _, k := range keys {
				add(strokeAt(i), end, k, i+1)
			}
		}
	}
	return events
}

func statementOf(c piece.Change, i int) int {
	if len(c.Transpose) > 0 {
		return c.Transpose[i%len(c.Transpose)]
	}
	return c.TransposeEach * i
}

// identity tells the events of a piece apart.
type identity struct{ voice, note, part, key int }

// failer is a test, or a property of one.
type failer interface {
	Helper()
	Fatalf(format string, args ...any)
}

// compareWithJudge fails unless a performance has the judge's events, each
// within tolerance seconds, in order and counted. It returns the largest
// difference.
func compareWithJudge(t failer, perf *perform.Performance, tolerance float64) (largest float64) {
	t.Helper()
	want, shift := judge(perf.Piece, perform.DefaultFastest)
	byIdentity := map[identity]judgedEvent{}
	for _, e := range want {
		byIdentity[identity{e.voice, e.note, e.part, e.key}] = e
	}
	if difference := distance(perf.ShiftSec, shift); difference > tolerance {
		t.Fatalf("shift %v, want %v", perf.ShiftSec, shift)
	}
	count := 0
	var last event.Event
	for e := range perf.Events() {
		w, ok := byIdentity[identity{int(e.Voice), int(e.Note), int(e.Part), int(e.Key)}]
		if !ok {
			t.Fatalf("event %+v is not among the judge's", e)
		}
		difference := max(distance(e.StartSec, w.from), distance(e.EndSec, w.to))
		if difference > tolerance || int(e.Level) != w.level || e.Single != w.single {
			t.Fatalf("event %+v\nwant %.12f to %.12f, level %d, single %v", e, w.from, w.to, w.level, w.single)
		}
		largest = max(largest, difference)
		if count > 0 && !inOrder(&last, &e) {
			t.Fatalf("event %+v\ncomes after %+v", e, last)
		}
		last = e
		count++
	}
	if count != len(want) || count != perf.Count {
		t.Fatalf("%d events, counted %d, the judge has %d", count, perf.Count, len(want))
	}
	return largest
}

func distance(x float64, exactly *big.Float) float64 {
	d, _ := minus(bigOf(x), exactly).Float64()
	return max(d, -d)
}

func inOrder(a, b *event.Event) bool {
	order := [][2]int64{
		{event.Nanoseconds(a.StartSec), event.Nanoseconds(b.StartSec)},
		{int64(a.Voice), int64(b.Voice)},
		{int64(a.Key), int64(b.Key)},
		{event.Nanoseconds(a.EndSec), event.Nanoseconds(b.EndSec)},
	}
	for _, o := range order {
		if o[0] != o[1] {
			return o[0] < o[1]
		}
	}
	return true
}
