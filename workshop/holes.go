package workshop

import (
	"sync"

	"rollwright/paper/instrument"
	"rollwright/paper/lay"
	"rollwright/paper/roll"
	"rollwright/paper/table"
	"rollwright/text/source"
)

// OfHoles is a table of holes with everything that follows from rolls. Paths
// count from folder. Errors are source.Errors where the table is at fault.
func OfHoles(file *source.File, folder string, g Given) (*Job, error) {
	in, err := g.instrument(folder)
	if err != nil {
		return nil, err
	}
	rolls, err := table.ReadHoles(file, in)
	if err != nil {
		return nil, err
	}
	return OfRolls(file, folder, g, rolls), nil
}

// OfRolls is rolls that no piece made, read from file, with everything that
// follows from them.
func OfRolls(file *source.File, folder string, g Given, rolls []*roll.Roll) *Job {
	j := &Job{File: file, Folder: folder, Voices: rolls[0].Voices}
	hammers := g.Hammers
	if hammers == "" {
		hammers = "metal"
	}
	for _, r := range rolls {
		j.Pianos = append(j.Pianos, Piano{Name: r.Name, Hammers: hammers})
		j.Instruments = append(j.Instruments, r.Instrument)
		j.Pedals = append(j.Pedals, pedalsOn(r)...)
		j.EndSec = max(j.EndSec, r.EndSec)
	}
	j.rolls = func() ([]*roll.Roll, error) { return rolls, nil }
	j.findings = sync.OnceValues(j.inspect)
	return j
}

// instrument is the one that a source is for.
func (g Given) instrument(folder string) (*instrument.Instrument, error) {
	name := g.Instrument
	if name == "" {
		name = usualInstrument
	}
	in, err := g.load(name, folder)
	if err != nil || g.RollTempo == 0 {
		return in, err
	}
	at, wrong := lay.AtLever(in, g.RollTempo)
	if wrong != nil {
		return nil, wrong
	}
	return at, nil
}

// usualInstrument is the one of a source that names none, as of a piece.
const usualInstrument = "88-note"

// pedalsOn are the times in which the ports of pedals are open.
func pedalsOn(r *roll.Roll) []roll.Span {
	var out []roll.Span
	edge, t := r.Instrument.EdgeShiftMM(), &r.Instrument.Transport
	delay := r.Instrument.Action.DelaySec
	for i := range r.Slots {
		s := &r.Slots[i]
		role := r.Instrument.Bar.Ports[s.Port].Role
		if role != instrument.Sustain && role != instrument.Soft {
			continue
		}
		out = append(out, roll.Span{
			Piano: r.Piano, Voice: -1, Role: role,
			StartSec: t.Sec(s.LeadMM+edge) + delay, EndSec: t.Sec(s.TrailMM-edge) + delay,
		})
	}
	return out
}

// relaid are the rolls that no piece made, as other instruments cut them: on
// paper of another size, with another die. Edges move with the paper.
func (j *Job) relaid(instruments []*instrument.Instrument, s instrument.Stretch) ([]*roll.Roll, error) {
	rolls, err := j.Rolls()
	if err != nil {
		return nil, err
	}
	along := s.Along
	if along == 0 {
		along = 1
	}
	out := make([]*roll.Roll, len(rolls))
	for i, r := range rolls {
		changed := *r
		changed.Instrument = instruments[i]
		changed.Slots = make([]roll.Slot, len(r.Slots))
		for k := range r.Slots {
			old := &r.Slots[k]
			slot := roll.SlotOf(instruments[i], old.Port, old.LeadMM*along, old.TrailMM*along)
			slot.Causes = old.Causes
			changed.Slots[k] = slot
		}
		changed.Sort()
		out[i] = &changed
	}
	return out, nil
}
