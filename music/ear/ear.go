// Package ear reckons what a listener can follow: events and thresholds of hearing
// go in, a Report of what fuses, splits, flutters or is hidden comes out.
//
// Times are seconds, intervals semitones, in float64; shares are of a voice's
// notes, a chord counting once. Nothing here is exact beyond the events: thresholds
// are means of laboratory listeners (see Thresholds), about half of whom would say
// otherwise near them. A remark, never a finding.
package ear

import (
	"cmp"
	"iter"
	"math"
	"slices"

	"rollwright/music/event"
)

// Report is what a listener can follow of a piece.
type Report struct {
	Thresholds Thresholds `json:"-"`
	Voices     []Voice    `json:"voices"`
	Pairs      []Pair     `json:"pairs"` // in the order of voices; those of which notes fuse
	Tempos     []Tempos   `json:"tempos,omitempty"`
}

// Tempos is two voices whose speeds differ by so little that they are heard as one tempo
// whose onsets drift.
type Tempos struct {
	A     string  `json:"a"`
	B     string  `json:"b"`
	Share float64 `json:"share"` // by which the faster is faster
}

// Voice is one line as it is heard beside the others. Counts are of its notes.
type Voice struct {
	Name     string `json:"name"`
	Notes    int    `json:"notes"`
	Fused    int    `json:"fused"`    // begin within OneSec of another voice's note
	Together int    `json:"together"` // begin with another voice's note, to the nanosecond
	Split    int    `json:"split"`    // leap from the note before so fast and far that the line falls apart
	Either   int    `json:"either"`   // leap so that the line can be heard as one or as two
	NoPulse  int    `json:"no_pulse"` // follow the note before too fast or too slowly for a pulse
	Flutter  int    `json:"flutter"`  // repeat the key too fast to be counted
	Masked   int    `json:"masked"`   // are hidden by a louder note of the same band just before
}

// Pair is two voices whose notes are heard as one attack here and there.
type Pair struct {
	A    string `json:"a"`
	B    string `json:"b"`
	Runs []Run  `json:"runs"` // stretches of notes heard together one by one, the longest first
}

// Run is a stretch in which each note of both voices is heard as one attack with
// one of the other's.
type Run struct {
	Notes   int     `json:"notes"` // of either voice
	FromSec float64 `json:"from_s"`
	ToSec   float64 `json:"to_s"`  // onset of the last
	Exact   bool    `json:"exact"` // one of them begins together to the nanosecond
}

// mostRuns is how many runs of a pair are kept.
const mostRuns = 8

// note is one or several strokes of a voice that begin together.
type note struct {
	ns    int64
	keys  []int16
	level int16
}

func (n note) sec() float64 { return float64(n.ns) / 1e9 }

// top is the highest key: what a line is followed by.
func (n note) top() int16 { return slices.Max(n.keys) }

// Listen reckons what of the events, which come in order of start, can be
// followed; voices are the names that they point to.
func Listen(events iter.Seq[event.Event], voices []string, t Thresholds) *Report {
	lines := make([][]note, len(voices))
	for e := range events {
		if e.Voice >= 0 && int(e.Voice) < len(lines) {
			lines[e.Voice] = add(lines[e.Voice], e)
		}
	}
	r := &Report{Thresholds: t}
	all := merged(lines)
	for i, line := range lines {
		v := Voice{Name: voices[i], Notes: len(line)}
		v.follow(line, &t)
		v.beside(line, all, i, &t)
		r.Voices = append(r.Voices, v)
	}
	for a := range lines {
		for b := a + 1; b < len(lines); b++ {
			if runs := runsOf(lines[a], lines[b], t.OneSec); len(runs) > 0 {
				r.Pairs = append(r.Pairs, Pair{voices[a], voices[b], runs})
			}
		}
	}
	return r
}

// add puts an event into its line: into the last note where it begins with it.
func add(line []note, e event.Event) []note {
	ns := event.Nanoseconds(e.StartSec)
	if n := len(line); n > 0 && line[n-1].ns == ns {
		last := &line[n-1]
		last.keys, last.level = append(last.keys, e.Key), max(last.level, e.Level)
		return line
	}
	return append(line, note{ns, []int16{e.Key}, e.Level})
}

// placed is a note with its voice.
type placed struct {
	note
	voice int
}

// merged are the notes of all lines in order of time.
func merged(lines [][]note) []placed {
	var all []placed
	for i, line := range lines {
		for _, n := range line {
			all = append(all, placed{n, i})
		}
	}
	slices.SortStableFunc(all, func(a, b placed) int { return cmp.Compare(a.ns, b.ns) })
	return all
}

// follow counts where the line alone falls apart or flutters.
func (v *Voice) follow(line []note, t *Thresholds) {
	for i := 1; i < len(line); i++ {
		before, now := line[i-1], line[i]
		sec := now.sec() - before.sec()
		leap := math.Abs(float64(now.top() - before.top()))
		switch most, ok := t.coherence(sec); {
		case ok && leap > most:
			v.Split++
		case ok && leap >= t.FissionSteps:
			v.Either++
		}
		if sec < t.PulseFastSec-1e-9 || sec > t.PulseSlowSec+1e-9 {
			v.NoPulse++
		}
		if leap == 0 && sec < t.FlutterSec {
			v.Flutter++
		}
	}
}

// beside counts notes that others fuse with or hide.
func (v *Voice) beside(line []note, all []placed, voice int, t *Thresholds) {
	one, mask := event.Nanoseconds(t.OneSec), event.Nanoseconds(t.MaskSec)
	from := 0
	for _, n := range line {
		for from < len(all) && all[from].ns < n.ns-max(one, mask) {
			from++
		}
		var fused, together, masked bool
		for i := from; i < len(all) && all[i].ns <= n.ns+one; i++ {
			o := all[i]
			if o.voice == voice {
				continue
			}
			fused = fused || o.ns >= n.ns-one
			together = together || o.ns == n.ns
			masked = masked || o.ns <= n.ns && n.ns-o.ns <= mask && hides(o.note, n, t)
		}
		v.Fused += count(fused)
		v.Together += count(together)
		v.Masked += count(masked)
	}
}

func count(b bool) int {
	if b {
		return 1
	}
	return 0
}

// hides reports whether a note covers all keys of another.
func hides(by, n note, t *Thresholds) bool {
	if float64(by.level-n.level) < t.MaskLevels {
		return false
	}
	for _, key := range n.keys {
		if !slices.ContainsFunc(by.keys, func(k int16) bool { return inBand(k, key) }) {
			return false
		}
	}
	return true
}

// inBand reports whether two keys lie within one band of hearing: half its
// equivalent rectangular width to each side, 24.673 (0.004368 f + 1) Hz around f
// (Glasberg and Moore 1990).
func inBand(by, key int16) bool {
	f := hertz(by)
	return math.Abs(hertz(key)-f) <= 24.673*(0.004368*f+1)/2
}

// hertz is the frequency of a key in equal temperament with A4 at 440 Hz.
func hertz(key int16) float64 { return 440 * math.Exp2(float64(key-69)/12) }

// runsOf are the stretches in which notes of two lines are heard together one by
// one, the longest first, then the earliest.
func runsOf(a, b []note, oneSec float64) []Run {
	one := event.Nanoseconds(oneSec)
	var runs []Run
	for i, j := 0, 0; i < len(a) && j < len(b); {
		run := 0
		exact := false
		for i+run < len(a) && j+run < len(b) && apart(a[i+run], b[j+run]) <= one {
			exact = exact || apart(a[i+run], b[j+run]) == 0
			run++
		}
		switch {
		case run > 0:
			last := max(a[i+run-1].ns, b[j+run-1].ns)
			runs = append(runs, Run{run, min(a[i].sec(), b[j].sec()), float64(last) / 1e9, exact})
			i, j = i+run, j+run
		case a[i].ns < b[j].ns:
			i++
		default:
			j++
		}
	}
	slices.SortStableFunc(runs, func(x, y Run) int {
		return cmp.Or(cmp.Compare(y.Notes, x.Notes), cmp.Compare(count(y.Exact), count(x.Exact)))
	})
	return runs[:min(len(runs), mostRuns)]
}

func apart(a, b note) int64 {
	if a.ns > b.ns {
		return a.ns - b.ns
	}
	return b.ns - a.ns
}

// HeardApart is from which instants on a voice at another speed, near to its own,
// is heard apart from where it should be: off is the other speed over its own, the
// two being at one place at meetSec, and its notes reaching from firstSec to
// lastSec. An onset t is then t - meet times (1/off - 1) beside its place. Before
// and after are the nearest such instants on each side; NaN: it is never heard.
func (t *Thresholds) HeardApart(off, meetSec, firstSec, lastSec float64) (before, after float64) {
	drift := math.Abs(1/off - 1)
	before, after = math.NaN(), math.NaN()
	if drift == 0 {
		return before, after
	}
	if at := meetSec - t.OneSec/drift; at >= firstSec {
		before = at
	}
	if at := meetSec + t.OneSec/drift; at <= lastSec {
		after = at
	}
	return before, after
}
