package workshop

import (
	"context"
	"io"
	"path/filepath"
	"strings"

	"rollwright/draw/pdf"
	"rollwright/making/bench"
	"rollwright/making/calibrate"
	"rollwright/paper/edition"
	"rollwright/paper/instrument"
	"rollwright/scan/overhear"
	"rollwright/text/outfile"
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
	t := testRoll{test: test, name: name, edition: editionOf(test), o: o}
	if err := t.atBench(); err != nil {
		return nil, err
	}
	stage, err := outfile.NewStage(folder)
	if err != nil {
		return nil, err
	}
	defer stage.Discard()
	if err := t.spare(folder); err != nil {
		return nil, err
	}
	if err := t.write(ctx, stage.Path); err != nil {
		return nil, err
	}
	made, err := stage.Names()
	if err != nil {
		return nil, err
	}
	gone, err := outdated(folder, made)
	if err != nil {
		return nil, err
	}
	for _, name := range gone {
		stage.Remove(name)
	}
	stage.Last(TestRollName)
	if made, err = stage.Commit(ctx); err != nil {
		return nil, err
	}
	return &TestRollMade{made, gone, t.plan}, nil
}

// editionOf is a test roll with its sections as cues.
func editionOf(test *calibrate.Test) *edition.Edition {
	e := edition.Whole("Test roll for "+test.Roll.Instrument.Title, test.Roll)
	for _, s := range test.Sections() {
		e.Rolls[0].Cues = append(e.Rolls[0].Cues, edition.Cue{AlongMM: s.AlongMM, Name: s.Name})
	}
	return e
}

// testRoll is a test roll on its way to files.
type testRoll struct {
	test    *calibrate.Test
	name    string
	edition *edition.Edition
	o       TestRollOptions
	plan    *bench.Plan // of the work by hand; nil: none
}

// files are the products of the table that a test roll is written as.
func (t *testRoll) files() []string {
	files := []string{"test-roll.pdf", "test-roll.svg", "test-roll.dxf", holesName}
	if t.o.Machine != "" {
		files = append(files, programStem+".nc")
	}
	return files
}

func (t *testRoll) write(ctx context.Context, path func(string) string) error {
	for _, name := range t.files() {
		o := Options{Letter: t.o.Letter}
		if filepath.Ext(name) == ".nc" {
			o.Machine = t.o.Machine
		}
		if err := t.product(ctx, path(name), o); err != nil {
			return err
		}
	}
	if t.plan != nil {
		for _, extension := range []string{".pdf", ".csv"} {
			o := Options{Letter: t.o.Letter, Making: Making{Worksheet: true, Bench: t.o.Bench}}
			if err := t.product(ctx, path(worksheetStem+extension), o); err != nil {
				return err
			}
		}
	}
	err := outfile.Write(ctx, path("form.pdf"), func(w io.Writer) error {
		return pdf.Encode(w, t.test.Form(calibrate.FormOptions{Instrument: t.name, Letter: t.o.Letter}), nil)
	})
	if err != nil {
		return err
	}
	return outfile.Write(ctx, path(TestRollName), func(w io.Writer) error {
		return calibrate.WriteReadings(w, t.test,
			t.name)
	})
}

// product writes what o makes of the test roll to a file.
func (t *testRoll) product(ctx context.Context, path string, o Options) error {
	p, err := ProductOf(path, &o)
	if err != nil {
		return err
	}
	_, err = p.write(ctx, &out{path: path, o: &o, edition: t.edition})
	return err
}

// Calibrate fits the instrument that readings are about to them, and to what
// recordings of the test roll tell, each by its own precision. The path of an
// instrument's file counts from the folder of the readings.
func Calibrate(ctx context.Context, readings *calibrate.Readings, takes ...string) (*calibrate.Result,
	[]*overhear.Result, error) {
	in, err := instrumentOf(readings)
	if err != nil {
		return nil, nil, err
	}
	var all []*overhear.Result
	for _, name := range takes {
		r, err := testRollOf(readings, in)
		if err != nil {
			return nil, nil, err
		}
		heard, err := hear(ctx, r, name)
		if err != nil {
			return nil, nil, err
		}
		var rows []calibrate.Heard
		for _, t := range heard.Timings() {
			rows = append(rows, calibrate.Heard{AlongMM: t.RowMM, Sec: t.Sec, SigmaSec: t.SigmaSec})
		}
		readings.Overhear(name, rows, in.EdgeShiftMM())
		all = append(all, heard)
	}
	result, err := calibrate.Calibrate(in, readings)
	return result, all, err
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
