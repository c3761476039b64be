package words

// pluralRule is which form a whole number takes, from 0.
type pluralRule func(n uint64) int

// pluralRules are rules of the Unicode CLDR for whole numbers (from memory),
// under names of our own; each covers many languages.
var pluralRules = map[string]pluralRule{
	// English, German, Italian, Spanish, Dutch
	"one-other":      func(n uint64) int { return choose(n == 1, 0, 1) },
	"zero-one-other": func(n uint64) int { return choose(n < 2, 0, 1) },                               // French
	"same":           func(uint64) int { return 0 },                                                   // Japanese, Chinese
	"one-few-other":  func(n uint64) int { return choose(n == 1, 0, choose(n >= 2 && n <= 4, 1, 2)) }, // Czech
	"polish":         func(n uint64) int { return choose(n == 1, 0, choose(few(n), 1, 2)) },
	"russian": func(n uint64) int {
		return choose(n%10 == 1 && n%100 != 11, 0, choose(few(n), 1, 2)) // and Ukrainian
	},
}

// few reports whether n ends in 2 to 4, but not in 12 to 14.
func few(n uint64) bool { return n%10 >= 2 && n%10 <= 4 && (n%100 < 12 || n%100 > 14) }

func choose(yes bool, a, b int) int {
	if yes {
		return a
	}
	return b
}

func ruleNames() []string { return sortedKeys(pluralRules) }
