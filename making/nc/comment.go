package nc

import (
	"strings"
	"unicode"
)

// longestLine is what the small displays of controls show of a comment, its
// brackets included; RS274/NGC allows 256 (3.3.1).
const longestLine = 80

// comment writes text as comments, a line each, the second and what follows set
// in.
func (e *encoder) comment(text string) {
	room := longestLine - len("()")
	for text = plain(text); len(text) > room; text = "  " + strings.TrimLeft(text, " ") {
		end := strings.LastIndexByte(text[:room+1], ' ')
		if strings.TrimSpace(text[:max(end, 0)]) == "" {
			end = room // one word without end
		}
		e.line("(" + text[:end] + ")")
		text = text[end:]
	}
	e.line("(" + text + ")")
}

// harmless are the characters of a comment besides letters, digits and blanks of
// ASCII. The brackets of a comment end it (RS274/NGC 3.3.4). Controls that read
// a program as it comes over a line take ! for a feed hold, ~ for its end, ? for
// a question about their state, even within a comment; to others % ends the
// program, ; begins a comment, # names a parameter (from memory).
const harmless = ".,-+=/[]:&"

// plain is text in the characters of a comment, with one blank between words.
func plain(text string) string {
	var b strings.Builder
	for _, r := range text {
		b.WriteString(letters(r))
	}
	return beforeStops.Replace(strings.Join(strings.Fields(b.String()), " "))
}

// beforeStops takes away the blank that a lost sign leaves before a stop.
var beforeStops = strings.NewReplacer(" :", ":", " ,", ",")

// letters is what stands in a comment for a character: itself, if it does no
// harm, what it is in ASCII, or an x for a letter of another script and a blank
// for any other sign.
func letters(r rune) string {
	ascii, known := inASCII[r]
	switch {
	case r < unicode.MaxASCII && (unicode.IsLetter(r) || unicode.IsDigit(r) || strings.ContainsRune(harmless, r)):
		return string(r)
	case known:
		return ascii
	case unicode.Is(unicode.Mn, r): // an accent on the letter before it
		return ""
	case unicode.IsLetter(r) || unicode.IsNumber(r):
		return "x"
	}
	return " "
}

// inASCII are signs, and letters of the Latin script, in ASCII: umlauts as they
// are written where there are none, letters with other accents without them.
var inASCII = func() map[rune]string {
	table := map[rune]string{
		'(': "[", ')': "]", '{': "[", '}': "]", '!': ".", '?': ".", ';': ":", '_': "-", '|': "/", '\\': "/",
		'\u2010': "-", '\u2011': "-", '\u2012': "-", '\u2013': "-", '\u2014': "-", '\u2212': "-",
		'\u2026': "...", '\u00d7': "x", '\u00b7': ",", '\u266d': "b",
		'Ä': "Ae", 'ä': "ae", 'Ö': "Oe", 'ö': "oe", 'Ü': "Ue", 'ü': "ue", 'ß': "ss", 'ẞ': "SS",
		'Å': "Aa", 'å': "aa", 'Æ': "Ae", 'æ': "ae", 'Ø': "Oe", 'ø': "oe", 'Œ': "Oe", 'œ': "oe",
		'Þ': "Th", 'þ': "th", 'Ĳ': "IJ", 'ĳ': "ij",
		'½': "1/2", '¼': "1/4", '¾': "3/4",
	}
	for in, accented := range map[string]string{
		"A": "ÀÁÂÃĀĂĄ", "a": "àáâãāăąª", "C": "ÇĆĈĊČ", "c": "çćĉċč", "D": "ĎĐÐ", "d": "ďđð",
		"E": "ÈÉÊËĒĔĖĘĚ", "e": "èéêëēĕėęě", "G": "ĜĞĠĢ", "g": "ĝğġģ", "H": "ĤĦ", "h": "ĥħ",
		"I": "ÌÍÎÏĨĪĬĮİ", "i": "ìíîïĩīĭįı", "J": "Ĵ", "j": "ĵ", "K": "Ķ", "k": "ķĸ", "L": "ĹĻĽĿŁ", "l": "ĺļľŀł",
		"N": "ÑŃŅŇŊ", "n": "ñńņňŉŋ", "O": "ÒÓÔÕŌŎŐ", "o": "òóôõōŏőº", "R": "ŔŖŘ", "r": "ŕŗř",
		"S": "ŚŜŞŠȘ", "s": "śŝşšșſ", "T": "ŢŤŦȚ", "t": "ţťŧț", "U": "ÙÚÛŨŪŬŮŰŲ", "u": "ùúûũūŭůűų",
		"W": "Ŵ", "w": "ŵ", "Y": "ÝŶŸ", "y": "ýŷÿ", "Z": "ŹŻŽ", "z": "źżž", "1": "¹", "2": "²", "3": "³",
	} {
		for _, r := range accented {
			table[r] = in
		}
	}
	for _, r := range "'\u2018\u2019" { // within a word
		table[r] = ""
	}
	return table
}()
