package plan_test

import (
	"bytes"
	"reflect"
	"strings"
	"testing"

	"rollwright/music/perform"
	"rollwright/music/piecefile"
	"rollwright/music/plan"
	"rollwright/text/source"
)

// textOf is the plan of a piece as a person reads it, in one line.
func textOf(t *testing.T, piece string) string {
	t.Helper()
	var b bytes.Buffer
	if err := plan.WriteText(&b, adviceOf(t, piece), plan.TextOptions{}); err != nil {
		t.Fatal(err)
	}
	return strings.Join(strings.Fields(b.String()), " ")
}

func adviceOf(t *testing.T, piece string) *plan.Plan {
	t.Helper()
	p, err := piecefile.Parse(&source.File{Name: "x.piece", Text: []byte(piece)})
	if err != nil {
		t.Fatal(err)
	}
	perf, err := perform.New(p, perform.Options{})
	if err != nil {
		t.Fatal(err)
	}
	return plan.New(perf, plan.Options{})
}

// What a plan says beside the numbers. A unit is a sixteenth at 120 quarter notes a
// minute, 125 ms, unless the tempo is given: at 60 it is 250 ms, at 15 a second.
func TestAdvice(t *testing.T) {
	for _, c := range []struct {
		name, piece string
		want, not   []string
	}{
		{"a leg out of reach",
			"voice \"v\" {\n  line = \"C4:4\"\n  extent = \"10 notes\"\n  tempo_path {\n    leg {\n      from = 60\n      over = 64\n    }\n    leg {\n      to = 120\n      over = 8\n    }\n  }\n}\n",
			[]string{"leg 2 of 2 is never reached: it would begin at unit 64, and the voice has 40 units"}, nil},
		{"all legs in reach",
			"voice \"v\" {\n  line = \"C4:4\"\n  extent = \"17 notes\"\n  tempo_path {\n    leg {\n      from = 60\n      over = 64\n    }\n    leg {\n      to = 120\n      over = 8\n    }\n  }\n}\n",
			nil, []string{"never reached"}},
		// 3 items of 4 units begin before unit 10.
		{"units", "voice \"v\" {\n  line = \"C4:4\"\n  extent = \"10 units\"\n}\n",
			[]string{"asked for 10 units, 12 units with the last item completed"}, nil},
		// Every half second; the third begins at 1 s and ends at 3/2 s.
		{"seconds", "voice \"v\" {\n  line = \"C4:4\"\n  extent = \"1.2 s\"\n}\n",
			[]string{"asked for 6/5 s, 3/2 s with the last item completed"}, nil},
		{"units that fit", "voice \"v\" {\n  line = \"C4:4\"\n  extent = \"12 units\"\n}\n", []string{"asked for 12 units;"}, []string{"completed"}},
		// Two voices at one speed, a unit apart: each note of one falls a unit from one of the other; they also meet.
		{"the grid is no near miss", "voice \"a\" {\n  line = \"C4:1 (1)\"\n  extent = \"20 notes\"\n}\nvoice \"b\" {\n  line = \"C5:3\"\n  extent = \"20 notes\"\n}\n",
			nil, []string{"near miss", "closest 125"}},
		// They never meet: that they are a unit apart is all there is to say.
		{"the grid where nothing meets", "voice \"a\" {\n  line = \"C4:2\"\n  extent = \"20 notes\"\n}\nvoice \"b\" {\n  line = \"C5:2\"\n  extent = \"20 notes\"\n  start = \"125 ms\"\n}\n",
			[]string{"near miss 125 ms"}, nil},
		// 25 ms beside, of a grid of 125 ms: a near miss.
		{"beside the grid", "voice \"a\" {\n  line = \"C4:1\"\n  extent = \"40 notes\"\n}\nvoice \"b\" {\n  line = \"C5:1\"\n  speed = 5/4\n  extent = \"40 notes\"\n}\n",
			[]string{"near miss 25 ms"}, nil},
		// sqrt(2) : 1 about unit 6 of each: notes begin at units 5 and 10 of both, 5 is nearer.
		{"a canon that meets between notes", "canon \"c\" {\n  line = \"C4:5\"\n  extent = \"10 notes\"\n  meet = \"unit 6\"\n  speeds = \"1 : sqrt(2)\"\n  tempo = 15\n  voice \"I\" {}\n  voice \"II\" {}\n}\n",
			[]string{"nearest to the meeting point at 0:06.0: note 2 of I at 0:05.0; meet = \"note 2\" would make it sound"},
			nil},
		{"a canon that meets on notes", "canon \"c\" {\n  line = \"C4:5\"\n  extent = \"10 notes\"\n  meet = \"note 2\"\n  speeds = \"1 : sqrt(2)\"\n  tempo = 15\n  voice \"I\" {}\n  voice \"II\" {}\n}\n",
			nil, []string{"nearest"}},
		{"a path that meets between notes", "voice \"a\" {\n  line = \"C4:5\"\n  extent = \"10 notes\"\n  tempo = 15\n}\nvoice \"b\" {\n  line = \"C5:3\"\n  extent = \"20 notes\"\n  tempo_path {\n    leg {\n      from = 15\n      to = 40\n      over = 60\n    }\n  }\n  meet {\n    with = \"a\"\n    mine = \"unit 4\"\n    theirs = \"unit 21\"\n  }\n}\n",
			[]string{"to the meeting point at 0:21.0: note 5 of a at 0:20.0, note 2 of b at 0:20.1; mine = \"note 2\" and theirs = \"note 5\" would make it sound"}, nil},
		// 1/3 s is no sum of fractions of 1/sqrt(2) and of 1/sqrt(5).
		{"no instant in common", "voice \"a\" {\n  line = \"C4:1\"\n  speed = sqrt(2)\n  extent = \"40 notes\"\n}\nvoice \"b\" {\n  line = \"C5:1\"\n  speed = sqrt(5)\n  start = \"1/3 s\"\n  extent = \"40 notes\"\n}\n",
			[]string{"never: sqrt(10)/2 is irrational, and from these starts the two have no instant in common"}, nil},
		{"flats", "voice \"v\" {\n  talea = \"1 2\"\n  color = \"Bb3 Eb4+G4 F#4\"\n  transpose = 12\n}\n",
			[]string{"Bb4", "Eb5+G5", "F#5"}, nil},
		{"flats, moved", "voice \"w\" {\n  talea = \"1 2\"\n  color = \"Bb3 Eb4+G4 F#4\"\n  transpose = 7\n}\n",
			[]string{"F4", "Bb4+D5", "C#5"}, nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			text := textOf(t, c.piece)
			for _, want := range c.want {
				if !strings.Contains(text, want) {
					t.Errorf("%q is missing in\n%s", want, text)
				}
			}
			for _, not := range c.not {
				if strings.Contains(text, not) {
					t.Errorf("%q is in\n%s", not, text)
				}
			}
		})
	}
}

// The only instant at which incommensurable voices could meet. Voices of 5 units
// of a second at 1 and sqrt(2), together at unit 6 of each, 6 s: a note begins at
// units 5 and 10. Two of 1 and of 2 units, the second sqrt(2) as fast, together at
// unit 5: a note of the first begins there, none of the second.
func TestChance(t *testing.T) {
	const silent = "canon \"c\" {\n  line = \"C4:5\"\n  extent = \"10 notes\"\n  meet = \"unit 6\"\n  speeds = \"1 : sqrt(2)\"\n  tempo = 15\n  voice \"I\" {}\n  voice \"II\" {}\n}\n"
	const half = "voice \"a\" {\n  line = \"C4:1\"\n  extent = \"10 notes\"\n  tempo = 15\n}\nvoice \"b\" {\n  line = \"C5:2\"\n  extent = \"10 notes\"\n  tempo = 15\n  speed = sqrt(2)\n  meet {\n    with = \"a\"\n    mine = \"unit 5\"\n    theirs = \"unit 5\"\n  }\n}\n"
	for _, c := range []struct {
		name, piece, sound string
		want               *plan.Chance
	}{
		{"neither", silent, `meet = "note 2"`, &plan.Chance{At: 6, Within: true}},
		{"one of them", half, `mine = "note 3" and theirs = "note 6"`, &plan.Chance{At: 5, Within: true, NoteA: true}},
		{"they meet", strings.Replace(silent, "unit 6", "note 3", 1), "", nil},
		{"a common measure", strings.Replace(silent, "sqrt(2)", "2", 1), `meet = "note 2"`, nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			pair := adviceOf(t, c.piece).Pairs[0]
			if pair.Sound != c.sound || !reflect.DeepEqual(pair.Chance, c.want) {
				t.Errorf("%q, %+v; want %q, %+v", pair.Sound, pair.Chance, c.sound, c.want)
			}
		})
	}
}
