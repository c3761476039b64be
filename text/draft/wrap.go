package draft

import (
	"strings"
	"unicode/utf8"
)

// wrapped spreads words over lines of at most so many columns; a word that is wider
// has a line of its own. Where there are bar lines, a line ends with one if that
// leaves it more than half full.
func wrapped(words []string, columns int) []string {
	var lines []string
	for len(words) > 0 {
		n := fitting(words, columns)
		if n < len(words) {
			n = atBar(words, n)
		}
		lines = append(lines, strings.Join(words[:n], " "))
		words = words[n:]
	}
	return lines
}

// fitting is how many words fit, at least one.
func fitting(words []string, columns int) int {
	width := utf8.RuneCountInString(words[0])
	for n := 1; n < len(words); n++ {
		if width += 1 + utf8.RuneCountInString(words[n]); width > columns {
			return n
		}
	}
	return len(words)
}

// atBar is the number of words, more than half of n and at most n, that ends with
// the last bar line among them; n where there is none.
func atBar(words []string, n int) int {
	for m := n; m > n/2; m-- {
		if words[m-1] == "|" {
			return m
		}
	}
	return n
}
