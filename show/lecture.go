package show

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strings"

	"rollwright/figure"
	"rollwright/instrument"
	"rollwright/perform"
	"rollwright/piece"
	"rollwright/plan"
	"rollwright/roll"
	"rollwright/sound"
	"rollwright/source"
	"rollwright/words"
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
	Events func(hear Hear, voices []int) ([]perform.Event, error)
	// Pianos are how each piano is heard.
	Pianos []sound.Piano
	Cache  *sound.Cache
}

func (in *Input) piece() *piece.Piece { return in.Performance.Piece }

// Options change a lecture beyond what the piece says.
type Options struct {
	Show     string // name of the show block; empty: the one without a name, or the only one
	Language string // in place of the show block's
	Plain    bool   // plain words, whatever the show block says
	Rate     float64
	Mono     bool
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
// is at fault.
func New(ctx context.Context, in *Input, o Options) (*Lecture, error) {
	script, err := ReadScript(in.piece(), o.Show)
	if err != nil {
		return nil, err
	}
	book, err := openBook(in, script, o)
	if err != nil {
		return nil, err
	}
	if o.Plain || script.Plain {
		book = book.Plain()
	}
	l := &Lecture{Title: in.Title, Composer: in.piece().Composer, Minutes: script.Minutes, Mono: o.Mono || script.Mono, Book: book, in: in}
	steps, err := arrange(in, script)
	if err != nil {
		return nil, err
	}
	l.Steps = steps
	for i, s := range steps {
		s.Number = i + 1
		s.Rate = cmp.Or(o.Rate, s.Rate, script.Rate, 1)
	}
	return l, l.tell(ctx, script)
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

// Seconds is how long all steps sound together.
func (l *Lecture) Seconds() float64 {
	sum := 0.0
	for _, s := range l.Steps {
		sum += s.Seconds()
	}
	return sum
}

// arrange makes the steps of the piece, changes them as the script says, and
// puts them in its order.
func arrange(in *Input, script *Script) ([]*Step, error) {
	steps := automatic(in)
	var errs source.Errors
	fail := func(e *source.Error) {
		e.File = in.piece().File
		errs = append(errs, e)
	}
	for i := range script.custom {
		c := &script.custom[i]
		s := stepNamed(steps, c.name)
		if s == nil {
			s = fresh(in, c)
			steps = append(steps, s)
		} else if c.page {
			fail(c.wrong(fmt.Sprintf("%q is a step already", c.name), "give the page another name, or write step in place of page"))
			continue
		}
		if problem, hint := c.change(in, s); problem != "" {
			fail(c.wrong(problem, hint))
		}
	}
	if len(script.order) == 0 {
		return steps, errs.Err()
	}
	var ordered []*Step
	for _, e := range script.order {
		found := answering(steps, e.name)
		if found == nil {
			fail(unknownStep(steps, e))
		}
		for _, s := range found {
			again := *s // a step may come more than once
			ordered = append(ordered, &again)
		}
	}
	if len(errs) == 0 && len(ordered) == 0 {
		return nil, fmt.Errorf("the order of the show block names no step that this piece has")
	}
	return ordered, errs.Err()
}

// groups are names in order that stand for several steps, or none.
var groups = map[string]Kind{"voices": Voice, "meetings": Meeting}

// optional are names of steps that only some pieces have.
var optional = []string{"title", "rhythm", "melody", "together", "against", "all"}

// answering are the steps that a name in order stands for: nil when there can
// be no such step, empty when this piece has none.
func answering(steps []*Step, name string) []*Step {
	if kind, ok := groups[name]; ok {
		found := []*Step{}
		for _, s := range steps {
			if s.Kind == kind {
				found = append(found, s)
			}
		}
		return found
	}
	if s := stepNamed(steps, name); s != nil {
		return []*Step{s}
	}
	if slices.Contains(optional, name) {
		return []*Step{}
	}
	return nil
}

func stepNamed(steps []*Step, name string) *Step {
	for _, s := range steps {
		if s.Name == name {
			return s
		}
	}
	return nil
}

func unknownStep(steps []*Step, e entry) *source.Error {
	names := []string{"voices", "meetings"}
	for _, s := range steps {
		names = append(names, s.Name)
	}
	hint := "this piece has: " + strings.Join(names, ", ")
	if near, ok := source.Nearest(e.name, names); ok {
		hint = "did you mean " + near + "? " + hint
	}
	return e.wrong(fmt.Sprintf("there is no step %q", e.name), hint)
}

// fresh is a step that the piece has not by itself.
func fresh(in *Input, c *custom) *Step {
	s := &Step{Name: c.name, Kind: Own, lead: -1, other: -1, ToSec: in.Performance.EndSec, Voices: allVoices(in)}
	if c.page {
		s.Kind, s.Hear, s.Voices, s.ToSec = Text, Nothing, nil, 0
	}
	return s
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
	if c.voices != nil {
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
		return fmt.Sprintf("%s is that of one voice, and %d sound here", s.Hear, len(s.Voices)), `name it: voices = "` + in.piece().Voices[0].Name + `"`
	}
	if (alone || c.voices != nil) && c.stretch == nil && (s.Kind == RhythmAlone || s.Kind == MelodyAlone || s.Kind == Together || s.Kind == Own && alone) {
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

// figureInput is what figures are drawn from.
func (in *Input) figureInput() *figure.Input {
	return &figure.Input{Title: in.Title, Author: in.piece().Composer, Performance: in.Performance, Plan: in.Plan, Rolls: in.Rolls}
}
