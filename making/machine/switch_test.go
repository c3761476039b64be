package machine

import (
	"strings"
	"testing"

	"rollwright/text/source"
)

// TestSwitches: what on, off, start and end may be. Each case replaces lines of
// the built-in laser; the text of the error says why it is refused.
func TestSwitches(t *testing.T) {
	const program = "# Paper left uncut"
	tests := []struct {
		name, on, off, more string
		refused             string // part of the message; "" : taken
	}{
		{"as built in", `"M3 S300"`, `"M5"`, "", ""},
		{"air with every hole", `["M8", "M3 S300"]`, `["M5", "M9"]`, "", ""},
		{"air once", `"M4 S300"`, `"M5"`, "program {\nstart = \"M8\"\nend = \"M9\"\n}", ""},
		{"an output of the control", `"M64 P2"`, `"M65 P2"`, "", ""},
		{"a fan's word", `"M106 S255"`, `"M107"`, "", ""},
		{"power down as well", `"M3 S300"`, `["S0", "M5"]`, "", ""},

		{"off equal to on", `"M3 S300"`, `"M3 S300"`, "", "off is the same as on"},
		{"off that switches on", `"M3 S300"`, `"M3"`, "", "off switches something on"},
		{"off by a power of 0 alone", `"M3 S300"`, `"M3 S0"`, "", "off switches something on"},
		{"swapped", `"M5"`, `"M3 S300"`, "", "off switches something on"},
		{"swapped, the other way round", `["M3 S300", "M5"]`, `"M5"`, "", "on does not leave the tool switched on"},
		{"no power", `"M3 S0"`, `"M5"`, "", "on does not leave the tool switched on"},
		{"off of something else", `"M3 S300"`, `"M9"`, "", "off does not switch off what on switches on"},
		{"off of another output", `"M64 P2"`, `"M65 P3"`, "", "off does not switch off what on switches on"},
		{"half off", `["M64 P2", "M3"]`, `"M5"`, "", "off does not switch off what on switches on"},
		{"off with power", `"M3 S300"`, `["M5", "S300"]`, "", "off sets a power"},
		{"only the first hole", `"M3"`, `["M5", "S0"]`, "", "the second hole would not be cut"},
		{"a clamp for a beam", `"M10"`, `"M11"`, "", "no beam"},
		{"begins anew", `"M3 S300"`, `["M5", "M47"]`, "", "M47 would stop or end the program"},
		{"calls", `["M98 P5", "M3"]`, `"M5"`, "", "M98 would stop or end the program"},
		{"returns", `"M3"`, `["M5", "M99"]`, "", "M99 would stop or end the program"},
		{"calls, de facto", `"M97 P5"`, `"M5"`, "", "M97 would stop or end the program"},
		{"waits for the next move", `"M62 P1"`, `"M63 P1"`, "", "M62 is not known to switch"},
		{"unknown", `"M3"`, `["M5", "M280 P0 S1"]`, "", "M280 is not known to switch"},
		{"two words of a group", `"M3 M5"`, `"M5"`, "", "cannot stand on one line"},
		{"no output named", `"M64"`, `"M65"`, "", "have one P word each"},
		{"a P for two", `"M64 G4 P1"`, `"M65 P1"`, "", "have one P word each"},
		{"a dwell of hours", `["M3", "G4 P60000"]`, `"M5"`, "", "longer than anything needs"},
		{"power below 0", `"M3 S-1"`, `"M5"`, "", "is below 0"},

		{"the tool at the start", `"M3 S300"`, `"M5"`, "program {\nstart = \"M3\"\n}", "never switch the tool"},
		{"power at the start", `"M3 S300"`, `"M5"`, "program {\nstart = \"S300\"\n}", "never switch the tool"},
		{"the tool's output at the start", `"M64 P2"`, `"M65 P2"`, "program {\nstart = \"M64 P2\"\nend = \"M65 P2\"\n}", "output P2 is the tool's"},
		{"air at the end", `"M3 S300"`, `"M5"`, "program {\nend = \"M8\"\n}", "end switches something on"},
		{"air left on", `"M3 S300"`, `"M5"`, "program {\nstart = \"M8\"\n}", "something stays on"},
		{"air of the holes left on", `["M8", "M3 S300"]`, `"M5"`, "", "something stays on"},
		{"an output left on", `"M3 S300"`, `"M5"`, "program {\nstart = \"M64 P1\"\nend = \"M65 P2\"\n}", "something stays on"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			text := edited(t, "laser", `"M3 S300"`, tt.on, `"M5"`, tt.off, program, tt.more+"\n"+program)
			_, err := Read(&source.File{Name: "my.machine", Text: []byte(text)})
			if tt.refused == "" {
				if err != nil {
					t.Error(err)
				}
				return
			}
			if err == nil || !strings.Contains(err.Error(), tt.refused) {
				t.Errorf("%v, want %q", err, tt.refused)
			}
		})
	}
}

// TestBeam: a beam that stands still needs time, and makes no hole smaller than
// itself. The die is 1.7272 mm, so a beam of 1.7 mm cuts strokes.
func TestBeam(t *testing.T) {
	const strokes = `cut   = "strokes" `
	tests := []struct {
		name    string
		replace []string
		refused string
	}{
		{"no dwell", []string{`cut   = "outlines"`, strokes, "kerf      = 0.15", "kerf = 1.7"}, "needs a dwell"},
		{"a dwell", []string{`cut   = "outlines"`, strokes, "kerf      = 0.15", "kerf = 1.7", `on_dwell  = "0 ms"`, `on_dwell = "40 ms"`}, ""},
		{"a dwell of its own", []string{`cut   = "outlines"`, strokes, "kerf      = 0.15", "kerf = 1.7", `"M3 S300"`, `["M3 S300", "G4 P40"]`}, ""},
		{"power that follows the speed", []string{`cut   = "outlines"`, strokes, "kerf      = 0.15", "kerf = 1.7", `on_dwell  = "0 ms"`,
			`on_dwell = "40 ms"`, `"M3 S300"`, `"M4 S300"`}, "M4 lowers the power"},
		{"a register hole as wide as the beam", []string{"hole  = 3", "hole  = 1.5", "kerf      = 0.15", "kerf = 1.5"}, "cannot cut a register hole"},
		{"a register hole of a larger beam", []string{"hole  = 3", "hole  = 1", "kerf      = 0.15", "kerf = 1.2"}, "a beam of 1.2 mm cannot cut a register hole of 1 mm"},
		{"a register hole that a beam can go round", []string{"hole  = 3", "hole  = 1.6", "kerf      = 0.15", "kerf = 1.5"}, ""},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			_, err := Read(&source.File{Name: "my.machine", Text: []byte(edited(t, "laser", tt.replace...))})
			if tt.refused == "" && err != nil || tt.refused != "" && (err == nil || !strings.Contains(err.Error(), tt.refused)) {
				t.Errorf("%v, want %q", err, tt.refused)
			}
		})
	}
}

// TestMark: a mark is the beam with less power, and nothing else.
func TestMark(t *testing.T) {
	for _, tt := range []struct{ on, mark, change, refused string }{
		{`"M3 S300"`, `"M3 S40"`, "", ""},
		{`["M8", "M3 S300"]`, `["M8", "M3 S40"]`, "", ""},
		{`["S300", "M3"]`, `["S40", "M3"]`, "", ""},
		{`"M3 S300"`, `"M3 S300"`, "", "mark must be what on is, with less power"},
		{`"M3 S300"`, `"M3 S400"`, "", "mark must be what on is, with less power"},
		{`"M3 S300"`, `"M3 S0"`, "", "mark must be what on is, with less power"},
		{`"M3 S300"`, `"M3"`, "", "mark must be what on is, with less power"},
		{`"M3"`, `"M3 S40"`, "", "mark must be what on is, with less power"},
		{`"M3 S300"`, `"M4 S40"`, "", "mark must be what on is, with less power"},
		{`"M3 S300"`, `"M64 P1"`, "", "mark must be what on is, with less power"},
		{`["M3 S200", "S300"]`, `["M3 S400", "S40"]`, "", "mark must be what on is, with less power"},
		{`"M3 S300"`, `"M3 S40"`, "20", "the paper does not come back"},
		{`"M3 S300"`, `"M99"`, "", "would stop or end the program"},
	} {
		window := `window       = "bed"`
		text := edited(t, "laser", `"M3 S300"`, tt.on, "kerf      = 0.15", "kerf = 0.15\n mark = "+tt.mark, window, window)
		if tt.on == `["M8", "M3 S300"]` {
			text = strings.Replace(text, `"M5"`, `["M5", "M9"]`, 1)
		}
		if tt.change != "" {
			text = strings.Replace(text, window, "window = "+tt.change, 1)
		}
		_, err := Read(&source.File{Name: "my.machine", Text: []byte(text)})
		if tt.refused == "" && err != nil || tt.refused != "" && (err == nil || !strings.Contains(err.Error(), tt.refused)) {
			t.Errorf("on %s, mark %s: %v, want %q", tt.on, tt.mark, err, tt.refused)
		}
	}
	text := edited(t, "punch-table", `off       = "M5"`, "off = \"M5\"\n mark = \"M3 S1\"")
	if _, err := Read(&source.File{Name: "my.machine", Text: []byte(text)}); err == nil ||
		!strings.Contains(err.Error(), "a punch cannot mark paper") {
		t.Error(err)
	}
}

// TestLines: hues and widths of a drawing, and marks that would be taken for cuts.
func TestLines(t *testing.T) {
	for _, tt := range []struct{ lines, refused string }{
		{``, ""},
		{`cut = "#000000"`, ""},
		{`cut_width = "0.001 in"`, ""},
		{`cut = "red"`, "a hue is wanted here"},
		{`cut = "#f00"`, "a hue is wanted here"},
		{`cut = "0xff0000"`, "a hue is wanted here"},
		{`cut_width = 5`, "out of range"},
		{`mark = "#ff0000"`, "marks and cuts are too like each other"},
		{`mark = "#ee0011"`, "marks and cuts are too like each other"},
		{`register = "#0000ee"`, "marks and register holes are too like each other"},
	} {
		text := edited(t, "laser", "cut            = \"#ff0000\"", "", "mark           = \"#0000ff\"", "",
			"register       = \"#ff00ff\"", "", "cut_width      = 0.1", tt.lines)
		p, err := Read(&source.File{Name: "my.machine", Text: []byte(text)})
		if tt.refused == "" && err != nil || tt.refused != "" && (err == nil || !strings.Contains(err.Error(), tt.refused)) {
			t.Errorf("%s: %v, want %q", tt.lines, err, tt.refused)
		}
		if want := map[string]float64{`cut_width = "0.001 in"`: 0.0254}[tt.lines]; want > 0 && p.Lines.Cut.WidthMM != want {
			t.Errorf("%s is %v mm", tt.lines, p.Lines.Cut.WidthMM)
		}
	}
}
