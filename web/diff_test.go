package web

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func TestCompare(t *testing.T) {
	for _, c := range []struct{ from, to, want string }{
		{"", "", "[]"},
		{"a\n", "a\n", "[{same [a]}]"},
		{"", "a\nb\n", "[{add [a b]}]"},
		{"a\nb\n", "", "[{del [a b]}]"},
		{"a\nb\nc\n", "a\nc\n", "[{same [a]} {del [b]} {same [c]}]"},
		{"a\nb\nc\n", "a\nx\nc\n", "[{same [a]} {del [b]} {add [x]} {same [c]}]"},
		// The example of Myers' article: A = abcabba, B = cbabac, distance 5.
		{"a\nb\nc\na\nb\nb\na\n", "c\nb\na\nb\na\nc\n", "[{del [a b]} {same [c]} {add [b]} {same [a b]} {del [b]} {same [a]} {add [c]}]"},
	} {
		if got := fmt.Sprint(compare(c.from, c.to)); got != c.want {
			t.Errorf("from %q to %q: %s, want %s", c.from, c.to, got, c.want)
		}
	}
}

// TestCompareIsShortest holds the way against the length that the textbook's
// table of longest common subsequences gives.
func TestCompareIsShortest(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.SliceOfN(rapid.SampledFrom([]string{"a", "b", "c", "d"}), 0, 30)
		a, b := text.Draw(t, "a"), text.Draw(t, "b")
		var from, to []string
		changes := 0
		for _, h := range compare(joined(a), joined(b)) {
			if h.Kind != add {
				from = append(from, h.Lines...)
			}
			if h.Kind != del {
				to = append(to, h.Lines...)
			}
			if h.Kind != same {
				changes += len(h.Lines)
			}
		}
		if !slices.Equal(from, a) || !slices.Equal(to, b) {
			t.Fatalf("from %v to %v: leads from %v to %v", a, b, from, to)
		}
		if want := len(a) + len(b) - 2*common(a, b); changes != want {
			t.Fatalf("from %v to %v: %d changes, want %d", a, b, changes, want)
		}
	})
}

func joined(lines []string) string {
	var b strings.Builder
	for _, l := range lines {
		b.WriteString(l + "\n")
	}
	return b.String()
}

// common is the length of the longest common subsequence.
func common(a, b []string) int {
	row := make([]int, len(b)+1)
	for _, x := range a {
		corner := 0
		for j, y := range b {
			above := row[j+1]
			if x == y {
				row[j+1] = corner + 1
			} else {
				row[j+1] = max(above, row[j])
			}
			corner = above
		}
	}
	return row[len(b)]
}

// TestCompareIsBounded: two long texts without a common line are told apart at
// once.
func TestCompareIsBounded(t *testing.T) {
	var a, b strings.Builder
	for i := range 100_000 {
		fmt.Fprintf(&a, "a%d\n", i)
		fmt.Fprintf(&b, "b%d\n", i)
	}
	if got := compare(a.String(), b.String()); len(got) != 2 || len(got[0].Lines) != 100_000 {
		t.Errorf("%d hunks", len(got))
	}
}
