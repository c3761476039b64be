package workshop

import (
	"context"
	"fmt"
	"io"
	"path/filepath"
	"slices"
	"strings"

	"rollwright/draw"
	"rollwright/draw/dxf"
	"rollwright/draw/pdf"
	"rollwright/draw/png"
	"rollwright/draw/svg"
	"rollwright/making/machine"
	"rollwright/music/midi"
	"rollwright/paper/instrument"
	"rollwright/paper/lay"
	"rollwright/paper/roll"
	"rollwright/paper/sheet"
	"rollwright/paper/spools"
	"rollwright/paper/table"
	"rollwright/text/outfile"
	"rollwright/text/source"
)

// LongPage says how a PDF is paged.
type LongPage string

// The ways of paging. A long page is over the limit of 200 inches that older
// readers have; each flavour is read by readers that fail on the other.
const (
	Tiled     LongPage = ""      // sheets for a printer
	LongUnit  LongPage = "unit"  // one page, keeping the limit by a larger unit
	LongPlain LongPage = "plain" // one page, passing the limit
)

// Options say how outputs are written. The zero value is good.
type Options struct {
	Piano       string // only this piano's roll; empty: every piano's
	Letter      bool   // tiles on Letter paper, else A4
	MarginMM    float64
	OverlapMM   float64
	ScaleAlong  float64 // 0: 1
	ScaleAcross float64
	Names       bool // the ports' names
	Back        bool // the face that lies on the bar
	Leader      bool // all of leader and trailer on long drawings
	Long        LongPage
	Outlines    bool // svg: slots as closed outlines
	Punches     bool // csv: every punch in place of every slot

	// Of a picture (png).
	FromSec, ToSec float64 // the stretch shown; both 0: all
	Bar, Dark      bool    // with the tracker bar, on a dark bench
	WidthPX        int     // 0: 2000
	Strips         int     // the stretch in so many strips; 0: as many as look well
	untitled       bool

	Again bool // a built folder: replace what was changed by hand or comes from another piece

	Making
	Machining
	Explaining

	spools []*spools.Spool // those of the file being written
}

// Format is one kind of file that a Job can write.
type Format struct {
	Extension string // with its dot
	About     string
	PerRoll   bool // one file holds one roll
	ByMachine bool // it is written for a machine, which Options must name
	write     func(j *Job, w io.Writer, r *roll.Roll, o *Options) error
}

// Formats are the kinds of file, in the order in which help lists them.
var Formats = []Format{
	{".pdf", "the roll 1:1 as tiles to print and join; one long page with --long", true, false, (*Job).writePDF},
	{".svg", "the roll 1:1 on one long drawing", true, false, (*Job).writeSVG},
	{".dxf", "the same for cutters and plotters, R12, in millimetres", true, false, (*Job).writeDXF},
	{".png", "a picture of the paper", true, false, (*Job).writePNG},
	{".nc", "programs for a laser or a punching head, a bed each, with --machine", true, true, (*Job).writeNC},
	{".csv", "every slot, or every punch, with its place", false, false, (*Job).writeCSV},
	{".mid", "the score as a MIDI file, a track a voice", false, false, (*Job).writeMIDI},
	{".musicxml", "the score in notation, a part a voice", false, false, (*Job).writeMusicXML},
	{".html", "the lecture page: the piece explained step by step", false, false, (*Job).writeLecturePage},
}

// FormatOf is the format that the extension of path chooses.
func FormatOf(path string) (Format, error) {
	extension := strings.ToLower(filepath.Ext(path))
	var known []string
	for _, f := range Formats {
		if f.Extension == extension {
			return f, nil
		}
		known = append(known, f.Extension)
	}
	known = append(known, SoundExtensions...)
	hint := "end the name in one of " + strings.Join(known, " ")
	if near, ok := source.Nearest(extension, known); ok {
		hint = "did you mean " + near + "? Or " + hint
	}
	return Format{}, fmt.Errorf("%s: the extension chooses the format; %s", path, hint)
}

// Write writes the output named path in the format that its extension chooses,
// and returns the names of the files made: where one file holds one roll and
// the piece has several pianos or spools, a file each, named
// "path-piano-spool-1.ext".
func (j *Job) Write(ctx context.Context, path string, o Options) ([]string, error) {
	format, err := FormatOf(path)
	if err != nil {
		return nil, err
	}
	if o.explains() || format.Extension == ".musicxml" {
		return j.writeExplained(ctx, path, &o)
	}
	all, err := j.spoolsOf(&o)
	if err != nil {
		return nil, err
	}
	if o.Labels {
		return []string{path}, j.writeLabels(ctx, path, all, &o)
	}
	var made []string
	for _, f := range files(all, format.PerRoll) {
		extension := filepath.Ext(path)
		name := strings.TrimSuffix(path, extension) + f.suffix + extension
		o.spools = f.spools
		if o.byMachine(name) {
			beds, err := j.writeBeds(ctx, name, f.spools[0], &o)
			if made = append(made, beds...); err != nil {
				return made, err
			}
			continue
		}
		if err := j.writeOne(ctx, name, format, f.spools[0].Roll, &o); err != nil {
			return made, err
		}
		made = append(made, name)
		if format.Extension == ".mid" {
			break // it holds the whole piece, whatever the spools
		}
	}
	return made, nil
}

func (j *Job) writeOne(ctx context.Context, path string, f Format, r *roll.Roll, o *Options) error {
	return outfile.Write(ctx, path, func(w io.Writer) error { return f.write(j, w, r, o) })
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

// piano is the index of the named piano.
func (j *Job) piano(piano string) (int, error) {
	var names []string
	for i, p := range j.Piece.Pianos {
		if p.Name == piano {
			return i, nil
		}
		names = append(names, p.Name)
	}
	hint := "its pianos: " + strings.Join(names, ", ")
	if slices.Equal(names, []string{""}) {
		hint = "it has one piano, without a name"
	}
	return 0, fmt.Errorf("the piece has no piano %q; %s", piano, hint)
}

// fileName keeps of a name what every file system takes.
func fileName(name string) string {
	return strings.Map(func(r rune) rune {
		if strings.ContainsRune(`/\:*?"<>|`, r) || r < ' ' {
			return '_'
		}
		return r
	}, name)
}

// sheets are the options of a drawing of the roll r.
func (j *Job) sheets(r *roll.Roll, o *Options) (*sheet.Options, error) {
	title := j.Title() // package sheet adds the piano's name
	if len(o.spools) > 0 && o.spools[0].Of > 1 {
		title += fmt.Sprintf(", spool %d of %d", o.spools[0].Number, o.spools[0].Of)
	}
	cues, err := j.sheetCues(o)
	if err != nil {
		return nil, err
	}
	s := &sheet.Options{
		Title: title, Composer: j.Piece.Composer, Back: o.Back, Names: o.Names, Leader: o.Leader,
		ScaleAlong: o.ScaleAlong, ScaleAcross: o.ScaleAcross, MarginMM: o.MarginMM, OverlapMM: o.OverlapMM, Cues: cues,
	}
	if o.Letter {
		s.Paper = sheet.Letter
	}
	return s, nil
}

// Title is the piece's title, or else the name of its file.
func (j *Job) Title() string {
	if j.Piece.Title != "" {
		return j.Piece.Title
	}
	base := filepath.Base(j.File.Name)
	return strings.TrimSuffix(base, filepath.Ext(base))
}

func (j *Job) writePDF(w io.Writer, r *roll.Roll, o *Options) error {
	if o.Worksheet {
		return j.writeWorksheet(w, o)
	}
	look, err := j.sheets(r, o)
	if err != nil {
		return err
	}
	if o.Long == Tiled {
		pages, err := sheet.Tiles(r, look)
		if err != nil {
			return err
		}
		return pdf.Encode(w, pages, nil)
	}
	page, err := sheet.Long(r, look)
	if err != nil {
		return err
	}
	return pdf.Encode(w, []*draw.Drawing{page}, &pdf.Options{UserUnit: o.Long == LongUnit})
}

func (j *Job) writeSVG(w io.Writer, r *roll.Roll, o *Options) error {
	look, err := j.sheets(r, o)
	if err != nil {
		return err
	}
	page, err := sheet.Long(r, look)
	if err != nil {
		return err
	}
	return cautiousSVG(w, page, &svg.Options{CutLines: o.Outlines})
}

// cautiousSVG writes a plain drawing with the cautions of cutting: whoever cuts
// from it has read no other file.
func cautiousSVG(w io.Writer, page *draw.Drawing, o *svg.Options) error {
	page.Subject = strings.Join(append([]string{page.Subject}, machine.Cautions()...), "\n")
	return svg.Encode(w, page, o)
}

// cautiousDXF is the same for the other format that cutters read.
func cautiousDXF(w io.Writer, page *draw.Drawing) error {
	return dxf.Encode(w, page, &dxf.Options{Comments: machine.Cautions()})
}

func (j *Job) writeDXF(w io.Writer, r *roll.Roll, o *Options) error {
	look, err := j.sheets(r, o)
	if err != nil {
		return err
	}
	page, err := sheet.Long(r, look)
	if err != nil {
		return err
	}
	return cautiousDXF(w, page)
}

func (j *Job) writeCSV(w io.Writer, _ *roll.Roll, o *Options) error {
	if o.Worksheet {
		return j.writeWorksheetCSV(w, o)
	}
	rolls := make([]*roll.Roll, len(o.spools))
	for i, s := range o.spools {
		rolls[i] = s.Roll
	}
	if o.Punches {
		return table.WritePunches(w, table.CSV, rolls)
	}
	return table.WriteHoles(w, table.CSV, rolls)
}

func (j *Job) writeMIDI(w io.Writer, _ *roll.Roll, _ *Options) error {
	score := midi.ScoreOf(j.Piece)
	score.EndSec = j.Performance.EndSec
	for i, in := range j.Instruments {
		// A single punch is heard as long as it holds the port open.
		score.Pianos[i].SingleSec = in.OpenMM(in.Die.DiameterMM) / in.Transport.SpeedMMPerSec()
	}
	for _, span := range lay.Pedals(j.Performance) {
		score.Pedals = append(score.Pedals, pedalOf(span))
	}
	return score.Write(w, j.Performance.Events())
}

func pedalOf(s roll.Span) midi.Pedal {
	return midi.Pedal{Piano: s.Piano, Soft: s.Role == instrument.Soft, StartSec: s.StartSec, EndSec: s.EndSec}
}

func (j *Job) writePNG(w io.Writer, r *roll.Roll, o *Options) error {
	look := &sheet.Look{
		Title: j.Title(), Voices: j.voiceNames(), Back: o.Back, Strips: o.Strips,
		FromSec: o.FromSec, ToSec: o.ToSec, Bar: o.Bar, Dark: o.Dark, WidthPX: o.WidthPX,
	}
	if o.untitled {
		look.Title = ""
	}
	picture, pixelsPerMM, err := sheet.Preview(r, look)
	if err != nil {
		return err
	}
	return png.Encode(w, picture, &png.Options{PixelsPerMM: pixelsPerMM})
}

func (j *Job) voiceNames() []string {
	names := make([]string, len(j.Piece.Voices))
	for i, v := range j.Piece.Voices {
		names[i] = v.Name
	}
	return names
}
