package workshop

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"slices"

	"rollwright/music/piece"
	"rollwright/music/piecefile"
	"rollwright/paper/inspect"
	"rollwright/text/blocks"
	"rollwright/text/source"
)

// Bounds of trying out remedies, each of which reads and performs the piece once more:
// less than half a second of them is not noticed, and a larger piece is not tried at all.
const (
	mostTries   = 48
	triedEvents = 400_000 // of all tries together
)

// try is how many findings are left in the text that a remedy would make.
func (j *Job) try(c inspect.Change) (counts [3]int, ok bool) {
	text, err := Changed(j.File, j.Piece, c)
	if err != nil || bytes.Equal(text, j.File.Text) {
		return counts, false
	}
	after, err := NewWith(context.Background(), &source.File{Name: j.File.Name, Text: text}, j.Folder, j.reach)
	if err != nil || after.Performance.Count > 2*j.Performance.Count {
		return counts, false
	}
	after.Tried = j.Tried
	report, err := after.Findings()
	if err != nil {
		return counts, false
	}
	return report.Counts, true
}

// Changed is the text of a piece with a change that may help against a finding, every
// other byte as it was.
func Changed(f *source.File, p *piece.Piece, c inspect.Change) ([]byte, error) {
	switch {
	case c.Item > 0:
		from := c.Item - 1
		if from > len(f.Text) || !bytes.HasPrefix(f.Text[from:], []byte(c.Old.Text)) {
			return nil, errors.New("the item does not stand where it stood")
		}
		return slices.Concat(f.Text[:from], []byte(c.Value), f.Text[from+len(c.Old.Text):]), nil
	case c.Attr == "":
		return piecefile.Replace(f, c.Old, c.Value)
	}
	path, err := pathOf(f, p, c)
	if err != nil {
		return nil, err
	}
	return blocks.Set(f.Text, path, c.Attr, c.Value)
}

// pathOf leads to the block that a change is written into: the voice's own, the piano's
// own, or the piece where it has no piano blocks.
func pathOf(f *source.File, p *piece.Piece, c inspect.Change) ([]string, error) {
	switch {
	case c.Voice >= 0:
		return piecefile.Path(f, p.Voices[c.Voice].Name)
	case p.Pianos[c.Piano].Name != "":
		return []string{fmt.Sprintf("piano %s[1]", p.Pianos[c.Piano].Name)}, nil
	}
	return nil, nil
}
