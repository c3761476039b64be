package workshop

import (
	"context"
	_ "embed"
	"encoding/base64"
	"errors"
	"fmt"
	"html/template"
	"io"
	"maps"
	"path/filepath"
	"slices"
	"strings"

	"rollwright/music/plan"
	"rollwright/paper/inspect"
	"rollwright/paper/instrument"
	"rollwright/paper/table"
	"rollwright/sound"
	"rollwright/text/outfile"
	"rollwright/text/source"
)

// ReportName is the file of a built folder to look at first.
const ReportName = "report.html"

// part is one output of Build.
type part struct {
	name  string
	about string
	write func(j *Job, ctx context.Context, path string, o Options) ([]string, error)
}

// parts are what a built folder holds besides the report.
var parts = []part{
	{"roll.pdf", "the roll 1:1, to print, join and punch through", (*Job).Write},
	{"roll.svg", "the roll 1:1 as one drawing", (*Job).Write},
	{"roll.dxf", "the roll for cutters and plotters, in millimetres", (*Job).Write},
	{"roll.png", "a picture of the paper", (*Job).Write},
	{"holes.csv", "every slot with its place in millimetres", (*Job).Write},
	{"events.csv", "every note with its time", text((*Job).writeEvents)},
	{"score.mid", "the notes for any MIDI program", (*Job).Write},
	{"score.musicxml", "the notes in notation, for any engraving program", (*Job).buildNotation},
	{"score.pdf", "the notes on staves, placed by time: to follow while the roll plays", (*Job).buildScore},
	{"sound.flac", "the sound of the piece", (*Job).buildSound},
	{"lecture.html", "the piece explained step by step, to see and to hear", (*Job).Write},
	{"plan.txt", "how the cycles run: statements, meetings, lengths", text((*Job).writePlan)},
	{"findings.txt", "what paper or instrument cannot do", text((*Job).writeFindings)},
}

// BuildSteps is how often Build calls next.
var BuildSteps = len(parts) + 1

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
		return nil, fmt.Errorf("%s holds what was built from %s; build into another folder, or say --again to replace it", folder, other)
	}
	for _, p := range parts {
		next(p.name)
		if _, err := p.write(j, ctx, stage.Path(p.name), o); err != nil {
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
	err = outfile.Write(ctx, stage.Path(ReportName), func(w io.Writer) error { return j.writeReport(w, made, o) })
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
	if _, err := stage.Commit(ctx); err != nil {
		return nil, err
	}
	return names, before.removeGone(folder, now)
}

// text makes a part of something that writes to one place.
func text(write func(*Job, io.Writer) error) func(*Job, context.Context, string, Options) ([]string, error) {
	return func(j *Job, ctx context.Context, path string, _ Options) ([]string, error) {
		return []string{path}, outfile.Write(ctx, path, func(w io.Writer) error { return write(j, w) })
	}
}

// buildSound writes the sound of the piece. A piece without notes that strings
// can sound is built without it; check says why.
func (j *Job) buildSound(ctx context.Context, path string, _ Options) ([]string, error) {
	heard, err := j.Hear(ctx, Listening{})
	var unheard source.Errors
	if errors.Is(err, sound.ErrNothing) || errors.As(err, &unheard) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	defer heard.Close()
	return []string{path}, heard.Write(ctx, path)
}

func (j *Job) writeEvents(w io.Writer) error {
	return table.WriteEvents(w, table.CSV, j.Piece.VoiceNames(), j.Performance.Events())
}

func (j *Job) writePlan(w io.Writer) error { return plan.WriteText(w, j.Plan(), plan.TextOptions{}) }

func (j *Job) writeFindings(w io.Writer) error {
	report, err := j.Findings()
	if err != nil {
		return err
	}
	return inspect.WriteSummary(w, report)
}

// ownName is the name of the piece's file in a built folder.
func (j *Job) ownName() string {
	if j.File.Name == "-" || j.File.Name == "" {
		return "piece.piece"
	}
	return filepath.Base(j.File.Name)
}

// writeOwn copies the piece, and beside it the instrument files that it names
// by a bare name, so that the folder can be built again from its own copy.
func (j *Job) writeOwn(ctx context.Context, stage *outfile.Stage) error {
	own := map[string][]byte{j.ownName(): j.File.Text}
	for i, piano := range j.Piece.Pianos {
		file := j.Instruments[i].File
		if file != nil && piano.Instrument == filepath.Base(piano.Instrument) && strings.HasSuffix(piano.Instrument, instrument.Extension) {
			own[piano.Instrument] = file.Text
		}
	}
	for _, name := range slices.Sorted(maps.Keys(own)) {
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

//go:embed report.html.tmpl
var reportText string

var reportTemplate = template.Must(template.New("report").Parse(reportText))

// reportPage is what the report shows.
type reportPage struct {
	Title, Composer, Note string
	Plan                  string
	Findings              []inspect.Told
	Counted               string // how many findings of each severity
	Sound                 bool
	Pictures              []reportPicture
	Parts                 []reportPart
}

type reportPicture struct {
	Piano string
	PNG   template.URL // a data URL, so that the report is one file
}

type reportPart struct {
	About string
	Files []string
}

// writeReport writes the page that says what was made, the files of that name.
// It shows the beginning of each roll.
func (j *Job) writeReport(w io.Writer, made []string, o Options) error {
	page := reportPage{Title: j.Title(), Composer: j.Piece.Composer, Note: j.Piece.Note, Parts: partsOf(made)}
	page.Sound = slices.Contains(made, "sound.flac")
	var err error
	if page.Plan, err = textOf(j.writePlan); err != nil {
		return err
	}
	found, err := j.Findings()
	if err != nil {
		return err
	}
	page.Findings, page.Counted = found.Told(), found.Summary()
	rolls, err := j.RollsOf(o.Piano)
	if err != nil {
		return err
	}
	for _, r := range rolls {
		look := Options{ToSec: min(beginningSec, max(r.EndSec, 1)), Bar: true, WidthPX: 1600, Strips: 1, untitled: true}
		picture, err := textOf(func(w io.Writer) error { return j.writePNG(w, r, &look) })
		if err != nil {
			return err
		}
		url := "data:image/png;base64," + base64.StdEncoding.EncodeToString([]byte(picture))
		page.Pictures = append(page.Pictures, reportPicture{r.Name, template.URL(url)})
	}
	return reportTemplate.Execute(w, page)
}

// beginningSec is how much of each roll the report shows: about a metre of
// paper at roll tempo 80.
const beginningSec = 24

// partsOf are the files made, under what each part is for.
func partsOf(made []string) []reportPart {
	var list []reportPart
	left := slices.Clone(made)
	for _, p := range parts {
		stem, extension := strings.TrimSuffix(p.name, filepath.Ext(p.name)), filepath.Ext(p.name)
		r := reportPart{About: p.about}
		left = slices.DeleteFunc(left, func(name string) bool {
			mine := name == p.name || strings.HasPrefix(name, stem+"-") && filepath.Ext(name) == extension
			if mine {
				r.Files = append(r.Files, name)
			}
			return mine
		})
		if len(r.Files) > 0 {
			list = append(list, r)
		}
	}
	return append(list, reportPart{ownAbout, left})
}

// textOf is what write writes, as text.
func textOf(write func(io.Writer) error) (string, error) {
	var b strings.Builder
	err := write(&b)
	return b.String(), err
}
