package workshop

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"rollwright/making/calibrate"
	"rollwright/paper/instrument"
	"rollwright/paper/roll"
	"rollwright/scan/overhear"
	"rollwright/sound/take"
	"rollwright/text/choice"
	"rollwright/text/outfile"
	"rollwright/text/source"
)

// Overheard is a recording held against the roll that it is said to hold.
type Overheard struct {
	*overhear.Result
	take string // its file
	like string // the instrument of the plan, as named
	base string // the folder from which that counts
}

// Overhear holds the recording called recording against the roll of plan: any
// source, of several pianos the named one, or a calibration test roll, by its file
// of readings or its folder.
func Overhear(ctx context.Context, plan, recording, piano string, stdin io.Reader, g Given) (*Overheard, error) {
	h := &Overheard{take: recording}
	r, err := h.plan(ctx, plan, piano, stdin, g)
	if err != nil {
		return nil, err
	}
	h.Result, err = hear(ctx, r, recording)
	return h, err
}

// hear listens to a file.
func hear(ctx context.Context, r *roll.Roll, recording string) (*overhear.Result, error) {
	t, err := take.Read(ctx, recording)
	if err != nil {
		return nil, err
	}
	heard, err := overhear.Hear(ctx, r, t)
	if err != nil && ctx.Err() == nil {
		return nil, fmt.Errorf("%s: %w", recording, err)
	}
	return heard, err
}

// plan is the roll that was to be played; of several pianos, the named one's.
func (h *Overheard) plan(ctx context.Context, name, piano string, stdin io.Reader, g Given) (*roll.Roll, error) {
	if info, err := os.Stat(name); err == nil && info.IsDir() {
		name = filepath.Join(name, TestRollName)
	}
	if strings.HasSuffix(name, calibrate.Extension) {
		if g.Instrument != "" || g.RollTempo != 0 {
			return nil, choice.Errorf("readings name their instrument and their lever themselves: {instrument} and {roll-tempo} are for tables of holes")
		}
		return h.testRoll(name)
	}
	job, err := OpenGiven(ctx, name, stdin, g)
	if err != nil {
		return nil, err
	}
	rolls, err := job.RollsOf(piano)
	if err != nil {
		return nil, err
	}
	r, err := only(name, rolls)
	if err != nil {
		return nil, err
	}
	h.base = job.Folder
	if job.Piece != nil {
		h.like = job.Piece.Pianos[r.Piano].Instrument
	} else {
		h.like = cmp.Or(g.Instrument, usualInstrument)
	}
	return r, nil
}

func (h *Overheard) testRoll(name string) (*roll.Roll, error) {
	text, err := readText(name, nil, maxBytes)
	if err != nil {
		return nil, err
	}
	readings, err := calibrate.Read(&source.File{Name: name, Text: text})
	if err != nil {
		return nil, err
	}
	in, err := instrumentOf(readings)
	if err != nil {
		return nil, err
	}
	h.like, h.base = readings.Instrument, filepath.Dir(name)
	return testRollOf(readings, in)
}

// testRollOf is the test roll that readings are about, the lever where it stood.
func testRollOf(readings *calibrate.Readings, in *instrument.Instrument) (*roll.Roll, error) {
	test, err := calibrate.NewTest(in, calibrate.Options{LengthMM: readings.LengthMM})
	if err != nil {
		return nil, err
	}
	if readings.Lever > 0 {
		at := *in
		at.Transport = in.Transport.AtLever(readings.Lever)
		at.Transport.Lever = readings.Lever
		test.Roll.Instrument = &at
	}
	return test.Roll, nil
}

// only is the one roll that a recording can be held against.
func only(name string, rolls []*roll.Roll) (*roll.Roll, error) {
	switch len(rolls) {
	case 0:
		return nil, fmt.Errorf("%s has no roll of that name", name)
	case 1:
		return rolls[0], nil
	}
	names := make([]string, len(rolls))
	for i, r := range rolls {
		names[i] = r.Name
	}
	return nil, choice.Errorf("%s has %d rolls, and a recording is held against one: name it with {piano} %s", name,
		len(rolls), strings.Join(names, ", or "))
}

// WriteInstrument writes the plan's instrument, its transport as heard, to path.
func (h *Overheard) WriteInstrument(ctx context.Context, path string) error {
	like, err := seenFrom(filepath.Dir(path), relative(h.like, h.base), h.base)
	if err != nil {
		return err
	}
	in := h.Roll.Instrument
	title := in.Title
	if title == "" {
		title = in.Name
	}
	return outfile.Write(ctx, path, func(w io.Writer) error {
		return h.Result.WriteInstrument(w, like, title, filepath.Base(h.take))
	})
}

// relative is the path of an instrument's file as seen from base, where there is
// one, so that folders can be moved together.
func relative(name, base string) string {
	if !filepath.IsAbs(name) {
		return name
	}
	from, err := filepath.Abs(base)
	if err != nil {
		return name
	}
	if path, err := filepath.Rel(from, name); err == nil {
		return path
	}
	return name
}

// WriteTable writes every stroke to path.
func (h *Overheard) WriteTable(ctx context.Context, path string) error {
	return outfile.Write(ctx, path, h.WriteHeard)
}

// instrumentOf is the instrument that readings are about. The path of its file
// counts from the folder of the readings.
func instrumentOf(readings *calibrate.Readings) (*instrument.Instrument, error) {
	in, err := instrument.Load(readings.Instrument, filepath.Dir(readings.File.Name))
	var complaints source.Errors
	if err != nil && !errors.As(err, &complaints) { // those of a file point into it already
		return nil, readings.Complain(err)
	}
	return in, err
}
