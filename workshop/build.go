package workshop

import (
	"context"
	_ "embed"
	"encoding/base64"
	"errors"
	"html/template"
	"io"
	"strings"

	"rollwright/inspect"
	"rollwright/outfile"
	"rollwright/plan"
	"rollwright/sound"
	"rollwright/source"
	"rollwright/table"
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
	{"sound.flac", "the sound of the piece", (*Job).buildSound},
	{"plan.txt", "how the cycles run: statements, meetings, lengths", text((*Job).writePlan)},
	{"findings.txt", "what paper or instrument cannot do", text((*Job).writeFindings)},
	{"piece.piece", "the piece itself, as it was", text((*Job).writeSelf)},
}

// BuildSteps is how often Build calls next.
var BuildSteps = len(parts) + 1

// Build writes everything about the piece into folder: all of it or, on an
// error, nothing. It calls next with the name of each output before making it,
// and returns the names of the files made.
func (j *Job) Build(ctx context.Context, folder string, o Options, next func(name string)) ([]string, error) {
	stage, err := outfile.NewStage(folder)
	if err != nil {
		return nil, err
	}
	defer stage.Discard()
	for _, p := range parts {
		next(p.name)
		if _, err := p.write(j, ctx, stage.Path(p.name), o); err != nil {
			return nil, err
		}
	}
	next(ReportName)
	err = outfile.Write(ctx, stage.Path(ReportName), func(w io.Writer) error { return j.writeReport(w, o) })
	if err != nil {
		return nil, err
	}
	return stage.Commit(ctx)
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
	return table.WriteEvents(w, table.CSV, j.Piece, j.Performance.Events())
}

func (j *Job) writePlan(w io.Writer) error { return plan.WriteText(w, j.Plan(), plan.TextOptions{}) }

func (j *Job) writeFindings(w io.Writer) error {
	report, err := j.Findings()
	if err != nil {
		return err
	}
	return inspect.WriteSummary(w, report)
}

func (j *Job) writeSelf(w io.Writer) error {
	_, err := w.Write(j.File.Text)
	return err
}

//go:embed report.html.tmpl
var reportText string

var reportTemplate = template.Must(template.New("report").Parse(reportText))

// reportPage is what the report shows.
type reportPage struct {
	Title, Composer, Note string
	Plan, Findings        string
	Pictures              []reportPicture
	Parts                 []reportPart
}

type reportPicture struct {
	Piano string
	PNG   template.URL // a data URL, so that the report is one file
}

type reportPart struct{ Name, About string }

// writeReport writes the page that says what was made. It shows the beginning
// of each roll.
func (j *Job) writeReport(w io.Writer, o Options) error {
	page := reportPage{Title: j.Title(), Composer: j.Piece.Composer, Note: j.Piece.Note}
	var err error
	if page.Plan, err = made(j.writePlan); err != nil {
		return err
	}
	if page.Findings, err = made(j.writeFindings); err != nil {
		return err
	}
	rolls, err := j.chosen(o.Piano)
	if err != nil {
		return err
	}
	for _, r := range rolls {
		look := Options{ToSec: min(beginningSec, max(r.EndSec, 1)), Bar: true, WidthPX: 1600}
		picture, err := made(func(w io.Writer) error { return j.writePNG(w, r, &look) })
		if err != nil {
			return err
		}
		url := "data:image/png;base64," + base64.StdEncoding.EncodeToString([]byte(picture))
		page.Pictures = append(page.Pictures, reportPicture{r.Name, template.URL(url)})
	}
	for _, p := range parts {
		page.Parts = append(page.Parts, reportPart{p.name, p.about})
	}
	return reportTemplate.Execute(w, page)
}

// beginningSec is how much of each roll the report shows: about a metre of
// paper at roll tempo 80.
const beginningSec = 24

// made is what write writes, as text.
func made(write func(io.Writer) error) (string, error) {
	var b strings.Builder
	err := write(&b)
	return b.String(), err
}
