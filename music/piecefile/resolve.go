package piecefile

import (
	"fmt"
	"slices"
	"strings"

	"rollwright/music/piece"
	"rollwright/text/source"
)

// resolve finds what every name stands for, and gives each voice everything
// that it is like.
func (r *reader) resolve() {
	for _, ref := range r.refs {
		r.find(ref)
	}
	for _, n := range r.nodes {
		r.complete(n)
	}
}

// find resolves a reference to something that sounds.
func (r *reader) find(ref *reference) {
	at := ref.at
	if o := ref.other; o != nil && r.namedBy(ref, at) == nil {
		if !r.add(o.wrong) {
			return
		}
		o.taken = true
		at, ref.name, ref.at = o.name, o.name.String(), o.name
	}
	n := r.namedBy(ref, at)
	if c := ref.scope(); c != nil && slices.Contains(c.without, at.String()) {
		r.add(at.Error(fmt.Sprintf("section %q leaves %q out, and it is named here", c.section, at),
			"leave out what names it too, or let it name another voice"))
		return
	}
	if n == nil {
		n = r.lookup(at, "voice", func(n *named) bool { return n.what() == "voice" || n.what() == "canon" && !ref.voice })
	}
	switch {
	case n == nil:
	case n.what() == "tune":
		r.add(at.Error(fmt.Sprintf("%q is a tune and makes no sound", ref.name), "name a voice; a tune has no place in time"))
	case n.what() == "canon" && ref.voice:
		hint := "name one of its voices"
		if len(n.canon.voices) > 0 {
			hint += fmt.Sprintf(", such as %q", n.canon.voices[0].name)
		}
		r.add(at.Error(fmt.Sprintf("%q is a canon, and a voice is wanted", ref.name), hint))
	case n.canon != nil:
		ref.ref.Canon, ref.ok = n.canon.index, true
	default:
		ref.ref.Voice, ref.ok = n.node.index, true
	}
}

// scope is the copy of a section in which a name stands; nil: none.
func (ref *reference) scope() *copying {
	switch {
	case ref.asker != nil:
		return ref.asker.copy
	case ref.canon != nil:
		return ref.canon.copy
	}
	return nil
}

// namedBy is what a name stands for where it is written, and nil when nothing has it: inside
// a copy of a section the copy's own comes first.
func (r *reader) namedBy(ref *reference, at span) *named {
	section := -1
	switch {
	case ref.asker != nil:
		section = ref.asker.section
	case ref.canon != nil:
		section = ref.canon.section
	}
	if n := r.copyOf(ref.scope(), section, at.String()); n != nil {
		return n
	}
	return r.names[at.String()]
}

// copyOf is what a section has copied under a name, for what is copied itself and for what
// stands beside the copies; nil: nothing.
func (r *reader) copyOf(c *copying, section int, name string) *named {
	switch {
	case c != nil:
		return r.names[c.in(name)]
	case section >= 0 && r.piece.Sections[section].Like != "":
		return r.names[(&copying{section: r.piece.Sections[section].Name}).in(name)]
	}
	return nil
}

// lookupFor is lookup for a name that a node says.
func (r *reader) lookupFor(n *node, at span, what string) *named {
	if own := r.copyOf(n.copy, n.section, at.String()); own != nil {
		return own
	}
	return r.lookup(at, what, func(n *named) bool { return n.node != nil })
}

// lookup is what a name stands for, or nil with a complaint, in which names
// that fit are offered.
func (r *reader) lookup(at span, what string, fits func(*named) bool) *named {
	name := at.String()
	if n := r.names[name]; n != nil {
		return n
	}
	if r.full() {
		return nil
	}
	var names []string
	for _, n := range r.nodes {
		if known := r.names[n.name]; known != nil && fits(known) {
			names = append(names, n.name)
		}
	}
	for _, c := range r.canons {
		if known := r.names[c.name]; known != nil && fits(known) {
			names = append(names, c.name)
		}
	}
	r.add(at.Error(fmt.Sprintf("there is no %s %q", what, source.Printable(name)), nearest(name, names, "")))
	return nil
}

// complete works out all settings of a node.
func (r *reader) complete(n *node) bool {
	switch n.state {
	case resolved:
		return true
	case underway:
		r.circle(n)
		n.circular = true
		return false
	}
	n.state = underway
	n.all = n.own
	if n.canon != nil {
		n.all.inherit(&n.canon.own)
	}
	if model := r.model(n); model != nil {
		n.chained = model
		if r.complete(model) {
			n.all.inherit(&model.all)
		}
		n.circular = n.circular || model.circular
	}
	if n.canon != nil && n.canon.lasts != nil {
		n.all[aLasts] = nil // the canon's decides
	}
	n.state = resolved
	return true
}

// model is the node that n is like, or nil.
func (r *reader) model(n *node) *node {
	at, what := n.likeName()
	if at == nil {
		return nil
	}
	found := r.lookupFor(n, *at, what)
	switch {
	case found == nil:
		return nil
	case found.canon != nil:
		r.add(at.Error(fmt.Sprintf("%q is a canon, and a tune or voice is wanted", at),
			"name the tune, or one of the canon's voices"))
		return nil
	}
	return found.node
}

// likeName is the name of what n is like.
func (n *node) likeName() (*span, string) {
	if s := n.own[aLike]; s != nil {
		return meantSpan(s), "voice or tune"
	}
	if c := n.canon; c != nil {
		if c.like != nil {
			return meantSpan(c.like), "voice or tune"
		}
		return c.subject, "tune or voice"
	}
	return nil, ""
}

func meantSpan(s *setting) *span {
	if at, ok := s.meaning.(span); ok {
		return &at
	}
	return nil
}

// circle complains about voices that are like each other.
func (r *reader) circle(n *node) {
	names := []string{n.name}
	for m := n.chained; m != nil && m != n && len(names) < 8; m = m.chained {
		names = append(names, m.name)
	}
	at, _ := n.likeName()
	if len(names) == 1 {
		r.add(at.Error(fmt.Sprintf("%q is like itself", n.name), "name another voice or tune"))
		return
	}
	r.add(at.Error("these are like each other in a circle: "+strings.Join(append(names, n.name), " is like "),
		"one of them needs its own talea and color instead of like"))
}

// build makes the voices, canons and sections of the piece.
func (r *reader) build() {
	r.piece.Voices = make([]piece.Voice, 0, len(r.nodes))
	for _, n := range r.nodes {
		r.inheritDefaults(n)
		if n.index >= 0 {
			r.sounding = append(r.sounding, n)
			r.piece.Voices = append(r.piece.Voices, r.voiceOf(n))
		}
	}
	for _, n := range r.nodes {
		r.checkBars(n)
		if n.index < 0 {
			r.checkTaken(n)
		}
	}
	r.checkFrames()
	for i, n := range r.sounding {
		r.checkLasts(n, &r.piece.Voices[i])
		r.checkAsked(n, &r.piece.Voices[i])
	}
	for _, c := range r.canons {
		out := piece.Canon{Name: c.name, Section: c.section, Meet: c.meet, Places: piece.Places{"": c.block.At}}
		for _, a := range c.block.Body.Attrs {
			out.Places[a.Name] = a.At
		}
		if c.subject != nil {
			out.Subject = c.subject.String()
		} else if c.like != nil && c.like.meaning != nil {
			out.Subject = meantSpan(c.like).String()
		}
		if c.at != nil {
			out.HasAt, out.At, out.Units = true, c.at.sec, c.at.units
		}
		if s := c.lasts; s != nil {
			out.Lasts = lastsOf(s)
		}
		for _, n := range c.voices {
			out.Voices = append(out.Voices, n.index)
		}
		out.Cross = r.crossesOf(c)
		r.piece.Canons = append(r.piece.Canons, out)
	}
}

func lastsOf(s *setting) piece.Lasts {
	l, ok := s.meaning.(*lasts)
	if !ok {
		return piece.Lasts{}
	}
	out := l.Lasts
	if l.as != nil {
		out.As = l.as.ref
	}
	return out
}
