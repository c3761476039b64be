package show

import (
	"math"
	"slices"
	"strconv"
	"strings"

	"rollwright/exact"
	"rollwright/music/perform"
	"rollwright/music/piece"
	"rollwright/music/pitch"
	"rollwright/text/words"
)

// An idea is something that a piece does beside laying color on talea. Each is told
// only where the performance shows it: what the text asks for is held against the
// notes before a word is said of it.

// ideaSec is how much of an idea is heard.
const ideaSec = 24

// mostSaid is of how many voices an idea says what they do.
const mostSaid = 3

// foundIdea is an idea in a piece.
type foundIdea struct {
	voices []int // that show it, in file order
	lead   int
	other  int // -1: none
	figure string
	tell   func(t *teller, s *Step) []string // paragraphs for the audience
}

// ideas are all ideas of the language, each with the name of its step and what finds
// it, the most telling first.
var ideas = []struct {
	name string
	find func(*Input) *foundIdea
}{
	{"mirror", findMirror},
	{"backward", findBackward},
	{"faster", findFaster},
	{"growing", findGrowing},
	{"stairs", findStairs},
	{"stretching", findStretching},
	{"even", findEven},
	{"sections", findSections},
	{"meet", findMeet},
	{"bent", findBent},
	{"gestures", findGestures},
	{"held", findHeld},
	{"pedal", findPedal},
	{"loudness", findLoudness},
	{"pianos", findPianos},
}

// ideaNames are the names of their steps.
func ideaNames() []string {
	var names []string
	for _, i := range ideas {
		names = append(names, i.name)
	}
	return names
}

// ideaSteps are the steps of all ideas that a piece has.
func ideaSteps(in *Input) []*Step {
	var steps []*Step
	for _, i := range ideas {
		f := i.find(in)
		if f == nil {
			continue
		}
		s := &Step{Name: i.name, Kind: Idea, Hear: Score, Voices: f.voices, lead: f.lead, other: f.other, idea: f}
		start, end := math.Inf(1), 0.0
		for _, v := range f.voices {
			line := in.Performance.Lines[v]
			start, end = min(start, line.StartSec), max(end, line.EndSec)
		}
		if f.other >= 0 { // both are heard
			start = max(in.Performance.Lines[f.lead].StartSec, in.Performance.Lines[f.other].StartSec)
			if e := min(in.Performance.Lines[f.lead].EndSec, in.Performance.Lines[f.other].EndSec); start > e {
				start = min(in.Performance.Lines[f.lead].StartSec, in.Performance.Lines[f.other].StartSec)
			}
		}
		s.FromSec, s.ToSec = max(0, start), min(end, start+ideaSec)
		steps = append(steps, s)
	}
	return steps
}

// idea gives the step of an idea its words.
func (t *teller) idea(s *Step) {
	s.Title = t.talk.Say("idea."+s.Name+".title", nil)
	s.Text = s.idea.tell(t, s)
	s.Say = []string{t.book.Say("idea."+s.Name+".say", nil)}
}

// struck are the sounding items of a voice, in order.
func struck(in *Input, voice int) []perform.Item {
	var list []perform.Item
	for item := range in.Performance.Lines[voice].All() {
		if !item.Silent {
			list = append(list, item)
		}
	}
	return list
}

// keysOf are the keys of each note of a voice.
func keysOf(in *Input, voice int) [][]int {
	var all [][]int
	line := in.Performance.Lines[voice]
	for _, item := range struck(in, voice) {
		all = append(all, slices.Sorted(slices.Values(line.Keys(item, nil))))
	}
	return all
}

// leastAlike is how many notes have to agree.
const leastAlike = 5

// mirrored is the sum of the keys of each two notes of two voices where it is always
// the same, and the voices do move.
func mirrored(a, b [][]int) (sum int, ok bool) {
	n := min(len(a), len(b))
	if n < leastAlike {
		return 0, false
	}
	moves := false
	for i := range n {
		if len(a[i]) != len(b[i]) {
			return 0, false
		}
		for k := range a[i] {
			s := a[i][k] + b[i][len(b[i])-1-k]
			if i == 0 && k == 0 {
				sum = s
			}
			if s != sum {
				return 0, false
			}
		}
		moves = moves || a[i][0] != a[0][0]
	}
	return sum, moves
}

// findMirror finds a voice that is another upside down, note by note.
func findMirror(in *Input) *foundIdea {
	for v := range in.piece().Voices {
		if in.piece().Voices[v].Invert == nil || in.Performance.Lines[v].Notes < leastAlike {
			continue
		}
		mine := keysOf(in, v)
		for o := range in.piece().Voices {
			if o == v {
				continue
			}
			sum, ok := mirrored(keysOf(in, o), mine)
			if !ok {
				continue
			}
			return &foundIdea{voices: sorted(o, v), lead: o, other: v, figure: "contour",
				tell: func(t *teller, s *Step) []string {
					args := words.Args{"a": t.voiceOf(o).Name, "b": t.voiceOf(v).Name}
					text := t.talk.Say("idea.mirror.text", args)
					low, high := t.book.Note(pitch.Name(sum/2)), t.book.Note(pitch.Name(sum/2+1))
					if sum%2 == 0 {
						return []string{text + " " + t.talk.Say("idea.mirror.axis", words.Args{"key": low})}
					}
					return []string{text + " " + t.talk.Say("idea.mirror.between", words.Args{"low": low, "high": high})}
				}}
		}
	}
	return nil
}

func sorted(voices ...int) []int { slices.Sort(voices); return voices }

// findBackward finds a voice that plays the notes of another from the last to the
// first, or one that goes through its own so.
func findBackward(in *Input) *foundIdea {
	for v := range in.piece().Voices {
		if !in.piece().Voices[v].Backward || in.Performance.Lines[v].Notes < leastAlike {
			continue
		}
		mine := keysOf(in, v)
		slices.Reverse(mine)
		for o := range in.piece().Voices {
			theirs := keysOf(in, o)
			if o == v || in.piece().Voices[o].Backward || len(theirs) != len(mine) {
				continue
			}
			by, ok := apart(theirs, mine)
			if !ok {
				continue
			}
			return &foundIdea{voices: sorted(o, v), lead: o, other: v, figure: "contour",
				tell: func(t *teller, s *Step) []string {
					args := words.Args{"a": t.voiceOf(o).Name, "b": t.voiceOf(v).Name, "steps": max(by, -by)}
					switch {
					case by > 0:
						return []string{t.talk.Say("idea.backward.higher", args)}
					case by < 0:
						return []string{t.talk.Say("idea.backward.lower", args)}
					}
					return []string{t.talk.Say("idea.backward.text", args)}
				}}
		}
		return &foundIdea{voices: []int{v}, lead: v, other: -1, figure: "contour",
			tell: func(t *teller, s *Step) []string {
				return []string{t.talk.Say("idea.backward.alone", words.Args{"voice": t.voiceOf(v).Name})}
			}}
	}
	return nil
}

// apart is by how many keys b is above a, where that is the same for all notes, and
// the voices do move.
func apart(a, b [][]int) (by int, ok bool) {
	moves := false
	for i := range a {
		if len(a[i]) != len(b[i]) || len(a[i]) == 0 {
			return 0, false
		}
		for k := range a[i] {
			if i == 0 && k == 0 {
				by = b[i][k] - a[i][k]
			}
			if b[i][k]-a[i][k] != by {
				return 0, false
			}
		}
		moves = moves || a[i][0] != a[0][0]
	}
	return by, moves
}

// findFaster finds voices whose own tempo changes.
func findFaster(in *Input) *foundIdea {
	f := &foundIdea{lead: -1, other: -1, figure: "tempo"}
	for v, line := range in.Performance.Lines {
		a, b := ends(line)
		if len(in.piece().Voices[v].Path) > 0 && line.Notes >= leastAlike && math.Abs(a/b-1) > 0.01 {
			f.voices = append(f.voices, v)
		}
	}
	if len(f.voices) == 0 {
		return nil
	}
	f.lead = f.voices[0]
	f.tell = func(t *teller, s *Step) []string {
		return t.each(f.voices, func(v int) string {
			line := in.Performance.Lines[v]
			a, b := ends(line)
			key := "idea.faster.text"
			if b < a {
				key = "idea.faster.slower"
			}
			return t.talk.Say(key, words.Args{"voice": t.voiceOf(v).Name, "from": t.short(a), "to": t.short(b),
				"span": t.length(line.EndSec - line.StartSec)})
		})
	}
	return f
}

// ends are the tempo of a line at its beginning and at its end.
func ends(line *perform.Line) (first, last float64) {
	var end float64
	for item := range line.All() {
		end = item.At + item.Units
	}
	return line.TempoAt(0), line.TempoAt(end)
}

// each says a sentence of each voice, and how many more there are.
func (t *teller) each(voices []int, sentence func(v int) string) []string {
	var said []string
	for i, v := range voices {
		if i == mostSaid && len(voices) > mostSaid+1 {
			said = append(said, t.talk.Say("idea.more", words.Args{"voices": len(voices) - mostSaid}))
			break
		}
		said = append(said, sentence(v))
	}
	return []string{strings.Join(said, " ")}
}

// short is a number as one says it: three digits that count.
func (t *teller) short(x float64) string {
	return t.book.Decimal(strconv.FormatFloat(x, 'g', 3, 64))
}

// one reports whether a factor changes nothing; so does one that is not given.
func one(x exact.Real) bool { return x.Equal(exact.Real{}) == exact.Yes }

// findGrowing finds voices whose notes are each a little longer than the one before,
// or shorter.
func findGrowing(in *Input) *foundIdea {
	f := &foundIdea{other: -1, figure: "gaps"}
	for v := range in.piece().Voices {
		if !one(in.piece().Voices[v].EachNote) && in.Performance.Lines[v].Items >= leastAlike {
			f.voices = append(f.voices, v)
		}
	}
	if len(f.voices) == 0 {
		return nil
	}
	f.lead, f.figure = f.voices[0], "lines"
	f.tell = func(t *teller, s *Step) []string {
		return t.each(f.voices, func(v int) string {
			factor := t.voiceOf(v).EachNote.Float64()
			items := in.Performance.Lines[v].Items
			last := math.Pow(factor, float64(items-1))
			key := "idea.growing.text"
			if factor < 1 {
				key, last = "idea.growing.shrinking", 1/last
			}
			return t.talk.Say(key, words.Args{"voice": t.voiceOf(v).Name, "factor": t.decimal(factor), "last": t.short(last)})
		})
	}
	return f
}

// stepUp is by how many keys the notes of a voice lie higher at each time through its
// color, or its talea, than at the time before; ok where that is always the same, and
// not nothing.
func stepUp(in *Input, voice int, talea bool) (by int, ok bool) {
	line := in.Performance.Lines[voice]
	type place struct{ statement, member int }
	low := map[place]int{}
	last := 0
	for _, item := range struck(in, voice) {
		at := place{item.Color, item.ColorPlace}
		if talea {
			at = place{item.Talea, item.TaleaPlace}
		}
		keys := line.Keys(item, nil)
		if len(keys) == 0 {
			return 0, false
		}
		low[at] = slices.Min(keys)
		last = max(last, at.statement)
	}
	found := false
	for at, key := range low {
		before, there := low[place{at.statement - 1, at.member}]
		if !there {
			continue
		}
		if found && key-before != by {
			return 0, false
		}
		by, found = key-before, true
	}
	return by, found && by != 0 && last >= 2
}

// findStairs finds voices that lie higher, or lower, each time through.
func findStairs(in *Input) *foundIdea {
	type stair struct {
		voice, by int
		talea     bool
	}
	var stairs []stair
	f := &foundIdea{other: -1, figure: "contour"}
	for v := range in.piece().Voices {
		voice := &in.piece().Voices[v]
		color, talea := moves(&voice.PerColor), moves(&voice.PerTalea)
		if !color && !talea {
			continue
		}
		if by, ok := stepUp(in, v, !color); ok {
			stairs = append(stairs, stair{v, by, !color})
			f.voices = append(f.voices, v)
		}
	}
	if len(stairs) == 0 {
		return nil
	}
	f.lead = f.voices[0]
	f.tell = func(t *teller, s *Step) []string {
		return t.each(f.voices, func(v int) string {
			st := stairs[slices.IndexFunc(stairs, func(s stair) bool { return s.voice == v })]
			key := "idea.stairs.color"
			if st.talea {
				key = "idea.stairs.talea"
			}
			if key += "-up"; st.by < 0 {
				key = strings.TrimSuffix(key, "-up") + "-down"
			}
			return t.talk.Say(key, words.Args{"voice": t.voiceOf(v).Name, "steps": max(st.by, -st.by)})
		})
	}
	return f
}

// moves reports whether a change moves statements up or down.
func moves(c *piece.Change) bool {
	return len(c.Transpose) > 0 || c.TransposeEach != 0 || len(c.TransposeSteps) > 0 || c.TransposeStepsEach != 0
}

// slower is how many times as long each time through is as the one before; ok where
// that is always the same, and not once.
func slower(in *Input, voice int, talea bool) (factor float64, ok bool) {
	type place struct{ statement, member int }
	units := map[place]float64{}
	for item := range in.Performance.Lines[voice].All() {
		at := place{item.Talea, item.TaleaPlace}
		if !talea {
			if item.Silent {
				continue
			}
			return 0, false // what a color stretches are other durations each time
		}
		units[at] = item.Units
	}
	for at, u := range units {
		before, there := units[place{at.statement - 1, at.member}]
		if !there {
			continue
		}
		if ok && math.Abs(u/before/factor-1) > 1e-6 {
			return 0, false
		}
		factor, ok = u/before, true
	}
	return factor, ok && math.Abs(factor-1) > 1e-6
}

// findStretching finds voices that are slower, or faster, each time through.
func findStretching(in *Input) *foundIdea {
	f := &foundIdea{other: -1, figure: "lines"}
	factors := map[int]float64{}
	for v := range in.piece().Voices {
		c := &in.piece().Voices[v].PerTalea
		if one(c.StretchEach) && len(c.Stretch) == 0 {
			continue
		}
		if by, ok := slower(in, v, true); ok {
			factors[v] = by
			f.voices = append(f.voices, v)
		}
	}
	if len(f.voices) == 0 {
		return nil
	}
	f.lead = f.voices[0]
	f.tell = func(t *teller, s *Step) []string {
		return t.each(f.voices, func(v int) string {
			return t.talk.Say("idea.stretching.text", words.Args{"voice": t.voiceOf(v).Name, "factor": t.decimal(factors[v])})
		})
	}
	return f
}

// even is the strokes of a talea on its pulses where they lie as even as whole
// pulses allow, and not simply even: k onsets on n units, the i-th at the whole part
// of (i n + r)/k, for some r. Such patterns have gaps of two lengths that differ by
// one, spread alike (E. Bjorklund's problem, "The Theory of Rep-Rate Pattern
// Generation in the SNS Timing System", 2003; their musical use: G. Toussaint, "The
// Euclidean Algorithm Generates Traditional Musical Rhythms", 2005, both cited from
// memory).
func even(talea []piece.Duration) (strokes, pulses int, gaps []int, ok bool) {
	var onsets []int
	at := 0
	for _, d := range talea {
		if d.Units.Den() != 1 {
			return 0, 0, nil, false
		}
		if !d.Silent {
			onsets = append(onsets, at)
		}
		at += int(d.Units.Num())
	}
	strokes, pulses = len(onsets), at
	if strokes < 3 || pulses <= strokes || pulses%strokes == 0 || pulses > 64 {
		return 0, 0, nil, false
	}
	for i, o := range onsets {
		next := onsets[(i+1)%strokes]
		if i == strokes-1 {
			next += pulses
		}
		gaps = append(gaps, next-o)
	}
	for r := range strokes {
		fits := true
		for i := range strokes {
			fits = fits && ((i+1)*pulses+r)/strokes-(i*pulses+r)/strokes == gaps[i]
		}
		if fits {
			return strokes, pulses, gaps, true
		}
	}
	return 0, 0, nil, false
}

// findEven finds voices whose strokes are as even as can be, in a piece in which
// they are at least half of all, and such patterns are more than an accident: one of
// five strokes, or several kinds.
func findEven(in *Input) *foundIdea {
	f := &foundIdea{other: -1, figure: "ring"}
	long, most, patterns := 0, 0, map[[2]int]bool{}
	for v := range in.piece().Voices {
		if in.Performance.Lines[v].Notes < leastAlike {
			continue
		}
		long++
		if strokes, pulses, _, ok := even(in.piece().Voices[v].Talea); ok {
			f.voices = append(f.voices, v)
			most, patterns[[2]int{strokes, pulses}] = max(most, strokes), true
		}
	}
	if len(f.voices) == 0 || 2*len(f.voices) < long || most < 5 && len(patterns) < 2 {
		return nil
	}
	f.lead = f.voices[0]
	f.tell = func(t *teller, s *Step) []string {
		return t.each(f.voices, func(v int) string {
			strokes, pulses, gaps, _ := even(t.voiceOf(v).Talea)
			var list []string
			for _, g := range gaps {
				list = append(list, strconv.Itoa(g))
			}
			return t.talk.Say("idea.even.text", words.Args{"voice": t.voiceOf(v).Name, "strokes": strokes, "pulses": pulses,
				"gaps": strings.Join(list, " ")})
		})
	}
	return f
}

// findSections finds a piece in sections.
func findSections(in *Input) *foundIdea {
	p := in.piece()
	if len(p.Sections) < 2 {
		return nil
	}
	f := &foundIdea{voices: allVoices(in), lead: -1, other: -1, figure: "lines"}
	f.tell = func(t *teller, s *Step) []string {
		text := []string{t.talk.Say("idea.sections.text", words.Args{"sections": len(p.Sections)})}
		for i, section := range p.Sections {
			if i == 6 {
				break
			}
			span := in.Performance.Sections[i]
			key := "idea.sections.one"
			if section.Like != "" {
				key = "idea.sections.like"
			}
			text = append(text, t.talk.Say(key, words.Args{"section": section.Name, "like": section.Like,
				"from": t.clock(span.StartSec), "to": t.clock(span.EndSec)}))
		}
		return []string{strings.Join(text, " ")}
	}
	return f
}

// findMeet finds a voice, outside canons, whose beginning was reckoned back from a
// note that falls on another's.
func findMeet(in *Input) *foundIdea {
	for v := range in.piece().Voices {
		place := in.piece().Voices[v].Place
		o := place.Ref.Voice
		if place.Kind != piece.MeetWith || o < 0 || place.LaterSec.Sign() != 0 || place.LaterUnits.Sign() != 0 {
			continue
		}
		mine, theirs := struckAt(in, v, place.Mine), struckAt(in, o, place.Theirs)
		if mine == nil || theirs == nil || math.Abs(mine.StartSec-theirs.StartSec) > 1e-6 {
			continue
		}
		return &foundIdea{voices: sorted(o, v), lead: o, other: v, figure: "lines",
			tell: func(t *teller, s *Step) []string {
				s.FromSec = max(0, mine.StartSec-ideaSec/2)
				s.ToSec = min(in.Performance.EndSec, mine.StartSec+ideaSec/4)
				return []string{t.talk.Say("idea.meet.text", words.Args{"a": t.voiceOf(v).Name, "b": t.voiceOf(o).Name,
					"mine": mine.Note, "theirs": theirs.Note, "at": t.clock(mine.StartSec),
					"start": t.clock(in.Performance.Lines[v].StartSec)})}
			}}
	}
	return nil
}

// struckAt is the note that begins at a point of a voice; nil where the point is none
// of a note's beginning.
func struckAt(in *Input, voice int, p piece.Point) *perform.Item {
	list := struck(in, voice)
	if p.Kind != piece.AtNote || p.N < 1 || p.N > len(list) {
		return nil
	}
	i := slices.IndexFunc(list, func(item perform.Item) bool { return item.Note == p.N })
	if i < 0 {
		return nil
	}
	return &list[i]
}

// findBent finds a piece, or a section, whose time is bent as a whole.
func findBent(in *Input) *foundIdea {
	p := in.piece()
	f := &foundIdea{voices: allVoices(in), lead: -1, other: -1, figure: "tempo"}
	if len(p.Path) > 0 {
		f.tell = func(t *teller, s *Step) []string { return []string{t.talk.Say("idea.bent.text", nil)} }
		return f
	}
	for i := range p.Sections {
		if len(p.Sections[i].Path) == 0 {
			continue
		}
		f.tell = func(t *teller, s *Step) []string {
			return []string{t.talk.Say("idea.bent.section", words.Args{"section": p.Sections[i].Name})}
		}
		f.voices = nil
		for v := range p.Voices {
			if p.Voices[v].Section == i {
				f.voices = append(f.voices, v)
			}
		}
		if len(f.voices) > 0 {
			f.lead = f.voices[0]
			return f
		}
	}
	return nil
}

// gestureKeys are the words for the kinds of gesture.
var gestureKeys = map[piece.GestureKind]string{
	piece.Gliss: "gliss", piece.Trill: "trill", piece.Repeat: "repeat", piece.Cluster: "cluster", piece.Spread: "spread",
	piece.Grace: "grace",
}

// findGestures finds voices some of whose notes are many strokes.
func findGestures(in *Input) *foundIdea {
	f := &foundIdea{other: -1, figure: "paper"}
	notes, strokes := map[int]int{}, map[int]int{}
	kinds := map[int][]piece.GestureKind{}
	gesture := map[[2]int]bool{} // voice, note
	for v := range in.piece().Voices {
		for _, item := range struck(in, v) {
			k := in.piece().Voices[v].Color[item.ColorPlace].Gesture.Manner()
			if k == piece.Plain {
				continue
			}
			notes[v]++
			gesture[[2]int{v, item.Note}] = true
			if !slices.Contains(kinds[v], k) {
				kinds[v] = append(kinds[v], k)
			}
		}
	}
	for e := range in.Performance.Events() {
		if gesture[[2]int{int(e.Voice), int(e.Note)}] {
			strokes[int(e.Voice)]++
		}
	}
	for v := range in.piece().Voices {
		if strokes[v] > notes[v] {
			f.voices = append(f.voices, v)
		}
	}
	if len(f.voices) == 0 {
		return nil
	}
	f.lead = f.voices[0]
	f.tell = func(t *teller, s *Step) []string {
		return t.each(f.voices, func(v int) string {
			var names []string
			slices.Sort(kinds[v])
			for _, k := range kinds[v] {
				names = append(names, t.book.Say("idea.gestures."+gestureKeys[k], nil))
			}
			return t.talk.Say("idea.gestures.text", words.Args{"voice": t.voiceOf(v).Name, "notes": notes[v], "all": t.notes(v),
				"kinds": t.list(names), "strokes": strokes[v]})
		})
	}
	return f
}

// findHeld finds voices whose notes are held by a series of their own, for a time, or
// as short as can be; a share that is always the same is how one plays, and no idea.
func findHeld(in *Input) *foundIdea {
	f := &foundIdea{other: -1, figure: "paper"}
	for v := range in.piece().Voices {
		if in.Performance.Lines[v].Notes < fewNotes {
			continue
		}
		if holds := in.piece().Voices[v].Hold; len(holds) > 1 || holds[0].Kind != piece.HoldShare {
			f.voices = append(f.voices, v)
		}
	}
	if len(f.voices) == 0 {
		return nil
	}
	f.lead = f.voices[0]
	f.tell = func(t *teller, s *Step) []string {
		return t.each(f.voices, func(v int) string {
			holds, args := t.voiceOf(v).Hold, words.Args{"voice": t.voiceOf(v).Name}
			switch h := holds[0]; {
			case len(holds) > 1:
				args["holds"] = len(holds)
				return t.talk.Say("idea.held.cycle", args)
			case h.Kind == piece.HoldSingle:
				return t.talk.Say("idea.held.single", args)
			default:
				args["span"] = t.milliseconds(h.Sec.Float64())
				return t.talk.Say("idea.held.time", args)
			}
		})
	}
	return f
}

// milliseconds is a short time as one says it.
func (t *teller) milliseconds(sec float64) string { return t.short(sec*1000) + " ms" }

// findPedal finds voices with the sustaining pedal.
func findPedal(in *Input) *foundIdea {
	f := &foundIdea{other: -1, figure: "paper"}
	for v := range in.piece().Voices {
		if p := &in.piece().Voices[v].Pedal; p.Full || len(p.List) > 0 {
			f.voices = append(f.voices, v)
		}
	}
	if len(f.voices) == 0 {
		return nil
	}
	f.lead = f.voices[0]
	f.tell = func(t *teller, s *Step) []string {
		var names []string
		for _, v := range f.voices {
			names = append(names, t.voiceOf(v).Name)
		}
		return []string{t.talk.Say("idea.pedal.text", words.Args{"voices": t.list(names), "count": len(names)})}
	}
	return f
}

// findLoudness finds a voice whose levels are a cycle of their own, not as long as
// color and talea.
func findLoudness(in *Input) *foundIdea {
	for v := range in.piece().Voices {
		voice := &in.piece().Voices[v]
		strokes := 0
		for _, d := range voice.Talea {
			if !d.Silent {
				strokes++
			}
		}
		levels, pitches := len(voice.Dynamics), len(voice.Color)
		ramp := slices.ContainsFunc(voice.Dynamics, func(d piece.Dynamic) bool { return d.Over > 0 })
		own := slices.ContainsFunc(voice.Color, func(p piece.Pitch) bool { return p.Level > 0 })
		changed := len(voice.PerColor.Dynamics)+len(voice.PerTalea.Dynamics) > 0
		if levels < 2 || ramp || own || changed || levels == strokes || levels == pitches || voice.FromLine ||
			in.Performance.Lines[v].Notes < 2*levels {
			continue
		}
		return &foundIdea{voices: []int{v}, lead: v, other: -1, figure: "notation",
			tell: func(t *teller, s *Step) []string {
				both := strokes * pitches / gcd(strokes, pitches)
				all := both * levels / gcd(both, levels)
				return []string{t.talk.Say("idea.loudness.text", words.Args{"voice": voice.Name, "levels": levels,
					"pitches": pitches, "strokes": strokes, "notes": all})}
			}}
	}
	return nil
}

// findPianos finds a piece for several pianos.
func findPianos(in *Input) *foundIdea {
	p := in.piece()
	if len(p.Pianos) < 2 {
		return nil
	}
	f := &foundIdea{voices: allVoices(in), lead: -1, other: -1, figure: "lines"}
	f.tell = func(t *teller, s *Step) []string {
		text := []string{t.talk.Say("idea.pianos.text", words.Args{"pianos": len(p.Pianos)})}
		for i := range p.Pianos {
			var names []string
			for v := range p.Voices {
				if p.Voices[v].Piano == i {
					names = append(names, p.Voices[v].Name)
				}
			}
			if len(names) > 0 && len(names) <= 6 {
				text = append(text, t.talk.Say("idea.pianos.plays", words.Args{"piano": p.Pianos[i].Name,
					"voices": t.list(names)}))
			} else if len(names) > 0 {
				text = append(text, t.talk.Say("idea.pianos.many", words.Args{"piano": p.Pianos[i].Name,
					"voices": len(names)}))
			}
		}
		return []string{strings.Join(text, " ")}
	}
	return f
}
