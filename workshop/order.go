package workshop

import (
	"context"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"rollwright/paper/edition"
	"rollwright/text/outfile"
)

// Order is files that are written with the same options. Close it.
type Order struct {
	job     *Job
	options Options
	heard   *Heard // mixed once for all files of sound
}

// Order begins to write files as o says.
func (j *Job) Order(o Options) *Order { return &Order{job: j, options: o} }

// Close frees what the order keeps.
func (o *Order) Close() error {
	if o.heard == nil {
		return nil
	}
	return o.heard.Close()
}

// Heard is the sound that was written; nil: none.
func (o *Order) Heard() *Heard { return o.heard }

// Write writes the output named path, what ProductOf says, and returns the names
// of the files made: where one file holds one roll and the piece has several
// pianos or spools, a file each, named "path-piano-spool-1.ext".
func (o *Order) Write(ctx context.Context, path string) ([]string, error) {
	p, err := ProductOf(path, &o.options)
	if err != nil {
		return nil, err
	}
	return p.together(ctx, path, func(path string) ([]string, error) { return o.make(ctx, p, path) })
}

// special reports whether path is no file but a pipe or a device, which takes the
// bytes as they come.
func special(path string) bool {
	info, err := os.Stat(path)
	return err == nil && !info.Mode().IsRegular()
}

// together writes a product of several files, all of them or none: rolls of two
// pianos that are not of one piece, or half of a roll's beds, would be cut some day.
func (p *Product) together(ctx context.Context, path string, write func(path string) ([]string, error)) ([]string,
	error) {
	if p.Parts == 0 || special(path) {
		return write(path)
	}
	stage, err := outfile.StageIn(filepath.Dir(path))
	if err != nil {
		return nil, err
	}
	defer stage.Discard()
	made, err := write(stage.Path(filepath.Base(path)))
	if err != nil {
		return nil, err
	}
	if _, err := stage.Commit(ctx); err != nil {
		return nil, err
	}
	for i, name := range made {
		made[i] = outfile.Shown(name)
	}
	return made, nil
}

// make writes one product.
func (o *Order) make(ctx context.Context, p *Product, path string) ([]string, error) {
	if err := o.job.has(p.Needs, p.Called); err != nil {
		return nil, err
	}
	return p.write(ctx, &out{path: path, o: &o.options, job: o.job, order: o, folder: o.job.Folder})
}

// Write writes one output; see Order.Write.
func (j *Job) Write(ctx context.Context, path string, o Options) ([]string, error) {
	order := j.Order(o)
	defer order.Close()
	return order.Write(ctx, path)
}

// out is one output on its way to files.
type out struct {
	path   string
	o      *Options
	job    *Job   // nil where there are rolls alone
	order  *Order // likewise
	folder string // against which paths in options count

	edition *edition.Edition // once it is asked for
	roll    *edition.Roll    // the one that a file holds
}

// rolls are the rolls to write, those of the piano and spool that are asked for.
func (f *out) rolls() (*edition.Edition, error) {
	if f.edition != nil {
		return f.edition, nil
	}
	e, err := f.job.Edition(f.o.Piano, &f.o.Making)
	f.edition = e
	return e, err
}

func (f *out) extension() string { return strings.ToLower(filepath.Ext(f.path)) }

// named is the path of a part of the output.
func (f *out) named(suffix string) string {
	extension := filepath.Ext(f.path)
	return strings.TrimSuffix(f.path, extension) + suffix + extension
}

// fill writes one file.
type fill func(w io.Writer, f *out) error

// one is a product that is one file.
func one(write fill) func(context.Context, *out) ([]string, error) {
	return func(ctx context.Context, f *out) ([]string, error) {
		if err := outfile.Write(ctx, f.path, func(w io.Writer) error { return write(w, f) }); err != nil {
			return nil, err
		}
		return []string{f.path}, nil
	}
}

// eachRoll is a product with a file for each roll.
func eachRoll(write fill) func(context.Context, *out) ([]string, error) {
	return func(ctx context.Context, f *out) ([]string, error) {
		e, err := f.rolls()
		if err != nil {
			return nil, err
		}
		var made []string
		for _, r := range e.Rolls {
			part := f.part(e, r)
			more, err := one(write)(ctx, part)
			if made = append(made, more...); err != nil {
				return made, err
			}
		}
		return made, nil
	}
}

// eachSpool is a product with a file for each spool, which holds the rolls of all
// pianos.
func eachSpool(write fill) func(context.Context, *out) ([]string, error) {
	return func(ctx context.Context, f *out) ([]string, error) {
		e, err := f.rolls()
		if err != nil {
			return nil, err
		}
		var made []string
		for from := 0; from < len(e.Rolls); {
			to := from + 1
			for to < len(e.Rolls) && e.Rolls[to].Number == e.Rolls[from].Number {
				to++
			}
			part := *f
			part.edition, part.path = e.Of(e.Rolls[from:to]...), f.named(spoolEnding(e.Rolls[from]))
			more, err := one(write)(ctx, &part)
			if made = append(made, more...); err != nil {
				return made, err
			}
			from = to
		}
		return made, nil
	}
}

// part is the file of one roll of an edition.
func (f *out) part(e *edition.Edition, r *edition.Roll) *out {
	part := *f
	part.roll = r
	suffix := ""
	if r.Name != "" && several(e, r) {
		suffix = "-" + fileName(r.Name)
	}
	part.path = f.named(suffix + spoolEnding(r))
	return &part
}

// several reports whether an edition has rolls of another piano than that of r.
func several(e *edition.Edition, r *edition.Roll) bool {
	for _, other := range e.Rolls {
		if other.Piano != r.Piano {
			return true
		}
	}
	return false
}

// spoolEnding is what the number of a roll's spool adds to a name.
func spoolEnding(r *edition.Roll) string {
	if r.Of <= 1 {
		return ""
	}
	return spoolSuffix(r.Number)
}

func spoolSuffix(number int) string { return fmt.Sprintf("-spool-%d", number) }

// fileName keeps of a name what every file system takes.
func fileName(name string) string {
	return strings.Map(func(r rune) rune {
		if strings.ContainsRune(`/\:*?"<>|`, r) || r < ' ' {
			return '_'
		}
		return r
	}, name)
}
