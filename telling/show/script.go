package show

import (
	"fmt"
	"strings"

	"rollwright/music/piece"
	"rollwright/music/piecefile"
	"rollwright/telling/figure"
	"rollwright/text/blocks"
	"rollwright/text/source"
	"rollwright/text/words"
)

// Bounds of a show block; a talk of an hour stays far below them.
const (
	maxSteps  = 200
	maxText   = 4000 // characters of one text
	maxMinute = 600
)

// Rates at which steps may be played.
const (
	slowest = 0.25
	fastest = 4
)

// Script is what a show block of the piece says.
type Script struct {
	Language string  // as written; empty: not said
	Notes    string  // how notes are called, as words.ParseNoteNames has it
	Plain    bool    // plain words in place of color and talea
	Minutes  float64 // that the talk may last; 0: not said
	Rate     float64 // of all steps that say nothing else; 0: not said
	Mono     bool

	order    []entry // empty: the order that follows from the piece
	custom   []custom
	language func(problem, hint string) *source.Error // a complaint about Language; nil: not said
}

// entry is one member of order.
type entry struct {
	name  string
	wrong func(problem, hint string) *source.Error
}

// custom is a step or page block.
type custom struct {
	name string
	page bool

	title, text, say *string
	voices           []int // nil: not said
	hear             *Hear
	stretch          *[2]float64 // seconds of the piece; the second may be toEnd
	rate             float64     // 0: not said
	figure           string      // "": not said; noFigure: none
	auto             *bool
	faulty           bool // something of it is wrong, and said

	wrong func(problem, hint string) *source.Error
}

// toEnd is the end of a stretch that goes on to the end of the piece.
const toEnd = -1

// noFigure is what a step says that wants none.
const noFigure = "none"

// ReadScript reads the show block called name; "" is the one without a name, or
// the only one. A piece without show blocks has an empty script. All that is
// wrong comes as source.Errors, at its place in the piece file.
func ReadScript(p *piece.Piece, name string) (*Script, error) {
	script, wrong, err := readScript(p, name)
	if err != nil {
		return script, err
	}
	return script, wrong.Err()
}

// readScript is ReadScript for who has more to complain about: what is wrong in
// the block comes apart from an error that leaves none to read.
func readScript(p *piece.Piece, name string) (*Script, source.Errors, error) {
	r := scriptReader{piece: p, script: &Script{}}
	block, err := r.chosen(name)
	if block == nil || err != nil {
		return r.script, nil, err
	}
	r.read(block)
	return r.script, r.errors, nil
}

// scriptReader reads one show block and collects what is wrong with it.
type scriptReader struct {
	piece  *piece.Piece
	script *Script
	errors source.Errors
}

func (r *scriptReader) add(err *source.Error) {
	if err != nil {
		err.File = r.piece.File
		r.errors = append(r.errors, err)
	}
}

// chosen is the block of that name. The parser of the piece has kept each as
// text; here it is read again, at its own place in the file.
func (r *scriptReader) chosen(name string) (*blocks.Block, error) {
	var names []string
	var first *blocks.Block
	for i, b := range r.piece.Show {
		block := r.block(b)
		if block == nil {
			return nil, r.errors.Err()
		}
		label := block.Label(0)
		if label == name {
			return block, nil
		}
		if i == 0 {
			first = block
		}
		if label != "" {
			names = append(names, label)
		}
	}
	switch {
	case name == "":
		return first, nil
	case len(names) == 0:
		return nil, fmt.Errorf("the piece has no show block called %q; write show %q { ... } into it", name, name)
	}
	return nil, fmt.Errorf("the piece has no show block called %q; it has %s", name, strings.Join(names, ", "))
}

// block reads one again; nil where that fails.
func (r *scriptReader) block(b piece.Block) *blocks.Block {
	body, errs := blocks.Parse(r.placed(b), blocks.Options{})
	for _, e := range errs {
		r.add(e)
	}
	if len(errs) > 0 {
		return nil
	}
	return body.Blocks[0]
}

// placed is a text in which the block stands where it stands in the piece file
// and everything else is blank, so that places come out right.
func (r *scriptReader) placed(b piece.Block) *source.File {
	if r.piece.File == nil {
		return &source.File{Name: "show", Text: []byte(b.Text)}
	}
	lines := strings.Repeat("\n", max(0, b.At.Line-1))
	blanks := strings.Repeat(" ", max(0, b.At.Column-1))
	return &source.File{Name: r.piece.File.Name, Text: []byte(lines + blanks + b.Text)}
}

func (r *scriptReader) read(b *blocks.Block) {
	s, body := r.script, b.Body
	for _, e := range body.Unknown([]string{"language", "notes", "plain", "minutes", "order", "rate", "mono", "step {", "page {"},
		"a show block") {
		r.add(e)
	}
	if a := body.Get("language"); a != nil {
		r.text(a, &s.Language)
		s.language = a.Error
	}
	if a := body.Get("notes"); a != nil {
		r.text(a, &s.Notes)
		if _, err := words.ParseNoteNames(s.Notes); err != nil {
			problem, hint, _ := strings.Cut(err.Error(), "; ")
			r.add(a.Error(problem, hint))
		}
	}
	r.flag(body.Get("plain"), &s.Plain)
	r.flag(body.Get("mono"), &s.Mono)
	r.number(body.Get("minutes"), &s.Minutes, 1, maxMinute)
	r.number(body.Get("rate"), &s.Rate, slowest, fastest)
	if a := body.Get("order"); a != nil {
		r.order(a.Value)
	}
	for _, c := range body.Blocks {
		if c.Type == "step" || c.Type == "page" {
			r.custom(c)
		}
	}
}

func (r *scriptReader) order(v *blocks.Value) {
	members, err := v.List()
	r.add(err)
	if len(members) > maxSteps {
		r.add(v.Error(fmt.Sprintf("%d steps", len(members)), fmt.Sprintf("a lecture has at most %d", maxSteps)))
		return
	}
	for _, m := range members {
		if name, err := m.Str(); err != nil {
			r.add(err)
		} else {
			r.script.order = append(r.script.order, entry{name, m.Error})
		}
	}
}

// Attributes of a step and of a page.
var (
	stepAttrs = []string{"title", "text", "say", "voices", "hear", "stretch", "rate", "figure", "auto"}
	pageAttrs = []string{"title", "text", "say", "figure"}
)

func (r *scriptReader) custom(b *blocks.Block) {
	known, what, before := stepAttrs, "a step", len(r.errors)
	if b.Type == "page" {
		known, what = pageAttrs, "a page of text"
	}
	for _, e := range b.Body.Unknown(known, what) {
		r.add(e)
	}
	c := custom{name: b.Label(0), page: b.Type == "page", wrong: b.Error}
	switch {
	case c.name == "":
		r.add(b.Error("a "+b.Type+" without a name", fmt.Sprintf("name it: %s \"why\" {", b.Type)))
	case r.has(c.name):
		r.add(b.Error(fmt.Sprintf("a second %q", c.name), "each step and page has a name of its own"))
	case len(r.script.custom) == maxSteps:
		r.add(b.Error("too many steps and pages", fmt.Sprintf("a lecture has at most %d", maxSteps)))
		return
	}
	for _, of := range []struct {
		name string
		to   **string
	}{{"title", &c.title}, {"text", &c.text}, {"say", &c.say}} {
		if a := b.Body.Get(of.name); a != nil {
			*of.to = new(string)
			r.text(a, *of.to)
		}
	}
	if a := b.Body.Get("auto"); a != nil {
		c.auto = new(bool)
		r.flag(a, c.auto)
	}
	r.number(b.Body.Get("rate"), &c.rate, slowest, fastest)
	r.voices(b.Body.Get("voices"), &c)
	r.hear(b.Body.Get("hear"), &c)
	r.stretch(b.Body.Get("stretch"), &c)
	r.figure(b.Body.Get("figure"), &c)
	c.faulty = len(r.errors) > before
	r.script.custom = append(r.script.custom, c)
}

func (r *scriptReader) has(name string) bool { return r.script.find(name) != nil }

// find is the step or page block of that name, or nil.
func (s *Script) find(name string) *custom {
	for i := range s.custom {
		if s.custom[i].name == name {
			return &s.custom[i]
		}
	}
	return nil
}

func (r *scriptReader) text(a *blocks.Attr, to *string) {
	if a == nil {
		return
	}
	s, err := a.Str()
	r.add(err)
	if n := len([]rune(s)); n > maxText {
		r.add(a.Error(fmt.Sprintf("%d characters", n), fmt.Sprintf("a text has at most %d: make two pages of it", maxText)))
	}
	*to = s
}

func (r *scriptReader) flag(a *blocks.Attr, to *bool) {
	if a == nil {
		return
	}
	b, err := a.Bool()
	r.add(err)
	*to = b
}

func (r *scriptReader) number(a *blocks.Attr, to *float64, least, most float64) {
	if a == nil {
		return
	}
	x, err := a.Float()
	if err == nil && !(x >= least && x <= most) {
		err = a.Error(fmt.Sprintf("%s = %v is out of range", a.Name, x), fmt.Sprintf("it goes from %v to %v", least, most))
	}
	r.add(err)
	*to = x
}

func (r *scriptReader) voices(a *blocks.Attr, c *custom) {
	if a == nil {
		return
	}
	members, err := a.List()
	r.add(err)
	chosen := map[int]bool{}
	for _, m := range members {
		name, err := m.Str()
		if err != nil {
			r.add(err)
			continue
		}
		i, hint := voiceNamed(r.piece, name)
		if i < 0 {
			r.add(m.Error(fmt.Sprintf("there is no voice %q", name), hint))
			continue
		}
		chosen[i] = true
	}
	c.voices = []int{}
	for i := range r.piece.Voices {
		if chosen[i] {
			c.voices = append(c.voices, i)
		}
	}
}

// voiceNamed is the index of a voice, or -1 and what may have been meant.
func voiceNamed(p *piece.Piece, name string) (int, string) {
	var names []string
	for i, v := range p.Voices {
		if v.Name == name {
			return i, ""
		}
		names = append(names, v.Name)
	}
	if near, ok := source.Nearest(name, names); ok {
		return -1, "did you mean " + near + "?"
	}
	return -1, "its voices: " + strings.Join(names, ", ")
}

func (r *scriptReader) hear(a *blocks.Attr, c *custom) {
	if a == nil {
		return
	}
	name, err := a.Str()
	r.add(err)
	for h, known := range hearNames[:asked] {
		if name == known {
			chosen := Hear(h)
			c.hear = &chosen
			return
		}
	}
	if err == nil {
		r.add(a.Error(fmt.Sprintf("there is no way to hear %q", name), "one of "+strings.Join(hearNames[:asked], ", ")))
	}
}

const stretchHint = `write a stretch of the piece as two times: "10 s to 1:20", or "1:20 to end"`

func (r *scriptReader) stretch(a *blocks.Attr, c *custom) {
	if a == nil {
		return
	}
	text, err := a.Str()
	if err != nil {
		r.add(err)
		return
	}
	from, to, ok := strings.Cut(text, " to ")
	if !ok {
		r.add(a.Error(fmt.Sprintf("%q is no stretch", text), stretchHint))
		return
	}
	start, problem, hint := piecefile.ParseTime(from)
	if problem != "" {
		r.add(a.Error(problem, hint))
		return
	}
	c.stretch = &[2]float64{start.Float64(), toEnd}
	if strings.TrimSpace(to) == "end" {
		return
	}
	end, problem, hint := piecefile.ParseTime(to)
	switch {
	case problem != "":
		r.add(a.Error(problem, hint))
	case end.Cmp(start) <= 0 || start.Sign() < 0:
		r.add(a.Error("the stretch ends before it begins", stretchHint))
	default:
		c.stretch[1] = end.Float64()
	}
}

func (r *scriptReader) figure(a *blocks.Attr, c *custom) {
	if a == nil {
		return
	}
	name, err := a.Str()
	r.add(err)
	known := []string{noFigure}
	for _, k := range figure.Kinds() {
		known = append(known, k.Name)
	}
	for _, k := range known {
		if k == name {
			c.figure = name
			return
		}
	}
	if err == nil {
		r.add(a.Error(fmt.Sprintf("there is no figure %q", name), "one of "+strings.Join(known, ", ")))
	}
}
