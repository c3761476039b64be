package web

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"path/filepath"
	"sync"
	"sync/atomic"

	"rollwright/text/source"
	"rollwright/workshop"
)

// desk holds the texts that were worked on last, with what follows from them.
type desk struct {
	folder *folder
	lock   sync.Mutex
	sheets []*sheet      // the last used first
	seats  chan struct{} // how many texts may be worked on at a time
	lens   chan struct{} // with which one text at a time is inspected, beside those
}

// The bounds of a desk. Two seats keep a machine with two cores busy.
const (
	mostSheets = 4
	mostSeats  = 2
)

// mostEvents is the largest piece that the page shows.
const mostEvents = 1_000_000

// asked is what is worked on: the text of a piece, which may be in no file, or a file
// of the folder that is no piece.
type asked struct {
	name       string
	text       string // of a piece
	instrument string // of what is no piece; empty: the usual one
}

// sheet is one text. Its job and answers are made once.
type sheet struct {
	asked
	id   string
	lock sync.Mutex // held while something is made
	job  atomic.Pointer[workshop.Job]
	err  error
	full []byte // the answer with everything
	lean []byte // the answer without what is asked for later
}

func newDesk(f *folder) *desk {
	return &desk{folder: f, seats: make(chan struct{}, mostSeats), lens: make(chan struct{}, 1)}
}

// sheet is what was asked for on the desk.
func (d *desk) sheet(a asked) *sheet {
	id := version([]byte(a.name + "\n" + a.text + "\n" + a.instrument + "\n" + d.folder.instruments() +
		d.folder.takenFrom(a.name, a.text) + d.folder.stamp(a.name)))
	d.lock.Lock()
	defer d.lock.Unlock()
	for i, s := range d.sheets {
		if s.id == id {
			copy(d.sheets[1:i+1], d.sheets[:i])
			d.sheets[0] = s
			return s
		}
	}
	s := &sheet{id: id, asked: a}
	d.sheets = append([]*sheet{s}, d.sheets[:min(len(d.sheets), mostSheets-1)]...)
	return s
}

// performed is the job of a sheet that is still on the desk, or nil.
func (d *desk) performed(id string) *workshop.Job {
	if s := d.at(id); s != nil {
		return s.job.Load()
	}
	return nil
}

// at is a sheet that is still on the desk, or nil.
func (d *desk) at(id string) *sheet {
	d.lock.Lock()
	defer d.lock.Unlock()
	for _, s := range d.sheets {
		if s.id == id {
			return s
		}
	}
	return nil
}

// look waits for the lens; the returned function gives it back.
func (d *desk) look(ctx context.Context) (func(), error) { return taken(ctx, d.lens) }

// sit waits for a seat; the returned function gives it back.
func (d *desk) sit(ctx context.Context) (func(), error) { return taken(ctx, d.seats) }

// taken waits for one of as many as a channel has room for.
func taken(ctx context.Context, of chan struct{}) (giveBack func(), err error) {
	select {
	case of <- struct{}{}:
		return func() { <-of }, nil
	case <-ctx.Done():
		return nil, ctx.Err()
	}
}

// jobOf checks and performs the text of a piece, which is called something from then on.
func (s *Server) jobOf(ctx context.Context, name *string, text string) (*workshop.Job, error) {
	*name = orUnnamed(*name)
	if err := checkText(*name, text); err != nil {
		return nil, err
	}
	job, err := s.desk.job(ctx, asked{name: *name, text: text})
	return job, unreadable(err)
}

// job performs a text. Its errors are source.Errors where the text is at fault.
func (d *desk) job(ctx context.Context, a asked) (*workshop.Job, error) {
	stand, err := d.sit(ctx)
	if err != nil {
		return nil, err
	}
	defer stand()
	s := d.sheet(a)
	s.lock.Lock()
	defer s.lock.Unlock()
	return s.perform(ctx, d)
}

// perform makes the job of a sheet, whose lock is held.
func (s *sheet) perform(ctx context.Context, d *desk) (*workshop.Job, error) {
	if job := s.job.Load(); job != nil || s.err != nil {
		return job, s.err
	}
	job, err := d.perform(ctx, s.asked)
	if ctx.Err() != nil {
		return nil, ctx.Err()
	}
	s.job.Store(job)
	s.err = err
	return job, err
}

func (d *desk) perform(ctx context.Context, a asked) (*workshop.Job, error) {
	if !isPiece(a.name) {
		return d.folder.open(ctx, a)
	}
	name := a.name
	file := &source.File{Name: name, Text: []byte(a.text)}
	dir := filepath.Join(d.folder.path, filepath.Dir(filepath.FromSlash(name)))
	job, err := workshop.NewWith(ctx, file, dir, workshop.Reach{Instrument: d.folder.instrument,
		Open: d.folder.beside(name)})
	if err != nil {
		return nil, err
	}
	if job.Performance.Count > mostEvents {
		return nil, source.Errors{{File: file, Problem: fmt.Sprintf("this piece has %d notes; the workbench shows at most %d",
			job.Performance.Count, mostEvents),
			Hint: "the command has room for more: rollwright build " + name}}
	}
	return job, nil
}

// unreadable makes the errors of a text a refusal, where they cannot be shown
// at their places.
func unreadable(err error) error {
	var complaints source.Errors
	if !errors.As(err, &complaints) || len(complaints) == 0 {
		return err
	}
	first := complaints[0]
	text := fmt.Sprintf("line %d: %s", first.At.Line, first.Problem)
	if first.Hint != "" {
		text += "; " + first.Hint
	}
	return &refusal{http.StatusUnprocessableEntity, text}
}
