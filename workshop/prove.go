package workshop

import (
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"strings"

	"rollwright/draw/pdf"
	"rollwright/making/bench"
	"rollwright/making/worksheet"
	"rollwright/paper/edition"
	"rollwright/paper/instrument"
	"rollwright/paper/roll"
	"rollwright/paper/table"
	"rollwright/scan/crop"
	"rollwright/scan/places"
	"rollwright/scan/proof"
	"rollwright/scan/read"
	"rollwright/scan/repair"
	"rollwright/text/source"
)

// Scan is what was read from paper, on the instrument of the plan.
type Scan struct {
	Roll *roll.Roll

	Reading *read.Reading // that it is from; nil: the scan is a table
}

// ScanOf is the scan of a reading of pictures.
func ScanOf(r *read.Reading) *Scan { return &Scan{r.Roll(), r} }

// pictures are what was seen of some places; nil where there are no pictures.
func (s *Scan) pictures() func([]places.Window) ([][]byte, error) {
	if s.Reading == nil {
		return nil
	}
	return func(windows []places.Window) ([][]byte, error) {
		cut := make([]crop.Window, len(windows))
		for i, w := range windows {
			cut[i] = crop.Window(w)
		}
		return crop.Cut(s.Reading, cut)
	}
}

// ScanTable reads a scan from a table of holes.
func ScanTable(name string, stdin io.Reader, in *instrument.Instrument) (*Scan, error) {
	text, err := readText(name, stdin, maxTableBytes)
	if err != nil {
		return nil, err
	}
	rolls, err := table.ReadHoles(&source.File{Name: name, Text: text}, in)
	if err != nil {
		return nil, err
	}
	if len(rolls) > 1 {
		return nil, fmt.Errorf("%s has the holes of %d rolls; a proof is about one", name, len(rolls))
	}
	return &Scan{Roll: rolls[0]}, nil
}

// Proof is a roll held against what was read from its paper.
type Proof struct {
	*proof.Result
	job  *Job
	roll *edition.Roll
	plan *bench.Plan
	scan *Scan
}

// Prove holds a roll of the source, with its rows at a bench, against a scan of its
// paper. The error is a *proof.UnlikeError where they are not of one roll.
func (j *Job) Prove(r *edition.Roll, plan *bench.Plan, s *Scan, o proof.Options) (*Proof, error) {
	result, err := proof.Compare(r.Roll, s.Roll, o)
	if err != nil {
		return nil, err
	}
	return &Proof{result, j, r, plan, s}, nil
}

// Work is what mends the roll at the bench.
func (p *Proof) Work() *repair.Work { return repair.New(p.Result, p.plan) }

// errProofFile names the files that a proof writes.
var errProofFile = errors.New("a proof is written as .csv (every difference), .pdf (what to patch and to punch) or .html (each place beside the plan)")

// ProofFile is an error unless a proof can be written to the file named path: "-"
// stands for a CSV on standard output.
func ProofFile(path string) error {
	switch strings.ToLower(filepath.Ext(path)) {
	case ".csv", ".pdf", ".html":
		return nil
	}
	if path == "-" {
		return nil
	}
	return fmt.Errorf("%s: %w", path, errProofFile)
}

// Write writes the proof as an extension says: every difference as CSV, the work
// of repair as PDF, each place as a page.
func (p *Proof) Write(w io.Writer, extension string, letter bool) error {
	switch extension {
	case ".csv":
		return p.WriteCSV(w)
	case ".pdf":
		return pdf.Encode(w, p.Work().Pages(p.worksheet(letter)), nil)
	case ".html":
		return places.WriteHTML(w, p.Result, places.Options{Title: p.job.Title(), Name: p.plan.PortName,
			Pictures: p.scan.pictures()})
	}
	return errProofFile
}

func (p *Proof) worksheet(letter bool) worksheet.Options {
	o := worksheet.Options{Title: p.job.Title(), Composer: p.job.Composer(), Piano: p.roll.Name, Letter: letter}
	if p.roll.Of > 1 {
		o.Spool, o.Spools = p.roll.Number, p.roll.Of
	}
	return o
}

// Text lists the differences for a person.
func (p *Proof) Text(w io.Writer) error { return p.WriteText(w, p.plan.PortName) }
