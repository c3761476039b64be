package web

import (
	"math"
	"net/http"
	"reflect"
	"strings"
	"testing"
)

func line(text string) string {
	return "voice \"a\" {\n  " + strings.ReplaceAll(text, "; ", "\n  ") + "\n}\n"
}

// remediesOf asks for all remedies against a finding, one after the other.
func (b *bench) remediesOf(text, finding string, place int) []remedy {
	b.Helper()
	var out []remedy
	skip := []string{}
	for from := 0; ; {
		got := ask[mended](b, "/api/remedy", m{"name": "a.piece", "text": text, "finding": finding, "place": place,
			"from": from, "skip": skip})
		if got.Remedy == nil {
			return out
		}
		out, skip, from = append(out, *got.Remedy), append(skip, got.Remedy.Key), got.Next
	}
}

// TestRemedies provokes what the instrument cannot do, has it mended in every way that
// is offered, and looks whether each does what it says of itself: to the text, to the
// findings of this kind, and to the whole piece.
func TestRemedies(t *testing.T) {
	b := serve(t, nil)
	for _, c := range []struct {
		kind, text, label string
	}{
		// A0 to C8 are keys 21 to 108. C0 is key 12: an octave brings it in.
		{"outside the compass", line(`talea = "4"; color = "C0 E1"; extent = "4 notes"`), "transpose = 12 in voice a"},
		{"outside the compass", line(`talea = "4"; color = "E8 C7"; extent = "4 notes"; transpose = 3`), "transpose = -9 in voice a"},
		// Unit 1/16 at 160: 93.75 ms. At roll tempo 60 a punch of 1.7272 mm and a gap of
		// 1.4 mm take 102.6 ms, at 66 93.3 ms.
		{"stroke lost", "tempo = 160\nroll_tempo = 60\n" + line(`talea = "1"; color = "C4"; extent = "8 notes"; hold = "single"`), "roll_tempo = 66"},
		{"stroke lost", "tempo = 160\nroll_tempo = 60\npiano \"left\" {\n}\n" + line(`talea = "1"; color = "C4"; extent = "8 notes"; hold = "single"`), "roll_tempo = 66 of piano left"},
		// 125 ms are 5.08 mm; a bridge of 2.794 mm leaves 2.286 mm of slot: 0.45.
		{"short bridge", line(`talea = "1"; color = "C4"; extent = "8 notes"`), "hold = 0.45 in voice a"},
		{"short bridge", line(`talea = "1"; color = "C4"; extent = "8 notes"; hold = "0.9 0.8"`), "hold = 0.45 in voice a"},
		// 14.5 a second leave the bridge between two strokes of E6, whichever trill it is.
		{"stroke lost", line(`talea = "16 (4)"; color = "trill(E6 F6 40/s) C3 trill(E6 F6 50/s)"`), "trill(E6 F6 14.5/s) in place of trill(E6 F6 "},
		{"stroke lost", "let {\n  shake = \"trill(E6 F6 1/8)\"\n}\n" + line(`talea = "16 (4)"; color = shake`), "trill(E6 F6 14.5/s) in place of trill(E6 F6 1/8)"},
		{"note cut off", line(`talea = "2"; color = "C4"; extent = "4 notes"; hold = 2`), "hold = "},
		{"note cut off", line(`talea = "16"; color = "C4"`) + "voice \"b\" {\n  start = \"1 s\"\n  talea = \"4\"\n  color = \"C4\"\n}\n", "hold = 0.5 in voice a"},
		{"two on one key", line(`talea = "4"; color = "C4"`) + "voice \"b\" {\n  talea = \"4\"\n  color = \"C4\"\n}\n", "transpose = 12 in voice b"},
		{"length of the roll", line(`talea = "16"; color = "C4"; extent = "240 notes"`), "roll_tempo = "},
	} {
		u := b.work("a.piece", c.text)
		var found *finding
		for i := range u.Findings {
			if u.Findings[i].Kind == c.kind {
				found = &u.Findings[i]
			}
		}
		if found == nil || !found.Fix {
			t.Errorf("%s: not found, or without a remedy: %s %v", c.kind, u.Summary, u.Errors)
			continue
		}
		var labels []string
		for _, r := range b.remediesOf(c.text, found.ID, -1) {
			labels = append(labels, r.Splice.Label)
			if spliced(c.text, r.Splice) != r.Splice.Text || len(r.After) == 0 && len(r.Before) == 0 {
				t.Errorf("%s: %q writes %q", c.kind, r.Splice.Label, r.Splice.Insert)
			}
			after := b.work("a.piece", r.Splice.Text)
			var then counts
			for _, f := range after.Findings {
				switch f.Severity {
				case "forbids":
					then.Forbids += f.Count
				case "risks":
					then.Risks += f.Count
				default:
					then.Notes += f.Count
				}
			}
			if then != r.Then {
				t.Errorf("%s: after %q the whole piece has %v, said were %v", c.kind, r.Splice.Label, then, r.Then)
			}
			if r.Left >= r.Of || r.Of != found.Count || r.Then.Forbids > r.Now.Forbids {
				t.Errorf("%s: %q leaves %d of %d, and makes %v of %v", c.kind, r.Splice.Label, r.Left, r.Of, r.Then, r.Now)
			}
		}
		if all := strings.Join(labels, "; "); !strings.Contains(all, c.label) {
			t.Errorf("%s: %q, want %q", c.kind, all, c.label)
		}
	}
}

// TestRemediesCost: the smallest change stands first, and each says what it does to the
// music: 125 ms are 5.08 mm; held for 0.45 of it, the 7 notes before another on their key
// and the last are 68.75 ms shorter.
func TestRemediesCost(t *testing.T) {
	b := serve(t, nil)
	text := "voice \"a\" {\n  line = \"C4:1 C4 E4:2 G4 G4\"\n}\n"
	u := b.work("a.piece", text)
	got := b.remediesOf(text, u.Findings[0].ID, 0)
	if len(got) < 4 {
		t.Fatalf("there are %d remedies: %+v", len(got), got)
	}
	one := got[0]
	want := cost{Notes: 5, Shorter: 1, ShorterMS: 68.75, Voices: []string{"a"}}
	one.Cost.ShorterMS = math.Round(100*one.Cost.ShorterMS) / 100
	if one.Way != "hold" || one.Line != 2 || one.After[0] != "  line = \"C4:1~0.45 C4 E4:2 G4 G4\"" || !reflect.DeepEqual(one.Cost, want) {
		t.Errorf("the first is %+v", one)
	}
	if out := got[1]; out.Way != "out" || out.Cost.Out != 1 || out.Cost.Shorter != 0 || out.After[0] != "  line = \"C4:1 (1) E4:2 G4 G4\"" {
		t.Errorf("the second is %+v", out)
	}
	if octave := got[2]; octave.Way != "octave" || octave.Cost.Pitch != 1 || octave.After[0] != "  line = \"C4:1 C5 E4:2 G4 G4\"" {
		t.Errorf("the third is %+v", octave)
	}
	// Faster paper costs paper and no note.
	for _, r := range got {
		if r.Way == "paper" && (r.Cost.PaperMM <= 0 || r.Cost.Shorter+r.Cost.Pitch+r.Cost.Out+r.Cost.Time > 0) {
			t.Errorf("faster paper costs %+v", r.Cost)
		}
	}
	// At the other place it is the other note.
	if other := b.remediesOf(text, u.Findings[0].ID, 1); len(other) == 0 ||
		other[0].After[0] != "  line = \"C4:1 C4 E4:2 G4~0.72 G4\"" {
		t.Errorf("at the second place: %+v", other)
	}
}

func TestRemedyRefuses(t *testing.T) {
	b := serve(t, nil)
	if got := ask[mended](b, "/api/remedy", m{"name": "a.piece", "text": small, "finding": "0.2.0.0.-1"}); !got.Gone ||
		got.Remedy != nil {
		t.Errorf("what is not found: %+v", got)
	}
	if status, data := b.send("POST", "/api/remedy", m{"name": "a.piece", "text": "voice {",
		"finding": "0.2.0.0.-1"}); status != http.StatusUnprocessableEntity {
		t.Errorf("in a text with mistakes: %d %s", status, data)
	}
	// What brings C9 in puts A0 out, twice.
	text := line(`talea = "4"; color = "C9 A0 A0"`)
	for _, f := range b.work("a.piece", text).Findings {
		if f.Kind == "outside the compass" {
			for _, r := range b.remediesOf(text, f.ID, -1) {
				if strings.HasPrefix(r.Way, "voice") {
					t.Errorf("where moving the voice helps nothing: %+v", r)
				}
			}
		}
	}
}
