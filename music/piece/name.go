package piece

import "rollwright/music/pitch"

// Name is how the composer would write what key i of the pitch has become: as it
// is written itself, in another octave with the same letter, and moved by
// anything else with sharps or flats as it has them.
func (p *Pitch) Name(i, key int) string {
	if i >= len(p.Letters) {
		return pitch.Name(key)
	}
	return pitch.Spelled(key, pitch.Respell(p.Letters[i], p.Keys[i], key))
}

// Sounding is the key that the whole voice makes of a written one: mirrored,
// then moved. What per_color and per_talea do to single statements is left out.
// The result may lie outside 0 to 127.
func (v *Voice) Sounding(key int) int {
	if v.Invert != nil {
		key = 2**v.Invert - key
	}
	return key + v.Transpose
}

// VoiceNames are the names of the voices, in their order.
func (p *Piece) VoiceNames() []string {
	names := make([]string, len(p.Voices))
	for i := range p.Voices {
		names[i] = p.Voices[i].Name
	}
	return names
}
