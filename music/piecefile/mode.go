package piecefile

import (
	"fmt"

	"rollwright/music/piece"
	"rollwright/music/pitch"
	"rollwright/text/blocks"
	"rollwright/text/source"
)

const modeHint = `write the names of its steps, ascending, without octaves: mode = "D E F G A Bb C"`

// modeName is a step of a mode as written.
type modeName struct {
	piece.Axis
	at span
}

var modeKind = &kind[modeName]{name: "mode", what: "names of steps", sample: "D E F G A Bb C",
	bareWords: func(s string) bool { _, _, ok := pitch.ParseName(s); return ok },
	one: func(_ *reader, c *cursor) (modeName, *source.Error) {
		s := c.item()
		key, spelled, ok := pitch.ParseName(s.String())
		if !ok && isPitch(s.String()) {
			return modeName{}, s.Error("the steps of a mode have no octave", modeHint)
		}
		if !ok {
			return modeName{}, s.Error(fmt.Sprintf("there is no step %q", source.Printable(s.String())), modeHint)
		}
		return modeName{piece.Axis{Key: key, Spelled: spelled}, s}, nil
	}}

func readMode(r *reader, v *blocks.Value) any {
	names, ok := series(r, v, modeKind)
	if !ok {
		return nil
	}
	var mode piece.Mode
	for i, n := range names {
		if i > 0 {
			for n.Key <= mode[i-1].Key {
				n.Key += 12
			}
			if n.Key >= mode[0].Key+12 {
				return orNil(nil, r.add(n.at.Error(fmt.Sprintf("%s does not lie within an octave above %s", n.at, names[0].at),
					modeHint)))
			}
		}
		mode = append(mode, n.Axis)
	}
	return mode
}

// checkSteps complains about steps where they cannot be counted.
func (r *reader) checkSteps(n *node, v *piece.Voice) {
	axis := n.all[aInvertSteps]
	said := []*setting{axis, n.all[aTransposeSteps]}
	for _, a := range []attr{aPerColor, aPerTalea} {
		if c := value[*piece.Change](n.all[a], nil); c != nil && (c.TransposeStepsEach != 0 || len(c.TransposeSteps) > 0) {
			said = append(said, n.all[a])
		}
	}
	for _, s := range said {
		if s != nil && len(v.Mode) == 0 && n.all[aMode] == nil {
			r.addOf(v, aMode, s.Error("steps of which scale?", `name it here, or where this is played: mode = "D E F G A Bb C"`))
			return
		}
	}
	if v.InvertSteps != nil && len(v.Mode) > 0 && !v.Mode.Has(v.InvertSteps.Key) {
		r.addOf(v, aInvertSteps, axis.Error("this pitch is no step of the mode",
			"mirror about one of its steps, or with invert, in semitones"))
	}
}

func readMute(r *reader, v *blocks.Value) any { return readBackward(r, v) }
