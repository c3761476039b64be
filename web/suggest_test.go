package web

import "testing"

// TestMistakesAreMended: where a hint says what to write, the answer brings the change,
// which leaves one mistake less and touches nothing else; where it does not, none.
func TestMistakesAreMended(t *testing.T) {
	b := serve(t, nil)
	for _, c := range []struct{ text, label, want string }{
		{"voice \"a\" {\n  talea = \"1\"\n  color = \"C2 H2 D2\"\n}\n", "B2",
			"voice \"a\" {\n  talea = \"1\"\n  color = \"C2 B2 D2\"\n}\n"},
		// what a voice lacks stands in it
		{"voice \"a\" {\n  talea = \"1\"\n}\n", `color = "C2 G2 C3"`,
			"voice \"a\" {\n  color = \"C2 G2 C3\"\n  talea = \"1\"\n}\n"},
		// of two mistakes each has its own
		{"voice \"ä𝄞\" {\n  talea = \"1\"\n  color = \"H2\"\n  hold = single\n}\n", "B2",
			"voice \"ä𝄞\" {\n  talea = \"1\"\n  color = \"B2\"\n  hold = single\n}\n"},
		{"voice \"a\" {\n  talea = \"x\"\n  color = \"C2\"\n}\n", "", ""},
	} {
		u := b.work("a.piece", c.text)
		if len(u.Errors) == 0 {
			t.Fatalf("nothing is wrong with\n%s", c.text)
		}
		mend := u.Errors[0].Mend
		if mend == nil || c.label == "" {
			if mend != nil || c.label != "" {
				t.Errorf("%s: %v, want %s", u.Errors[0].Problem, mend, c.label)
			}
			continue
		}
		if got := spliced(c.text, *mend); mend.Label != c.label || got != c.want {
			t.Errorf("%s: %q makes\n%s\nwant %q and\n%s", u.Errors[0].Problem, mend.Label, got, c.label, c.want)
		}
	}
}
