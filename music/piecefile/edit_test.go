package piecefile

import (
	"bytes"
	"strings"
	"testing"

	"rollwright/music/piece"
	"rollwright/text/source"
)

const editable = "# Tidewheel\r\ntitle = \"Tidewheel\" # the first\r\n\r\nvoice \"low\" {\r\n\ttalea  = \"3 2\"   // long, short\r\n\tcolor  = \"C2 G2\"\r\n}\r\n" +
	"section \"A\" {\r\n  canon \"four\" {\r\n    subject = \"low\"\r\n    voice \"II\" {}\r\n    voice \"III\" { transpose = 7 }\r\n  }\r\n}\r\n"

// Each case names what it replaces in the text above, byte for byte.
func TestSet(t *testing.T) {
	for _, c := range []struct{ name, attr, value, old, now string }{
		{"", "title", `"Ebb"`, `"Tidewheel" # the`, `"Ebb" # the`},
		{"", "tempo", "96", "# the first\r\n", "# the first\r\ntempo = 96\r\n"},
		{"low", "talea", `"1 (2)"`, `"3 2"   //`, `"1 (2)"   //`},
		{"low", "speed", "3/2", "\"C2 G2\"\r\n", "\"C2 G2\"\r\n\tspeed  = 3/2\r\n"},
		{"low", "extent", `"7 taleae"`, "\"C2 G2\"\r\n", "\"C2 G2\"\r\n\textent = \"7 taleae\"\r\n"},
		{"four", "meet", `"2/3"`, "subject = \"low\"\r\n", "subject = \"low\"\r\n    meet    = \"2/3\"\r\n"},
		{"II", "transpose", "12", `voice "II" {}`, "voice \"II\" {\r\n      transpose = 12\r\n    }"},
		{"III", "transpose", "12", `transpose = 7`, `transpose = 12`},
		{"III", "speed", "2", `{ transpose = 7 }`, "{\r\n      transpose = 7\r\n      speed = 2\r\n    }"},
	} {
		got, err := Set(&source.File{Text: []byte(editable)}, c.name, c.attr, c.value)
		want := strings.Replace(editable, c.old, c.now, 1)
		if err != nil || string(got) != want {
			t.Errorf("Set %s.%s: %v\n%q\nwant\n%q", c.name, c.attr, err, got, want)
		}
	}
}

func TestRemove(t *testing.T) {
	for _, c := range []struct{ name, attr, old, now string }{
		{"", "title", "title = \"Tidewheel\" # the first\r\n", ""},
		{"low", "talea", "\ttalea  = \"3 2\"   // long, short\r\n", ""},
		{"low", "speed", "", ""},
		{"III", "transpose", "transpose = 7 ", " "},
	} {
		got, err := Remove(&source.File{Text: []byte(editable)}, c.name, c.attr)
		want := strings.Replace(editable, c.old, c.now, 1)
		if err != nil || string(got) != want {
			t.Errorf("Remove %s.%s: %v\n%q\nwant\n%q", c.name, c.attr, err, got, want)
		}
	}
}

// A value that would change anything else is refused.
func TestSetRefuses(t *testing.T) {
	for _, value := range []string{"", "C2 G2", `"C2`, "1\nspeed = 2", "1 }", "[1", "F#2", "1 # 2\n",
		"<<END\nC2\nEND\nx = 1", "${x}"} {
		if got, err := Set(&source.File{Text: []byte(editable)}, "low", "color", value); err == nil {
			t.Errorf("Set color to %q made %q", value, got)
		}
	}
	if _, err := Set(&source.File{Text: []byte(editable)}, "high", "color", "1"); err == nil ||
		!strings.Contains(err.Error(), `"high"`) {
		t.Errorf("a voice that is not there: %v", err)
	}
}

// A voice that a section has copied, or a copy of a copy, leads to the block that it is copied
// from.
func TestPathOfCopies(t *testing.T) {
	f := &source.File{Text: []byte("section \"A\" {\n  voice \"low\" {}\n  canon \"k\" {\n    voice \"I\" {}\n  }\n}\n" +
		"section \"A2\" {\n  like = \"A\"\n  voice \"new\" {}\n}\nsection \"A3\" {\n  like = \"A2\"\n}\n")}
	for name, want := range map[string]string{
		"low in A2": "section A[1]/voice low[1]", "I in A3": "section A[1]/canon k[1]/voice I[1]",
		"new in A3": "section A2[1]/voice new[1]", "low": "section A[1]/voice low[1]", "low in A": "", "gone in A2": "",
	} {
		path, err := Path(f, name)
		if got := strings.Join(path, "/"); got != want || (err == nil) != (want != "") {
			t.Errorf("%s: %s %v, want %s", name, got, err, want)
		}
	}
}

// A heredoc and a list take the place of a quoted text, comments stay.
func TestSetLongValues(t *testing.T) {
	text := []byte("voice \"low\" {\n  talea = \"3\"\n  # pitches\n  color = \"C2\"\n}\n")
	for _, value := range []string{"<<END\n    C2 G2\n  END", `["C2", # low` + "\n    \"G2\"]"} {
		got, err := Set(&source.File{Text: text}, "low", "color", value)
		if err != nil || !bytes.Contains(got, []byte("# pitches\n  color = "+value+"\n}")) {
			t.Errorf("%v\n%s", err, got)
		}
	}
}

// A gesture is replaced where Parse says that it stands, and nowhere else; the
// characters before it may be of several bytes.
func TestReplace(t *testing.T) {
	const text = "let {\r\n  häuf = \"trill(C4 D4 1/2)\" # ä\r\n}\nvoice \"é\" {\n  talea = \"1\"\n  color = join(häuf, \"trill(C4 D4 1/2) C5 trill(C4 D4 1/2)\")\n}\n"
	f := &source.File{Name: "x.piece", Text: []byte(text)}
	p, err := Parse(f)
	if err != nil {
		t.Fatal(err)
	}
	parts := strings.Split(text, "trill(C4 D4 1/2)")
	for i, member := range []int{0, 1, 3} {
		old := p.Voices[0].Color[member].Gesture.AsWritten()
		got, err := Replace(f, old, "C6")
		want := parts[0]
		for j, part := range parts[1:] {
			if j == i {
				want += "C6" + part
			} else {
				want += "trill(C4 D4 1/2)" + part
			}
		}
		if err != nil || string(got) != want {
			t.Errorf("member %d: %v\n%q\nwant\n%q", member, err, got, want)
		}
	}
	for _, old := range []piece.Written{{}, {At: source.Pos{Line: 5, Column: 4}, Text: "trill"},
		{At: source.Pos{Line: 99, Column: 4}, Text: "trill"}} {
		if got, err := Replace(f, old, "C6"); err == nil {
			t.Errorf("%v: %q", old, got)
		}
	}
}
