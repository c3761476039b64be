package say_test

import (
	"encoding/json"
	"fmt"
	"os"
	"testing"

	"rollwright/text/say"
)

func Example() {
	fmt.Println(say.Clock(4000, 1), say.Work(31260), say.Paper(12345.6), say.Count(2, "color"))
	// Output: 1:06:40.0 8 h 41 min 12.346 m 2 colores
}

// The cases are those to which the pages are held (web/page/test/say.test.mjs).
func TestCases(t *testing.T) {
	text, err := os.ReadFile("testdata/cases.json")
	if err != nil {
		t.Fatal(err)
	}
	var cases struct{ Clock, Paper [][]any }
	if err := json.Unmarshal(text, &cases); err != nil {
		t.Fatal(err)
	}
	for _, c := range cases.Clock {
		if got := say.Clock(c[0].(float64), int(c[1].(float64))); got != c[2] {
			t.Errorf("%v is %s", c, got)
		}
	}
	for _, c := range cases.Paper {
		if got := say.Paper(c[0].(float64)); got != c[1] {
			t.Errorf("%v is %s", c, got)
		}
	}
}

func TestCount(t *testing.T) {
	for _, c := range []struct {
		n    int
		noun string
		want string
	}{
		{1, "note", "1 note"}, {0, "note", "0 notes"}, {2, "punch", "2 punches"}, {2, "pitch", "2 pitches"}, {3, "talea", "3 taleae"},
		{1, "color", "1 color"}, {2, "copy", "2 copies"}, {2, "day", "2 days"}, {2, "key", "2 keys"},
	} {
		if got := say.Count(c.n, c.noun); got != c.want {
			t.Errorf("%s, want %s", got, c.want)
		}
	}
}

// A minute of work that has begun counts whole: 8 h 41 min is 31,260 s.
func TestWork(t *testing.T) {
	for sec, want := range map[float64]string{0: "0 min", 1: "1 min", 60: "1 min", 60.5: "2 min", 3600: "1 h 00 min",
		31260: "8 h 41 min"} {
		if got := say.Work(sec); got != want {
			t.Errorf("%v s: %s, want %s", sec, got, want)
		}
	}
}

func TestInstant(t *testing.T) {
	for sec, want := range map[float64]string{15.3764: "15.376 s", 59.9996: "1:00.000", 65.25: "1:05.250",
		3936: "1:05:36.000", 0: "0.000 s"} {
		if got := say.Instant(sec); got != want {
			t.Errorf("%v s: %s, want %s", sec, got, want)
		}
	}
}

func TestList(t *testing.T) {
	for want, names := range map[string][]string{"": nil, "a": {"a"}, "a and b": {"a", "b"}, "a, b and c": {"a", "b", "c"}} {
		if got := say.List(names); got != want {
			t.Errorf("%v: %s", names, got)
		}
	}
}
