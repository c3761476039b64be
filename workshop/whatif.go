package workshop

import (
	"path/filepath"

	"rollwright/paper/instrument"
	"rollwright/telling/whatif"
	"rollwright/text/infile"
)

// whatIf is the piece as text with the instruments that it names, so that a page can
// perform it by itself; nil where these do not say all: where notes come from other files,
// or instruments from elsewhere than the disk.
func (j *Job) whatIf() *whatif.Source {
	if j.Piece == nil || len(j.Others) > 0 {
		return nil
	}
	s := &whatif.Source{Name: filepath.Base(j.File.Name), Text: string(j.File.Text), Files: map[string]string{}}
	open := func(path string) ([]byte, error) {
		at := path
		if !filepath.IsAbs(at) {
			at = filepath.Join(j.Folder, at)
		}
		text, err := infile.Read(at, maxBytes)
		s.Files[filepath.ToSlash(path)] = string(text)
		return text, err
	}
	for _, piano := range j.Piece.Pianos {
		if _, err := instrument.LoadWith(piano.Instrument, "", open); err != nil {
			return nil
		}
	}
	return s
}
