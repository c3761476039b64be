package piecefile

import (
	"errors"
	"fmt"
	"strings"
	"testing"

	"rollwright/exact"
	"rollwright/music/piece"
	"rollwright/text/source"
)

// What a tune asks of another file, and what stands beside it.
func TestFrom(t *testing.T) {
	notes := func(ask Excerpt) ([]piece.Duration, []piece.Pitch, error) {
		if ask.File != "x.mid" {
			return nil, nil, errors.New("there is no such file")
		}
		units := exact.Int(int64(ask.Strand + 1))
		return []piece.Duration{{Units: units}, {Units: ask.Unit, Silent: true}, {Units: units}},
			[]piece.Pitch{{Keys: []int{60}, Level: 40}, {Keys: []int{62}}}, nil
	}
	for _, c := range []struct{ text, want string }{
		{`from = "x.mid"`, "1 (1/16) 1: C4!40 D4 true"},
		{"from = \"x.mid\"\n  unit = \"1/8\"", "1 (1/8) 1: C4!40 D4 true"},
		{"from = \"x.mid\"\n  strand = 2", "3 (1/16) 3: C4!40 D4 true"},
		{"from = \"x.mid\"\n  talea = \"5 6\"", "5 6: C4!40 D4 false"},
		{"from = \"x.mid\"\n  color = \"E4\"", "1 (1/16) 1: E4 false"},
		{"from = \"x.mid\"\n  dynamics = \"f\"", "1 (1/16) 1: C4 D4 true"},
		{"from = \"y.mid\"", "x.piece:2:10: there is no such file"},
		{"talea = 1\n  color = \"C4\"\n  take = \"bar 1 to bar 2\"", "x.piece:4:3: take needs from"},
		{"from = \"x.mid\"\n  line = \"C4:1\"", "x.piece:3:10: line and from exclude each other"},
		{"from = \"x.mid\"\n  take = \"bar 3\"", `x.piece:3:11: "bar 3" is no stretch`},
		{"from = \"x.mid\"\n  take = \"bar 3 to note 4\"", `x.piece:3:11: "bar 3 to note 4" is no stretch`},
		{"from = \"x.mid\"\n  take = \"units 4 to 2\"", `x.piece:3:11: this stretch ends before it begins`},
		{"from = \"x.mid\"\n  take = \"note 0 to note 2\"", `x.piece:3:11: notes count from 1`},
	} {
		p, err := ParseWith(&source.File{Name: "x.piece", Text: []byte("voice \"v\" {\n  " + c.text + "\n}\n")},
			Options{Notes: notes})
		got := fmt.Sprint(err)
		if err == nil {
			v := &p.Voices[0]
			var words []string
			for _, d := range v.Talea {
				words = append(words, durationText(d))
			}
			got = strings.Join(words, " ") + ":"
			for _, pitch := range v.Color {
				m, _ := pitchMember(pitch)
				got += " " + m.text
			}
			got += fmt.Sprint(" ", v.FromLine)
		}
		if first, _, _ := strings.Cut(got, "\n"); first != c.want {
			t.Errorf("%s: %s, want %s", c.text, first, c.want)
		}
	}
	if _, err := Parse(&source.File{Name: "x.piece", Text: []byte("voice \"v\" {\n  from = \"x.mid\"\n}\n")}); err == nil {
		t.Error("a piece that stands alone took notes from elsewhere")
	}
}

// Each assignment changes its attribute, every other byte as it was.
func TestAssign(t *testing.T) {
	const text = `tempo = 60
let {
  m = "3 1"
}
section "A" {
  start = "1 s"
  voice "quick.one" {
    talea = m
    color = "C4"
    tempo_path {
      leg {
        from = 60
        over = 4
      }
      leg {
        to   = 90
        over = 4
      }
    }
  }
}
voice "A" {
  talea = 1
  color = "C4"
}
`
	for _, c := range []struct{ set, old, new string }{
		{"tempo=72", "tempo = 60", "tempo = 72"},
		{"let.m=2 1", `m = "3 1"`, `m = "2 1"`},
		{"section A.start=2 s", `start = "1 s"`, `start = "2 s"`},
		{"A.talea=even(\"3 of 8\")", "talea = 1", `talea = even("3 of 8")`},
		{"quick.one.talea=m", "talea = m", "talea = m"},
		{"quick.one.color=[\"D4\"]", "    color = \"C4\"\n", "    color = [\"D4\"]\n"},
		{"quick.one.tempo_path.leg.2.to=sqrt(2)", "to   = 90", "to   = sqrt(2)"},
		{"A.speed=7/5", "  talea = 1\n  color = \"C4\"\n", "  talea = 1\n  color = \"C4\"\n  speed = 7/5\n"},
		{"A.hold=90 ms", "  talea = 1\n  color = \"C4\"\n", "  talea = 1\n  color = \"C4\"\n  hold  = \"90 ms\"\n"},
		{"tempo", "", "what to set is NAME.ATTRIBUTE=VALUE: quick.speed=7/5, or tempo=72 for the piece"},
		{"B.speed=2", "", `there is nothing called "B" here; did you mean "A"?`},
		{"A.per_color.transpose=2", "", `voice "A" has no block per_color; write it first`},
		{"quick.one.tempo_path.leg.3.to=2", "", `voice "quick.one", tempo_path has no leg number 3`},
	} {
		got, err := Assign(&source.File{Name: "x.piece", Text: []byte(text)}, c.set)
		if c.old == "" {
			if err == nil || err.Error() != c.new {
				t.Errorf("%s: %v, want %s", c.set, err, c.new)
			}
			continue
		}
		if want := strings.Replace(text, c.old, c.new, 1); err != nil || string(got) != want {
			t.Errorf("%s: %v\n%s", c.set, err, got)
		}
	}
}
