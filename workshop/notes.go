package workshop

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"path/filepath"
	"slices"
	"strconv"
	"sync"

	"rollwright/exact"
	"rollwright/music/event"
	"rollwright/music/piece"
	"rollwright/music/piecefile"
	"rollwright/music/transcribe"
	"rollwright/paper/inspect"
	"rollwright/paper/instrument"
	"rollwright/paper/lay"
	"rollwright/paper/roll"
	"rollwright/paper/table"
	"rollwright/text/source"
)

// OfTranscribed is a file of notes that another program wrote, as a piece with
// everything that follows from it. Paths count from folder.
func OfTranscribed(ctx context.Context, file *source.File, folder string, g Given) (*Job, error) {
	f, err := transcribe.Read(file.Name, file.Text)
	if err != nil {
		return nil, err
	}
	p, err := f.Piece()
	if err != nil {
		return nil, err
	}
	if err := g.tell(&p.Pianos[0]); err != nil {
		return nil, err
	}
	p.File = &source.File{Name: file.Name}
	j := &Job{File: file, Folder: folder, Piece: p, Said: f.Said}
	if err := j.play(ctx, Reach{Instrument: g.Load}); err != nil {
		return nil, err
	}
	return j, nil
}

// tell gives a piano what a source has not said.
func (g Given) tell(p *piece.Piano) error {
	if g.Instrument != "" {
		p.Instrument = g.Instrument
	}
	if g.Hammers != "" {
		p.Hammers = g.Hammers
	}
	if g.RollTempo != 0 {
		tempo, err := exact.ParseRat(strconv.FormatFloat(g.RollTempo, 'f', -1, 64))
		if err != nil {
			return fmt.Errorf("a roll tempo of %g is out of range", g.RollTempo)
		}
		p.RollTempo = tempo
	}
	return nil
}

// OfNotes is a table of notes with everything that follows from notes: their times
// stand as they are.
func OfNotes(file *source.File, folder string, g Given) (*Job, error) {
	notes, err := table.ReadEvents(file)
	if err != nil {
		return nil, err
	}
	if len(notes.Events) == 0 {
		return nil, fmt.Errorf("%s lists no notes", file.Name)
	}
	in, err := g.instrument(folder)
	if err != nil {
		return nil, err
	}
	events := notes.Events
	slices.SortStableFunc(events, func(a, b event.Event) int {
		return cmp.Or(cmp.Compare(a.StartSec, b.StartSec), cmp.Compare(a.Voice, b.Voice), cmp.Compare(a.Key, b.Key))
	})
	if events[0].StartSec < 0 {
		return nil, fmt.Errorf("%s has a note at %g s; on a roll nothing sounds before 0: move all times later", file.Name,
			events[0].StartSec)
	}
	hammers := cmp.Or(g.Hammers, "metal")
	j := &Job{
		File: file, Folder: folder, Voices: notes.Voices, notes: slices.Values(events),
		Pianos: []Piano{{Hammers: hammers}}, Instruments: []*instrument.Instrument{in},
	}
	for i := range events {
		j.EndSec = max(j.EndSec, events[i].EndSec)
	}
	j.rolls = sync.OnceValues(func() ([]*roll.Roll, error) { return j.laid(events) })
	j.findings = sync.OnceValues(func() (*inspect.Report, error) { return j.inspect() })
	return j, nil
}

// laid are the events of a table on paper. Voices have names there and nothing else.
func (j *Job) laid(events []event.Event) ([]*roll.Roll, error) {
	named := &piece.Piece{Pianos: make([]piece.Piano, 1)}
	for _, name := range j.Voices {
		named.Voices = append(named.Voices, piece.Voice{Name: name})
	}
	return lay.Out(named, slices.Values(events), j.Instruments, lay.Options{Slots: len(events)})
}

// DraftFrom is the text of a piece that plays the notes of the file called name, and
// what is to be said about it. Instruments and hammers are as g says.
func DraftFrom(name string, g Given) (text []byte, said []string, err error) {
	if !transcribe.Known(name) {
		return nil, nil, fmt.Errorf("%s: a piece can be written from %s; the design in a table of notes is what find looks for", name, listed(transcribe.Extensions, "or"))
	}
	raw, err := readText(name, nil, transcribe.MaxBytes)
	if err != nil {
		return nil, nil, err
	}
	f, err := transcribe.Read(filepath.Base(name), raw)
	if err != nil {
		return nil, nil, err
	}
	p, err := f.Piece()
	if err != nil {
		return nil, nil, err
	}
	if err := g.tell(&p.Pianos[0]); err != nil {
		return nil, nil, err
	}
	text, err = f.Text(p)
	var large *piecefile.TooLargeError
	if errors.As(err, &large) {
		return nil, nil, fmt.Errorf("%s is too long to be written as text: %d bytes, and a piece file has at most %d; take parts of it with from in a tune, or work on it as it is",
			name, large.Bytes, piecefile.MaxBytes)
	}
	return text, f.Said, err
}
