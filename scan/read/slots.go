package read

import (
	"cmp"
	"math"
	"slices"

	"rollwright/paper/instrument"
)

// Slot is one passage over a port as it was seen.
type Slot struct {
	Port            int // index into the bar's ports
	LeadMM, TrailMM float64
	Openings        int
	Certainty       float64   // 0 to 1
	Reason          string    // why it is less than 1; "" where nothing is to be said
	Picture         int       // in which it was seen whole, from 0
	CutLow, CutHigh bool      // the picture's end cuts it
	Box             Box       // in the picture
	OpenMM          []float64 // ends of its openings along, two each
}

// Box is a place in a picture, in pixels from the upper left corner.
type Box struct{ X0, Y0, X1, Y1 float64 }

// joinMM: openings with less paper between them are one slot, halfway from the
// widest web that leaves a port open to the shortest gap between two strokes.
func joinMM(in *instrument.Instrument) float64 {
	return (in.WebMaxMM() + in.Action.GapPaperMM) / 2
}

// chain puts marks on ports, and openings together to slots.
func (sh *sheet) chain(list []opening, fit lattice, picture int, skipped *Aside) []Slot {
	ports := placesOf(fit.in)
	pitch := pitchOf(ports)
	byPort := make([][]mark, len(ports))
	marks := sh.marks(list)
	for _, m := range marks {
		i, off := nearest(ports, m.u)
		m.off = off
		switch {
		case abs(off) > 0.42*pitch, abs(off) > 1.25:
			skipped.Beside++
		case m.wide > mostTorn*pitch, m.wide > 1.45*fit.die && m.long > 1.5*fit.die:
			skipped.Wide++
		case m.depth < 0.6*fit.depth, sh.drawn && m.joined: // letters of a drawing
			skipped.Ink++
		default:
			m.port, m.picture = i, picture
			m.dieMM = fit.die
			m.torn = m.wide > 1.45*fit.die || m.wide > 0.95*pitch
			m.weak = m.torn || m.rest || m.part && !m.remains(fit.die, pitch)
			byPort[i] = append(byPort[i], m)
		}
	}
	var out []Slot
	for port, list := range byPort {
		out = append(out, sh.portSlots(port, list, fit, pitch, picture, skipped)...)
	}
	slices.SortFunc(out, func(a, b Slot) int { return cmp.Or(cmp.Compare(a.LeadMM, b.LeadMM), a.Port-b.Port) })
	spans := sh.spans(fit.in)
	for i := range out { // what ends within a punch of the picture's end may go on
		s := &out[i]
		from, to := spans[s.Port][0], spans[s.Port][1]
		s.CutLow = s.CutLow || s.LeadMM < from+fit.die
		s.CutHigh = s.CutHigh || s.TrailMM > to-fit.die
	}
	return out
}

// mostTorn is how wide a punch may have torn, in ports' distances, and still be told
// by the holes before and after it.
const mostTorn = 1.25

// remains reports whether a part of a hole is compact enough to be what a chad or
// tape left; where ink looks as the backing does it has to be more so.
func (m *mark) remains(die, pitch float64) bool {
	full := die * die * math.Pi / 4
	area := m.area * m.pixelMM2
	if m.inky {
		return area > 0.6*full && m.long < 1.4*die && m.wide > 0.6*die && abs(m.off) < 0.2*pitch
	}
	return area > 0.2*full && m.wide > 0.3*die
}

// Aside counts openings that were seen and are no slots.
type Aside struct {
	Beside int // between two ports, or outside all
	Wide   int // wider than a hole: tears, eyelets, ink
	Ink    int // not as dark, or light, as the backing
	Small  int // too little of a hole
}

func (sh *sheet) portSlots(port int, list []mark, fit lattice, pitch float64, picture int, skipped *Aside) []Slot {
	slices.SortFunc(list, func(a, b mark) int { return cmp.Compare(a.s0, b.s0) })
	join := joinMM(fit.in)
	var out []Slot
	list = withoutWeak(list, join, skipped)
	for i := 0; i < len(list); {
		j, end := i+1, list[i].s1
		for j < len(list) && list[j].s0-end < join {
			end = max(end, list[j].s1)
			j++
		}
		if s, ok := sh.slot(port, list[i:j], fit, pitch); ok {
			s.Picture = picture
			out = append(out, s)
		} else {
			skipped.Small++
		}
		i = j
	}
	return out
}

// What marks that may as well be ink may bridge: one punch, in diameters of the die with
// the paper before and after it, or so many punches that each look like what is left
// of one.
const (
	bridgeAny = 1.8
	mostWeak  = 3
)

// withoutWeak leaves out what may as well be ink or a tear, unless it lies in the gap
// between two holes of one chain: there it is what a chad left, or a punch that tore.
func withoutWeak(list []mark, join float64, skipped *Aside) []mark {
	var out []mark
	for i := 0; i < len(list); i++ {
		if !list[i].weak {
			out = append(out, list[i])
			continue
		}
		end, reach := i, list[i].s1
		for end+1 < len(list) && list[end+1].weak && list[end+1].s0-reach < join {
			end++
			reach = max(reach, list[end].s1)
		}
		weak := list[i : end+1]
		if len(out) > 0 && end+1 < len(list) && bridges(weak, out[len(out)-1].s1, list[end+1].s0, reach, join) {
			out = append(out, weak...)
		} else {
			for _, m := range weak {
				skipped.leave(&m)
			}
		}
		i = end
	}
	return out
}

// bridges reports whether weak marks go on from one hole to the next.
func bridges(weak []mark, from, to, reach, join float64) bool {
	if weak[0].s0-from >= join || to-reach >= join {
		return false
	}
	return to-from <= bridgeAny*weak[0].dieMM || len(weak) <= mostWeak && likePunches(weak)
}

// leave counts a weak mark as left out.
func (a *Aside) leave(m *mark) {
	switch {
	case m.rest:
	case m.torn:
		a.Wide++
	default:
		a.Small++
	}
}

// likePunches reports whether marks are each as long as what is left of a punch.
func likePunches(list []mark) bool {
	for _, m := range list {
		if d := m.dieMM; !m.rest && (m.long < 0.6*d || m.long > 1.3*d || m.wide < 0.4*d) {
			return false
		}
	}
	return true
}

// slot makes one of marks in a row. A group without a single opening that is
// surely a hole is none.
func (sh *sheet) slot(port int, group []mark, fit lattice, pitch float64) (Slot, bool) {
	s := Slot{Port: port, LeadMM: group[0].s0, TrailMM: group[0].s1, Certainty: 1}
	sure, area, whole := 0.0, 0.0, 0
	for _, m := range group {
		s.TrailMM = max(s.TrailMM, m.s1)
		s.CutLow, s.CutHigh = s.CutLow || m.cutLow, s.CutHigh || m.cutHigh
		s.OpenMM = append(s.OpenMM, m.s0, m.s1)
		c, why := m.certainty(fit, pitch)
		sure = max(sure, c)
		if c < s.Certainty {
			s.Certainty, s.Reason = c, why
		}
		if c > 0.5 {
			whole++
		}
		area += m.area
	}
	s.Openings = openings(s.OpenMM)
	least := 0.35
	if group[0].inky {
		least = 0.78
	}
	if sure < least && !s.CutLow && !s.CutHigh {
		return s, false
	}
	if len(group) > 1 { // neighbours on one port speak for each other
		s.Certainty = max(s.Certainty, math.Sqrt(s.Certainty)*0.95)
	}
	s.Box = sh.box(group)
	return s, true
}

// openings counts what lies apart; pieces that only a window's end parted touch.
func openings(ends []float64) int {
	n := 1
	for i := 2; i < len(ends); i += 2 {
		if ends[i]-ends[i-1] > 0.02 {
			n++
		}
	}
	return n
}

// certainty says how surely a mark is a hole.
func (m *mark) certainty(fit lattice, pitch float64) (float64, string) {
	sure, why := 1.0, ""
	lower := func(c float64, reason string) {
		if c < sure {
			sure, why = c, reason
		}
	}
	size := min(m.wide, m.area*m.pixelMM2/max(m.long, 0.1)) * m.long / (fit.die * fit.die)
	if m.cutLow || m.cutHigh {
		lower(0.85, "cut by the picture's end")
	} else if m.part || size < 0.6 || m.long < 0.75*fit.die || m.wide < 0.75*fit.die {
		lower(min(0.85, size), "partly filled")
		if m.weak {
			lower(0.3, "ink, or a hole nearly filled")
		}
	}
	if m.torn {
		lower(0.5, "torn or wider than the die")
	} else if m.wide > 1.25*fit.die {
		lower(0.8, "torn or wider than the die")
	}
	if m.joined {
		touched := 0.88
		if abs(m.wide/fit.die-1) < 0.08 { // what was taken out has the shape of a hole
			touched = 0.93
		}
		lower(touched, "ink, a tear or another hole touches it")
	}
	if d := abs(m.off); d > 0.2*pitch {
		lower(max(1-(d/pitch-0.2)*3.5, 0.1), "beside its port")
	}
	if depth := m.depth / fit.depth; depth < 0.85 && !m.part {
		lower(max(depth-0.1, 0.1), "lighter inside than the backing: ink, tape or a chad")
	}
	return sure, why
}

// box is where a group lies in the picture.
func (sh *sheet) box(group []mark) Box {
	b := Box{math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)}
	for _, m := range group {
		for _, k := range []float64{-1, 1} {
			for _, a := range []float64{m.a0, m.a1} {
				x, y := sh.picture(a, m.c+k*m.w/2+(a-m.am)*sh.slope)
				b.X0, b.Y0, b.X1, b.Y1 = min(b.X0, x), min(b.Y0, y), max(b.X1, x), max(b.Y1, y)
			}
		}
	}
	return b
}
