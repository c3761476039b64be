package workshop

import (
	"context"
	"crypto/sha256"
	_ "embed"
	"encoding/base64"
	"fmt"
	"html/template"
	"io"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"rollwright/draw/svg"
	"rollwright/draw/typeface"
	"rollwright/music/plan"
	"rollwright/paper/inspect"
	"rollwright/telling/show"
	"rollwright/text/say"
)

//go:embed report.html.tmpl
var reportText string

//go:embed report.css
var reportStyle string

var reportTemplate = template.Must(template.New("report").Parse(reportText))

// The bounds of a report, which is read in a few minutes: what is beyond them
// stands in other files of the folder.
const (
	mostShownSteps  = 8
	mostShownVoices = 16
	mostShownMeets  = 12
)

// reportPage is what the report shows.
type reportPage struct {
	Title, Composer, Note string
	Policy                string
	Style                 template.CSS
	Facts                 []reportFact
	Sound                 bool
	Pictures              []reportPicture
	Lang                  string // of the lecture
	Steps                 []reportStep
	MoreSteps             string // where the other pictures are; empty: these are all
	Voices                []reportVoice
	Pianos                bool // the voices play several
	MoreVoices            string
	Meets                 []plan.Row
	MoreMeets             string
	Findings              []inspect.Told
	Counted               string // how many findings of each severity
	Parts                 []reportPart
}

// reportFact is a number that describes the piece.
type reportFact struct{ Name, Value string }

type reportPicture struct {
	Piano string
	PNG   template.URL // a data URL, so that the report is one file
}

// reportStep is a step of the lecture that has a picture.
type reportStep struct {
	Title, Alt, Caption string
	Text                []string
	Picture             template.URL
}

// reportVoice is a row of the table of voices.
type reportVoice struct {
	Name, Piano, Tempo, Color, Talea, Together, Notes, Begins, Ends string
}

type reportPart struct {
	About string
	Files []string
}

// writeReport writes the page that says what was made, the files of that name,
// for somebody who does not have the program: it needs nothing but itself, and
// for the sound the file beside it.
func (j *Job) writeReport(ctx context.Context, w io.Writer, made []string, o Options) error {
	named := strings.NewReplacer("SERIF", "'"+typeface.Serif.Family()+"'", "SANS", "'"+typeface.Sans.Family()+"'")
	style := typeface.Rules(typeface.Serif, typeface.SerifItalic, typeface.Sans, typeface.SansBold) +
		named.Replace(reportStyle)
	page := reportPage{
		Title: j.Title(), Composer: j.Composer(), Parts: partsOf(made), Style: template.CSS(style),
		Policy: reportPolicy(style),
		Sound:  slices.Contains(made, "sound.flac"),
	}
	if j.Piece != nil {
		page.Note = j.Piece.Note
		if err := page.explain(ctx, j); err != nil {
			return err
		}
	}
	found, err := j.Findings()
	if err != nil {
		return err
	}
	page.Findings, page.Counted = found.Told(), found.Summary()
	page.Facts = j.facts(found)
	e, err := j.Edition(o.Piano, &o.Making)
	if err != nil {
		return err
	}
	for _, r := range e.Rolls {
		look := Options{ToSec: min(beginningSec, max(r.EndSec, 1)), Bar: true, WidthPX: 1600, Strips: 1, untitled: true}
		picture, err := textOf(func(w io.Writer) error { return writePicture(w, &out{o: &look, edition: e, roll: r}) })
		if err != nil {
			return err
		}
		page.Pictures = append(page.Pictures, reportPicture{r.Name, dataURL("image/png", picture)})
	}
	return reportTemplate.Execute(w, page)
}

// beginningSec is how much of each roll the report shows: about a metre of
// paper at roll tempo 80.
const beginningSec = 24

// reportPolicy forbids the page every script and every address but the sound
// beside it, which in a page from the disk goes by the name of its scheme.
func reportPolicy(style string) string {
	sum := sha256.Sum256([]byte(style))
	return "default-src 'none'; img-src data:; font-src data:; media-src 'self' file:; base-uri 'none'; form-action 'none'; " +
		"style-src 'sha256-" + base64.StdEncoding.EncodeToString(sum[:]) + "'"
}

// dataURL is an address that holds its own bytes.
func dataURL(kind, data string) template.URL {
	return template.URL("data:" + kind + ";base64," + base64.StdEncoding.EncodeToString([]byte(data)))
}

// facts are the numbers by which somebody knows how large the piece is.
func (j *Job) facts(found *inspect.Report) []reportFact {
	list := []reportFact{{"lasts", say.Clock(j.EndSec, 1)}}
	if j.Piece != nil {
		list = append(list, reportFact{"plays", say.Count(j.Plan().Notes, "note") + " in " +
			say.Count(len(j.Voices), "voice")})
	}
	for _, f := range found.Facts {
		name := "roll"
		if f.Piano != "" {
			name = "roll for " + f.Piano
		}
		list = append(list, reportFact{name, fmt.Sprintf("%s at roll tempo %s, for %s", say.Paper(f.LengthMM),
			strconv.FormatFloat(f.TempoFirst, 'f', -1, 64), f.Instrument)})
	}
	if hands := j.Hands(); hands != "" {
		list = append(list, reportFact{"at the bench", hands})
	}
	return list
}

// explain takes what the lecture shows, and what the plan says.
func (page *reportPage) explain(ctx context.Context, j *Job) error {
	l, err := j.Lecture(ctx, show.Options{})
	if err != nil {
		return err
	}
	page.Lang = l.Book.Tag()
	for _, s := range l.Steps {
		if s.Figure == nil {
			continue
		}
		// What the first picture has, with every voice, is not shown voice by voice again.
		repeated := len(page.Steps) > 0 && (s.Kind == show.Voice || s.Kind == show.All)
		if repeated || len(page.Steps) == mostShownSteps {
			page.MoreSteps = "Step by step, and with sound: "
			continue
		}
		step, err := stepShown(s)
		if err != nil {
			return err
		}
		page.Steps = append(page.Steps, step)
	}
	p := j.Plan()
	page.Pianos = len(j.Pianos) > 1
	for i := range p.Voices[:min(len(p.Voices), mostShownVoices)] {
		page.Voices = append(page.Voices, voiceShown(&p.Voices[i]))
	}
	if n := len(p.Voices) - mostShownVoices; n > 0 {
		page.MoreVoices = "And " + say.Count(n, "voice") + " more, in "
	}
	page.Meets = p.Meets()
	if n := len(page.Meets) - mostShownMeets; n > 0 {
		page.Meets = page.Meets[:mostShownMeets]
		page.MoreMeets = "And " + say.Count(n, "pair") + " more, in "
	}
	return nil
}

// stepShown is a step with its picture. What the first step says stands at the
// head of the report already.
func stepShown(s *show.Step) (reportStep, error) {
	picture, err := textOf(func(w io.Writer) error { return svg.Encode(w, s.Picture(), nil) })
	if err != nil {
		return reportStep{}, err
	}
	shown := reportStep{Title: s.Title, Text: s.Text, Alt: s.Figure.Title, Caption: s.Figure.Caption,
		Picture: dataURL("image/svg+xml", picture)}
	if s.Kind == show.Title {
		shown.Title, shown.Text = s.Figure.Title, nil
	}
	return shown, nil
}

func voiceShown(v *plan.Voice) reportVoice {
	r := reportVoice{
		Name: v.Name, Piano: v.Piano, Tempo: v.Tempo(), Notes: strconv.Itoa(v.Notes),
		Color: say.Count(v.Color.Members, "pitch"), Talea: say.Count(v.Talea.Sounding, "duration"),
		Begins: say.Clock(float64(v.First), 1), Ends: say.Clock(float64(v.End), 1),
	}
	if silent := v.Talea.Members - v.Talea.Sounding; silent > 0 {
		r.Talea += " and " + say.Count(silent, "silence")
	}
	r.Together = say.Count(v.Complete.Notes, "note")
	return r
}

// partsOf are the files made, under what each part is for.
func partsOf(made []string) []reportPart {
	var list []reportPart
	left := slices.Clone(made)
	for _, p := range built() {
		extension := filepath.Ext(p.Built)
		stem := strings.TrimSuffix(p.Built, extension)
		r := reportPart{About: p.About}
		left = slices.DeleteFunc(left, func(name string) bool {
			mine := name == p.Built || strings.HasPrefix(name, stem+"-") && filepath.Ext(name) == extension
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
