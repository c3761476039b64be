package web

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strings"

	"rollwright/music/piece"
	"rollwright/paper/inspect"
	"rollwright/text/source"
	"rollwright/workshop"
)

// mending is a request for the next remedy against a finding.
type mending struct {
	Name    string   `json:"name"`
	Text    string   `json:"text"`
	Finding string   `json:"finding"` // its id
	Place   int      `json:"place"`   // which of the group, from 0; -1: its worst
	From    int      `json:"from"`    // the first change to try
	Skip    []string `json:"skip"`    // keys of remedies that are there already
}

// mended is the next remedy that helps, if there is one.
type mended struct {
	Remedy *remedy `json:"remedy"` // null: there are no more
	Gone   bool    `json:"gone"`   // the finding is not there any more
	Next   int     `json:"next"`   // where to go on from
}

// remedy is a change that was written into the text and tried: what it writes, what it
// costs the music, what it mends in the whole piece.
type remedy struct {
	Key    string   `json:"key"` // the same for changes that help in the same way
	Way    string   `json:"way"` // hold, out, octave, gesture, voice hold, voice octave, speed, paper
	Splice splice   `json:"splice"`
	Line   int      `json:"line"`   // where it is written, from 1
	Before []string `json:"before"` // the lines that change, as they are and as they would be
	After  []string `json:"after"`
	Cost   cost     `json:"cost"`
	Of     int      `json:"of"`   // findings like this one
	Left   int      `json:"left"` // of them with the remedy
	Now    counts   `json:"now"`  // of the whole piece
	Then   counts   `json:"then"`
}

// counts are findings by severity.
type counts struct {
	Forbids int `json:"forbids"`
	Risks   int `json:"risks"`
	Notes   int `json:"notes"`
}

func countsOf(r *inspect.Report) counts {
	return counts{r.Counts[inspect.Forbids], r.Counts[inspect.Risks], r.Counts[inspect.Note]}
}

// remedy tries one change after the other, the smallest first, until one helps: fewer
// findings are as bad as this one, and no more are worse.
func (s *Server) remedy(ctx context.Context, in mending) (mended, error) {
	job, err := s.jobOf(ctx, &in.Name, in.Text)
	if err != nil {
		return mended{}, err
	}
	report, err := job.Findings()
	if err != nil {
		return mended{}, err
	}
	groups := groupsOf(report)
	i := slices.IndexFunc(groups, func(f finding) bool { return f.ID == in.Finding })
	if i < 0 {
		return mended{Gone: true}, nil
	}
	f := &groups[i]
	one := nth(report, f, in.Place)
	changes := one.Changes()
	for n := max(in.From, 0); n < len(changes); n++ {
		key := fmt.Sprintf("%s %d", changes[n].Way(), changes[n].Voice)
		if slices.Contains(in.Skip, key) {
			continue
		}
		out, err := s.tried(ctx, in, job, report, f, &one, changes[n])
		if err != nil {
			return mended{}, err
		}
		if out != nil {
			out.Key = key
			return mended{Remedy: out, Next: n + 1}, nil
		}
	}
	return mended{Next: len(changes)}, nil
}

// nth is the finding of a group at a place, in the order in which they are listed.
func nth(report *inspect.Report, f *finding, place int) inspect.Finding {
	if place < 0 {
		return f.group.Worst
	}
	folded, left := len(report.Groups) > mostFindings, mostSought
	for one := range report.All() {
		if groupID(&one, folded) == f.ID {
			if place == 0 {
				return one
			}
			place--
		}
		if left--; left == 0 {
			break
		}
	}
	return f.group.Worst
}

// tried is a change as a remedy, or nil where it does not help.
func (s *Server) tried(ctx context.Context, in mending, job *workshop.Job, report *inspect.Report, f *finding,
	one *inspect.Finding, c inspect.Change) (*remedy, error) {
	text, err := workshop.Changed(job.File, job.Piece, c)
	if err != nil || string(text) == in.Text {
		return nil, nil
	}
	stand, err := s.desk.sit(ctx)
	if err != nil {
		return nil, err
	}
	defer stand()
	after, err := s.desk.perform(ctx, asked{name: in.Name, text: string(text)})
	if err != nil {
		return nil, ctx.Err() // a text that cannot be read helps nobody
	}
	found, err := after.Findings()
	if err != nil {
		return nil, err
	}
	out := &remedy{Way: c.Way(), Splice: spliceOf(in.Text, string(text)), Of: f.Count, Now: countsOf(report),
		Then: countsOf(found)}
	at := sharedHead(in.Text, string(text))
	out.Left = like(found, f, in.Text, string(text), at)
	if out.Left >= f.Count || !inspect.Better(report.Counts, found.Counts, one.Severity) {
		return nil, nil
	}
	out.Splice.Label = label(c, job.Piece)
	out.Before, out.After = changedLines(in.Text, string(text))
	out.Line = 1 + strings.Count(in.Text[:at], "\n")
	out.Cost = costOf(job, after, report, found)
	return out, nil
}

// sharedHead is how many bytes two texts begin with alike.
func sharedHead(a, b string) int {
	n := 0
	for n < len(a) && n < len(b) && a[n] == b[n] {
		n++
	}
	return n
}

// changedLines are the lines in which two texts differ.
func changedLines(a, b string) (before, after []string) {
	was, is := strings.Split(a, "\n"), strings.Split(b, "\n")
	for len(was) > 0 && len(is) > 0 && was[0] == is[0] {
		was, is = was[1:], is[1:]
	}
	for len(was) > 0 && len(is) > 0 && was[len(was)-1] == is[len(is)-1] {
		was, is = was[:len(was)-1], is[:len(is)-1]
	}
	return append([]string{}, was...), append([]string{}, is...)
}

// like counts the findings that belong to the same group as f, in the text after a
// change at byte at, which may have moved their lines.
func like(report *inspect.Report, f *finding, before, after string, at int) int {
	changed := 1 + strings.Count(before[:at], "\n")
	down := strings.Count(after, "\n") - strings.Count(before, "\n")
	same := func(was, is source.Pos) bool {
		if was.Line > changed || was.Line == changed && down > 0 {
			return is == source.Pos{Line: was.Line + down, Column: was.Column}
		}
		return is == was || was.Line == changed && is.Line == changed
	}
	n := 0
	for _, g := range report.Groups {
		if f.group.First.Width > 0 && !(same(f.group.First.At, g.First.At) && same(f.group.First.Before, g.First.Before)) {
			continue // another gesture's
		}
		if g.Kind == f.group.Kind && g.Severity == f.group.Severity &&
			(f.Voice < 0 || g.Voice == f.Voice && g.First.Other == f.group.First.Other) && (f.Piano < 0 || g.Piano == f.Piano) {
			n += g.Count
		}
	}
	return n
}

// label says what a change does.
func label(c inspect.Change, p *piece.Piece) string {
	switch {
	case c.Attr == "":
		return fmt.Sprintf("%s in place of %s", source.Printable(c.Text()), source.Printable(c.Old.Text))
	case c.Voice >= 0:
		return fmt.Sprintf("%s in voice %s", c.Text(), source.Printable(p.Voices[c.Voice].Name))
	case p.Pianos[c.Piano].Name != "":
		return fmt.Sprintf("%s of piano %s", c.Text(), source.Printable(p.Pianos[c.Piano].Name))
	}
	return c.Text()
}

// cost is what a change does to the music and to the paper.
type cost struct {
	Notes     int      `json:"notes"`     // strokes of the piece as it is
	Shorter   int      `json:"shorter"`   // strokes that sound shorter
	ShorterMS float64  `json:"shorterMS"` // the most
	Longer    int      `json:"longer"`
	LongerMS  float64  `json:"longerMS"`
	Pitch     int      `json:"pitch"` // strokes on another key at the same instant
	Out       int      `json:"out"`   // strokes that are not there any more
	Added     int      `json:"added"`
	Time      int      `json:"time"`    // strokes that come at another instant
	Voices    []string `json:"voices"`  // whose they are, at most three
	More      int      `json:"more"`    // further voices
	PaperMM   float64  `json:"paperMM"` // paper of all rolls: more, or less
	LaterSec  float64  `json:"laterSec"`
}

// stroke is a voice's stroke on a key at an instant, in tenths of a millisecond.
type stroke struct {
	voice int32
	at    int64
	key   int
}

// costOf compares a piece with what a change makes of it.
func costOf(before, after *workshop.Job, was, is *inspect.Report) cost {
	c := cost{Voices: []string{}, LaterSec: after.EndSec - before.EndSec}
	for i := range min(len(was.Facts), len(is.Facts)) {
		c.PaperMM += is.Facts[i].LengthMM - was.Facts[i].LengthMM
	}
	ends := map[stroke]float64{}
	type instant struct {
		voice int32
		at    int64
	}
	gone, come := map[instant]int{}, map[instant]int{}
	touched := map[int32]bool{}
	for e := range before.Events() {
		c.Notes++
		ends[stroke{e.Voice, tenths(e.StartSec), int(e.Key)}] = e.EndSec
	}
	for e := range after.Events() {
		s := stroke{e.Voice, tenths(e.StartSec), int(e.Key)}
		end, there := ends[s]
		if !there {
			come[instant{s.voice, s.at}]++
			touched[s.voice] = true
			continue
		}
		delete(ends, s)
		switch by := 1000 * (e.EndSec - end); {
		case by < -0.05:
			c.Shorter, c.ShorterMS = c.Shorter+1, max(c.ShorterMS, -by)
			touched[s.voice] = true
		case by > 0.05:
			c.Longer, c.LongerMS = c.Longer+1, max(c.LongerMS, by)
			touched[s.voice] = true
		}
	}
	for s := range ends {
		gone[instant{s.voice, s.at}]++
		touched[s.voice] = true
	}
	for at, n := range gone {
		moved := min(n, come[at])
		c.Pitch += moved
		c.Out += n - moved
		come[at] -= moved
	}
	for _, n := range come {
		c.Added += n
	}
	c.Time = min(c.Out, c.Added)
	c.Out, c.Added = c.Out-c.Time, c.Added-c.Time
	for i, name := range before.Voices {
		if !touched[int32(i)] {
			continue
		}
		if len(c.Voices) == 3 {
			c.More++
			continue
		}
		c.Voices = append(c.Voices, name)
	}
	return c
}

func tenths(sec float64) int64 { return int64(math.Round(sec * 10_000)) }
