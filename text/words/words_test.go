package words_test

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"rollwright/text/words"
)

func TestSay(t *testing.T) {
	b := words.English()
	for _, c := range []struct {
		key  string
		args words.Args
		want string
	}{
		{"wheels.colores", words.Args{"colores": 1}, "turns 1 time"},
		{"wheels.colores", words.Args{"colores": 6}, "turns 6 times"},
		{"wheels.colores", words.Args{"colores": int64(0)}, "turns 0 times"},
		{"lines.once", words.Args{"a": "low", "b": "{high}", "first": "0:01.0"}, "low and {high} strike together once, at 0:01.0."},
		{"lines.once", nil, "{a} and {b} strike together once, at {first}."},
		{"no.such.key", nil, "[no.such.key]"},
		{"wheels.pitches", words.Args{"pitches": 7}, "color: 7 pitches"},
	} {
		if got := b.Say(c.key, c.args); got != c.want {
			t.Errorf("%s: %q, want %q", c.key, got, c.want)
		}
	}
	if got := b.Plain().Say("wheels.pitches", words.Args{"pitches": 7}); got != "pitch series: 7 pitches" {
		t.Errorf("plain: %q", got)
	}
}

// A talk explains a term where it uses it first, whatever its form; another talk
// explains it anew.
func TestTalk(t *testing.T) {
	for range 2 {
		talk := words.English().Begin()
		if got := talk.Say("wheels.pitches", words.Args{"pitches": 7}); got != "color (the repeating series of pitches): 7 pitches" {
			t.Errorf("first: %q", got)
		}
		if got := talk.Say("wheels.pitches", words.Args{"pitches": 7}); got != "color: 7 pitches" {
			t.Errorf("second: %q", got)
		}
	}
	if got := words.English().Plain().Begin().Say("wheels.pitches",
		words.Args{"pitches": 1}); got != "pitch series: 1 pitch" {
		t.Errorf("plain: %q", got)
	}
}

const other = `{
  "# remark": "no key",
  "language.tag": "cs", "language.name": "čeština", "language.plural": "one-few-other", "language.decimal": ",",
  "wheels.colores": "{colores} {colores:otočka|otočky|otoček} {{x}}",
  "wheels.pitches": "{@Color} {pitches}", "term.color": "řada"
}`

// Forms of Czech (Unicode CLDR: 1 one, 2 to 4 few, else other); what the file
// lacks is English.
func TestOtherLanguage(t *testing.T) {
	b, err := words.Parse([]byte(other))
	if err != nil {
		t.Fatal(err)
	}
	for n, want := range map[int]string{1: "1 otočka {x}", 3: "3 otočky {x}", 5: "5 otoček {x}"} {
		if got := b.Say("wheels.colores", words.Args{"colores": n}); got != want {
			t.Errorf("%d: %q, want %q", n, got, want)
		}
	}
	if got := b.Say("wheels.pitches", words.Args{"pitches": 7}); got != "Řada 7" {
		t.Errorf("term: %q", got)
	}
	if got := b.Say("axis.units", nil); got != words.English().Say("axis.units", nil) {
		t.Errorf("fallback: %q", got)
	}
	if b.Decimal("0.25") != "0,25" || b.Tag() != "cs" || b.Name() != "čeština" {
		t.Errorf("%q %q %q", b.Decimal("0.25"), b.Tag(), b.Name())
	}
}

// The rules give the forms that the Unicode CLDR names for these numbers.
func TestPlurals(t *testing.T) {
	for _, c := range []struct {
		rule string
		want string // form of 0 1 2 5 11 12 21 22 25, and at the ends of the teens 10 13 14 15 24 112 114 115 122
	}{
		{"one-other", "1 0 1 1 1 1 1 1 1 1 1 1 1 1 1 1 1 1"}, {"zero-one-other", "0 0 1 1 1 1 1 1 1 1 1 1 1 1 1 1 1 1"}, {"same", "0 0 0 0 0 0 0 0 0 0 0 0 0 0 0 0 0 0"},
		{"one-few-other", "2 0 1 2 2 2 2 2 2 2 2 2 2 2 2 2 2 2"}, {"polish", "2 0 1 2 2 2 2 1 2 2 2 2 2 1 2 2 2 1"}, {"russian", "2 0 1 2 2 2 0 1 2 2 2 2 2 1 2 2 2 1"},
	} {
		b, err := words.Parse([]byte(`{"language.plural": "` + c.rule + `", "wheels.colores": "{colores:0|1|2}"}`))
		if err != nil {
			t.Fatal(err)
		}
		var got []string
		for _, n := range []int{0, 1, 2, 5, 11, 12, 21, 22, 25, 10, 13, 14, 15, 24, 112, 114, 115, 122} {
			got = append(got, b.Say("wheels.colores", words.Args{"colores": n}))
		}
		if s := strings.Join(got, " "); s != c.want {
			t.Errorf("%s: %s, want %s", c.rule, s, c.want)
		}
	}
}

func TestParseErrors(t *testing.T) {
	for _, c := range []struct{ text, want string }{
		{`[]`, "want one JSON object"},
		{`{"a": 1}`, "a: want a text in quotes"},
		{`{"wheels.title": "x", "wheels.title": "y"}`, "wheels.title stands there twice"},
		{`{"weels.title": "x"}`, "there is no key weels.title; did you mean wheels.title?"},
		{`{"wheels.title": "{voise}"}`, "there is no value {voise} here; there are: voice"},
		{`{"wheels.title": "{@colour}"}`, "there is no term {@colour}"},
		{`{"wheels.title": "{voice"}`, "a { without its }"},
		{`{"wheels.title": "}"}`, "a } without its {"},
		{`{"wheels.title": "{}"}`, "want a name of letters"},
		{`{"language.plural": "two"}`, `there is no rule "two"; write one of one-few-other, one-other`},
		{`{} {}`, "something follows"},
		{`{"wheels.title": `, "after byte"},
	} {
		if _, err := words.Parse([]byte(c.text)); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v, want %q", c.text, err, c.want)
		}
	}
}

func TestOpen(t *testing.T) {
	folder := t.TempDir()
	if err := os.WriteFile(filepath.Join(folder, "cs.json"), []byte(other), 0o644); err != nil {
		t.Fatal(err)
	}
	b, err := words.Open("cs.json", folder)
	if err != nil || b.Tag() != "cs" {
		t.Errorf("%v", err)
	}
	for _, name := range []string{"", "en"} {
		if b, err := words.Open(name, folder); err != nil || b != words.English() {
			t.Errorf("%q: %v", name, err)
		}
	}
	if _, err := words.Open("xx", folder); err == nil || !strings.Contains(err.Error(),
		"write en, de, es, fr, or the path of a language file") {
		t.Errorf("xx: %v", err)
	}
}

// Whatever parses can say everything, to the same words each time.
func FuzzParse(f *testing.F) {
	f.Add([]byte(other))
	f.Add([]byte(`{"wheels.title": "{voice:a|b}{@Color}"}`))
	f.Fuzz(func(t *testing.T, data []byte) {
		b, err := words.Parse(data)
		if err != nil {
			return
		}
		for _, key := range b.Keys() {
			if a, z := b.Say(key, words.Args{"n": 2}), b.Say(key, words.Args{"n": 2}); a != z {
				t.Fatalf("%s: %q, then %q", key, a, z)
			}
		}
	})
}

func Example() {
	talk := words.English().Begin()
	fmt.Println(talk.Say("wheels.strokes", words.Args{"strokes": 6}))
	fmt.Println(talk.Say("wheels.taleae", words.Args{"taleae": 7}))
	// Output:
	// talea (the repeating series of durations): 6 sounding durations
	// turns 7 times
}

// TestBuiltInLanguages: each says everything, with as many forms of a plural as its
// rule has, and its values are those of English.
func TestBuiltInLanguages(t *testing.T) {
	if got := strings.Join(words.Languages(), " "); got != "en de es fr" {
		t.Errorf("languages: %s", got)
	}
	for _, tag := range words.Languages() {
		b, err := words.Open(tag, "/nowhere")
		if err != nil {
			t.Errorf("%s: %v", tag, err)
			continue
		}
		if b.Tag() != tag {
			t.Errorf("%s says it is %s", tag, b.Tag())
		}
		if lacks := b.Lacks(); len(lacks) > 0 {
			t.Errorf("%s lacks %s", tag, strings.Join(lacks, ", "))
		}
	}
	if b, _ := words.Open("de", ""); b.Decimal("1.5") != "1,5" || b.Say("page.step-of", words.Args{"n": 1, "of": 2}) != "1 von 2" {
		t.Error("German is none")
	}
	// 0 and 1 are singular in French
	b, _ := words.Open("fr", "")
	for n, want := range map[int]string{0: "0 étape, 1 s de son.", 1: "1 étape, 1 s de son.", 2: "2 étapes, 1 s de son."} {
		if got := b.Say("sheet.total", words.Args{"steps": n, "length": "1 s"}); got != want {
			t.Errorf("got %q, want %q", got, want)
		}
	}
}
