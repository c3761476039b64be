package workshop

import (
	"bytes"
	"errors"
	"fmt"
	"path"
	"path/filepath"
	"strings"

	"rollwright/music/piece"
	"rollwright/music/piecefile"
	"rollwright/sound"
	"rollwright/text/source"
)

// tune gives the pianos the tunings that the piece asks for.
func (j *Job) tune() error {
	var errs source.Errors
	for i, p := range j.Piece.Pianos {
		tuning, err := j.tuningOf(&p)
		if err != nil {
			bad := &source.Error{File: j.File, At: p.Places.Of("tuning"), Problem: err.Error()}
			var missing *piecefile.ExcerptError
			if errors.As(err, &missing) {
				bad.Problem, bad.Hint = missing.Problem, missing.Hint
			}
			errs = append(errs, bad)
			continue
		}
		j.Pianos[i].Tuning = tuning
	}
	return errs.Err()
}

// tuningOf is the tuning of a piano of the piece: that of a name, or a table's beside the
// piece.
func (j *Job) tuningOf(p *piece.Piano) (sound.Tuning, error) {
	a4 := p.A4.Float64()
	if !isTable(p.Tuning) {
		return sound.ParseTuning(p.Tuning, a4)
	}
	named := filepath.ToSlash(p.Tuning)
	if path.IsAbs(named) || strings.Contains(named, `\`) || !filepath.IsLocal(filepath.FromSlash(named)) || j.others == nil {
		return sound.Tuning{}, &piecefile.ExcerptError{Attr: "tuning",
			Problem: source.Printable(p.Tuning) + " is not beside this piece, nor below it",
			Hint:    "copy the table into the folder of the piece, and name it from there"}
	}
	text, err := j.others.read(path.Clean(named))
	j.Others = j.others.names
	if err != nil {
		return sound.Tuning{}, err
	}
	tuning, err := sound.ReadTuning(bytes.NewReader(text))
	if err != nil {
		return sound.Tuning{}, fmt.Errorf("%s: %w", source.Printable(p.Tuning), err)
	}
	return tuning.At(a4)
}

// isTable reports whether a tuning is that of a file.
func isTable(name string) bool { return strings.EqualFold(path.Ext(name), ".csv") }
