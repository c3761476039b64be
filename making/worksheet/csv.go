package worksheet

import (
	"encoding/csv"
	"io"
	"math"
	"strconv"
	"strings"

	"rollwright/making/bench"
	"rollwright/paper/roll"
	"rollwright/text/cell"
)

// Columns are the names of the CSV's columns. A line is a row of holes, or a
// line to draw, which has a name in the column line and no ports. Lists are
// parted by blanks and run in the order of the strokes. turns and parts are the
// advance of the crank from the row before; crank_turns and crank_parts what its
// counter reads; measure is the length from the zero line to check after the
// row, else empty; done is to tick.
var Columns = []string{
	"piano", "spool", "row", "turns", "parts", "crank_turns", "crank_parts", "from_zero", "from_zero_mm", "along_mm",
	"order", "notches", "ports", "names", "chains", "strokes", "total", "measure", "line", "done", "time_s",
}

// CSV writes plans as one table.
type CSV struct {
	w *csv.Writer

	// FromSec is when in the piece the roll of the next plan begins, so that rows have
	// the time at which they lie on the bar; NaN: they have none, as on a trial strip.
	FromSec float64
}

// NewCSV begins a table with the names of its columns. Errors of w show at
// Close.
func NewCSV(w io.Writer) *CSV {
	c := &CSV{w: csv.NewWriter(w)}
	_ = c.w.Write(Columns) // csv.Writer keeps the error
	return c
}

// Add writes the rows of one plan. Spool is 0 for a whole roll.
func (c *CSV) Add(p *bench.Plan, piano string, spool int) {
	record := make([]string, len(Columns))
	record[0] = cell.Name(piano)
	if spool > 0 {
		record[1] = strconv.Itoa(spool)
	}
	stop := 0
	for i := range p.Rows {
		for ; stop < len(p.Stops) && p.Stops[stop].Dial <= p.Rows[i].Dial; stop++ {
			c.stop(record, p, p.Stops[stop])
		}
		c.row(record, p, i)
	}
	for ; stop < len(p.Stops); stop++ {
		c.stop(record, p, p.Stops[stop])
	}
}

// Close ends the table with the first error of the writer, if any.
func (c *CSV) Close() error {
	c.w.Flush()
	return c.w.Error()
}

// place fills what a row and a stop share. Times have three decimals.
func (c *CSV) place(record []string, p *bench.Plan, dial int64) {
	for i := 2; i < len(record); i++ {
		record[i] = ""
	}
	turns, parts := p.Reading(dial)
	record[5], record[6] = strconv.FormatInt(turns, 10), strconv.FormatInt(parts, 10)
	record[7] = p.Profile.Lengths.With(p.RunningMM(dial))
	record[8] = string(roll.AppendMM(nil, p.RunningMM(dial)))
	record[9] = string(roll.AppendMM(nil, p.AlongMM(dial)))
	if sec := c.FromSec + p.Roll.Instrument.Transport.Sec(p.AlongMM(dial)); !math.IsNaN(sec) {
		record[20] = strconv.FormatFloat(sec, 'f', 3, 64)
	}
}

func (c *CSV) stop(record []string, p *bench.Plan, s bench.Stop) {
	c.place(record, p, s.Dial)
	record[18] = cell.Name(s.Name)
	_ = c.w.Write(record)
}

func (c *CSV) row(record []string, p *bench.Plan, i int) {
	row := &p.Rows[i]
	c.place(record, p, row.Dial)
	turns, parts := p.Profile.Crank.Split(p.Advance(i))
	record[2] = strconv.Itoa(i + 1)
	record[3], record[4] = strconv.FormatInt(turns, 10), strconv.FormatInt(parts, 10)
	record[10] = "right"
	if row.Leftward {
		record[10] = "left"
	}
	var notches, ports, names, chains strings.Builder
	for k, s := range row.Strokes {
		if k > 0 {
			for _, b := range []*strings.Builder{&notches, &ports, &names, &chains} {
				b.WriteByte(' ')
			}
		}
		notches.WriteString(strconv.Itoa(p.Notch(s.Port)))
		ports.WriteString(strconv.Itoa(int(s.Port) + 1))
		names.WriteString(strings.ReplaceAll(p.PortName(s.Port), " ", "-"))
		chains.WriteString(strconv.Itoa(int(s.N)) + "/" + strconv.Itoa(int(s.Of)))
	}
	record[11], record[12] = notches.String(), ports.String()
	record[13], record[14] = cell.Name(names.String()), chains.String()
	record[15], record[16] = strconv.Itoa(len(row.Strokes)), strconv.Itoa(row.Before+len(row.Strokes))
	if row.Check {
		record[17] = p.Profile.Lengths.With(p.RunningMM(row.Dial))
	}
	_ = c.w.Write(record)
}
