package transcribe

import (
	"archive/zip"
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"rollwright/internal/judge"
	"rollwright/music/piecefile"
	"rollwright/text/source"
)

// xmlOf is a score of parts, each the inside of its measures. Divisions are 12.
func xmlOf(parts ...string) string {
	var list, body strings.Builder
	for i, p := range parts {
		fmt.Fprintf(&list, `<score-part id="P%d"><part-name>Part %d</part-name></score-part>`, i+1, i+1)
		fmt.Fprintf(&body, `<part id="P%d">%s</part>`, i+1, p)
	}
	return `<?xml version="1.0"?><!DOCTYPE score-partwise PUBLIC "-//Recordare//DTD MusicXML 4.0 Partwise//EN" "http://www.musicxml.org/dtds/partwise.dtd">` +
		`<score-partwise version="4.0"><part-list>` + list.String() + `</part-list>` + body.String() + `</score-partwise>`
}

const div = `<attributes><divisions>12</divisions><time><beats>1</beats><beat-type>4</beat-type></time></attributes>`

// grace is a grace note of the fourth octave.
func grace(step string) string {
	return "<note><grace/><pitch><step>" + step + "</step><octave>4</octave></pitch></note>"
}

// m is a measure, n a note of a name such as C4 with its duration and what else it has.
func m(inside string) string { return "<measure>" + inside + "</measure>" }

func n(name string, duration int, more ...string) string {
	ahead, behind := "", strings.Join(more, "")
	if strings.HasPrefix(behind, "<chord/>") {
		ahead, behind = "<chord/>", strings.TrimPrefix(behind, "<chord/>")
	}
	alter := ""
	if name[1] == '#' {
		alter, name = "<alter>1</alter>", name[:1]+name[2:]
	}
	return fmt.Sprintf("<note>%s<pitch><step>%s</step>%s<octave>%s</octave></pitch><duration>%d</duration>%s</note>",
		ahead, name[:1], alter, name[1:], duration, behind)
}

// Each score by hand, with its notes as reckoned here: a quarter lasts 0.5 s unless a
// tempo says otherwise.
func TestMusicXMLByHand(t *testing.T) {
	const start, stop = `<tie type="start"/>`, `<tie type="stop"/>`
	for _, c := range []struct {
		name, file, want string
	}{
		{"a triplet and a quarter", xmlOf(m(div+n("C4", 4)+n("D4", 4)+n("E4", 4)) + m(n("F4", 12))), "0-0.166666667 60, 0.166666667-0.333333333 62, 0.333333333-0.5 64, 0.5-1 65"},
		{"a chord", xmlOf(m(div + n("C4", 12) + n("E4", 12, "<chord/>"))), "0-0.5 60, 0-0.5 64"},
		{"backup: two voices", xmlOf(m(div + n("G4", 12) + "<backup><duration>12</duration></backup><forward><duration>6</duration></forward>" + n("C4", 6))), "0-0.5 67, 0.25-0.5 60"},
		{"a tie over the bar", xmlOf(m(div+n("C4", 12, start)) + m(n("C4", 6, stop)+n("C4", 6))), "0-0.75 60, 0.75-1 60"},
		{"two grace notes, the first 40 ms ahead", xmlOf(m(div + n("C4", 12) + grace("D") + grace("E") + n("F4", 12))),
			"0-0.5 60, 0.46-0.48 62, 0.48-0.5 64, 0.5-1 65"},
		{"a grace note 40 ms ahead", xmlOf(m(div + n("C4", 12) + `<note><grace/><pitch><step>D</step><octave>4</octave></pitch></note>` + n("E4", 12))), "0-0.5 60, 0.46-0.5 62, 0.5-1 64"},
		{"a part in B flat sounds a tone lower", xmlOf(m(`<attributes><divisions>12</divisions><transpose><diatonic>-1</diatonic><chromatic>-2</chromatic></transpose></attributes>` + n("D4", 12))), "0-0.5 60"},
		{"a repeat", xmlOf(m(div+n("C4", 12)+`<barline location="right"><repeat direction="backward"/></barline>`) + m(n("D4", 12))), "0-0.5 60, 0.5-1 60, 1-1.5 62"},
		{"two endings", xmlOf(m(div+`<barline><repeat direction="forward"/></barline>`+n("C4", 12)) +
			m(`<barline location="left"><ending number="1" type="start"/></barline>`+n("D4", 12)+
				`<barline location="right"><ending number="1" type="stop"/><repeat direction="backward"/></barline>`) +
			m(`<barline location="left"><ending number="2" type="start"/></barline>`+n("E4", 12)+
				`<barline location="right"><ending number="2" type="discontinue"/></barline>`) + m(n("F4", 12))),
			"0-0.5 60, 0.5-1 62, 1-1.5 60, 1.5-2 64, 2-2.5 65"},
		{"da capo al fine", xmlOf(m(div+n("C4", 12)+`<direction><sound fine="yes"/></direction>`) + m(n("D4", 12)+`<direction><sound dacapo="yes"/></direction>`)), "0-0.5 60, 0.5-1 62, 1-1.5 60"},
		{"a metronome mark and a sound tempo", xmlOf(m(div+`<direction><direction-type><metronome><beat-unit>half</beat-unit><per-minute>30</per-minute></metronome></direction-type></direction>`+n("C4", 12)) +
			m(`<sound tempo="240"/>`+n("D4", 12))), "0-1 60, 1-1.25 62"},
		{"rests are silence", xmlOf(m(div + `<note><rest/><duration>12</duration></note>` + n("C4", 12))), "0.5-1 60"},
	} {
		f, err := Read("x.musicxml", []byte(c.file))
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		var got []string
		for _, e := range sameAsText(t, f) {
			got = append(got, fmt.Sprintf("%v-%v %d", sec(e.StartSec), sec(e.EndSec), e.Key))
		}
		if strings.Join(got, ", ") != c.want {
			t.Errorf("%s: %s, want %s", c.name, strings.Join(got, ", "), c.want)
		}
	}
}

func TestMusicXMLRefused(t *testing.T) {
	for _, c := range []struct{ file, want string }{
		{`<!DOCTYPE x [<!ENTITY a "b">]><score-partwise/>`, "entities of its own"},
		{`<score-partwise><part>&lol;</part></score-partwise>`, "invalid character entity"},
		{`<score-timewise/>`, "score-timewise"},
		{`<score-partwise></score-partwise>`, "no part"},
		{`PK` + "\x03\x04" + `xx`, "no compressed MusicXML"},
	} {
		if _, err := Read("x.xml", []byte(c.file)); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v, want %s", c.file, err, c.want)
		}
	}
	// What unpacks to more than there is room for is refused after so many bytes.
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	w, _ := z.Create("META-INF/container.xml")
	fmt.Fprint(w, `<container><rootfiles><rootfile full-path="s.xml"/></rootfiles></container>`)
	w, _ = z.Create("s.xml")
	blank := bytes.Repeat([]byte(" "), 1<<20)
	for range MaxBytes>>20 + 1 {
		w.Write(blank)
	}
	z.Close()
	if _, err := Read("x.mxl", b.Bytes()); err == nil || !strings.Contains(err.Error(), "unpacked") {
		t.Errorf("a bomb: %v", err)
	}
}

// MuseScore turns a MIDI file into MusicXML, plain and compressed; both play what they
// played as MIDI.
func TestMuseScore(t *testing.T) {
	if testing.Short() {
		t.Skip("MuseScore takes seconds")
	}
	dir := t.TempDir()
	midi := filepath.Join(dir, "x.mid")
	raw := bytesOf(0, 96, "\x00\x90\x3c\x40\x60\x3c\x00\x00\x3e\x40\x30\x3e\x00\x00\x40\x40\x30\x40\x00")
	if err := os.WriteFile(midi, raw, 0o644); err != nil {
		t.Fatal(err)
	}
	t.Setenv("QT_QPA_PLATFORM", "offscreen")
	t.Setenv("HOME", dir)
	for _, extension := range []string{".musicxml", ".mxl"} {
		path := filepath.Join(dir, "x"+extension)
		judge.Run(t, "musescore3", "-o", path, midi)
		text, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		f, err := Read("x"+extension, text)
		if err != nil {
			t.Fatal(err)
		}
		var got []string
		for _, e := range sameAsText(t, f) {
			got = append(got, fmt.Sprintf("%v-%v %d", sec(e.StartSec), sec(e.EndSec), e.Key))
		}
		if want := "0-0.5 60, 0.5-0.75 62, 0.75-1 64"; strings.Join(got, ", ") != want {
			t.Errorf("%s: %v, want %s", extension, got, want)
		}
	}
}

// FuzzMusicXML: whatever the bytes, a file that plays and whose text is a piece, or an error.
func FuzzMusicXML(f *testing.F) {
	f.Add(xmlOf(m(div + n("C4", 12) + n("E4", 12, "<chord/>"))))
	f.Add(xmlOf(m(div + n("G4", 12) + "<backup><duration>12</duration></backup>" + n("C4", 6) +
		`<barline><repeat direction="backward" times="3"/></barline>`)))
	f.Fuzz(func(t *testing.T, text string) {
		if len(text) > 1<<14 {
			return
		}
		file, err := ReadMusicXML("x.xml", strings.NewReader(text))
		if err != nil {
			return
		}
		p, err := file.Piece()
		if err != nil {
			return
		}
		out, err := file.Text(p)
		if err != nil {
			return
		}
		if _, err := piecefile.Parse(&source.File{Name: "x.piece", Text: out}); err != nil {
			t.Fatalf("%v\n%s", err, out)
		}
	})
}

// Ten thousand notes: the number is 0.3 s.
func BenchmarkMusicXML(b *testing.B) {
	var measures strings.Builder
	for i := range 2500 {
		head := ""
		if i == 0 {
			head = div
		}
		measures.WriteString(m(head + n("C4", 3) + n("D4", 3) + n("E4", 3) + n("F#4", 3)))
	}
	text := []byte(xmlOf(measures.String()))
	b.SetBytes(int64(len(text)))
	for b.Loop() {
		if _, err := Read("x.musicxml", text); err != nil {
			b.Fatal(err)
		}
	}
}
