package machine

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
// counts from dir when it is relative. An error in the file is a source.Errors.
func Load(name, dir string) (*Profile, error) {
	f := &source.File{Name: name + Extension}
	var err error
	if !strings.HasSuffix(name, Extension) && !strings.ContainsAny(name, `/\`) {
		f.Text, err = Source(name)
	} else {
		f.Name = name
		if !filepath.IsAbs(name) {
			f.Name = filepath.Join(dir, name)
		}
		f.Text, err = readFile(f.Name)
	}
	if err != nil {
		return nil, err
	}
	p, err := Read(f)
	if err == nil {
		p.Name = name
	}
	return p, err
}

func readFile(path string) ([]byte, error) {
	file, err := os.Open(path)
	if err != nil {
		return nil, fmt.Errorf("machine: %w", err)
	}
	defer file.Close()
	text, err := io.ReadAll(io.LimitReader(file, mostBytes+1))
	if err == nil && len(text) > mostBytes {
		err = fmt.Errorf("machine: %s is longer than %d bytes", path, mostBytes)
	}
	return text, err
}

// Read reads a profile from the text of f. The error is a source.Errors.
func Read(f *source.File) (*Profile, error) {
	body, errs := blocks.Parse(f, blocks.Options{MaxBytes: mostBytes})
	r := &reader{p: &Profile{Name: f.Name, Pass: Pass{Plies: 1}}, file: f, errs: errs, set: map[string]*blocks.Attr{}}
	r.body("", body)
	seen := map[string]bool{}
	for _, b := range body.Blocks {
		if seen[b.Type] {
			r.fail(b.Error("a second "+source.Printable(b.Type), "write one, with all its attributes"))
		}
		seen[b.Type] = true
		if slices.Contains(known(""), b.Type+" {") {
			r.body(b.Type, b.Body)
		}
	}
	if len(r.errs) == 0 {
		r.check()
	}
	if err := blocks.Merge(r.errs).Err(); err != nil {
		return nil, err
	}
	return r.p, nil
}

type reader struct {
	p    *Profile
	file *source.File
	errs source.Errors
	set  map[string]*blocks.Attr // by "block.attribute"
}

func (r *reader) fail(err *source.Error) {
	if err != nil {
		r.errs = append(r.errs, err)
	}
}

// taker takes an attribute's value into a profile.
type taker func(*Profile, *blocks.Attr) *source.Error

// field is one attribute: where it stands and how its value is taken.
type field struct {
	block, name string
	take        taker
}

var fields = []field{
	{"", "title", func(p *Profile, a *blocks.Attr) (err *source.Error) { p.Title, err = a.Str(); return err }},
	{"", "tool", words(func(p *Profile, i int) { p.Tool = Tool(i) }, "laser", "punch")},
	{"", "cut", words(func(p *Profile, i int) { p.Cut = Cut(i) }, "outlines", "strokes", "punches")},
	{"", "units", words(func(p *Profile, i int) { p.Inches = i == 1 }, "mm", "in")},
	{"", "along", words(func(p *Profile, i int) { p.AlongY = i == 1 }, "x", "y")},

	{"bed", "along", orWord("endless", 0, lengthField(50, 1e5, func(p *Profile) *float64 { return &p.Bed.AlongMM }), func(p *Profile) *float64 { return &p.Bed.AlongMM })},
	{"bed", "across", lengthField(50, 5000, func(p *Profile) *float64 { return &p.Bed.AcrossMM })},
	{"bed", "margin", lengthField(0, 500, func(p *Profile) *float64 { return &p.Bed.MarginMM })},
	{"bed", "overlap", lengthField(0, 1000, func(p *Profile) *float64 { return &p.Bed.OverlapMM })},
	{"bed", "edge", lengthField(0, 2000, func(p *Profile) *float64 { return &p.Bed.EdgeMM })},

	{"register", "hole", lengthField(0.5, 20, func(p *Profile) *float64 { return &p.Register.HoleMM })},
	{"register", "inset", lengthField(-100, 100, func(p *Profile) *float64 { return &p.Register.InsetMM })},

	{"move", "along", speed(func(p *Profile) *float64 { return &p.Move.AlongMMPerSec })},
	{"move", "across", speed(func(p *Profile) *float64 { return &p.Move.AcrossMMPerSec })},
	{"move", "acceleration", number(0, 1e6, func(p *Profile) *float64 { return &p.Move.AccelMMPerSec2 })},
	{"move", "window", orWord("bed", wholeBed, lengthField(0, 1e5, func(p *Profile) *float64 { return &p.Move.WindowMM }), func(p *Profile) *float64 { return &p.Move.WindowMM })},

	{"head", "on", program(func(p *Profile) *[]string { return &p.Head.On })},
	{"head", "off", program(func(p *Profile) *[]string { return &p.Head.Off })},
	{"head", "on_dwell", seconds(60, func(p *Profile) *float64 { return &p.Head.OnSec })},
	{"head", "off_dwell", seconds(60, func(p *Profile) *float64 { return &p.Head.OffSec })},
	{"head", "switching", seconds(60, func(p *Profile) *float64 { return &p.Head.SwitchSec })},
	{"head", "feed", speed(func(p *Profile) *float64 { return &p.Head.FeedMMPerSec })},
	{"head", "kerf", lengthField(0, 10, func(p *Profile) *float64 { return &p.Head.KerfMM })},
	{"head", "die", lengthField(0.2, 20, func(p *Profile) *float64 { return &p.Head.DieMM })},

	{"tabs", "over", lengthField(1, 1e5, func(p *Profile) *float64 { return &p.Tabs.OverMM })},
	{"tabs", "every", lengthField(1, 1e5, func(p *Profile) *float64 { return &p.Tabs.EveryMM })},
	{"tabs", "width", lengthField(0.05, 10, func(p *Profile) *float64 { return &p.Tabs.WidthMM })},

	{"pass", "plies", whole(1, 100, func(p *Profile) *int { return &p.Pass.Plies })},
	{"pass", "change", seconds(3600, func(p *Profile) *float64 { return &p.Pass.ChangeSec })},

	{"park", "along", lengthField(0, 1e5, func(p *Profile) *float64 { return &p.Park.AlongMM })},
	{"park", "across", lengthField(0, 5000, func(p *Profile) *float64 { return &p.Park.AcrossMM })},
}

// known are the names that may stand in a block of the given type.
func known(block string) []string {
	var names []string
	if block == "" {
		names = []string{"bed {", "register {", "move {", "head {", "tabs {", "pass {", "park {"}
	}
	for _, f := range fields {
		if f.block == block {
			names = append(names, f.name)
		}
	}
	return names
}

func (r *reader) body(kind string, body *blocks.Body) {
	what := "a machine"
	if kind != "" {
		what = "a " + kind + " block"
	}
	r.errs = append(r.errs, body.Unknown(known(kind), what)...)
	for _, f := range fields {
		if a := body.Get(f.name); a != nil && f.block == kind {
			r.set[kind+"."+f.name] = a
			r.fail(f.take(r.p, a))
		}
	}
}

func words(set func(*Profile, int), choices ...string) taker {
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

// orWord takes one word as a value of its own, and everything else as take
// does.
func orWord(word string, value float64, take taker, to func(*Profile) *float64) taker {
	return func(p *Profile, a *blocks.Attr) *source.Error {
		if s, err := a.Str(); a.IsText() && err == nil && s == word {
			*to(p) = value
			return nil
		}
		return take(p, a)
	}
}

// lengthField takes millimetres, or text with its unit.
func lengthField(low, high float64, to func(*Profile) *float64) taker {
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
	mm, ok := blocks.ParseMM(s)
	if !ok {
		return 0, a.Error("a length is wanted here", `write millimetres, 2.5, or a length with its unit: "1/8 in", "23 1/2 in", "2.5 mm"`)
	}
	return mm, nil
}

func whole(low, high int, to func(*Profile) *int) taker {
	return func(p *Profile, a *blocks.Attr) *source.Error {
		n, err := a.Int()
		if err != nil {
			return err
		}
		*to(p) = n
		return inRange(a, float64(n), float64(low), float64(high), "")
	}
}

func number(low, high float64, to func(*Profile) *float64) taker {
	return func(p *Profile, a *blocks.Attr) *source.Error {
		x, err := a.Float()
		if err != nil {
			return err
		}
		*to(p) = x
		return inRange(a, x, low, high, "")
	}
}

// speed takes millimetres a minute, as machines have it, or text with its unit:
// "400 in/min", "20 mm/s".
func speed(to func(*Profile) *float64) taker {
	return func(p *Profile, a *blocks.Attr) *source.Error {
		if !a.IsText() {
			x, err := a.Float()
			if err != nil {
				return err
			}
			*to(p) = x / 60
			return inRange(a, x, 1, 1e6, " mm a minute")
		}
		s, err := a.Str()
		if err != nil {
			return err
		}
		text, per, ok := strings.Cut(s, "/")
		// A slash may belong to the length, "1/2 in/s".
		if i := strings.LastIndexByte(s, '/'); ok {
			text, per = s[:i], strings.TrimSpace(s[i+1:])
		}
		mm, isLength := blocks.ParseMM(text)
		scale := map[string]float64{"min": 60, "s": 1}[per]
		if !ok || !isLength || scale == 0 {
			return a.Error("a speed is wanted here", `write millimetres a minute, 1200, or a speed with its unit: "20 mm/s", "47 in/min"`)
		}
		*to(p) = mm / scale
		return inRange(a, *to(p)*60, 1, 1e6, " mm a minute")
	}
}

// seconds takes a time with its unit: "40 ms", "0.04 s", "2 min".
func seconds(high float64, to func(*Profile) *float64) taker {
	return func(p *Profile, a *blocks.Attr) *source.Error {
		s, err := a.Str()
		if err != nil {
			return err
		}
		number, scale := strings.TrimSpace(s), 0.0
		for _, unit := range []struct {
			name  string
			scale float64
		}{{"ms", 1e-3}, {"min", 60}, {"s", 1}} {
			if n, ok := strings.CutSuffix(number, unit.name); ok && scale == 0 {
				number, scale = strings.TrimSpace(n), unit.scale
			}
		}
		x, e := strconv.ParseFloat(number, 64)
		if e != nil || scale == 0 || math.IsNaN(x) {
			return a.Error("a time with its unit is wanted here", `write "40 ms", "0.04 s" or "2 min"`)
		}
		*to(p) = x * scale
		return inRange(a, x*scale, 0, high, " s")
	}
}

func inRange(a *blocks.Attr, x, low, high float64, unit string) *source.Error {
	if x >= low && x <= high {
		return nil
	}
	return a.Error(a.Name+" is out of range", fmt.Sprintf("it runs from %s to %s%s", figure(low), figure(high), unit))
}

func figure(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }
