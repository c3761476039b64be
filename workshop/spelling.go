package workshop

import (
	"rollwright/music/pitch"
	"rollwright/paper/instrument"
)

// KeyNames are the names of keys as the piece writes what it sounds: none of a key that has
// no note, or whose notes do not agree.
func (j *Job) KeyNames() map[int]string {
	if j.names == nil {
		return nil
	}
	return j.names()
}

func (j *Job) nameAll() map[int]string {
	names := map[int]string{}
	for i := range j.Piece.Voices {
		j.nameKeys(names, i)
	}
	return names
}

// nameKeys takes over the names of a voice.
func (j *Job) nameKeys(all map[int]string, voice int) {
	v := &j.Piece.Voices[voice]
	take := func(n pitch.Named) {
		name := n.String()
		if before, met := all[n.Key]; met && before != name {
			name = ""
		}
		all[n.Key] = name
	}
	if !v.PerColor.Moves() && !v.PerTalea.Moves() {
		move := v.Whole()
		for i := range v.Color {
			p := &v.Color[i]
			for k, written := range p.Keys {
				take(pitch.Named{Key: move.Key(written), Spelling: move.Spelling(p.Spelling(k), written)})
			}
		}
		return
	}
	var names []pitch.Named
	for it := range j.Performance.Lines[voice].All() {
		names = j.Performance.Lines[voice].Named(it, names[:0])
		for _, n := range names {
			take(n)
		}
	}
}

// spellings are the names of note ports as the piece writes their keys, by port: empty where
// it has no such note, or where its notes do not agree.
func (j *Job) spellings(in *instrument.Instrument) []string {
	named := j.KeyNames()
	if named == nil {
		return nil
	}
	names := make([]string, len(in.Bar.Ports))
	for i, port := range in.Bar.Ports {
		if port.Role == instrument.Note {
			names[i] = named[port.Key]
		}
	}
	return names
}
