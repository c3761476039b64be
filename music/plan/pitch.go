package plan

import (
	"slices"
	"strings"

	"rollwright/music/piece"
)

// PitchName is a member of a color as the voice v sounds it, mirrored and moved, and
// as its composer spells it: "C4", "F2+Ab2", "gliss C3 to C6"; "-" without keys.
func PitchName(p piece.Pitch, v *piece.Voice) string {
	var keys []string
	for i, key := range p.Keys {
		keys = append(keys, p.Name(i, v.Sounding(key)))
	}
	if len(keys) == 0 {
		return "-"
	}
	first, last := keys[0], keys[len(keys)-1]
	switch p.Gesture.Kind {
	case piece.Gliss:
		return "gliss " + first + " to " + last
	case piece.Trill:
		return "trill " + strings.Join(keys, " ")
	case piece.Repeat:
		return "repeat " + strings.Join(keys, "+")
	case piece.Cluster:
		return "cluster " + first + " to " + last
	case piece.Spread:
		return "spread " + strings.Join(keys, "+")
	case piece.Grace:
		return "grace " + first + " before " + strings.Join(keys[1:], "+")
	}
	if v.Invert != nil {
		// A mirrored chord's lowest note was its highest.
		slices.Reverse(keys)
	}
	return strings.Join(keys, "+")
}
