package piecefile

import (
	"regexp"
	"strings"

	"rollwright/exact"
	"rollwright/music/piece"
	"rollwright/text/draft"
)

// TaleaValue is durations as a talea is written. Here and in the other values of
// cycles what comes several times in succession is written once ("4 times 3") where
// that is shorter.
func TaleaValue(talea []piece.Duration) draft.Value {
	words := make([]string, len(talea))
	for i, d := range talea {
		words[i] = durationText(d)
	}
	return cycleValue(words)
}

// ColorValue is pitches, chords and gestures as a color is written. The error is
// about a gesture over keys that no words of the language name.
func ColorValue(color []piece.Pitch) (draft.Value, error) {
	members := make([]member, len(color))
	for i, p := range color {
		m, err := pitchMember(p)
		if err != nil {
			return draft.Value{}, err
		}
		members[i] = m
	}
	return joinedValue(members), nil
}

// LineValue is durations as a line is written; each that sounds takes the next of
// the pitches. There are as many pitches as sounding durations. The error is that of
// ColorValue.
func LineValue(talea []piece.Duration, color []piece.Pitch) (draft.Value, error) {
	members := make([]member, len(talea))
	next := 0
	for i, d := range talea {
		if d.Silent {
			members[i].text = durationText(d)
			continue
		}
		m, err := lineMember(d, color[next])
		if err != nil {
			return draft.Value{}, err
		}
		members[i] = m
		next++
	}
	return joinedValue(members), nil
}

// DynamicsValue is levels as dynamics are written, marks where there are any.
func DynamicsValue(dynamics []piece.Dynamic) draft.Value {
	words := make([]string, len(dynamics))
	for i, d := range dynamics {
		words[i] = dynamicText(d)
	}
	return cycleValue(words)
}

// HoldText is holds as they are written, without quotation marks: "0.5 single 90 ms".
func HoldText(holds []piece.Hold) string {
	words := make([]string, len(holds))
	for i, h := range holds {
		words[i] = holdText(h)
	}
	return strings.Join(words, " ")
}

// HoldValue is holds as they are written.
func HoldValue(holds []piece.Hold) draft.Value {
	words := make([]string, len(holds))
	for i, h := range holds {
		words[i] = holdText(h)
	}
	return cycleValue(words)
}

// FactorValue is a number as a fraction, or a product of roots: 3/7, sqrt(2).
func FactorValue(x exact.Real) draft.Value { return numberValue(x.String()) }

// DecimalValue is a number with a point where it has few decimals, else as
// FactorValue has it: a tempo, a share.
func DecimalValue(x exact.Real) draft.Value { return numberValue(decimalText(x)) }

// TimeValue is a time: "2.5 s".
func TimeValue(sec exact.Rat) draft.Value { return draft.Quoted(timeText(sec)) }

// plainNumber are the numbers that are read without quotes, and look well so.
var plainNumber = regexp.MustCompile(`^(-?[0-9]+(\.[0-9]+)?|[0-9]+/[0-9]+|(sqrt|cbrt)\([0-9]+\)(/[0-9]+)?)$`)

// longestBare is the most characters of a number without quotes.
const longestBare = 40

func numberValue(text string) draft.Value {
	if plainNumber.MatchString(text) && len(text) <= longestBare {
		return draft.Bare(text)
	}
	return draft.Quoted(text)
}

// cycleValue is the members of a cycle; one that is a number stands alone.
func cycleValue(members []string) draft.Value {
	if len(members) == 1 {
		return numberValue(members[0])
	}
	return draft.Series(shorthand(members)...)
}

// joinedValue is members of which some stand within functions.
func joinedValue(members []member) draft.Value {
	var parts []draft.Value
	for i := 0; i < len(members); {
		j := i
		var words []string
		for ; j < len(members) && members[j].within == members[i].within; j++ {
			words = append(words, members[j].text)
		}
		part := draft.Series(shorthand(words)...)
		if f := members[i].function; f != "" {
			part = draft.Call(f, part, draft.Bare(members[i].argument))
		}
		parts = append(parts, part)
		i = j
	}
	if len(parts) == 1 {
		return parts[0]
	}
	return draft.Call("join", parts...)
}
