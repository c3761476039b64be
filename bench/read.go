package bench

import (
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"rollwright/blocks"
	"rollwright/source"
)

// mostBytes is the longest file that is read.
const mostBytes = 100_000

// Load reads the built-in profile of that name, or the file at that path, which
// counts from dir when it is relative; an empty name is the default profile.
// An error in the file is a source.Errors.
func Load(name, dir string) (*Profile, error) {
	if name == "" {
		name = Default()
	}
	if !strings.HasSuffix(name, Extension) && !strings.ContainsAny(name, `/\`) {
		text, err := Source(name)
		if err != nil {
			return nil, err
		}
		return named(name, &source.File{Name: name + Extension, Text: text})
	}
	path := name
	if !filepath.IsAbs(path) {
		path = filepath.Join(dir, path)
	}
	text, err := readFile(path)
	if err != nil {
		return nil, fmt.Errorf("bench: %w", err)
	}
	return named(name, &source.File{Name: path, Text: text})
}

func named(name string, f *source.File) (*Profile, error) {
	p, err := Read(f)
	if err != nil {
		return nil, err
	}
	p.Name = name
	return p, nil
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

// Read reads a profile from the text of f. What the text leaves out is as in
// the default profile. The error is a source.Errors.
func Read(f *source.File) (*Profile, error) {
	body, errs := blocks.Parse(f, blocks.Options{MaxBytes: mostBytes})
	r := &reader{p: standard(f.Name), errs: errs}
	r.block("", body)
	seen := map[string]bool{}
	for _, b := range body.Blocks {
		if seen[b.Type] {
			r.fail(b.Error("a second "+source.Printable(b.Type), "write one, with all its attributes"))
		}
		seen[b.Type] = true
		if slices.Contains(known(""), b.Type+" {") {
			r.block(b.Type, b.Body)
		}
	}
	if err := blocks.Merge(r.errs).Err(); err != nil {
		return nil, err
	}
	return r.p, nil
}

type reader struct {
	p    *Profile
	errs source.Errors
}

func (r *reader) fail(err *source.Error) {
	if err != nil {
		r.errs = append(r.errs, err)
	}
}

// field is one attribute: where it stands and how its value is taken.
type field struct {
	block, name string
	take        func(*Profile, *blocks.Attr) *source.Error
}

var fields = []field{
	{"", "title", func(p *Profile, a *blocks.Attr) (err *source.Error) { p.Title, err = a.Str(); return err }},
	{"", "lengths", words(func(p *Profile, i int) { p.Lengths = Lengths(i) }, lengthWords...)},
	{"", "up", words(func(p *Profile, i int) { p.BackUp = i == 1 }, "front", "back")},
	{"", "bass", words(func(p *Profile, i int) { p.BassRight = i == 1 }, "left", "right")},
	{"", "check", lengthField(0, 10_000, func(p *Profile) *float64 { return &p.CheckMM })},
	{"crank", "turn", lengthField(0.05, 500, func(p *Profile) *float64 { return &p.Crank.TurnMM })},
	{"crank", "parts", wholeField(1, 10_000, func(p *Profile) *int { return &p.Crank.Parts })},
	{"crank", "beyond", wholeField(0, 100, func(p *Profile) *int { return &p.Crank.BeyondTurns })},
	{"punch", "die", lengthField(0.2, 20, func(p *Profile) *float64 { return &p.DieMM })},
	{"rack", "spacing", lengthField(0.2, 100, func(p *Profile) *float64 { return &p.Rack.SpacingMM })},
	{"rack", "offset", lengthField(0, 500, func(p *Profile) *float64 { return &p.Rack.OffsetMM })},
	{"rack", "first", wholeField(-1000, 1000, func(p *Profile) *int { return &p.Rack.First })},
	{"rack", "from", words(func(p *Profile, i int) { p.Rack.FromTreble = i == 1 }, "bass", "treble")},
	{"pace", "punches", numberField(1, 1e6, func(p *Profile) *float64 { return &p.Pace.PunchesAnHour })},
	{"pace", "session", timeField(func(p *Profile) *float64 { return &p.Pace.SessionSec })},
}

// known are the names that may stand in a block of the given type.
func known(block string) []string {
	var names []string
	if block == "" {
		names = []string{"crank {", "punch {", "rack {", "pace {"}
	}
	for _, f := range fields {
		if f.block == block {
			names = append(names, f.name)
		}
	}
	return names
}

func (r *reader) block(kind string, body *blocks.Body) {
	what := "a bench"
	if kind != "" {
		what = "a " + kind + " block"
	}
	r.errs = append(r.errs, body.Unknown(known(kind), what)...)
	for _, f := range fields {
		if a := body.Get(f.name); a != nil && f.block == kind {
			r.fail(f.take(r.p, a))
		}
	}
}

func words(set func(*Profile, int), choices ...string) func(*Profile, *blocks.Attr) *source.Error {
	return func(p *Profile, a *blocks.Attr) *source.Error {
		s, err := a.Str()
		if err != nil {
			return err
		}
		i := slices.Index(choices, s)
		if i < 0 {
			return a.Error(fmt.Sprintf("%s cannot be %q", a.Name, source.Printable(s)), `write "`+strings.Join(choices, `" or "`)+`"`)
		}
		set(p, i)
		return nil
	}
}

// lengthField takes millimetres, or text with its unit.
func lengthField(low, high float64, to func(*Profile) *float64) func(*Profile, *blocks.Attr) *source.Error {
	return func(p *Profile, a *blocks.Attr) *source.Error {
		mm, err := length(a)
		if err != nil {
			return err
		}
		*to(p) = mm
		return inRange(a, mm, low, high, " mm")
	}
}

func length(a *blocks.Attr) (float64, *source.Error) {
	if !a.IsText() {
		return a.Float()
	}
	s, err := a.Str()
	if err != nil {
		return 0, err
	}
	mm, ok := ParseLength(s)
	if !ok {
		return 0, a.Error("a length is wanted here", `write millimetres, 2.5, or a length with its unit: "1/8 in", "4 5/8 in", "2.5 mm"`)
	}
	return mm, nil
}

func wholeField(low, high int, to func(*Profile) *int) func(*Profile, *blocks.Attr) *source.Error {
	return func(p *Profile, a *blocks.Attr) *source.Error {
		n, err := a.Int()
		if err != nil {
			return err
		}
		*to(p) = n
		return inRange(a, float64(n), float64(low), float64(high), "")
	}
}

func numberField(low, high float64, to func(*Profile) *float64) func(*Profile, *blocks.Attr) *source.Error {
	return func(p *Profile, a *blocks.Attr) *source.Error {
		x, err := a.Float()
		if err != nil {
			return err
		}
		*to(p) = x
		return inRange(a, x, low, high, "")
	}
}

// timeField takes minutes or hours with their unit: "90 min", "1.5 h".
func timeField(to func(*Profile) *float64) func(*Profile, *blocks.Attr) *source.Error {
	return func(p *Profile, a *blocks.Attr) *source.Error {
		s, err := a.Str()
		if err != nil {
			return err
		}
		number, scale := "", 0.0
		if n, ok := strings.CutSuffix(strings.TrimSpace(s), "min"); ok {
			number, scale = n, 60
		} else if n, ok := strings.CutSuffix(strings.TrimSpace(s), "h"); ok {
			number, scale = n, 3600
		}
		x, e := strconv.ParseFloat(strings.TrimSpace(number), 64)
		if e != nil || math.IsNaN(x) {
			return a.Error("a time with its unit is wanted here", `write "90 min" or "1.5 h"`)
		}
		*to(p) = x * scale
		return inRange(a, x*scale/60, 1, 24*60, " minutes")
	}
}

func inRange(a *blocks.Attr, x, low, high float64, unit string) *source.Error {
	if x >= low && x <= high {
		return nil
	}
	figure := func(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }
	return a.Error(a.Name+" is out of range", fmt.Sprintf("it runs from %s to %s%s", figure(low), figure(high), unit))
}
