package inspect_test

import (
	"fmt"
	"strings"
	"testing"

	"rollwright/internal/rollcases"
	"rollwright/paper/inspect"
	"rollwright/text/source"
	"rollwright/workshop"
)

// TestItems: what is written in place of the item that a note is, in the order from the
// smallest change on. What takes over an octave from it keeps its own.
func TestItems(t *testing.T) {
	for _, c := range []struct {
		name, text string
		kind       inspect.Kind
		want       string
	}{
		// 125 ms are 5.08 mm: 2.286 mm of slot leave the bridge of 2.794 mm, 0.45 of it.
		{"a bridge in a line", "line = \"C4:1 C4 E:2 G\"", inspect.ShortBridge,
			"C4:1 > C4:1~0.45; C4:1 > C4:1~single; C4 E > (1) E4; C4 E > C5 E4; C4 E > C3 E4"},
		// C0 is key 12, nine below A0.
		{"outside, in a chord", "talea = \"4\"\n color = \"C0+G2!ff~0.5 D3\"", inspect.OutsideCompass,
			"C0+G2!ff~0.5 > C1+G2!ff~0.5; C0+G2!ff~0.5 > G2!ff~0.5"},
		{"outside, moved", "talea = \"4\"\n color = \"C0+G2 D3\"\n transpose = -2", inspect.OutsideCompass,
			"C0+G2 > C1+G2; C0+G2 > G2"},
		{"a color cannot be silent", "talea = \"4\"\n color = \"C0 D3\"", inspect.OutsideCompass, "C0 > C1"},
		{"behind a silence and in a group", "line = \"2 times [C0:2 (1)] | E3 F\"", inspect.OutsideCompass,
			"C0:2 > C1:2; C0:2 > (2)"},
	} {
		piece := "tempo = 120\nvoice \"v\" {\n " + c.text + "\n}\n"
		p, _ := rollcases.Performed(t, piece)
		found := false
		for f := range inspect.All(p.Piece, rollcases.Rolls(t, piece)) {
			if f.Kind != c.kind || found {
				continue
			}
			found = true
			var got []string
			for _, change := range f.Changes() {
				if change.Item == 0 {
					continue
				}
				got = append(got, fmt.Sprintf("%s > %s", change.Old.Text, change.Value))
				out, err := workshop.Changed(p.Piece.File, p.Piece, change)
				if want := strings.Replace(piece, change.Old.Text, change.Value, 1); err != nil || string(out) != want {
					t.Errorf("%s: %v makes\n%s %v", c.name, change, out, err)
				}
			}
			if text := strings.Join(got, "; "); text != c.want {
				t.Errorf("%s: %s\nwant %s", c.name, text, c.want)
			}
		}
		if !found {
			t.Errorf("%s: nothing found", c.name)
		}
	}
}

// TestOnlyWhatHelpsIsNamed: each remedy that is told in full was tried: with it written
// into the text, fewer findings as bad are there. Where nothing helps, no value is named.
func TestOnlyWhatHelpsIsNamed(t *testing.T) {
	for name, text := range map[string]string{
		"a bridge":   "voice \"v\" {\n line = \"C4:1 C4 E:2 G\"\n}\n",
		"two voices": "voice \"v\" {\n talea = \"1\"\n color = \"C4 E4\"\n}\nvoice \"w\" {\n start = \"40 ms\"\n talea = \"1\"\n color = \"C4 F4\"\n}\n",
		"wide":       "voice \"v\" {\n talea = \"4\"\n color = \"C9 A0 A0\"\n}\n",
	} {
		file := &source.File{Name: "a.piece", Text: []byte(text)}
		job, err := workshop.New(t.Context(), file, t.TempDir())
		if err != nil {
			t.Fatal(err)
		}
		report, err := job.Findings()
		if err != nil {
			t.Fatal(err)
		}
		for f := range report.All() {
			helped := 0
			for _, c := range f.Changes() {
				named := strings.Contains(f.Remedy(), c.Value)
				out, err := workshop.Changed(file, job.Piece, c)
				if err != nil {
					continue
				}
				after, err := workshop.New(t.Context(), &source.File{Name: "a.piece", Text: out}, t.TempDir())
				if err != nil {
					if named {
						t.Errorf("%s: %s cannot be read: %v", name, f.Remedy(), err)
					}
					continue
				}
				then, _ := after.Findings()
				better := inspect.Better(report.Counts, then.Counts, f.Severity)
				if better {
					helped++
				}
				if named && !better && len(c.Value) > 2 {
					t.Errorf("%s: %s is named, and makes %v of %v", name, c.Text(), then.Counts, report.Counts)
				}
			}
			if helped == 0 && f.Severity > inspect.Note && strings.ContainsAny(f.Remedy(), "=") {
				t.Errorf("%s: nothing helps, and %q is named", name, f.Remedy())
			}
		}
	}
}
