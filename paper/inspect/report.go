package inspect

import (
	"cmp"
	"iter"
	"math"
	"slices"

	"rollwright/music/piece"
	"rollwright/paper/roll"
	"rollwright/text/source"
)

// Facts are what a roll measures, whether good or bad.
type Facts struct {
	Piano        string      `json:"piano"`
	Instrument   string      `json:"instrument"`
	LengthMM     float64     `json:"length_mm"` // leader and trailer included
	MusicSec     float64     `json:"music_s"`
	Slots        int         `json:"slots"`
	Punches      int         `json:"punches"`
	TempoFirst   float64     `json:"roll_tempo_at_start"`
	TempoLast    float64     `json:"roll_tempo_at_end"`
	AtOnce       int         `json:"most_notes_at_once"`
	AtOnceMM     float64     `json:"most_notes_at_once_mm"`
	Rate         int         `json:"most_notes_in_a_second"`
	RateSec      float64     `json:"most_notes_in_a_second_s"` // when that second ends
	RowShare     float64     `json:"most_of_a_row_cut_away"`   // 0 to 1
	BridgeMM     float64     `json:"shortest_bridge_mm"`       // between two strokes of a key; 0: no key is struck twice
	Steps        []StepFact  `json:"steps,omitempty"`          // of voices in file order; none on a continuous perforator
	Levels       []LevelFact `json:"levels,omitempty"`         // of voices in file order
	OutsideCount int         `json:"outside_compass"`
}

// StepFact is how far a voice falls beside its times on the perforator's rows.
type StepFact struct {
	Voice     string  `json:"voice"`
	LargestMS float64 `json:"largest_ms"`
	RMSMS     float64 `json:"rms_ms"`
}

func (f *Facts) bridge(mm float64) {
	if f.BridgeMM == 0 || mm < f.BridgeMM {
		f.BridgeMM = mm
	}
}

// close completes the facts of the roll.
func (s *sweep) close() {
	f, r := &s.facts, s.roll
	f.Piano, f.Instrument, f.LengthMM, f.MusicSec = r.Name, s.in.Name, r.LengthMM(), r.EndSec
	f.TempoFirst, f.TempoLast = s.in.Transport.RollTempo, s.in.Transport.TempoAt(r.EndSec)
	f.OutsideCount = len(r.Outside)
}

// Group is what repeats: findings of one kind and severity, on one roll, of
// one voice or pair of voices; where gestures have a part in them, of the same
// gestures.
type Group struct {
	Kind     Kind
	Severity Severity
	Piano    int
	Voice    int // -1: none, or several
	Voices   int // how many voices are concerned; 0: none
	Count    int
	First    Finding // in order of place
	Last     Finding
	Worst    Finding // by the measure of its kind

	parts  []Finding // one of each of the first voices
	latest int       // the voice absorbed last
}

// Report is all findings in groups, with the facts of every roll.
type Report struct {
	Groups []Group // worst severity first, then in the order of the kinds, pianos, voices
	Facts  []Facts // a roll each
	Counts [3]int  // findings of each Severity

	piece   *piece.Piece
	rolls   []*roll.Roll
	holds   map[int]float64 // of a voice: the share that clears all bridges that a hold can clear
	answers []Answer
	trials  *trials
}

// Forbid reports whether something cannot be played.
func (r *Report) Forbid() bool { return r.Counts[Forbids] > 0 }

// All are the findings one by one.
func (r *Report) All() iter.Seq[Finding] { return all(r.piece, r.rolls, r.answers, r.trials) }

// mostGroups bounds the memory of a report: pairs of voices beyond it count
// with their first voice.
const mostGroups = 10_000

// groupKey tells groups apart.
type groupKey struct {
	kind         Kind
	severity     Severity
	piano        int
	voice, other int
	gestures     [2]source.Pos // of a pair that gestures have a part in; not known for all others
}

// Check gathers the findings of all rolls. Where no piece made them p is nil, and
// no finding has a remedy that would change one.
func Check(p *piece.Piece, rolls []*roll.Roll) *Report { return check(p, rolls, nil) }

func check(p *piece.Piece, rolls []*roll.Roll, answers []Answer) *Report {
	report := &Report{piece: p, rolls: rolls, answers: answers, trials: &trials{known: map[Change][3]int{}}}
	index := map[groupKey]int{}
	for _, r := range rolls {
		s := newSweep(p, r, func(f Finding) bool {
			report.add(index, f)
			return true
		})
		s.trials, s.answers = report.trials, answers
		s.run()
		report.Facts = append(report.Facts, s.facts)
	}
	slices.SortStableFunc(report.Groups, func(a, b Group) int {
		return cmp.Or(-cmp.Compare(a.Severity, b.Severity), cmp.Compare(a.Kind, b.Kind), cmp.Compare(a.Piano, b.Piano),
			cmp.Compare(a.Voice, b.Voice), cmp.Compare(a.First.Other, b.First.Other),
			cmp.Compare(a.First.At.Line, b.First.At.Line), cmp.Compare(a.First.At.Column, b.First.At.Column))
	})
	return report
}

func (r *Report) add(index map[groupKey]int, f Finding) {
	r.Counts[f.Severity]++
	if share, ok := f.bridgeHold(); ok && (r.holds[f.earlier()] == 0 || share < r.holds[f.earlier()]) {
		if r.holds == nil {
			r.holds = map[int]float64{}
		}
		r.holds[f.earlier()] = share
	}
	key := groupKey{f.Kind, f.Severity, f.Piano, f.Voice, f.Other, [2]source.Pos{}}
	if f.gestures != nil {
		key.gestures = [2]source.Pos{f.Before, f.At}
	}
	i, ok := index[key]
	if !ok && len(index) >= mostGroups {
		key.other = -1
		i, ok = index[key]
	}
	if !ok {
		index[key] = len(r.Groups)
		r.Groups = append(r.Groups, newGroup(f))
		return
	}
	g := &r.Groups[i]
	g.Count++
	g.Last = f
	if f.worse(&g.Worst) {
		g.Worst = f
	}
}

// partsNamed is how many voices of a group are named.
const partsNamed = 3

func newGroup(f Finding) Group {
	g := Group{Kind: f.Kind, Severity: f.Severity, Piano: f.Piano, Voice: f.Voice, Count: 1, First: f, Last: f, Worst: f}
	g.latest = f.Voice
	if f.Voice >= 0 {
		g.Voices = 1
		g.parts = []Finding{f}
	}
	return g
}

// worse compares two findings of one kind by how far they are from good.
func (f *Finding) worse(g *Finding) bool {
	switch f.Kind {
	case StrokeLost, Repetition, WeakLine, ShortBridge, UnclearWeb, TooShort, ShortSlot, PedalLost, NearEdge:
		return exceeds(g.Value, f.Value)
	case OutsideCompass, AccentLost:
		return exceeds(math.Abs(f.Value-f.Limit), math.Abs(g.Value-g.Limit))
	}
	return exceeds(f.Value, g.Value)
}

// exceeds is a > b by more than arithmetic can have made, so that the first of
// equals stays the worst.
func exceeds(a, b float64) bool { return a-b > 1e-6*(math.Abs(a)+math.Abs(b)) }

// Fold is the groups in at most about so many: where there are more, those of
// one kind and severity become one, whatever their voices and pianos.
func (r *Report) Fold(most int) []Group {
	if len(r.Groups) <= most {
		return r.Groups
	}
	var out []Group
	for _, g := range r.Groups {
		n := len(out)
		if n == 0 || out[n-1].Kind != g.Kind || out[n-1].Severity != g.Severity {
			out = append(out, g)
			continue
		}
		out[n-1].absorb(g)
	}
	return out
}

func (g *Group) absorb(o Group) {
	if g.latest != o.Voice {
		g.Voices += o.Voices
		g.Voice, g.latest = -1, o.Voice
		if len(g.parts) < partsNamed {
			g.parts = append(slices.Clip(g.parts), o.parts...)
		}
	}
	if g.Piano != o.Piano {
		g.Piano = -1
	}
	g.Count += o.Count
	if o.First.StartSec < g.First.StartSec {
		g.First = o.First
	}
	if o.Last.StartSec > g.Last.StartSec {
		g.Last = o.Last
	}
	if o.Worst.worse(&g.Worst) {
		g.Worst = o.Worst
	}
}
