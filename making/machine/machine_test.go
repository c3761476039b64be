package machine

import (
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"unicode"

	"rollwright/text/source"
)

// TestBuiltin: every built-in profile reads, and is titled as the list says.
func TestBuiltin(t *testing.T) {
	files, err := builtin.ReadDir("builtin")
	if err != nil || len(files) != len(List()) {
		t.Fatalf("%d files, %d listed, %v", len(files), len(List()), err)
	}
	for _, l := range List() {
		p, err := Load(l.Name, "")
		if err != nil {
			t.Fatal(err)
		}
		if p.Title != l.Title || p.Name != l.Name {
			t.Errorf("%s is called %q, the list says %q", l.Name, p.Title, l.Title)
		}
		if len(p.Cautions()) < 4 {
			t.Errorf("%s has few cautions", l.Name)
		}
		for _, c := range p.Cautions() {
			for _, r := range c {
				if r > '~' || !unicode.IsLetter(r) && !strings.ContainsRune(" .,-:", r) {
					t.Errorf("%q cannot stand in a comment of a program as it is", c)
				}
			}
		}
	}
}

func edited(t testing.TB, name string, replace ...string) string {
	t.Helper()
	text, err := Source(name)
	if err != nil {
		t.Fatal(err)
	}
	for i := 0; i < len(replace); i += 2 {
		if !strings.Contains(string(text), replace[i]) {
			t.Fatalf("%s has no %q", name, replace[i])
		}
	}
	return strings.NewReplacer(replace...).Replace(string(text))
}

// TestUnits, by hand: 23 1/2 in are 596.9 mm; 900 mm a minute are 15 mm/s; 1 in/s
// are 25.4 mm/s.
func TestUnits(t *testing.T) {
	text := edited(t, "laser", "along   = 600 ", `along   = "23 1/2 in"`, "inset = 4 ", `inset = "-1/4 in"`,
		"across       = 12000", `across       = "1 in/s"`, `on_dwell  = "0 ms"`, `on_dwell = "0.5 s"`,
		`on        = "M3 S300"`, `on = ["m3 s300", "G4 P0.02"]`,
		"# Paper left uncut", "program {\nstart = \"m8\"\nend = [\"M9\", \"G4 P1\"]\n}\n#")
	p, err := Read(&source.File{Name: "my.machine", Text: []byte(text)})
	if err != nil {
		t.Fatal(err)
	}
	for _, v := range []struct{ got, want float64 }{
		{p.Bed.AlongMM, 596.9}, {p.Register.InsetMM, -6.35}, {p.Move.AcrossMMPerSec, 25.4}, {p.Head.FeedMMPerSec, 15}, {p.Head.OnSec, 0.5},
	} {
		if math.Abs(v.got-v.want) > 1e-12 {
			t.Errorf("%v, want %v", v.got, v.want)
		}
	}
	if strings.Join(p.Head.On, "|") != "M3 S300|G4 P0.02" || !math.IsInf(p.Move.WindowMM, 1) || p.Move.Forward() {
		t.Errorf("on %q, window %v", p.Head.On, p.Move.WindowMM)
	}
	if strings.Join(p.Program.Start, "|") != "M8" || strings.Join(p.Program.End, "|") != "M9|G4 P1" {
		t.Errorf("start %q, end %q", p.Program.Start, p.Program.End)
	}
	if feed, err := Load("punch-feed", ""); err != nil || !feed.Bed.Endless() || !feed.Move.Forward() {
		t.Errorf("the fed head: %+v, %v", feed, err)
	}
}

// TestMessages compares whole messages.
func TestMessages(t *testing.T) {
	tests := []struct {
		name    string
		machine string
		replace []string
		want    string
	}{
		{"a move in a switch", "laser", []string{`off       = "M5"`, `off       = "M5 X0"`},
			`my.machine:38:15: X0 does not switch the tool
    off       = "M5 X0"
                ^^^^^^^
` + switchHint},
		{"an end in a switch", "laser", []string{`off       = "M5"`, `off       = "M2"`},
			`my.machine:38:15: M2 would stop or end the program
    off       = "M2"
                ^^^^
` + switchHint},
		{"another name", "laser", []string{"feed      = 900", "fed       = 900"},
			`my.machine:41:3: there is no "fed" in a head block
    fed       = 900
    ^^^
did you mean feed?`},
		{"a punch that follows outlines", "punch-table", []string{`cut   = "punches"`, `cut   = "outlines"`},
			`my.machine:8:9: a punch cuts "punches", a laser "outlines" or "strokes"
    cut   = "outlines"
            ^^^^^^^^^^`},
		{"no speed", "laser", []string{"feed      = 900", `feed      = "fast"`},
			`my.machine:41:15: a speed is wanted here
    feed      = "fast"
                ^^^^^^
write millimetres a minute, 1200, or a speed with its unit: "20 mm/s", "47 in/min"`},
		{"metres for millimetres", "laser", []string{"feed      = 900", `feed      = "15 m/s"`},
			`my.machine:41:15: feed 15 m/s is faster than the machine moves at all: its rapid speed is 12000 mm a minute
    feed      = "15 m/s"
                ^^^^^^^^
is it 15 mm/s?`},
		{"a second for a minute", "laser", []string{"feed      = 900", `feed      = "900 mm/s"`},
			`my.machine:41:15: feed 900 mm/s is faster than the machine moves at all: its rapid speed is 12000 mm a minute
    feed      = "900 mm/s"
                ^^^^^^^^^^
is it 900 mm/min?`},
		{"a nought too many", "laser", []string{"feed      = 900", `feed      = 900000`},
			`my.machine:41:15: feed 900000 mm a minute is faster than the machine moves at all: its rapid speed is 12000 mm a minute
    feed      = 900000
                ^^^^^^
a feed is millimetres a minute, or a speed with its unit: "15 mm/s"`},
		{"no acceleration", "laser", []string{"acceleration = 1500", `acceleration = "fast"`},
			`my.machine:32:18: an acceleration is wanted here
    acceleration = "fast"  # mm/s2; 0: at once
                   ^^^^^^
write mm/s2, for example 1500; 0: at once`},
		{"too much of it", "laser", []string{"acceleration = 1500", "acceleration = 2000000"},
			`my.machine:32:18: acceleration is out of range
    acceleration = 2000000  # mm/s2; 0: at once
                   ^^^^^^^
it runs from 0 to 1000000 mm/s2`},
		{"with its unit", "laser", []string{"acceleration = 1500", "acceleration = 900 mm/s2"},
			`my.machine:32:18: a number alone is wanted here, and more follows
    acceleration = 900 mm/s2  # mm/s2; 0: at once
                   ^^^^^^^^^
write: acceleration = 900`},
		{"too short a bed", "laser", []string{"overlap = 60", "overlap = 560"},
			`my.machine:16:13: margins and overlap leave less than 30 mm of the bed
    along   = 600        # what the tool reaches along the roll; "endless"...
              ^^^`},
	}
	for _, tt := range tests {
		_, err := Read(&source.File{Name: "my.machine", Text: []byte(edited(t, tt.machine, tt.replace...))})
		if err == nil {
			t.Errorf("%s: no error", tt.name)
			continue
		}
		if squeeze(err.Error()) != squeeze(tt.want) {
			t.Errorf("%s:\n%s\nwant\n%s", tt.name, err, tt.want)
		}
	}
}

// A feed may be the rapid speed of the faster axis, and not a millimetre more.
func TestFeedAtRapid(t *testing.T) {
	for feed, ok := range map[string]bool{"12000": true, "12001": false, `"0.2 m/s"`: true, `"1 mm/s"`: true} {
		_, err := Read(&source.File{Name: "my.machine", Text: []byte(edited(t, "laser", "feed      = 900", "feed = "+feed,
			"across       = 12000", "across = 6000"))})
		if (err == nil) != ok {
			t.Errorf("feed %s: %v", feed, err)
		}
	}
}

// squeeze takes the blanks off the ends of lines.
func squeeze(s string) string {
	lines := strings.Split(s, "\n")
	for i := range lines {
		lines[i] = strings.TrimSpace(lines[i])
	}
	return strings.Join(lines, "\n")
}

func TestMissing(t *testing.T) {
	_, err := Read(&source.File{Name: "my.machine", Text: []byte("tool = \"laser\"\n")})
	if err == nil || !strings.Contains(err.Error(), "the machine does not say bed { along }") {
		t.Errorf("%v", err)
	}
	if _, err := Load("lazer", ""); err == nil || !strings.Contains(err.Error(), "did you mean laser?") {
		t.Errorf("%v", err)
	}
	path := filepath.Join(t.TempDir(), "mine.machine")
	if err := os.WriteFile(path, []byte(edited(t, "laser")), 0o644); err != nil {
		t.Fatal(err)
	}
	if p, err := Load("mine.machine", filepath.Dir(path)); err != nil || p.Name != "mine.machine" {
		t.Errorf("%v, %v", p, err)
	}
}

// FuzzRead: whatever is read is an error, or a profile whose bed has a length
// and whose switches are safe.
func FuzzRead(f *testing.F) {
	for _, name := range Names() {
		text, err := Source(name)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text []byte) {
		p, err := Read(&source.File{Name: "fuzz.machine", Text: text})
		if err != nil {
			return
		}
		if !(p.Bed.AcrossMM > 0) || p.Bed.AlongMM < 0 || p.Move.AlongMMPerSec <= 0 || p.Pass.Plies < 1 {
			t.Errorf("%+v", p)
		}
		for _, line := range slices.Concat(p.Head.On, p.Head.Off, p.Program.Start, p.Program.End) {
			if _, problem := parseLine(line); problem != "" {
				t.Errorf("%q", line)
			}
		}
	})
}

func Example() {
	p, err := Load("laser", "")
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%s: %.0f mm along, kerf %.2f mm\n", p.Title, p.Bed.AlongMM, p.Head.KerfMM)
	fmt.Println(p.Cautions()[0])
	// Output:
	// laser, flat bed 600 x 400 mm: 600 mm along, kerf 0.15 mm
	// LASER: never leave it unattended while it runs: paper catches fire.
}
