package workshop

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"iter"
	"path/filepath"
	"slices"
	"strings"

	"rollwright/music/event"
	"rollwright/music/midi"
	"rollwright/paper/edition"
	"rollwright/paper/instrument"
	"rollwright/paper/roll"
	"rollwright/paper/table"
	scan "rollwright/scan/read"
	"rollwright/scan/report"
	"rollwright/text/outfile"
	"rollwright/text/source"
)

// CanWriteReading is an error for a name whose extension a roll that was read from
// pictures cannot be written as. "-" is a table on standard output. Of o, which may
// not be nil, the machine counts.
func CanWriteReading(path string, o *Options) error {
	switch strings.ToLower(filepath.Ext(path)) {
	case ".csv", ".mid", ".html", ".piece":
		return nil
	}
	if path == "-" {
		return nil
	}
	p, err := ProductOf(path, &Options{Machining: o.Machining})
	switch {
	case err != nil:
		return err
	case p.Needs != NeedsRolls || p.Name == "sound":
		return fmt.Errorf("%s: a roll that is read from pictures is not written as %s; write .csv .mid .piece .html .pdf .svg .dxf .png .nc", path, p.Called)
	}
	return nil
}

// WriteReading writes a roll that was read from pictures, as its extension says,
// for the machine in o where it names one, and returns the names of the files made.
func WriteReading(ctx context.Context, path string, r *scan.Reading, o *Options, stdout io.Writer) ([]string, error) {
	paper := r.Roll()
	write := func(fill func(w io.Writer) error) ([]string, error) {
		return []string{path}, outfile.Write(ctx, path, fill)
	}
	switch extension := strings.ToLower(filepath.Ext(path)); {
	case path == "-":
		return nil, table.WriteHoles(stdout, table.CSV, []*roll.Roll{paper})
	case extension == ".csv":
		return write(func(w io.Writer) error { return table.WriteHoles(w, table.CSV, []*roll.Roll{paper}) })
	case extension == ".mid":
		return write(func(w io.Writer) error { return writeRollMIDI(w, titleOf(r), paper) })
	case extension == ".piece":
		text, err := retold(r, filepath.Dir(path))
		if err != nil {
			return nil, err
		}
		return write(func(w io.Writer) error {
			_, err := w.Write(text)
			return err
		})
	case extension == ".html":
		return write(func(w io.Writer) error { return report.Write(ctx, w, titleOf(r), r) })
	}
	o = &Options{Machining: o.Machining}
	p, err := ProductOf(path, o)
	if err != nil {
		return nil, err
	}
	return p.together(ctx, path, func(path string) ([]string, error) {
		return p.write(ctx, &out{path: path, o: o, edition: edition.Whole(titleOf(r), paper)})
	})
}

// pictureExtensions are those of files that are read as pictures of paper.
var pictureExtensions = []string{".png", ".tif", ".tiff", ".pgm", ".ppm", ".pbm", ".pnm", ".jpg", ".jpeg"}

// IsPicture reports whether files of an extension, in small letters with its dot, are read
// as pictures of paper.
func IsPicture(extension string) bool { return slices.Contains(pictureExtensions, extension) }

// ofPicture is a picture of paper, read as it lies without further word, with
// everything that follows from its holes.
func ofPicture(ctx context.Context, name string, g Given) (*Job, error) {
	in, err := g.instrument(filepath.Dir(name))
	if err != nil {
		return nil, err
	}
	r, err := scan.Read(ctx, []string{name}, scan.Options{Instruments: []*instrument.Instrument{in}})
	if err != nil {
		return nil, unreadPicture(name, err)
	}
	return OfRolls(&source.File{Name: name}, filepath.Dir(name), g, []*roll.Roll{r.Roll()}), nil
}

// unreadPicture adds to what a picture does not tell what would.
func unreadPicture(name string, err error) error {
	if errors.Is(err, fs.ErrNotExist) {
		return unreadable(name, err)
	}
	return fmt.Errorf("%w; read takes what a picture does not say, and writes a table of holes", err)
}

// titleOf is the name of the first picture.
func titleOf(r *scan.Reading) string {
	base := filepath.Base(r.Pictures[0].Name)
	return strings.TrimSuffix(base, filepath.Ext(base))
}

// writeRollMIDI writes what a roll plays, its pedals from their ports.
func writeRollMIDI(w io.Writer, title string, paper *roll.Roll) error {
	in := paper.Instrument
	score := midi.Score{Title: title, EndSec: paper.EndSec, Pianos: []midi.Piano{{SingleSec: in.SingleSec()}},
		Voices: []midi.Voice{{Name: title}}}
	edge := in.EdgeShiftMM()
	for _, s := range paper.Slots {
		if role := in.Bar.Ports[s.Port].Role; role == instrument.Sustain || role == instrument.Soft {
			score.Pedals = append(score.Pedals, midi.Pedal{Soft: role == instrument.Soft,
				StartSec: max(in.Transport.Sec(s.LeadMM+edge), 0), EndSec: max(in.Transport.Sec(s.TrailMM-edge), 0)})
		}
	}
	return score.Write(w, ofOneVoice(roll.Play(paper)))
}

// ofOneVoice gives notes that nothing caused to the first voice.
func ofOneVoice(events iter.Seq[event.Event]) iter.Seq[event.Event] {
	return func(yield func(event.Event) bool) {
		n := int32(0)
		for e := range events {
			n++
			e.Voice, e.Note, e.StartSec = 0, n, max(e.StartSec, 0)
			if !yield(e) {
				return
			}
		}
	}
}
