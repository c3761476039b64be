package musicxml_test

import (
	"bytes"
	"flag"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"rollwright/examples"
	"rollwright/internal/judge"
	"rollwright/music/midi"
	"rollwright/music/musicxml"
	"rollwright/music/notation"
	"rollwright/music/perform"
	"rollwright/music/piece"
	"rollwright/music/piecefile"
	"rollwright/text/source"
)

var update = flag.Bool("update", false, "rewrite the expected outputs")

func performed(t testing.TB, text string) *perform.Performance {
	t.Helper()
	p, err := piecefile.Parse(&source.File{Name: "test.piece", Text: []byte(text)})
	if err != nil {
		t.Fatal(err)
	}
	perf, err := perform.New(p, perform.Options{})
	if err != nil {
		t.Fatal(err)
	}
	return perf
}

func score(perf *perform.Performance) *musicxml.Score {
	s := &musicxml.Score{Title: perf.Piece.Title, Composer: perf.Piece.Composer}
	for v := range perf.Lines {
		s.Parts = append(s.Parts, musicxml.Part{Part: notation.Of(perf, v), Remark: "in its own tempo"})
	}
	return s
}

func written(t testing.TB, s *musicxml.Score) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := musicxml.Write(&b, s); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

const small = `
title    = "Five on <three>"
composer = "Hollinbeck & Mill"
tempo    = 90
voice "low" {
  talea    = "3 2 (1) 2"
  color    = "C2 G2 F2+F3 Bb2"
  dynamics = "mf f"
}
voice "thirds" {
  unit  = "1/12"
  talea = "1 1 1"
  color = "F#5 C#5"
  start = "1.5 s"
}
voice "ornaments" {
  line = "trill(C5 D5 14/s):4 grace(B3 C4 40ms):5 spread(C2+G2+E3 30ms):4 gliss(C4 C5 white):4 repeat(G4 10/s):4"
}
`

func TestGolden(t *testing.T) {
	got := written(t, score(performed(t, small)))
	path := filepath.Join("testdata", "small.musicxml")
	if *update {
		if err := os.WriteFile(path, got, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(got, want) {
		t.Errorf("%s differs; read the difference and run with -update", path)
	}
	if again := written(t, score(performed(t, small))); !bytes.Equal(got, again) {
		t.Error("the same piece gives other bytes")
	}
}

// every are the pieces that come with the program and the small one.
func every(t *testing.T) map[string]*perform.Performance {
	t.Helper()
	all := map[string]*perform.Performance{"small": performed(t, small)}
	for _, e := range examples.List() {
		text, err := examples.Source(e.Name)
		if err != nil {
			t.Fatal(err)
		}
		all[e.Name] = performed(t, string(text))
	}
	return all
}

// Every piece passes the table of the standard and comes back with the onsets
// and keys that it sounds.
func TestStructureAndOnsets(t *testing.T) {
	for name, perf := range every(t) {
		file := written(t, score(perf))
		if err := musicxml.Check(bytes.NewReader(file)); err != nil {
			t.Errorf("%s: %v", name, err)
		}
		back, err := musicxml.Read(bytes.NewReader(file))
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		type stroke struct {
			part, key int
			at        float64
		}
		var want []stroke
		for v, line := range perf.Lines {
			if back.Names[v] != perf.Piece.Voices[v].Name {
				t.Errorf("%s: part %d is %q", name, v, back.Names[v])
			}
			for it := range line.All() {
				if it.Silent {
					continue
				}
				keys := line.Keys(it, nil)
				switch perf.Piece.Voices[v].Color[it.ColorPlace].Gesture.Manner() {
				case piece.Trill, piece.Gliss, piece.Grace:
					keys = []int{-1} // one of them, or one less: TestGestures
				}
				for _, k := range keys {
					want = append(want, stroke{v, k, it.StartSec})
				}
			}
		}
		if len(back.Notes) != len(want) {
			t.Errorf("%s: %d notes come back of %d", name, len(back.Notes), len(want))
			continue
		}
		for i, n := range back.Notes {
			w := want[i]
			if n.Part != w.part || w.key >= 0 && n.Key != w.key || math.Abs(n.StartSec-w.at) > 1e-6 {
				t.Errorf("%s: note %d is key %d of part %d at %.9f, want key %d of part %d at %.9f", name, i, n.Key, n.Part,
					n.StartSec, w.key, w.part, w.at)
				break
			}
		}
	}
}

// A trill stands on its first pitch, a glissando on the one that it begins with;
// a grace note stands ahead of its note and has no duration.
func TestGestures(t *testing.T) {
	perf := performed(t, small)
	file := string(written(t, score(perf)))
	back, err := musicxml.Read(strings.NewReader(file))
	if err != nil {
		t.Fatal(err)
	}
	var keys []int
	for _, n := range back.Notes {
		if n.Part == 2 {
			keys = append(keys, n.Key)
		}
	}
	// C5; C4 after its grace note B3; C2 G2 E3; C4; G4.
	if want := []int{72, 60, 36, 43, 52, 60, 67}; !slices.Equal(keys, want) {
		t.Errorf("keys %v, want %v", keys, want)
	}
	for _, s := range []string{"<trill-mark/>", `<grace slash="yes"/>`, `<arpeggiate direction="up"/>`,
		"<words>gliss.</words>", `<tremolo type="single">3</tremolo>`} {
		if strings.Count(file, s) == 0 {
			t.Errorf("the file lacks %s", s)
		}
	}
}

// The table refuses what the standard does: each case changes one thing.
func TestCheckRefuses(t *testing.T) {
	good := string(written(t, score(performed(t, small))))
	for _, c := range []struct{ old, new, want string }{
		{"<duration>", "<voice>2</voice>\n<duration>", "note: duration may not stand there"},
		{"<step>C</step>", "<step>H</step>", `step is "H"`},
		{"<octave>2</octave>", "", "found its end where octave must stand"},
		{`<tie type="start"/>`, `<tie/>`, "tie lacks its attribute type"},
		{"<part-name>low</part-name>", "", "where part-name must stand"},
		{`<part id="P2">`, `<part id="P9">`, `part "P9" is not in the part-list`},
		{"<type>eighth</type>", "<type>8th</type>", `type is "8th"`},
		{"<fifths>0</fifths>", "<fifths>C</fifths>", `fifths is "C"`},
		{"<beat-unit>quarter</beat-unit>", "", "where beat-unit must stand"},
		{"<chord/>", "<chord>1</chord>", "should hold none"},
		{"<measure number=", "<bar number=", "musicxml:"},
		{"<software>rollwright</software>", "<programme/>", "element programme is not known"},
	} {
		if !strings.Contains(good, c.old) {
			t.Fatalf("the file has no %s", c.old)
		}
		err := musicxml.Check(strings.NewReader(strings.Replace(good, c.old, c.new, 1)))
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s in place of %s: %v, want %q", c.new, c.old, err, c.want)
		}
	}
	for _, s := range []string{"", "<a/>", "<score-partwise><part-list/></score-partwise>"} {
		if musicxml.Check(strings.NewReader(s)) == nil {
			t.Errorf("%q passes", s)
		}
	}
}

// Another program's file: two voices with backup, a chord, a tie over a bar and
// a tempo in a direction. At 60 a quarter lasts a second.
func TestReadAnother(t *testing.T) {
	file, err := musicxml.Read(strings.NewReader(`<?xml version="1.0"?><score-partwise version="3.1"><part-list><score-part id="a"><part-name>Piano</part-name></score-part></part-list>
<part id="a"><measure number="1"><attributes><divisions>2</divisions></attributes><direction><direction-type><words>x</words></direction-type><sound tempo="60"/></direction>
<note><pitch><step>C</step><octave>4</octave></pitch><duration>4</duration></note><note><chord/><pitch><step>E</step><alter>-1</alter><octave>4</octave></pitch><duration>4</duration></note>
<note><pitch><step>G</step><octave>4</octave></pitch><duration>2</duration><tie type="start"/></note><backup><duration>6</duration></backup><note><rest/><duration>1</duration></note>
<note><pitch><step>B</step><alter>1</alter><octave>2</octave></pitch><duration>5</duration></note></measure>
<measure number="2"><note><pitch><step>G</step><octave>4</octave></pitch><duration>2</duration><tie type="stop"/></note></measure></part></score-partwise>`))
	if err != nil {
		t.Fatal(err)
	}
	got := ""
	for _, n := range file.Notes {
		got += fmt.Sprintf("%d %g-%g\n", n.Key, n.StartSec, n.EndSec)
	}
	if want := "60 0-2\n63 0-2\n67 2-4\n48 0.5-3\n"; got != want {
		t.Errorf("got\n%swant\n%s", got, want)
	}
}

func TestReadErrors(t *testing.T) {
	for _, c := range []struct{ text, want string }{
		{"", "no score-partwise"},
		{"<score-timewise/>", "the root is score-timewise"},
		{"<score-partwise><part><measure><note><pitch><step>H</step><octave>4</octave></pitch><duration>1</duration></note></measure></part></score-partwise>", `step "H"`},
		{"<score-partwise><part><measure><note><rest/><duration>0</duration></note></measure></part></score-partwise>", `duration "0"`},
		{"<score-partwise><part><measure><sound tempo=\"fast\"/></measure></part></score-partwise>", `tempo "fast"`},
		{"<score-partwise><part>", "line 1"},
	} {
		if _, err := musicxml.Read(strings.NewReader(c.text)); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%q: %v, want %q", c.text, err, c.want)
		}
	}
}

func TestWriteRefuses(t *testing.T) {
	if err := musicxml.Write(&bytes.Buffer{}, &musicxml.Score{}); err == nil {
		t.Error("a score without parts is written")
	}
	low := performed(t, "voice \"v\" {\n  talea = 1\n  color = \"C-1\"\n}\n")
	if err := musicxml.Write(&bytes.Buffer{}, score(low)); err == nil || !strings.Contains(err.Error(), "below C0") {
		t.Errorf("C-1: %v", err)
	}
}

func TestWellFormed(t *testing.T) {
	xmllint := judge.Program(t, "xmllint")
	cmd := exec.Command(xmllint, "--noout", "--nonet", "-")
	cmd.Stdin = bytes.NewReader(written(t, score(performed(t, small))))
	if out, err := cmd.CombinedOutput(); err != nil {
		t.Errorf("xmllint: %v\n%s", err, out)
	}
}

// An engraving program opens the file of a voice and turns it into MIDI: its
// notes begin where ours do, to the tick of its file. It speaks of no error.
func TestSecondReader(t *testing.T) {
	program := judge.Program(t, "musescore3")
	for name, text := range map[string]string{
		"7 on 6":  "tempo = 90\nvoice \"v\" {\n  talea = \"3 2 2 (1) 2 2 1\"\n  color = \"C2 G2 C3 Bb2 F2+F3 Eb2 D3\"\n}\n",
		"5 on 15": "tempo = 54\nvoice \"v\" {\n  unit = \"1/8\"\n  talea = \"4 3 4 4 1 1 3 1 1 1 1 3 1 1 4\"\n  color = \"C4 E4 D4 F#4 Bb3\"\n}\n",
		"triplet": "tempo = 120\nvoice \"v\" {\n  unit = \"1/12\"\n  talea = \"1 1 1 2 1 3\"\n  color = \"C4 E4 D5 F#5 Bb3\"\n}\n",
	} {
		t.Run(name, func(t *testing.T) {
			perf := performed(t, text)
			folder := t.TempDir()
			in, out := filepath.Join(folder, "in.musicxml"), filepath.Join(folder, "out.mid")
			if err := os.WriteFile(in, written(t, score(perf)), 0o644); err != nil {
				t.Fatal(err)
			}
			cmd := exec.Command(program, "-o", out, in)
			cmd.Env = append(os.Environ(), "QT_QPA_PLATFORM=offscreen", "HOME="+folder, "XDG_RUNTIME_DIR="+folder)
			said, err := cmd.CombinedOutput()
			if err != nil {
				t.Fatalf("%v\n%s", err, said)
			}
			if s := strings.ToLower(string(said)); strings.Contains(s, "error") || strings.Contains(s, "corrupt") {
				t.Errorf("it says:\n%s", said)
			}
			data, err := os.ReadFile(out)
			if err != nil {
				t.Fatal(err)
			}
			compare(t, perf, data)
		})
	}
}

// compare holds the notes of a MIDI file against the events of a performance.
func compare(t *testing.T, perf *perform.Performance, file []byte) {
	t.Helper()
	read, err := midi.Decode(bytes.NewReader(file))
	if err != nil {
		t.Fatal(err)
	}
	clock, err := midi.NewClock(read)
	if err != nil {
		t.Fatal(err)
	}
	type stroke struct {
		key int
		at  float64
	}
	var got, want []stroke
	for _, n := range read.Notes() {
		got = append(got, stroke{n.Key, clock.Seconds(n.StartTick)})
	}
	for e := range perf.Events() {
		want = append(want, stroke{int(e.Key), e.StartSec})
	}
	if len(got) != len(want) {
		t.Fatalf("%d notes, want %d", len(got), len(want))
	}
	for i := range got {
		if got[i].key != want[i].key || math.Abs(got[i].at-want[i].at) > 0.002 {
			t.Fatalf("note %d: %+v, want %+v", i, got[i], want[i])
		}
	}
}

// Whatever is read does not break the reader, and notes end after they begin.
func FuzzRead(f *testing.F) {
	f.Add([]byte(`<score-partwise><part id="a"><measure><note><pitch><step>C</step><octave>4</octave></pitch><duration>1</duration><tie type="start"/></note><backup><duration>9</duration></backup></measure></part></score-partwise>`))
	if seed, err := os.ReadFile(filepath.Join("testdata", "small.musicxml")); err == nil {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		_ = musicxml.Check(bytes.NewReader(data))
		file, err := musicxml.Read(bytes.NewReader(data))
		if err != nil {
			return
		}
		for _, n := range file.Notes {
			if n.Part >= len(file.Names) || math.IsNaN(n.StartSec) || n.EndSec < n.StartSec && n.StartSec-n.EndSec > 1e12 {
				t.Fatalf("%+v", n)
			}
		}
	})
}

func BenchmarkWrite(b *testing.B) {
	s := score(performed(b, "voice \"v\" {\n  talea = \"3 2 2 (1) 2 2\"\n  color = \"C2 G2 C3 Bb2 F2 Eb2 D3\"\n  extent = \"100000 notes\"\n}\n"))
	for b.Loop() {
		var out bytes.Buffer
		if err := musicxml.Write(&out, s); err != nil {
			b.Fatal(err)
		}
		b.SetBytes(int64(out.Len()))
	}
}

func Example() {
	file := `<score-partwise version="4.0"><part-list><score-part id="P1"><part-name>low</part-name></score-part></part-list>
<part id="P1"><measure number="1"><attributes><divisions>1</divisions></attributes><sound tempo="120"/>
<note><pitch><step>A</step><octave>4</octave></pitch><duration>1</duration></note></measure></part></score-partwise>`
	read, err := musicxml.Read(strings.NewReader(file))
	if err != nil {
		panic(err)
	}
	for _, n := range read.Notes {
		fmt.Println(read.Names[n.Part], n.Key, n.StartSec, n.EndSec)
	}
	// Output: low 69 0 0.5
}
