package workshop

import (
	"context"
	"fmt"
	"io"
	"iter"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"rollwright/music/event"
	"rollwright/music/midi"
	"rollwright/music/piece"
	"rollwright/music/plan"
	"rollwright/paper/inspect"
	"rollwright/paper/instrument"
	"rollwright/paper/roll"
	"rollwright/paper/table"
	"rollwright/text/choice"
	"rollwright/text/outfile"
)

// ReportName is the file of a built folder to look at first.
const ReportName = "report.html"

// built are the products that a built folder holds, in their order.
func built() []*Product {
	var list []*Product
	for _, p := range products {
		if p.Built != "" {
			list = append(list, p)
		}
	}
	return list
}

// BuildSteps is how often Build calls next.
var BuildSteps = len(built()) + 1

// ownAbout is said of the files that the piece is made of.
const ownAbout = "the piece itself, as it was, with what it needs"

// Build writes everything about the piece into folder: all of it or, on an
// error, nothing. It calls next with the name of each output before making it,
// and returns the names of the files made. Files of an earlier build of the
// piece are replaced, and those that are no longer made removed; a file that a
// person has changed, or that another piece or hand has put there, is an error
// unless o.Again is set.
func (j *Job) Build(ctx context.Context, folder string, o Options, next func(name string)) ([]string, error) {
	stage, err := outfile.NewStage(folder)
	if err != nil {
		return nil, err
	}
	defer stage.Discard()
	before, err := readContents(folder)
	if err != nil {
		return nil, err
	}
	if other := before.piece(); other != "" && other != j.ownName() && !o.Again {
		return nil, choice.Errorf("%s holds what was built from %s; build into another folder, or say {again} to replace it",
			folder, other)
	}
	order := j.Order(o)
	defer order.Close()
	for _, p := range built() {
		next(p.Built)
		if j.has(p.Needs, p.Called) != nil {
			continue // a built folder holds what the source gives
		}
		_, err := order.make(ctx, p, stage.Path(p.Built))
		if err != nil && (p.spared == nil || !p.spared(err)) {
			return nil, err
		}
	}
	if err := j.writeOwn(ctx, stage); err != nil {
		return nil, err
	}
	next(ReportName)
	made, err := stage.Names()
	if err != nil {
		return nil, err
	}
	err = outfile.Write(ctx, stage.Path(ReportName), func(w io.Writer) error { return j.writeReport(ctx, w, made, o) })
	if err != nil {
		return nil, err
	}
	return commit(ctx, stage, folder, before, o.Again)
}

// commit writes the list of contents, makes sure that nothing of a person's is
// lost, and puts the outputs in their place.
func commit(ctx context.Context, stage *outfile.Stage, folder string, before contents, again bool) ([]string, error) {
	names, err := stage.Names()
	if err != nil {
		return nil, err
	}
	now, err := sumUp(stage.Path, names)
	if err != nil {
		return nil, err
	}
	if !again {
		if err := before.guard(folder, now); err != nil {
			return nil, err
		}
	}
	err = outfile.Write(ctx, stage.Path(contentsName), now.write)
	if err != nil {
		return nil, err
	}
	for _, name := range before.gone(folder, now) {
		stage.Remove(name)
	}
	stage.Last(contentsName)
	if _, err := stage.Commit(ctx); err != nil {
		return nil, err
	}
	return names, nil
}

func writeEvents(w io.Writer, f *out) error {
	return table.WriteEvents(w, table.CSV, f.job.Voices, f.job.Events())
}

func writePlan(w io.Writer, f *out) error { return plan.WriteText(w, f.job.Plan(), plan.TextOptions{}) }

func writeFindings(w io.Writer, f *out) error {
	report, err := f.job.Findings()
	if err != nil {
		return err
	}
	return inspect.WriteSummary(w, report)
}

func writeMIDI(w io.Writer, f *out) error {
	j := f.job
	score := midi.Score{Title: j.title, Composer: j.Composer(), EndSec: j.EndSec}
	for i, in := range j.Instruments {
		score.Pianos = append(score.Pianos, midi.Piano{Name: j.Pianos[i].Name, SingleSec: in.SingleSec()})
	}
	for i, name := range j.Voices {
		score.Voices = append(score.Voices, midi.Voice{Name: name, Piano: j.pianoOf(i)})
	}
	for _, span := range j.Pedals {
		score.Pedals = append(score.Pedals, pedalOf(span))
	}
	if j.notes != nil {
		return score.Write(w, j.notes)
	}
	if unlabelled(j.Events()) {
		score.Voices = append(score.Voices, midi.Voice{Name: "roll"})
	}
	return score.Write(w, labelled(j.Events(), int32(len(j.Voices))))
}

// unlabelled reports whether an event has no voice.
func unlabelled(events iter.Seq[event.Event]) bool {
	for e := range events {
		if e.Voice < 0 {
			return true
		}
	}
	return false
}

// labelled are events of which those without a voice have that one.
func labelled(events iter.Seq[event.Event], voice int32) iter.Seq[event.Event] {
	return func(yield func(event.Event) bool) {
		for e := range events {
			if e.Voice < 0 {
				e.Voice = voice
			}
			if !yield(e) {
				return
			}
		}
	}
}

func pedalOf(s roll.Span) midi.Pedal {
	return midi.Pedal{Piano: s.Piano, Soft: s.Role == instrument.Soft, StartSec: s.StartSec, EndSec: s.EndSec}
}

// ownName is the name of the piece's file in a built folder.
func (j *Job) ownName() string {
	switch {
	case j.File.Name != "-" && j.File.Name != "":
	case j.Piece == nil:
		return "source.csv"
	default:
		return "piece.piece"
	}
	return filepath.Base(j.File.Name)
}

// writeOwn copies the piece, and beside it the files that it takes notes from and the
// instrument files that it names by a bare name, so that the folder can be built again from its own copy.
func (j *Job) writeOwn(ctx context.Context, stage *outfile.Stage) error {
	own := map[string][]byte{j.ownName(): j.File.Text}
	for i, piano := range j.ownPianos() {
		file := j.Instruments[i].File
		if file != nil && piano.Instrument == filepath.Base(piano.Instrument) &&
			strings.HasSuffix(piano.Instrument, instrument.Extension) {
			own[piano.Instrument] = file.Text
		}
	}
	for _, name := range j.Others {
		if _, err := os.Lstat(stage.Path(name)); err == nil {
			return fmt.Errorf("the piece takes notes from %s, and a file of that name is built; give the one that it takes from another name", name)
		}
		own[name] = j.others.texts[name]
	}
	for _, name := range slices.Sorted(maps.Keys(own)) {
		if err := os.MkdirAll(filepath.Dir(stage.Path(name)), 0o755); err != nil {
			return err
		}
		err := outfile.Write(ctx, stage.Path(name), func(w io.Writer) error {
			_, err := w.Write(own[name])
			return err
		})
		if err != nil {
			return err
		}
	}
	return nil
}

// ownPianos are the pianos as the piece writes them; none where it is no piece.
func (j *Job) ownPianos() []piece.Piano {
	if j.Piece == nil {
		return nil
	}
	return j.Piece.Pianos
}
