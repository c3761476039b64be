package piecefile

import (
	"fmt"
	"slices"

	"rollwright/exact"
	"rollwright/music/piece"
	"rollwright/text/blocks"
	"rollwright/text/source"
)

// node is a tune or a voice.
type node struct {
	name     string
	block    *blocks.Block
	own      settings
	all      settings // with everything that it is like
	canon    *canon   // nil: none
	section  int      // -1: none
	index    int      // into Piece.Voices; -1: a tune
	state    state
	chained  *node // the one it is like, for messages about circles
	circular bool  // it is like something that is like itself

	unknown  piece.Unknown // the number that it asks for
	held     *setting      // lasts, where it is a condition and multiplies nothing
	copy     *copying      // the copy of a section in which it stands; nil: none
	nth      int           // of its canon's voices as written, from 0
	taking   bool          // its series are being made for another one's
	unplayed bool          // they are made to be looked through
	defaults bool          // all has the defaults of section and piece
}

// state is how far a node is resolved.
type state int8

const (
	untouched state = iota
	underway
	resolved
)

// canon is a canon block.
type canon struct {
	name    string
	block   *blocks.Block
	own     settings
	subject *span
	unread  bool // the subject could not be read
	like    *setting
	lasts   *setting
	speeds  []exact.Real
	speedAt *setting // the attribute speeds
	meet    piece.Point
	cross   []cross
	at      *moment
	copy    *copying
	section int
	index   int // into Piece.Canons
	voices  []*node
}

// named is what a name stands for: a node or a canon.
type named struct {
	node  *node
	canon *canon
}

func (n *named) what() string {
	switch {
	case n.canon != nil:
		return "canon"
	case n.node.index < 0:
		return "tune"
	}
	return "voice"
}

func (n *named) at() source.Pos {
	if n.canon != nil {
		return n.canon.block.At
	}
	return n.node.block.At
}

// collect reads all tunes, voices, canons and sections in the order of the
// text.
func (r *reader) collect() {
	voices := 0
	for _, b := range r.body.Blocks {
		r.part(b, -1, &voices)
	}
	if voices == 0 && len(r.errs) == 0 {
		r.add(&source.Error{File: r.file, Problem: "there is no voice in this piece",
			Hint: "write one:\nvoice \"low\" {\n  talea = \"3 2 2\"\n  color = \"C2 G2 C3\"\n}"})
	}
}

// part reads one block of the piece or of a section.
func (r *reader) part(b *blocks.Block, section int, voices *int) {
	switch b.Type {
	case "tune", "voice", "canon":
		if r.tooMany(b) {
			return
		}
	}
	switch b.Type {
	case "tune":
		r.tune(b)
	case "voice":
		r.voice(b, nil, section, voices)
	case "canon":
		r.canon(b, section, voices)
	case "section":
		if section < 0 {
			r.section(b, voices)
		}
	}
}

// leaves reports whether a block, or all voices of a canon, are left out of the copy of a
// section that is being read.
func (r *reader) leaves(b *blocks.Block) bool {
	if r.copying == nil {
		return false
	}
	if r.copying.leaves(b.Label(0)) {
		return true
	}
	voices := b.Body.Of("voice")
	return b.Type == "canon" && len(voices) > 0 && !slices.ContainsFunc(voices,
		func(v *blocks.Block) bool { return !r.copying.leaves(v.Label(0)) })
}

// tooMany reports whether there is no room for another tune or voice.
func (r *reader) tooMany(b *blocks.Block) bool {
	if len(r.nodes) < maxVoices {
		return false
	}
	if r.many == nil {
		r.many = b.Error(fmt.Sprintf("too large: more than %d tunes and voices", maxVoices), "")
	}
	return !r.add(r.many)
}

// define gives a name its meaning.
func (r *reader) define(b *blocks.Block, name string, n *named) {
	if name == "" {
		return
	}
	if twin := r.names[name]; twin != nil {
		r.add(b.Error(fmt.Sprintf("the name %q is taken: line %d has a %s with it", name, twin.at().Line, twin.what()),
			"voices, tunes and canons each have a name of their own"))
		return
	}
	r.names[name] = n
}

func (r *reader) tune(b *blocks.Block) {
	n := &node{block: b, section: -1, index: -1}
	n.name = r.name(b, "tune", `tune "theme" {`)
	r.unknown(b.Body, append(voiceWords(aStart, aMeet, aLater, aMute), fromWords...), "a tune")
	r.reading = n
	n.own = r.read(b.Body, aStart, aMeet, aLater, aMute)
	r.readFrom(b.Body, &n.own)
	r.reading = nil
	r.nodes = append(r.nodes, n)
	r.define(b, n.name, &named{node: n})
}

func (r *reader) voice(b *blocks.Block, c *canon, section int, voices *int) {
	n := &node{block: b, canon: c, section: section, index: *voices, copy: r.copying}
	*voices++
	n.name = r.copyName(r.name(b, "voice", `voice "low" {`))
	later := []attr{aLater}
	if c != nil {
		later = nil
	}
	r.unknown(b.Body, append(voiceWords(later...), fromWords...), "a voice")
	r.reading = n
	n.own = r.read(b.Body, later...)
	r.readFrom(b.Body, &n.own)
	r.reading = nil
	r.nodes = append(r.nodes, n)
	r.define(b, n.name, &named{node: n})
	if c != nil {
		c.voices = append(c.voices, n)
		r.inCanon(n)
	}
}

// inCanon complains about what only the canon can say of its voices.
func (r *reader) inCanon(n *node) {
	if s := n.own[aStart]; s != nil && !n.canon.crosses() {
		r.add(s.Error("the canon says where its voices stand in time", "delete it here; the canon has meet and at"))
		n.own[aStart] = nil
	}
	if s := n.own[aLasts]; s != nil && (n.canon.lasts != nil || n.canon.speeds != nil) {
		r.add(s.Error("the canon says how fast its voices are", "write lasts in the canon: it is the length of its longest voice"))
		n.own[aLasts] = nil
	}
}
