package instrument

import (
	"errors"
	"fmt"
	"io/fs"
	"slices"
	"strings"

	"rollwright/text/blocks"
	"rollwright/text/fields"
	"rollwright/text/shelf"
	"rollwright/text/source"
)

// Extension ends the name of an instrument's file.
const Extension = ".instrument"

// mostLikes is how many files may stand on each other by `like`.
const mostLikes = 8

// Load reads the built-in instrument of that name, or the file at that path,
// which counts from dir when it is relative. An error in the file is a
// source.Errors.
func Load(name, dir string) (*Instrument, error) { return LoadWith(name, dir, nil) }

// LoadWith is Load for a program that decides itself which files may be read,
// that of the name and those that it is like: open gives the bytes at a path.
func LoadWith(name, dir string, open func(path string) ([]byte, error)) (*Instrument, error) {
	f, dir, err := onShelf.Find(name, dir, open)
	if err != nil {
		return nil, err
	}
	in, err := read(f, dir, open)
	if err == nil {
		in.Name = name
	}
	return in, err
}

// Read reads an instrument from the text of f. Paths in it (`like`) count from
// dir. Errors are source.Errors, but for a base file that cannot be read.
func Read(f *source.File, dir string) (*Instrument, error) { return read(f, dir, nil) }

func read(f *source.File, dir string, open shelf.Open) (*Instrument, error) {
	r := &reader{in: &Instrument{Name: f.Name, File: f}, given: fields.Given{}, named: map[string]int{},
		open: open}
	r.file(f, dir, nil)
	if len(r.errs) == 0 {
		r.place()
	}
	if len(r.errs) == 0 {
		r.check()
	}
	if err := blocks.Merge(r.errs).Err(); err != nil {
		return nil, err
	}
	return r.in, nil
}

// reader gathers an instrument from a file and those it is like, the last
// word counting.
type reader struct {
	in    *Instrument
	open  shelf.Open
	given fields.Given  // where each value was given last
	head  *blocks.Block // of the notes
	notes noteRow
	ports []portPlan
	named map[string]int // the index of a port
	errs  source.Errors
}

func (r *reader) fail(err *source.Error) {
	if err != nil {
		r.errs = append(r.errs, err)
	}
}

// file reads f over what has been read already. Likes are the files that led
// to it.
func (r *reader) file(f *source.File, dir string, likes []string) {
	body, errs := blocks.Parse(f, blocks.Options{})
	r.errs = append(r.errs, errs...)
	if a := body.Get("like"); a != nil {
		r.like(a, dir, append(likes, f.Name))
	}
	wrong := table.Read(body, r.in, r.given, r.block)
	r.errs = append(r.errs, wrong...)
}

// like reads the instrument that a names, before what the file itself says.
func (r *reader) like(a *blocks.Attr, dir string, likes []string) {
	name, err := a.Str()
	if err != nil {
		r.fail(err)
		return
	}
	f, base, e := onShelf.Find(name, dir, r.open)
	switch {
	case errors.Is(e, fs.ErrNotExist):
		r.fail(a.Error(fmt.Sprintf("there is no file %s; its path counts from the folder of this instrument's file",
			source.Printable(name)), "built in are "+strings.Join(onShelf.Names(), ", ")))
	case e != nil:
		r.fail(a.Error(strings.TrimPrefix(e.Error(), "instrument: "), ""))
	case slices.Contains(likes, f.Name):
		r.fail(a.Error("this instrument is like itself", "name an instrument that does not lead back here"))
	case len(likes) > mostLikes:
		r.fail(a.Error("too many instruments stand on each other", fmt.Sprintf("at most %d", mostLikes)))
	default:
		r.file(f, base, likes)
	}
}

// block reads what is no field of the table.
func (r *reader) block(b *blocks.Block) {
	switch b.Type {
	case "port":
		r.port(b)
	case "notes":
		r.noteBlock(b)
	case "bar":
		r.key(b, "split", &r.in.Bar.SplitKey)
	case "levels":
		r.steps(b)
	}
}

// steps reads the levels of each binary number.
func (r *reader) steps(b *blocks.Block) {
	a := b.Body.Get("steps")
	if a == nil {
		return
	}
	list, err := a.List()
	if err != nil {
		r.fail(err)
		return
	}
	r.in.Levels.Steps = nil
	for _, v := range list {
		n, err := v.Int()
		if err == nil && (n < 1 || n > 127) {
			err = v.Error("a level runs from 1 to 127", "")
		}
		r.fail(err)
		r.in.Levels.Steps = append(r.in.Levels.Steps, n)
	}
}
