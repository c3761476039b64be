package plan_test

import (
	"bytes"
	"strings"
	"testing"

	"rollwright/music/plan"
)

// unit = 16 is sixteen whole notes; ten units that last 65 s are 6.5 s each. Either is asked
// about, and neither is where a unit is usual.
func TestQuestions(t *testing.T) {
	for _, c := range []struct{ inside, want string }{
		{"  unit = 16\n", "question v: the unit is 16 whole notes; if 1/16 of one is meant, write unit = \"1/16\""},
		{"  extent = \"5 notes\"\n  lasts = \"65 s\"\n", "question v: a unit lasts 6.5 s, because 10 units are to last 65 s;"},
		{"  unit = \"1/8\"\n  extent = \"5 notes\"\n  lasts = \"30 s\"\n", ""},
		{"  unit = 1\n", ""},
	} {
		p := planned(t, "voice \"v\" {\n  talea = 2\n  color = \"C4 D4\"\n"+c.inside+"}\n")
		var brief, whole bytes.Buffer
		if err := plan.WriteBrief(&brief, p, "", ""); err != nil {
			t.Fatal(err)
		}
		if err := plan.WriteText(&whole, p, plan.TextOptions{}); err != nil {
			t.Fatal(err)
		}
		text := strings.Join(strings.Fields(brief.String()), " ")
		if asked := strings.Contains(whole.String(), "question"); asked != (c.want != "") ||
			strings.Contains(text, "question") != asked || !strings.Contains(text, c.want) {
			t.Errorf("%s\nwant %q, got\n%s", c.inside, c.want, brief.String())
		}
	}
}
