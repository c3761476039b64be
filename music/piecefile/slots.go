package piecefile

import (
	"fmt"
	"slices"
	"strings"

	"rollwright/exact"
	"rollwright/music/piece"
	"rollwright/text/draft"
)

// slot is one thing that a voice says, by an attribute, a block, or two attributes
// that go together: what another voice may have said for it.
type slot struct {
	name    string
	entries []draft.Entry // nil when there is no way to say it: no pedal, no mirror
	text    string        // the entries as text; two slots that say the same have the same
	byPiece bool          // the piece says it for all voices
	last    bool          // it is a block and stands behind the attributes
	asks    bool          // its number is "?", or an answer taken over: no tune can say it
}

func newSlot(name string, entries ...draft.Entry) slot {
	d := draft.Draft{Entries: entries}
	return slot{name: name, entries: entries, text: string(d.Bytes())}
}

func attrSlot(name string, v draft.Value) slot { return newSlot(name, draft.Attr(name, v)) }

// blockSlot is a slot that is a block.
func blockSlot(name string, entries []draft.Entry) slot {
	s := newSlot(name, draft.Block(name, "", entries...))
	s.last = true
	return s
}

// slotsOf is everything that v says but for its place and its speed within a canon,
// defaults too.
func (w *printer) slotsOf(v *piece.Voice) ([]slot, error) {
	material, err := materialSlot(v)
	if err != nil {
		return nil, fmt.Errorf("voice %q: %w", v.Name, err)
	}
	slots := []slot{
		w.pianoSlot(v),
		material,
		attrSlot("rotate_talea", draft.Bare(fmt.Sprint(v.RotateTalea))),
		attrSlot("rotate_color", draft.Bare(fmt.Sprint(v.RotateColor))),
		forAll(attrSlot("tempo", DecimalValue(v.Tempo))),
		forAll(attrSlot("unit", numberValue(unitOf(v).String()))),
		w.speedSlot(v),
		attrSlot("each_note", DecimalValue(v.EachNote)),
		attrSlot("stretch", FactorValue(v.Stretch)),
		w.extentSlot(v),
		invertSlot(v),
		attrSlot("transpose", draft.Bare(fmt.Sprint(v.Transpose))),
		attrSlot("backward", draft.Bare(fmt.Sprint(v.Backward))),
		forAll(attrSlot("hold", HoldValue(orDefault(v.Hold, defaultHold)))),
		forAll(attrSlot("dynamics", DynamicsValue(orDefault(v.Dynamics, defaultDynamics)))),
		spansSlot("pedal", v.Pedal),
		spansSlot("soft", v.Soft),
		stopsSlot(v.Stops),
		changeSlot("per_color", v.PerColor),
		changeSlot("per_talea", v.PerTalea),
		modeSlot(v.Mode),
		invertStepsSlot(v),
		attrSlot("transpose_steps", draft.Bare(fmt.Sprint(v.TransposeSteps))),
		newSlot("bar", barEntries(v.Bar)...),
		attrSlot("mute", draft.Bare(fmt.Sprint(v.Mute))),
		loudnessSlot(v.Loudness),
	}
	if len(v.Path) > 0 {
		slots[tempoAt] = forAll(blockSlot("tempo_path", w.pathEntries(v.Path, v.Tempo, w.legAsked(v))))
	}
	w.askFor(v, slots)
	return slots, nil
}

// asker is the voice whose unknown of that kind v has: itself, or the one whose
// answer it takes over.
func (w *printer) asker(v *piece.Voice, is func(piece.UnknownKind) bool) (piece.Unknown, *piece.Voice) {
	if is(v.Unknown.Kind) {
		return v.Unknown, v
	}
	for _, c := range v.Copied {
		if is(c.Kind) {
			return c.Unknown, &w.piece.Voices[c.From]
		}
	}
	return piece.Unknown{}, nil
}

// legAsked is what a leg of the path of v asks for.
func (w *printer) legAsked(v *piece.Voice) piece.Unknown {
	u, _ := w.asker(v, func(k piece.UnknownKind) bool { return k >= piece.UnknownFrom })
	return u
}

// askFor writes "?" for what v asks for, or takes over from an answer. Such a slot
// says the same only as that of the voice that asks: its text has that voice's name.
func (w *printer) askFor(v *piece.Voice, slots []slot) {
	for at, kinds := range map[int][]piece.UnknownKind{
		speedAt:    {piece.UnknownSpeed},
		eachNoteAt: {piece.UnknownEachNote},
		stretchAt:  {piece.UnknownStretch},
		tempoAt:    {piece.UnknownTempo, piece.UnknownFrom, piece.UnknownTo, piece.UnknownOver},
	} {
		u, of := w.asker(v, func(k piece.UnknownKind) bool { return slices.Contains(kinds, k) })
		if of == nil {
			continue
		}
		s := &slots[at]
		if u.Kind < piece.UnknownFrom {
			byPiece := s.byPiece
			*s = attrSlot(u.Word(), draft.Quoted(unknown))
			s.byPiece = byPiece
		}
		s.asks = true
		s.text += of.Name
	}
}

// unknown stands in the place of a number that is asked for.
const unknown = "?"

// The places of the slots that are asked for by them.
const (
	materialAt = 1
	tempoAt    = 4
	unitAt     = 5
	speedAt    = 6
	eachNoteAt = 7
	stretchAt  = 8
)

func forAll(s slot) slot {
	s.byPiece = true
	return s
}

func orDefault[T any](list, otherwise []T) []T {
	if len(list) == 0 {
		return otherwise
	}
	return list
}

func unitOf(v *piece.Voice) exact.Rat {
	if v.Unit.Sign() == 0 {
		return defaultUnit
	}
	return v.Unit
}

func (w *printer) pianoSlot(v *piece.Voice) slot {
	if name := w.piece.Pianos[v.Piano].Name; name != "" {
		return attrSlot("piano", draft.Quoted(name))
	}
	return slot{name: "piano"}
}

func materialSlot(v *piece.Voice) (slot, error) {
	if v.FromLine {
		line, err := LineValue(v.Talea, v.Color)
		return attrSlot("line", line), err
	}
	color, err := ColorValue(v.Color)
	return newSlot("talea", draft.Attr("talea", TaleaValue(v.Talea)), draft.Attr("color", color)), err
}

func (w *printer) speedSlot(v *piece.Voice) slot {
	if !v.Lasts.Set {
		return attrSlot("speed", FactorValue(v.Speed))
	}
	s := attrSlot("lasts", w.lastsValue(v.Lasts))
	s.name = "speed"
	return s
}

func (w *printer) lastsValue(l piece.Lasts) draft.Value {
	if l.Sec.Sign() > 0 {
		return TimeValue(l.Sec)
	}
	return draft.Quoted("as " + w.refName(l.As))
}

func (w *printer) refName(ref piece.Ref) string {
	if ref.Voice >= 0 {
		return w.piece.Voices[ref.Voice].Name
	}
	return w.piece.Canons[ref.Canon].Name
}

func (w *printer) extentSlot(v *piece.Voice) slot {
	text := "complete"
	switch e := v.Extent; e.Kind {
	case piece.Notes:
		text = fmt.Sprint(e.Count, " notes")
	case piece.Taleae:
		text = fmt.Sprint(e.Count, " taleae")
	case piece.Colores:
		text = fmt.Sprint(e.Count, " colores")
	case piece.Units:
		text = ratText(e.Amount) + " units"
		if e.Exact {
			text = "exactly " + text
		}
	case piece.Seconds:
		text = ratText(e.Amount) + " s"
	case piece.Until:
		text = "until " + w.refName(e.Ref) + " ends"
	}
	return attrSlot("extent", draft.Quoted(text))
}

func invertSlot(v *piece.Voice) slot {
	if v.Invert == nil {
		return slot{name: "invert"}
	}
	return attrSlot("invert", draft.Quoted(axisName(v.Invert)))
}

func spansSlot(name string, spans piece.Spans) slot {
	switch {
	case spans.Full:
		return attrSlot(name, draft.Quoted("full"))
	case len(spans.List) == 0:
		return slot{name: name}
	}
	words := make([]string, len(spans.List))
	for i, s := range spans.List {
		words[i] = ratText(s.From) + "-" + ratText(s.To)
	}
	if spans.Every.Sign() > 0 {
		words = append(words, "every", ratText(spans.Every))
	}
	return attrSlot(name, draft.Series(words...))
}

// axisName is a pitch as it is written.
func axisName(a *piece.Axis) string { return a.Spelled.For(a.Key).Name(a.Key) }

func invertStepsSlot(v *piece.Voice) slot {
	if v.InvertSteps == nil {
		return slot{name: "invert_steps"}
	}
	return attrSlot("invert_steps", draft.Quoted(axisName(v.InvertSteps)))
}

func modeSlot(m piece.Mode) slot {
	if len(m) == 0 {
		return slot{name: "mode"}
	}
	words := make([]string, len(m))
	for i := range m {
		words[i] = strings.TrimRight(axisName(&m[i]), "-0123456789")
	}
	return attrSlot("mode", draft.Series(words...))
}

// barEntries are bars as attributes; none where there are none.
func barEntries(b piece.Bar) []draft.Entry {
	if !b.Given() {
		return nil
	}
	words := make([]string, len(b.Units))
	for i, u := range b.Units {
		words[i] = ratText(u)
	}
	out := []draft.Entry{draft.Attr("bar", cycleValue(words))}
	if b.Upbeat.Sign() > 0 {
		out = append(out, draft.Attr("upbeat", numberValue(ratText(b.Upbeat))))
	}
	return out
}

func loudnessSlot(legs []piece.LoudLeg) slot {
	if len(legs) == 0 {
		return slot{name: "loudness_path", last: true}
	}
	return blockSlot("loudness_path", loudnessEntries(legs))
}

// loudnessEntries are the legs of a loudness path.
func loudnessEntries(legs []piece.LoudLeg) []draft.Entry {
	var out []draft.Entry
	for _, leg := range legs {
		var inside []draft.Entry
		if leg.HasFrom {
			inside = append(inside, draft.Attr("from", draft.Quoted(levelText(leg.From))))
		}
		if leg.HasTo {
			inside = append(inside, draft.Attr("to", draft.Quoted(levelText(leg.To))))
		}
		inside = append(inside, draft.Attr("over", overValue(leg.OverUnits, leg.OverSec)))
		out = append(out, draft.Block("leg", "", inside...))
	}
	return out
}

// overValue is how long a leg is.
func overValue(units, sec exact.Rat) draft.Value {
	if units.Sign() > 0 {
		return numberValue(ratText(units))
	}
	return TimeValue(sec)
}

// changeSlot is per_color or per_talea. One that changes nothing is said by a
// transposition of 0.
func changeSlot(name string, c piece.Change) slot {
	inside := orderEntries(&c)
	switch {
	case len(c.TransposeSteps) > 0:
		inside = append(inside, draft.Attr("transpose_steps", listValue(c.TransposeSteps)))
	case c.TransposeStepsEach != 0:
		inside = append(inside, draft.Attr("transpose_steps", draft.Bare(fmt.Sprint(c.TransposeStepsEach))))
	}
	switch {
	case len(c.Transpose) > 0:
		inside = append(inside, draft.Attr("transpose", listValue(c.Transpose)))
	case c.TransposeEach != 0:
		inside = append(inside, draft.Attr("transpose", draft.Bare(fmt.Sprint(c.TransposeEach))))
	}
	switch {
	case len(c.Stretch) > 0:
		words := make([]string, len(c.Stretch))
		for i, x := range c.Stretch {
			words[i] = x.String()
		}
		inside = append(inside, draft.Attr("stretch", severalValue(words)))
	case c.StretchEach.Cmp(exact.Real{}) != 0:
		inside = append(inside, draft.Attr("stretch", FactorValue(c.StretchEach)))
	}
	switch {
	case len(c.Dynamics) > 0:
		words := make([]string, len(c.Dynamics))
		for i, n := range c.Dynamics {
			words[i] = levelText(n)
		}
		inside = append(inside, draft.Attr("dynamics", severalValue(words)))
	case c.DynamicsEach != 0:
		inside = append(inside, draft.Attr("dynamics", draft.Bare(fmt.Sprint(c.DynamicsEach))))
	}
	if inside == nil {
		inside = []draft.Entry{draft.Attr("transpose", draft.Bare("0"))}
	}
	return blockSlot(name, inside)
}

// orderEntries are what a change does to the order and the direction of statements.
func orderEntries(c *piece.Change) (inside []draft.Entry) {
	switch {
	case len(c.Rotate) > 0:
		inside = append(inside, draft.Attr("rotate", listValue(c.Rotate)))
	case c.RotateEach != 0:
		inside = append(inside, draft.Attr("rotate", draft.Bare(fmt.Sprint(c.RotateEach))))
	}
	if len(c.Backward) > 0 {
		words := make([]string, len(c.Backward))
		for i, b := range c.Backward {
			words[i] = map[bool]string{true: "true", false: none}[b]
		}
		inside = append(inside, draft.Attr("backward", draft.Series(words...)))
	}
	if len(c.Invert) > 0 {
		words := make([]string, len(c.Invert))
		for i, axis := range c.Invert {
			if words[i] = none; axis != nil {
				words[i] = axisName(axis)
			}
		}
		inside = append(inside, draft.Attr("invert", draft.Series(words...)))
	}
	return inside
}

func listValue(list []int) draft.Value {
	words := make([]string, len(list))
	for i, n := range list {
		words[i] = fmt.Sprint(n)
	}
	return severalValue(words)
}

// severalValue is a list that has to stay one though it may have a single member.
func severalValue(words []string) draft.Value {
	if len(words) == 1 {
		return draft.Bare("[" + numberOrQuoted(words[0]) + "]")
	}
	return draft.Series(shorthand(words)...)
}

func numberOrQuoted(text string) string {
	if plainNumber.MatchString(text) {
		return text
	}
	return `"` + text + `"`
}

// pathEntries are the legs of a tempo path. Where the first leg goes on from a tempo
// that is not the piece's, it says so. What is asked for is "?".
func (w *printer) pathEntries(path []piece.Leg, tempo exact.Real, asked piece.Unknown) []draft.Entry {
	var out []draft.Entry
	for i, leg := range path {
		var inside []draft.Entry
		if i == 0 && !leg.HasFrom && tempo.Cmp(w.tempo) != 0 {
			leg.HasFrom, leg.From = true, tempo
		}
		say := func(kind piece.UnknownKind, v draft.Value) {
			if asked.Kind == kind && asked.Leg == i {
				v = draft.Quoted(unknown)
			}
			inside = append(inside, draft.Attr(piece.Unknown{Kind: kind}.Word(), v))
		}
		if leg.HasFrom {
			say(piece.UnknownFrom, DecimalValue(leg.From))
		}
		if leg.HasTo {
			say(piece.UnknownTo, DecimalValue(leg.To))
		}
		say(piece.UnknownOver, overValue(leg.OverUnits, leg.OverSec))
		if leg.Shape != piece.Geometric {
			inside = append(inside, draft.Attr("shape", draft.Quoted(shapeNames[leg.Shape])))
		}
		out = append(out, draft.Block("leg", "", inside...))
	}
	return out
}

var shapeNames = map[piece.Shape]string{piece.Geometric: "geometric", piece.PerUnit: "per-unit",
	piece.PerSecond: "per-second"}
