package web

import (
	"strings"
	"testing"
	"unicode/utf16"

	"pgregory.net/rapid"

	"rollwright/examples"
)

// spliced puts a splice into a text as the page does, in UTF-16 units.
func spliced(text string, s splice) string {
	units := utf16.Encode([]rune(text))
	return string(utf16.Decode(units[:s.From])) + s.Insert + string(utf16.Decode(units[s.To:]))
}

func TestSet(t *testing.T) {
	b := serve(t, nil)
	text := "# 𝄞\nlet {\n  riff = \"C2 E2\"\n}\n\nvoice \"low\" {\n  talea = \"3 2\" # ä\n  color = \"C2 G2\"\n  per_color {\n    transpose = 2\n  }\n}\ncanon \"two\" {\n  subject = \"low\"\n  speeds  = \"1 : 2\"\n  voice \"I\" {}\n  voice \"II\" {\n    transpose = 7\n  }\n}\n"
	low := []string{"voice low[1]"}
	for _, c := range []struct {
		path        []string
		attr, value string
		old, new    string // what changes in the text
	}{
		{low, "talea", "3 2 (1)", `"3 2" # ä`, `"3 2 (1)" # ä`},
		{low, "talea", `"3 2 (1)"`, `"3 2" # ä`, `"3 2 (1)" # ä`},
		{low, "talea", "4", `"3 2" # ä`, `4 # ä`},
		{low, "talea", `even("3 of 8")`, `"3 2" # ä`, `even("3 of 8") # ä`},
		{low, "color", "riff", `"C2 G2"`, `riff`},
		{low, "color", "transpose(riff, 5)", `"C2 G2"`, `transpose(riff, 5)`},
		{low, "color", "C4", `"C2 G2"`, `"C4"`},
		{low, "speed", "sqrt(2)", "\"C2 G2\"\n", "\"C2 G2\"\n  speed = sqrt(2)\n"},
		{low, "speed", "e/pi", "\"C2 G2\"\n", "\"C2 G2\"\n  speed = e/pi\n"},
		{low, "start", "2.5 s", "\"C2 G2\"\n", "\"C2 G2\"\n  start = \"2.5 s\"\n"},
		{low, "extent", "complete", "\"C2 G2\"\n", "\"C2 G2\"\n  extent = \"complete\"\n"},
		{low, "transpose", "-5", "\"C2 G2\"\n", "\"C2 G2\"\n  transpose = -5\n"},
		{low, "backward", "true", "\"C2 G2\"\n", "\"C2 G2\"\n  backward = true\n"},
		{[]string{"voice low", "per_color"}, "transpose", "3", `transpose = 2`, `transpose = 3`},
		{[]string{"voice low", "per_talea"}, "stretch", "2/3", "}\ncanon", "  per_talea {\n    stretch = 2/3\n  }\n}\ncanon"},
		{[]string{"voice low", "meet"}, "at", "3 s", "}\ncanon", "  meet {\n    at = \"3 s\"\n  }\n}\ncanon"},
		{[]string{"canon two", "voice II"}, "transpose", "12", `transpose = 7`, `transpose = 12`},
		{[]string{"canon two[1]", "voice I[1]"}, "hold", "single", `"I" {}`, "\"I\" {\n    hold = \"single\"\n  }"},
		{[]string{"canon two", "voice I", "per_talea"}, "stretch", "2", `"I" {}`, "\"I\" {\n    per_talea {\n      stretch = 2\n    }\n  }"},
		{nil, "title", `A "title" of ${two}`, "# 𝄞\n", "title = \"A \\\"title\\\" of $${two}\"\n\n# 𝄞\n"},
	} {
		got := ask[splice](b, "/api/set", m{"text": text, "path": c.path, "attr": c.attr, "value": c.value})
		if want := strings.Replace(text, c.old, c.new, 1); got.Text != want {
			t.Errorf("%v %s = %s:\n%s\nwant\n%s", c.path, c.attr, c.value, got.Text, want)
		}
		if spliced(text, got) != got.Text {
			t.Errorf("%v %s = %s: the splice %+v makes another text", c.path, c.attr, c.value, got)
		}
	}
	for _, c := range []struct {
		path        []string
		attr, value string
		problem     string
	}{
		{low, "color", `say "x"`, `there is no pitch`},
		{low, "color", "C2 H2", `there is no pitch "H2"; write: B2`},
		{low, "color", "", `there is no value`},
		{low, "colour", "C2", `did you mean color?`},
		{low, "talea", "3\n} voice \"x\" {\n talea = 1", ``},
		{[]string{"voice low"}, "per_color", "1", ``},
		{[]string{"voice high"}, "color", "C2", `there is no block voice high`},
	} {
		got := ask[splice](b, "/api/set", m{"text": text, "path": c.path, "attr": c.attr, "value": c.value})
		if got.Problem == "" || !strings.Contains(got.Problem, c.problem) || got.Text != "" {
			t.Errorf("%v %s = %s: %+v, want %s", c.path, c.attr, c.value, got, c.problem)
		}
	}
}

func TestRemoveAttribute(t *testing.T) {
	b := serve(t, nil)
	text := "voice \"a\" {\n  talea = \"1\"\n  color = \"C2\"\n  per_color {\n    transpose = 2\n  }\n  hold = 0.5 # short\n}\n"
	for _, c := range []struct {
		path []string
		attr string
		gone string
	}{
		{[]string{"voice a"}, "hold", "  hold = 0.5 # short\n"},
		{[]string{"voice a", "per_color"}, "transpose", "  per_color {\n    transpose = 2\n  }\n"}, // and its block, which would be empty
		{[]string{"voice a"}, "speed", ""},
	} {
		got := ask[splice](b, "/api/set", m{"text": text, "path": c.path, "attr": c.attr, "value": nil})
		if want := strings.Replace(text, c.gone, "", 1); got.Text != want || spliced(text, got) != want {
			t.Errorf("without %s:\n%s\nwant\n%s", c.attr, got.Text, want)
		}
	}
}

// TestSetMendsText: a text with mistakes can be changed as long as its blocks can
// be read, and the change may take a mistake away or leave it.
func TestSetMendsText(t *testing.T) {
	b := serve(t, nil)
	text := "voice \"a\" {\n  talea = \"3 x\"\n  color = \"H2\"\n}\n"
	got := ask[splice](b, "/api/set", m{"text": text, "path": []string{"voice a"}, "attr": "color", "value": "C2"})
	if !strings.Contains(got.Text, `color = "C2"`) {
		t.Errorf("got %q", got.Text)
	}
	if got := ask[splice](b, "/api/set", m{"text": "voice \"a\" {\n", "path": []string{"voice a"}, "attr": "color",
		"value": "C2"}); got.Problem == "" || got.Text != "" {
		t.Errorf("a text without its end: %+v", got)
	}
}

// TestSetChangesNothingElse sets attributes of all examples to values of all
// kinds: whatever is taken, the splice makes exactly the new text, and
// everything outside the block stays as it was.
func TestSetChangesNothingElse(t *testing.T) {
	var texts []string
	for _, e := range examples.List() {
		texts = append(texts, string(must(examples.Source(e.Name))))
	}
	values := []string{"1", "0.5", "3/7", "C4", "C4 D4", "sqrt(2)", "single", "90 ms", "x", "\"", "}", "# no", "a\nb",
		"<<X\n1\nX\n", "[1, 2]", "-3"}
	attrs := []string{"talea", "color", "hold", "speed", "transpose", "start", "extent", "unit"}
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.SampledFrom(texts).Draw(t, "text")
		tree := newOutline(text, newOffsets(text))
		block := rapid.SampledFrom(tree.list).Draw(t, "block")
		attr, value := rapid.SampledFrom(attrs).Draw(t, "attr"), rapid.SampledFrom(values).Draw(t, "value")
		out, err := assign([]byte(text), block.Path, attr, value)
		if err != nil {
			return
		}
		s := spliceOf(text, string(out))
		if spliced(text, s) != string(out) {
			t.Fatalf("the splice %+v makes another text", s)
		}
		units := utf16.Encode([]rune(text))
		if !strings.HasPrefix(string(out), string(utf16.Decode(units[:block.From]))) ||
			!strings.HasSuffix(string(out), string(utf16.Decode(units[block.To:]))) {
			t.Fatalf("%s = %s in %v changes what is outside", attr, value, block.Path)
		}
		if added := len(mistakes(out)); added > 0 {
			t.Fatalf("%s = %s in %v makes %d mistakes", attr, value, block.Path, added)
		}
	})
}
