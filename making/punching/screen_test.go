package punching_test

import (
	"fmt"
	"strings"
	"testing"
	"unicode/utf8"

	"pgregory.net/rapid"

	"rollwright/making/punching"
	"rollwright/text/say"
)

// wide is a row of 40 strokes, as a view.
func wide(n int) punching.View {
	v := punching.View{Row: 7, Rows: 900, Reading: "58 + 17", Place: "117.70 mm", Punches: 40, OfPunches: 9876, StrokeSec: 5, RowSec: 4,
		Assumed: true,
		Left:    "24 h 30 min", Sessions: 13, DoneAt: noon(), Moves: []punching.Move{{Back: true, Text: "12 + 07"},
			{Text: "1 + 00"}}}
	for i := range n {
		v.Strokes = append(v.Strokes, punching.Stroke{Number: 30 + i, Name: fmt.Sprintf("C%d", i%9), N: i, Of: 40})
	}
	return v
}

// Whatever the screen, nothing is wider or higher than it, and all parts of a
// row together show every stroke once.
func TestScreensFit(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := wide(rapid.IntRange(1, 60).Draw(t, "strokes"))
		if rapid.Bool().Draw(t, "forward") {
			v.Moves = v.Moves[1:]
		}
		s := punching.Screen{Head: "Weft · left", Columns: rapid.IntRange(30, 220).Draw(t, "columns"),
			Rows: rapid.IntRange(12, 70).Draw(t, "rows"), Blocks: rapid.Bool().Draw(t, "blocks")}
		seen := map[string]int{}
		_, parts := s.Draw(v)
		for part := range parts {
			s.Part = part
			lines, _ := s.Draw(v)
			if len(lines) != s.Rows {
				t.Fatalf("%d lines on %d rows", len(lines), s.Rows)
			}
			for _, l := range lines {
				if n := utf8.RuneCountInString(l.Text); n > s.Columns {
					t.Fatalf("%q has %d of %d columns", l.Text, n, s.Columns)
				}
				for _, word := range strings.Fields(strings.ReplaceAll(l.Text, "·", " ")) {
					if strings.HasSuffix(word, "/40") {
						seen[word]++
					}
				}
			}
		}
		for _, stroke := range v.Strokes {
			if seen[stroke.Chain()] != 1 {
				t.Fatalf("%d columns, %d rows, %d parts: stroke %s is shown %d times", s.Columns, s.Rows, parts, stroke.Chain(),
					seen[stroke.Chain()])
			}
		}
	})
}

// All parts of a list together show every line of it once, and the screen says how to
// see them and how to leave.
func TestListsFit(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 150).Draw(t, "lines")
		s := punching.Screen{Head: "Weft · left", Columns: rapid.IntRange(30, 120).Draw(t, "columns"),
			Rows: rapid.IntRange(16, 50).Draw(t, "rows")}
		for i := range n {
			s.List = append(s.List, fmt.Sprintf("patch <%d>: %s", i+1,
				strings.Repeat("31 C#3 ", rapid.IntRange(1, 8).Draw(t, "words"))))
		}
		seen := map[string]int{}
		_, parts := s.Draw(wide(1))
		for part := range parts {
			s.Part = part
			lines, again := s.Draw(wide(1))
			if len(lines) != s.Rows || again != parts {
				t.Fatalf("%d lines on %d rows, %d parts and then %d", len(lines), s.Rows, parts, again)
			}
			all := ""
			for _, l := range lines {
				if n := utf8.RuneCountInString(l.Text); n > s.Columns {
					t.Fatalf("%q has %d of %d columns", l.Text, n, s.Columns)
				}
				all += l.Text + " "
			}
			for i := range n {
				seen[fmt.Sprintf("<%d>:", i+1)] += strings.Count(all, fmt.Sprintf("<%d>:", i+1))
			}
			if strings.Contains(all, "space more") != (parts > 1) || !strings.Contains(all, "goes back") {
				t.Fatalf("%d parts, and the keys are %q", parts, all)
			}
		}
		for i := range n {
			if at := fmt.Sprintf("<%d>:", i+1); seen[at] != 1 {
				t.Fatalf("%s is shown %d times in %d parts", at, seen[at], parts)
			}
		}
	})
}

// The largest letters that fit are taken: they are higher on a larger screen.
func TestScreenGrows(t *testing.T) {
	high := func(columns, rows int) int {
		v := wide(1)
		v.Moves = v.Moves[1:]
		s := punching.Screen{Columns: columns, Rows: rows, Blocks: true}
		lines, _ := s.Draw(v)
		n := 0
		for _, l := range lines {
			if strings.ContainsAny(l.Text, "█▀▄") {
				n++
			}
		}
		return n
	}
	if small, middle, large := high(40, 20), high(80, 30), high(200, 60); !(small < middle && middle < large) {
		t.Errorf("rows of large letters: %d, %d, %d", small, middle, large)
	}
}

func TestHours(t *testing.T) {
	for sec, want := range map[float64]string{0: "0 min", 1: "1 min", 59 * 60: "59 min", 3600: "1 h 00 min",
		3661: "1 h 02 min"} {
		if got := say.Work(sec); got != want {
			t.Errorf("%g s: %s, want %s", sec, got, want)
		}
	}
}

func ExampleLarge() {
	for _, line := range punching.Large("18", 1, false) {
		fmt.Printf("|%s|\n", line)
	}
	// Output:
	// |  #    ### |
	// | ##   #   #|
	// |  #   #   #|
	// |  #    ### |
	// |  #   #   #|
	// |  #   #   #|
	// | ###   ### |
}
