package read

import (
	"cmp"
	"context"
	"fmt"
	"slices"

	"rollwright/paper/instrument"
	"rollwright/paper/roll"
	"rollwright/scan/row"
	"rollwright/text/choice"
)

// Reading is a roll as its pictures show it.
type Reading struct {
	Instrument *instrument.Instrument
	Pictures   []*Picture
	Slots      []Slot    // in order, 0 being the leading edge of the first slot of a note
	StartMM    []float64 // where each picture begins on the roll
	EndMM      []float64
	Rows       Rows // of the perforator, if there are any
	Answered   int  // slots of which a person had said that they are one

	options Options
}

// Open begins to read one of the pictures once more.
func (r *Reading) Open(picture int) (*row.Picture, error) {
	return r.options.open(r.Pictures[picture].Name)
}

// Read reads the pictures, which show consecutive stretches of one roll in order.
// The error names the picture.
func Read(ctx context.Context, names []string, o Options) (*Reading, error) {
	r := &Reading{options: o}
	first, bass := o.First, o.Bass
	for i, name := range names {
		p, err := one(ctx, name, i, &o, first, bass)
		if err != nil {
			return nil, fmt.Errorf("%s: %w", name, err)
		}
		if i == 0 {
			first, bass = p.sheet.first, p.sheet.bass
			o.Instruments = []*instrument.Instrument{p.Fit.Instrument}
		} else if o.First == Unsaid && (p.Height >= p.Width) != first.upright() {
			return nil, choice.Errorf("%s is %s and %s is not: say with {first} where the music begins", names[0],
				tallOrWide(r.Pictures[0]), name)
		}
		r.Pictures = append(r.Pictures, p)
	}
	r.Instrument = r.Pictures[0].Fit.Instrument
	if err := r.join(); err != nil {
		return nil, err
	}
	if err := r.answer(AnswersName(names[0])); err != nil {
		return nil, err
	}
	if len(r.Slots) == 0 {
		return nil, fmt.Errorf("%s: %w", names[0], errNoHoles)
	}
	r.zero()
	pixel := 0.0
	for _, p := range r.Pictures {
		pixel = max(pixel, p.AlongMM)
	}
	r.Rows = findRows(r.Slots, r.Instrument, pixel)
	return r, nil
}

func tallOrWide(p *Picture) string {
	if p.Height >= p.Width {
		return "taller than wide"
	}
	return "wider than tall"
}

// join puts the pictures' slots on one roll.
func (r *Reading) join() error {
	start := 0.0
	for i, p := range r.Pictures {
		for k := range p.Slots {
			p.Slots[k].Picture = i
		}
		from, to := p.sheet.ends()
		if i > 0 {
			last := r.Pictures[i-1]
			d, err := r.overlap(last, p)
			if err != nil {
				return err
			}
			start += d
		}
		slots := moved(p.Slots, start)
		r.StartMM, r.EndMM = append(r.StartMM, start+from), append(r.EndMM, start+to)
		if i == 0 {
			r.Slots = slots
			continue
		}
		r.Slots = r.merge(r.Slots, slots, (r.StartMM[i]+r.EndMM[i-1])/2)
	}
	return nil
}

// ends are where a sheet's picture begins and ends along the paper, in the middle.
func (sh *sheet) ends() (from, to float64) {
	low, high := sh.edge(sh.long() / 2)
	mid := (low + min(high, low+sh.widthMM/sh.pixelMM)) / 2
	from, _ = sh.place(0, mid)
	to, _ = sh.place(sh.long(), mid)
	return from, to
}

// endsAt are where the picture begins and ends along the paper at a place across:
// a slanted picture cuts the ports at different rows.
func (sh *sheet) endsAt(u float64) (from, to float64) {
	at := func(a float64) float64 {
		low, _ := sh.edge(a)
		s, _ := sh.place(a, low+u/sh.acrossMM)
		return s
	}
	return at(0), at(sh.long())
}

// spans are endsAt of all ports.
func (sh *sheet) spans(in *instrument.Instrument) [][2]float64 {
	out := make([][2]float64, len(in.Bar.Ports))
	for i, p := range in.Bar.Ports {
		out[i][0], out[i][1] = sh.endsAt(p.AcrossMM)
	}
	return out
}

func moved(in []Slot, d float64) []Slot {
	out := slices.Clone(in)
	for i := range out {
		out[i].LeadMM += d
		out[i].TrailMM += d
		out[i].OpenMM = slices.Clone(out[i].OpenMM)
		for k := range out[i].OpenMM {
			out[i].OpenMM[k] += d
		}
	}
	return out
}

// agreeMM is how far the same slot may lie from itself in two pictures, once they
// lie on each other.
const agreeMM = 0.8

// overlap is how far q's own zero lies beyond p's: the shift at which all slots of
// the stretch that both show agree.
func (r *Reading) overlap(p, q *Picture) (float64, error) {
	_, end := p.sheet.ends()
	begin, _ := q.sheet.ends()
	common := stretch{p.sheet.spans(r.Instrument), q.sheet.spans(r.Instrument), p.Fit.DieMM}
	var shifts []float64
	for _, a := range p.Slots {
		for _, b := range q.Slots {
			if a.Port != b.Port || a.CutLow || b.CutLow {
				continue
			}
			if d := a.LeadMM - b.LeadMM; begin+d < end {
				shifts = append(shifts, d)
			}
		}
	}
	slices.Sort(shifts)
	best, second := agreement{}, agreement{}
	for i := 0; i < len(shifts); {
		j := i
		for j < len(shifts) && shifts[j] <= shifts[i]+agreeMM {
			j++
		}
		a := common.agree(p.Slots, q.Slots, median(slices.Clone(shifts[i:j])))
		switch {
		case a.count > best.count:
			if abs(a.shift-best.shift) > 2 {
				second = best
			}
			best = a
		case a.count > second.count && abs(a.shift-best.shift) > 2:
			second = a
		}
		i++
		for i < j && shifts[i] < shifts[i-1]+agreeMM/4 {
			i++
		}
	}
	switch {
	case best.count == 0:
		return 0, fmt.Errorf("%s and %s do not overlap: no stretch is seen in both, with the same slots; take pictures that overlap by some centimetres, and name them in order", p.Name, q.Name)
	case second.count*2 >= best.count && second.count > 0:
		return 0, fmt.Errorf("%s and %s may overlap by %.0f mm or by %.0f mm: their slots agree at both; take pictures that overlap further", p.Name, q.Name,
			end-begin-best.shift, end-begin-second.shift)
	}
	return best.shift, nil
}

// agreement is a shift at which all slots of the common stretch agree: so many.
type agreement struct {
	shift float64
	count int
}

// stretch is what two pictures show of each port, each in its own millimetres.
type stretch struct {
	early, late [][2]float64
	die         float64
}

// within reports whether a slot, in millimetres of the earlier picture, lies in what
// both show, a punch and more from its ends; touches, whether some of it does.
func (c stretch) within(s *Slot, shift float64) (within, touches bool) {
	from, to := c.late[s.Port][0]+shift+c.die, c.early[s.Port][1]-c.die
	return s.LeadMM > from && s.TrailMM < to, s.TrailMM > from && s.LeadMM < to
}

func (c stretch) agree(a, b []Slot, shift float64) agreement {
	for range 4 {
		n, d := 0, []float64{}
		for i := range a {
			s := &a[i]
			within, touches := c.within(s, shift)
			if !touches {
				continue
			}
			k := matching(b, s, shift)
			switch {
			case k < 0 && within && s.Certainty >= doubtBelow:
				return agreement{}
			case k >= 0 && within:
				n++
				d = append(d, s.LeadMM-b[k].LeadMM, s.TrailMM-b[k].TrailMM)
			}
		}
		for i := range b {
			s := b[i]
			s.LeadMM, s.TrailMM = s.LeadMM+shift, s.TrailMM+shift
			if within, _ := c.within(&s, shift); within && s.Certainty >= doubtBelow && matching(a, &s, 0) < 0 {
				return agreement{}
			}
		}
		if n == 0 {
			return agreement{}
		}
		next := median(d)
		if abs(next-shift) < 0.02 {
			return agreement{next, n}
		}
		shift = next
	}
	return agreement{}
}

// matching is the slot of list, moved by shift, that is s; -1 for none. Ends that a
// picture cuts need not agree.
func matching(list []Slot, s *Slot, shift float64) int {
	i, _ := slices.BinarySearchFunc(list, s.LeadMM-shift-agreeMM,
		func(t Slot, at float64) int { return cmp.Compare(t.LeadMM, at) })
	for ; i < len(list) && list[i].LeadMM+shift <= s.LeadMM+agreeMM; i++ {
		t := &list[i]
		if t.Port == s.Port && (t.CutHigh || s.CutHigh || abs(t.TrailMM+shift-s.TrailMM) < agreeMM) {
			return i
		}
	}
	return -1
}

// merge takes slots that begin before the middle of the common stretch from the
// earlier picture, the others from the later one; what the earlier one's end cuts
// goes on in the later one.
func (r *Reading) merge(early, late []Slot, middle float64) []Slot {
	var out []Slot
	for _, s := range early {
		if s.LeadMM < middle {
			out = append(out, s)
		}
	}
	for _, s := range late {
		if s.LeadMM >= middle {
			out = append(out, s)
			continue
		}
		for i := range out {
			t := &out[i]
			if t.Port == s.Port && t.TrailMM > s.LeadMM-agreeMM && t.LeadMM < s.TrailMM && (t.CutHigh || t.TrailMM > middle) &&
				s.TrailMM > t.LeadMM {
				t.goOn(s)
			}
		}
	}
	slices.SortFunc(out, func(a, b Slot) int { return cmp.Or(cmp.Compare(a.LeadMM, b.LeadMM), a.Port-b.Port) })
	return out
}

// goOn gives a slot the rest that the next picture shows of it.
func (s *Slot) goOn(rest Slot) {
	if !s.CutHigh {
		return
	}
	if !rest.CutLow && abs(rest.LeadMM-s.LeadMM) < agreeMM {
		*s = rest
		return
	}
	s.TrailMM, s.CutHigh, s.Certainty, s.Reason = rest.TrailMM, rest.CutHigh, min(rest.Certainty, 0.95), ""
	last := s.OpenMM[len(s.OpenMM)-2]
	s.OpenMM = s.OpenMM[:len(s.OpenMM)-2]
	for i := 0; i < len(rest.OpenMM); i += 2 {
		if rest.OpenMM[i+1] > last {
			s.OpenMM = append(s.OpenMM, rest.OpenMM[i], rest.OpenMM[i+1])
		}
	}
	s.Openings = openings(s.OpenMM)
}

// zero moves the roll so that the first slot of a note begins at 0; where no note
// is there, the first slot.
func (r *Reading) zero() {
	at := r.Slots[0].LeadMM
	for _, s := range r.Slots {
		if r.Instrument.Bar.Ports[s.Port].Role == instrument.Note {
			at = s.LeadMM
			break
		}
	}
	r.Slots = moved(r.Slots, -at)
	for i := range r.StartMM {
		r.StartMM[i] -= at
		r.EndMM[i] -= at
	}
}

// Roll is the reading as a roll that no event made: its slots' Punches are the
// openings seen. The end of the music is the last trailing edge.
func (r *Reading) Roll() *roll.Roll {
	out := &roll.Roll{Instrument: r.Instrument}
	radius := r.Instrument.Die.DiameterMM / 2
	end := 0.0
	for _, s := range r.Slots {
		first := s.LeadMM + radius
		out.Slots = append(out.Slots, roll.Slot{
			LeadMM: s.LeadMM, TrailMM: s.TrailMM, FirstMM: first, LastMM: max(s.TrailMM-radius, first),
			OpenMM: s.LeadMM, ShutMM: s.TrailMM, Port: int32(s.Port), Punches: int32(s.Openings),
		})
		end = max(end, s.TrailMM)
	}
	out.Sort()
	out.EndSec = r.Instrument.Transport.Sec(end)
	return out
}
