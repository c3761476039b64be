package web

import (
	"net/http"
	"strings"
	"testing"
)

func line(text string) string {
	return "voice \"a\" {\n  " + strings.ReplaceAll(text, "; ", "\n  ") + "\n}\n"
}

// TestRemedies provokes what the instrument cannot do, has it mended, and looks
// whether it is gone, and whether the rest of the text is as it was.
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
		status, data := b.send("POST", "/api/remedy", m{"name": "a.piece", "text": c.text, "finding": found.ID})
		if status != http.StatusOK {
			t.Errorf("%s: %d %s", c.kind, status, data)
			continue
		}
		got := decoded[splice](t, data)
		if !strings.Contains(got.Label, c.label) || spliced(c.text, got) != got.Text {
			t.Errorf("%s: %q writes %q, want %q", c.kind, got.Label, got.Insert, c.label)
		}
		for _, f := range b.work("a.piece", got.Text).Findings {
			if f.ID == found.ID {
				t.Errorf("%s: after %q still %s", c.kind, got.Label, f.Message)
			}
		}
	}
}

func TestRemedyRefuses(t *testing.T) {
	b := serve(t, nil)
	if status, data := b.send("POST", "/api/remedy", m{"name": "a.piece", "text": small,
		"finding": "0.2.0.0.-1"}); status != http.StatusNotFound {
		t.Errorf("what is not found: %d %s", status, data)
	}
	if status, data := b.send("POST", "/api/remedy", m{"name": "a.piece", "text": "voice {",
		"finding": "0.2.0.0.-1"}); status != http.StatusUnprocessableEntity {
		t.Errorf("in a text with mistakes: %d %s", status, data)
	}
	// What brings C9 in puts A0 out, twice.
	text := line(`talea = "4"; color = "C9 A0 A0"`)
	for _, f := range b.work("a.piece", text).Findings {
		if f.Kind == "outside the compass" {
			if status, data := b.send("POST", "/api/remedy", m{"name": "a.piece", "text": text,
				"finding": f.ID}); status != http.StatusUnprocessableEntity {
				t.Errorf("where nothing helps: %d %s", status, data)
			}
		}
	}
}
