package workshop

import (
	"errors"
	"fmt"
	"io/fs"
	"path/filepath"

	"rollwright/making/bench"
	"rollwright/making/journal"
	"rollwright/making/punching"
	"rollwright/paper/edition"
	"rollwright/paper/instrument"
	"rollwright/paper/spools"
)

// AtBench is a roll of the piece that is being punched by hand.
type AtBench struct {
	Path    string // of its journal
	Roll    *edition.Roll
	Plan    *bench.Plan
	State   *journal.State
	Changes *punching.Changes // between the paper and the piece as it is now
}

// AtBench are the rolls that have a journal beside the piece, in the order of
// their names; none for a piece from standard input. A journal that cannot be
// read, or whose piano is gone, is an error after which the others follow.
func (j *Job) AtBench() ([]AtBench, error) {
	if j.File.Name == "-" || j.File.Name == "" {
		return nil, nil
	}
	paths, err := journal.Beside(j.File.Name)
	if err != nil {
		return nil, nil // a folder that cannot be listed holds nothing to warn of
	}
	var out []AtBench
	var errs []error
	for _, path := range paths {
		state, err := journal.Read(path)
		if errors.Is(err, fs.ErrNotExist) {
			continue
		}
		if err == nil {
			var at AtBench
			if at, err = j.atBench(path, state); err == nil {
				out = append(out, at)
				continue
			}
			err = fmt.Errorf("%s: %w", path, err)
		}
		errs = append(errs, err)
	}
	return out, errors.Join(errs...)
}

func (j *Job) atBench(path string, state *journal.State) (AtBench, error) {
	spool, plan, err := j.Begun(state, &Making{})
	if err != nil {
		return AtBench{}, err
	}
	return AtBench{path, spool, plan, state, punching.Compare(plan, state)}, nil
}

// Begun is the roll that a journal is about, as the piece is now: on the stretch
// of time and the paper of the journal's head, at its bench unless m names one. It
// keeps its rows: chains of which holes are cut go on from them.
func (j *Job) Begun(state *journal.State, m *Making) (*edition.Roll, *bench.Plan, error) {
	head, made := state.Head, *m
	if made.Bench == "" {
		made.Bench = head.Bench
	}
	made.Stretch = instrument.Stretch{Along: head.Along, Across: head.Across, About: instrument.Anchor(head.About)}
	piano := 0
	if head.Piano != "" {
		var err error
		if piano, err = j.piano(head.Piano); err != nil {
			return nil, nil, err
		}
	}
	instruments, err := j.MakingInstruments(&made)
	if err != nil {
		return nil, nil, err
	}
	window, err := j.window(head, instruments, made.Stretch)
	if err != nil {
		return nil, nil, err
	}
	r := j.together(window, m)[piano]
	r.Number, r.Of = head.Spool, head.Spools
	r.EndMM = spools.EndMM(r.Roll, rollsOf(window))
	p, err := j.Profile(&made)
	if err != nil {
		return nil, nil, err
	}
	if head.Shared {
		var cut []bench.Place
		if head.TrialMM == 0 { // a strip's holes lie elsewhere than those of the roll that it is cut from
			cut = cutOf(state)
		}
		r = sharedRoll(r, p, cut...)
	}
	if head.TrialMM > 0 {
		made.TrialMM = head.TrialMM
		strips, err := j.onStrips([]*edition.Roll{r}, &made)
		if err != nil {
			return nil, nil, err
		}
		r = strips[0]
	}
	plan, err := AtProfile(r, p)
	if err != nil {
		return nil, nil, err
	}
	return r, plan, nil
}

// cutOf are the holes in the paper that are no mistakes.
func cutOf(state *journal.State) []bench.Place {
	var out []bench.Place
	for _, h := range state.Holes() {
		if !state.Slipped(h) {
			out = append(out, bench.Place(h))
		}
	}
	return out
}

// sharedRoll is a roll with the punches of its chains on common rows.
func sharedRoll(r *edition.Roll, p *bench.Profile, cut ...bench.Place) *edition.Roll {
	out, spool := *r, *r.Spool
	spool.Roll = bench.Share(r.Roll, p, cut...)
	out.Spool = &spool
	return &out
}

// window are the rolls of all pianos on the stretch of time that a journal is
// about. Rolls that no piece made are whole.
func (j *Job) window(head journal.Head, instruments []*instrument.Instrument, s instrument.Stretch) ([]*spools.Spool,
	error) {
	if j.notes == nil {
		rolls, err := j.relaid(instruments, s)
		if err != nil {
			return nil, err
		}
		return j.asSpools(rolls, 0)
	}
	to := head.ToSec
	if head.Spool == head.Spools {
		to = max(to, j.Performance.EndSec) // the last spool goes on to the end, however long the piece has become
	}
	return spools.Window(j.Performance, instruments, head.FromSec, to)
}

// Head is the head of a new journal for a spool.
func (j *Job) Head(s *edition.Roll, plan *bench.Plan, m *Making) journal.Head {
	return journal.Head{
		Title: j.Title(), Piano: s.Name, Bench: j.within(plan.Profile.Name),
		TurnMM: plan.Profile.Crank.TurnMM, Parts: plan.Profile.Crank.Parts, DieMM: plan.DieMM(),
		Spool: s.Number, Spools: s.Of, FromSec: s.FromSec, ToSec: s.ToSec,
		Along: m.Stretch.Along, Across: m.Stretch.Across, About: int(m.Stretch.About),
		Shared: m.Bench != "", TrialMM: m.TrialMM,
	}
}

// within is the path of a bench as it counts from the piece's folder, so that
// the folder can be moved; a built-in bench, or a file elsewhere, as it is.
func (j *Job) within(name string) string {
	if !filepath.IsAbs(name) {
		return name
	}
	folder, err := filepath.Abs(j.Folder)
	if err != nil {
		return name
	}
	if rel, err := filepath.Rel(folder, name); err == nil && filepath.IsLocal(rel) {
		return rel
	}
	return name
}

// ToPunch are the rolls that m and the piano leave to choose from.
func (j *Job) ToPunch(piano string, m *Making) ([]*edition.Roll, error) {
	e, err := j.Edition(piano, m)
	if err != nil {
		return nil, err
	}
	return e.Rolls, nil
}
