package transcribe

import (
	"fmt"
	"net/http"
	"net/http/httptest"
	"slices"
	"strings"
	"testing"
)

// The sustaining pedal is down from a value of 64 on (MIDI 1.0 Detailed Specification:
// controller 64, 0 to 63 off, 64 to 127 on); other values change nothing.
func TestSustain(t *testing.T) {
	raw := bytesOf(0, 96, "\x00\xb0\x40\x7f\x00\x90\x3c\x40\x10\xb0\x40\x40\x20\x3f\x3f\x00\x40\x3f\x00\x80\x3c\x00"+
		"\x30\xb0\x40\x7f\x30\x40\x00")
	f, err := Read("x.mid", raw)
	if err != nil {
		t.Fatal(err)
	}
	if want := []Span{{0, 0x30}, {0x60, 0x90}}; len(f.Parts) != 1 || !slices.Equal(f.Parts[0].Pedal, want) {
		t.Errorf("%+v, want the pedal down %v", f.Parts, want)
	}
	p, err := f.Piece()
	if err != nil {
		t.Fatal(err)
	}
	if events, _ := played(t, p); len(events) != 1 || len(p.Voices) != 1 || len(p.Voices[0].Pedal.List) == 0 {
		t.Errorf("%d events, pedal %+v", len(events), p.Voices[0].Pedal)
	}
}

// The document type of MusicXML names a file of another computer. It is accepted and
// never fetched.
func TestNoNetwork(t *testing.T) {
	asked := 0
	server := httptest.NewServer(http.HandlerFunc(func(http.ResponseWriter, *http.Request) { asked++ }))
	defer server.Close()
	text := `<!DOCTYPE score-partwise PUBLIC "-//Recordare//DTD MusicXML 4.0 Partwise//EN" "` + server.URL +
		`/partwise.dtd">` + xmlOf(m(div+n("C4", 12)))
	f, err := ReadMusicXML("x.xml", strings.NewReader(text))
	if err != nil {
		t.Fatal(err)
	}
	if len(f.Parts) != 1 || len(f.Parts[0].Notes) != 1 || asked != 0 {
		t.Errorf("%+v, the server was asked %d times", f.Parts, asked)
	}
}

// A part on two staves, as a piano's, and marks of loudness: the levels rise from p to
// ff, and both staves sound.
func TestStaves(t *testing.T) {
	mark := func(name string) string {
		return "<direction><direction-type><dynamics><" + name + "/></dynamics></direction-type></direction>"
	}
	f, err := ReadMusicXML("x.xml", strings.NewReader(xmlOf(m(div+mark("p")+
		n("C5", 12, "<voice>1</voice><staff>1</staff>")+mark("ff")+n("D5", 12, "<voice>1</voice><staff>1</staff>")+
		"<backup><duration>24</duration></backup>"+n("C3", 24, "<voice>5</voice><staff>2</staff>")))))
	if err != nil {
		t.Fatal(err)
	}
	p, err := f.Piece()
	if err != nil {
		t.Fatal(err)
	}
	events, _ := played(t, p)
	var sounds []string
	levels := map[int]int{}
	for _, e := range events {
		sounds = append(sounds, fmt.Sprintf("%d %g-%g", e.Key, e.StartSec, e.EndSec))
		levels[int(e.Key)] = int(e.Level)
	}
	slices.Sort(sounds)
	if want := []string{"48 0-1", "72 0-0.5", "74 0.5-1"}; !slices.Equal(sounds, want) {
		t.Errorf("%v, want %v", sounds, want)
	}
	if levels[72] >= levels[74] {
		t.Errorf("p sounds at %d, ff at %d", levels[72], levels[74])
	}
}
