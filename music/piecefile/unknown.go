package piecefile

import (
	"fmt"
	"strings"

	"rollwright/music/piece"
	"rollwright/text/blocks"
	"rollwright/text/source"
)

// asksFor reports whether a value is "?", a number to be found, and keeps it
// until claim knows whose number it is.
func (r *reader) asksFor(v *blocks.Value) bool {
	if !v.IsText() {
		return false
	}
	if s, err := v.Str(); err != nil || strings.TrimSpace(s) != "?" {
		return false
	}
	if r.asked == nil {
		r.asked = map[*blocks.Value]bool{}
	}
	r.asked[v] = false
	return true
}

// question is a "?" of a voice.
type question struct {
	piece.Unknown
	said  *setting // the attribute or the path that it stands in
	value *blocks.Value
}

// questions are those that the own settings of a voice ask, in the order of the
// text.
func (r *reader) questions(own *settings) []question {
	var out []question
	ask := func(kind piece.UnknownKind, leg int, at source.Pos, s *setting, v *blocks.Value) {
		if _, asked := r.asked[v]; asked {
			out = append(out, question{piece.Unknown{Kind: kind, Leg: leg, At: at}, s, v})
		}
	}
	for _, kind := range askable {
		if s := own[kind.attr]; s != nil && s.value != nil {
			ask(kind.unknown, 0, s.at, s, s.value)
		}
	}
	s := own[aTempoPath]
	if s == nil || s.block == nil {
		return out
	}
	for i, leg := range s.block.Body.Of("leg") {
		for _, kind := range askableOfLeg {
			if a := leg.Body.Get(kind.name); a != nil {
				ask(kind.unknown, i, a.At, s, a.Value)
			}
		}
	}
	return out
}

var askable = []struct {
	attr    attr
	unknown piece.UnknownKind
}{
	{aSpeed, piece.UnknownSpeed}, {aTempo, piece.UnknownTempo},
	{aStretch, piece.UnknownStretch}, {aEachNote, piece.UnknownEachNote},
}

var askableOfLeg = []struct {
	name    string
	unknown piece.UnknownKind
}{{"from", piece.UnknownFrom}, {"to", piece.UnknownTo}, {"over", piece.UnknownOver}}

// claim finds whose every "?" is, and what its voice says it has to do.
func (r *reader) claim() {
	for _, n := range r.nodes {
		if r.full() {
			return
		}
		if qs := r.questions(&n.own); len(qs) > 0 {
			r.claimFor(n, qs)
		}
		r.conditionsOf(n)
	}
	for v, claimed := range r.asked {
		if !claimed {
			r.add(v.Error(`"?" is no number here`,
				"to be found a number stands in a voice itself: speed, tempo, stretch, each_note,\nor from, to or over of one leg of its tempo_path"))
		}
	}
}

func (r *reader) claimFor(n *node, qs []question) {
	for _, q := range qs {
		r.asked[q.value] = true
	}
	first := qs[0]
	switch {
	case n.index < 0:
		r.add(first.value.Error(fmt.Sprintf("the tune %q cannot ask for a number: it has no place in time", n.name),
			`ask in a voice, where start, meet and lasts say what the number has to do`))
		return
	case len(qs) > 1:
		r.add(qs[1].value.Error(fmt.Sprintf("%q asks for a second number; it has asked for %s in line %d", n.name,
			first.Attribute(), first.At.Line),
			"a voice has one unknown: write a number here"))
		return
	case n.canon != nil && n.canon.lasts != nil:
		r.add(first.value.Error(fmt.Sprintf("in canon %q the speeds follow from lasts, line %d", n.canon.name,
			n.canon.lasts.at.Line),
			"delete lasts there, or write a number here"))
		return
	case first.said.meaning == nil:
		return // something else is wrong with it
	}
	n.unknown = first.Unknown
}

// conditionsOf looks at what a voice says of its place and its length: whether
// that is as much as its unknown, or its place, needs.
func (r *reader) conditionsOf(n *node) {
	asks := n.unknown.Kind != piece.NoUnknown
	lasts := n.own[aLasts]
	switch {
	case n.index < 0 && lasts != nil && n.own[aSpeed] != nil:
		r.add(lasts.Error("speed and lasts exclude each other", "the speed follows from how long the voice lasts: delete one of the two"))
		return
	case lasts != nil && (asks || n.own[aSpeed] != nil):
		n.held, lasts.condition = lasts, true
	}
	if later := n.own[aLater]; later != nil && n.canon != nil && n.canon.crosses() {
		r.add(later.Error("later counts from the canon's meeting point, and voices that cross have none",
			"say when the voice crosses another, or where it starts: start = \"2 s\""))
		return
	}
	if !asks {
		return
	}
	if n.canon != nil {
		r.canonConditions(n)
		return
	}
	count, said := len(n.placings()), "nothing"
	if lasts != nil {
		count++
	}
	switch {
	case count == 2, count == 1 && lasts != nil:
		return
	case count == 1 && n.own[aStart] != nil:
		said = "only start"
	case count == 1:
		said = "only one meet"
	case count > 2:
		r.add(n.extraCondition().Error(fmt.Sprintf("%q has %d conditions for one unknown, %s", n.name, count,
			n.unknown.Attribute()),
			"two of start, meet, meet and lasts give one number: delete the others"))
		return
	case n.all[aLasts] != nil:
		return
	}
	r.add(n.questioned().Error(fmt.Sprintf("%s says what %s of %q has to do", said, n.unknown.Attribute(), n.name),
		"a voice with an unknown has two of start, meet, meet and lasts, or lasts alone:\nmeet {\n  at   = \"30 s\"\n  mine = \"end\"\n}"))
}

// canonConditions: the canon says one thing of the voice's place, the voice one
// more; where voices cross, the crossings count too, and package perform says
// whether they are enough.
func (r *reader) canonConditions(n *node) {
	count := len(n.placings())
	if n.held != nil {
		count++
	}
	switch {
	case n.canon.crosses():
	case count == 0:
		r.add(n.questioned().Error(fmt.Sprintf("nothing says what %s of %q has to do", n.unknown.Attribute(), n.name),
			"the canon says where its meeting point falls; a voice with an unknown has one meet more:\nmeet {\n  at   = \"30 s\"\n  mine = \"end\"\n}"))
	case count > 1:
		r.add(n.extraCondition().Error(fmt.Sprintf("%q has %d conditions for one unknown, %s", n.name, count,
			n.unknown.Attribute()),
			"the canon's meeting point is a condition already: keep one meet"))
	}
}

// questioned is the attribute or path with the voice's unknown.
func (n *node) questioned() *setting {
	for _, kind := range askable {
		if kind.unknown == n.unknown.Kind {
			return n.own[kind.attr]
		}
	}
	return n.own[aTempoPath]
}

// placings are start and every meet of a voice, in the order of the text.
func (n *node) placings() []*setting {
	var out []*setting
	start := n.own[aStart]
	for m := n.own[aMeet]; m != nil; m = m.next {
		if start != nil && start.at.Before(m.at) {
			out, start = append(out, start), nil
		}
		out = append(out, m)
	}
	if start != nil {
		out = append(out, start)
	}
	return out
}

// extraCondition is the last thing that a voice says of its place or length.
func (n *node) extraCondition() *setting {
	last := n.own[aLasts]
	for _, s := range n.placings() {
		if last == nil || last.at.Before(s.at) {
			last = s
		}
	}
	return last
}

// conditions are what a voice says of its place and length where it says more
// than package piece has fields for.
func (n *node) conditions() []piece.Condition {
	asks := n.unknown.Kind != piece.NoUnknown
	placings := n.placings()
	lasts := n.held
	if asks && lasts == nil {
		lasts = n.all[aLasts] // taken over
	}
	if !asks && len(placings) < 2 && lasts == nil && (n.canon == nil || len(placings) == 0) {
		return nil
	}
	var out []piece.Condition
	if lasts != nil {
		out = append(out, piece.Condition{Lasts: lastsOf(lasts), Places: placesOf(aLasts, lasts)})
	}
	for _, s := range placings {
		a := aMeet
		if s.block == nil {
			a = aStart
		}
		c := piece.Condition{Place: placeOf(s), Places: placesOf(a, s)}
		at := len(out)
		for at > 0 && s.at.Before(out[at-1].Places[""]) {
			at--
		}
		out = append(out[:at], append([]piece.Condition{c}, out[at:]...)...)
	}
	return out
}

func placesOf(a attr, s *setting) piece.Places {
	places := piece.Places{"": s.at, forms[a].name: s.at}
	for name, at := range s.inner {
		places[name] = at
	}
	return places
}

// placeOf is the place that start or meet gives.
func placeOf(s *setting) piece.Place {
	p := value[*place](s, nil)
	if p == nil {
		return piece.Place{}
	}
	out := p.Place
	if p.ref != nil {
		out.Ref = p.ref.ref
		if o := p.ref.other; o != nil && o.taken {
			out.At, out.Units = o.by.sec, o.by.units
		}
	}
	return out
}

// askedOf puts into a voice what it asks for, what it takes over from answers
// and the conditions.
func (r *reader) askedOf(n *node, v *piece.Voice) {
	v.Unknown, v.Conditions = n.unknown, n.conditions()
	if len(v.Conditions) > 0 && v.Conditions[0].Lasts.Set || n.held != nil {
		v.Lasts = piece.Lasts{}
	}
	for _, c := range v.Conditions {
		if !c.Lasts.Set && n.canon == nil {
			v.Place = c.Place
			break
		}
	}
	if len(r.asked) == 0 {
		return
	}
	for _, other := range r.nodes {
		if other == n || other.index < 0 || other.unknown.Kind == piece.NoUnknown {
			continue
		}
		said := other.questioned()
		for _, s := range n.all {
			if s == said && s != nil {
				v.Copied = append(v.Copied, piece.Copied{Unknown: other.unknown, From: other.index})
			}
		}
	}
}

// checkAsked complains about what an unknown cannot stand beside.
func (r *reader) checkAsked(n *node, v *piece.Voice) {
	if v.Unknown.Kind == piece.NoUnknown {
		return
	}
	if v.Extent.Kind == piece.Seconds || v.Extent.Kind == piece.Until {
		r.addOf(v, aExtent, n.all[aExtent].Error(fmt.Sprintf("how long %q goes on depends on %s, which is asked for", n.name,
			v.Unknown.Attribute()),
			"write the extent in notes, taleae, colores or units"))
	}
	for _, c := range v.Conditions {
		names := c.Place.Kind == piece.MeetWith || c.Place.Kind == piece.After || c.Place.Kind == piece.With
		if names && c.Place.Ref.Voice == n.index {
			r.add(n.extraCondition().Error(fmt.Sprintf("%q cannot meet itself", n.name),
				"name another voice, or a time: at = \"30 s\""))
		}
	}
}

// readMeets reads every meet of a voice; each leads to the next.
func (r *reader) readMeets(f form, all []*blocks.Block) *setting {
	var first *setting
	for i := len(all) - 1; i >= 0; i-- {
		r.noLabels(all[i])
		s := f.block(r, all[i])
		s.at, s.block, s.next = all[i].At, all[i], first
		first = s
	}
	return first
}

// cross is a block cross of a canon, with the voices that it names.
type cross struct {
	at     moment
	voices [2]*reference
	places piece.Places
}

// crosses reports whether the canon says where its voices cross.
func (c *canon) crosses() bool { return len(c.block.Body.Of("cross")) > 0 }

// readCrosses reads the blocks cross of a canon.
func (r *reader) readCrosses(c *canon) {
	for _, b := range c.block.Body.Of("cross") {
		r.noLabels(b)
		r.addAll(unknownIn(b.Body, "cross", "voices", "at"))
		if x, ok := r.cross(b); ok {
			c.cross = append(c.cross, x)
		}
	}
	if !c.crosses() {
		return
	}
	for _, word := range []string{"meet", "at", "lasts"} {
		if a := c.block.Body.Get(word); a != nil {
			r.add(a.Error(fmt.Sprintf("cross and %s exclude each other", word),
				"where voices cross at several instants they have no one meeting point: delete one of the two"))
		}
	}
}

const crossForm = "write:\ncross {\n  voices = \"one two\"\n  at     = \"40 s\"\n}"

func (r *reader) cross(b *blocks.Block) (x cross, ok bool) {
	voices, at := b.Body.Get("voices"), b.Body.Get("at")
	if voices == nil || at == nil {
		return x, r.add(b.Error("which voices cross, and when?", crossForm))
	}
	x.places = inner(b)
	x.places[""] = b.At
	x.at, ok = r.instant(at.Value)
	names, fine := r.twoNames(voices.Value)
	if !ok || !fine {
		return x, false
	}
	for i, name := range names {
		x.voices[i] = r.refer(name, true)
	}
	return x, true
}

// twoNames are two names in one text, or in a list where they have blanks.
func (r *reader) twoNames(v *blocks.Value) ([]span, bool) {
	v = r.meant(v)
	if v == nil {
		return nil, false
	}
	var names []span
	if v.Kind() == blocks.List {
		list, err := v.List()
		if !r.add(err) {
			return nil, false
		}
		for _, member := range list {
			s, ok := r.written(member)
			if !ok {
				return nil, false
			}
			names = append(names, s)
		}
	} else {
		s, ok := r.written(v)
		if !ok {
			return nil, false
		}
		for c := s.inside(); c.skip(); {
			names = append(names, c.item())
		}
	}
	if len(names) != 2 || names[0].String() == names[1].String() {
		return nil, r.add(v.Error("two voices of the canon cross",
			"two names stand in one text, such as \"one two\", or in a list where they have blanks"))
	}
	return names, true
}

// crossesOf are the crossings of a canon, names resolved.
func (r *reader) crossesOf(c *canon) []piece.Cross {
	var out []piece.Cross
	for _, x := range c.cross {
		cross := piece.Cross{At: x.at.sec, Units: x.at.units, Places: x.places}
		for i, ref := range x.voices {
			cross.Voices[i] = ref.ref.Voice
			if ref.ok && !c.has(ref.ref.Voice) {
				r.add(ref.at.Error(fmt.Sprintf("%q is no voice of canon %q", ref.name, c.name),
					"voices cross within their canon, at one place of its tune"))
			}
		}
		out = append(out, cross)
	}
	return out
}

func (c *canon) has(voice int) bool {
	for _, n := range c.voices {
		if n.index == voice {
			return true
		}
	}
	return false
}

// anchor gives every voice with several conditions its place.
func (r *reader) anchor() {
	if len(r.errs) == 0 {
		r.piece.Anchor()
	}
}
