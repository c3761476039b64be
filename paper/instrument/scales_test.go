package instrument

import (
	"math"
	"strings"
	"testing"

	"rollwright/text/source"
)

// organ has a scale with a gap, a run with another spacing, a second port for a key,
// stops, percussion and the ports that end a roll.
const organ = `plays = "organ"
paper {
  width = 110
}
bar {
  port_height = 2
  open_share  = 0.5
  reading     = "pressure"
}
notes {
  keys    = "C3 D3 G3"
  spacing = 3.85
  at      = 9.95
}
port "upper" {
  role    = "note"
  keys    = "D4 E4"
  at      = 30
  spacing = 4.5
}
port "low C again" {
  role = "note"
  key  = "C3"
  at   = 42
}
port "flute" {
  role = "register"
  at   = 50
}
port "tremolo on" {
  role = "register"
  stop = "tremolo"
  mode = "on"
  at   = 56
}
port "tremolo off" {
  role = "register"
  stop = "tremolo"
  mode = "off"
  at   = 62
}
port "drum" {
  role = "percussion"
  key  = "C1"
  at   = 70
}
port "rewind" {
  at = 80
}
port "shut_off" {
  at = 90
}
perforator {
  die = 3
}
chain {
  kind         = "slot"
  slot_spacing = 2
}
action {
  gap_paper = 1.5
}
transport {
  kind       = "constant"
  drive      = "crank"
  roll_tempo = 128
}
`

// By hand: 9.95, 13.80 and 17.65 mm for the row, 30 and 34.5 for the run, and the
// others where they are put.
func TestScaleWithGaps(t *testing.T) {
	in, err := Read(&source.File{Name: "organ.instrument", Text: []byte(organ)}, "")
	if err != nil {
		t.Fatal(err)
	}
	want := []struct {
		at   float64
		name string
	}{{9.95, "C3"}, {13.8, "D3"}, {17.65, "G3"}, {30, "D4"}, {34.5, "E4"}, {42, "C3"}, {50, "flute"}, {56, "tremolo on"},
		{62, "tremolo off"}, {70, "percussion C1"}, {80, "rewind"}, {90, "shut off"}}
	if len(in.Bar.Ports) != len(want) {
		t.Fatalf("%d ports, want %d", len(in.Bar.Ports), len(want))
	}
	for i, p := range in.Bar.Ports {
		if math.Abs(p.AcrossMM-want[i].at) > 1e-9 || p.Name() != want[i].name {
			t.Errorf("port %d: %s at %g, want %s at %g", i+1, p.Name(), p.AcrossMM, want[i].name, want[i].at)
		}
	}
	if in.Plays != "organ" || in.Bar.Reading != Pressure || !in.Transport.Crank || in.Bar.SplitKey != 56 {
		t.Errorf("%q, reading %d, crank %v, split %d", in.Plays, in.Bar.Reading, in.Transport.Crank, in.Bar.SplitKey)
	}
}

// The strips: 20 white keys from C4 to A6 at 3 mm, centred on 70 mm: the first at
// 35 - 19*3/2 = 6.5 mm. 30 keys at 2 mm: 35 - 29 = 6 mm. Of 58 keys at 25.4/6 mm the
// span is 57*25.4/6 = 241.3 mm, the first at (257.175 - 241.3)/2 = 7.9375 mm.
func TestBuiltInScales(t *testing.T) {
	for name, want := range map[string]struct {
		keys, low, high int
		first           float64
	}{"20-note-strip": {20, 60, 93, 6.5}, "30-note-strip": {30, 48, 88, 6}, "58-note": {58, 36, 93, 7.9375}} {
		in, err := Load(name, "")
		if err != nil {
			t.Fatal(err)
		}
		ports := in.Bar.Ports
		if len(ports) != want.keys || ports[0].Key != want.low || ports[len(ports)-1].Key != want.high ||
			math.Abs(ports[0].AcrossMM-want.first) > 1e-9 || in.Plays == "piano" {
			t.Errorf("%s: %d ports from %s at %g mm to %s, plays %s", name, len(ports), ports[0].Name(), ports[0].AcrossMM,
				ports[len(ports)-1].Name(), in.Plays)
		}
	}
}

func TestScaleErrors(t *testing.T) {
	for change, want := range map[string]string{
		`keys    = "C3 D3 G3"|keys = "C3 X9"`:            "X9 is no key",
		"spacing = 4.5|":                                 "this run of ports has no spacing",
		"key  = \"C3\"\n|\n":                             "this port has no key",
		`mode = "off"|mode = "on"`:                       `two ports work stop "tremolo" in one way`,
		`mode = "off"|mode = "sometimes"`:                "write held, on or off",
		"  role = \"register\"\n  at   = 50|  at   = 50": "this port does nothing",
	} {
		old, new, _ := strings.Cut(change, "|")
		text := strings.Replace(organ, old, new, 1)
		_, err := Read(&source.File{Name: "organ.instrument", Text: []byte(text)}, "")
		if text == organ || err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %v, want %q", change, err, want)
		}
	}
}
