package workshop

import (
	"context"
	"errors"
	"io"
	"path/filepath"
	"strings"

	"rollwright/draw"
	"rollwright/draw/pdf"
	"rollwright/making/bed"
	"rollwright/making/bench"
	"rollwright/making/calibrate"
	"rollwright/making/machine"
	"rollwright/making/nc"
	"rollwright/paper/instrument"
	"rollwright/paper/sheet"
	"rollwright/text/outfile"
	"rollwright/text/source"
)

// TestRollOptions say how a test roll is written. The zero value is good.
type TestRollOptions struct {
	LengthMM float64 // 0: 12 m
	Letter   bool
	Machine  string // programs for it too; empty: none
	Bench    string // a worksheet for this bench too; empty: none
	Again    bool   // another test roll in the folder is replaced
}

// TestRollName is the file of a test roll's folder that readings are written
// into.
const TestRollName = "test" + calibrate.Extension

// TestRollMade is what WriteTestRoll has done, by the names of files.
type TestRollMade struct {
	Made []string
	Gone []string    // programs and worksheets of an earlier run, which this one does not have
	Plan *bench.Plan // of the worksheet; nil without
}

// WriteTestRoll writes the test roll of the named instrument into folder, all of
// it or nothing: the roll to print, to cut, as a table; a form; a file for the
// readings. Readings that somebody has begun to fill in are never replaced, nor
// is another test roll unless o.Again says so.
func WriteTestRoll(ctx context.Context, name, folder string, o TestRollOptions) (*TestRollMade, error) {
	in, err := instrument.Load(name, "")
	if err != nil {
		return nil, err
	}
	test, err := calibrate.NewTest(in, calibrate.Options{LengthMM: o.LengthMM})
	if err != nil {
		return nil, err
	}
	if name, err = seenFrom(folder, name, ""); err != nil {
		return nil, err
	}
	t := testRoll{test: test, name: name, title: "Test roll for " + in.Title, o: o}
	if err := t.atBench(); err != nil {
		return nil, err
	}
	if err := t.spare(folder); err != nil {
		return nil, err
	}
	stage, err := outfile.NewStage(folder)
	if err != nil {
		return nil, err
	}
	defer stage.Discard()
	if err := t.write(ctx, stage.Path); err != nil {
		return nil, err
	}
	made, err := stage.Commit(ctx)
	if err != nil {
		return nil, err
	}
	gone, err := sweep(folder, made)
	return &TestRollMade{made, gone, t.plan}, err
}

// testRoll is a test roll on its way to files.
type testRoll struct {
	test  *calibrate.Test
	name  string
	title string
	o     TestRollOptions
	plan  *bench.Plan // of the work by hand; nil: none
}

func (t *testRoll) write(ctx context.Context, path func(string) string) error {
	for _, part := range []struct {
		name string
		fill func(io.Writer) error
	}{
		{"test-roll.pdf", t.tiles},
		{"test-roll.svg", t.long(func(w io.Writer, d *draw.Drawing) error { return cautiousSVG(w, d, nil) })},
		{"test-roll.dxf", t.long(cautiousDXF)},
		{holesName, t.holes},
		{"form.pdf", func(w io.Writer) error {
			return pdf.Encode(w, t.test.Form(calibrate.FormOptions{Instrument: t.name, Letter: t.o.Letter}), nil)
		}},
		{TestRollName, func(w io.Writer) error { return calibrate.WriteReadings(w, t.test, t.name) }},
	} {
		if err := outfile.Write(ctx, path(part.name), part.fill); err != nil {
			return err
		}
	}
	if err := t.byHand(ctx, path); err != nil {
		return err
	}
	return t.programs(ctx, path)
}

// programs are for the machine, where one is named.
func (t *testRoll) programs(ctx context.Context, path func(string) string) error {
	if t.o.Machine == "" {
		return nil
	}
	m, err := machine.Load(t.o.Machine, "")
	if err != nil {
		return err
	}
	plan, err := bed.New(t.test.Roll, m, bed.Options{})
	if err != nil {
		return err
	}
	for i := range plan.Beds {
		name := bedName("test-roll.nc", i+1, len(plan.Beds))
		err := outfile.Write(ctx, path(name), func(w io.Writer) error {
			return nc.Encode(w, plan, &plan.Beds[i], nc.Options{Title: t.title})
		})
		if err != nil {
			return err
		}
	}
	return nil
}

func (t *testRoll) sheets() *sheet.Options {
	s := &sheet.Options{Title: t.title}
	if t.o.Letter {
		s.Paper = sheet.Letter
	}
	for _, section := range t.test.Sections() {
		s.Cues = append(s.Cues, sheet.Cue{AlongMM: section.AlongMM, Name: section.Name})
	}
	return s
}

func (t *testRoll) tiles(w io.Writer) error {
	pages, err := sheet.Tiles(t.test.Roll, t.sheets())
	if err != nil {
		return err
	}
	return pdf.Encode(w, pages, nil)
}

func (t *testRoll) long(encode func(io.Writer, *draw.Drawing) error) func(io.Writer) error {
	return func(w io.Writer) error {
		page, err := sheet.Long(t.test.Roll, t.sheets())
		if err != nil {
			return err
		}
		return encode(w, page)
	}
}

// Calibrate fits the instrument that readings are about to them. The path of an
// instrument's file counts from the folder of the readings.
func Calibrate(readings *calibrate.Readings) (*calibrate.Result, error) {
	in, err := instrument.Load(readings.Instrument, filepath.Dir(readings.File.Name))
	var complaints source.Errors
	if err != nil && !errors.As(err, &complaints) { // those of a file point into it already
		return nil, readings.Complain(err)
	}
	if err != nil {
		return nil, err
	}
	return calibrate.Calibrate(in, readings)
}

// WriteCalibrated writes the instrument that was found to path.
func WriteCalibrated(ctx context.Context, path string, r *calibrate.Result) error {
	like, err := seenFrom(filepath.Dir(path), r.Readings.Instrument, filepath.Dir(r.Readings.File.Name))
	if err != nil {
		return err
	}
	return outfile.Write(ctx, path, func(w io.Writer) error {
		return r.WriteInstrument(w, like, filepath.Base(r.Readings.File.Name))
	})
}

// seenFrom is an instrument's name as a file in folder writes it: a path that
// counted from base is turned to count from there.
func seenFrom(folder, name, base string) (string, error) {
	if !strings.HasSuffix(name, instrument.Extension) && !strings.ContainsAny(name, `/\`) || filepath.IsAbs(name) {
		return name, nil
	}
	target, err := filepath.Abs(filepath.Join(base, name))
	if err != nil {
		return "", err
	}
	from, err := filepath.Abs(folder)
	if err != nil {
		return "", err
	}
	if relative, err := filepath.Rel(from, target); err == nil {
		return filepath.ToSlash(relative), nil
	}
	return target, nil
}
