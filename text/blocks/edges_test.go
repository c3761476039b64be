package blocks

import (
	"strings"
	"testing"

	"rollwright/text/source"
)

func TestUnknown(t *testing.T) {
	body, errs := parse("colour = 1\nmeet = 2\nspeed {\n}\nvoise \"x\" {\n}\nqqqqqq = 1\n")
	if len(errs) > 0 {
		t.Fatal(errs)
	}
	got := body.Unknown([]string{"color", "speed", "meet {", "voice {"}, "a piece").Err().Error()
	for _, want := range []string{
		`there is no "colour" in a piece`, "did you mean color?",
		"meet is a block in a piece, no attribute", "meet {",
		"speed is an attribute in a piece, no block", "speed = ...",
		`there is no "voise" in a piece`, "did you mean voice?",
		"there are color, meet, speed, voice",
	} {
		if !strings.Contains(got, want) {
			t.Errorf("%q is missing in\n%s", want, got)
		}
	}
}

func TestIntAndBool(t *testing.T) {
	for _, c := range []struct {
		text string
		n    int
		ok   bool
	}{{"7", 7, true}, {"-7", -7, true}, {`"12"`, 12, true}, {"- 3", -3, true}, {"1.5", 0, false}, {"[1]", 0, false},
		{"x", 0, false}, {`"0 1 2"`, 0, false}, {`"1 1"`, 0, false}, {`"- - 3"`, 0, false}} {
		if n, err := value(t, c.text).Int(); n != c.n || (err == nil) != c.ok {
			t.Errorf("%s is the whole number %d, %v", c.text, n, err)
		}
	}
	for _, c := range []struct {
		text    string
		yes, ok bool
	}{{"true", true, true}, {"false", false, true}, {`"true"`, true, true}, {"yes", false, false}, {"1", false, false}} {
		if b, err := value(t, c.text).Bool(); b != c.yes || (err == nil) != c.ok {
			t.Errorf("%s is %v, %v", c.text, b, err)
		}
	}
}

func TestListsAndCalls(t *testing.T) {
	list, err := value(t, `[1, "x", [2], riff]`).List()
	if err != nil || len(list) != 4 || list[1].Kind() != Quoted || list[2].Kind() != List {
		t.Errorf("%v, %v", list, err)
	}
	if w, ok := list[3].Word(); !ok || w != "riff" {
		t.Errorf("word %q, %v", w, ok)
	}
	if one, err := value(t, "5").List(); err != nil || len(one) != 1 {
		t.Errorf("one value as a list: %v, %v", one, err)
	}
	name, args, ok := value(t, "rotate(riff, -2)").Call()
	if !ok || name != "rotate" || len(args) != 2 || args[1].Raw() != "-2" {
		t.Errorf("call %q %v %v", name, args, ok)
	}
	if _, _, ok := value(t, "riff").Call(); ok {
		t.Error("a word is a call")
	}
}

// A value that could not be read gives back the complaint that Parse made, so
// that Merge tells it once.
func TestBadValuesComplainOnce(t *testing.T) {
	body, errs := parse("a = C2 F#2\nb = 1\n")
	if len(errs) != 1 {
		t.Fatal(errs)
	}
	a := body.Get("a")
	_, e1 := a.Str()
	_, e2 := a.Real()
	_, e3 := a.List()
	if all := Merge(errs, source.Errors{e1, e2, e3, a.Error("x", "")}); len(all) != 1 {
		t.Errorf("%d complaints: %v", len(all), all)
	}
	if n, err := body.Get("b").Int(); n != 1 || err != nil {
		t.Errorf("the line after it: %d, %v", n, err)
	}
}

// Where a new attribute goes when there is none to follow.
func TestSetInEmptyPlaces(t *testing.T) {
	for _, c := range []struct{ text, path, want string }{
		{"", "", "x = 1\n"},
		{"# only\n", "", "x = 1\n# only\n"},
		{"# head\n\n# of b\nb {\n}\n", "", "# head\n\nx = 1\n\n# of b\nb {\n}\n"},
		{"a = 1", "", "a = 1\nx = 1"},
		{"\ufeffb {\n}\n", "", "\ufeffx = 1\n\nb {\n}\n"},
		{"b {\n}\n", "b", "b {\n  x = 1\n}\n"},
		{"b {\n    c {\n    }\n}\n", "b", "b {\n    x = 1\n    c {\n    }\n}\n"},
		{"  b { # remark\n  }\n", "b", "  b { # remark\n    x = 1\n  }\n"},
		{"b {}\nb {\n  a = 2\n}\n", "b[2]", "b {}\nb {\n  a = 2\n  x = 1\n}\n"},
	} {
		var path []string
		if c.path != "" {
			path = []string{c.path}
		}
		got, err := Set([]byte(c.text), path, "x", "1")
		if err != nil || string(got) != c.want {
			t.Errorf("%q: %v\n%q, want\n%q", c.text, err, got, c.want)
		}
	}
	if _, err := Set([]byte("b {}\n"), []string{"b[2]"}, "x", "1"); err == nil {
		t.Error("a block that is not there is set")
	}
	if _, err := Set([]byte("b {\n"), nil, "x", "1"); err == nil {
		t.Error("a text that cannot be read is set")
	}
}

func TestBounds(t *testing.T) {
	for _, c := range []struct {
		text string
		o    Options
		want string
	}{
		{"a = 1\n", Options{MaxBytes: 5}, "the file has 6 bytes; 5 are the most"},
		{"a = [[1]]\n", Options{MaxDepth: 1}, "nested more than 1 deep"},
		{"a = " + strings.Repeat("9", 65) + "\n", Options{}, "this number is too long"},
		{strings.Repeat("a", 201) + " = 1\n", Options{}, "this name is too long"},
	} {
		_, errs := Parse(&source.File{Text: []byte(c.text)}, c.o)
		if len(errs) != 1 || !strings.Contains(errs[0].Problem, c.want) {
			t.Errorf("%.20q: %v, want %q", c.text, errs, c.want)
		}
	}
}
