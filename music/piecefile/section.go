package piecefile

import (
	"fmt"
	"slices"
	"strings"

	"rollwright/exact"
	"rollwright/music/piece"
	"rollwright/text/blocks"
	"rollwright/text/source"
)

// section is a section block.
type section struct {
	block *blocks.Block
	own   settings // with those of the section that it is like
}

// sectionAttrs are the attributes of a voice that a section takes too. Speed and transpose
// are for the whole of it, the paths are its own, the rest are defaults of its voices.
var sectionAttrs = []attr{aTempo, aSpeed, aTranspose, aHold, aDynamics, aPiano, aMode, aBar, aUpbeat, aMute, aTempoPath,
	aLoudness}

var sectionDefaults = []attr{aTempo, aHold, aDynamics, aPiano, aMode, aBar, aUpbeat, aMute}

// copying is a section that is read as the copy of another one.
type copying struct {
	section string
	without []string
	hidden  []string        // left out of what is copied already
	used    map[string]bool // the names of without that were found
	names   []string        // of what is copied, for a hint
}

func (c *copying) leaves(name string) bool {
	if slices.Contains(c.hidden, name) {
		return true
	}
	c.names = append(c.names, name)
	if slices.Contains(c.without, name) {
		c.used[name] = true
		return true
	}
	return false
}

// in is the name of a copy.
func (c *copying) in(name string) string { return name + " in " + c.section }

// copyName is the name under which what is being read is known.
func (r *reader) copyName(name string) string {
	if r.copying == nil || name == "" {
		return name
	}
	return r.copying.in(name)
}

func (r *reader) section(b *blocks.Block, voices *int) {
	s := piece.Section{Name: r.name(b, "section", `section "A" {`), Places: piece.Places{"": b.At}}
	known := []string{"start", "overlap", "gap", "like", "without", "voice {", "canon {"}
	for _, a := range sectionAttrs {
		known = append(known, voiceWord(a))
	}
	r.unknown(b.Body, known, "a section")
	for _, a := range b.Body.Attrs {
		s.Places[a.Name] = a.At
	}
	if s.Name != "" && r.named[s.Name] != nil {
		r.add(b.Error(fmt.Sprintf("a second section %q", s.Name), "each section has a name of its own"))
	} else if s.Name != "" {
		r.named[s.Name] = b
	}
	r.sectionStart(b, &s)
	sec := &section{block: b, own: r.readOnly(b.Body, sectionAttrs)}
	model, copied := r.sectionLike(b, s.Name, sec, &s)
	r.sectionTimes(sec, &s)
	index := len(r.piece.Sections)
	r.piece.Sections, r.sections = append(r.piece.Sections, s), append(r.sections, sec)
	before := *voices
	if model != nil {
		r.copying = copied
		for _, inner := range r.partsOf(model) {
			if !r.leaves(inner) {
				r.part(inner, index, voices)
			}
		}
		r.copying = nil
		r.checkWithout(b, copied)
	}
	r.parts(b, index, voices)
	if *voices == before && r.many == nil && (model != nil || b.Body.Get("like") == nil) {
		r.add(b.Error("this section has no voices", `write some in it: voice "low" { ... }`))
	}
}

// parts reads the voices and canons that stand in a section.
func (r *reader) parts(b *blocks.Block, index int, voices *int) {
	for _, inner := range b.Body.Blocks {
		if inner.Type == "voice" || inner.Type == "canon" {
			r.part(inner, index, voices)
		}
	}
}

// partsOf are the voices and canons of a section, those that it copies among them.
func (r *reader) partsOf(b *blocks.Block) []*blocks.Block {
	var out []*blocks.Block
	if name, without := r.likeOf(b); name != "" {
		if model := r.sectionBlock(name); model != nil {
			for _, inner := range r.partsOf(model) {
				if !slices.Contains(without, inner.Label(0)) {
					out = append(out, inner)
				}
			}
		}
	}
	for _, inner := range b.Body.Blocks {
		if inner.Type == "voice" || inner.Type == "canon" {
			out = append(out, inner)
		}
	}
	return out
}

// sectionBlock is the section of that name, wherever it stands; nil: none.
func (r *reader) sectionBlock(name string) *blocks.Block {
	for _, b := range r.body.Of("section") {
		if b.Label(0) == name {
			return b
		}
	}
	return nil
}

// likeOf is what a section says it is like, and what it leaves out, without complaints.
func (r *reader) likeOf(b *blocks.Block) (name string, without []string) {
	a := b.Body.Get("like")
	if a == nil {
		return "", nil
	}
	t, err := a.Value.Written()
	if err != nil {
		return "", nil
	}
	if list := b.Body.Get("without"); list != nil {
		without, _ = r.withoutNames(list, true)
	}
	return strings.TrimSpace(t.S), without
}

// sectionLike finds the section whose voices come once more, and takes over its settings.
func (r *reader) sectionLike(b *blocks.Block, name string, sec *section, s *piece.Section) (model *blocks.Block,
	c *copying) {
	a := b.Body.Get("like")
	if a == nil {
		if w := b.Body.Get("without"); w != nil {
			r.add(w.Error("without needs like", "it leaves voices out of the section that this one is like"))
		}
		return nil, nil
	}
	at, ok := r.written(a.Value)
	if !ok {
		return nil, nil
	}
	var seen, hidden []string
	for b, like := b, at.String(); ; {
		seen = append(seen, b.Label(0))
		next := r.sectionBlock(like)
		switch {
		case next == nil && len(seen) == 1:
			var names []string
			for _, other := range r.body.Of("section") {
				if other != b {
					names = append(names, other.Label(0))
				}
			}
			r.add(at.Error(fmt.Sprintf("there is no section %q", source.Printable(like)), nearest(like, names, "")))
			return nil, nil
		case next == nil:
		case slices.Contains(seen, like):
			r.add(at.Error("these sections are like each other in a circle: "+strings.Join(append(seen, like), " is like "),
				"one of them needs voices of its own"))
			return nil, nil
		default:
			own := r.readOnly(next.Body, sectionAttrs)
			sec.own.inherit(&own)
			var without []string
			b = next
			like, without = r.likeOf(next)
			hidden = append(hidden, without...)
			if like != "" {
				continue
			}
		}
		break
	}
	s.Like = at.String()
	c = &copying{section: name, hidden: hidden, used: map[string]bool{}}
	if w := b.Body.Get("without"); w != nil {
		c.without, _ = r.withoutNames(w, false)
	}
	return r.sectionBlock(s.Like), c
}

// withoutNames are the names that a section leaves out.
func (r *reader) withoutNames(a *blocks.Attr, quiet bool) (names []string, ok bool) {
	list, err := a.Value.List()
	if err != nil {
		return nil, quiet || r.add(err)
	}
	for _, v := range list {
		t, err := v.Text()
		if err != nil {
			return names, quiet || r.add(v.Error("the name of a voice in quotes is wanted here",
				`write: without = ["low", "high"]`))
		}
		names = append(names, strings.TrimSpace(t.S))
	}
	return names, true
}

// checkWithout complains about names that are not there to be left out.
func (r *reader) checkWithout(b *blocks.Block, c *copying) {
	a := b.Body.Get("without")
	if a == nil {
		return
	}
	list, _ := a.Value.List()
	for i, name := range c.without {
		if !c.used[name] && i < len(list) {
			r.add(list[i].Error(fmt.Sprintf("there is no voice %q to leave out", source.Printable(name)),
				nearest(name, c.names, "")))
		}
	}
}

// sectionStart reads where a section begins.
func (r *reader) sectionStart(b *blocks.Block, s *piece.Section) {
	start, overlap, gap := b.Body.Get("start"), b.Body.Get("overlap"), b.Body.Get("gap")
	if start != nil {
		s.HasStart = true
		m, _ := r.instant(start.Value)
		s.Start, s.StartUnits = m.sec, m.units
	}
	if overlap != nil {
		s.Overlap, _ = r.time(overlap.Value, false)
		if s.Overlap.Sign() < 0 {
			r.add(overlap.Error("an overlap below 0", `for a pause write: gap = "2 s"`))
		}
	}
	if gap != nil {
		m, ok := r.length(gap.Value)
		s.GapSec, s.GapUnits = m.sec, m.units
		if ok && (m.sec.Sign() < 0 || m.units.Sign() < 0) {
			r.add(gap.Error("a gap below 0", `to begin before the section before has ended write: overlap = "2 s"`))
		}
	}
	switch {
	case start != nil && overlap != nil:
		r.add(overlap.Error("start and overlap exclude each other",
			"overlap counts back from the end of the section before: delete one of the two"))
	case start != nil && gap != nil:
		r.add(gap.Error("start and gap exclude each other", "gap counts from the end of the section before: delete one of the two"))
	case overlap != nil && gap != nil:
		r.add(gap.Error("overlap and gap exclude each other", "one begins before the section before has ended, the other after: delete one of the two"))
	}
}

// sectionTimes is what a section does to the time inside it.
func (r *reader) sectionTimes(sec *section, s *piece.Section) {
	s.Speed = value(sec.own[aSpeed], exact.Real{})
	s.Tempo = value(sec.own[aTempo], r.nominalTempo())
	s.Path = value[[]piece.Leg](sec.own[aTempoPath], nil)
	s.Loudness = value[[]piece.LoudLeg](sec.own[aLoudness], nil)
	s.Bar = barsOf(&sec.own)
	if !s.Bar.Given() {
		s.Bar = barsOf(&r.defaults)
	}
	for _, a := range sectionAttrs {
		if set := sec.own[a]; set != nil {
			s.Places[forms[a].name] = set.at
		}
	}
}

// nominalTempo is the tempo of the piece.
func (r *reader) nominalTempo() exact.Real { return value(r.defaults[aTempo], defaultTempo) }

// inheritDefaults gives a node, once, what its section and the piece say for all.
func (r *reader) inheritDefaults(n *node) {
	if n.defaults {
		return
	}
	n.defaults = true
	if n.section >= 0 {
		var defaults settings
		for _, a := range sectionDefaults {
			defaults[a] = r.sections[n.section].own[a]
		}
		n.all.inherit(&defaults)
	}
	n.all.inherit(&r.defaults)
}

// checkFrames complains about names that reach into or out of a section whose time is its
// own.
func (r *reader) checkFrames() {
	for _, ref := range r.refs {
		if !ref.ok {
			continue
		}
		from, to := ref.section(), r.sectionOf(ref.ref)
		if from == to {
			continue
		}
		if from >= 0 && r.piece.Sections[from].Bends() {
			r.add(ref.at.Error(fmt.Sprintf("section %q has a time of its own, and %q lies outside it",
				r.piece.Sections[from].Name, ref.name),
				"voices in a section with speed or tempo_path name only voices of that section"))
			continue
		}
		if to >= 0 && r.piece.Sections[to].Bends() && !ref.after {
			r.add(ref.at.Error(fmt.Sprintf("%q lies in section %q, which has a time of its own", ref.name,
				r.piece.Sections[to].Name),
				fmt.Sprintf("from outside only its end can be named: start = \"after %s\"", ref.name)))
		}
	}
}

// section is that of the voice or canon that names something; -1: none.
func (ref *reference) section() int {
	switch {
	case ref.asker != nil:
		return ref.asker.section
	case ref.canon != nil:
		return ref.canon.section
	}
	return -1
}

func (r *reader) sectionOf(ref piece.Ref) int {
	if ref.Voice >= 0 {
		return r.sounding[ref.Voice].section
	}
	return r.canons[ref.Canon].section
}
