package workshop

import (
	"rollwright/paper/instrument"
)

// spellings are the names of note ports as the piece writes their keys, by port:
// empty where it has no such note, or where its notes do not agree. Where a voice
// moves with every color or talea, what its notes are called is not looked into:
// there are none then.
func (j *Job) spellings(in *instrument.Instrument) []string {
	p := j.Piece
	if p == nil {
		return nil
	}
	named := map[int]string{}
	for i := range p.Voices {
		v := &p.Voices[i]
		if v.PerColor.Moves() || v.PerTalea.Moves() {
			return nil
		}
		move := v.Whole()
		for _, pitch := range v.Color {
			for k, written := range pitch.Keys {
				key := move.Key(written)
				name := pitch.Name(k, &move)
				if before, met := named[key]; met && before != name {
					name = ""
				}
				named[key] = name
			}
		}
	}
	names := make([]string, len(in.Bar.Ports))
	for i, port := range in.Bar.Ports {
		if port.Role == instrument.Note {
			names[i] = named[port.Key]
		}
	}
	return names
}
