package roll

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"rollwright/paper/instrument"
)

// TestSlotOf, by hand: a slot from 10 to 30 mm has its first centre at 10.8636 and
// its last at 29.1364; on rows of 25.4/45 = 0.56444 mm the nearest rows are 19
// (10.7244) and 52 (29.3511). A slot shorter than the die is one punch.
func TestSlotOf(t *testing.T) {
	s := SlotOf(builtin(t, "88-note"), 5, 10, 30)
	if math.Abs(s.FirstMM-10.8636) > 1e-9 || math.Abs(s.LastMM-29.1364) > 1e-9 || s.LeadMM != 10 || s.TrailMM != 30 ||
		s.Port != 5 {
		t.Errorf("%+v", s)
	}
	q := 25.4 / 45
	if s = SlotOf(builtin(t, "88-note-45"), 5, 10, 30); math.Abs(s.FirstMM-19*q) > 1e-9 || math.Abs(s.LastMM-52*q) > 1e-9 {
		t.Errorf("%+v", s)
	}
	if s = SlotOf(builtin(t, "88-note"), 5, 10, 11); s.Punches != 1 || math.Abs(s.TrailMM-11.7272) > 1e-9 {
		t.Errorf("%+v", s)
	}
}

// TestOpenings, by hand: a slot from 0 to 10 mm begins with 4 mm open: centres
// 0.8636, and 2.2728 on, at 3.1364. Then bridges of 2.2578 stand at 5.3942 and
// 7.652; what is left to 9.1364, 1.4844, is less than die and web, 2.1272, so the
// last opening runs from 7.652 to there.
func TestOpenings(t *testing.T) {
	r := &Roll{Instrument: builtin(t, "88-note")}
	s := SlotOf(r.Instrument, 5, 0, 10)
	var got []string
	for o := range r.Openings(&s) {
		got = append(got, fmt.Sprintf("%.4f-%.4f", o.FirstMM, o.LastMM))
	}
	if want := "0.8636-3.1364 5.3942-5.3942 7.6520-9.1364"; strings.Join(got, " ") != want {
		t.Errorf("%s, want %s", strings.Join(got, " "), want)
	}
}

func builtin(t testing.TB, name string) *instrument.Instrument {
	t.Helper()
	in, err := instrument.Load(name, "")
	if err != nil {
		t.Fatal(err)
	}
	return in
}
