package punching

import (
	"fmt"
	"strconv"
	"strings"

	"rollwright/making/bench"
	"rollwright/music/pitch"
	"rollwright/paper/instrument"
)

// ParseSlip reads which hole is wrong, as a person types it: the number of its
// notch or port, or its key, and where it is not in the row shown, its length
// from the zero line after an @: "32", "D3", "Bb3 @ 117.5", "D3 @ 4 5/8 in". Keys
// are spelled as pitch.Parse reads them, in capitals or not. It returns the
// port's index and the place along the roll.
func (s *Session) ParseSlip(text string) (port int, alongMM float64, err error) {
	name, place, elsewhere := strings.Cut(text, "@")
	name = strings.TrimSpace(name)
	if port, err = s.portNamed(name); err != nil {
		return 0, 0, err
	}
	if !elsewhere {
		return port, s.HereMM(), nil
	}
	mm, err := s.lengthOf(strings.TrimSpace(place))
	if err != nil {
		return 0, 0, err
	}
	return port, mm + s.plan.AlongMM(s.plan.Start), nil
}

// lengthOf reads a length from the zero line, in the unit of the bench where it
// names none. The error shows one as it may be written: the same with a point, or
// that of the row shown.
func (s *Session) lengthOf(place string) (mm float64, err error) {
	lengths := s.plan.Profile.Lengths
	if mm, ok := s.length(place); ok {
		return mm, nil
	}
	point := strings.Replace(place, ",", ".", 1)
	if _, ok := s.length(point); ok && point != place {
		if _, bare := bench.ParseLength(point); !bare {
			point += " " + lengths.Unit()
		}
		return 0, fmt.Errorf("%q has a comma: write %s", place, point)
	}
	here := lengths.With(s.HereMM() - s.plan.AlongMM(s.plan.Start))
	if place == "" {
		return 0, fmt.Errorf("after the @ goes the length from the zero line, such as %s", here)
	}
	return 0, fmt.Errorf("%q is no length from the zero line: write it like %s", place, here)
}

func (s *Session) length(place string) (mm float64, ok bool) {
	if mm, ok = bench.ParseLength(place); ok {
		return mm, true
	}
	return bench.ParseLength(place + s.plan.Profile.Lengths.Unit())
}

// portNamed finds a port by its number on the bench, its name, or any spelling
// of its key.
func (s *Session) portNamed(name string) (int, error) {
	if port, ok := s.port(name); ok {
		return port, nil
	}
	if name == "" {
		return 0, fmt.Errorf("say which hole is wrong: its number, or its key")
	}
	if hole, place, two := strings.Cut(name, " "); two {
		place = strings.TrimSpace(place)
		_, known := s.port(hole)
		if _, ok := s.length(strings.Replace(place, ",", ".", 1)); ok && known {
			return 0, fmt.Errorf("the length from the zero line goes after an @: write %s @ %s", hole,
				strings.Replace(place, ",", ".", 1))
		}
	}
	return 0, fmt.Errorf("there is no port %s", name)
}

func (s *Session) port(name string) (port int, ok bool) {
	ports := s.plan.Roll.Instrument.Bar.Ports
	n, err := strconv.Atoi(name)
	key := keyNamed(name)
	for i := range ports {
		switch {
		case err == nil && s.plan.Notch(int32(i)) == n, err != nil && strings.EqualFold(ports[i].Name(), name):
			return i, true
		case ports[i].Role == instrument.Note && ports[i].Key == key:
			return i, true
		}
	}
	return 0, false
}

// keyNamed is the key of a pitch whose letter may be small and whose flats may be
// capitals; -1: it is none.
func keyNamed(name string) int {
	if name == "" {
		return -1
	}
	key, err := pitch.Parse(strings.ToUpper(name[:1]) + strings.ToLower(name[1:]))
	if err != nil {
		return -1
	}
	return key
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
	return fmt.Sprintf("%d %s, %s from zero", plan.Notch(p.Port), plan.PortName(p.Port), where)
}
