package workshop

import (
	"context"
	"fmt"
	"io"
	"slices"

	"rollwright/draw"
	"rollwright/draw/dxf"
	"rollwright/draw/pdf"
	"rollwright/draw/svg"
	"rollwright/making/bed"
	"rollwright/making/machine"
	"rollwright/making/nc"
	"rollwright/making/plot"
	"rollwright/paper/edition"
	"rollwright/text/choice"
	"rollwright/text/outfile"
	"rollwright/text/say"
)

// beds is the work on one roll at the machine that o names, whose path counts
// from folder.
func beds(r *edition.Roll, o *Options, folder string) (*bed.Plan, error) {
	m, err := machine.Load(o.Machine, folder)
	if err != nil {
		return nil, err
	}
	var marks []bed.Mark
	for _, c := range r.Cues {
		marks = append(marks, bed.Mark(c))
	}
	return bed.New(r.Roll, m, bed.Options{Back: o.Back, Copies: o.Copies, Marks: marks})
}

// writeBeds writes a file for every bed of every roll, named "path-bed-01.ext"
// where there are several.
func writeBeds(ctx context.Context, f *out) ([]string, error) {
	e, err := f.rolls()
	if err != nil {
		return nil, err
	}
	var made []string
	for _, r := range e.Rolls {
		more, err := f.part(e, r).writeBeds(ctx)
		if made = append(made, more...); err != nil {
			return made, err
		}
	}
	return made, nil
}

func (f *out) writeBeds(ctx context.Context) ([]string, error) {
	plan, err := beds(f.roll, f.o, f.folder)
	if err != nil {
		return nil, err
	}
	var made []string
	for i := range plan.Beds {
		name := f.named(bedSuffix(i+1, len(plan.Beds)))
		err := outfile.Write(ctx, name, func(w io.Writer) error {
			return writeBed(w, plan, &plan.Beds[i], f.extension(), f.edition.RollTitle(f.roll))
		})
		if err != nil {
			return made, err
		}
		made = append(made, name)
	}
	return made, nil
}

// bedSuffix is what one bed of so many adds to a name.
func bedSuffix(n, of int) string {
	if of == 1 {
		return ""
	}
	return fmt.Sprintf("-bed-%0*d", len(fmt.Sprint(of)), n)
}

// MachineReads is an error where a machine does not read the programs of an
// extension.
func MachineReads(p *machine.Profile, extension string) error {
	knife := p.Tool == machine.Knife
	switch {
	case knife && extension == ".nc":
		return choice.Errorf("a plotter that drags a knife reads .plt, not .nc")
	case !knife && extension == ".plt":
		return choice.Errorf("%s is no knife: its programs are .nc, its drawings .svg, .dxf and .pdf", p.Name)
	}
	return nil
}

func writeBed(w io.Writer, p *bed.Plan, b *bed.Bed, extension, title string) error {
	if err := MachineReads(p.Profile, extension); err != nil {
		return err
	}
	switch extension {
	case ".plt":
		return plot.Encode(w, p, b)
	case ".svg":
		return svg.Encode(w, p.Drawing(b, title), &svg.Options{CutLines: true})
	case ".pdf":
		return pdf.Encode(w, []*draw.Drawing{p.Drawing(b, title)}, &pdf.Options{CutLines: true})
	case ".dxf":
		d := p.Drawing(b, title)
		d.Subject = "" // the comments say it line by line
		return dxf.Encode(w, d, &dxf.Options{Comments: slices.Concat(p.Captions(b, title), p.Profile.Cautions())})
	}
	return nc.Encode(w, p, b, nc.Options{Title: title})
}

// MachineWork says in a line for every roll what cutting it takes: beds, cuts,
// travel against plain row order, time.
func (j *Job) MachineWork(o *Options) ([]string, error) {
	e, err := j.Edition(o.Piano, &o.Making)
	if err != nil {
		return nil, err
	}
	var lines []string
	for _, r := range e.Rolls {
		plan, err := beds(r, o, j.Folder)
		if err != nil {
			return nil, err
		}
		if plan.Profile.Tool == machine.Knife && len(lines) == 0 { // its files have no room for words
			lines = append(lines, slices.Concat(plan.Profile.Cautions(), plan.Notes(&plan.Beds[0], e.RollTitle(r)))...)
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
		name, say.Count(len(p.Beds), "bed"), path.Strokes, path.TravelMM/1000, rows.TravelMM/1000)
	if p.Passes > 1 {
		text += fmt.Sprintf("; %d passes for %d copies", p.Passes, p.Copies)
	}
	return text + "; about " + bed.Clock(p.WorkSec()) + " with laying the paper"
}
