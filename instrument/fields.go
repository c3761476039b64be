package instrument

import (
	"fmt"
	"regexp"
	"strconv"
	"strings"

	"rollwright/blocks"
	"rollwright/exact"
	"rollwright/source"
)

// quantity is how a number is written.
type quantity int8

const (
	millimetres quantity = iota
	seconds              // quoted, with its unit: "40 ms"
	plain
	whole
)

// field is one numeric attribute: where it stands, where it goes, and the
// range that can be meant.
type field struct {
	block, name string
	kind        quantity
	low, high   float64
	to          func(*Instrument) *float64
	toInt       func(*Instrument) *int
}

// fields are all numeric attributes but those of notes and ports.
var fields = []field{
	{"paper", "width", millimetres, 50, 1000, func(in *Instrument) *float64 { return &in.Paper.WidthMM }, nil},
	{"paper", "leader", millimetres, 0, 20000, func(in *Instrument) *float64 { return &in.Paper.LeaderMM }, nil},
	{"paper", "trailer", millimetres, 0, 20000, func(in *Instrument) *float64 { return &in.Paper.TrailerMM }, nil},
	{"paper", "edge", millimetres, 0, 100, func(in *Instrument) *float64 { return &in.Paper.EdgeMM }, nil},
	{"paper", "bridge", millimetres, 0, 50, func(in *Instrument) *float64 { return &in.Paper.BridgeMM }, nil},
	{"paper", "slot", millimetres, 0, 50, func(in *Instrument) *float64 { return &in.Paper.SlotMM }, nil},
	{"paper", "slot_die", millimetres, 0, 20, func(in *Instrument) *float64 { return &in.Paper.SlotDieMM }, nil},
	{"paper", "hole", millimetres, 0, 20, func(in *Instrument) *float64 { return &in.Paper.HoleMM }, nil},
	{"paper", "open_slot", millimetres, 1, 10000, func(in *Instrument) *float64 { return &in.Paper.OpenSlotMM }, nil},
	{"paper", "row_share", plain, 0.01, 1, func(in *Instrument) *float64 { return &in.Paper.RowShare }, nil},
	{"paper", "length_note", millimetres, 100, 1e6, func(in *Instrument) *float64 { return &in.Paper.LengthNoteMM }, nil},
	{"paper", "length_risk", millimetres, 100, 1e6, func(in *Instrument) *float64 { return &in.Paper.LengthRiskMM }, nil},

	{"bar", "port_height", millimetres, 0.1, 20, func(in *Instrument) *float64 { return &in.Bar.HeightMM }, nil},
	{"bar", "port_width", millimetres, 0, 20, func(in *Instrument) *float64 { return &in.Bar.WidthMM }, nil},
	{"bar", "open_share", plain, 0.05, 0.95, func(in *Instrument) *float64 { return &in.Bar.OpenShare }, nil},

	{"perforator", "die", millimetres, 0.2, 20, func(in *Instrument) *float64 { return &in.Die.DiameterMM }, nil},
	{"perforator", "step", millimetres, 0, 50, func(in *Instrument) *float64 { return &in.StepMM }, nil},

	{"chain", "slot_spacing", millimetres, 0.01, 50, func(in *Instrument) *float64 { return &in.Chain.SlotSpacingMM }, nil},
	{"chain", "bridge_spacing", millimetres, 0.01, 50, func(in *Instrument) *float64 { return &in.Chain.BridgeSpacingMM }, nil},
	{"chain", "web_min", millimetres, 0, 10, func(in *Instrument) *float64 { return &in.Chain.WebMinMM }, nil},
	{"chain", "open_first", millimetres, 0, 1000, func(in *Instrument) *float64 { return &in.Chain.OpenFirstMM }, nil},

	{"action", "shortest", seconds, 0, 1, func(in *Instrument) *float64 { return &in.Action.ShortestSec }, nil},
	{"action", "gap_paper", millimetres, 0, 50, func(in *Instrument) *float64 { return &in.Action.GapPaperMM }, nil},
	{"action", "gap_time", seconds, 0, 1, func(in *Instrument) *float64 { return &in.Action.GapSec }, nil},
	{"action", "delay", seconds, 0, 1, func(in *Instrument) *float64 { return &in.Action.DelaySec }, nil},
	{"action", "notes_at_once", whole, 1, 128, nil, func(in *Instrument) *int { return &in.Action.NotesAtOnce }},
	{"action", "notes_a_second", plain, 0, 100000, func(in *Instrument) *float64 { return &in.Action.NotesASecond }, nil},
	{"action", "step_tolerance", seconds, 0, 1, func(in *Instrument) *float64 { return &in.Action.StepTolerance }, nil},

	{"transport", "roll_tempo", plain, 5, 1000, func(in *Instrument) *float64 { return &in.Transport.RollTempo }, nil},
	{"transport", "lever", plain, 5, 1000, func(in *Instrument) *float64 { return &in.Transport.Lever }, nil},
	{"transport", "radius", millimetres, 1, 1000, func(in *Instrument) *float64 { return &in.Transport.RadiusMM }, nil},
	{"transport", "thickness", millimetres, 0, 5, func(in *Instrument) *float64 { return &in.Transport.ThicknessMM }, nil},

	{"levels", "accent", whole, 1, 127, nil, func(in *Instrument) *int { return &in.Levels.AccentLevel }},
	{"levels", "plain", whole, 1, 127, nil, func(in *Instrument) *int { return &in.Levels.PlainLevel }},
	{"levels", "accent_lead", seconds, 0, 1, func(in *Instrument) *float64 { return &in.Levels.AccentLeadSec }, nil},
	{"levels", "accent_close", seconds, 0, 1, func(in *Instrument) *float64 { return &in.Levels.AccentCloseSec }, nil},
	{"levels", "accent_shift", seconds, 0, 1, func(in *Instrument) *float64 { return &in.Levels.AccentShiftSec }, nil},
}

// choice is an attribute whose value is one of a few words.
type choice struct {
	block, name string
	words       []string
	set         func(*Instrument, int) // the index of the word
}

var choices = []choice{
	{"paper", "travel", []string{"down", "up"}, func(in *Instrument, i int) { in.Paper.TravelsUp = i == 1 }},
	{"paper", "bass", []string{"left", "right"}, func(in *Instrument, i int) { in.Paper.Bass = Side(i) }},
	{"chain", "kind", []string{"slot", "bridged"}, func(in *Instrument, i int) { in.Chain.Bridged = i == 1 }},
	{"transport", "kind", []string{"constant", "spool"}, func(in *Instrument, i int) { in.Transport.Spool = i == 1 }},
	{"levels", "kind", []string{"nothing", "accents", "steps"}, func(in *Instrument, i int) { in.Levels.Kind = LevelKind(i) }},
}

// others are the attributes that are neither a field nor a choice.
var others = map[string][]string{
	"":       {"title", "like", "paper {", "bar {", "notes {", "port {", "perforator {", "chain {", "action {", "transport {", "levels {"},
	"bar":    {"split"},
	"notes":  {"first", "last", "spacing", "at"},
	"port":   {"role", "half", "weight", "at", "beyond", "place", "none"},
	"levels": {"steps"},
}

// known are the names that may stand in a block of the given type.
func known(block string) []string {
	names := append([]string(nil), others[block]...)
	for _, f := range fields {
		if f.block == block {
			names = append(names, f.name)
		}
	}
	for _, c := range choices {
		if c.block == block {
			names = append(names, c.name)
		}
	}
	return names
}

// read takes the field's value from v.
func (f *field) read(in *Instrument, v *blocks.Value) *source.Error {
	if f.kind == whole {
		n, err := v.Int()
		if err != nil {
			return err
		}
		*f.toInt(in) = n
		return f.inRange(v, float64(n))
	}
	x, err := f.number(v)
	if err != nil {
		return err
	}
	*f.to(in) = x
	return f.inRange(v, x)
}

func (f *field) number(v *blocks.Value) (float64, *source.Error) {
	if f.kind == seconds {
		return duration(v)
	}
	if f.kind == millimetres {
		mm, err := v.MM()
		if err != nil && v.IsText() {
			err = v.Error(noLength, lengthHint)
		}
		return mm, err
	}
	return v.Float()
}

var leadingNumber = regexp.MustCompile(`^-?[0-9][0-9./]*`)

// unquoted completes the complaint about a value of several words without
// quotes: quotes help where a unit may stand, else the number alone does.
func (f *field) unquoted(a *blocks.Attr) {
	words, ok := a.Several()
	number := leadingNumber.FindString(words)
	if !ok || number == "" {
		return
	}
	_, length := blocks.ParseMM(words)
	_, time := seconds64(words)
	x, err := exact.ParseRat(number)
	e := a.Error("", "")
	switch {
	case f.kind == millimetres && length, f.kind == seconds && time:
	case f.kind == millimetres:
		e.Problem, e.Hint = noLength, lengthHint
	case f.kind == seconds:
		e.Problem, e.Hint = noTime, timeHint
	default:
		e.Problem, e.Hint = "a number alone is wanted here, and more follows", "write a number alone"
		if err == nil && x.Float64() >= f.low && x.Float64() <= f.high {
			e.Hint = fmt.Sprintf("write: %s = %s", f.name, number)
		}
	}
}

const (
	noLength, lengthHint = "a length is wanted", `write millimetres, 1.8, or a length with its unit: "1.8 mm", "1/8 in"`
	noTime, timeHint     = "a time with its unit is wanted", `write "40 ms" or "0.04 s"`
)

func (f *field) inRange(v *blocks.Value, x float64) *source.Error {
	if x >= f.low && x <= f.high {
		return nil
	}
	unit := [...]string{millimetres: " mm", seconds: " s", plain: "", whole: ""}[f.kind]
	return v.Error(fmt.Sprintf("%s is out of range", f.name),
		fmt.Sprintf("it runs from %s to %s%s", short(f.low), short(f.high), unit))
}

// duration is a time with its unit, in seconds: "40 ms", "0.04 s".
func duration(v *blocks.Value) (float64, *source.Error) {
	wanted := func() (float64, *source.Error) {
		return 0, v.Error(noTime, timeHint)
	}
	if !v.IsText() {
		return wanted()
	}
	s, err := v.Str()
	if err != nil {
		return 0, err
	}
	x, ok := seconds64(s)
	if !ok {
		return wanted()
	}
	return x, nil
}

// seconds64 is a time with its unit, in seconds.
func seconds64(s string) (float64, bool) {
	scale := 1.0
	number, ok := strings.CutSuffix(strings.TrimSpace(s), "ms")
	if ok {
		scale = 1000
	} else {
		number, ok = strings.CutSuffix(number, "s")
	}
	x, err := strconv.ParseFloat(strings.TrimSpace(number), 64)
	return x / scale, ok && err == nil && x >= 0 && x <= 1e9
}

// short is a number without needless digits.
func short(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }
