package web

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"path/filepath"
	"slices"
	"strconv"

	"rollwright/music/event"
	"rollwright/music/perform"
	"rollwright/paper/inspect"
	"rollwright/paper/instrument"
	"rollwright/paper/roll"
	"rollwright/text/source"
	"rollwright/workshop"
)

// working is a request for everything that follows from a text.
type working struct {
	subject
	Lean bool `json:"lean"` // without the arrays ev_ and item_ and the findings: see /api/part and /api/findings
}

// head is what an answer to /api/work says in words; its arrays are
//
//	slot_port i32, slot_lead, slot_trail, slot_first, slot_last f64, slot_punches, slot_voice, slot_note i32:
//	    the slots of all pianos, by piano, then leading edge; first and last are the centres of punches
//	more_slot, more_voice, more_note i32: the further causes of slots that have several
//	ev_start, ev_end f64, ev_voice, ev_note i32, ev_key, ev_level, ev_piano u8: the score, by start
//	re_start ...: the same of what the rolls play
//	item_at, item_len, item_unit f64, item_color, item_talea, item_note, item_color_n, item_talea_n i32:
//	    the items of all voices, voice after voice: written start and length in seconds, start in units,
//	    place in color (-1: silent) and talea, note from 1 (0: silent), statement of each from 0
type head struct {
	OK          bool          `json:"ok"`
	Empty       bool          `json:"empty"` // nothing is wrong, but there is no voice yet
	ID          string        `json:"id"`    // the same for the same text and instruments
	Errors      []complaint   `json:"errors"`
	Outline     []outlined    `json:"outline"`
	Top         fields        `json:"top"` // what stands outside all blocks
	Title       string        `json:"title"`
	Composer    string        `json:"composer"`
	Note        string        `json:"note"`
	DurationSec float64       `json:"durationSec"`
	Shift       *shift        `json:"shift"` // null: the piece was not moved
	Voices      []voice       `json:"voices"`
	Pianos      []piano       `json:"pianos"`
	Summary     string        `json:"summary"`  // of the findings
	Findings    []finding     `json:"findings"` // null in a lean answer
	Arrays      []packedArray `json:"arrays"`
}

// complaint is a mistake in the text.
type complaint struct {
	Line    int     `json:"line"`
	Column  int     `json:"column"`
	Width   int     `json:"width"`
	From    int     `json:"from"`
	To      int     `json:"to"`
	Problem string  `json:"problem"`
	Hint    string  `json:"hint"`
	File    string  `json:"file,omitempty"` // another file that is at fault
	Mend    *splice `json:"mend,omitempty"` // what the hint says to write, tried; without the whole text
}

// shift is a move of the whole piece that lets its earliest note begin at 0.
type shift struct {
	Sec   float64 `json:"sec"`
	Voice string  `json:"voice"`
}

// unnamed is the name of a text that is in no file yet.
const unnamed = "unnamed" + extension

func orUnnamed(name string) string {
	if name == "" {
		return unnamed
	}
	return name
}

// contentType is that of a packed answer.
const contentType = "application/x-rollwright"

// work answers with everything that follows from a text.
func (s *Server) work(w http.ResponseWriter, r *http.Request) {
	var in working
	if err := decode(r.Body, &in); err != nil {
		fail(w, err)
		return
	}
	answer, err := s.workOf(r.Context(), in)
	if err != nil {
		fail(w, err)
		return
	}
	sendPacked(w, answer)
}

func sendPacked(w http.ResponseWriter, answer []byte) {
	w.Header().Set("Content-Type", contentType)
	w.Header().Set("Content-Length", strconv.Itoa(len(answer)))
	w.Write(answer)
}

func (s *Server) workOf(ctx context.Context, in working) ([]byte, error) {
	if err := in.check(); err != nil {
		return nil, err
	}
	if isInstrument(in.Name) {
		return s.instrumentWork(in)
	}
	stand, err := s.desk.sit(ctx)
	if err != nil {
		return nil, err
	}
	defer stand()
	sheet := s.desk.sheet(in.asked())
	sheet.lock.Lock()
	defer sheet.lock.Unlock()
	kept := &sheet.full
	if in.Lean {
		kept = &sheet.lean
	}
	if *kept != nil {
		return *kept, nil
	}
	job, err := sheet.perform(ctx, s.desk)
	answer, err := analyse(ctx, in, sheet.id, job, err)
	if err == nil {
		*kept = answer
	}
	return answer, err
}

// instrumentWork is what is wrong with the text of an instrument: nothing follows from it
// alone.
func (s *Server) instrumentWork(in working) ([]byte, error) {
	h := &head{Errors: []complaint{}, Voices: []voice{}, Pianos: []piano{}, Findings: []finding{},
		Arrays: []packedArray{}, Outline: []outlined{}, Top: fields{}}
	dir := filepath.Join(s.folder.path, filepath.Dir(filepath.FromSlash(in.Name)))
	_, err := instrument.Read(&source.File{Name: in.Name, Text: []byte(in.Text)}, dir)
	h.Empty = err == nil
	if err != nil {
		h.Errors, err = complaintsOf(in.Name, newOffsets(in.Text), err)
	}
	if err != nil {
		return nil, err
	}
	return (&packed{}).assemble(h)
}

// analyse is the answer for a text that was performed, or that could not be.
func analyse(ctx context.Context, in working, id string, job *workshop.Job, err error) ([]byte, error) {
	o := newOffsets(in.Text)
	h := &head{ID: id, Errors: []complaint{}, Voices: []voice{}, Pianos: []piano{}, Findings: []finding{},
		Arrays: []packedArray{}}
	tree := newOutline(in.Text, o)
	h.Outline, h.Top = tree.list, tree.top
	if err != nil {
		if h.Empty = empty(in.Text, err); !h.Empty {
			h.Errors, err = complaintsOf(in.Name, o, err)
			if err != nil {
				return nil, err
			}
			mends(in.Text, o, h.Errors)
		}
		return (&packed{}).assemble(h)
	}
	p, err := h.fill(ctx, job, o, tree, in.Lean)
	if err != nil {
		return nil, err
	}
	return p.assemble(h)
}

// complaintsOf are the mistakes that err tells of; any other error stays one.
func complaintsOf(name string, o *offsets, err error) ([]complaint, error) {
	var all source.Errors
	var one *source.Error
	switch {
	case errors.As(err, &all):
	case errors.As(err, &one):
		all = source.Errors{one}
	default:
		return nil, err
	}
	var out []complaint
	for _, e := range all {
		c := complaint{Line: e.At.Line, Column: e.At.Column, Width: max(e.Width, 1), Problem: e.Problem, Hint: e.Hint}
		if e.File != nil && e.File.Name != name {
			c.File = e.File.Name
		} else {
			c.From, c.To = o.span(e.At, e.Width)
		}
		out = append(out, c)
	}
	return out, nil
}

// fill puts all that follows from a job into h and the arrays, but for the plan and, in
// a lean answer, the findings, which take longer than the paper. The score and the
// cycles on one side, the paper on the other are worked out at the same time.
func (h *head) fill(ctx context.Context, job *workshop.Job, o *offsets, tree *outline, lean bool) (*packed, error) {
	h.OK = true
	h.Title, h.Composer, h.DurationSec = job.Title(), job.Composer(), job.EndSec
	if job.Piece != nil {
		h.Note = job.Piece.Note
		if v := job.Performance.ShiftVoice; v >= 0 {
			h.Shift = &shift{job.Performance.ShiftSec, job.Piece.Voices[v].Name}
		}
	}
	var score, paper packed
	var rolls []*roll.Roll
	var report *inspect.Report
	err := together(func() (err error) {
		if rolls, err = job.Rolls(); err == nil && !lean {
			report, err = job.Findings()
		}
		return err
	}, func() error {
		h.Voices = voicesOf(job, tree)
		if !lean {
			packScore(&score, job)
			packItems(&score, linesOf(job))
		}
		return ctx.Err()
	})
	if err != nil {
		return nil, err
	}
	err = together(func() error {
		h.Pianos = pianosOf(job, rolls)
		packSlots(&paper, rolls)
		if lean {
			h.Findings = nil
			return nil
		}
		for i := range h.Pianos {
			h.Pianos[i].Once = report.Facts[i].AtOnce
		}
		h.Summary = report.Summary()
		h.Findings = findingsOf(report, o, tree)
		return nil
	}, func() error {
		packPlayed(&score, rolls)
		return nil
	})
	if err != nil {
		return nil, err
	}
	paper.join(&score)
	h.Arrays = paper.list
	return &paper, nil
}

// together does two things at the same time. The error is that of the first.
func together(a, b func() error) error {
	done := make(chan error, 1)
	go func() { done <- safely(b) }()
	err := safely(a)
	if other := <-done; err == nil {
		err = other
	}
	return err
}

// safely turns a panic, which would end the workbench with whatever else it is
// at, into an error.
func safely(do func() error) (err error) {
	defer func() {
		if r := recover(); r != nil {
			err = fmt.Errorf("web: a fault of the program, please report it with this piece: %v", r)
		}
	}()
	return do()
}

// part is a request for what a lean answer has left out.
type part struct {
	ID    string `json:"id"`    // of the work
	Score bool   `json:"score"` // the events of the score, else
	Voice int    `json:"voice"` // the items of this voice
}

// part answers with the arrays ev_, or with the arrays item_ of one voice.
func (s *Server) part(w http.ResponseWriter, r *http.Request) {
	var in part
	err := decode(r.Body, &in)
	var answer []byte
	if err == nil {
		answer, err = s.partOf(in)
	}
	if err != nil {
		fail(w, err)
		return
	}
	sendPacked(w, answer)
}

func (s *Server) partOf(in part) ([]byte, error) {
	job := s.desk.performed(in.ID)
	if job == nil {
		return nil, &refusal{http.StatusNotFound, "this text is no longer on the desk; ask for its analysis again"}
	}
	lines := linesOf(job)
	if !in.Score && (in.Voice < 0 || in.Voice >= len(lines)) {
		return nil, &refusal{http.StatusBadRequest, "there is no such voice"}
	}
	var p packed
	if in.Score {
		packScore(&p, job)
	} else {
		packItems(&p, lines[in.Voice:in.Voice+1])
	}
	return p.assemble(struct {
		Arrays []packedArray `json:"arrays"`
	}{p.list})
}

// linesOf are the voices as performed; what is no piece has none.
func linesOf(job *workshop.Job) []*perform.Line {
	if job.Performance == nil {
		return nil
	}
	return job.Performance.Lines
}

// packScore packs the events of the score.
func packScore(p *packed, job *workshop.Job) {
	events := slices.Collect(job.Events())
	packEvents(p, "ev_", events)
}

func packEvents(p *packed, prefix string, events []event.Event) {
	n := len(events)
	p.floats(prefix+"start", n, func(i int) float64 { return events[i].StartSec })
	p.floats(prefix+"end", n, func(i int) float64 { return events[i].EndSec })
	p.ints(prefix+"voice", n, func(i int) int32 { return events[i].Voice })
	p.ints(prefix+"note", n, func(i int) int32 { return events[i].Note })
	p.bytes(prefix+"key", n, func(i int) uint8 { return uint8(events[i].Key) })
	p.bytes(prefix+"level", n, func(i int) uint8 { return uint8(events[i].Level) })
	p.bytes(prefix+"piano", n, func(i int) uint8 { return uint8(events[i].Piano) })
}
