package piecefile

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"rollwright/exact"
	"rollwright/music/piece"
	"rollwright/music/pitch"
)

// member is one member of a cycle as it is written. What can be written only as a
// mirror image or moved, within a function, says so.
type member struct {
	text string
	within
}

// within is a function around a member; its zero value is none.
type within struct {
	function string // "transpose", "invert"
	argument string // as it stands: 5, "C4"
}

// durationText is one duration: 3, 1/2, (3).
func durationText(d piece.Duration) string {
	if d.Silent {
		return "(" + d.Units.String() + ")"
	}
	return d.Units.String()
}

// levelText is a level as a mark where it is one.
func levelText(level int) string {
	for mark, n := range marks {
		if n == level {
			return mark
		}
	}
	return strconv.Itoa(level)
}

func dynamicText(d piece.Dynamic) string {
	if d.Over == 0 {
		return levelText(d.Level)
	}
	return fmt.Sprintf("%s to %s over %d", levelText(d.Level), levelText(d.To), d.Over)
}

func holdText(h piece.Hold) string {
	switch h.Kind {
	case piece.HoldSingle:
		return "single"
	case piece.HoldTime:
		return timeText(h.Sec)
	}
	return decimalText(h.Share)
}

// timeText is a time in seconds, or in milliseconds below one second: 2.5 s, 90 ms,
// 1/3 s, 0.
func timeText(sec exact.Rat) string {
	if sec.Sign() == 0 {
		return "0"
	}
	if ms, ok := sec.Mul(exact.Int(1000)); ok && sec.Cmp(exact.Int(1)) < 0 && sec.Cmp(exact.Int(-1)) > 0 {
		if text, ok := pointed(ms); ok {
			return text + " ms"
		}
	}
	return ratText(sec) + " s"
}

// mostDecimals is how many decimals a number may have to be written with a point.
const mostDecimals = 9

// ratText is a fraction with a point where it ends soon, else as a fraction.
func ratText(x exact.Rat) string {
	text, ok := pointed(x)
	if !ok {
		return x.String()
	}
	return text
}

// pointed is x as a decimal, when it is one.
func pointed(x exact.Rat) (string, bool) {
	if x.IsInt() {
		return x.String(), true
	}
	text := strings.TrimRight(x.Big().FloatString(mostDecimals), "0")
	back, err := exact.ParseRat(text)
	return text, err == nil && back == x
}

// decimalText is a number with a point where it is a decimal that ends.
func decimalText(x exact.Real) string {
	if r, ok := x.Rat(); ok && r.Num().IsInt64() && r.Denom().IsInt64() {
		return ratText(exact.NewRat(r.Num().Int64(), r.Denom().Int64()))
	}
	return x.String()
}

// pitchMember is a pitch, a chord or a gesture with its own level.
func pitchMember(p piece.Pitch) (member, error) {
	m, err := gestureMember(p)
	m.text += ownText(p)
	return m, err
}

// ownText is an item's own level and hold: !ff~0.3.
func ownText(p piece.Pitch) string {
	text := ""
	if p.Level != 0 {
		text = "!" + levelText(p.Level)
	}
	if p.Hold != nil {
		text += "~" + strings.ReplaceAll(holdText(*p.Hold), " ", "")
	}
	return text
}

// lineMember is an item of a line that sounds.
func lineMember(d piece.Duration, p piece.Pitch) (member, error) {
	m, err := gestureMember(p)
	m.text += ":" + d.Units.String() + ownText(p)
	return m, err
}

// names are keys as they are spelled.
func names(p piece.Pitch) []string {
	out := make([]string, len(p.Keys))
	for i, key := range p.Keys {
		out[i] = p.Spelling(i).For(key).Name(key)
	}
	return out
}

// inTurn are the names of what a gesture strikes in turn, chords joined by +.
func inTurn(p piece.Pitch) []string {
	all := names(p)
	var out []string
	for _, n := range p.Gesture.Turns {
		out = append(out, strings.Join(all[:n], "+"))
		all = all[n:]
	}
	return append(out, all...)
}

func gestureMember(p piece.Pitch) (member, error) {
	g := p.Gesture
	switch g.Manner() {
	case piece.Plain:
		return member{text: strings.Join(names(p), "+")}, nil
	case piece.Gliss:
		end := ")"
		if g.Ratio.Cmp(exact.Real{}) != 0 {
			end = " " + decimalText(g.Ratio) + ")"
		}
		return keySetMember(p, "gliss(", end)
	case piece.Cluster:
		return keySetMember(p, "cluster(", ")")
	case piece.Trill:
		rate := g.EveryUnits.String()
		if g.EveryUnits.Sign() == 0 {
			rate = rateText(g.EverySec)
		}
		return member{text: "trill(" + strings.Join(inTurn(p), " ") + " " + rate + ")"}, nil
	case piece.Repeat:
		rate := "fastest"
		if !g.Fastest {
			rate = rateText(g.EverySec)
		}
		return member{text: "repeat(" + strings.Join(names(p), "+") + " " + rate + ")"}, nil
	case piece.Grace:
		if len(p.Gesture.Turns) > 0 {
			return member{text: "grace(" + strings.Join(inTurn(p), " ") + " " + delayText(g.DelaySec) + ")"}, nil
		}
		all := names(p)
		return member{text: "grace(" + all[0] + " " + strings.Join(all[1:], "+") + " " + delayText(g.DelaySec) + ")"}, nil
	}
	return spreadMember(p), nil
}

// rateText is strokes a second.
func rateText(every exact.Rat) string {
	rate, _ := exact.Int(1).Quo(every)
	return ratText(rate) + "/s"
}

// delayText is a time in one word.
func delayText(sec exact.Rat) string { return strings.ReplaceAll(timeText(sec), " ", "") }

// keySets are the sets of keys that a gesture may name.
var keySets = []struct {
	name string
	has  func(key int) bool
}{
	{"white", func(key int) bool { return !strings.Contains(pitch.Name(key), "#") }},
	{"black", func(key int) bool { return strings.Contains(pitch.Name(key), "#") }},
	{"chromatic", func(int) bool { return true }},
}

// keySetMember is a gesture over the keys of a set from the first key to the last.
// Keys that are a set once they are moved are written as that, and moved back.
func keySetMember(p piece.Pitch, head, end string) (member, error) {
	for _, n := range []int{0, 1, -1, 2, -2, 3, -3, 4, -4, 5, -5, 6} {
		for _, set := range keySets {
			if !isSet(p.Keys, n, set.has) {
				continue
			}
			all := names(p)
			m := member{}
			if n != 0 {
				all = []string{pitch.Name(p.Keys[0] - n), pitch.Name(p.Keys[len(p.Keys)-1] - n)}
				m.within = within{"transpose", strconv.Itoa(n)}
			}
			m.text = head + all[0] + " " + all[len(all)-1] + " " + set.name + end
			return m, nil
		}
	}
	return member{}, fmt.Errorf("piecefile: %sthe keys %v) are neither the white nor the black nor all keys of a stretch",
		head, p.Keys)
}

// isSet reports whether keys, n lower, are all those of a set from the first to the
// last.
func isSet(keys []int, n int, has func(int) bool) bool {
	first, last, step := keys[0]-n, keys[len(keys)-1]-n, 1
	if last < first {
		step = -1
	}
	if min(first, last) < pitch.LowestKey || max(first, last) > pitch.HighestKey {
		return false
	}
	i := 0
	for key := first; ; key += step {
		if has(key) {
			if i == len(keys) || keys[i]-n != key {
				return false
			}
			i++
		}
		if key == last {
			return i == len(keys)
		}
	}
}

// spreadMember is a chord rolled from its first key to its last: upwards as it
// stands, downwards as the mirror image of one that rises.
func spreadMember(p piece.Pitch) member {
	end := " " + delayText(p.Gesture.DelaySec) + ")"
	if slices.IsSorted(p.Keys) {
		return member{text: "spread(" + strings.Join(names(p), "+") + end}
	}
	axis := (slices.Min(p.Keys) + slices.Max(p.Keys) + 1) / 2
	mirrored := make([]string, len(p.Keys))
	for i, key := range p.Keys {
		mirrored[i] = pitch.Name(2*axis - key)
	}
	return member{"spread(" + strings.Join(mirrored, "+") + end, within{"invert", strconv.Quote(pitch.Name(axis))}}
}
