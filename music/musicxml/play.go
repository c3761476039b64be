package musicxml

import (
	"fmt"
	"slices"
	"strings"

	"rollwright/exact"
)

// order is the measures in the order in which they are played, from 0: repeats,
// endings, da capo and dal segno written out. After a jump no repeat is taken and each
// group of endings plays its last one (common practice, no source).
func order(ms []*measure) ([]int, error) {
	var out []int
	from, pass, jumped := 0, 1, false
	for i := 0; i < len(ms); {
		if len(out) > mostMeasures {
			return nil, fmt.Errorf("more than %d measures with repeats written out", mostMeasures)
		}
		m := ms[i]
		if m.forward && i != from {
			from, pass = i, 1
		}
		if m.endingStart && !slices.Contains(m.ending, playing(ms, from, pass, jumped)) {
			for i < len(ms) && !ms[i].endingStop {
				i++
			}
			i++
			continue
		}
		out = append(out, i)
		switch {
		case m.fine && jumped:
			return out, nil
		case m.toCod && jumped:
			if at := slices.IndexFunc(ms, func(m *measure) bool { return m.coda }); at > i {
				i = at
				continue
			}
		case m.backward && !jumped:
			times := m.times
			if len(m.ending) > 0 {
				times = max(times, lastEnding(ms, from))
			}
			if pass < times {
				pass++
				i = from
				continue
			}
			from, pass = i+1, 1
		case m.endingStop && !m.backward:
			from, pass = i+1, 1
		}
		if !jumped && (m.dacapo || m.dalsegno) {
			jumped = true
			i, from, pass = 0, 0, 1
			if at := slices.IndexFunc(ms, func(m *measure) bool { return m.segno }); m.dalsegno && at >= 0 {
				i, from = at, at
			}
			continue
		}
		i++
	}
	return out, nil
}

// playing is the number of the ending that is wanted now.
func playing(ms []*measure, from, pass int, jumped bool) int {
	if jumped {
		return lastEnding(ms, from)
	}
	return pass
}

// lastEnding is the highest number of the endings of the group after from.
func lastEnding(ms []*measure, from int) int {
	last, begun := 0, false
	for _, m := range ms[from:] {
		if len(m.ending) > 0 {
			begun = true
			last = max(last, slices.Max(m.ending))
		} else if begun {
			break
		}
	}
	return last
}

// play writes the parts out.
func (s *scoreReader) play() error {
	if len(s.parts) == 0 {
		return fmt.Errorf("there is no part in it")
	}
	longest := slices.MaxFunc(s.parts, func(a, b *writtenPart) int { return len(a.measures) - len(b.measures) }).measures
	signs := make([]*measure, len(longest))
	for i := range signs { // a repeat may stand in any part
		signs[i] = &measure{}
		for _, p := range s.parts {
			if i < len(p.measures) {
				signs[i].join(p.measures[i])
			}
		}
	}
	sequence, err := order(signs)
	if err != nil {
		return err
	}
	readers := make([]*partPlayer, len(s.parts))
	for i, p := range s.parts {
		readers[i] = &partPlayer{s: s, written: p, part: &PlayedPart{Name: p.name}, divisions: exact.Int(1),
			beats: exact.Int(4), pedal: -1, open: map[int]int{}}
	}
	at := exact.Rat{}
	s.Upbeat = len(longest) > 0 && longest[0].implicit
	notes := 0
	for _, n := range sequence {
		s.Bars = append(s.Bars, at)
		length := exact.Rat{}
		for _, r := range readers {
			if n < len(r.written.measures) {
				if err := r.measure(r.written.measures[n], at); err != nil {
					return fmt.Errorf("%s, measure %d: %w", r.part.Name, n+1, err)
				}
				if r.length.Cmp(length) > 0 {
					length = r.length
				}
			}
		}
		if length.Sign() == 0 {
			length = readers[0].beats
		}
		at = add(at, length)
		if notes = notesOf(readers); notes > mostPlayed {
			return fmt.Errorf("more than %d notes", mostPlayed)
		}
	}
	s.Bars = append(s.Bars, at)
	for _, r := range readers {
		s.Parts = append(s.Parts, *r.finish(at))
	}
	return nil
}

func notesOf(readers []*partPlayer) int {
	n := 0
	for _, r := range readers {
		n += len(r.part.Notes)
	}
	return n
}

// join adds the signs of another part's measure.
func (m *measure) join(o *measure) {
	m.forward, m.backward, m.times = m.forward || o.forward, m.backward || o.backward, max(m.times, o.times)
	m.endingStart, m.endingStop = m.endingStart || o.endingStart, m.endingStop || o.endingStop
	if len(m.ending) == 0 {
		m.ending = o.ending
	}
	m.segno, m.coda, m.dacapo = m.segno || o.segno, m.coda || o.coda, m.dacapo || o.dacapo
	m.dalsegno, m.fine, m.toCod = m.dalsegno || o.dalsegno, m.fine || o.fine, m.toCod || o.toCod
}

// partPlayer is the place in a part.
type partPlayer struct {
	s         *scoreReader
	written   *writtenPart
	part      *PlayedPart
	divisions exact.Rat
	beats     exact.Rat // quarters of a bar by the time signature
	move      transposition
	level     int
	start     exact.Rat // of the measure
	at        exact.Rat // in it
	chordAt   exact.Rat
	length    exact.Rat // of the measure so far
	graces    []PlayedNote
	leads     [][2]int // a grace note and the note that it leads to, by index
	open      map[int]int
	pedal     int // index of the pedal that is down; -1: none
}

// add is a sum whose size the bounds keep in hand; a sum that does not fit stays where
// it was.
func add(a, b exact.Rat) exact.Rat {
	if c, ok := a.Add(b); ok {
		return c
	}
	return a
}

func (p *partPlayer) measure(m *measure, at exact.Rat) error {
	p.start, p.at, p.chordAt, p.length = at, exact.Rat{}, exact.Rat{}, exact.Rat{}
	for _, k := range m.kids {
		if err := p.child(k); err != nil {
			return err
		}
		if p.at.Cmp(p.length) > 0 {
			p.length = p.at
		}
	}
	return nil
}

func (p *partPlayer) child(k *node) error {
	switch k.name {
	case "attributes":
		return p.attributes(k)
	case "note":
		return p.note(k)
	case "backup", "forward":
		d, err := p.duration(k)
		if err != nil {
			return err
		}
		if k.name == "forward" {
			p.at = add(p.at, d)
			return nil
		}
		if back, ok := p.at.Sub(d); ok && back.Sign() >= 0 {
			p.at = back
		} else {
			p.at = exact.Rat{}
		}
	case "sound":
		p.sound(k, add(p.start, p.at))
	case "direction":
		p.direction(k)
	}
	return nil
}

func (p *partPlayer) duration(k *node) (exact.Rat, error) {
	d, err := fraction(k.get("duration").text, "duration")
	if err != nil {
		return d, err
	}
	q, ok := d.Quo(p.divisions)
	if !ok {
		return q, fmt.Errorf("duration %v of divisions %v is too fine", d, p.divisions)
	}
	return q, nil
}

func (p *partPlayer) attributes(k *node) error {
	if d := k.get("divisions"); d.name != "" {
		x, err := fraction(d.text, "divisions")
		if err != nil || x.Sign() <= 0 {
			return fmt.Errorf("divisions %q: want a number more than 0", d.text)
		}
		p.divisions = x
	}
	if t := k.get("time"); t.name != "" {
		if beats, unit := integer(t.get("beats").text), integer(t.get("beat-type").text); beats > 0 && unit > 0 {
			p.beats = exact.NewRat(4*int64(beats), int64(unit))
		}
	}
	if t := k.get("transpose"); t.name != "" {
		octaves := integer(t.get("octave-change").text)
		p.move = transposition{integer(t.get("chromatic").text) + 12*octaves, integer(t.get("diatonic").text)}
	}
	return nil
}

// note reads a note or rest.
func (p *partPlayer) note(k *node) error {
	p.named(k)
	if k.has("cue") {
		return nil
	}
	if k.has("grace") {
		return p.grace(k)
	}
	d, err := p.duration(k)
	if err != nil {
		return err
	}
	at := p.at
	if k.has("chord") {
		at = p.chordAt
	} else {
		p.chordAt, p.at = at, add(at, d)
	}
	written := k.get("pitch")
	switch {
	case k.has("unpitched"):
		p.s.say("notes without a pitch are left out")
		return nil
	case written.name == "" || d.Sign() == 0:
		return nil
	}
	key, letter, err := keyAndLetter(written, p.move)
	if err != nil {
		return err
	}
	n := PlayedNote{From: add(p.start, at), Key: key, Letter: letter, Level: p.level}
	n.To = add(n.From, d)
	p.sounds(k, n)
	return nil
}

// sounds adds a note, or goes on with one that is tied to it.
func (p *partPlayer) sounds(k *node, n PlayedNote) {
	starts, stops := false, false
	k.all("tie", func(t *node) {
		starts, stops = starts || t.attr["type"] == "start", stops || t.attr["type"] == "stop"
	})
	i, tied := p.open[n.Key]
	if tied && stops && p.part.Notes[i].To == n.From {
		p.part.Notes[i].To = n.To
	} else {
		i = len(p.part.Notes)
		if !k.has("chord") {
			for g, grace := range p.graces {
				grace.From, grace.To, grace.Grace, grace.Level = n.From, n.To, len(p.graces)-g, n.Level
				p.part.Notes = append(p.part.Notes, grace)
				p.leads = append(p.leads, [2]int{len(p.part.Notes) - 1, i + len(p.graces)})
			}
			i += len(p.graces)
			p.graces = nil
		}
		p.part.Notes = append(p.part.Notes, n)
	}
	if starts {
		p.open[n.Key] = i
	} else {
		delete(p.open, n.Key)
	}
}

// grace keeps a grace note for the note that it leads to.
func (p *partPlayer) grace(k *node) error {
	written := k.get("pitch")
	if written.name == "" {
		return nil
	}
	key, letter, err := keyAndLetter(written, p.move)
	if err == nil {
		p.graces = append(p.graces, PlayedNote{Key: key, Letter: letter})
	}
	return err
}

// named says which signs of a note are not played.
func (p *partPlayer) named(k *node) {
	k.all("notations", func(n *node) {
		for _, sign := range n.kids {
			switch sign.name {
			case "fermata", "arpeggiate", "glissando", "slide":
				p.s.say("signs of the kind %s are left out", sign.name)
			case "ornaments":
				p.s.say("ornaments are left out")
			}
		}
	})
}

func (p *partPlayer) direction(k *node) {
	at := add(p.start, p.at)
	metronome := (*node)(nil)
	k.all("direction-type", func(t *node) {
		for _, kind := range t.kids {
			switch kind.name {
			case "dynamics":
				for _, mark := range kind.kids {
					if level := levels[mark.name]; level > 0 {
						p.level = level
					} else {
						p.s.say("the dynamic mark %s is left out", mark.name)
					}
				}
			case "metronome":
				metronome = kind
			case "pedal":
				p.pedalling(kind.attr["type"], at)
			case "wedge":
				p.s.say("crescendo and diminuendo signs are left out")
			case "words":
				if w := strings.ToLower(kind.text); strings.Contains(w, "rit") || strings.Contains(w, "accel") ||
					strings.Contains(w, "rall") {
					p.s.say("tempo words are left out")
				}
			}
		}
	})
	sound := k.get("sound")
	if sound.attr["tempo"] == "" && metronome != nil {
		p.metronome(metronome, at)
	}
	p.sound(sound, at)
}

// units are the note values of metronome marks in quarter notes.
var units = map[string]exact.Rat{"breve": exact.Int(8), "whole": exact.Int(4), "half": exact.Int(2),
	"quarter": exact.Int(1),
	"eighth":  exact.NewRat(1, 2), "16th": exact.NewRat(1, 4), "32nd": exact.NewRat(1, 8)}

func (p *partPlayer) metronome(k *node, at exact.Rat) {
	unit, known := units[k.get("beat-unit").text]
	k.all("beat-unit-dot", func(*node) { unit, _ = unit.Mul(exact.NewRat(3, 2)) })
	per, err := fraction(k.get("per-minute").text, "per-minute")
	if quarters, ok := unit.Mul(per); known && err == nil && ok {
		p.tempo(quarters, at)
	}
}

func (p *partPlayer) sound(k *node, at exact.Rat) {
	if text := k.attr["tempo"]; text != "" {
		if x, err := fraction(text, "tempo"); err == nil {
			p.tempo(x, at)
		}
	}
	switch k.attr["damper-pedal"] {
	case "yes":
		p.pedalling("start", at)
	case "no":
		p.pedalling("stop", at)
	}
	if k.has("swing") {
		p.s.say("swing is left out")
	}
}

func (p *partPlayer) tempo(quarters, at exact.Rat) {
	x, err := exact.FromRat(quarters.Big())
	if err != nil || quarters.Float64() < 1e-3 || quarters.Float64() > 1e6 {
		p.s.say("the tempo %v is left out", quarters)
		return
	}
	p.part.Tempos = append(p.part.Tempos, PlayedTempo{at, x})
}

// lifted is how long a pedal that changes stays up: a 64th note.
var lifted = exact.NewRat(1, 16)

func (p *partPlayer) pedalling(kind string, at exact.Rat) {
	if (kind == "stop" || kind == "change" || kind == "discontinue") && p.pedal >= 0 {
		p.part.Pedal[p.pedal][1] = at
		p.pedal = -1
	}
	if kind == "change" {
		at = add(at, lifted)
	}
	if (kind == "start" || kind == "change" || kind == "resume") && p.pedal < 0 {
		p.pedal = len(p.part.Pedal)
		p.part.Pedal = append(p.part.Pedal, [2]exact.Rat{at, at})
	}
}

// finish ends what has not ended.
func (p *partPlayer) finish(end exact.Rat) *PlayedPart {
	if p.pedal >= 0 {
		p.part.Pedal[p.pedal][1] = end
	}
	if len(p.graces) > 0 {
		p.s.say("grace notes that lead to no note are left out")
	}
	for _, l := range p.leads { // ties may have made the note longer
		p.part.Notes[l[0]].To = p.part.Notes[l[1]].To
	}
	return p.part
}
