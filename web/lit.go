package web

import (
	"context"
	"net/http"
	"strings"

	"rollwright/music/piece"
	"rollwright/workshop"
)

// litRoutes are those of a hole and its item in the text, which light each other.
func litRoutes(s *Server) map[string]http.HandlerFunc {
	return map[string]http.HandlerFunc{"POST /api/item": post(s.item), "POST /api/holes": post(s.holes)}
}

// itemAsked asks where in the text the item of a note stands.
type itemAsked struct {
	ID    string `json:"id"` // of the work
	Voice int    `json:"voice"`
	Note  int    `json:"note"` // from 1
}

// litText is a stretch of the text; of no characters where nothing is known.
type litText struct {
	From int `json:"from"`
	To   int `json:"to"`
}

// item answers with the item of the color or line that a note sounds.
func (s *Server) item(_ context.Context, in itemAsked) (*litText, error) {
	out := &litText{}
	job, sheet := s.atHand(in.ID)
	if !hasVoice(job, in.Voice) {
		return out, nil
	}
	color := job.Performance.Piece.Voices[in.Voice].Color
	for it := range job.Performance.Lines[in.Voice].All() {
		if it.Note != in.Note || it.Silent {
			continue
		}
		if from, to := itemAt(sheet.text, &color[it.ColorPlace]); to > from {
			o := newOffsets(sheet.text)
			out.From, out.To = o.at(from), o.at(to)
		}
		break
	}
	return out, nil
}

// atHand is a piece that is still on the desk.
func (s *Server) atHand(id string) (*workshop.Job, *sheet) {
	sheet := s.desk.at(id)
	if sheet == nil {
		return nil, nil
	}
	job := sheet.job.Load()
	if job == nil || job.Piece == nil {
		return nil, nil
	}
	return job, sheet
}

// itemAt is from which byte to which the item of a pitch stands in the text: a gesture
// to its last parenthesis, with what hangs on to it.
func itemAt(text string, p *piece.Pitch) (from, to int) {
	from = int(p.Offset) - 1
	if from < 0 || from >= len(text) {
		return 0, 0
	}
	depth := 0
	for to = from; to < len(text); to++ {
		switch c := text[to]; {
		case c == '(':
			depth++
		case c == ')':
			depth--
		case c == '"' || depth <= 0 && strings.IndexByte(" \t\r\n|", c) >= 0:
			return from, to
		}
	}
	return from, to
}

// holesAsked asks what a place in the text comes to on the paper.
type holesAsked struct {
	ID    string  `json:"id"`
	At    int     `json:"at"`    // UTF-16 offset
	After float64 `json:"after"` // the note that is wanted is the first from this second on, else the first of all
}

// holesFound are the notes of an item; where the place is in none, the start of the voice
// in whose block it is.
type holesFound struct {
	Voices []int   `json:"voices"` // of each note
	Notes  []int   `json:"notes"`
	Sec    float64 `json:"sec"` // of the note that is wanted; negative: there is nothing here that sounds
}

// mostLit bounds the notes that are lit.
const mostLit = 4000

// holes answers with the notes that sound the item at a place of the text, of all
// voices that take it from there.
func (s *Server) holes(_ context.Context, in holesAsked) (*holesFound, error) {
	out := &holesFound{Voices: []int{}, Notes: []int{}, Sec: -1}
	job, sheet := s.atHand(in.ID)
	if job == nil {
		return out, nil
	}
	o := newOffsets(sheet.text)
	h := &litHand{text: sheet.text, after: in.After, first: -1, next: -1, found: out}
	for i := range job.Performance.Lines {
		h.voice(job, i, func(from, to int) bool { return o.at(from) <= in.At && in.At <= o.at(to) })
	}
	if out.Sec = h.next; out.Sec < 0 {
		out.Sec = h.first
	}
	if out.Sec >= 0 {
		return out, nil
	}
	tree := newOutline(sheet.text, o)
	inner := 1 << 62
	for i, v := range job.Performance.Piece.Voices {
		b := tree.named(v.Name)
		if b == nil || in.At < b.From || in.At > b.To || b.To-b.From >= inner {
			continue
		}
		inner, out.Sec = b.To-b.From, job.Performance.Lines[i].StartSec
	}
	return out, nil
}

// litHand gathers the notes of an item.
type litHand struct {
	text               string
	after, first, next float64
	found              *holesFound
}

func (h *litHand) voice(job *workshop.Job, voice int, here func(from, to int) bool) {
	color := job.Performance.Piece.Voices[voice].Color
	at := map[int]bool{}
	for place := range color {
		if from, to := itemAt(h.text, &color[place]); to > from && here(from, to) {
			at[place] = true
		}
	}
	if len(at) == 0 {
		return
	}
	for it := range job.Performance.Lines[voice].All() {
		if it.Silent || !at[it.ColorPlace] {
			continue
		}
		if h.first < 0 || it.StartSec < h.first {
			h.first = it.StartSec
		}
		if it.StartSec >= h.after-1e-6 && (h.next < 0 || it.StartSec < h.next) {
			h.next = it.StartSec
		}
		if len(h.found.Notes) < mostLit {
			h.found.Voices, h.found.Notes = append(h.found.Voices, voice), append(h.found.Notes, it.Note)
		}
	}
}
