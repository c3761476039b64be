package workshop

import (
	"errors"
	"fmt"
	"io"
	"os"
	"slices"

	"rollwright/draw"
	"rollwright/paper/edition"
	"rollwright/paper/inspect"
	"rollwright/paper/roll"
	"rollwright/paper/spools"
	"rollwright/paper/strip"
	"rollwright/text/choice"
	"rollwright/text/source"
)

// strips are the trial strips of rolls, as these are made; nil for a roll that is in
// no doubt beside others that are.
func (j *Job) strips(rolls []*roll.Roll, m *Making) ([]*strip.Strip, error) {
	report, err := j.Findings()
	if err != nil {
		return nil, err
	}
	var out []*strip.Strip
	some := false
	for _, r := range rolls {
		o := strip.Options{LongestMM: m.TrialMM, RowMM: r.Instrument.StepMM}
		if m.Bench != "" { // punches stand on parts of the dial
			p, err := j.Profile(m)
			if err != nil {
				return nil, err
			}
			o.RowMM = p.Crank.PartMM()
		}
		s, err := strip.Make(r, report.All(), o)
		some = some || s != nil
		if err != nil && !errors.Is(err, strip.ErrNoDoubt) {
			if r.Name != "" {
				err = fmt.Errorf("%s: %w", r.Name, err)
			}
			return nil, err
		}
		out = append(out, s)
	}
	if !some {
		return nil, strip.ErrNoDoubt
	}
	return out, nil
}

// onStrips are trial strips in place of rolls, with the letters of their windows as
// cues. Rolls that are in no doubt have none.
func (j *Job) onStrips(rolls []*edition.Roll, m *Making) ([]*edition.Roll, error) {
	var out []*edition.Roll
	papers := make([]*roll.Roll, len(rolls))
	for i, r := range rolls {
		papers[i] = r.Roll
	}
	all, err := j.strips(papers, m)
	if err != nil {
		return nil, err
	}
	for i, r := range rolls {
		s := all[i]
		if s == nil {
			continue
		}
		one := &edition.Roll{Spool: &spools.Spool{Roll: s.Roll, Number: 1, Of: 1, ToSec: s.Roll.EndSec}, Names: r.Names}
		for _, w := range s.Windows {
			one.Cues = append(one.Cues, edition.Cue{AlongMM: w.FromMM + w.MovedMM - letterMM, Name: w.Letter})
		}
		out = append(out, one)
	}
	return out, nil
}

// letterMM is how far before its window a letter stands.
const letterMM = 10

// writeForm writes the questions of the trial strips.
func writeForm(w io.Writer, f *out) error {
	if f.o.TrialMM == 0 {
		return choice.Errorf("a form is for a trial strip: say how long that is with {trial}, 1m")
	}
	all, err := f.strips()
	if err != nil {
		return err
	}
	return strip.Form(w, f.job.Title(), all)
}

// strips are the trial strips of the rolls that are written.
func (f *out) strips() ([]*strip.Strip, error) {
	m := f.o.Making
	plain := m
	plain.TrialMM = 0
	e, err := f.job.Edition(f.o.Piano, &plain)
	if err != nil {
		return nil, err
	}
	all, err := f.job.strips(e.Papers(), &m)
	return slices.DeleteFunc(all, func(s *strip.Strip) bool { return s == nil }), err
}

// withForm are pages that are printed of a roll, and, where it is a trial strip, the
// form to tick.
func (f *out) withForm(pages []*draw.Drawing) ([]*draw.Drawing, error) {
	if f.o.TrialMM == 0 {
		return pages, nil
	}
	all, err := f.strips()
	if err != nil {
		return nil, err
	}
	for _, s := range all {
		if s.Roll.Name == f.roll.Name {
			pages = append(pages, s.Sheets(f.edition.Title, f.o.Letter)...)
		}
	}
	return pages, nil
}

// Answers reads a form that was filled in.
func Answers(path string) ([]inspect.Answer, error) {
	text, err := os.ReadFile(path)
	if err != nil {
		return nil, unreadable(path, err)
	}
	return strip.Read(&source.File{Name: path, Text: text})
}

// Offers are lines for the instrument's file that follow from Tried.
func (j *Job) Offers() []string {
	if len(j.Tried) == 0 {
		return nil
	}
	return inspect.Offers(j.Tried, j.Instruments[0].Paper.WidthMM)
}
