package perform

import notename "rollwright/music/pitch"

// Named appends the keys of the item's member of the color to names, in the order in which
// they are written, each as it sounds and as its composer spells it; none for a silence.
func (l *Line) Named(it Item, names []notename.Named) []notename.Named {
	if it.Silent {
		return names
	}
	member, move := &l.voice.Color[it.ColorPlace], l.Move(it)
	for i, written := range member.Keys {
		names = append(names, notename.Named{Key: move.Key(written), Spelling: move.Spelling(member.Spelling(i), written)})
	}
	return names
}
