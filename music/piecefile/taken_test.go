package piecefile

import (
	"maps"
	"slices"
	"testing"

	"rollwright/music/piece"
)

// What a voice takes over from what it is like, at the place where it or its canon
// says so; what it or its canon says, and what the file says for all, is not taken
// over.
func TestTaken(t *testing.T) {
	p := read(t, `
unit = "1/8"
voice "a" {
  talea = "3 2"
  color = "C4 D4"
  hold  = 0.5
  transpose = 5
}
canon "c" {
  like  = "a"
  color = "E4"
  voice "b" {
    speed = 2
    hold  = 0.3
  }
}
voice "d" {
  like  = "a"
  talea = "1"
}
`)
	for voice, want := range map[string]struct {
		line  int
		taken []string
	}{"a": {0, nil}, "b": {10, []string{"talea", "transpose"}}, "d": {18, []string{"color", "hold", "transpose"}}} {
		i := slices.IndexFunc(p.Voices, func(v piece.Voice) bool { return v.Name == voice })
		taken := p.Voices[i].Taken
		if got := slices.Sorted(maps.Keys(taken)); !slices.Equal(got, want.taken) {
			t.Errorf("%s takes over %v, want %v", voice, got, want.taken)
		}
		for name, at := range taken {
			if at.Line != want.line {
				t.Errorf("%s takes %s over in line %d, want %d", voice, name, at.Line, want.line)
			}
		}
	}
}
