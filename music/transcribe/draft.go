package transcribe

import (
	"fmt"
	"strings"

	"rollwright/music/piece"
	"rollwright/music/piecefile"
	"rollwright/text/source"
)

// Text is the piece p, which File.Piece has made of the file, as the text of a piece
// file with remarks that say what came from where. Parse reads it to the same events.
// The error is a *piecefile.TooLargeError when the text would be too long.
func (f *File) Text(p *piece.Piece) ([]byte, error) {
	d, err := piecefile.DraftOf(p)
	if err != nil {
		return nil, err
	}
	d.Head = f.head()
	voice := 0
	for i := range f.Parts {
		part := &f.Parts[i]
		if len(part.Notes) == 0 {
			continue
		}
		l, err := newLines(part.Notes)
		if err != nil {
			return nil, err
		}
		for n := range l.heads {
			e := d.Find("voice", p.Voices[voice].Name)
			e.Remark = fmt.Sprintf("Part %d of %s, line %d of %d: %s.", part.Number, source.Printable(f.Name), n+1, len(l.heads),
				count(l.count[n], "note"))
			voice++
		}
	}
	return piecefile.DraftText(d)
}

func (f *File) head() string {
	lines := []string{fmt.Sprintf("Written from %s.", source.Printable(f.Name)), "",
		"Each voice is one line of the file, pitch and duration together; the number 1 is a sixteenth. " +
			"Change what you like: this text stands alone."}
	if len(f.Said) > 0 {
		lines = append(lines, "")
	}
	for _, said := range f.Said {
		lines = append(lines, strings.ToUpper(said[:1])+said[1:]+".")
	}
	return strings.Join(lines, "\n")
}
