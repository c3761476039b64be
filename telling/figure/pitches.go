package figure

import (
	"slices"
	"strings"

	"rollwright/music/piece"
	"rollwright/text/words"
)

// pitchLabel is a member of a color in few letters, as the voice sounds it: C4,
// F2+F3, of a gesture its first and last key, of a repeated note C4 C4….
func pitchLabel(b *words.Book, p piece.Pitch, v *piece.Voice) string {
	names := soundingNames(b, p, v)
	switch {
	case len(names) == 0:
		return "?"
	case p.Gesture.Manner() == piece.Repeat:
		all := strings.Join(names, "+")
		return all + " " + all + "…"
	case p.Gesture.Manner() != piece.Plain && len(names) > 1:
		return names[0] + "…" + names[len(names)-1]
	}
	return strings.Join(names, "+")
}

// soundingNames are the names of a member's keys as the voice sounds them.
func soundingNames(b *words.Book, p piece.Pitch, v *piece.Voice) []string {
	names, move := make([]string, len(p.Keys)), v.Whole()
	for i := range p.Keys {
		names[i] = called(b, p.Name(i, &move))
	}
	if p.Gesture.Manner() == piece.Plain && move.Reverses() { // a mirrored chord's lowest note was its highest
		slices.Reverse(names)
	}
	return names
}

// gestureNames are the keys of the words for gestures.
var gestureNames = map[piece.GestureKind]string{
	piece.Gliss: "pitch.gliss", piece.Trill: "pitch.trill", piece.Repeat: "pitch.repeat",
	piece.Cluster: "pitch.cluster", piece.Spread: "pitch.spread", piece.Grace: "pitch.grace",
}

// shortLabels are names of a color's members that fit a tooth, and for each that
// is cut short a line of a key, in order. Different members have different names.
func (c *cycle) shortLabels(b *words.Book) (labels, key []string) {
	long := map[string]string{} // of each short name
	for _, p := range c.members {
		short, whole := c.shortLabel(b, p)
		for known, ok := long[short]; ok && known != whole; known, ok = long[short] {
			short += "′"
		}
		if _, ok := long[short]; !ok && short != whole {
			key = append(key, b.Say("wheels.key", words.Args{"short": short, "long": whole}))
		}
		long[short] = whole
		labels = append(labels, short)
	}
	return labels, key
}

// shortLabel is a member of the color in as few letters as can be, and whole.
func (c *cycle) shortLabel(b *words.Book, p piece.Pitch) (short, whole string) {
	names := soundingNames(b, p, c.voice)
	word, gesture := gestureNames[p.Gesture.Manner()]
	switch {
	case len(names) == 0:
		return "?", "?"
	case gesture:
		between := "+"
		if p.Gesture.Manner() == piece.Trill {
			between = " "
		}
		args := words.Args{"first": names[0], "last": names[len(names)-1], "keys": strings.Join(names, between),
			"rest": strings.Join(names[1:], "+")}
		return b.Say(word+"-short", args), b.Say(word, args)
	case len(names) > 1:
		return names[0] + "+", strings.Join(names, "+")
	}
	return names[0], names[0]
}

// called is a pitch as notes are called, with the signs of notation where they have any.
func called(b *words.Book, name string) string {
	if note := b.Note(name); note != name {
		letters := strings.IndexAny(name, "#b-0123456789")
		if at := strings.LastIndex(note, name[letters:]); at > 0 { // a syllable, which may have a b of its own
			return note[:at] + signed(name[letters:])
		}
		return note
	}
	return signed(name)
}

// signed is a name of a pitch with the signs of notation: F♯2, B♭3, A♭♭4. The
// letter comes first, so a b behind it is a flat.
func signed(name string) string { return strings.NewReplacer("#", "♯", "b", "♭").Replace(name) }
