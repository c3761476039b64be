package bench

import (
	"rollwright/text/blocks"
	"rollwright/text/fields"
	"rollwright/text/source"
)

// Load reads the built-in profile of that name, or the file at that path, which
// counts from dir when it is relative; an empty name is the default profile.
// An error in the file is a source.Errors.
func Load(name, dir string) (*Profile, error) {
	if name == "" {
		name = Default()
	}
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

// Read reads a profile from the text of f. What the text leaves out is as in
// the default profile. The error is a source.Errors.
func Read(f *source.File) (*Profile, error) {
	body, errs := blocks.Parse(f, blocks.Options{MaxBytes: onShelf.MostBytes})
	p := standard(f.Name)
	given := fields.Given{}
	wrong := table.Read(body, p, given, nil)
	if a := given["pace.punches"]; a != nil && (given["pace.stroke"] != nil || given["pace.row"] != nil) {
		wrong = append(wrong, a.Error("the pace is given twice",
			"punches counts an hour with its rows; write either that, or stroke and row"))
	}
	if err := blocks.Merge(errs, wrong).Err(); err != nil {
		return nil, err
	}
	return p, nil
}

var table = fields.Table[Profile]{
	What:   "a bench",
	Others: map[string][]string{"": {"crank {", "punch {", "rack {", "pace {"}},
	Fields: []fields.Field[Profile]{
		fields.At("", "title", fields.Text(func(p *Profile) *string { return &p.Title })),
		fields.At("", "lengths", fields.Words(func(p *Profile, i int) { p.Lengths = Lengths(i) }, lengthWords...)),
		fields.At("", "up", fields.Words(func(p *Profile, i int) { p.BackUp = i == 1 }, "front", "back")),
		fields.At("", "bass", fields.Words(func(p *Profile, i int) { p.BassRight = i == 1 }, "left", "right")),
		fields.At("", "check", fields.Length(0, 10_000, func(p *Profile) *float64 { return &p.CheckMM })),
		fields.At("crank", "turn", fields.Length(0.05, 500, func(p *Profile) *float64 { return &p.Crank.TurnMM })),
		fields.At("crank", "parts", fields.Whole(1, 10_000, func(p *Profile) *int { return &p.Crank.Parts })),
		fields.At("crank", "beyond", fields.Whole(0, 100, func(p *Profile) *int { return &p.Crank.BeyondTurns })),
		fields.At("punch", "die", fields.Length(0.2, 20, func(p *Profile) *float64 { return &p.DieMM })),
		fields.At("rack", "spacing", fields.Length(0.2, 100, func(p *Profile) *float64 { return &p.Rack.SpacingMM })),
		fields.At("rack", "offset", fields.Length(0, 500, func(p *Profile) *float64 { return &p.Rack.OffsetMM })),
		fields.At("rack", "first", fields.Whole(-1000, 1000, func(p *Profile) *int { return &p.Rack.First })),
		fields.At("rack", "from", fields.Words(func(p *Profile, i int) { p.Rack.FromTreble = i == 1 }, "bass", "treble")),
		fields.At("pace", "punches", punchesAnHour),
		fields.At("pace", "stroke", fields.Seconds(0.1, 3600, func(p *Profile) *float64 { return &p.Pace.StrokeSec })),
		fields.At("pace", "row", fields.Seconds(0, 3600, func(p *Profile) *float64 { return &p.Pace.RowSec })),
		fields.At("pace", "session", fields.Minutes(1, 24*60, func(p *Profile) *float64 { return &p.Pace.SessionSec })),
	},
}
