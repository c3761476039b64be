package piecefile

import (
	"fmt"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"rollwright/music/piece"
	"rollwright/music/pitch"
)

// However many strokes over however many units: all are there, they fill the
// units, and no two gaps differ by more than one unit. (That is what "as evenly
// as can be" means; that the order is the usual one, TestEven checks.)
func TestEvenProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		units := rapid.IntRange(1, 200).Draw(t, "units")
		strokes := rapid.IntRange(1, units).Draw(t, "strokes")
		gaps := spread(strokes, units)
		sum := 0
		for _, gap := range gaps {
			sum += gap
			if gap != units/strokes && gap != (units+strokes-1)/strokes {
				t.Fatalf("a gap of %d in %v", gap, gaps)
			}
		}
		if len(gaps) != strokes || sum != units {
			t.Fatalf("%d strokes fill %d units: %v", len(gaps), sum, gaps)
		}
	})
}

// What the functions say of each other: turning by n and back, backward twice,
// a mirror twice, up and down again are all nothing; joining is writing one
// after the other.
func TestFunctionProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		keys := rapid.SliceOfN(rapid.IntRange(50, 70), 1, 12).Draw(t, "keys")
		names := make([]string, len(keys))
		for i, key := range keys {
			names[i] = pitch.Name(key)
		}
		color := fmt.Sprintf("%q", strings.Join(names, " "))
		n := rapid.IntRange(-30, 30).Draw(t, "n")
		for _, expr := range []string{
			color,
			fmt.Sprintf("rotate(rotate(%s, %d), %d)", color, n, -n),
			fmt.Sprintf("backward(backward(%s))", color),
			fmt.Sprintf("invert(invert(%s, \"D4\"), \"D4\")", color),
			fmt.Sprintf("transpose(transpose(%s, %d), %d)", color, n, -n),
			fmt.Sprintf("join(%s)", color),
			fmt.Sprintf("[%s]", color),
			fmt.Sprintf("\"1 times [%s]\"", strings.Join(names, "|")),
		} {
			v := readRapid(t, "talea = 1\n  color = "+expr)
			if got := pitches(v.Color); got != strings.Join(names, " ") {
				t.Fatalf("%s is %s", expr, got)
			}
		}
		twice := readRapid(t, fmt.Sprintf("talea = 1\n  color = join(%s, %s)", color, color))
		times := readRapid(t, fmt.Sprintf("talea = 1\n  color = \"2 times [%s]\"", strings.Join(names, " ")))
		if pitches(twice.Color) != pitches(times.Color) {
			t.Fatalf("%s and %s", pitches(twice.Color), pitches(times.Color))
		}
	})
}

func readRapid(t *rapid.T, lines string) *piece.Voice {
	p, err := Parse(file("voice \"v\" {\n  " + lines + "\n}\n"))
	if err != nil {
		t.Fatal(err)
	}
	return &p.Voices[0]
}
