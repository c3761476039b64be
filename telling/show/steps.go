package show

import (
	"slices"

	"rollwright/music/event"
	"rollwright/music/perform"
	"rollwright/sound"
)

// How long steps are when nothing says otherwise, in seconds: long enough to
// hear a series come again, short enough to keep an audience. Chosen by ear.
const (
	enoughSec  = 12 // of a rhythm or melody alone, at least two times through
	mostSec    = 30 // of the same, even when one time through takes longer
	againstSec = 45
	voiceSec   = 24
	leadInSec  = 2 // before a voice enters
	beforeSec  = 6 // a meeting
	afterSec   = 4
)

// fewNotes is how many notes a voice needs to have a step of its own; a last
// chord is heard with all the others.
const fewNotes = 3

// automatic are the steps that follow from the piece.
func automatic(in *Input) []*Step {
	lead := leadVoice(in)
	steps := []*Step{{Name: "title", Kind: Title, Hear: Nothing, lead: lead, other: -1}}
	own := ideaSteps(in)
	for i, s := range own {
		s.Besides = i >= mostIdeas
	}
	first := min(len(own), mostIdeas)
	steps = append(steps, own[:first]...)
	for _, s := range []*Step{
		{Name: "rhythm", Kind: RhythmAlone, Hear: Rhythm},
		{Name: "melody", Kind: MelodyAlone, Hear: Melody},
		{Name: "together", Kind: Together, Hear: Score},
	} {
		s.lead, s.other, s.Voices = lead, -1, []int{lead}
		s.retime(in)
		steps = append(steps, s)
		if s.Kind == RhythmAlone {
			steps = appendStep(steps, hallStep(in, lead))
		}
	}
	shown := []int{lead}
	if against := againstStep(in, lead); against != nil {
		steps = append(steps, against)
		shown = against.Voices
	}
	steps = appendStep(steps, intervalStep(in, lead))
	steps = append(steps, voiceSteps(in, shown)...)
	steps = append(steps, &Step{Name: "all", Kind: All, Voices: allVoices(in), ToSec: in.Performance.EndSec, lead: lead,
		other: -1})
	steps = append(append(steps, meetingSteps(in)...), own[first:]...)
	besides(steps)
	return steps
}

// appendStep adds a step where there is one.
func appendStep(steps []*Step, s *Step) []*Step {
	if s == nil {
		return steps
	}
	return append(steps, s)
}

// mostIdeas is how many of a piece's ideas are told one after the other, mostSteps
// how many steps a talk has before it says the same of more voices and meetings.
const (
	mostIdeas = 3
	mostSteps = 12
)

// besides sets apart what a talk need not go through: of more steps than one listens
// to, first the later everyday meetings, then what the hall claps, then the voices that join last,
// then later meetings of every sort.
func besides(steps []*Step) {
	left := 0
	for _, s := range steps {
		if !s.Besides {
			left++
		}
	}
	for _, which := range []func(*Step) bool{
		func(s *Step) bool { return s.Kind == Meeting && !s.special && s.of > 1 },
		func(s *Step) bool { return s.Kind == Hall },
		func(s *Step) bool { return s.Kind == Voice },
		func(s *Step) bool { return s.Kind == Meeting && s.of > 2 },
	} {
		for i := len(steps) - 1; i >= 0 && left > mostSteps; i-- {
			if s := steps[i]; !s.Besides && which(s) {
				s.Besides = true
				left--
			}
		}
	}
}

// leadVoice is the voice that is explained first: the first one with several
// durations and several pitches, else the one with the most notes.
func leadVoice(in *Input) int {
	most := 0
	for i, v := range in.piece().Voices {
		if !v.FromLine && len(v.Talea) > 1 && len(v.Color) > 1 && in.Performance.Lines[i].Notes > fewNotes {
			return i
		}
		if in.Performance.Lines[i].Notes > in.Performance.Lines[most].Notes {
			most = i
		}
	}
	return most
}

// retime gives a step of one voice the stretch in which its series is heard
// often enough to be known again.
func (s *Step) retime(in *Input) {
	if s.lead < 0 {
		return
	}
	line := in.Performance.Lines[s.lead]
	s.FromSec = line.StartSec
	switch {
	case s.Kind == Together:
		s.cycle = cycleOf(in, s.lead)
		s.ToSec = s.cycle.endSec
	case s.Hear == Melody:
		s.FromSec, s.ToSec = melodyStretch(in, s.lead)
	default:
		s.ToSec = rhythmEnd(line)
	}
}

// rhythmEnd is when the talea has been heard often enough: whole times through.
func rhythmEnd(line *perform.Line) float64 {
	times, talea := 0, -1
	for item := range line.All() {
		if item.Talea != talea {
			since := item.StartSec - line.StartSec
			if times >= 2 && since >= enoughSec || times >= 1 && since >= mostSec/2 {
				return item.StartSec
			}
			times, talea = times+1, item.Talea
		}
		if item.StartSec-line.StartSec >= mostSec {
			return item.StartSec
		}
	}
	return line.EndSec
}

// melodyStretch is where the color alone is heard, in equal notes: whole times
// through.
func melodyStretch(in *Input, voice int) (from, to float64) {
	events := voiceEvents(in, voice)
	if len(events) == 0 {
		return 0, 0
	}
	each := sound.EvenSec(events)
	members := len(in.piece().Voices[voice].Color)
	notes := members
	for notes < 2*members || float64(notes)*each < enoughSec {
		if float64(notes+members)*each > mostSec {
			break
		}
		notes += members
	}
	if float64(notes)*each > mostSec {
		notes = max(1, int(mostSec/each))
	}
	from = events[0].StartSec
	return from, from + float64(min(notes, in.Performance.Lines[voice].Notes))*each
}

func voiceEvents(in *Input, voice int) []event.Event {
	var events []event.Event
	for e := range in.Performance.Events() {
		if int(e.Voice) == voice {
			events = append(events, e)
		}
	}
	return events
}

// cycle is how often color and talea are stated until both end together, and
// when that is in the piece.
type cycle struct {
	taleae, colores, notes int
	reached                bool // the voice goes on so long
	endSec                 float64
}

func cycleOf(in *Input, voice int) cycle {
	v, line := in.piece().Voices[voice], in.Performance.Lines[voice]
	sounding := 0
	for _, d := range v.Talea {
		if !d.Silent {
			sounding++
		}
	}
	c := cycle{endSec: line.EndSec}
	c.notes = sounding * len(v.Color) / gcd(sounding, len(v.Color))
	c.taleae, c.colores = c.notes/sounding, c.notes/len(v.Color)
	items := c.taleae * len(v.Talea)
	if c.reached = items <= line.Items; items < line.Items && c.reached {
		c.endSec = line.Item(items).StartSec
	}
	return c
}

func gcd(a, b int) int {
	for b != 0 {
		a, b = b, a%b
	}
	return a
}

// againstStep sets the lead, or the first line that has one, against a voice
// with the same series at another speed. Nil when no voice has.
func againstStep(in *Input, lead int) *Step {
	a, b := against(in, lead)
	if b < 0 {
		return nil
	}
	s := &Step{Name: "against", Kind: Against, Voices: []int{a, b}, lead: a, other: b}
	slices.Sort(s.Voices)
	first, second := in.Performance.Lines[a], in.Performance.Lines[b]
	s.FromSec = max(0, max(first.StartSec, second.StartSec)-2*leadInSec)
	s.ToSec = min(in.Performance.EndSec, s.FromSec+againstSec)
	if at, ok := meetingOf(in, a, b); ok && at+afterSec > s.ToSec {
		s.ToSec = min(in.Performance.EndSec, at+afterSec+leadInSec)
		s.FromSec = max(0, s.ToSec-againstSec)
	}
	return s
}

// against are two voices with one line at different speeds: the lead and the
// next of its canon, else the first such pair of the piece.
func against(in *Input, lead int) (a, b int) {
	voices := in.piece().Voices
	if c := voices[lead].Canon; c >= 0 {
		for _, other := range in.piece().Canons[c].Voices {
			if other != lead && differ(in, lead, other) {
				return lead, other
			}
		}
	}
	for i := range voices {
		for j := i + 1; j < len(voices); j++ {
			if sameLine(in, i, j) && differ(in, i, j) {
				return i, j
			}
		}
	}
	return lead, -1
}

// differ reports whether two voices run at different speeds.
func differ(in *Input, i, j int) bool {
	a, aOK := in.Performance.Lines[i].SecondsPerUnit()
	b, bOK := in.Performance.Lines[j].SecondsPerUnit()
	return !aOK || !bOK || a.Cmp(b) != 0
}

// sameLine reports whether two voices have the same series, wherever they stand
// in it and however high they lie.
func sameLine(in *Input, i, j int) bool {
	a, b := in.piece().Voices[i], in.piece().Voices[j]
	if a.Canon >= 0 && a.Canon == b.Canon {
		return true
	}
	if len(a.Talea) != len(b.Talea) || len(a.Color) != len(b.Color) || len(a.Talea)*len(a.Color) < 4 {
		return false
	}
	for k := range a.Talea {
		if a.Talea[k].Silent != b.Talea[k].Silent || a.Talea[k].Units.Cmp(b.Talea[k].Units) != 0 {
			return false
		}
	}
	for k := range a.Color {
		if !slices.Equal(a.Color[k].Keys, b.Color[k].Keys) {
			return false
		}
	}
	return true
}

// voicePrefix stands before the name of a voice in that of its step.
const voicePrefix = "voice "

// voiceSteps add one voice after the other to those that were shown; of these,
// the ones that play then.
func voiceSteps(in *Input, shown []int) []*Step {
	var steps []*Step
	heard := slices.Clone(shown)
	for i, v := range in.piece().Voices {
		line := in.Performance.Lines[i]
		if slices.Contains(shown, i) || line.Notes < fewNotes {
			continue
		}
		heard = append(heard, i)
		slices.Sort(heard)
		s := &Step{Name: voicePrefix + v.Name, Kind: Voice, lead: i, other: -1}
		s.FromSec = max(0, line.StartSec-leadInSec)
		s.ToSec = min(line.EndSec, s.FromSec+voiceSec)
		s.Voices = sounding(in, heard, s.FromSec, s.ToSec)
		steps = append(steps, s)
	}
	return steps
}
