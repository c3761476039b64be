package instrument

import (
	"strings"
	"testing"
)

// TestCaution: no caution speaks of what an instrument has not: a strip that is
// turned by hand has no motor, and wind that is pressed is not sucked.
func TestCaution(t *testing.T) {
	for _, reading := range []Reading{Suction, Pressure, Pins} {
		for _, crank := range []bool{false, true} {
			in := &Instrument{Bar: Bar{Reading: reading}, Transport: Transport{Crank: crank}}
			text := in.Caution()
			for word, has := range map[string]bool{
				"uction": !crank && reading == Suction, "blower": !crank && reading == Pressure, "plug": !crank,
				"crank": crank, "omb": reading == Pins, "wind": reading == Pressure || crank && reading == Suction,
			} {
				if strings.Contains(text, word) != has {
					t.Errorf("reading %d, crank %v: %q in %q: %v, want %v", reading, crank, word, text, !has, has)
				}
			}
			if (in.Wiring() == "") != crank {
				t.Errorf("crank %v: wiring %q", crank, in.Wiring())
			}
		}
	}
}
