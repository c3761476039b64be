package workshop

import (
	"errors"
	"fmt"
	"math"
	"path/filepath"
	"strings"

	"rollwright/exact"
	"rollwright/music/piecefile"
	"rollwright/music/transcribe"
	"rollwright/paper/instrument"
	"rollwright/paper/roll"
	scan "rollwright/scan/read"
)

// What a roll plays is written in ticks of a tenth of a millisecond, a hundredth of
// what edges in a picture are known to: at 120 quarter notes a minute a whole note
// has 20,000 of them.
const (
	retoldTickSec = 1e-4
	retoldTicks   = 20_000
)

// toTick is a place in time as the nearest tick; none lies before 0.
func toTick(sec float64) int64 { return int64(max(math.Round(sec/retoldTickSec), 0)) }

// retold is the text of a piece that plays the notes of a roll that was read, each
// voice a line; folder is where it is to lie.
func retold(r *scan.Reading, folder string) ([]byte, error) {
	paper := r.Roll()
	part := transcribe.Part{Number: 1, Name: "roll", Notes: retoldNotes(paper)}
	if len(part.Notes) == 0 {
		return nil, fmt.Errorf("%s: no slot is open for long enough to sound a note, so there is no piece to write",
			r.Pictures[0].Name)
	}
	part.Pedal, part.Soft = retoldPedals(paper, instrument.Sustain), retoldPedals(paper, instrument.Soft)
	f := &transcribe.File{Name: filepath.Base(r.Pictures[0].Name), Title: titleOf(r), Parts: []transcribe.Part{part},
		Tick: exact.NewRat(1, retoldTicks)}
	p, err := f.Piece()
	if err != nil {
		return nil, err
	}
	p.Pianos[0].Instrument = instrumentFrom(r.Instrument.Name, folder)
	text, err := f.Text(p)
	var large *piecefile.TooLargeError
	if errors.As(err, &large) {
		return nil, fmt.Errorf("%s holds too many notes to be written as text: %d bytes, and a piece file has at most %d; write a table of holes (.csv), which every command takes",
			f.Name, large.Bytes, piecefile.MaxBytes)
	}
	return text, err
}

// instrumentFrom is an instrument's name as a piece in a folder has it: paths count
// from there.
func instrumentFrom(name, folder string) string {
	if !strings.HasSuffix(name, instrument.Extension) && !strings.ContainsAny(name, `/\`) {
		return name
	}
	from, err := filepath.Abs(folder)
	if err != nil {
		return name
	}
	to, err := filepath.Abs(name)
	if err != nil {
		return name
	}
	relative, err := filepath.Rel(from, to)
	if err != nil {
		return name
	}
	return filepath.ToSlash(relative)
}

// retoldNotes are the notes that a roll plays.
func retoldNotes(paper *roll.Roll) []transcribe.Note {
	var notes []transcribe.Note
	for e := range roll.Play(paper) {
		n := transcribe.Note{From: toTick(e.StartSec), To: toTick(e.EndSec), Key: uint8(e.Key), Level: uint8(e.Level)}
		n.To = max(n.To, n.From+1)
		notes = append(notes, n)
	}
	return notes
}

// retoldPedals are the stretches in which the ports of a role are open.
func retoldPedals(paper *roll.Roll, role instrument.Role) []transcribe.Span {
	var spans []transcribe.Span
	in := paper.Instrument
	edge := in.EdgeShiftMM()
	for _, s := range paper.Slots {
		if in.Bar.Ports[s.Port].Role == role {
			from := toTick(in.Transport.Sec(s.LeadMM + edge))
			spans = append(spans, transcribe.Span{From: from, To: max(toTick(in.Transport.Sec(s.TrailMM-edge)), from+1)})
		}
	}
	return spans
}
