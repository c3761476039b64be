package instrument

import (
	"rollwright/text/blocks"
	"rollwright/text/fields"
	"rollwright/text/source"
)

// table says what may stand in an instrument's file; the reader takes what is no
// field of it.
var table = fields.Table[Instrument]{
	What:    "an instrument",
	Several: "port",
	Others: map[string][]string{
		"": {"like", "paper {", "bar {", "notes {", "port {", "perforator {", "chain {", "action {", "transport {",
			"levels {"},
		"bar":    {"split"},
		"notes":  {"first", "last", "keys", "spacing", "at"},
		"port":   {"role", "half", "weight", "at", "beyond", "place", "none", "key", "keys", "spacing", "stop", "mode"},
		"levels": {"steps"},
	},
	Fields: []fields.Field[Instrument]{
		fields.At("", "plays", fields.Text(func(in *Instrument) *string { return &in.Plays })),
		fields.At("bar", "reading", fields.Words(func(in *Instrument, i int) { in.Bar.Reading = Reading(i) }, "suction",
			"pressure", "pins")),
		fields.At("transport", "drive", fields.Words(func(in *Instrument, i int) { in.Transport.Crank = i == 1 }, "motor",
			"crank")),
		fields.At("", "title", fields.Text(func(in *Instrument) *string { return &in.Title })),

		fields.At("paper", "width", fields.Length(50, 1000, func(in *Instrument) *float64 { return &in.Paper.WidthMM })),
		fields.At("paper", "leader", fields.Length(0, 20000, func(in *Instrument) *float64 { return &in.Paper.LeaderMM })),
		fields.At("paper", "trailer", fields.Length(0, 20000, func(in *Instrument) *float64 { return &in.Paper.TrailerMM })),
		fields.At("paper", "edge", fields.Length(0, 100, func(in *Instrument) *float64 { return &in.Paper.EdgeMM })),
		fields.At("paper", "bridge", fields.Length(0, 50, func(in *Instrument) *float64 { return &in.Paper.BridgeMM })),
		fields.At("paper", "slot", fields.Length(0, 50, func(in *Instrument) *float64 { return &in.Paper.SlotMM })),
		fields.At("paper", "slot_die", fields.Length(0, 20, func(in *Instrument) *float64 { return &in.Paper.SlotDieMM })),
		fields.At("paper", "hole", fields.Length(0, 20, func(in *Instrument) *float64 { return &in.Paper.HoleMM })),
		fields.At("paper", "open_slot", fields.Length(1, 10000, func(in *Instrument) *float64 { return &in.Paper.OpenSlotMM })),
		fields.At("paper", "row_share", fields.Number(0.01, 1, func(in *Instrument) *float64 { return &in.Paper.RowShare })),
		fields.At("paper", "length_note", fields.Length(100, 1e6, func(in *Instrument) *float64 { return &in.Paper.LengthNoteMM })),
		fields.At("paper", "length_risk", fields.Length(100, 1e6, func(in *Instrument) *float64 { return &in.Paper.LengthRiskMM })),

		fields.At("bar", "port_height", fields.Length(0.1, 20, func(in *Instrument) *float64 { return &in.Bar.HeightMM })),
		fields.At("bar", "port_width", fields.Length(0, 20, func(in *Instrument) *float64 { return &in.Bar.WidthMM })),
		fields.At("bar", "open_share", fields.Number(0.05, 0.95, func(in *Instrument) *float64 { return &in.Bar.OpenShare })),

		fields.At("perforator", "die", fields.Length(0.2, 20, func(in *Instrument) *float64 { return &in.Die.DiameterMM })),
		fields.At("perforator", "step", fields.Length(0, 50, func(in *Instrument) *float64 { return &in.StepMM })),

		fields.At("chain", "slot_spacing", fields.Length(0.01, 50,
			func(in *Instrument) *float64 { return &in.Chain.SlotSpacingMM })),
		fields.At("chain", "bridge_spacing", fields.Length(0.01, 50,
			func(in *Instrument) *float64 { return &in.Chain.BridgeSpacingMM })),
		fields.At("chain", "web_min", fields.Length(0, 10, func(in *Instrument) *float64 { return &in.Chain.WebMinMM })),
		fields.At("chain", "open_first", fields.Length(0, 1000, func(in *Instrument) *float64 { return &in.Chain.OpenFirstMM })),

		fields.At("action", "shortest", fields.Seconds(0, 1, func(in *Instrument) *float64 { return &in.Action.ShortestSec })),
		fields.At("action", "gap_paper", fields.Length(0, 50, func(in *Instrument) *float64 { return &in.Action.GapPaperMM })),
		fields.At("action", "gap_time", fields.Seconds(0, 1, func(in *Instrument) *float64 { return &in.Action.GapSec })),
		fields.At("action", "delay", fields.Seconds(0, 1, func(in *Instrument) *float64 { return &in.Action.DelaySec })),
		fields.At("action", "notes_at_once", fields.Whole(1, 128, func(in *Instrument) *int { return &in.Action.NotesAtOnce })),
		fields.At("action", "notes_a_second", fields.Number(0, 100000,
			func(in *Instrument) *float64 { return &in.Action.NotesASecond })),
		fields.At("action", "step_tolerance", fields.Seconds(0, 1,
			func(in *Instrument) *float64 { return &in.Action.StepTolerance })),

		fields.At("transport", "roll_tempo", fields.Number(5, 1000,
			func(in *Instrument) *float64 { return &in.Transport.RollTempo })),
		fields.At("transport", "lever", fields.Number(5, 1000, func(in *Instrument) *float64 { return &in.Transport.Lever })),
		fields.At("transport", "slowest", fields.Number(5, 1000, func(in *Instrument) *float64 { return &in.Transport.Slowest })),
		fields.At("transport", "fastest", fields.Number(5, 1000, func(in *Instrument) *float64 { return &in.Transport.Fastest })),
		fields.At("transport", "radius", fields.Length(1, 1000, func(in *Instrument) *float64 { return &in.Transport.RadiusMM })),
		fields.At("transport", "slowing", perMetre(func(in *Instrument) *float64 { return &in.Transport.SlowingPerMM })),
		fields.At("transport", "thickness", fields.Length(0, 5, func(in *Instrument) *float64 { return &in.Transport.ThicknessMM })),

		fields.At("levels", "accent", fields.Whole(1, 127, func(in *Instrument) *int { return &in.Levels.AccentLevel })),
		fields.At("levels", "plain", fields.Whole(1, 127, func(in *Instrument) *int { return &in.Levels.PlainLevel })),
		fields.At("levels", "accent_lead", fields.Seconds(0, 1, func(in *Instrument) *float64 { return &in.Levels.AccentLeadSec })),
		fields.At("levels", "accent_close", fields.Seconds(0, 1, func(in *Instrument) *float64 { return &in.Levels.AccentCloseSec })),
		fields.At("levels", "accent_shift", fields.Seconds(0, 1, func(in *Instrument) *float64 { return &in.Levels.AccentShiftSec })),

		fields.At("paper", "travel", fields.Words(func(in *Instrument, i int) { in.Paper.TravelsUp = i == 1 }, "down", "up")),
		fields.At("paper", "bass", fields.Words(func(in *Instrument, i int) { in.Paper.Bass = Side(i) }, "left", "right")),
		fields.At("chain", "kind", fields.Words(func(in *Instrument, i int) { in.Chain.Bridged = i == 1 }, "slot",
			"bridged")),
		fields.At("transport", "kind", fields.Words(func(in *Instrument, i int) { in.Transport.Spool = i == 1 }, "constant",
			"spool")),
		fields.At("levels", "kind", fields.Words(func(in *Instrument, i int) { in.Levels.Kind = LevelKind(i) }, "nothing",
			"accents", "steps")),
	},
}

// mostSlowingPercent is the most that a motor may slow, in per cent a metre.
const mostSlowingPercent = 2

// perMetre takes per cent a metre to a share a millimetre.
func perMetre(to func(*Instrument) *float64) fields.Take[Instrument] {
	number := fields.Number(0, mostSlowingPercent, to)
	return func(in *Instrument, a *blocks.Attr) *source.Error {
		err := number(in, a)
		*to(in) /= 1e5
		return err
	}
}
