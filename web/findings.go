package web

import (
	"fmt"

	"rollwright/paper/inspect"
)

// finding is a group of findings of one kind.
type finding struct {
	ID       string  `json:"id"`
	Severity string  `json:"severity"` // forbids, risks, note
	Kind     string  `json:"kind"`
	Title    string  `json:"title"`
	Message  string  `json:"message"` // of the worst
	FromSec  float64 `json:"fromSec"` // of the first of them
	ToSec    float64 `json:"toSec"`   // of the last
	Remedy   string  `json:"remedy"`  // in general; what can be written is tried when it is asked for
	Fix      bool    `json:"fix"`     // there are remedies to be tried
	Count    int     `json:"count"`
	Piano    int     `json:"piano"` // -1: several
	Voice    int     `json:"voice"` // -1: none, or several
	Places   []place `json:"places"`

	group inspect.Group
}

// place is where one finding is, on the paper and in the text.
type place struct {
	Sec      float64 `json:"sec"`
	AlongMM  float64 `json:"alongMM"`
	AcrossMM float64 `json:"acrossMM"`
	Port     int     `json:"port"` // index; -1: none
	Voice    int     `json:"voice"`
	Note     int     `json:"note"`
	Line     int     `json:"line"` // 0: none
	From     int     `json:"from"`
	To       int     `json:"to"`
	Message  string  `json:"message"` // of this one
	Piano    int     `json:"piano"`
}

// The bounds of what is listed.
const (
	mostFindings = 100  // groups; beyond, those of a kind are one
	mostPlaces   = 50   // of a group
	mostSought   = 3000 // findings that are looked through for places
)

// groupsOf are the findings in groups, each with its name, which is the same
// for the same text.
func groupsOf(report *inspect.Report) []finding {
	folded := len(report.Groups) > mostFindings
	out := []finding{}
	for _, g := range report.Fold(mostFindings) {
		f := &g.Worst
		out = append(out, finding{
			ID: groupID(&g.First, folded), Severity: g.Severity.String(), Kind: g.Kind.String(), Title: g.Kind.String(),
			Message: f.Message(), FromSec: g.First.StartSec, ToSec: g.Last.StartSec, Remedy: f.Advice(),
			Fix:   len(f.Changes()) > 0,
			Count: g.Count, Piano: g.Piano, Voice: g.Voice, Places: []place{}, group: g,
		})
	}
	return out
}

// groupID names the group that a finding belongs to.
func groupID(f *inspect.Finding, folded bool) string {
	if folded {
		return fmt.Sprintf("%d.%d", f.Kind, f.Severity)
	}
	id := fmt.Sprintf("%d.%d.%d.%d.%d", f.Kind, f.Severity, f.Piano, f.Voice, f.Other)
	if f.Width > 0 { // a gesture has a group of its own
		id += fmt.Sprintf(".%v.%v", f.Before, f.At)
	}
	return id
}

func findingsOf(report *inspect.Report, o *offsets, tree *outline) []finding {
	out := groupsOf(report)
	folded := len(report.Groups) > mostFindings
	index := map[string]int{}
	for i := range out {
		index[out[i].ID] = i
	}
	if left := min(report.Counts[0]+report.Counts[1]+report.Counts[2], mostSought); left > 0 {
		for f := range report.All() {
			if i, ok := index[groupID(&f, folded)]; ok && len(out[i].Places) < mostPlaces {
				out[i].Places = append(out[i].Places, placeOf(&f, o, tree))
			}
			if left--; left == 0 {
				break // to look for more takes a walk to the end of the roll
			}
		}
	}
	for i := range out {
		if len(out[i].Places) == 0 {
			out[i].Places = append(out[i].Places, placeOf(&out[i].group.First, o, tree))
		}
	}
	return out
}

func placeOf(f *inspect.Finding, o *offsets, tree *outline) place {
	p := place{
		Sec: f.StartSec, AlongMM: f.AlongMM, AcrossMM: f.AcrossMM, Port: f.Port - 1, Voice: f.Voice, Note: f.Note,
		Line: f.At.Line, Message: f.Message(), Piano: f.Piano,
	}
	if f.At.Known() {
		if w, ok := tree.at[f.At]; ok {
			p.From, p.To = o.at(w.start), o.at(w.end)
		} else {
			p.From, p.To = o.span(f.At, max(f.Width, 1))
		}
	}
	return p
}
