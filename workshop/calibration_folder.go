package workshop

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"rollwright/making/bench"
	"rollwright/making/calibrate"
	"rollwright/paper/instrument"
	"rollwright/text/choice"
	"rollwright/text/infile"
	"rollwright/text/source"
)

// Files of a test roll's folder. The table of holes tells one test roll from
// another; programs and worksheets are there for some runs only.
const (
	holesName     = "test-roll.csv"
	programStem   = "test-roll" // and the number of the bed, and .nc
	worksheetStem = "test-roll-worksheet"
)

// spare refuses a folder in which writing t would destroy something: readings
// that differ from the blank form, or another test roll.
func (t *testRoll) spare(folder string) error {
	if info, err := os.Stat(folder); err != nil || !info.IsDir() {
		return nil // there is nothing yet, or writing will complain
	}
	path := filepath.Join(folder, TestRollName)
	old, err := ownFile(path)
	if err == nil && !t.blank(path, old) {
		return fmt.Errorf("%s is there already and stays as it is; name another folder", path)
	}
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	if t.o.Again {
		return nil
	}
	path = filepath.Join(folder, holesName)
	old, err = ownFile(path)
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	if err != nil {
		return err
	}
	var now bytes.Buffer
	if err := writeTable(&now, &out{o: &Options{}, edition: t.edition}); err != nil {
		return err
	}
	if !bytes.Equal(old, now.Bytes()) {
		return choice.Errorf("%s holds another test roll; name another folder, or replace it with {again}", folder)
	}
	return nil
}

// ownFile is a file that an earlier run has written, to be compared with.
func ownFile(path string) ([]byte, error) {
	if err := infile.Check(path); err != nil {
		return nil, err
	}
	return os.ReadFile(path)
}

// blank reports whether readings are as they were handed out: by this test
// roll, or by the one that they name themselves.
func (t *testRoll) blank(path string, text []byte) bool {
	same := func(test *calibrate.Test, name string) bool {
		var b bytes.Buffer
		return calibrate.WriteReadings(&b, test, name) == nil && bytes.Equal(b.Bytes(), text)
	}
	if same(t.test, t.name) {
		return true
	}
	r, err := calibrate.Read(&source.File{Name: path, Text: text})
	if err != nil {
		return false
	}
	in, err := instrument.Load(r.Instrument, filepath.Dir(path))
	if err != nil {
		return false
	}
	test, err := calibrate.NewTest(in, calibrate.Options{LengthMM: r.LengthMM})
	return err == nil && same(test, r.Instrument)
}

// outdated are the programs and worksheets that a run before has left and this one
// has not made: they would cut another roll.
func outdated(folder string, made []string) (gone []string, err error) {
	entries, err := os.ReadDir(folder)
	if err != nil {
		return nil, err
	}
	for _, e := range entries {
		name := e.Name()
		program := strings.HasPrefix(name, programStem) && strings.HasSuffix(name, ".nc")
		if !program && !strings.HasPrefix(name, worksheetStem+".") || slices.Contains(made, name) {
			continue
		}
		gone = append(gone, name)
	}
	return gone, nil
}

// atBench plans the work by hand, where a bench is named. Its die has to be the
// instrument's: the tries are reckoned from the holes that it cuts.
func (t *testRoll) atBench() error {
	if t.o.Bench == "" {
		return nil
	}
	p, err := bench.Load(t.o.Bench, "")
	if err != nil {
		return err
	}
	in := t.test.Roll.Instrument
	if p.DieMM != 0 && p.DieMM != in.Die.DiameterMM {
		return fmt.Errorf("the die of bench %s is %.4g mm and that of instrument %s %.4g mm: calibrate an instrument that has your die (like = %q, perforator { die = %.4g })",
			t.o.Bench, p.DieMM, in.Name, in.Die.DiameterMM, in.Name, p.DieMM)
	}
	t.plan, err = AtProfile(t.edition.Rolls[0], p)
	return err
}
