// Package workshop opens a piece file and hands out what follows from it.
//
// It is where the parts of the house are put together: the command and the
// page in the browser ask the same Job for the same things. Each thing is made
// when it is first asked for and kept.
package workshop

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"iter"
	"os"
	"path/filepath"
	"strings"
	"sync"

	"rollwright/music/event"
	"rollwright/music/perform"
	"rollwright/music/piece"
	"rollwright/music/piecefile"
	"rollwright/music/plan"
	"rollwright/paper/inspect"
	"rollwright/paper/instrument"
	"rollwright/paper/lay"
	"rollwright/paper/roll"
	"rollwright/sound"
	"rollwright/text/infile"
	"rollwright/text/source"
)

// Job is one source with everything that follows from it: a piece, or less than
// that. It may be used by several goroutines.
type Job struct {
	File        *source.File
	Folder      string                   // against which the paths of the source count
	Instruments []*instrument.Instrument // one a piano
	Pianos      []Piano                  // at least one; one without a name where the source names none
	Voices      []string                 // names of the voices that events and causes point to
	Pedals      []roll.Span              // both pedals, voice by voice
	EndSec      float64                  // when the last written duration ends

	// Of a piece; nil where the source holds notes or holes alone.
	Piece       *piece.Piece
	Performance *perform.Performance

	Others []string // files that a piece takes notes from, by their paths from Folder
	Said   []string // what a source was taken otherwise for than it stands, as sentences without a point

	title  string           // as the source says; may be empty
	others *others          // of Others; nil: none
	reach  Reach            // what its text may read
	Tried  []inspect.Answer // of trial strips: what was played is no finding any more; set before findings are asked for

	notes    iter.Seq[event.Event] // nil where the source holds holes alone
	rolls    func() ([]*roll.Roll, error)
	findings func() (*inspect.Report, error)
	plan     func() *plan.Plan
	names    func() map[int]string
}

// Piano is one instrument that plays.
type Piano struct {
	Name    string // may be empty
	Hammers string // felt, metal or tacks
	Tuning  sound.Tuning
}

// unreadable turns the system's error into one a person can act on.
func unreadable(name string, err error) error {
	switch {
	case errors.Is(err, fs.ErrNotExist) && exists(name+".piece"):
		return fmt.Errorf("there is no file %s; did you mean %s.piece?", name, name)
	case errors.Is(err, fs.ErrNotExist):
		return &NoFile{name}
	case errors.Is(err, fs.ErrPermission):
		return fmt.Errorf("no permission to read %s", name)
	}
	var none *infile.NoFileError
	switch {
	case errors.As(err, &none) && none.Mode.IsDir():
		return fmt.Errorf("%s is a folder; name a piece file in it", name)
	case errors.As(err, &none):
		return none
	}
	return fmt.Errorf("cannot read %s: %w", name, err)
}

// NoFile is a source that is not there, under no name near to it.
type NoFile struct{ Name string }

func (e *NoFile) Error() string { return "there is no file " + e.Name }

func exists(name string) bool {
	_, err := os.Stat(name)
	return err == nil
}

// New performs the piece written in file. Paths of instruments and of other files count
// from folder.
func New(ctx context.Context, file *source.File, folder string) (*Job, error) {
	return NewWith(ctx, file, folder, Reach{})
}

// NewWith is New for a program that decides itself what may be read.
func NewWith(ctx context.Context, file *source.File, folder string, r Reach) (*Job, error) {
	if r.Instrument == nil {
		r.Instrument = instrument.Load
	}
	j := &Job{File: file, Folder: folder, reach: r, others: newOthers(filepath.Base(file.Name), folder, r)}
	p, err := piecefile.ParseWith(file, j.others.options(""))
	if err != nil {
		return nil, j.withInstruments(err, r.Instrument)
	}
	j.Piece, j.Others, j.Said = p, j.others.names, j.others.said
	if err := j.play(ctx, r); err != nil {
		return nil, err
	}
	return j, nil
}

// play performs the piece.
func (j *Job) play(ctx context.Context, r Reach) error {
	if r.Instrument == nil {
		r.Instrument = instrument.Load
	}
	if err := j.load(r.Instrument); err != nil {
		return err
	}
	if err := ctx.Err(); err != nil {
		return err
	}
	var err error
	if j.Performance, err = perform.New(j.Piece, lay.Limits(j.Instruments)); err != nil {
		return err
	}
	j.Piece = j.Performance.Piece // what it asked for is in it
	j.perform()
	return j.tune()
}

// perform takes from the performance what a source of notes has too.
func (j *Job) perform() {
	for _, p := range j.Piece.Pianos {
		j.Pianos = append(j.Pianos, Piano{Name: p.Name, Hammers: p.Hammers})
	}
	j.title = j.Piece.Title
	j.Voices, j.Pedals = j.Piece.VoiceNames(), lay.Pedals(j.Performance)
	j.EndSec, j.notes = j.Performance.EndSec, j.Performance.Events()
	j.rolls = sync.OnceValues(func() ([]*roll.Roll, error) { return lay.Of(j.Performance, j.Instruments) })
	j.plan = sync.OnceValue(func() *plan.Plan { return plan.New(j.Performance, plan.Options{}) })
	j.findings = sync.OnceValues(j.inspect)
	j.names = sync.OnceValue(j.nameAll)
}

// has is an error when the source has not what a product needs, which is called
// by a name for a person.
func (j *Job) has(need Need, product string) error {
	if need < NeedsPiece || j.Piece != nil {
		return nil
	}
	if need == NeedsEvents { // what a roll plays are notes too
		return nil
	}
	return &Lacking{Source: j.File.Name, Product: product}
}

// Lacking is an error about a source that holds notes or holes, asked for what
// only a piece has.
type Lacking struct {
	Source  string // as it was named
	Product string // what was asked for
}

func (l *Lacking) Error() string {
	return fmt.Sprintf("%s holds notes or holes and no series: %s needs a piece; find looks for the design in it and drafts one",
		l.Source, l.Product)
}

// NeedsPiece is a *Lacking error when the source is no piece.
func (j *Job) NeedsPiece(product string) error { return j.has(NeedsPiece, product) }

// Events are the notes in order of start: as written where the source says, else
// what the rolls play.
func (j *Job) Events() iter.Seq[event.Event] {
	if j.notes != nil {
		return j.notes
	}
	rolls, err := j.Rolls()
	if err != nil {
		return func(func(event.Event) bool) {}
	}
	return playAll(rolls)
}

// Title is the piece's title, or else the name of its file.
func (j *Job) Title() string {
	if j.title != "" {
		return j.title
	}
	base := filepath.Base(j.File.Name)
	return strings.TrimSuffix(base, filepath.Ext(base))
}

// Composer is who the piece says has made it; empty where it does not say.
func (j *Job) Composer() string {
	if j.Piece == nil {
		return ""
	}
	return j.Piece.Composer
}

// pianoOf is the index of the piano that a voice plays.
func (j *Job) pianoOf(voice int) int {
	if j.Piece == nil {
		return 0
	}
	return j.Piece.Voices[voice].Piano
}

// RollsOf are the rolls of the named piano, or all when the name is empty. An
// unknown name is an error that lists those of the piece.
func (j *Job) RollsOf(piano string) ([]*roll.Roll, error) {
	rolls, err := j.Rolls()
	if err != nil || piano == "" {
		return rolls, err
	}
	i, err := j.piano(piano)
	if err != nil {
		return nil, err
	}
	return rolls[i : i+1], nil
}

// load reads the instrument of every piano, at the roll tempo that the piece
// gives it.
func (j *Job) load(load func(name, folder string) (*instrument.Instrument, error)) error {
	var errs source.Errors
	wrong := map[string]bool{}
	for i, piano := range j.Piece.Pianos {
		if wrong[piano.Instrument] {
			continue
		}
		in, err := load(piano.Instrument, j.Folder)
		if err == nil {
			in, err = lay.AtTempo(j.Piece, i, in)
		}
		var more source.Errors
		if err = j.misplaced(piano, err); errors.As(err, &more) {
			wrong[piano.Instrument] = true
			errs = append(errs, more...)
		} else if err != nil {
			return err
		}
		j.Instruments = append(j.Instruments, in)
	}
	return errs.Err()
}

// withInstruments adds to the mistakes of a text those in the names of its
// instruments, so that all come together.
func (j *Job) withInstruments(err error, load func(name, folder string) (*instrument.Instrument, error)) error {
	var errs source.Errors
	if !errors.As(err, &errs) {
		return err
	}
	seen := map[string]bool{"": true}
	for _, piano := range piecefile.Pianos(j.File) {
		if seen[piano.Instrument] {
			continue
		}
		seen[piano.Instrument] = true
		var more source.Errors
		if _, err := load(piano.Instrument, j.Folder); err != nil && errors.As(j.misplaced(piano, err), &more) {
			errs = append(errs, more...)
		}
	}
	return errs.Err()
}

const instrumentHint = `write the name of a built-in instrument, instrument = "88-note", or the path of a file, instrument = "mine.instrument"`

// misplaced puts an error of an instrument's name at the line of the piece that
// asks for it. Complaints about the text of an instrument have their own place.
func (j *Job) misplaced(piano piece.Piano, err error) error {
	if err == nil {
		return nil
	}
	var complaints source.Errors
	var complaint *source.Error
	if errors.As(err, &complaints) || errors.As(err, &complaint) {
		return err
	}
	problem, hint := strings.TrimPrefix(err.Error(), "instrument: "), instrumentHint
	if errors.Is(err, fs.ErrNotExist) {
		problem, hint = j.missing(piano.Instrument)
	}
	return source.Errors{{File: j.File, At: piano.Places.Of("instrument"), Problem: problem, Hint: hint}}
}

func (j *Job) inspect() (*inspect.Report, error) {
	rolls, err := j.Rolls()
	if err != nil {
		return nil, err
	}
	if j.Piece == nil {
		return inspect.CheckAnswered(nil, rolls, j.Tried), nil
	}
	report := inspect.CheckAnswered(j.Piece, rolls, j.Tried)
	if tries := triedEvents / max(j.Performance.Count, 1); tries > 0 {
		report.Try(j.try, min(tries, mostTries))
	}
	return report, nil
}

// Rolls are the rolls of the piece, one a piano.
func (j *Job) Rolls() ([]*roll.Roll, error) { return j.rolls() }

// Findings are what paper or instruments cannot do.
func (j *Job) Findings() (*inspect.Report, error) { return j.findings() }

// Plan is how the cycles run.
func (j *Job) Plan() *plan.Plan { return j.plan() }
