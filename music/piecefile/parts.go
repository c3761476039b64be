package piecefile

import (
	"fmt"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"rollwright/exact"
	"rollwright/music/piece"
	"rollwright/text/draft"
)

// checkNames complains about names that the text cannot hold, and voices whose
// canon or section comes twice.
func (w *printer) checkNames() error {
	p := w.piece
	if len(p.Pianos) == 0 || len(p.Voices) == 0 {
		return fmt.Errorf("piecefile: a piece has at least one piano and one voice")
	}
	for i := range p.Voices {
		if err := w.claim("voice", p.Voices[i].Name); err != nil {
			return err
		}
	}
	for i := range p.Canons {
		if err := w.claim("canon", p.Canons[i].Name); err != nil {
			return err
		}
	}
	return w.checkOrder()
}

func (w *printer) claim(what, name string) error {
	if problem := nameProblem(name); problem != "" {
		return fmt.Errorf("piecefile: the %s %q has a name that %s", what, name, problem)
	}
	if w.names[name] {
		return fmt.Errorf("piecefile: the %s %q has a name that is taken", what, name)
	}
	w.names[name] = true
	return nil
}

func nameProblem(name string) string {
	switch {
	case name == "" || strings.TrimSpace(name) != name:
		return "is empty or has blanks at its ends"
	case !utf8.ValidString(name) || strings.ContainsFunc(name, func(r rune) bool { return r < ' ' || r == 0x7f }):
		return "has characters that cannot be seen"
	case utf8.RuneCountInString(name) > maxNameSize:
		return fmt.Sprintf("has more than %d characters", maxNameSize)
	}
	return ""
}

// checkOrder complains when the voices of a canon, or of a section, do not stand
// together.
func (w *printer) checkOrder() error {
	for i := range w.piece.Canons {
		if c := &w.piece.Canons[i]; !w.consistent(i, c) {
			return fmt.Errorf("piecefile: the voices of the canon %q do not know of it, or do not stand together", c.Name)
		}
	}
	doneCanons, doneSections := map[int]bool{-1: true}, map[int]bool{-1: true}
	canon, section := -1, -1
	for i := range w.piece.Voices {
		v := &w.piece.Voices[i]
		if v.Section != section && doneSections[v.Section] && v.Section >= 0 || v.Canon != canon && doneCanons[v.Canon] &&
			v.Canon >= 0 {
			return fmt.Errorf("piecefile: the voice %q does not stand with the others of its canon or section", v.Name)
		}
		canon, section = v.Canon, v.Section
		doneCanons[canon], doneSections[section] = true, true
	}
	return nil
}

// consistent reports whether the voices of canon i are one after the other, and
// exactly those that belong to it.
func (w *printer) consistent(i int, c *piece.Canon) bool {
	for k, voice := range c.Voices {
		if voice != c.Voices[0]+k || voice < 0 || voice >= len(w.piece.Voices) {
			return false
		}
		if v := &w.piece.Voices[voice]; v.Canon != i || v.Section != c.Section {
			return false
		}
	}
	return len(c.Voices) > 0
}

// pieceTempo is the tempo that the piece says: that of voices with a path, which
// cannot say it themselves, else the most common one.
func pieceTempo(p *piece.Piece) exact.Real {
	if p.Unit.Sign() > 0 {
		return p.Tempo // it says so itself
	}
	counts := map[string]int{}
	best, most := defaultTempo, 0
	for i := range p.Voices {
		v := &p.Voices[i]
		n := 1
		if len(v.Path) > 0 {
			n = len(p.Voices)
		}
		if v.Tempo.Cmp(exact.Real{}) == 0 {
			continue // likely not set
		}
		text := v.Tempo.String()
		if counts[text] += n; counts[text] > most {
			best, most = v.Tempo, counts[text]
		}
	}
	return best
}

// commonDefaults are the slots of a voice that says nothing: of what the piece may
// say, the value that most voices have.
func (w *printer) commonDefaults() []slot {
	plain, _ := w.slotsOf(&piece.Voice{Tempo: defaultTempo})
	for i := range plain {
		if !plain[i].byPiece {
			continue
		}
		counts, most := map[string]int{}, 0
		for _, voice := range w.voices {
			s := voice[i]
			if counts[s.text]++; !s.last && counts[s.text] > most {
				plain[i], most = s, counts[s.text]
			}
		}
	}
	plain[tempoAt] = forAll(attrSlot("tempo", DecimalValue(w.tempo)))
	if w.piece.Unit.Sign() > 0 {
		plain[unitAt] = forAll(attrSlot("unit", numberValue(w.piece.Unit.String())))
	}
	plain[materialAt] = slot{name: "material"}
	return plain
}

// languageDefault is what a slot says where nobody says anything.
func languageDefault(name string) string {
	switch name {
	case "tempo":
		return attrSlot(name, DecimalValue(defaultTempo)).text
	case "unit":
		return attrSlot(name, numberValue(defaultUnit.String())).text
	case "hold":
		return attrSlot(name, HoldValue(defaultHold)).text
	}
	return attrSlot(name, DynamicsValue(defaultDynamics)).text
}

// parts are the tunes, voices, canons and sections in the order of the voices.
func (w *printer) parts() []draft.Entry {
	var out []draft.Entry
	for i := 0; i < len(w.piece.Voices); {
		v := &w.piece.Voices[i]
		n := 1
		for v.Section >= 0 && i+n < len(w.piece.Voices) && w.piece.Voices[i+n].Section == v.Section {
			n++
		}
		if v.Canon >= 0 && v.Section < 0 {
			n = len(w.piece.Canons[v.Canon].Voices)
		}
		inside := w.group(&out, i, i+n)
		if v.Section >= 0 {
			inside = []draft.Entry{w.section(v.Section, inside)}
		}
		out = append(out, inside...)
		i += n
	}
	return out
}

// group is the voices and canons from voice i to j. The tunes of its canons go to
// the end of tunes, for they stand outside sections.
func (w *printer) group(tunes *[]draft.Entry, i, j int) []draft.Entry {
	var out []draft.Entry
	for i < j {
		v := &w.piece.Voices[i]
		if v.Canon < 0 {
			out = append(out, w.voice(tunes, i))
			i++
			continue
		}
		c := &w.piece.Canons[v.Canon]
		out = append(out, w.canon(tunes, c))
		i += len(c.Voices)
	}
	return out
}

func (w *printer) section(index int, inside []draft.Entry) draft.Entry {
	s := &w.piece.Sections[index]
	var words []draft.Entry
	if s.HasStart {
		words = append(words, draft.Attr("start", momentValue(s.Start, s.StartUnits)))
	}
	if s.GapSec.Sign() > 0 || s.GapUnits.Sign() > 0 {
		words = append(words, draft.Attr("gap", momentValue(s.GapSec, s.GapUnits)))
	}
	words = append(words, w.sectionTimes(s)...)
	if s.Overlap.Sign() > 0 {
		words = append(words, draft.Attr("overlap", TimeValue(s.Overlap)))
	}
	return draft.Block("section", s.Name, append(words, inside...)...)
}

// sectionTimes is what a section does to the time inside it, and its loudness.
func (w *printer) sectionTimes(s *piece.Section) (words []draft.Entry) {
	if w.ownTempo(s) {
		words = append(words, draft.Attr("tempo", DecimalValue(s.Tempo)))
	}
	if s.Speed.Cmp(exact.Real{}) != 0 {
		words = append(words, draft.Attr("speed", FactorValue(s.Speed)))
	}
	if fmt.Sprint(s.Bar) != fmt.Sprint(w.piece.Bar) {
		words = append(words, barEntries(s.Bar)...)
	}
	if len(s.Path) > 0 {
		words = append(words, draft.Block("tempo_path", "", w.pathEntries(s.Path, w.tempo, piece.Unknown{})...))
	}
	if len(s.Loudness) > 0 {
		words = append(words, draft.Block("loudness_path", "", loudnessEntries(s.Loudness)...))
	}
	return words
}

// ownTempo reports whether a section has a tempo that is not the piece's.
func (w *printer) ownTempo(s *piece.Section) bool {
	return w.piece.Unit.Sign() > 0 && s.Tempo.Cmp(w.tempo) != 0
}

// saysTempo is a model of a voice, which says its own tempo where a section may say
// another one for it.
func (w *printer) saysTempo(model []slot) []slot {
	if !slices.ContainsFunc(w.piece.Sections, func(s piece.Section) bool { return w.ownTempo(&s) }) {
		return model
	}
	model = slices.Clone(model)
	model[tempoAt].text = ""
	return model
}

// momentValue is seconds and units of the piece.
func momentValue(sec, units exact.Rat) draft.Value {
	switch {
	case units.Sign() == 0:
		return TimeValue(sec)
	case sec.Sign() == 0:
		return draft.Quoted(ratText(units) + " units")
	}
	return draft.Quoted(timeText(sec) + laterText(exact.Rat{}, units))
}

// laterText is how much later than something: " + 2 s".
func laterText(sec, units exact.Rat) string {
	text := ""
	for _, part := range []struct {
		n    exact.Rat
		text func(exact.Rat) string
	}{{sec, timeText}, {units, func(n exact.Rat) string { return ratText(n) + " units" }}} {
		switch part.n.Sign() {
		case 1:
			text += " + " + part.text(part.n)
		case -1:
			less, _ := exact.Rat{}.Sub(part.n)
			text += " - " + part.text(less)
		}
	}
	return text
}

// laterEntries say by how much a meeting is missed on purpose.
func laterEntries(p piece.Place) []draft.Entry {
	if p.LaterSec.Sign() == 0 && p.LaterUnits.Sign() == 0 {
		return nil
	}
	return []draft.Entry{draft.Attr("later", momentValue(p.LaterSec, p.LaterUnits))}
}

// voice is a voice outside canons.
func (w *printer) voice(tunes *[]draft.Entry, i int) draft.Entry {
	v := &w.piece.Voices[i]
	said := w.placing(v)
	model := w.defaults
	if j := w.alike(i); j >= 0 {
		said = append(said, draft.Attr("like", draft.Quoted(w.piece.Voices[j].Name)))
		model = w.voices[j]
	} else if t := w.commonPath(tunes, i); t.name != "" {
		said = append(said, draft.Attr("like", draft.Quoted(t.name)))
		model = t.slots
	}
	return draft.Block("voice", v.Name, append(said, difference(w.voices[i], w.saysTempo(saysSpeed(v, model)))...)...)
}

// saysSpeed is a model of a voice, which says its own speed where that makes lasts a
// condition.
func saysSpeed(v *piece.Voice, model []slot) []slot {
	lasts := func(c piece.Condition) bool { return c.Lasts.Set }
	if v.Unknown.Kind != piece.NoUnknown || !slices.ContainsFunc(v.Conditions, lasts) {
		return model
	}
	model = slices.Clone(model)
	model[speedAt].text = ""
	return model
}

// placing is all that a voice says of its place in time and how long it lasts, in the
// order of its conditions.
func (w *printer) placing(v *piece.Voice) []draft.Entry {
	if len(v.Conditions) == 0 {
		return w.placeEntries(v.Place)
	}
	var out []draft.Entry
	for _, c := range v.Conditions {
		switch {
		case c.Lasts.Set:
			out = append(out, draft.Attr("lasts", w.lastsValue(c.Lasts)))
		case c.Place.Kind == piece.StartAt:
			out = append(out, draft.Attr("start", momentValue(c.Place.At, c.Place.Units)))
		default:
			out = append(out, w.placeEntries(c.Place)...)
		}
	}
	return out
}

// worthLike is the least number of characters of a talea and color for which a voice
// refers to an earlier one.
const worthLike = 40

// alike is an earlier voice that plays what voice i does and says nothing that voice
// i has no way to undo; -1 when there is none. The subject of a canon is like no
// other voice, lest that be one of the canon.
func (w *printer) alike(i int) int {
	own := w.voices[i]
	if copied := w.piece.Voices[i].Copied; len(copied) > 0 {
		return copied[0].From // there is no other way to take over an answer
	}
	isSubject := func(c piece.Canon) bool { return c.Subject == w.piece.Voices[i].Name }
	if len(own[materialAt].text) < worthLike || slices.ContainsFunc(w.piece.Canons, isSubject) {
		return -1
	}
	for j := range i {
		if w.voices[j][materialAt].text == own[materialAt].text && covers(own, w.voices[j]) {
			return j
		}
	}
	return -1
}

// commonPath is a tune that has the tempo path of voice i and nothing else, written
// now if it has not been; none where the path is short, or no other voice's.
func (w *printer) commonPath(tunes *[]draft.Entry, i int) tune {
	path := w.voices[i][tempoAt]
	shared := func(voice []slot) bool { return voice[tempoAt].text == path.text }
	if len(w.piece.Voices[i].Path) < 2 || path.asks || !slices.ContainsFunc(w.voices[:i], shared) &&
		!slices.ContainsFunc(w.voices[i+1:], shared) {
		return tune{}
	}
	if t, written := w.paths[path.text]; written {
		return t
	}
	t := tune{w.newName("tempo"), slices.Clone(w.defaults)}
	t.slots[tempoAt] = path
	*tunes = append(*tunes, draft.Block("tune", t.name, path.entries...))
	w.paths[path.text] = t
	return t
}

// newName is a name that is not taken, and takes it.
func (w *printer) newName(base string) string {
	name := base
	for n := 2; w.names[name]; n++ {
		name = fmt.Sprintf("%s %d", base, n)
	}
	w.names[name] = true
	return name
}

// covers reports whether a voice can say everything in which it differs from a
// model.
func covers(own, model []slot) bool {
	for i := range own {
		if own[i].entries == nil && model[i].entries != nil {
			return false
		}
	}
	return true
}

// difference is what a voice has to say beside its model: attributes, then blocks.
func difference(own, model []slot) []draft.Entry {
	var words, blocks []draft.Entry
	for i := range own {
		switch {
		case own[i].text == model[i].text:
		case own[i].last:
			blocks = append(blocks, own[i].entries...)
		default:
			words = append(words, own[i].entries...)
		}
	}
	return append(words, blocks...)
}

func (w *printer) placeEntries(p piece.Place) []draft.Entry {
	switch p.Kind {
	case piece.StartAt:
		if p.At.Sign() != 0 || p.Units.Sign() != 0 {
			return []draft.Entry{draft.Attr("start", momentValue(p.At, p.Units))}
		}
	case piece.After, piece.With:
		word := map[piece.PlaceKind]string{piece.After: "after ", piece.With: "with "}[p.Kind]
		return []draft.Entry{draft.Attr("start", draft.Quoted(word+w.refName(p.Ref)+laterText(p.At, p.Units)))}
	case piece.MeetWith, piece.MeetAt:
		inside := []draft.Entry{draft.Attr("at", momentValue(p.At, p.Units))}
		if p.Kind == piece.MeetWith {
			inside[0] = draft.Attr("with", draft.Quoted(w.refName(p.Ref)))
		}
		inside = append(inside, pointEntries("mine", p.Mine)...)
		if p.Kind == piece.MeetWith {
			inside = append(inside, pointEntries("theirs", p.Theirs)...)
		}
		inside = append(inside, laterEntries(p)...)
		return []draft.Entry{draft.Block("meet", "", inside...)}
	}
	return nil
}

// pointEntries is a point as an attribute; none for the start, which need not be
// said.
func pointEntries(name string, p piece.Point) []draft.Entry {
	text := ""
	switch p.Kind {
	case piece.AtStart:
		return nil
	case piece.AtEnd:
		text = "end"
	case piece.AtNote:
		text = fmt.Sprint("note ", p.N)
	case piece.AtNoteEnd:
		text = fmt.Sprint("note ", p.N, " end")
	case piece.AtUnit:
		text = "unit " + ratText(p.X)
	case piece.AtShare:
		text = p.X.String()
	}
	return []draft.Entry{draft.Attr(name, draft.Quoted(text))}
}

// canon is a canon with its voices. Its subject is a tune, which goes to the end of
// tunes unless it is there, or a voice.
func (w *printer) canon(tunes *[]draft.Entry, c *piece.Canon) draft.Entry {
	name, model := w.subject(tunes, c)
	inside := []draft.Entry{draft.Attr("subject", draft.Quoted(name))}
	inside = append(inside, pointEntries("meet", c.Meet)...)
	inside = append(inside, w.crossEntries(c)...)
	if c.HasAt {
		inside = append(inside, draft.Attr("at", momentValue(c.At, c.Units)))
	}
	if c.Lasts.Set {
		inside = append(inside, draft.Attr("lasts", w.lastsValue(c.Lasts)))
	}
	apart := w.speedsApart(c)
	if !apart && (model[speedAt].text != w.defaults[speedAt].text || w.anySpeed(c)) {
		inside = append(inside, draft.Attr("speeds", w.speedsValue(c)))
	}
	for _, i := range c.Voices {
		own, like := w.voices[i], slices.Clone(model)
		if apart {
			like[speedAt].text = ""
		} else {
			like[speedAt] = own[speedAt]
		}
		inside = append(inside, draft.Block("voice", w.piece.Voices[i].Name,
			append(w.placingInCanon(&w.piece.Voices[i]), difference(own, w.saysTempo(like))...)...))
	}
	return draft.Block("canon", c.Name, inside...)
}

// placingInCanon is what a voice says of its place besides what its canon does.
func (w *printer) placingInCanon(v *piece.Voice) []draft.Entry {
	out := laterEntries(v.Place)
	if len(v.Conditions) > 0 {
		out = append(out, w.placing(v)...)
	}
	return out
}

// namesValue is names in one text, or as a list where a blank would not part them.
func namesValue(names []string) draft.Value {
	plain := func(r rune) bool { return unicode.IsLetter(r) || unicode.IsDigit(r) }
	quoted := make([]draft.Value, len(names))
	inOne := true
	for i, name := range names {
		quoted[i] = draft.Quoted(name)
		inOne = inOne && strings.TrimFunc(name, plain) == ""
	}
	if inOne {
		return draft.Quoted(strings.Join(names, " "))
	}
	return draft.List(quoted...)
}

// crossEntries are the crossings of a canon.
func (w *printer) crossEntries(c *piece.Canon) []draft.Entry {
	var out []draft.Entry
	for _, x := range c.Cross {
		names := []string{w.piece.Voices[x.Voices[0]].Name, w.piece.Voices[x.Voices[1]].Name}
		out = append(out, draft.Block("cross", "", draft.Attr("voices", namesValue(names)),
			draft.Attr("at", momentValue(x.At, x.Units))))
	}
	return out
}

// speedsApart reports whether a voice of the canon has a length of its own, so that
// the canon cannot say all speeds.
func (w *printer) speedsApart(c *piece.Canon) bool {
	return slices.ContainsFunc(c.Voices, func(i int) bool {
		v := &w.piece.Voices[i]
		return v.Lasts.Set || w.voices[i][speedAt].asks || len(v.Conditions) > 0
	})
}

func (w *printer) anySpeed(c *piece.Canon) bool {
	return slices.ContainsFunc(c.Voices, func(i int) bool { return w.voices[i][speedAt].text != w.defaults[speedAt].text })
}

// speedsValue is 3 : 5 : sqrt(31).
func (w *printer) speedsValue(c *piece.Canon) draft.Value {
	words := make([]string, len(c.Voices))
	for i, voice := range c.Voices {
		if words[i] = w.piece.Voices[voice].Speed.String(); i > 0 {
			words[i] = ": " + words[i]
		}
	}
	return draft.Series(words...)
}

// subject is the name of a canon's subject, and what a voice takes over from it. It
// is the voice of that name if there is one, and the canon's voices can say in what
// they differ; else a tune, written now if it has not been.
func (w *printer) subject(tunes *[]draft.Entry, c *piece.Canon) (string, []slot) {
	name := c.Subject
	if t, written := w.tunes[name]; written {
		return t.name, t.slots
	}
	for i := range w.piece.Voices {
		if w.piece.Voices[i].Name == name && !slices.Contains(c.Voices, i) && w.coveredBy(c, w.voices[i]) {
			return name, w.voices[i]
		}
	}
	if nameProblem(name) != "" {
		name = c.Name + " subject"
	}
	name = w.newName(name)
	shared := w.shared(c)
	*tunes = append(*tunes, draft.Block("tune", name, difference(shared, w.defaults)...))
	if c.Subject != "" {
		w.tunes[c.Subject] = tune{name, shared}
	}
	return name, shared
}

func (w *printer) coveredBy(c *piece.Canon, model []slot) bool {
	return !slices.ContainsFunc(c.Voices, func(i int) bool { return !covers(w.voices[i], model) })
}

// shared is what all voices of all canons with the subject of c have in common, but
// for speed; the rest is as in a voice that says nothing.
func (w *printer) shared(c *piece.Canon) []slot {
	var voices []int
	for i := range w.piece.Canons {
		if other := &w.piece.Canons[i]; other == c || other.Subject == c.Subject && c.Subject != "" {
			voices = append(voices, other.Voices...)
		}
	}
	out := slices.Clone(w.defaults)
	for s := range out {
		first := w.voices[voices[0]][s]
		differs := func(i int) bool { return w.voices[i][s].text != first.text }
		if s != speedAt && !first.asks && !slices.ContainsFunc(voices, differs) {
			out[s] = first
		}
	}
	return out
}
