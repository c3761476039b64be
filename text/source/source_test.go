package source

import (
	"bytes"
	"fmt"
	"strings"
	"testing"
)

func TestPosAtAndLine(t *testing.T) {
	f := &File{Name: "x", Text: []byte("ab\r\né♯ c\n\nd")}
	for _, c := range []struct {
		offset int
		want   Pos
	}{
		{0, Pos{1, 1}}, {2, Pos{1, 3}}, {4, Pos{2, 1}}, {6, Pos{2, 2}}, {9, Pos{2, 3}}, {10, Pos{2, 4}}, {12, Pos{3, 1}}, {13, Pos{4, 1}}, {99, Pos{4, 2}}, {-1, Pos{1, 1}},
	} {
		if got := f.PosAt(c.offset); got != c.want {
			t.Errorf("byte %d is at %v, want %v", c.offset, got, c.want)
		}
	}
	for n, want := range []string{"", "ab", "é♯ c", "", "d", ""} {
		if n == 0 {
			continue
		}
		if got := f.Line(n); got != want {
			t.Errorf("line %d is %q, want %q", n, got, want)
		}
	}
	if (*File)(nil).Line(1) != "" {
		t.Error("no file has a line")
	}
}

// Edit distances worked by hand: colour to color one letter, hgih to high one
// exchange of neighbours; of six letters two may differ, of three one.
func TestNearest(t *testing.T) {
	names := []string{"color", "talea", "high", "low"}
	for _, c := range []struct{ word, want string }{
		{"colour", "color"}, {"hgih", "high"}, {"TALEA", "talea"}, {"lwo", "low"}, {"lo", "low"}, {"taela", "talea"}, {"extent", ""}, {"", ""}, {"x", ""}, {strings.Repeat("a", 99), ""},
	} {
		if got, ok := Nearest(c.word, names); got != c.want || ok != (c.want != "") {
			t.Errorf("nearest to %q is %q, %v; want %q", c.word, got, ok, c.want)
		}
	}
}

func TestDistance(t *testing.T) {
	for _, c := range []struct {
		a, b string
		want int
	}{
		{"", "", 0}, {"", "abc", 3}, {"abc", "", 3}, {"abc", "abc", 0}, {"abc", "acb", 1}, {"kitten", "sitting", 3}, {"ca", "abc", 3}, {"ab", "ba", 1},
	} {
		if got := distance(c.a, c.b); got != c.want {
			t.Errorf("distance of %q and %q is %d, want %d", c.a, c.b, got, c.want)
		}
	}
}

func TestLongLines(t *testing.T) {
	line := strings.Repeat("ab ", 100)
	e := &Error{File: &File{Name: "x", Text: []byte(line)}, At: Pos{1, 151}, Width: 2, Problem: "here"}
	lines := strings.Split(e.Error(), "\n")
	if len(lines) != 3 || len(lines[1]) > 82 {
		t.Fatalf("%q", lines)
	}
	at := strings.Index(lines[2], "^^")
	if lines[1][at:at+2] != "ab" {
		t.Errorf("the marker stands under %q, want the ab at column 151", lines[1][at:at+2])
	}
}

func TestErrorsAreSortedAndPrintable(t *testing.T) {
	f := &File{Name: "x\x1b[2J", Text: []byte("a\tb\x07\n")}
	es := Errors{{File: f, At: Pos{1, 4}, Problem: "second"}, {File: f, At: Pos{1, 1}, Problem: "first"},
		{Problem: "without a place"}}
	got := es.Err().Error()
	if strings.ContainsAny(got, "\x1b\x07\t") || !(strings.Index(got, "without") < strings.Index(got, "first") &&
		strings.Index(got, "first") < strings.Index(got, "second")) {
		t.Errorf("%q", got)
	}
	if Errors(nil).Err() != nil || (Errors{}).Err() != nil {
		t.Error("no errors are an error")
	}
}

func ExampleError() {
	f := &File{Name: "tide.piece", Text: []byte("voice \"low\" {\n  color = \"C2 H2\"\n}\n")}
	fmt.Println(&Error{File: f, At: f.PosAt(27), Width: 2, Problem: `there is no pitch "H2"`, Hint: "write: B2"})
	// Output:
	// tide.piece:2:14: there is no pitch "H2"
	//       color = "C2 H2"
	//                  ^^
	//   write: B2
}

// BenchmarkManyErrors says 14,800 complaints about as many places of a text, which
// takes as long as ten times 1,480.
func BenchmarkManyErrors(b *testing.B) {
	for _, n := range []int{1480, 14_800} {
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			f := &File{Name: "many.piece", Text: bytes.Repeat([]byte("  titel = \"x\"\n"), n)}
			var all Errors
			for i := range n {
				all = append(all, &Error{File: f, At: Pos{Line: i + 1, Column: 3}, Problem: "there is no titel"})
			}
			for b.Loop() {
				if text := all.Error(); strings.Count(text, "titel = ") != n {
					b.Fatal("not every line is shown")
				}
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(n), "ns/error")
		})
	}
}
