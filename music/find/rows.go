package find

import (
	"bufio"
	"encoding/csv"
	"io"
	"strconv"

	"rollwright/music/event"
	"rollwright/music/pitch"
	"rollwright/text/cell"
)

// WriteRows writes every note of the table as a row of CSV, with the columns of
// a table of notes (see package table): voice is the one found, empty where none
// was; note counts its onsets, and is empty without a voice. Times have nine
// decimals. An error is that of w.
func WriteRows(w io.Writer, d *Design) error {
	number := d.numbers()
	buffered := bufio.NewWriter(w)
	out := csv.NewWriter(buffered)
	_ = out.Write([]string{"voice", "note", "key", "pitch", "start_s", "end_s", "level", "part"}) // Flush tells
	for i, n := range d.Notes {
		voice, note := "", ""
		if v := d.Of[i]; v >= 0 {
			voice, note = cell.Name(d.Voices[v].Name), strconv.Itoa(number[i])
		}
		level := n.Level
		if level == 0 {
			level = 80
		}
		_ = out.Write([]string{voice, note, strconv.Itoa(n.Key), pitch.Name(n.Key), seconds(n.StartSec), seconds(n.EndSec),
			strconv.Itoa(level), "1"})
	}
	out.Flush()
	if err := out.Error(); err != nil {
		return err
	}
	return buffered.Flush()
}

// numbers are for each note the number of its onset in its voice, from 1; 0
// without a voice.
func (d *Design) numbers() []int {
	out := make([]int, len(d.Notes))
	for i := range d.Voices {
		for k, s := range d.Voices[i].steps {
			for _, r := range s.rows {
				out[r] = k + 1
			}
		}
	}
	return out
}

// seconds writes a time with nine decimals, rounded by event.Nanoseconds.
func seconds(sec float64) string {
	ns := event.Nanoseconds(sec)
	sign := ""
	if ns < 0 {
		sign, ns = "-", -ns
	}
	whole, rest := strconv.FormatInt(ns/1e9, 10), strconv.FormatInt(1e9+ns%1e9, 10)
	return sign + whole + "." + rest[1:]
}
