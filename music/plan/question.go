package plan

import (
	"fmt"

	"rollwright/exact"
	"rollwright/music/perform"
	"rollwright/music/piece"
)

// What is asked about: a unit of several whole notes, and one that lasts longer than a slow
// bar where the file gives its length only through lasts.
const longUnitSec = 4

// questions are what of a voice was perhaps not meant.
func questions(v *piece.Voice, l *perform.Line) []string {
	var out []string
	if v.Unit.Cmp(exact.Int(2)) >= 0 {
		out = append(out, fmt.Sprintf("the unit is %s whole notes; if 1/%s of one is meant, write unit = \"1/%s\"", v.Unit,
			v.Unit, v.Unit))
	} else if unit := (l.EndSec - l.StartSec) / l.Length; v.Lasts.Set && unit > longUnitSec {
		out = append(out, fmt.Sprintf("a unit lasts %s, because %s are to last %s; if they are not meant to be so slow, "+
			"give them a longer extent, or a shorter lasts", duration(unit), units(decimal(l.Length, 6)),
			duration(l.EndSec-l.StartSec)))
	}
	return out
}

// asks writes the questions of a voice.
func (t *text) asks(v *Voice) {
	for _, q := range v.Questions {
		t.item("question", "%s", q)
	}
}

// allAsks writes the questions of all voices, those that are alike once.
func (t *text) allAsks() {
	said := map[string]bool{}
	for i := range t.plan.Voices {
		for _, q := range t.plan.Voices[i].Questions {
			if !said[q] {
				t.item("question", "%s: %s", t.plan.Voices[i].Name, q)
			}
			said[q] = true
		}
	}
}
