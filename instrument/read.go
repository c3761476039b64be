package instrument

import (
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"rollwright/blocks"
	"rollwright/source"
)

// Extension ends the name of an instrument's file.
const Extension = ".instrument"

// mostLikes is how many files may stand on each other by `like`.
const mostLikes = 8

// mostBytes is the longest file that is read.
const mostBytes = 1_000_000

// Load reads the built-in instrument of that name, or the file at that path,
// which counts from dir when it is relative. An error in the file is a
// source.Errors.
func Load(name, dir string) (*Instrument, error) { return LoadWith(name, dir, readFile) }

// LoadWith is Load for a program that decides itself which files may be read,
// that of the name and those that it is like: open gives the bytes at a path.
func LoadWith(name, dir string, open func(path string) ([]byte, error)) (*Instrument, error) {
	f, dir, err := find(name, dir, open)
	if err != nil {
		return nil, err
	}
	in, err := read(f, dir, open)
	if err == nil {
		in.Name = name
	}
	return in, err
}

// find is the text of an instrument and the folder its own paths count from.
func find(name, dir string, open func(path string) ([]byte, error)) (*source.File, string, error) {
	if !strings.HasSuffix(name, Extension) && !strings.ContainsAny(name, `/\`) {
		text, err := Source(name)
		return &source.File{Name: name + Extension, Text: text}, "", err
	}
	path := name
	if !filepath.IsAbs(path) {
		path = filepath.Join(dir, path)
	}
	text, err := open(path)
	if err != nil {
		return nil, "", fmt.Errorf("instrument: %w", err)
	}
	return &source.File{Name: path, Text: text}, filepath.Dir(path), nil
}

func readFile(path string) ([]byte, error) {
	file, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer file.Close()
	text, err := io.ReadAll(io.LimitReader(file, mostBytes+1))
	if err == nil && len(text) > mostBytes {
		err = fmt.Errorf("%s is longer than %d bytes", path, mostBytes)
	}
	return text, err
}

// Read reads an instrument from the text of f. Paths in it (`like`) count from
// dir. Errors are source.Errors, but for a base file that cannot be read.
func Read(f *source.File, dir string) (*Instrument, error) { return read(f, dir, readFile) }

func read(f *source.File, dir string, open func(path string) ([]byte, error)) (*Instrument, error) {
	r := &reader{in: &Instrument{Name: f.Name, File: f}, set: map[string]*blocks.Value{}, open: open}
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
	open  func(path string) ([]byte, error)
	set   map[string]*blocks.Value // by "block.attribute": where each value was given last
	head  *blocks.Block            // of the notes
	notes noteRow
	ports []portPlan
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
	r.errs = append(r.errs, body.Unknown(known(""), "an instrument")...)
	if a := body.Get("like"); a != nil {
		r.like(a, dir, append(likes, f.Name))
	}
	if a := body.Get("title"); a != nil {
		title, err := a.Str()
		r.fail(err)
		r.in.Title = title
	}
	seen := map[string]bool{}
	for _, b := range body.Blocks {
		id := strings.Join(append([]string{b.Type}, b.Labels...), " ")
		if seen[id] {
			r.fail(b.Error(fmt.Sprintf("a second %s", source.Printable(id)), "write one, with all its attributes"))
		}
		seen[id] = true
		r.block(b)
	}
}

// like reads the instrument that a names, before what the file itself says.
func (r *reader) like(a *blocks.Attr, dir string, likes []string) {
	name, err := a.Str()
	if err != nil {
		r.fail(err)
		return
	}
	f, base, e := find(name, dir, r.open)
	switch {
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

// block reads one block of the file.
func (r *reader) block(b *blocks.Block) {
	if !slices.Contains(others[""], b.Type+" {") {
		return // Unknown has complained
	}
	r.errs = append(r.errs, b.Body.Unknown(known(b.Type), "a "+b.Type+" block")...)
	for _, a := range b.Body.Attrs {
		if b.Type != "port" {
			r.set[b.Type+"."+a.Name] = a.Value
		}
	}
	for i := range fields {
		if f := &fields[i]; f.block == b.Type {
			if a := b.Body.Get(f.name); a != nil {
				f.unquoted(a)
				r.fail(f.read(r.in, a.Value))
			}
		}
	}
	for _, c := range choices {
		if a := b.Body.Get(c.name); a != nil && c.block == b.Type {
			r.choose(c, a.Value)
		}
	}
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

func (r *reader) choose(c choice, v *blocks.Value) {
	s, err := v.Str()
	if err != nil {
		r.fail(err)
		return
	}
	i := slices.Index(c.words, s)
	if i < 0 {
		r.fail(v.Error(fmt.Sprintf("%s cannot be %q", c.name, source.Printable(s)), `write "`+strings.Join(c.words, `" or "`)+`"`))
		return
	}
	c.set(r.in, i)
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
