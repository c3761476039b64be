package show

import (
	"fmt"
	"io"
	"strings"

	"rollwright/draw/typeface"
	"rollwright/text/words"
)

// talkWide is how many characters a line of the text for the speaker has.
const talkWide = 78

// WriteTalk writes what to say and how long each step lasts, for a talk with the
// files of the steps; sound is the extension of their sounds. The error is that
// of w.
func (l *Lecture) WriteTalk(w io.Writer, sound string) error {
	t := &teller{l: l, book: l.Book}
	var b strings.Builder
	fmt.Fprintf(&b, "%s\n%s\n\n", l.Title, strings.Repeat("=", len([]rune(typeface.Clean(l.Title)))))
	b.WriteString(l.Book.Say("sheet.total", words.Args{"steps": len(l.Steps), "length": t.length(l.Seconds())}) + "\n")
	if l.Minutes > 0 {
		b.WriteString(l.Book.Say("sheet.planned", words.Args{"minutes": int(l.Minutes)}) + "\n")
	}
	until := 0.0
	for _, s := range l.Steps {
		lasts, files := l.Book.Say("talk.nothing", nil), s.FileName()+".png "+s.FileName()+".svg"
		if s.Hear != Nothing {
			lasts = l.Book.Say("talk.lasts", words.Args{"length": t.length(s.Seconds())})
			files = s.FileName() + sound + " " + files
		}
		until += s.Seconds()
		fmt.Fprintf(&b, "\n%d  %s (%s)\n", s.Number, s.Title, lasts)
		fmt.Fprintf(&b, "   %s: %s\n", l.Book.Say("talk.files", nil), files)
		for _, p := range append(append([]string{}, s.Text...), s.Say...) {
			b.WriteString("\n" + wrap(p, talkWide-3, "   "))
		}
	}
	_, err := io.WriteString(w, b.String())
	return err
}

// wrap breaks text at blanks into lines of at most so many characters.
func wrap(text string, width int, indent string) string {
	var b strings.Builder
	line := 0
	for i, word := range strings.Fields(text) {
		n := len([]rune(word))
		switch {
		case i == 0:
			b.WriteString(indent)
		case line+1+n > width:
			b.WriteString("\n" + indent)
			line = 0
		default:
			b.WriteString(" ")
			line++
		}
		b.WriteString(word)
		line += n
	}
	return b.String() + "\n"
}
