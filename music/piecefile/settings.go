package piecefile

import (
	"slices"

	"rollwright/text/blocks"
	"rollwright/text/source"
)

// attr numbers the attributes and blocks that a voice may have.
type attr int

const (
	aTalea attr = iota
	aColor
	aLine
	aDynamics
	aHold
	aExtent
	aLasts
	aPerColor
	aPerTalea
	aTranspose
	aInvert
	aBackward
	aStretch
	aRotateColor
	aRotateTalea
	aSpeed
	aTempo
	aTempoPath
	aEachNote
	aUnit
	aPiano
	aPedal
	aSoft
	aStop
	aMode
	aInvertSteps
	aTransposeSteps
	aBar
	aUpbeat
	aMute
	aLoudness
	aLater
	aStart
	aMeet
	aLike
	nAttrs
)

// form is how an attribute is written and read.
type form struct {
	name  string
	value func(*reader, *blocks.Value) any // nil when it could not be read; nil func for a block
	block func(*reader, *blocks.Block) *setting
}

// forms is filled in init, for its functions refer to it.
var forms [nAttrs]form

func init() {
	forms = [nAttrs]form{
		aTalea:          {name: "talea", value: readTalea},
		aColor:          {name: "color", value: readColor},
		aLine:           {name: "line", value: readLine},
		aDynamics:       {name: "dynamics", value: readDynamics},
		aHold:           {name: "hold", value: readHold},
		aExtent:         {name: "extent", value: readExtent},
		aLasts:          {name: "lasts", value: readLasts},
		aPerColor:       {name: "per_color", block: readChange},
		aPerTalea:       {name: "per_talea", block: readChange},
		aTranspose:      {name: "transpose", value: readTranspose},
		aInvert:         {name: "invert", value: readInvert},
		aBackward:       {name: "backward", value: readBackward},
		aStretch:        {name: "stretch", value: readStretch},
		aRotateColor:    {name: "rotate_color", value: readRotate},
		aRotateTalea:    {name: "rotate_talea", value: readRotate},
		aSpeed:          {name: "speed", value: readSpeed},
		aTempo:          {name: "tempo", value: readTempo},
		aTempoPath:      {name: "tempo_path", block: readTempoPath},
		aEachNote:       {name: "each_note", value: readEachNote},
		aUnit:           {name: "unit", value: readUnit},
		aPiano:          {name: "piano", value: readPianoName},
		aPedal:          {name: "pedal", value: readSpans},
		aSoft:           {name: "soft", value: readSpans},
		aStop:           {name: "stop", value: readStops},
		aMode:           {name: "mode", value: readMode},
		aInvertSteps:    {name: "invert_steps", value: readInvert},
		aTransposeSteps: {name: "transpose_steps", value: readTransposeSteps},
		aBar:            {name: "bar", value: readBar},
		aUpbeat:         {name: "upbeat", value: readUpbeat},
		aMute:           {name: "mute", value: readMute},
		aLoudness:       {name: "loudness_path", block: readLoudness},
		aLater:          {name: "later", value: readLater},
		aStart:          {name: "start", value: readStart},
		aMeet:           {name: "meet", block: readMeet},
		aLike:           {name: "like", value: readLike},
	}
}

// setting is an attribute as written and what it means.
type setting struct {
	meaning any // nil when it could not be read; its type belongs to the attribute
	at      source.Pos
	inner   map[string]source.Pos // of a block: the places of its attributes, "per_color.transpose"
	value   *blocks.Value         // of an attribute
	block   *blocks.Block         // of a block
	next    *setting              // of meet: a further one, in the order of the text

	condition bool // of lasts: it belongs to an unknown, and is not for those that are like its voice
}

// Error is a complaint about the value, or the head of the block.
func (s *setting) Error(problem, hint string) *source.Error {
	if s.block != nil {
		return s.block.Error(problem, hint)
	}
	return s.value.Error(problem, hint)
}

// settings are the attributes of one voice; those not given are nil.
type settings [nAttrs]*setting

// replaces lists, for an attribute, those that it takes the place of.
var replaces = [nAttrs][]attr{
	aLine:      {aTalea, aColor},
	aTalea:     {aLine},
	aColor:     {aLine},
	aTempo:     {aTempoPath},
	aTempoPath: {aTempo},
	aSpeed:     {aLasts},
	aLasts:     {aSpeed},

	aInvert:      {aInvertSteps},
	aInvertSteps: {aInvert},
	aUpbeat:      {aBar}, // an upbeat belongs to its bars
}

// placing are the attributes that stay with the voice that says them.
var placing = []attr{aStart, aMeet, aLike, aLater}

// inherit takes over what from has and s does not say otherwise. What places a
// voice in time stays with the voice that says it.
func (s *settings) inherit(from *settings) {
	said := *s
	for a, setting := range from {
		if s[a] == nil && !slices.Contains(placing, attr(a)) && !said.replaced(attr(a)) &&
			(setting == nil || !setting.condition) {
			s[a] = setting
		}
	}
	// A line is short for its own talea and color: a voice that has one of them keeps the
	// other of the line.
	if line := from[aLine]; line != nil && said[aLine] == nil && (said[aTalea] == nil) != (said[aColor] == nil) {
		if said[aTalea] != nil {
			s[aColor] = line
		} else {
			s[aTalea] = line
		}
	}
}

// replaced reports whether s has something that a would contradict.
func (s *settings) replaced(a attr) bool {
	for _, other := range replaces[a] {
		if s[other] != nil {
			return true
		}
	}
	return false
}

// clash is why two attributes of one block exclude each other.
type clash struct {
	a, b          attr
	problem, hint string
}

var clashes = []clash{
	{aLine, aColor, "line and color exclude each other", "a line has its own pitches and durations"},
	{aLine, aTalea, "line and talea exclude each other", "a line has its own pitches and durations"},
	{aTempo, aTempoPath, "tempo and tempo_path exclude each other",
		"begin the path with that tempo: leg { from = ... }, and delete tempo"},
	{aInvert, aInvertSteps, "invert and invert_steps exclude each other",
		"one mirrors in semitones, the other in steps of the mode: delete one of the two"},
}

// read reads the attributes of a voice, tune or canon out of its body, except
// some.
func (r *reader) read(body *blocks.Body, except ...attr) settings {
	return r.readClashing(body, except, clashes)
}

func (r *reader) readClashing(body *blocks.Body, except []attr, clashes []clash) settings {
	var s settings
	for a, form := range forms {
		if slices.Contains(except, attr(a)) {
			continue
		}
		if form.value == nil {
			s[a] = r.readBlock(body, form)
			continue
		}
		if written := body.Get(form.name); written != nil {
			s[a] = r.setting(attr(a), written)
		}
	}
	said := attr(-1)
	for _, c := range clashes {
		if s[c.a] != nil && s[c.b] != nil && c.a != said {
			said = c.a
			later := s[c.a]
			if later.at.Before(s[c.b].at) {
				later = s[c.b]
			}
			r.add(later.Error(c.problem, c.hint))
		}
	}
	return s
}

// readOnly reads some attributes out of a body.
func (r *reader) readOnly(body *blocks.Body, only []attr) settings {
	var except []attr
	for a := range forms {
		if !slices.Contains(only, attr(a)) {
			except = append(except, attr(a))
		}
	}
	return r.readClashing(body, except, nil)
}

func (r *reader) setting(a attr, written *blocks.Attr) *setting {
	return &setting{at: written.At, value: written.Value, meaning: forms[a].value(r, written.Value)}
}

// readBlock reads the block of that form; a second one is an error.
func (r *reader) readBlock(body *blocks.Body, f form) *setting {
	all := body.Of(f.name)
	if len(all) == 0 {
		return nil
	}
	if f.name == forms[aMeet].name {
		return r.readMeets(f, all)
	}
	for _, extra := range all[1:] {
		r.add(extra.Error("a second "+f.name, "keep one of the two"))
	}
	for _, b := range all {
		r.noLabels(b)
	}
	s := f.block(r, all[0])
	s.at, s.block = all[0].At, all[0]
	return s
}

// noLabels complains about a name where a block has none.
func (r *reader) noLabels(b *blocks.Block) {
	if len(b.Labels) > 0 {
		r.add(b.Error(b.Type+" has no name", "write: "+b.Type+" {"))
	}
}

// voiceWords are the attributes and blocks that a voice knows.
func voiceWords(without ...attr) []string {
	var words []string
	for a := range forms {
		if !slices.Contains(without, attr(a)) {
			words = append(words, voiceWord(attr(a)))
		}
	}
	return words
}

// voiceWord is the name of an attribute, with a brace where it is a block.
func voiceWord(a attr) string {
	if forms[a].block != nil {
		return forms[a].name + " {"
	}
	return forms[a].name
}
