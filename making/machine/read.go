package machine

import (
	"math"
	"strconv"
	"strings"

	"rollwright/draw"
	"rollwright/text/blocks"
	"rollwright/text/fields"
	"rollwright/text/source"
)

// Load reads the built-in profile of that name, or the file at that path, which
// counts from dir when it is relative. An error in the file is a source.Errors.
func Load(name, dir string) (*Profile, error) {
	f, _, err := onShelf.Find(name, dir, nil)
	if err != nil {
		return nil, err
	}
	p, err := Read(f)
	if err == nil {
		p.Name = name
	}
	return p, err
}

// Read reads a profile from the text of f. The error is a source.Errors.
func Read(f *source.File) (*Profile, error) {
	body, errs := blocks.Parse(f, blocks.Options{MaxBytes: onShelf.MostBytes})
	usual := &Profile{Name: f.Name, Pass: Pass{Plies: 1}, Lines: usualLines}
	r := &reader{p: usual, file: f, errs: errs, given: fields.Given{}}
	r.errs = append(r.errs, table.Read(body, r.p, r.given, nil)...)
	if len(r.errs) == 0 {
		r.check()
	}
	if err := blocks.Merge(r.errs).Err(); err != nil {
		return nil, err
	}
	return r.p, nil
}

type reader struct {
	p     *Profile
	file  *source.File
	errs  source.Errors
	given fields.Given
}

func (r *reader) fail(err *source.Error) { r.errs = append(r.errs, err) }

var table = fields.Table[Profile]{
	What: "a machine",
	Others: map[string][]string{"": {"bed {", "register {", "move {", "head {", "program {", "tabs {", "lines {",
		"pass {", "park {"}},
	Fields: []fields.Field[Profile]{
		fields.At("", "title", fields.Text(func(p *Profile) *string { return &p.Title })),
		fields.At("", "tool", fields.Words(func(p *Profile, i int) { p.Tool = Tool(i) }, "laser", "punch", "knife")),
		fields.At("", "cut", fields.Words(func(p *Profile, i int) { p.Cut = Cut(i) }, "outlines", "strokes", "punches")),
		fields.At("", "units", fields.Words(func(p *Profile, i int) { p.Inches = i == 1 }, "mm", "in")),
		fields.At("", "along", fields.Words(func(p *Profile, i int) { p.AlongY = i == 1 }, "x", "y")),

		fields.At("bed", "along", fields.OrWord("endless", 0, func(p *Profile) *float64 { return &p.Bed.AlongMM },
			fields.Length(50, 1e5, func(p *Profile) *float64 { return &p.Bed.AlongMM }))),
		fields.At("bed", "across", fields.Length(50, 5000, func(p *Profile) *float64 { return &p.Bed.AcrossMM })),
		fields.At("bed", "margin", fields.Length(0, 500, func(p *Profile) *float64 { return &p.Bed.MarginMM })),
		fields.At("bed", "overlap", fields.Length(0, 1000, func(p *Profile) *float64 { return &p.Bed.OverlapMM })),
		fields.At("bed", "edge", fields.Length(0, 2000, func(p *Profile) *float64 { return &p.Bed.EdgeMM })),

		fields.At("register", "hole", fields.Length(0.5, 20, func(p *Profile) *float64 { return &p.Register.HoleMM })),
		fields.At("register", "inset", fields.Length(-100, 100, func(p *Profile) *float64 { return &p.Register.InsetMM })),

		fields.At("move", "along", speed(func(p *Profile) *float64 { return &p.Move.AlongMMPerSec })),
		fields.At("move", "across", speed(func(p *Profile) *float64 { return &p.Move.AcrossMMPerSec })),
		fields.At("move", "acceleration", acceleration(func(p *Profile) *float64 { return &p.Move.AccelMMPerSec2 })),
		fields.At("move", "window", fields.OrWord("bed", wholeBed, func(p *Profile) *float64 { return &p.Move.WindowMM },
			fields.Length(0, 1e5, func(p *Profile) *float64 { return &p.Move.WindowMM }))),

		fields.At("head", "on", program(func(p *Profile) *[]string { return &p.Head.On })),
		fields.At("head", "off", program(func(p *Profile) *[]string { return &p.Head.Off })),
		fields.At("head", "mark", program(func(p *Profile) *[]string { return &p.Head.Mark })),
		fields.At("head", "on_dwell", fields.Seconds(0, 60, func(p *Profile) *float64 { return &p.Head.OnSec })),
		fields.At("head", "off_dwell", fields.Seconds(0, 60, func(p *Profile) *float64 { return &p.Head.OffSec })),
		fields.At("head", "switching", fields.Seconds(0, 60, func(p *Profile) *float64 { return &p.Head.SwitchSec })),
		fields.At("head", "feed", speed(func(p *Profile) *float64 { return &p.Head.FeedMMPerSec })),
		fields.At("head", "kerf", fields.Length(0, 10, func(p *Profile) *float64 { return &p.Head.KerfMM })),
		fields.At("head", "offset", fields.Length(0, 5, func(p *Profile) *float64 { return &p.Head.OffsetMM })),
		fields.At("head", "overcut", fields.Length(0, 10, func(p *Profile) *float64 { return &p.Head.OvercutMM })),
		fields.At("head", "die", fields.Length(0.2, 20, func(p *Profile) *float64 { return &p.Head.DieMM })),

		fields.At("program", "start", program(func(p *Profile) *[]string { return &p.Program.Start })),
		fields.At("program", "end", program(func(p *Profile) *[]string { return &p.Program.End })),

		fields.At("tabs", "over", fields.Length(1, 1e5, func(p *Profile) *float64 { return &p.Tabs.OverMM })),
		fields.At("tabs", "every", fields.Length(1, 1e5, func(p *Profile) *float64 { return &p.Tabs.EveryMM })),
		fields.At("tabs", "width", fields.Length(0.05, 10, func(p *Profile) *float64 { return &p.Tabs.WidthMM })),

		fields.At("lines", "cut", hue(func(p *Profile) *draw.Ink { return &p.Lines.Cut.Hue })),
		fields.At("lines", "mark", hue(func(p *Profile) *draw.Ink { return &p.Lines.Mark.Hue })),
		fields.At("lines", "register", hue(func(p *Profile) *draw.Ink { return &p.Lines.Register.Hue })),
		fields.At("lines", "cut_width", lineWidth(func(p *Profile) *Line { return &p.Lines.Cut })),
		fields.At("lines", "mark_width", lineWidth(func(p *Profile) *Line { return &p.Lines.Mark })),
		fields.At("lines", "register_width", lineWidth(func(p *Profile) *Line { return &p.Lines.Register })),

		fields.At("pass", "plies", fields.Whole(1, 100, func(p *Profile) *int { return &p.Pass.Plies })),
		fields.At("pass", "change", fields.Seconds(0, 3600, func(p *Profile) *float64 { return &p.Pass.ChangeSec })),

		fields.At("park", "along", fields.Length(0, 1e5, func(p *Profile) *float64 { return &p.Park.AlongMM })),
		fields.At("park", "across", fields.Length(0, 5000, func(p *Profile) *float64 { return &p.Park.AcrossMM })),
	},
}

// hue takes a colour as pages of the web write it: "#ff0000" (W3C, CSS Color Module
// Level 4, 5.2).
func hue(to func(*Profile) *draw.Ink) fields.Take[Profile] {
	return func(p *Profile, a *blocks.Attr) *source.Error {
		s, err := a.Str()
		if err != nil {
			return err
		}
		digits, hash := strings.CutPrefix(s, "#")
		rgb, bad := strconv.ParseUint(digits, 16, 24)
		if !hash || bad != nil || len(digits) != 6 {
			return a.Error("a hue is wanted here", `write two hexadecimal digits each of red, green, blue: "#ff0000" is red`)
		}
		*to(p) = draw.Hex(uint32(rgb))
		return nil
	}
}

// lineWidth takes the width of a drawn line: the finest is what four decimals hold.
func lineWidth(to func(*Profile) *Line) fields.Take[Profile] {
	return fields.Length(0.001, 2, func(p *Profile) *float64 { return &to(p).WidthMM })
}

// speed takes millimetres a minute, as machines have it, or text with its unit:
// "400 in/min", "20 mm/s".
func speed(to func(*Profile) *float64) fields.Take[Profile] {
	return func(p *Profile, a *blocks.Attr) *source.Error {
		if !a.IsText() {
			x, err := a.Float()
			if err != nil {
				return err
			}
			*to(p) = x / 60
			return fields.InRange(a, x, 1, 1e6, " mm a minute")
		}
		s, err := a.Str()
		if err != nil {
			return err
		}
		mmPerSec, ok := parseSpeed(s)
		if pointed, comma := fields.Pointed(s); !ok && comma {
			if _, ok := parseSpeed(pointed); ok {
				return a.Error(fields.DecimalPoint+pointed, "")
			}
		}
		if !ok {
			return a.Error("a speed is wanted here", `write millimetres a minute, 1200, or a speed with its unit: "20 mm/s", "47 in/min"`)
		}
		*to(p) = mmPerSec
		return fields.InRange(a, *to(p)*60, 1, 1e6, " mm a minute")
	}
}

// parseSpeed reads a length, a slash, a minute or a second.
func parseSpeed(s string) (mmPerSec float64, ok bool) {
	i := strings.LastIndexByte(s, '/') // a slash may belong to the length, "1/2 in/s"
	if i < 0 {
		return 0, false
	}
	mm, ok := blocks.ParseMM(s[:i])
	scale := map[string]float64{"min": 60, "s": 1}[strings.TrimSpace(s[i+1:])]
	if !ok || scale == 0 {
		return 0, false
	}
	return mm / scale, true
}

// acceleration takes millimetres a second, a second.
func acceleration(to func(*Profile) *float64) fields.Take[Profile] {
	number := fields.Number(math.Inf(-1), math.Inf(1), to)
	return func(p *Profile, a *blocks.Attr) *source.Error {
		if _, word := a.Word(); word || a.IsText() {
			return a.Error("an acceleration is wanted here", "write mm/s2, for example 1500; 0: at once")
		}
		if err := number(p, a); err != nil {
			return err
		}
		return fields.InRange(a, *to(p), 0, 1e6, " mm/s2")
	}
}
