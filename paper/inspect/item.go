package inspect

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"rollwright/music/piece"
)

// item is what a note was written as: an item of a color or line.
type item struct {
	voice *piece.Voice
	pitch *piece.Pitch
	from  int    // byte of the piece's text at which it begins
	text  string // as it stands there
	head  string // C4+E4, or a gesture
	units string // of a line: 2; empty: taken over
	level string // ff; empty: not its own
	hold  string // 0.3; empty: not its own
	names []name // of a note or chord, in the order of the text; nil where not all are known
}

// name is a pitch as it stands in the text.
type name struct {
	letters string // C#
	octave  int
}

func (n name) String() string { return n.letters + strconv.Itoa(n.octave) }

// key is the MIDI number of a name.
func (n name) key() int {
	k := map[byte]int{'C': 0, 'D': 2, 'E': 4, 'F': 5, 'G': 7, 'A': 9, 'B': 11}[n.letters[0]]
	return 12*(n.octave+1) + k + strings.Count(n.letters, "#") - strings.Count(n.letters[1:], "b")
}

// itemOf is the item that a note of a voice was written as; nil where it is not known,
// because a program made it, or because a statement of the color is turned around.
func (f *Finding) itemOf(voice, note int) *item {
	v := f.of(voice)
	if v == nil || note < 1 || len(v.Color) == 0 || f.piece.File == nil || f.reach == nil {
		return nil
	}
	for _, change := range []*piece.Change{&v.PerColor, &v.PerTalea} {
		if len(change.Rotate)+len(change.Backward) > 0 || change.RotateEach != 0 {
			return nil
		}
	}
	p := memberOf(v, note, f.reach.last(voice))
	text := f.piece.File.Text
	if p.Offset < 1 || int(p.Offset) > len(text) {
		return nil
	}
	it := &item{voice: v, pitch: p, from: int(p.Offset) - 1}
	it.text = string(text[it.from:itemEnd(text, it.from)])
	it.split()
	if p.Gesture.Manner() == piece.Plain {
		it.names = namesOf(it.head, p)
	}
	return it
}

// itemEnd is the byte behind the item that begins at from.
func itemEnd(text []byte, from int) int {
	open := 0
	for i := from; i < len(text); i++ {
		switch b := text[i]; {
		case b == '(':
			open++
		case b == ')' && open > 0:
			open--
		case open == 0 && strings.IndexByte(" \t\r\n|\"[],", b) >= 0:
			return i
		}
	}
	return len(text)
}

// split takes the item apart: head, then :units, then !level, then ~hold.
func (it *item) split() {
	closing := strings.LastIndexByte(it.text, ')') + 1
	rest := it.text[closing:]
	cut := func(mark byte) (part string) {
		if i := strings.IndexByte(rest, mark); i >= 0 {
			rest, part = rest[:i], rest[i+1:]
		}
		return part
	}
	it.hold = cut('~')
	it.level = cut('!')
	it.units = cut(':')
	it.head = it.text[:closing] + rest
}

// namesOf are the pitches of a note or chord. An octave that is taken over is found from
// the keys, where no function has moved them.
func namesOf(head string, p *piece.Pitch) []name {
	parts := strings.Split(head, "+")
	for octave := -1; octave <= 9; octave++ {
		var out []name
		var keys []int
		now, taken := octave, false
		for _, part := range parts {
			n := strings.IndexAny(part, "0123456789-")
			if part == "" || part[0] < 'A' || part[0] > 'G' {
				return nil
			}
			if n >= 0 {
				own, err := strconv.Atoi(part[n:])
				if err != nil {
					return nil
				}
				now = own
				part = part[:n]
			} else if len(out) == 0 {
				taken = true
			}
			out = append(out, name{part, now})
			keys = append(keys, out[len(out)-1].key())
		}
		slices.Sort(keys)
		switch same := slices.Equal(slices.Compact(keys), p.Keys); {
		case same, !taken && p.Spelled != nil:
			return out
		case !taken || p.Spelled != nil:
			return nil
		}
	}
	return nil
}

// written is the item with another head or hold.
func (it *item) written(head, hold string) string {
	text := head
	if it.units != "" {
		text += ":" + it.units
	}
	if it.level != "" {
		text += "!" + it.level
	}
	if hold != "" {
		text += "~" + hold
	}
	return text
}

// of is the place in names of the pitch that sounds as a key; -1 where that cannot be told.
func (it *item) of(key int) int {
	switch {
	case len(it.names) < 2:
		return len(it.names) - 1
	case it.voice.Invert != nil, it.voice.InvertSteps != nil, it.voice.TransposeSteps != 0, it.pitch.Spelled != nil:
		return -1
	}
	for _, c := range []*piece.Change{&it.voice.PerColor, &it.voice.PerTalea} {
		if len(c.Invert)+len(c.Transpose)+len(c.TransposeSteps) > 0 || c.TransposeEach != 0 || c.TransposeStepsEach != 0 {
			return -1
		}
	}
	return slices.IndexFunc(it.names, func(n name) bool { return n.key()+it.voice.Transpose == key })
}

// put is the change that writes text in place of the item, and of what takes over its
// octave the octave as it was.
func (f *Finding) put(voice int, it *item, text string, pitchesChanged bool, way way) []Change {
	all := f.piece.File.Text
	end := it.from + len(it.text)
	if pitchesChanged && len(it.names) > 0 {
		at, taken, ok := takesOver(all, end)
		if !ok {
			return nil
		}
		if taken {
			text += string(all[end:at]) + strconv.Itoa(it.names[len(it.names)-1].octave)
			end = at
		}
	}
	return []Change{{Voice: voice, Value: text, Item: it.from + 1, way: way,
		Old: piece.Written{Text: string(all[it.from:end])}}}
}

// takesOver is where behind an item a pitch stands without an octave, which it takes
// over from it; not ok: what follows cannot be told.
func takesOver(text []byte, i int) (at int, taken, ok bool) {
	for i < len(text) {
		switch b := text[i]; {
		case strings.IndexByte(" \t\r\n|[]", b) >= 0:
			i++
		case b == '"':
			return 0, false, true
		case b == '(':
			i = itemEnd(text, i)
		case b >= '0' && b <= '9':
			return 0, false, false // so many times something
		case b >= 'A' && b <= 'G':
			for i++; i < len(text) && (text[i] == '#' || text[i] == 'b'); i++ {
			}
			if i == len(text) || strings.IndexByte(" \t\r\n|\"[]:!~+", text[i]) >= 0 {
				return i, true, true
			}
			return 0, false, true // it has one, or the text has ended
		default:
			return 0, false, false
		}
	}
	return 0, false, true
}

// held gives a note's item a hold of its own.
func (f *Finding) held(voice, note int, hold string) []Change {
	it := f.itemOf(voice, note)
	if it == nil || it.hold == hold || hold == "" {
		return nil
	}
	return f.put(voice, it, it.written(it.head, hold), false, itemHold)
}

// heldLess are three quarters, a half and a quarter of what a note's item has.
func (f *Finding) heldLess(voice, note int) []Change {
	it := f.itemOf(voice, note)
	if it == nil {
		return nil
	}
	own := it.pitch.Hold
	if own == nil && len(it.voice.Hold) == 1 {
		own = &it.voice.Hold[0]
	}
	if own == nil || own.Kind != piece.HoldShare {
		return nil
	}
	var out []Change
	for _, quarters := range []float64{3, 2, 1} {
		out = append(out, f.put(voice, it, it.written(it.head, figure(own.Share.Float64()*quarters/4)), false, itemHold)...)
	}
	return out
}

// leftOut leaves a stroke out: of a chord its pitch, of a line its note.
func (f *Finding) leftOut(voice, note int) []Change {
	it := f.itemOf(voice, note)
	if it == nil || len(it.names) == 0 {
		return nil
	}
	if n := it.of(f.Key); len(it.names) > 1 {
		if n < 0 {
			return nil
		}
		rest := slices.Delete(slices.Clone(it.names), n, n+1)
		return f.put(voice, it, it.written(join(rest), it.hold), true, itemOut)
	}
	if !it.voice.FromLine {
		return nil // the color would go on with the next pitch
	}
	units := it.units
	if units == "" {
		units = f.unitsOf(it)
	}
	return f.put(voice, it, "("+units+")", true, itemOut)
}

// unitsOf is the duration of an item of a line that takes it over.
func (f *Finding) unitsOf(it *item) string {
	for i, n := 0, 0; i < len(it.voice.Talea); i++ {
		if it.voice.Talea[i].Silent {
			continue
		}
		if &it.voice.Color[n] == it.pitch {
			return it.voice.Talea[i].Units.String()
		}
		n++
	}
	return "1"
}

func join(names []name) string {
	parts := make([]string, len(names))
	for i, n := range names {
		parts[i] = n.String()
	}
	return strings.Join(parts, "+")
}

// itemOctave moves the stroke of a note by octaves: those given in semitones.
func (f *Finding) itemOctave(voice, note int, by ...int) []Change {
	it := f.itemOf(voice, note)
	if it == nil {
		return nil
	}
	n := it.of(f.Key)
	if n < 0 {
		return nil
	}
	low, high := compass(&f.roll.Instrument.Bar)
	var out []Change
	for _, by := range by {
		if to := f.Key + by; to < low || to > high {
			continue
		}
		moved := slices.Clone(it.names)
		moved[n].octave += by / 12
		out = append(out, f.put(voice, it, it.written(join(moved), it.hold), true, itemOctave)...)
	}
	return out
}

// ofItem are the smallest changes that may help: of the one item that a note was written
// as, its hold, its stroke left out, the stroke an octave away.
func (f *Finding) ofItem() []Change {
	if f.gestures != nil && f.Note == f.OtherNote {
		return nil // the gesture itself is what is changed
	}
	var out []Change
	add := func(more ...[]Change) { out = append(out, slices.Concat(more...)...) }
	switch f.Kind {
	case OutsideCompass:
		low, high := compass(&f.roll.Instrument.Bar)
		by := 0
		for f.Key+by < low {
			by += 12
		}
		for f.Key+by > high {
			by -= 12
		}
		add(f.itemOctave(f.Voice, f.Note, by), f.leftOut(f.Voice, f.Note))
	case ShortBridge, UnclearWeb, Repetition:
		voice, note := f.earlierNote()
		add(f.held(voice, note, f.itemShare()), f.held(voice, note, "single"))
		add(f.leftOut(f.Voice, f.Note), f.itemOctave(f.Voice, f.Note, 12, -12))
	case StrokeLost, OneKey:
		add(f.leftOut(f.Voice, f.Note), f.itemOctave(f.Voice, f.Note, 12, -12))
		add(f.leftOut(f.Other, f.OtherNote), f.itemOctave(f.Other, f.OtherNote, 12, -12))
	case CutOff:
		add(f.heldLess(f.Voice, f.Note))
		add(f.leftOut(f.Other, f.OtherNote), f.itemOctave(f.Other, f.OtherNote, 12, -12))
	case TooShort, ShortSlot:
		if ms := f.longMS(); ms != "" {
			add(f.held(f.Voice, f.Note, strings.ReplaceAll(ms, " ", "")))
		}
		add(f.leftOut(f.Voice, f.Note))
	case SideBySide, OpenSlot:
		add(f.heldLess(f.Voice, f.Note))
	case AtOnce, RowCutAway:
		add(f.heldLess(f.Voice, f.Note), f.leftOut(f.Voice, f.Note))
	case Rate:
		add(f.leftOut(f.Voice, f.Note))
	}
	return out
}

// earlierNote is the earlier of two strokes.
func (f *Finding) earlierNote() (voice, note int) {
	if f.Other >= 0 {
		return f.Other, f.OtherNote
	}
	return f.Voice, f.Note
}

// itemShare is the share of the earlier note that leaves the standard's bridge behind it,
// where the next stroke follows at once; empty where no punch would be left of it.
func (f *Finding) itemShare() string {
	in := f.roll.Instrument
	wants := max(in.Paper.BridgeMM, in.Action.GapPaperMM)
	room := f.apart * in.Transport.SpeedAt(f.StartSec)
	share := float64(int(100*(room-wants-in.StepMM)/room)) / 100
	if share <= 0 || share*room < in.Die.DiameterMM {
		return ""
	}
	return figure(share)
}

// lineOf is the line of the piece's text that a change of one item is in; 0 for others.
func (f *Finding) lineOf(c Change) int {
	if c.Item == 0 || f.piece == nil || f.piece.File == nil {
		return 0
	}
	return f.piece.File.PosAt(c.Item - 1).Line
}

// inPlace says what is written in place of what, and where.
func (f *Finding) inPlace(c Change) string {
	text := fmt.Sprintf("write %s in place of %s, line %d", c.Value, c.Old.Text, f.lineOf(c))
	if n := f.sharing(c); n > 1 {
		text += fmt.Sprintf(", for %d voices", n)
	}
	return text
}

// sharing is how many voices are made of the item that a change is about.
func (f *Finding) sharing(c Change) (n int) {
	for i := range f.piece.Voices {
		if slices.ContainsFunc(f.piece.Voices[i].Color, func(p piece.Pitch) bool { return int(p.Offset) == c.Item }) {
			n++
		}
	}
	return n
}
