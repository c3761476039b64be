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

// reference is a name that stands for a voice or canon, resolved when all
// names are known.
type reference struct {
	name  string
	at    span
	voice bool // a canon will not do
	ref   piece.Ref
	ok    bool

	asker *node // who names it; nil: a canon, canon
	canon *canon
	after bool     // it is named for where it ends, which can be seen from outside its section
	other *delayed // what else it may be: a name and an offset
}

// delayed is a name with how much later than it.
type delayed struct {
	name  span
	by    moment
	wrong *source.Error // what is wrong with the time, when it is meant so
	taken bool          // it is what was meant
}

// moment is a length of time: seconds and units of the piece, added.
type moment struct{ sec, units exact.Rat }

// refer notes a name to be resolved.
func (r *reader) refer(at span, voice bool) *reference {
	ref := &reference{name: at.String(), at: at, voice: voice, ref: piece.Ref{Voice: -1, Canon: -1}, asker: r.reading,
		canon: r.readingCanon}
	r.refs = append(r.refs, ref)
	return ref
}

// moved is a name to be resolved, perhaps with an offset: a whole name wins, else the last
// " + " or " - " parts name from offset.
func (r *reader) referMoved(at span) *reference {
	ref := r.refer(at, false)
	if name, by, ok := parted(at); ok {
		o := &delayed{name: name}
		o.by, o.wrong = r.lengthIn(by)
		ref.other = o
	}
	return ref
}

// parted is a text at its last " + " or " - ": what is before, and the offset with its sign.
func parted(s span) (before, by span, ok bool) {
	text := s.String()
	at := max(strings.LastIndex(text, " + "), strings.LastIndex(text, " - "))
	if at < 0 {
		return s, s, false
	}
	return s.part(0, at).inside().rest(), s.part(at+1, len(text)), true
}

// lengthIn reads a length of time with a sign before it, if wanted: + 2 s, - 8 units, 1:20.
func (r *reader) lengthIn(s span) (m moment, err *source.Error) {
	text := s.String()
	negative := strings.HasPrefix(text, "-")
	if negative || strings.HasPrefix(text, "+") {
		s = s.part(1, len(text)).inside().rest()
	}
	if strings.HasSuffix(s.String(), "unit") || strings.HasSuffix(s.String(), "units") {
		_, x, ok := unitsIn(s.String())
		if !ok || x.Float64() > 1e9 || x.Float64() < -1e9 {
			return m, s.Error(fmt.Sprintf("%q is no length", source.Printable(s.String())),
				"write a time or units: 2 s, 8 units")
		}
		m.units = x
	} else {
		sec, problem, hint := parseTime(s.String())
		if problem != "" {
			if hint == timeHint || strings.HasPrefix(hint, "a time has its unit") {
				hint += "\nor units of the piece: \"8 units\""
			}
			return m, s.Error(problem, hint)
		}
		m.sec = sec
	}
	if negative {
		m.sec, _ = exact.Rat{}.Sub(m.sec)
		m.units, _ = exact.Rat{}.Sub(m.units)
	}
	return m, nil
}

// length is a time or units, of either sign.
func (r *reader) length(v *blocks.Value) (moment, bool) {
	s, ok := r.written(v)
	if !ok {
		return moment{}, false
	}
	m, err := r.lengthIn(s)
	return m, r.add(err)
}

// instant is when something is: a time, units, or a bar of the piece, with an offset.
func (r *reader) instant(v *blocks.Value) (moment, bool) {
	s, ok := r.written(v)
	if !ok {
		return moment{}, false
	}
	m, err := r.instantIn(s)
	return m, r.add(err)
}

func (r *reader) instantIn(s span) (moment, *source.Error) {
	if before, by, ok := parted(s); ok {
		m, err := r.instantIn(before)
		if err != nil {
			return m, err
		}
		more, err := r.lengthIn(by)
		sec, ok1 := m.sec.Add(more.sec)
		units, ok2 := m.units.Add(more.units)
		if err == nil && (!ok1 || !ok2) {
			err = s.Error("this time is too long, or too fine", "")
		}
		return moment{sec, units}, err
	}
	if fields := strings.Fields(s.String()); len(fields) == 2 && fields[0] == "bar" {
		return r.barStart(s, fields[1])
	}
	return r.lengthIn(s)
}

// barStart is where a bar of the piece begins.
func (r *reader) barStart(s span, number string) (moment, *source.Error) {
	n := count(number)
	bars := barsOf(&r.defaults)
	switch {
	case n == 0:
		return moment{}, s.Error(fmt.Sprintf("%q is no bar", source.Printable(s.String())),
			"bars count from 1, after the upbeat: bar 5")
	case !bars.Given():
		return moment{}, s.Error("the piece has no bars", "write how long they are, outside the voices: bar = 16")
	}
	at, ok := bars.Start(n)
	if !ok || at.Float64() > 1e9 {
		return moment{}, s.Error("this bar is too far away", "")
	}
	return moment{units: at}, nil
}

// between is the text of s after a first word and before a last one; empty
// words match anything.
func between(s span, first, last string) (span, bool) {
	text := s.String()
	fields := strings.Fields(text)
	if len(fields) < 2 || fields[0] != first || last != "" && (len(fields) < 3 || fields[len(fields)-1] != last) {
		return span{}, false
	}
	return s.part(len(first), len(text)-len(last)).inside().rest(), true
}

// extent is how long a voice goes on, with the voice that until names.
type extent struct {
	piece.Extent
	until *reference
}

const extentHint = `write how long it goes on: "complete", "42 notes", "7 taleae", "6 colores",
"90 units", "60 s" or "until low ends"`

func readExtent(r *reader, v *blocks.Value) any {
	s, ok := r.written(v)
	if !ok {
		return nil
	}
	if amount, ok := between(s, "exactly", ""); ok {
		return r.exactly(s, amount)
	}
	if name, ok := between(s, "until", "ends"); ok {
		return &extent{piece.Extent{Kind: piece.Until}, r.refer(name, false)}
	}
	text := s.String()
	fields := strings.Fields(text)
	switch {
	case text == "complete":
		return &extent{}
	case strings.HasPrefix(text, "until"):
		return orNil(nil, r.add(s.Error("until wants a voice and the word ends", `write: extent = "until low ends"`)))
	case len(fields) == 2:
		if e := counted(fields[0], fields[1]); e != nil {
			return orNil(e, r.add(checkExtent(s, e)))
		}
	case len(fields) == 1 && count(text) > 0:
		return orNil(nil, r.add(s.Error(text+" of what?", fmt.Sprintf(`write "%s notes", "%s taleae", "%s units" or "%s s"`,
			text, text, text, text))))
	}
	sec, problem, hint := parseTime(text)
	switch {
	case problem != "" && strings.HasPrefix(hint, "times go"):
		return orNil(nil, r.add(s.Error(problem, hint)))
	case problem != "":
		return orNil(nil, r.add(s.Error(fmt.Sprintf("%q does not say how long it goes on", source.Printable(text)),
			extentHint)))
	}
	e := &extent{Extent: piece.Extent{Kind: piece.Seconds, Amount: sec}}
	return orNil(e, r.add(checkExtent(s, e)))
}

// exactly reads 90 units, to be cut to the letter.
func (r *reader) exactly(s, amount span) any {
	fields := strings.Fields(amount.String())
	if len(fields) == 2 {
		if e := counted(fields[0], fields[1]); e != nil && e.Kind == piece.Units {
			e.Exact = true
			return orNil(e, r.add(checkExtent(amount, e)))
		}
	}
	return orNil(nil, r.add(s.Error("exactly is for units", `write: extent = "exactly 90 units"`)))
}

// counted is an extent in notes, taleae, colores or units; nil when the word is
// none of them. A number that is not understood leaves the amount 0.
func counted(number, word string) *extent {
	e := &extent{Extent: piece.Extent{Count: count(number)}}
	switch word {
	case "note", "notes":
		e.Kind = piece.Notes
	case "talea", "taleae":
		e.Kind = piece.Taleae
	case "color", "colores":
		e.Kind = piece.Colores
	case "unit", "units":
		e.Kind, e.Count = piece.Units, 0
		e.Amount, _ = exact.ParseRat(number)
	default:
		return nil
	}
	return e
}

func checkExtent(s span, e *extent) *source.Error {
	switch e.Kind {
	case piece.Notes, piece.Taleae, piece.Colores:
		if e.Count == 0 {
			return s.Error(fmt.Sprintf("%q does not say how many", source.Printable(s.String())),
				withoutMinus(s, "a whole number from 1, at most 1,000,000,000, is wanted"))
		}
	default:
		if e.Amount.Sign() <= 0 || e.Amount.Float64() > 1e9 {
			return s.Error(fmt.Sprintf("a voice cannot go on for %s", source.Printable(s.String())),
				withoutMinus(s, "it has to be more than 0, and at most 1,000,000,000 units"))
		}
	}
	return nil
}

// withoutMinus is a hint about an amount, with the amount that is meant where
// only its minus is wrong.
func withoutMinus(s span, hint string) string {
	amount, negative := strings.CutPrefix(s.String(), "-")
	number, _, _ := strings.Cut(amount, " ")
	if x, err := exact.ParseRat(number); !negative || err != nil || x.Sign() <= 0 {
		return hint
	}
	return hint + "\nwrite: extent = \"" + amount + "\""
}

// lasts is a length asked for, with the voice that as names.
type lasts struct {
	piece.Lasts
	as *reference
}

func readLasts(r *reader, v *blocks.Value) any {
	s, ok := r.written(v)
	if !ok {
		return nil
	}
	if name, ok := between(s, "as", ""); ok {
		return &lasts{piece.Lasts{Set: true}, r.refer(name, false)}
	}
	sec, ok := r.timeIn(s, true)
	return orNil(&lasts{Lasts: piece.Lasts{Set: true, Sec: sec}}, ok)
}

// place is where a voice stands, with the voice that it names.
type place struct {
	piece.Place
	ref *reference
}

func readStart(r *reader, v *blocks.Value) any {
	s, ok := r.written(v)
	if !ok {
		return nil
	}
	for word, kind := range map[string]piece.PlaceKind{"after": piece.After, "with": piece.With} {
		if name, ok := between(s, word, ""); ok {
			ref := r.referMoved(name)
			ref.after = kind == piece.After
			return &place{piece.Place{Kind: kind}, ref}
		}
	}
	at, err := r.instantIn(s)
	return orNil(&place{Place: piece.Place{Kind: piece.StartAt, At: at.sec, Units: at.units}}, r.add(err))
}

// readLater reads by how much a voice of a canon comes later than the canon says.
func readLater(r *reader, v *blocks.Value) any {
	m, ok := r.length(v)
	return orNil(m, ok)
}

// readMeet reads the block meet of a voice.
func readMeet(r *reader, b *blocks.Block) *setting {
	r.addAll(unknownIn(b.Body, "meet", "with", "at", "mine", "theirs", "later"))
	p := &place{Place: piece.Place{Kind: piece.MeetAt}}
	with, at, theirs := b.Body.Get("with"), b.Body.Get("at"), b.Body.Get("theirs")
	ok := true
	switch {
	case with != nil && at != nil:
		ok = r.add(at.Error("with and at exclude each other", "a voice meets another voice, or a time: delete one of the two"))
	case with == nil && at == nil:
		ok = r.add(b.Error("whom, or when, to meet?", "write a line with = \"low\" or at = \"30 s\" in this block"))
	case with != nil:
		p.Kind = piece.MeetWith
		var s span
		if s, ok = r.written(with.Value); ok {
			p.ref = r.refer(s, true)
		}
	default:
		var m moment
		m, ok = r.instant(at.Value)
		p.At, p.Units = m.sec, m.units
	}
	if later := b.Body.Get("later"); later != nil {
		m, fine := r.length(later.Value)
		p.LaterSec, p.LaterUnits = m.sec, m.units
		ok = ok && fine
	}
	if theirs != nil && at != nil && with == nil {
		ok = r.add(theirs.Error("theirs needs with", "at is a time and has no points"))
	}
	for name, point := range map[string]*piece.Point{"mine": &p.Mine, "theirs": &p.Theirs} {
		if a := b.Body.Get(name); a != nil {
			fine := false
			*point, fine = r.point(a.Value)
			ok = ok && fine
		}
	}
	return &setting{meaning: orNil(p, ok), inner: inner(b)}
}

// inner are the places of the attributes of a block, under their names and the
// block's.
func inner(b *blocks.Block) map[string]source.Pos {
	places := map[string]source.Pos{}
	for _, a := range b.Body.Attrs {
		places[b.Type+"."+a.Name] = a.At
	}
	return places
}

func readLike(r *reader, v *blocks.Value) any {
	s, ok := r.written(v)
	return orNil(s, ok)
}

func readPianoName(r *reader, v *blocks.Value) any {
	s, ok := r.written(v)
	if !ok {
		return nil
	}
	names := make([]string, len(r.piece.Pianos))
	for i, p := range r.piece.Pianos {
		if names[i] = p.Name; p.Name != "" && p.Name == s.String() {
			return i
		}
	}
	names = slices.DeleteFunc(names, func(s string) bool { return s == "" })
	return orNil(nil, r.add(s.Error(fmt.Sprintf("there is no piano %q", source.Printable(s.String())),
		nearest(s.String(), names, fmt.Sprintf("name one first, outside the voices: piano %q {}",
			source.Printable(s.String()))))))
}
