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
