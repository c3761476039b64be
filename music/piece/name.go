package piece

import "rollwright/music/pitch"

// Spelling is the name from which that of key i is reckoned.
func (p *Pitch) Spelling(i int) pitch.Spelling {
	switch {
	case i < len(p.Spelled):
		return p.Spelled[i]
	case i < len(p.Letters):
		return pitch.SpellingOf(p.Letters[i], p.Keys[i])
	}
	return pitch.SpellingOf(pitch.Letter(p.Keys[i], false), p.Keys[i])
}

// Name is the name of key i as it sounds when it is moved: as its composer spells it.
func (p *Pitch) Name(i int, m *Move) string {
	return m.Spelling(p.Spelling(i), p.Keys[i]).Name(m.Key(p.Keys[i]))
}

// VoiceNames are the names of the voices, in their order.
func (p *Piece) VoiceNames() []string {
	names := make([]string, len(p.Voices))
	for i := range p.Voices {
		names[i] = p.Voices[i].Name
	}
	return names
}

// NameOf is the name of a key that note n sounds, from 1 in the order of writing, as its
// composer spells it: with sharps where no member of the color sounds it there.
func (v *Voice) NameOf(n, key int) string {
	size, sounding := len(v.Color), 0
	for i := range v.Talea {
		if !v.Talea[i].Silent {
			sounding++
		}
	}
	if n < 1 || size == 0 || sounding == 0 {
		return pitch.Name(key)
	}
	move := v.Move((n-1)/size, (n-1)/sounding)
	first := ((n-1+v.RotateColor)%size + size) % size
	for i := range size { // statements may begin with another member, and turn round
		member := &v.Color[(first+i)%size]
		for k, written := range member.Keys {
			if move.Key(written) == key {
				return member.Name(k, &move)
			}
		}
	}
	return pitch.Name(key)
}
