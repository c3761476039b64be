package exact

import (
	"fmt"
	"strings"
)

// names are the words of Parse, functions with their parentheses.
var names = []string{"pi", "e", "phi", "sqrt(x)", "cbrt(x)", "root(n, x)", "pow(x, p/q)", "cents(n)"}

// NameHint says to someone who has written a word that Parse does not know which
// of its names was probably meant, and on a new line which there are.
func NameHint(word string) string {
	last := len(names) - 1
	all := "the names are " + strings.Join(names[:last], ", ") + " and " + names[last]
	if near := nearestName(word); near != "" {
		return fmt.Sprintf("did you mean %s?\n%s", near, all)
	}
	return all
}

// nearestName is the name that is one slip away from the word and begins as it
// does, the one with most letters in common; empty when there is none.
func nearestName(word string) string {
	best, most := "", 0
	for _, name := range names {
		letters, _, _ := strings.Cut(name, "(")
		if same, ok := oneSlip(strings.ToLower(word), letters); ok && same > most {
			best, most = name, same
		}
	}
	return best
}

// oneSlip reports whether two words are the same but for one letter too many, too
// few or wrong, or two that have changed places, and how many letters they have in
// common before that.
func oneSlip(a, b string) (same int, ok bool) {
	for same < min(len(a), len(b)) && a[same] == b[same] {
		same++
	}
	a, b = a[same:], b[same:]
	for a != "" && b != "" && a[len(a)-1] == b[len(b)-1] {
		a, b = a[:len(a)-1], b[:len(b)-1]
	}
	swapped := len(a) == 2 && len(b) == 2 && a[0] == b[1] && a[1] == b[0]
	return same, swapped || len(a) <= 1 && len(b) <= 1
}
