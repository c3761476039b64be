package show

import (
	"cmp"
	"slices"
	"strings"

	"rollwright/telling/vtt"
)

// Subtitles are the words of the talk that say something of a place in the piece,
// at that place: the title, voices as they enter, meetings as they come. Times are
// those of the piece. A sentence stands as long as reading it takes; those of
// meetings begin with them, the others as soon as there is room, and one that finds
// none while it would still belong there is left out.
func (l *Lecture) Subtitles(fromSec, toSec float64) []vtt.Cue {
	said := l.fit(nil, l.Title, titleSec, fromSec, fromSec, fromSec, toSec)
	for _, s := range l.Steps { // then meetings: they have a time
		if s.Kind != Meeting || len(s.Text) == 0 {
			continue
		}
		at := l.meetsAt(s)
		text := sentences(s.Text[0])[0]
		said = l.fit(said, text, briefSec, at, at, fromSec, toSec)
	}
	for _, s := range l.Steps {
		at, texts := l.belongs(s)
		for _, text := range texts {
			said = l.fit(said, text, briefSec, at, at+latestSec, fromSec, toSec)
		}
	}
	return said
}

// How long words stand: common practice, no source. latestSec is how late a
// sentence about a voice may still come.
const (
	lettersASec = 15
	titleSec    = 1.5
	briefSec    = 2.5
	standsSec   = 7
	latestSec   = 25
)

// meetsAt is when a meeting is.
func (l *Lecture) meetsAt(s *Step) float64 {
	if len(s.Meets) > 0 {
		return l.onset(s.Meets[0])
	}
	return s.MeetAt
}

// onset is when a note of a voice begins.
func (l *Lecture) onset(m Met) float64 {
	for it := range l.in.Performance.Lines[m.Voice].All() {
		if it.Note == m.Note {
			return it.StartSec
		}
	}
	return 0
}

// belongs is where a step's words belong, and which they are; none of what tells of
// no place.
func (l *Lecture) belongs(s *Step) (at float64, texts []string) {
	switch s.Kind {
	case Together, Voice:
		at = l.enters(s.lead)
	case Against:
		at = max(l.enters(s.lead), l.enters(s.other))
		// what follows tells of their meeting, which has a step of its own
		if len(s.Text) > 0 {
			return at, sentences(s.Text[0])
		}
		return at, nil
	default:
		return 0, nil
	}
	for _, p := range s.Text {
		texts = append(texts, sentences(p)...)
	}
	return at, texts
}

// enters is when a voice begins.
func (l *Lecture) enters(voice int) float64 {
	if voice < 0 {
		return 0
	}
	return l.onset(Met{Voice: voice, Note: 1})
}

// sentences are those of a paragraph, at least one.
func sentences(paragraph string) []string {
	var list []string
	for rest := paragraph; ; {
		i := strings.Index(rest, ". ")
		if i < 0 {
			return append(list, rest)
		}
		list = append(list, rest[:i+1])
		rest = rest[i+2:]
	}
}

// fit puts a text into the first room between the others that begins at a time, or
// after it, not later than the latest; it stands for at least so long.
func (l *Lecture) fit(said []vtt.Cue, text string, least, at, latest, fromSec, toSec float64) []vtt.Cue {
	lasts := min(standsSec, max(least, float64(len([]rune(text)))/lettersASec))
	start := at
	for _, c := range said {
		if c.FromSec < start+lasts && start < c.ToSec {
			start = c.ToSec
		}
	}
	if start > latest || start < fromSec || start+lasts > toSec {
		return said
	}
	said = append(said, vtt.Cue{FromSec: start, ToSec: start + lasts, Text: text})
	slices.SortFunc(said, func(a, b vtt.Cue) int { return cmp.Compare(a.FromSec, b.FromSec) })
	return said
}
