package musicxml_test

import (
	"bytes"
	"regexp"
	"strings"
	"testing"

	"rollwright/music/musicxml"
)

// Four quarter notes of a second, of four divisions. Written p and note by note:
// a movement within a note stands before it with its offset in divisions, one at
// the end of the part behind the last note.
func TestPedal(t *testing.T) {
	const piece = "tempo = 60\nvoice \"v\" {\n  talea = \"4 4\"\n  color = \"C4\"\n  extent = \"4 notes\"\n}\n"
	mark := regexp.MustCompile(`(?s)<direction placement="below">\s*<direction-type>\s*<pedal type="(start|stop)" line="yes"/>\s*</direction-type>(?:\s*<offset sound="yes">(\d+)</offset>)?\s*</direction>|<note>`)
	for _, tt := range []struct {
		held []musicxml.Held
		want string
	}{
		{nil, "note note note note"},
		{[]musicxml.Held{{0, 1.5}, {2, 4}}, "start note stop2 note start note note stop"},
		{[]musicxml.Held{{0, 4}}, "start note note note note stop"},
		{[]musicxml.Held{{2, 3}, {0, 2}}, "start note note note stop note"}, // out of order, and they meet
		{[]musicxml.Held{{0.25, 0.5}, {0.75, 1}}, "start1 stop2 start3 note stop note note note"},
		{[]musicxml.Held{{3, 9}}, "note note note start note stop"}, // beyond the end
		{[]musicxml.Held{{5, 9}, {1, 1}}, "note note note note"},    // nothing to hold
		{[]musicxml.Held{{1 - 1e-9, 2 + 1e-9}}, "note start note stop note note"},
	} {
		s := score(performed(t, piece))
		s.Parts[0].Pedal = tt.held
		file := written(t, s)
		if err := musicxml.Check(bytes.NewReader(file)); err != nil {
			t.Fatal(err)
		}
		var got []string
		for _, m := range mark.FindAllStringSubmatch(string(file), -1) {
			if m[1] == "" {
				m[1] = "note"
			}
			got = append(got, m[1]+m[2])
		}
		if strings.Join(got, " ") != tt.want {
			t.Errorf("%v: %s, want %s", tt.held, strings.Join(got, " "), tt.want)
		}
	}
}
