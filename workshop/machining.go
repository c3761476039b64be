package workshop

import (
	"context"
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"slices"
	"strings"

	"rollwright/draw/dxf"
	"rollwright/draw/svg"
	"rollwright/making/bed"
	"rollwright/making/machine"
	"rollwright/making/nc"
	"rollwright/paper/roll"
	"rollwright/paper/spools"
	"rollwright/text/outfile"
)

// Machining says which machine cuts the rolls, and how many.
type Machining struct {
	Machine string // built-in profile, or path of a file; empty: none
	Copies  int    // 0: 1
}

// machined are the formats that are written a bed at a time when a machine is
// named.
var machined = []string{".nc", ".svg", ".dxf"}

// ErrNoMachine asks for the machine that a program is for.
var ErrNoMachine = errors.New("a program is for one machine: name it with --machine; built in are " + strings.Join(machine.Names(), ", "))

// byMachine reports whether path is written a bed at a time.
func (o *Options) byMachine(path string) bool {
	return o.Machine != "" && slices.Contains(machined, strings.ToLower(filepath.Ext(path)))
}

// Beds is the work on one spool at the machine that o names.
func (j *Job) Beds(s *spools.Spool, o *Options) (*bed.Plan, error) {
	m, err := machine.Load(o.Machine, j.Folder)
	if err != nil {
		return nil, err
	}
	return bed.New(s.Roll, m, bed.Options{Back: o.Back, Copies: o.Copies})
}

// writeBeds writes a file for every bed of a spool, named "path-bed-01.ext"
// where there are several.
func (j *Job) writeBeds(ctx context.Context, path string, s *spools.Spool, o *Options) ([]string, error) {
	plan, err := j.Beds(s, o)
	if err != nil {
		return nil, err
	}
	extension := filepath.Ext(path)
	var made []string
	for i := range plan.Beds {
		name := bedName(path, i+1, len(plan.Beds))
		err := outfile.Write(ctx, name, func(w io.Writer) error {
			return writeBed(w, plan, &plan.Beds[i], strings.ToLower(extension), j.spoolTitle(s))
		})
		if err != nil {
			return made, err
		}
		made = append(made, name)
	}
	return made, nil
}

// bedName is the file of one bed of so many.
func bedName(path string, n, of int) string {
	if of == 1 {
		return path
	}
	extension := filepath.Ext(path)
	return fmt.Sprintf("%s-bed-%0*d%s", strings.TrimSuffix(path, extension), len(fmt.Sprint(of)), n, extension)
}

func writeBed(w io.Writer, p *bed.Plan, b *bed.Bed, extension, title string) error {
	switch extension {
	case ".svg":
		return svg.Encode(w, p.Drawing(b, title), &svg.Options{CutLines: true})
	case ".dxf":
		d := p.Drawing(b, title)
		d.Subject = "" // the comments say it line by line
		return dxf.Encode(w, d, &dxf.Options{Comments: slices.Concat(p.Notes(b, title), p.Profile.Cautions())})
	}
	return nc.Encode(w, p, b, nc.Options{Title: title})
}

// spoolTitle names a spool of the piece.
func (j *Job) spoolTitle(s *spools.Spool) string {
	title := j.Title()
	if s.Name != "" {
		title += " (" + s.Name + ")"
	}
	if s.Of > 1 {
		title += fmt.Sprintf(", spool %d of %d", s.Number, s.Of)
	}
	return title
}

func (j *Job) writeNC(io.Writer, *roll.Roll, *Options) error { return ErrNoMachine }

// MachineWork says in a line for every roll what cutting it takes: beds, cuts,
// travel against plain row order, time.
func (j *Job) MachineWork(o *Options) ([]string, error) {
	all, err := j.spoolsOf(o)
	if err != nil {
		return nil, err
	}
	var lines []string
	for _, s := range all {
		plan, err := j.Beds(s, o)
		if err != nil {
			return nil, err
		}
		lines = append(lines, machineWork(plan))
	}
	return lines, nil
}

func machineWork(p *bed.Plan) string {
	path, rows := p.Total()
	name := ""
	if p.Roll.Name != "" {
		name = p.Roll.Name + ": "
	}
	text := fmt.Sprintf("%s%s, the tool is switched on %d times and travels %.2f m between (row by row %.2f m)",
		name, number(len(p.Beds), "bed"), path.Strokes, path.TravelMM/1000, rows.TravelMM/1000)
	if p.Passes > 1 {
		text += fmt.Sprintf("; %d passes for %d copies", p.Passes, p.Copies)
	}
	return text + "; about " + bed.Clock(p.WorkSec()) + " with laying the paper"
}

func number(n int, noun string) string {
	if n == 1 {
		return "1 " + noun
	}
	return fmt.Sprintf("%d %ss", n, noun)
}
