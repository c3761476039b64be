package show

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"strings"

	"rollwright/music/event"
	"rollwright/music/perform"
	"rollwright/music/piece"
	"rollwright/music/plan"
	"rollwright/paper/instrument"
	"rollwright/paper/roll"
	"rollwright/sound"
	"rollwright/telling/figure"
	"rollwright/telling/whatif"
	"rollwright/text/source"
	"rollwright/text/words"
)

// Input is the piece that is explained, with what follows from it.
type Input struct {
	Title       string // of the piece, or of its file
	Folder      string // from which the paths of language files count
	Performance *perform.Performance
	Instruments []*instrument.Instrument // one a piano
	Plan        func() *plan.Plan
	Rolls       func() ([]*roll.Roll, error)
	// Events are the notes of a step in the order of perform.Performance.Events.
	Events func(hear Hear, voices []int) ([]event.Event, error)
	// Pianos are how each piano is heard.
	Pianos []sound.Piano
	Cache  *sound.Cache
	// Source is the text from which the page can reckon what the piece would be with
	// another ratio; nil: it does not.
	Source *whatif.Source
}

func (in *Input) piece() *piece.Piece { return in.Performance.Piece }

// Options change a lecture beyond what the piece says.
type Options struct {
	Show     string // name of the show block; empty: the one without a name, or the only one
	Language string // in place of the show block's
	Notes    string // how notes are called, in place of the show block's; see words.ParseNoteNames
	Plain    bool   // plain words, whatever the show block says
	Rate     float64
	Mono     bool
	Doubt    func(*source.Error) // told what in the show block may not be meant so; may be nil
}

// Lecture is a piece explained step by step.
type Lecture struct {
	Title, Composer string
	Steps           []*Step
	Minutes         float64 // that the talk may last; 0: not said
	Mono            bool
	Book            *words.Book

	in *Input
}

// New makes the lecture of a piece. Errors are source.Errors where a show block
// is at fault: all that is wrong with it.
func New(ctx context.Context, in *Input, o Options) (*Lecture, error) {
	script, wrong, err := readScript(in.piece(), o.Show)
	if err != nil {
		return nil, err
	}
	book, err := openBook(in, script, o)
	if wrong, err = gather(wrong, err); err != nil {
		return nil, err
	}
	a := arranger{in: in, script: script, wrong: wrong}
	steps := a.arrange()
	if err := a.wrong.Err(); err != nil {
		return nil, err
	}
	if len(steps) == 0 {
		return nil, errors.New("the order of the show block names no step that this piece has")
	}
	if o.Plain || script.Plain {
		book = book.Plain()
	}
	names, err := words.ParseNoteNames(cmp.Or(o.Notes, script.Notes))
	if err != nil {
		return nil, err
	}
	book = book.Calling(names)
	l := &Lecture{
		Title: in.Title, Composer: in.piece().Composer, Steps: steps, Minutes: script.Minutes, Mono: o.Mono || script.Mono,
		Book: book, in: in,
	}
	for _, d := range a.doubts {
		if o.Doubt != nil {
			o.Doubt(d)
		}
	}
	for i, s := range steps {
		s.Number = i + 1
		s.Rate = cmp.Or(o.Rate, s.Rate, script.Rate, 1)
	}
	return l, l.tell(ctx, script)
}

// gather adds complaints to others; the error is one that is none.
func gather(wrong source.Errors, err error) (source.Errors, error) {
	var more source.Errors
	if errors.As(err, &more) {
		return append(wrong, more...), nil
	}
	return wrong, err
}

// Check reads all show blocks of a piece without making a lecture: what is wrong
// with them, and what in them is doubtful, each in the order of their places.
func Check(in *Input) (wrong, doubts source.Errors) {
	seen := map[string]bool{}
	for _, name := range blockNames(in.piece()) {
		if seen[name] {
			continue
		}
		seen[name] = true
		script, errs, err := readScript(in.piece(), name)
		if err != nil { // a text that is no block; piecefile has said so
			continue
		}
		_, err = openBook(in, script, Options{})
		errs, _ = gather(errs, err)
		a := arranger{in: in, script: script, wrong: errs}
		a.arrange()
		wrong, doubts = append(wrong, a.wrong...), append(doubts, a.doubts...)
	}
	return inOrder(wrong), inOrder(doubts)
}

func inOrder(es source.Errors) source.Errors {
	sorted, _ := es.Err().(source.Errors)
	return sorted
}

// openBook opens the language file that was asked for.
func openBook(in *Input, script *Script, o Options) (*words.Book, error) {
	language := cmp.Or(o.Language, script.Language)
	book, err := words.Open(language, in.Folder)
	if err == nil {
		return book, nil
	}
	if o.Language != "" || script.language == nil {
		return nil, err
	}
	problem, hint, _ := strings.Cut(strings.TrimPrefix(err.Error(), "words: "), "; ")
	complaint := script.language(problem, hint)
	complaint.File = in.piece().File
	return nil, source.Errors{complaint}
}

// Seconds is how long all steps that the talk goes through sound together.
func (l *Lecture) Seconds() float64 {
	sum := 0.0
	for _, s := range l.Steps {
		if !s.Besides {
			sum += s.Seconds()
		}
	}
	return sum
}

func allVoices(in *Input) []int {
	all := make([]int, len(in.piece().Voices))
	for i := range all {
		all[i] = i
	}
	return all
}

// change makes of a step what the script says. Texts come later, in the order
// of the lecture.
func (c *custom) change(in *Input, s *Step) (problem, hint string) {
	if s.apart() {
		if problem, hint = s.changeApart(in, c); problem != "" {
			return problem, hint
		}
	} else if c.voices != nil {
		s.Voices = c.voices
		if len(c.voices) == 1 {
			s.lead = c.voices[0]
		}
	}
	if c.hear != nil {
		s.Hear = *c.hear
	}
	alone := s.Hear == Rhythm || s.Hear == Knock || s.Hear == Melody
	if alone && len(s.Voices) != 1 {
		return fmt.Sprintf("%s is that of one voice, and %d sound here", s.Hear, len(s.Voices)), `name it: voices = "` +
			in.piece().Voices[0].Name + `"`
	}
	if s.apart() {
		s.Rate, s.wanted = c.rate, c.figure
		if c.auto != nil {
			s.Auto = *c.auto
		}
		return "", ""
	}
	if (alone || c.voices != nil) && c.stretch == nil && (s.Kind == RhythmAlone || s.Kind == MelodyAlone ||
		s.Kind == Together || s.Kind == Own && alone) {
		s.retime(in) // another voice has its own series
	}
	if c.stretch != nil {
		s.FromSec, s.ToSec = c.stretch[0], c.stretch[1]
		if s.ToSec == toEnd {
			s.ToSec = in.Performance.EndSec
		}
		if s.FromSec >= s.ToSec {
			return fmt.Sprintf("the piece ends at %.1f s", in.Performance.EndSec), stretchHint
		}
	}
	s.Rate = c.rate
	s.wanted = c.figure
	if c.auto != nil {
		s.Auto = *c.auto
	}
	return "", ""
}

// changeApart gives a step with time of its own other voices. What it plays, and how long,
// follows from them.
func (s *Step) changeApart(in *Input, c *custom) (problem, hint string) {
	if c.hear != nil || c.stretch != nil {
		return fmt.Sprintf("the step %s has a time and a sound of its own", s.Name), "leave out stretch and hear"
	}
	var made *Step
	switch {
	case c.voices == nil:
		return "", ""
	case s.Kind == Interval && len(c.voices) == 2:
		if p, ok := pulsesOf(in, c.voices[0], c.voices[1]); ok {
			made = p.step()
		}
	case s.Kind == Hall && len(c.voices) == 1:
		if claps := clapsOf(in, c.voices[0]); claps != nil {
			made = claps.step()
		}
	}
	if made == nil {
		if s.Kind == Hall {
			return "these voices give a hall nothing to clap", "name one voice with a talea of several durations, not too long"
		}
		return "the tempos of these voices make no interval", "name two voices of one tempo each, the one at most four times as fast"
	}
	made.Besides = s.Besides
	*s = *made
	return "", ""
}

// figureInput is what figures are drawn from.
func (in *Input) figureInput() *figure.Input {
	return &figure.Input{Title: in.Title, Author: in.piece().Composer, Performance: in.Performance, Plan: in.Plan,
		Rolls: in.Rolls}
}
