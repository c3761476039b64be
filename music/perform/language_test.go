package perform_test

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"testing"

	"rollwright/music/pitch"
)

// played are the events of a piece in which a unit is a second: "C4 0-2", with the voice
// where there are several and the level where it is not mf.
func played(t *testing.T, text string) string {
	t.Helper()
	perf := mustPerform(t, parse(t, "tempo = 60\nunit  = 1/4\n"+text))
	number := func(x float64) string {
		return strconv.FormatFloat(math.Round(x*1e4)/1e4, 'f', -1, 64)
	}
	var out []string
	for e := range perf.Events() {
		s := fmt.Sprintf("%s %s-%s", pitch.Name(int(e.Key)), number(e.StartSec), number(e.EndSec))
		if len(perf.Lines) > 1 {
			s = perf.Piece.Voices[e.Voice].Name + " " + s
		}
		if e.Level != 80 {
			s += fmt.Sprintf("!%d", e.Level)
		}
		out = append(out, s)
	}
	if len(out) != perf.Count {
		t.Errorf("%d events, counted %d", len(out), perf.Count)
	}
	return strings.Join(out, ", ")
}

// one is a piece of one voice.
func one(lines ...string) string {
	return "voice \"v\" {\n" + strings.Join(lines, "\n") + "\n}\n"
}

// Every case is worked by hand; a unit is a second.
func TestLanguage(t *testing.T) {
	for _, c := range []struct{ name, text, want string }{
		// Melodies. D takes 2 from C4; E 1 from the silence; F the octave of E, A that of F
		// within its chord; after the trill its last pitch counts (E5), so B is B5.
		{"a line takes over durations and octaves", one(`line = "C4:2 D (1) E F+A C5:3 trill(D E 1):2 B"`),
			"C4 0-2, D4 2-4, E4 5-6, F4 6-7, A4 6-7, C5 7-10, D5 10-11, E5 11-12, B5 12-14"},
		{"so does a color, octaves", one(`talea = 1`, `color = "C4 G E+G C5 B"`), "C4 0-1, G4 1-2, E4 2-3, G4 2-3, C5 3-4, B5 4-5"},
		{"each text begins anew", one(`talea = 1`, `color = ["C4 D", "C2 D"]`), "C4 0-1, D4 1-2, C2 2-3, D2 3-4"},
		{"an octave goes with the letter", one(`line = "B3:1 Cb4 B"`), "B3 0-1, B3 1-2, B4 2-3"},
		// The cycle of holds is 1, 1/2: the second member is used up by the note that has its own.
		{"own holds", one(`line = "C4:2!ff~0.25 D~90ms E~single F"`, `hold = "1 0.5"`),
			"C4 0-0.5!112, D4 2-2.09, E4 4-4, F4 6-7"},
		{"own holds in a color", one(`talea = 2`, `color = "C4~1/4 D!p~0.75"`), "C4 0-0.5, D4 2-3.5!49"},
		{"a remark in a heredoc", one("line = <<END", "# the first bar", "C4:1 D#4 # a sharp follows its letter", "E", "END"), "C4 0-1, D#4 1-2, E4 2-3"},

		// Gestures: chords in turn; grace notes evenly up to what they lead to.
		{"a trill of chords", one(`line = "trill(C4+E4 D4+F4 2/s):2"`),
			"C4 0-0.5, E4 0-0.5, D4 0.5-1, F4 0.5-1, C4 1-1.5, E4 1-1.5, D4 1.5-2, F4 1.5-2"},
		{"grace notes", one(`line = "(1) grace(A3 B3 C4 40ms):1"`), "A3 0.96-0.98, B3 0.98-1, C4 1-2"},
		{"grace chords", one(`line = "(1) grace(A3+C4 B3 C4+E4 1 s):1"`), "A3 0-0.5, C4 0-0.5, B3 0.5-1, C4 1-2, E4 1-2"},

		// Step (1) to (3). Talea 1 2 3: statements rotated by 0, 1, 2, ... each time.
		{"per_talea rotates", one(`talea = "1 2 3"`, `color = "C4"`, `extent = "2 taleae"`, "per_talea {\nrotate = 1\n}"),
			"C4 0-1, C4 1-3, C4 3-6, C4 6-8, C4 8-11, C4 11-12"},
		{"per_talea turns backward, then its silence comes first", one(`talea = "1 2 (3)"`, `color = "C4"`, `extent = "2 taleae"`, "per_talea {\nbackward = \"- true\"\n}"),
			"C4 0-1, C4 1-3, C4 9-11, C4 11-12"},
		{"rotated, then backward", one(`talea = "1 2 3"`, `color = "C4"`, `extent = "1 talea"`, "per_talea {\nrotate = [1]\nbackward = true\n}"),
			"C4 0-1, C4 1-4, C4 4-6"},
		{"per_color rotates and turns backward", one(`talea = 1`, `color = "C4 D4 E4"`, `extent = "3 colores"`, "per_color {\nrotate = 1\nbackward = \"- - true\"\n}"),
			"C4 0-1, D4 1-2, E4 2-3, D4 3-4, E4 4-5, C4 5-6, D4 6-7, C4 7-8, E4 8-9"},
		// E4 about C4 is 56; then 2 up.
		{"per_color inverts, then transposes", one(`talea = 1`, `color = "E4"`, `extent = "2 colores"`, "per_color {\ninvert = \"- C4\"\ntranspose = 2\n}"),
			"E4 0-1, A#3 1-2"},
		{"per_talea moves by steps", one(`talea = "1 1"`, `color = "C4"`, `extent = "3 taleae"`, `mode = "C D E F G A B"`, "per_talea {\ntranspose_steps = \"0 2 4\"\n}"),
			"C4 0-1, C4 1-2, E4 2-3, E4 3-4, G4 4-5, G4 5-6"},
		{"an item's own level and hold move with its pitch", one(`talea = 1`, `color = "C4!ff~0.5 D4"`, `rotate_color = 1`), "D4 0-1, C4 1-1.5!112"},

		// Step (5) and (7): 3 1 3 cut at 4.5 leaves 3 1 1/2, which is turned.
		{"cut to the letter", one(`talea = "3 1"`, `color = "C4 D4"`, `extent = "exactly 9/2 units"`), "C4 0-3, D4 3-4, C4 4-4.5"},
		{"cut, then turned", one(`talea = "3 1"`, `color = "C4 D4"`, `extent = "exactly 9/2 units"`, `backward = true`), "C4 0-0.5, D4 0.5-1.5, C4 1.5-4.5"},
		{"stretched by a root, then cut", one(`talea = "1"`, `color = "C4"`, `stretch = "sqrt(2)"`, `extent = "exactly 2 units"`), "C4 0-1.4142, C4 1.4142-2"},

		// Step (6): in D dorian with Bb, A4 two steps up is C5; F#4 keeps its alteration.
		{"steps", one(`line = "A4:1 Bb F#"`, `mode = "D E F G A Bb C"`, `transpose_steps = 2`), "C5 0-1, D5 1-2, A#4 2-3"},
		{"mirrored in steps", one(`line = "A4:1 G C5"`, `mode = "D E F G A Bb C"`, `invert_steps = "A4"`), "A4 0-1, A#4 1-2, F4 2-3"},
		{"mirrored, moved by steps, then by semitones", one(`line = "G4:1"`, `mode = "C D E F G A B"`, `invert_steps = "A4"`, `transpose_steps = -1`, `transpose = 12`), "A5 0-1"},

		// Series from series.
		{"times, first, last, members", one(`talea = join(times("1", 2), first("2 3 4", 1), last("2 3 4", 1), members("5 6 7 8", 2, 3))`, `color = "C4"`),
			"C4 0-1, C4 1-2, C4 2-4, C4 4-8, C4 8-14, C4 14-21"},
		{"stretch and interleave", one(`talea = interleave(stretch("3 6", "2/3"), "1 (1)")`, `color = "C4"`), "C4 0-2, C4 2-3, C4 3-7"},
		{"steps of a function", one(`talea = 1`, `color = join("C4 E4", steps("C4 E4", 1))`, `mode = "C D E F G A B"`), "C4 0-1, E4 1-2, D4 2-3, F4 3-4"},
		{"nested", one(`talea = 1`, `color = backward(times(first("C4 D4 E4", 2), 2))`), "D4 0-1, C4 1-2, D4 2-3, C4 3-4"},

		// Numbers are reckoned.
		{"reckoned", "let {\nm = 3\nn = m/2\n}\n" + one(`talea = n + 1/2`, `color = transpose("C4", 2*m - 1)`, `speed = m - n`), "F4 0-1.3333"},

		// Pedals are tested in lay. Mute: kept in the arithmetic, absent from the events.
		{"mute", "voice \"a\" {\nline = \"C4:3\"\nmute = true\n}\nvoice \"b\" {\nline = \"D4:1\"\nstart = \"after a\"\n}\n", "b D4 3-4"},
		{"a mute voice does not move the piece", "voice \"a\" {\nline = \"C4:3\"\nstart = \"-5 s\"\nmute = true\n}\nvoice \"b\" {\nline = \"D4:1\"\n}\n", "b D4 0-1"},
	} {
		t.Run(c.name, func(t *testing.T) {
			if got := played(t, c.text); got != c.want {
				t.Errorf("got  %s\nwant %s", got, c.want)
			}
		})
	}
}

// Time in musical terms and form; a unit is a second, the piece's bars are 4 of them.
func TestMusicalTimes(t *testing.T) {
	const low = "bar = 4\nvoice \"low\" {\nline = \"C2:3\"\nstart = \"2 s\"\n}\n"
	for _, c := range []struct{ start, want string }{
		{`"36 units"`, "36"}, {`"bar 3"`, "8"}, {`"bar 3 - 1/2 s"`, "7.5"}, {`"bar 2 + 3 units"`, "7"}, {`"after low"`, "5"}, {`"with low"`, "2"},
		{`"after low + 2 s"`, "7"}, {`"after low - 1/2 s"`, "4.5"}, {`"with low + 8 units"`, "10"}, {`"1:20 + 1 unit"`, "81"},
	} {
		got := played(t, low+"voice \"v\" {\nline = \"C4:1\"\nstart = "+c.start+"\n}\n")
		if want := "v C4 " + c.want + "-"; !strings.Contains(got, want) {
			t.Errorf("start = %s: %s, want %s", c.start, got, want)
		}
	}
	// A whole name wins.
	named := "voice \"low - 1 s\" {\nline = \"C2:7\"\n}\nvoice \"low\" {\nline = \"C3:3\"\n}\n"
	if got := played(t, named+"voice \"v\" {\nline = \"C4:1\"\nstart = \"after low - 1 s\"\n}\n"); !strings.Contains(got,
		"v C4 7-8") {
		t.Errorf("a whole name: %s", got)
	}
	// at and later: note 2 of mine, a second after my start, falls 1/4 s after 12, and in the canon
	// the second voice enters 2 units after what the meeting says.
	meet := "voice \"v\" {\nline = \"C4:1 D\"\nmeet {\nat = \"bar 4\"\nmine = \"note 2\"\nlater = \"250 ms\"\n}\n}\n"
	if got := played(t, "bar = 4\n"+meet); got != "C4 11.25-12.25, D4 12.25-13.25" {
		t.Errorf("meet: %s", got)
	}
	canon := "tune \"t\" {\nline = \"C4:1 D\"\n}\ncanon \"c\" {\nsubject = \"t\"\nat = \"4 units\"\nvoice \"I\" {}\nvoice \"II\" {\nspeed = 2\nlater = \"2 units\"\n}\n}\n"
	if got := played(t, canon); got != "I C4 4-5, I D4 5-6, II C4 6-6.5, II D4 6.5-7" {
		t.Errorf("canon: %s", got)
	}
	// Without at the voice that begins first begins at 0: II, a second before the point.
	canon = strings.Replace(strings.Replace(canon, "at = \"4 units\"\n", "meet = \"end\"\n", 1), "\"2 units\"", "\"-2 s\"",
		1)
	if got := played(t, canon); got != "II C4 0-0.5, II D4 0.5-1, I C4 1-2, I D4 2-3" {
		t.Errorf("canon, as early as can be: %s", got)
	}
}

const twoVoices = `section "A" {
  voice "low" {
    line = "C2:2 D2:2"
  }
  voice "high" {
    line  = "C5:1"
    start = "after low"
  }
}
`

// A takes 5 s. Each case says what follows it.
func TestSections(t *testing.T) {
	for _, c := range []struct{ name, text, want string }{
		{"gap", "section \"B\" {\ngap = \"2 s\"\nvoice \"b\" {\nline = \"C4:1\"\n}\n}\n", "b C4 7-8"},
		{"gap in units", "section \"B\" {\ngap = \"3 units\"\nvoice \"b\" {\nline = \"C4:1\"\n}\n}\n", "b C4 8-9"},
		{"like", "section \"B\" {\nlike = \"A\"\n}\n", "low in B C2 5-7, low in B D2 7-9, high in B C5 9-10"},
		{"like, transposed, louder, shorter", "section \"B\" {\nlike = \"A\"\ntranspose = 12\ndynamics = \"f\"\nhold = 0.5\n}\n", "low in B C3 5-6!96, low in B D3 7-8!96, high in B C6 9-9.5!96"},
		{"without", "section \"B\" {\nlike = \"A\"\nwithout = [\"high\"]\n}\n", "low in B C2 5-7, low in B D2 7-9"},
		{"speed divides starts too", "section \"B\" {\nlike = \"A\"\nspeed = 2\n}\nsection \"C\" {\nlike = \"B\"\n}\n",
			"low in B C2 5-6, low in B D2 6-7, high in B C5 7-7.5, low in C C2 7.5-8.5, low in C D2 8.5-9.5, high in C C5 9.5-10"},
		{"tempo is a default", "section \"B\" {\ntempo = 120\nvoice \"b\" {\nline = \"C4:1\"\n}\nvoice \"c\" {\nline = \"C5:1\"\ntempo = 30\n}\n}\n", "b C4 5-5.5, c C5 5-7"},
		{"named from outside", "section \"B\" {\nlike = \"A\"\nspeed = 2\n}\nvoice \"v\" {\nline = \"C4:1\"\nstart = \"after high in B\"\n}\n",
			"low in B C2 5-6, low in B D2 6-7, high in B C5 7-7.5, v C4 7.5-8.5"},
		{"more voices", "section \"B\" {\nlike = \"A\"\nvoice \"b\" {\nline = \"C4:1\"\nstart = \"after low in B\"\n}\n}\n",
			"low in B C2 5-7, low in B D2 7-9, high in B C5 9-10, b C4 9-10"},
		{"beside copies a name means the copy", "section \"B\" {\nlike = \"A\"\nspeed = 2\nvoice \"b\" {\nline = \"C4:1\"\nstart = \"after low\"\n}\n}\n",
			"low in B C2 5-6, low in B D2 6-7, high in B C5 7-7.5, b C4 7-7.5"},
		// lasts 4 s at speed 2: 2 s; its extent of 3 s holds the items that start before 1.5 s.
		{"lasts and extents inside", "section \"B\" {\nspeed = 2\nvoice \"b\" {\nline = \"C4:1 D\"\nlasts = \"4 s\"\n}\nvoice \"c\" {\nline = \"E4:1\"\nextent = \"3 s\"\n}\n}\n",
			"b C4 5-6, c E4 5-5.5, c E4 5.5-6, b D4 6-7, c E4 6-6.5"},
		{"mute", "section \"B\" {\nmute = true\nvoice \"b\" {\nline = \"C4:1\"\n}\n}\nsection \"C\" {\nvoice \"c\" {\nline = \"C4:1\"\n}\n}\n", "c C4 6-7"},
	} {
		t.Run(c.name, func(t *testing.T) {
			got, ok := strings.CutPrefix(played(t, twoVoices+c.text), "low C2 0-2, low D2 2-4, high C5 4-5, ")
			if !ok || got != c.want {
				t.Errorf("got  %s\nwant %s", got, c.want)
			}
		})
	}
}

// A path of one tempo bends by a plain factor. 90 in place of 60 is 3/2: what was at 3 is at
// 2. Holds in ms, graces and rates stay as they are.
func TestBentEvenly(t *testing.T) {
	const path = "tempo_path {\nleg {\nfrom = 90\nover = 8\n}\n}\n"
	for _, c := range []struct{ name, text, want string }{
		{"the piece", path + one(`line = "C4:3 D"`, `hold = "1 500ms"`, `start = "3 s"`), "C4 2-4, D4 4-4.5"},
		{"a share is of what is heard", path + one(`line = "C4:3"`, `hold = 0.5`), "C4 0-1"},
		{"rates and delays", path + one(`line = "(3) grace(B3 C4 40ms):3 repeat(D4 1/s):3"`), "B3 1.96-2, C4 2-4, D4 4-5, D4 5-6"},
		{"rates in units are bent", path + one(`line = "trill(C4 D4 1):3"`), "C4 0-0.6667, D4 0.6667-1.3333, C4 1.3333-2"},
		{"at", path + one(`line = "C4:3"`, "meet {\nat = \"6 s\"\n}"), "C4 4-6"},
		{"extents", path + one(`line = "C4:3"`, `extent = "6 s"`), "C4 0-2, C4 2-4"},
		{"a section's", "section \"A\" {\n" + path + "voice \"a\" {\nline = \"C4:3\"\nstart = \"3 s\"\n}\n}\nsection \"B\" {\nvoice \"b\" {\nline = \"D4:3\"\n}\n}\n", "a C4 2-4, b D4 4-7"},
		{"a section's speed, its path, the piece's", path + "section \"A\" {\nspeed = 2\n" + path + "voice \"a\" {\nline = \"C4:9\"\n}\n}\nsection \"B\" {\nvoice \"b\" {\nline = \"D4:3\"\n}\n}\n", "a C4 0-2, b D4 2-4"},
		{"before 0 its first tempo holds, and the piece is moved", path + one(`line = "C4:3 D"`, `start = "-3 s"`), "C4 0-2, D4 2-4"},
	} {
		t.Run(c.name, func(t *testing.T) {
			if got := played(t, c.text); got != c.want {
				t.Errorf("got  %s\nwant %s", got, c.want)
			}
		})
	}
}

// A path per second from 60 to 120 over 4 beats takes D = 8/3 s, for 4*60 = D*(60+120)/2; beat b
// is played at (-60 + sqrt(3600 + 2*22.5*60*b))/22.5 s. Afterwards a beat takes 1/2 s.
func TestBentPath(t *testing.T) {
	const path = "tempo_path {\nleg {\nfrom = 60\nto = 120\nover = 4\nshape = \"per-second\"\n}\n}\n"
	perf := mustPerform(t, parse(t, "tempo = 60\nunit = 1/4\n"+path+
		"voice \"a\" {\nline = \"C4:1 D E F G\"\n}\nvoice \"b\" {\nline = \"C5:2\"\nextent = \"3 notes\"\n}\n"))
	at := func(b float64) float64 {
		if b > 4 {
			return 8./3 + (b-4)/2
		}
		return (-60 + math.Sqrt(3600+2*22.5*60*b)) / 22.5
	}
	for i, l := range perf.Lines {
		for it := range l.All() {
			for _, x := range [][2]float64{{it.StartSec, it.At}, {it.EndSec, it.At + it.Units}, {l.SecondsAt(it.At), it.At}} {
				if math.Abs(x[0]-at(x[1])) > 1e-12 {
					t.Errorf("line %d, unit %g: %.15f, want %.15f", i, x[1], x[0], at(x[1]))
				}
			}
			if u := l.UnitsAt(it.StartSec); math.Abs(u-it.At) > 1e-12 || math.Abs(l.Nominal(it.StartSec)-it.At) > 1e-12 ||
				math.Abs(l.Heard(it.At)-it.StartSec) > 1e-12 {
				t.Errorf("back from %g s: unit %.15f, nominal %.15f", it.StartSec, u, l.Nominal(it.StartSec))
			}
		}
		if l.Steady() || !l.Bent() || l.StartExact || l.Frame != -1 {
			t.Errorf("line %d: steady %v, bent %v, exact %v, frame %d", i, l.Steady(), l.Bent(), l.StartExact, l.Frame)
		}
		if unit, ok := l.NominalPerUnit(); !ok || unit.String() != "1" {
			t.Errorf("nominally a unit is %v s, %v", unit, ok)
		}
	}
	// The tempo at 2 beats is 60 + 22.5 t quarter notes a minute.
	if got, want := perf.Lines[0].TempoAt(2), 60+22.5*at(2); math.Abs(got-want) > 1e-9 {
		t.Errorf("tempo %.12f, want %.12f", got, want)
	}
	if edges := perf.Lines[0].BendEdges(); len(edges) != 1 || math.Abs(edges[0]-8./3) > 1e-12 {
		t.Errorf("edges %v", edges)
	}
}

// Loudness: level + (path - 80). From p (49) to 89 over 4 s: at 0, 1, 2 s it is 49, 59, 69, after
// 4 s 89, so mf (80) becomes 49, 59, 69, 79, 89, 89.
func TestLoudness(t *testing.T) {
	const path = "loudness_path {\nleg {\nfrom = p\nto = 89\nover = \"4 s\"\n}\n}\n"
	const line = "talea = 1\ncolor = \"C4\"\nextent = \"6 notes\"\n"
	levels := func(text string) string {
		var out []string
		for e := range mustPerform(t, parse(t, "tempo = 60\nunit = 1/4\n"+text)).Events() {
			out = append(out, strconv.Itoa(int(e.Level)))
		}
		return strings.Join(out, " ")
	}
	for _, c := range []struct{ name, text, want string }{
		{"in a voice", one(line + path), "49 59 69 79 89 89"},
		{"in the piece", path + one(line), "49 59 69 79 89 89"},
		{"in a section", "section \"Z\" {\nvoice \"z\" {\nline = \"C4:2\"\n}\n}\nsection \"A\" {\n" + path + "voice \"a\" {\n" + line + "}\n}\n", "80 49 59 69 79 89 89"},
		{"in units", one(line + strings.Replace(path, `"4 s"`, "4", 1)), "49 59 69 79 89 89"},
		{"summed, held to 127", path + one(line+"dynamics = 120\n"+path), "58 78 98 118 127 127"}, // 120 + 2*(49-80) = 58
		{"from the voice's own start", one(line + path + "start = \"10 s\"\n"), "49 59 69 79 89 89"},
		{"rounded half up", one("talea = 1\ncolor = \"C4\"\nextent = \"3 notes\"\nloudness_path {\nleg {\nto = 81\nover = \"2 s\"\n}\n}\n"), "80 81 81"},
		{"each stroke", one("line = \"repeat(C4 1/s):4\"\n" + path), "49 59 69 79"},
		{"before 0 its first level", one(line+"start = \"-2 s\"\n") + path, "49 49 49 59 69 79"},
		{"bent", "tempo_path {\nleg {\nfrom = 120\nover = 8\n}\n}\n" + path + one(line), "49 59 69 79 89 89"},
	} {
		if got := levels(c.text); got != c.want {
			t.Errorf("%s: %s, want %s", c.name, got, c.want)
		}
	}
}

// In one frame what falls together nominally is heard together to the nanosecond, wherever
// the path leads.
func TestBentTogether(t *testing.T) {
	perf := mustPerform(t, parse(t, "tempo_path {\nleg {\nfrom = 40\nto = 200\nover = 90\n}\nleg {\nto = 33\nover = \"7 s\"\nshape = \"per-unit\"\n}\n}\n"+
		"voice \"a\" {\ntalea = 3\ncolor = \"C4\"\nextent = \"90 notes\"\nspeed = \"sqrt(2)\"\n}\nvoice \"b\" {\ntalea = 5\ncolor = \"C5\"\nextent = \"60 notes\"\nspeed = \"sqrt(2)\"\n}\n"))
	met := 0
	for a := range perf.Lines[0].All() {
		for b := range perf.Lines[1].All() {
			if a.At == b.At {
				met++
				if math.Abs(a.StartSec-b.StartSec) > 1e-12 {
					t.Errorf("unit %g: %.15f and %.15f", a.At, a.StartSec, b.StartSec)
				}
			}
		}
	}
	if met != 18 { // multiples of 15 below 270
		t.Errorf("%d meetings", met)
	}
}
