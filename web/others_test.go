package web

import (
	"fmt"
	"net/http"
	"slices"
	"strings"
	"testing"
)

// TestOthersLists: what is no piece is listed by what it is.
func TestOthersLists(t *testing.T) {
	b := serve(t, map[string]string{"a.piece": small, "b.mid": "x", "c.wav": "x", "d.png": "x", "e.csv": "port,lead_mm,trail_mm\n",
		"f.csv": "key,start_s,end_s\n", "g.csv": "name,age\n", "in/h.flac": "x", "i.txt": "x", ".j.mid": "x"})
	got := fetch[[]other](b, "/api/others")
	var list []string
	for _, o := range got {
		list = append(list, o.Kind+" "+o.Name)
	}
	want := []string{"notes b.mid", "take c.wav", "picture d.png", "holes e.csv", "notes f.csv", "take in/h.flac"}
	if !slices.Equal(list, want) {
		t.Errorf("%q, not %q", list, want)
	}
}

// TestOthersAreWorkedOn: a table of holes and one of notes have paper, sound and
// findings, and become pieces.
func TestOthersAreWorkedOn(t *testing.T) {
	holes := "port,lead_mm,trail_mm\n40,0,10\n42,20,30\n"
	notes := "voice,key,start_s,end_s\n"
	for i := range 24 { // three pitches on two durations, four statements of both
		at := float64(i/2)*0.75 + float64(i%2)*0.5
		notes += strings.Join([]string{"one", []string{"60", "62", "67"}[i%3], fmt.Sprint(at), fmt.Sprint(at + 0.2)}, ",") + "\n"
	}
	b := serve(t, map[string]string{"holes.csv": holes, "notes.csv": notes, "bad.csv": "key,start_s,end_s\n60,x,2\n"})
	work := func(name string) (h head) {
		status, data := b.send("POST", "/api/work", m{"name": name, "text": "", "lean": true})
		if status != http.StatusOK {
			t.Fatalf("%s: %d %s", name, status, data)
		}
		words(t, data, &h)
		return h
	}
	if h := work("holes.csv"); !h.OK || h.Pianos[0].Slots.Count != 2 || h.Title != "holes" {
		t.Errorf("%+v", h)
	}
	h := work("notes.csv")
	if !h.OK || h.Pianos[0].Slots.Count != 24 || len(h.Voices) != 1 || h.Voices[0].Notes != 24 {
		t.Errorf("%+v", h)
	}
	if p := ask[plans](b, "/api/plan", m{"id": h.ID}); len(p.Pairs) != 0 {
		t.Errorf("%+v", p)
	}
	if h := work("bad.csv"); h.OK || len(h.Errors) != 1 || h.Errors[0].Line != 2 {
		t.Errorf("%+v", h)
	}
	made := ask[nameOnly](b, "/api/draft", m{"name": "notes.csv", "text": "", "to": "found"})
	if text := b.disk("found.piece"); made.Name != "found.piece" || !strings.Contains(text, "talea") {
		t.Errorf("%s has\n%s", made.Name, text)
	}
	id := ask[idOnly](b, "/api/jobs", m{"name": "holes.csv", "text": "", "format": "csv", "options": m{}}).ID
	if note := b.await(id); note.State != done || note.File != "holes.csv" {
		t.Errorf("%+v", note)
	}
	if status, data := b.send("POST", "/api/work", m{"name": "../x.mid", "text": ""}); status != http.StatusBadRequest {
		t.Errorf("%d %s", status, data)
	}
}
