package instrument

import (
	"errors"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"rollwright/text/source"
)

var update = flag.Bool("update", false, "write the golden files")

func TestBuiltin(t *testing.T) {
	for _, l := range List() {
		in := load(t, l.Name)
		if in.Title != l.Title || in.Name != l.Name {
			t.Errorf("%s is called %q, %q", l.Name, in.Name, in.Title)
		}
		for i := 1; i < len(in.Bar.Ports); i++ {
			if in.Bar.Ports[i].AcrossMM <= in.Bar.Ports[i-1].AcrossMM {
				t.Errorf("%s: ports %d and %d are out of order", l.Name, i, i+1)
			}
		}
	}
}

// TestPlaces88: nine to the inch, centred on 11 1/4 in of paper (Buffalo 1908,
// Chicago 1911), so that note 1 lies 0.791667 in from the bass edge, middle C
// 5.125 in; the sustaining pedal at the third place outwards, 0.458333 in.
func TestPlaces88(t *testing.T) {
	in := load(t, "88-note")
	across := func(key int) float64 {
		i, ok := in.Bar.Port(key)
		if !ok {
			t.Fatalf("key %d has no port", key)
		}
		return in.Bar.Ports[i].AcrossMM
	}
	near(t, "A0", across(21), (285.75-87*25.4/9)/2, 1e-12)
	near(t, "A0, inches", across(21)/inch, 0.791667, 1e-6)
	near(t, "middle C", across(60), 130.175, 1e-12)
	near(t, "C8", 285.75-across(108), across(21), 1e-12)
	near(t, "between E4 and F4", (across(64)+across(65))/2, 142.875, 1e-12)
	for role, want := range map[Role]float64{Sustain: 0.458333 * inch, ThemeBass: 0.680556 * inch,
		ThemeTreble: (11.25 - 0.680556) * inch, Soft: (11.25 - 0.458333) * inch} {
		i := slices.IndexFunc(in.Bar.Ports, func(p Port) bool { return p.Role == role })
		near(t, "control port", in.Bar.Ports[i].AcrossMM, want, 1e-4)
	}
	if _, ok := in.Bar.Port(20); ok || len(in.Bar.Ports) != 92 || in.Bar.SplitKey != 65 {
		t.Errorf("%d ports, split %d", len(in.Bar.Ports), in.Bar.SplitKey)
	}
	if got := in.Bar.Half(64); got != Bass {
		t.Errorf("E4 is in half %v", got)
	}
}

// TestPlaces65: six to the inch, centred (Buffalo 1908): note 1 at 0.291667 in.
// One port at each end of the notes, at their spacing (Mechanical Music Digest
// 1998.11.11.09): the bass one at 0.125 in.
func TestPlaces65(t *testing.T) {
	in := load(t, "65-note")
	if len(in.Bar.Ports) != 67 {
		t.Fatalf("%d ports, want 67", len(in.Bar.Ports))
	}
	near(t, "theme", in.Bar.Ports[0].AcrossMM, 3.175, 1e-12)
	near(t, "A1", in.Bar.Ports[1].AcrossMM, 7.4083333333, 1e-9)
	near(t, "C#7", in.Bar.Ports[65].AcrossMM, 285.75-7.4083333333, 1e-9)
	if low, high := in.Bar.Ports[1].Key, in.Bar.Ports[65].Key; low != 33 || high != 97 {
		t.Errorf("from %d to %d", low, high)
	}
}

// TestLike: a file says only what differs, blocks attribute by attribute.
func TestLike(t *testing.T) {
	spool, plain := load(t, "88-note-spool"), load(t, "88-note")
	if !spool.Transport.Spool || spool.Transport.RollTempo != 80 || spool.Transport.RadiusMM != 21.22 {
		t.Errorf("transport %+v", spool.Transport)
	}
	spool.Transport, spool.Name, spool.Title, spool.File = plain.Transport, plain.Name, plain.Title, plain.File
	if d := cmp.Diff(plain, spool, cmp.AllowUnexported()); d != "" {
		t.Errorf("besides its transport it differs:\n%s", d)
	}
	dir := t.TempDir()
	write(t, dir, "base.instrument", "like = \"88-note\"\npaper {\n  edge = 3\n}\nport \"soft\" {\n  none = true\n}\n")
	write(t, dir, "mine.instrument", "like = \"base.instrument\"\nport \"extra\" {\n  role   = \"level\"\n  half   = \"bass\"\n  weight = 2\n  at     = 280.5\n}\n")
	in, err := Load("mine.instrument", dir)
	if err != nil {
		t.Fatal(err)
	}
	if last := in.Bar.Ports[len(in.Bar.Ports)-1]; in.Paper.EdgeMM != 3 || len(in.Bar.Ports) != 92 ||
		last != (Port{AcrossMM: 280.5, Role: Level, Half: Bass, Weight: 2}) {
		t.Errorf("edge %v, %d ports, last %+v", in.Paper.EdgeMM, len(in.Bar.Ports), last)
	}
}

func write(t *testing.T, dir, name, text string) {
	t.Helper()
	if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o666); err != nil {
		t.Fatal(err)
	}
}

// TestErrors compares the messages for every file in testdata/bad with the
// golden beside it.
func TestErrors(t *testing.T) {
	files, _ := filepath.Glob("testdata/bad/*.instrument")
	if len(files) < 5 {
		t.Fatalf("%d files", len(files))
	}
	for _, path := range files {
		name := filepath.Base(path)
		text, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		_, err = Read(&source.File{Name: name, Text: text}, "testdata/bad")
		if err == nil {
			t.Errorf("%s is taken", name)
			continue
		}
		var errs source.Errors
		if !errors.As(err, &errs) {
			t.Errorf("%s: not a source.Errors: %v", name, err)
		}
		golden := strings.TrimSuffix(path, Extension) + ".txt"
		if *update {
			write(t, "", golden, err.Error()+"\n")
			continue
		}
		want, _ := os.ReadFile(golden)
		if d := cmp.Diff(string(want), err.Error()+"\n"); d != "" {
			t.Errorf("%s:\n%s", name, d)
		}
	}
}

// A hint that says "write: X" is followed to the letter: then its line has no
// complaint any more.
func TestSuggestionsAreAccepted(t *testing.T) {
	text, err := os.ReadFile("testdata/bad/units.instrument")
	if err != nil {
		t.Fatal(err)
	}
	complaints := func(text string) source.Errors {
		_, err := Read(&source.File{Name: "units.instrument", Text: []byte(text)}, "testdata/bad")
		errs, _ := err.(source.Errors)
		return errs
	}
	tried := 0
	for _, e := range complaints(string(text)) {
		x, ok := strings.CutPrefix(e.Hint, "write: ")
		if !ok {
			continue
		}
		tried++
		lines := strings.Split(string(text), "\n")
		lines[e.At.Line-1] = x
		for _, after := range complaints(strings.Join(lines, "\n")) {
			if after.At.Line == e.At.Line {
				t.Errorf("%s\nfollowing the hint gives:\n%s", e, after)
			}
		}
	}
	if tried < 3 {
		t.Errorf("only %d suggestions", tried)
	}
}

// A length may be written with its unit: an inch is 25.4 mm by definition.
func TestLengthsWithUnits(t *testing.T) {
	in, err := Read(&source.File{Name: "x", Text: []byte("like = \"88-note\"\nperforator {\n  die = \"1.8 mm\"\n}\npaper {\n  leader = \"3/2 in\"\n}\n")}, "")
	if err != nil {
		t.Fatal(err)
	}
	if in.Die.DiameterMM != 1.8 || in.Paper.LeaderMM != 38.1 {
		t.Errorf("die %v, leader %v; want 1.8, 38.1", in.Die.DiameterMM, in.Paper.LeaderMM)
	}
}

func TestLoadErrors(t *testing.T) {
	for name, want := range map[string]string{
		"88-nite":         `instrument: there is no "88-nite"; did you mean 88-note?`,
		"harmonium":       `instrument: there is no "harmonium"; built in are 88-note, 88-note-spool, 88-note-45, 65-note, 65-note-spool, 58-note, 30-note-strip, 20-note-strip`,
		"none.instrument": "instrument: stat testdata/none.instrument: no such file or directory",
	} {
		if _, err := Load(name, "testdata"); err == nil || err.Error() != want {
			t.Errorf("%s: %v, want %s", name, err, want)
		}
	}
}

// TestMissingBase: the complaint about a missing base is at its line.
func TestMissingBase(t *testing.T) {
	_, err := Read(&source.File{Name: "x", Text: []byte("like = \"88.instrument\"\n")}, t.TempDir())
	want := "x:1:8: there is no file 88.instrument; its path counts from the folder of this instrument's file\n    like = \"88.instrument\"\n           ^^^^^^^^^^^^^^^\n  built in are 88-note, 88-note-spool, 88-note-45, 65-note, 65-note-spool, 58-note, 30-note-strip, 20-note-strip"
	if err == nil || !strings.HasPrefix(err.Error(), want) {
		t.Errorf("%v, want\n%s", err, want)
	}
}

// FuzzRead: no text crashes the reader, and what it takes can be laid on: all
// ports in order, holes that overlap in a slot, a positive speed.
func FuzzRead(f *testing.F) {
	for _, l := range List() {
		text, _ := Source(l.Name)
		f.Add(string(text))
	}
	files, _ := filepath.Glob("testdata/bad/*.instrument")
	for _, path := range files {
		text, _ := os.ReadFile(path)
		f.Add(string(text))
	}
	f.Fuzz(func(t *testing.T, text string) {
		in, err := Read(&source.File{Name: "fuzz", Text: []byte(text)}, "/nowhere")
		if err != nil {
			return
		}
		if len(in.Bar.Ports) == 0 || in.Transport.SpeedMMPerSec() <= 0 || in.Chain.SlotSpacingMM >= in.Die.DiameterMM ||
			in.FastestStrokes() < 0 {
			t.Fatalf("taken: %+v", in)
		}
		for i := 1; i < len(in.Bar.Ports); i++ {
			if in.Bar.Ports[i].AcrossMM-in.Bar.Ports[i-1].AcrossMM < in.Die.DiameterMM {
				t.Fatalf("ports %d and %d run together", i, i+1)
			}
		}
	})
}

func Example() {
	in, err := Load("88-note", "")
	if err != nil {
		fmt.Println(err)
		return
	}
	c4, _ := in.Bar.Port(60)
	fmt.Printf("%s: %.2f mm/s, C4 is port %d at %.3f mm\n", in.Title, in.Transport.SpeedMMPerSec(), c4+1,
		in.Bar.Ports[c4].AcrossMM)
	// Output:
	// 88-note roll, constant speed: 40.64 mm/s, C4 is port 42 at 130.175 mm
}
