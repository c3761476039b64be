package show

import (
	"math"
	"sort"
	"strings"

	"rollwright/music/perform"
	"rollwright/music/plan"
	"rollwright/text/words"
)

// Two things are told apart throughout: voices of a canon are at the same place
// of the music at its meeting point, whether or not a note falls there; voices
// strike together where each begins a note.

// meets says when the two voices of a step are at the same place of the music,
// and how often they strike together.
func (t *teller) meets(s *Step, pair *plan.Pair) string {
	said := ""
	at, place := samePlace(t.l.in, s.lead, s.other)
	if place {
		said = t.talk.Say("lecture.against.place", words.Args{"at": t.clock(at)})
	}
	if pair == nil {
		return said
	}
	key, args := t.strikes(pair)
	if sec, one := onlyStrike(pair); one && place && math.Abs(sec-at) < leastSec {
		key += "-there"
	}
	strikes := t.talk.Say(key, args)
	if more := t.otherPlaces(pair); more != "" {
		strikes = strings.TrimLeft(more+" "+strikes, " ")
	}
	if said != "" {
		said += " "
	}
	return said + strikes
}

// mostPlaces is how many instants a step names.
const mostPlaces = 8

// otherPlaces names when two voices stand at one place of their tune, besides the meeting
// point of their canon; empty: never.
func (t *teller) otherPlaces(p *plan.Pair) string {
	var at []string
	more := 0
	for _, place := range p.SamePlaces {
		switch {
		case place.Meet:
		case len(at) < mostPlaces:
			at = append(at, t.clock(float64(place.From)))
		default:
			more++
		}
	}
	if len(at) == 0 {
		return ""
	}
	key := "lecture.against.places"
	if more > 0 {
		key += "-more"
	}
	return t.talk.Say(key, words.Args{"at": t.list(at), "more": more})
}

// strikes is how often two voices strike together.
func (t *teller) strikes(p *plan.Pair) (key string, args words.Args) {
	m := p.Meetings
	switch {
	case m.Count == 1 && m.First != nil:
		return "lecture.against.once", words.Args{"at": t.clock(m.First.At.Decimal)}
	case m.Count > 1:
		return "lecture.against.often", words.Args{"count": m.Count, "first": t.clock(m.First.At.Decimal),
			"last": t.clock(m.Last.At.Decimal)}
	case p.Chance == nil || !p.Chance.Within:
		return "lecture.against.never", nil
	}
	args = words.Args{"at": t.clock(float64(p.Chance.At)), "a": p.A, "b": p.B}
	switch {
	case p.Chance.NoteA:
		args["voice"] = p.B
	case p.Chance.NoteB:
		args["voice"] = p.A
	default:
		return "lecture.against.neither", args
	}
	return "lecture.against.silent", args
}

// onlyStrike is the only instant at which two voices strike together, or could.
func onlyStrike(p *plan.Pair) (sec float64, one bool) {
	switch {
	case p.Meetings.Count == 1 && p.Meetings.First != nil:
		return p.Meetings.First.At.Decimal, true
	case p.Meetings.Count == 0 && p.Chance != nil && p.Chance.Within:
		return float64(p.Chance.At), true
	}
	return 0, false
}

// samePlace is when two voices of a canon are at the same place of the music;
// false where they are in none, or one of them does not play then.
func samePlace(in *Input, a, b int) (sec float64, ok bool) {
	voices := in.piece().Voices
	c := voices[a].Canon
	if c < 0 || c != voices[b].Canon || in.piece().Canons[c].Crosses() {
		return 0, false
	}
	sec = in.Plan().Canons[c].At.Decimal
	for _, v := range []int{a, b} {
		if line := in.Performance.Lines[v]; sec < line.StartSec-leastSec || sec > line.EndSec+leastSec {
			return 0, false
		}
	}
	return sec, true
}

// meeting gives the step of a meeting its words.
func (t *teller) meeting(s *Step) {
	of, what := 0, "strike"
	if len(s.Place) > 0 {
		what = "place"
	}
	for _, other := range t.l.Steps {
		if other.Kind == Meeting && len(other.Place) > 0 == (len(s.Place) > 0) {
			of = max(of, other.of)
		}
	}
	s.Title = t.talk.Say("lecture.meeting."+what+"-title", words.Args{"n": s.of, "of": of})
	if of == 1 {
		s.Title = t.talk.Say("lecture.meeting."+what+"-title-one", nil)
	}
	args := words.Args{"at": t.clock(s.MeetAt), "who": t.who(s.Meets)}
	if what == "strike" {
		s.Text = []string{t.talk.Say("lecture.meeting.strike", args) + t.why(s)}
	} else {
		s.Text = []string{t.place(s) + " " + t.talk.Say(t.there(s), args)}
	}
	say := what + "-say"
	if !s.special {
		say += "-often"
	}
	s.Say = []string{t.book.Say("lecture.meeting."+say,
		words.Args{"lead": t.length((s.MeetAt - s.FromSec) / s.Rate)})}
}

// why says what is special about a meeting; empty: nothing is.
func (t *teller) why(s *Step) string {
	switch {
	case s.rarest.count > 0 && s.rarest.count <= rarely:
		return " " + t.talk.Say("lecture.meeting.rare", words.Args{"a": t.voiceOf(s.rarest.a).Name,
			"b": t.voiceOf(s.rarest.b).Name, "count": s.rarest.count})
	case s.fresh > 1:
		return " " + t.talk.Say("lecture.meeting.fresh", words.Args{"count": s.fresh})
	}
	return ""
}

// place says which voices of which canons are at the same place of the music.
func (t *teller) place(s *Step) string {
	at, all := t.clock(s.MeetAt), 0
	var canons, voices []string
	for _, c := range s.canons {
		canon := t.l.in.piece().Canons[c]
		canons, all = append(canons, canon.Name), all+len(canon.Voices)
	}
	for _, v := range s.Place {
		voices = append(voices, t.voiceOf(v).Name)
	}
	switch {
	case len(canons) > 1:
		return t.talk.Say("lecture.meeting.place-several", words.Args{"at": at, "canons": t.list(canons)})
	case len(s.Place) == all:
		return t.talk.Say("lecture.meeting.place-all", words.Args{"at": at, "canon": canons[0]})
	}
	return t.talk.Say("lecture.meeting.place", words.Args{"at": at, "voices": t.list(voices)})
}

// there is the key of the words for what is heard at that place.
func (t *teller) there(s *Step) string {
	lines := t.l.in.Performance.Lines
	note, end := false, true
	for _, v := range s.Place {
		note = note || strikesAt(lines[v], s.MeetAt)
		end = end && math.Abs(lines[v].EndSec-s.MeetAt) < leastSec
	}
	switch {
	case len(s.Meets) > 0:
		return "lecture.meeting.there"
	case end:
		return "lecture.meeting.there-end"
	case note:
		return "lecture.meeting.there-not"
	}
	return "lecture.meeting.there-none"
}

// strikesAt reports whether a note of the line begins at a time.
func strikesAt(line *perform.Line, sec float64) bool { return noteAt(line, sec, leastSec/2) > 0 }

// noteAt is the note of the line that begins within so many seconds of a time, from
// 1; 0: none does.
func noteAt(line *perform.Line, sec, within float64) int {
	i := sort.Search(line.Items, func(i int) bool { return line.Item(i).StartSec > sec-within })
	for ; i < line.Items && line.Item(i).StartSec < sec+within; i++ {
		if !line.Item(i).Silent {
			return line.Item(i).Note
		}
	}
	return 0
}

// mostNotes is how many notes a sentence lists.
const mostNotes = 4

// who lists notes that meet, or says of how many voices they are.
func (t *teller) who(met []Met) string {
	if len(met) > mostNotes {
		return t.book.Say("lecture.meeting.voices", words.Args{"voices": len(met)})
	}
	var notes []string
	for _, m := range met {
		notes = append(notes, t.book.Say("lecture.meeting.note", words.Args{"note": m.Note,
			"voice": t.voiceOf(m.Voice).Name}))
	}
	return t.list(notes)
}

// list is names one after the other, as a sentence has them.
func (t *teller) list(names []string) string {
	text := ""
	for i, name := range names {
		switch {
		case i == 0:
			text = name
		case i == len(names)-1:
			text = t.book.Say("lecture.meeting.and", words.Args{"a": text, "b": name})
		default:
			text = t.book.Say("lecture.meeting.comma", words.Args{"a": text, "b": name})
		}
	}
	return text
}
