package punching

import (
	"fmt"
	"strconv"
	"strings"

	"rollwright/bench"
)

// ParseSlip reads which hole is wrong, as a person types it: the number of its
// notch or port, or its key, and where it is not in the row shown, its length
// from the zero line after an @: "32", "D3", "32 @ 117.5", "D3 @ 4 5/8 in". It
// returns the port's index and the place along the roll.
func (s *Session) ParseSlip(text string) (port int, alongMM float64, err error) {
	name, place, elsewhere := strings.Cut(text, "@")
	name = strings.TrimSpace(name)
	port, err = s.portNamed(name)
	if err != nil || !elsewhere {
		return port, s.HereMM(), err
	}
	place = strings.TrimSpace(place)
	mm, ok := bench.ParseLength(place)
	if !ok {
		mm, ok = bench.ParseLength(place + s.plan.Profile.Lengths.Unit())
	}
	if !ok {
		return 0, 0, fmt.Errorf("%q is no length from the zero line: write %s", place, s.plan.Profile.Lengths.With(117.5))
	}
	return port, mm + s.plan.AlongMM(s.plan.Start), nil
}

// portNamed finds a port by its number on the bench or its name.
func (s *Session) portNamed(name string) (int, error) {
	ports := s.plan.Roll.Instrument.Bar.Ports
	n, err := strconv.Atoi(name)
	for i := range ports {
		if err == nil && s.plan.Notch(int32(i)) == n || err != nil && strings.EqualFold(ports[i].Name(), name) {
			return i, nil
		}
	}
	if name == "" {
		return 0, fmt.Errorf("say which hole is wrong: its number, or its key")
	}
	return 0, fmt.Errorf("there is no port %s", name)
}

// Describe is a place as a person at the bench finds it.
func (s *Session) Describe(p Place) string { return Describe(s.plan, p) }

// Describe is a place on the paper of a plan: number, name, length from the zero
// line.
func Describe(plan *bench.Plan, p Place) string {
	where := plan.Profile.Lengths.With(p.AlongMM - plan.AlongMM(plan.Start))
	if p.Port < 0 {
		return fmt.Sprintf("under no port, %s from the bass edge, %s from zero", plan.Profile.Lengths.With(p.AcrossMM), where)
	}
	return fmt.Sprintf("%d %s, %s from zero", plan.Notch(p.Port), plan.Roll.Instrument.Bar.Ports[p.Port].Name(), where)
}
