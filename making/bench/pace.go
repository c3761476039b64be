package bench

import (
	"fmt"
	"strconv"

	"rollwright/text/blocks"
	"rollwright/text/fields"
	"rollwright/text/source"
)

// Pace is how fast the work goes: so much time for every stroke, and so much for
// every row, which has to be read, found with the crank and ticked, however many
// strokes it has.
type Pace struct {
	StrokeSec  float64 // above 0, unless nothing is known
	RowSec     float64
	SessionSec float64 // work at one sitting
}

// The profile's own assumptions: 5 s a stroke and 4 s a row, which is 400 punches
// an hour where every punch has a row of its own, and sittings of two hours. They
// are assumed, not measured.
const (
	assumedStrokeSec  = 5
	assumedRowSec     = 4
	assumedSessionSec = 2 * 3600
	assumedCheckMM    = 500
)

// Known reports whether the pace says anything about strokes and rows.
func (p Pace) Known() bool { return p.StrokeSec > 0 || p.RowSec > 0 }

// WorkSec is the time that so many strokes in so many rows take.
func (p Pace) WorkSec(strokes, rows int) float64 {
	return float64(strokes)*p.StrokeSec + float64(rows)*p.RowSec
}

// Text is the pace in words: "5 s a stroke and 4 s a row", to a tenth of a second.
func (p Pace) Text() string {
	return fmt.Sprintf("%s a stroke and %s a row", p.Stroke(), p.Row())
}

// Stroke and Row are the time of a stroke, of a row, in words: "5 s", to a tenth.
func (p Pace) Stroke() string { return tenths(p.StrokeSec) }
func (p Pace) Row() string    { return tenths(p.RowSec) }

func tenths(sec float64) string { return figure(sec, 1) + " s" }

// figure is a number with at most so many decimals.
func figure(x float64, places int) string {
	text := strconv.FormatFloat(x, 'f', places, 64)
	short, _ := strconv.ParseFloat(text, 64)
	return strconv.FormatFloat(short, 'f', -1, 64)
}

// punchesAnHour takes a pace that somebody has counted by the clock, rows and all:
// a stroke has its share of the hour, and a row costs nothing more.
func punchesAnHour(p *Profile, a *blocks.Attr) *source.Error {
	anHour := 0.0
	err := fields.Number(1, 1e6, func(*Profile) *float64 { return &anHour })(p, a)
	if err == nil {
		p.Pace.StrokeSec, p.Pace.RowSec = 3600/anHour, 0
	}
	return err
}
