package workshop

import (
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"rollwright/making/bench"
	"rollwright/making/machine"
	"rollwright/paper/inspect"
	"rollwright/paper/roll"
	"rollwright/text/source"
)

const organText = `like  = "20-note-strip"
plays = "organ"
paper {
  width = 110
}
notes {
  keys    = "C4 D4 G4"
  spacing = 4
  at      = 10
}
port "C again" {
  role = "note"
  key  = "C4"
  at   = 30
}
port "flute" {
  role = "register"
  at   = 40
}
port "tremolo on" {
  role = "register"
  stop = "tremolo"
  mode = "on"
  at   = 50
}
port "tremolo off" {
  role = "register"
  stop = "tremolo"
  mode = "off"
  at   = 60
}
port "drum" {
  role = "percussion"
  key  = "C1"
  at   = 70
}
port "rewind" {
  at = 80
}
`

const organPiece = `tempo = 60
unit  = 1/4
instrument = "organ.instrument"
voice "tune" {
  line = "C4:1 D4 G4 C4"
  stop = "flute 0-2, tremolo 1-3, oboe full"
}
voice "beat" {
  line = "C1:1 (1) C1 (1)"
}
`

func organJob(t *testing.T) *Job {
	t.Helper()
	folder := t.TempDir()
	if err := os.WriteFile(filepath.Join(folder, "organ.instrument"), []byte(organText), 0o600); err != nil {
		t.Fatal(err)
	}
	j, err := New(t.Context(), &source.File{Name: "organ.piece", Text: []byte(organPiece)}, folder)
	if err != nil {
		t.Fatal(err)
	}
	return j
}

// By hand, at 31.5/10*304.8/60 = 16.002 mm/s and an edge shift of 1*(0.5-0.5) = 0: C4
// at 0 s and 3 s on both its ports; the flute open for two seconds; a stroke for the
// tremolo at 1 s and one at 3 s; the drum at 0 s and 2 s. Nothing is there for the
// oboe, and check says so.
func TestStopsAndPorts(t *testing.T) {
	j := organJob(t)
	rolls, err := j.Rolls()
	if err != nil {
		t.Fatal(err)
	}
	got := map[string][]roll.Slot{}
	for _, s := range rolls[0].Slots {
		p := rolls[0].Instrument.Bar.Ports[s.Port]
		name := p.Name()
		if p.AcrossMM == 30 {
			name = "C again"
		}
		got[name] = append(got[name], s)
	}
	const mmPerSec = 31.5 / 10 * 304.8 / 60
	for name, want := range map[string][]float64{
		"C4": {0, 3}, "C again": {0, 3}, "D4": {1}, "G4": {2}, "flute": {0}, "tremolo on": {1}, "tremolo off": {3},
		"percussion C1": {0, 2},
	} {
		if len(got[name]) != len(want) {
			t.Errorf("%s: %d slots, want %d", name, len(got[name]), len(want))
			continue
		}
		for i, s := range got[name] {
			if math.Abs(s.LeadMM-want[i]*mmPerSec) > 1e-6 {
				t.Errorf("%s %d begins at %g mm, want %g", name, i+1, s.LeadMM, want[i]*mmPerSec)
			}
		}
	}
	if s := got["flute"][0]; math.Abs(s.TrailMM-2*mmPerSec) > 1e-6 {
		t.Errorf("flute until %g mm", s.TrailMM)
	}
	if s := got["tremolo on"][0]; s.Punches != 1 {
		t.Errorf("the stroke for tremolo has %d punches", s.Punches)
	}
	report, err := j.Findings()
	if err != nil {
		t.Fatal(err)
	}
	oboe := ""
	for f := range report.All() {
		if f.Kind == inspect.NoPedalPort {
			oboe = f.Message()
		}
	}
	if oboe != "the bar has no port for the stop oboe that tune asks for" {
		t.Errorf("%q", oboe)
	}
}

// A hole of the rewind port before the music ends cannot be played; after it, it can.
func TestRewindInsideTheMusic(t *testing.T) {
	j := organJob(t)
	rolls, err := j.Rolls()
	if err != nil {
		t.Fatal(err)
	}
	ports := rolls[0].Instrument.Bar.Ports
	for sec, want := range map[float64]int{2: 1, 5: 0} {
		r := *rolls[0]
		at := r.Instrument.Transport.AlongMM(sec)
		r.Slots = append(append([]roll.Slot(nil), r.Slots...), roll.SlotOf(r.Instrument, int32(len(ports)-1), at, at+2))
		r.Sort()
		n := 0
		for f := range inspect.All(j.Piece, []*roll.Roll{&r}) {
			if f.Kind == inspect.EndsEarly {
				n++
				if f.Severity != inspect.Forbids || !strings.HasPrefix(f.Message(), "the port rewind opens 2 s before") {
					t.Errorf("%v %s", f.Severity, f.Message())
				}
			}
		}
		if n != want {
			t.Errorf("at %g s: %d findings, want %d", sec, n, want)
		}
	}
}

// Every format is written for an organ and for the built-in strips.
func TestOtherScalesThroughEveryOutput(t *testing.T) {
	strip := "tempo = 60\ninstrument = \"20-note-strip\"\nvoice \"a\" {\n  line = \"C4:1 E4 G4 C5\"\n  hold = \"single\"\n}\n"
	for name, j := range map[string]*Job{"organ": organJob(t), "strip": jobOf(t, "strip.piece", strip),
		"reed": jobOf(t, "reed.piece", strings.Replace(strip, "20-note-strip", "58-note", 1))} {
		folder := t.TempDir()
		for _, p := range Products() {
			for _, e := range p.Extensions {
				o := Options{}
				switch p.Name {
				case "worksheet":
					o.Worksheet, o.Bench = true, bench.Default()
				case "labels":
					o.Labels = true
				case "program":
					o.Machine = machine.Names()[0]
				case "form", "score", "figure", "long", "lecture", "subtitles", "film":
					continue
				}
				path := filepath.Join(folder, p.Name+e)
				if _, err := j.Write(t.Context(), path, o); err != nil && p.Name != "program" {
					t.Errorf("%s: %s: %v", name, p.Name, err)
				}
			}
		}
	}
}
