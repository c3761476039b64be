package web

import (
	"strings"
	"testing"
)

// TestEdits: blocks come and go with their lines, every other byte as it was; several
// changes are one splice.
func TestEdits(t *testing.T) {
	b := serve(t, nil)
	value := func(s string) *string { return &s }
	text := "title = \"x\" # mine\n\ntune \"t\" {\n  line = \"C4:1\"\n}\n\ncanon \"c\" {\n  subject = \"t\"\n  speeds = \"1 : 2\"\n" +
		"  voice \"I\" {}\n  voice \"II\" { transpose = 7 }\n}\n\nvoice \"w\" {\n  like  = \"t\"\n  start = \"after I + 2 s\"\n}\n"
	for _, c := range []struct {
		name  string
		edits []step
		old   string // in place of it stands
		want  string
	}{
		{"a voice at the end", []step{{Do: "add", Block: "voice \"v\" {\n  talea = \"1\"\n}"}},
			"+ 2 s\"\n}\n", "+ 2 s\"\n}\n\nvoice \"v\" {\n  talea = \"1\"\n}\n"},
		{"a voice of the canon, and its speed", []step{
			{Do: "add", Path: []string{"canon c"}, Block: "voice \"III\" {\n  transpose = 12\n}"},
			{Do: "set", Path: []string{"canon c"}, Attr: "speeds", Value: value("1 : 2 : 3")}},
			"1 : 2\"\n  voice \"I\" {}\n  voice \"II\" { transpose = 7 }\n",
			"1 : 2 : 3\"\n  voice \"I\" {}\n  voice \"II\" { transpose = 7 }\n  voice \"III\" {\n    transpose = 12\n  }\n"},
		{"a block in a folded one", []step{{Do: "add", Path: []string{"canon c", "voice II"}, Block: "meet {\n  at = \"2 s\"\n}"}},
			"voice \"II\" { transpose = 7 }\n", "voice \"II\" {\n    transpose = 7\n    meet {\n      at = \"2 s\"\n    }\n  }\n"},
		{"without the canon", []step{{Do: "drop", Path: []string{"canon c"}}},
			text[strings.Index(text, "canon"):strings.Index(text, "voice \"w\"")], ""},
		{"without the last", []step{{Do: "drop", Path: []string{"voice w"}}}, "\n" + text[strings.Index(text, "voice \"w\""):], ""},
	} {
		got := ask[splice](b, "/api/edit", m{"text": text, "edits": c.edits})
		if want := strings.Replace(text, c.old, c.want, 1); got.Text != want || spliced(text, got) != want {
			t.Errorf("%s (%s):\n%s\nwant\n%s", c.name, got.Problem, got.Text, want)
		}
	}
	// A name is changed wherever it is meant, and nowhere else.
	for path, names := range map[string][2]string{"tune t": {"theme", "theme"}, "canon c/voice I": {"one", "one"}} {
		got := ask[splice](b, "/api/edit", m{"text": text, "edits": []step{{Do: "name", Path: strings.Split(path, "/"), Value: &names[0]}}})
		want := strings.NewReplacer(`tune "t"`, `tune "theme"`, `= "t"`, `= "theme"`).Replace(text)
		if path != "tune t" {
			want = strings.NewReplacer(`"I"`, `"one"`, `after I `, `after one `).Replace(text)
		}
		if got.Text != want {
			t.Errorf("%s (%s):\n%s\nwant\n%s", path, got.Problem, got.Text, want)
		}
	}
	for _, bad := range []step{{Do: "name", Path: []string{"tune t"}, Value: value("w")}, {Do: "name", Path: []string{"tune t"}, Value: value("")},
		{Do: "drop", Path: []string{"voice none"}}, {Do: "add", Block: "voice \"x\" {"}, {Do: "turn"}} {
		if got := ask[splice](b, "/api/edit", m{"text": text, "edits": []step{bad}}); got.Problem == "" || got.Text != "" {
			t.Errorf("%+v makes %+v", bad, got)
		}
	}
	// Of several legs each has its fields.
	legs := "tempo_path {\n  leg {\n    to = 90\n    over = 8\n  }\n  leg {\n    to = 60\n    over = 4\n  }\n}\n" + small
	top := b.work("a.piece", legs).Top
	if top["tempo_path.leg.to"].Text != "90" || top["tempo_path.leg[2].to"].Text != "60" {
		t.Errorf("the legs are %v", top)
	}
}
