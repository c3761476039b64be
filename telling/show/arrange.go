package show

import (
	"fmt"
	"slices"
	"strings"

	"rollwright/music/piece"
	"rollwright/text/source"
)

// arranger makes the steps of a piece, changes them as a script says, and puts
// them in its order. It collects what is wrong with the script and what in it is
// doubtful.
type arranger struct {
	in     *Input
	script *Script
	steps  []*Step // that follow from the piece, then those of the script
	own    int     // how many follow from the piece
	wrong  source.Errors
	doubts source.Errors
	odd    map[string]bool // names of new steps that look like a slip
}

func (a *arranger) fail(e *source.Error) {
	e.File = a.in.piece().File
	a.wrong = append(a.wrong, e)
}

// arrange is the steps in their order.
func (a *arranger) arrange() []*Step {
	a.steps, a.odd = automatic(a.in), map[string]bool{}
	a.own = len(a.steps)
	for i := range a.script.custom {
		a.customise(&a.script.custom[i])
	}
	if len(a.script.order) == 0 {
		slices.SortStableFunc(a.steps, func(s, t *Step) int { return later(s.Besides) - later(t.Besides) })
		return a.steps
	}
	var ordered []*Step
	for _, e := range a.script.order {
		found := answering(a.steps, e.name)
		if found == nil {
			a.fail(a.unknown(e))
		}
		for _, s := range found {
			again := *s // a step may come more than once
			again.Besides = false
			ordered = append(ordered, &again)
		}
	}
	return ordered
}

// later is 0 for steps that the talk goes through, 1 for the others.
func later(besides bool) int {
	if besides {
		return 1
	}
	return 0
}

// customise changes or adds the step of a block.
func (a *arranger) customise(c *custom) {
	s := stepNamed(a.steps, c.name)
	if s == nil {
		a.doubt(c)
		s = fresh(a.in, c)
		a.steps = append(a.steps, s)
	} else if c.page {
		a.fail(c.wrong(fmt.Sprintf("%q is a step already", c.name),
			"give the page another name, or write step in place of page"))
		return
	}
	if c.faulty {
		return // more would be said of it than is wrong
	}
	if problem, hint := c.change(a.in, s); problem != "" {
		a.fail(c.wrong(problem, hint))
	}
}

// doubt warns of a new step whose name is close to one that the piece has.
func (a *arranger) doubt(c *custom) {
	near, ok := a.slip(c.name)
	if c.page || !ok {
		return
	}
	a.odd[c.name] = true
	e := c.wrong(fmt.Sprintf("%q is a new step", c.name), fmt.Sprintf("did you mean %s? a name that the piece has not makes a step of its own", near))
	e.File = a.in.piece().File
	a.doubts = append(a.doubts, e)
}

// slip is the name of a step of the piece that another one looks like. A name
// that goes on from it, such as "rhythm again", is meant.
func (a *arranger) slip(name string) (string, bool) {
	if voice, ok := strings.CutPrefix(name, voicePrefix); ok {
		return a.voiceSlip(voice)
	}
	names := slices.Clone(optional)
	for _, s := range a.steps[:a.own] {
		if s.Kind != Voice && s.Kind != Meeting {
			names = append(names, s.Name)
		}
	}
	if slices.ContainsFunc(names, func(known string) bool { return strings.Contains(name, known) }) {
		return "", false
	}
	return source.Nearest(name, names)
}

func (a *arranger) voiceSlip(voice string) (string, bool) {
	var names []string
	for _, v := range a.in.piece().Voices {
		if strings.HasPrefix(voice, v.Name) {
			return "", false
		}
	}
	for _, s := range a.steps[:a.own] {
		if s.Kind == Voice {
			names = append(names, strings.TrimPrefix(s.Name, voicePrefix))
		}
	}
	near, ok := source.Nearest(voice, names)
	return voicePrefix + near, ok
}

// groups are names in order that stand for several steps, or none.
var groups = map[string]Kind{"voices": Voice, "meetings": Meeting}

// optional are names of steps that only some pieces have.
var optional = append([]string{"title", "rhythm", "melody", "together", "against", "interval", "hall", "all"}, ideaNames()...)

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

// unknown complains of a name in order. Names that may be slips themselves are
// not offered.
func (a *arranger) unknown(e entry) *source.Error {
	names := []string{"voices", "meetings"}
	for _, s := range a.steps {
		if !a.odd[s.Name] && s.Name != "" {
			names = append(names, s.Name)
		}
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

// blockNames are the names of a piece's show blocks in their order; "" for one
// without a name.
func blockNames(p *piece.Piece) []string {
	r := scriptReader{piece: p, script: &Script{}}
	var names []string
	for _, b := range p.Show {
		if block := r.block(b); block != nil {
			names = append(names, block.Label(0))
		}
	}
	return names
}
