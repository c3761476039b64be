package piece

import (
	"fmt"
	"testing"

	"rollwright/text/source"
)

// Five voices with one mistake are one complaint, which names four; another place
// or another problem is another.
func TestMistakes(t *testing.T) {
	f := &source.File{Name: "x.piece", Text: []byte("one\n  like = \"a\"\n")}
	var m Mistakes
	var first *source.Error
	complain := func(line int, problem string, v *Voice) bool {
		e := &source.Error{File: f, At: source.Pos{Line: line, Column: 3}, Problem: problem, Hint: "write less"}
		if first == nil {
			first = e
		}
		return m.Add(e, v, "extent")
	}
	likeA := Places{"extent": source.Pos{Line: 2, Column: 3}}
	for i, taken := range []Places{likeA, nil, likeA, nil, nil} {
		v := &Voice{Name: fmt.Sprintf("v%d", i), Taken: taken}
		if kept := complain(1, fmt.Sprintf("%q is too long", v.Name), v); kept != (i == 0) {
			t.Errorf("v%d: kept %v", i, kept)
		}
	}
	want := "write less\n\"v0\" takes this over in line 2: like = \"a\"\nthe same goes for \"v1\", \"v2\" (line 2), \"v3\" and 1 more"
	if first.Hint != want {
		t.Errorf("%q, want %q", first.Hint, want)
	}
	if complain(1, `"v0" is too long`, nil) != true || complain(1, `"v0" is too long`, nil) || first.Hint != want {
		t.Error("a complaint about no voice is another one, once")
	}
	if !complain(2, `"v1" is too long`, &Voice{Name: "v1"}) || !complain(1, `"v1" is too loud`, &Voice{Name: "v1"}) {
		t.Error("another place or problem is no other mistake")
	}
}
