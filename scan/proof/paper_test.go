package proof

import (
	"cmp"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"rollwright/paper/instrument"
	"rollwright/paper/roll"
)

func builtin(t testing.TB, name string) *instrument.Instrument {
	t.Helper()
	in, err := instrument.Load(name, "")
	if err != nil {
		t.Fatal(err)
	}
	return in
}

// cyclic is a roll of so many voices, each with pitches and durations that come
// again and again, which is what makes a roll like itself in many places.
func cyclic(in *instrument.Instrument, seed uint64, lengthMM float64, voices int) *roll.Roll {
	r := rand.New(rand.NewPCG(seed, 1))
	var slots []roll.Slot
	free := make([]float64, len(in.Bar.Ports)) // of each port, from where it may open again
	for i := range free {
		free[i] = -1e9
	}
	type voice struct {
		talea []float64
		color []int
		at    float64
		n     int
		hold  float64
	}
	var vs []voice
	for v := range voices {
		one := voice{hold: 0.3 + 0.6*r.Float64()}
		for range 5 + r.IntN(9) {
			one.talea = append(one.talea, float64(2+r.IntN(7))*(3+2*r.Float64()))
		}
		for range 4 + r.IntN(8) {
			one.color = append(one.color, (v*17+r.IntN(30))%88)
		}
		vs = append(vs, one)
	}
	for {
		v := &vs[0]
		for i := range vs {
			if vs[i].at < v.at {
				v = &vs[i]
			}
		}
		if v.at > lengthMM {
			break
		}
		key := 21 + v.color[v.n%len(v.color)]
		length := v.talea[v.n%len(v.talea)]
		port, _ := in.Bar.Port(key)
		if v.at > free[port]+2.8 {
			s := roll.SlotOf(in, int32(port), v.at, v.at+max(length*v.hold, 1.8))
			slots = append(slots, s)
			free[port] = s.TrailMM
		}
		v.at += length
		v.n++
	}
	out := &roll.Roll{Instrument: in, Slots: slots}
	out.Sort()
	return out
}

// worn is what happens to paper between the bench and the table.
type worn struct {
	stretch float64 // share, over all
	breathe float64 // share, from metre to metre
	noise   float64 // millimetres, of every edge
	offset  float64 // millimetres
	from    float64 // what lies before is not there
	to      float64 // 0: to the end
	cuts    []cut
}

// cut is a splice: from that place on so much of the plan is missing; below 0 so
// much blank paper was put in.
type cut struct{ at, lost float64 }

// scan is the roll as a scan reads it.
func (w worn) scan(plan *roll.Roll, seed uint64) *roll.Roll {
	r := rand.New(rand.NewPCG(seed, 2))
	place := func(mm float64) (float64, bool) {
		moved, there := mm, true
		for _, c := range w.cuts {
			switch {
			case mm < c.at:
			case c.lost > 0 && mm < c.at+c.lost:
				moved, there = moved-(mm-c.at), false
			default:
				moved -= c.lost
			}
		}
		bent := moved*(1+w.stretch) + w.breathe*1000/(2*math.Pi)*math.Sin(moved/1000*2*math.Pi)
		return bent + w.offset, there
	}
	out := &roll.Roll{Instrument: plan.Instrument}
	for i := range plan.Slots {
		s := plan.Slots[i]
		lead, there := place(s.LeadMM)
		trail, ends := place(s.TrailMM)
		if !there && !ends || s.LeadMM < w.from || w.to > 0 && s.TrailMM > w.to {
			continue
		}
		s.LeadMM, s.TrailMM = lead+w.noise*r.NormFloat64(), trail+w.noise*r.NormFloat64()
		if s.TrailMM-s.LeadMM < 0.8 {
			continue // a sliver at a splice
		}
		out.Slots = append(out.Slots, s)
	}
	out.Sort()
	return out
}

// planted is a defect.
type planted struct {
	kind Kind
	port int32
	at   float64 // where it lies along the plan
}

// plant spoils some slots of the plan, each far from the next, and returns the
// spoiled roll and what was done to it.
func plant(plan *roll.Roll, seed uint64, every int) (*roll.Roll, []planted) {
	r := rand.New(rand.NewPCG(seed, 3))
	out := &roll.Roll{Instrument: plan.Instrument}
	var done []planted
	byPort := map[int32][]int{}
	for i := range plan.Slots {
		byPort[plan.Slots[i].Port] = append(byPort[plan.Slots[i].Port], i)
	}
	spoiled := map[int]bool{}
	for i := every / 2; i < len(plan.Slots); i += every {
		s := plan.Slots[i]
		list := byPort[s.Port]
		k := slices.Index(list, i)
		before, after := -1e9, 1e9
		if k > 0 {
			before = plan.Slots[list[k-1]].TrailMM
		}
		if k+1 < len(list) {
			after = plan.Slots[list[k+1]].LeadMM
		}
		kind := Kind(r.IntN(Kinds))
		spoil := func(kind Kind, slots ...roll.Slot) {
			spoiled[i] = true
			out.Slots = append(out.Slots, slots...)
			done = append(done, planted{kind, s.Port, s.LeadMM})
		}
		t := s
		switch kind {
		case Missing:
			spoil(Missing)
		case Extra:
			if after-s.TrailMM < 12 {
				continue
			}
			t.LeadMM, t.TrailMM = s.TrailMM+5, s.TrailMM+6.7
			out.Slots = append(out.Slots, t)
			done = append(done, planted{Extra, s.Port, t.LeadMM})
		case Shifted:
			mm := 1.2 + 2*r.Float64()
			if r.IntN(2) == 0 {
				mm = -mm
			}
			if s.LeadMM+mm < before+1.5 || s.TrailMM+mm > after-1.5 {
				continue
			}
			t.LeadMM, t.TrailMM = s.LeadMM+mm, s.TrailMM+mm
			spoil(Shifted, t)
		case Short:
			if t.TrailMM-t.LeadMM < 5 {
				continue
			}
			t.TrailMM -= 2
			spoil(Short, t)
		case Long:
			if before > s.LeadMM-4 {
				continue
			}
			t.LeadMM -= 2
			spoil(Long, t)
		case Joined:
			if k+1 >= len(list) || after-s.TrailMM > 30 || spoiled[list[k+1]] || (list[k+1]-every/2)%every == 0 {
				continue
			}
			t.TrailMM = plan.Slots[list[k+1]].TrailMM
			spoiled[list[k+1]] = true
			spoil(Joined, t)
		case Split:
			if s.TrailMM-s.LeadMM < 8 {
				continue
			}
			u := s
			mid := (s.LeadMM + s.TrailMM) / 2
			t.TrailMM, u.LeadMM = mid-1, mid+1
			spoil(Split, t, u)
		}
	}
	for i := range plan.Slots {
		if !spoiled[i] {
			out.Slots = append(out.Slots, plan.Slots[i])
		}
	}
	out.Sort()
	return out, done
}

// judged compares what was found with what was planted: defects in stretches that
// a splice has taken are left out, and so is the loss itself.
func judged(t testing.TB, r *Result, done []planted, w worn) (found, wanted, wrong int) {
	t.Helper()
	lost := func(mm float64) bool {
		if mm < w.from+8 || w.to > 0 && mm > w.to-60 {
			return true
		}
		for _, c := range w.cuts {
			if mm > c.at-60 && mm < c.at+max(c.lost, 0)+8 {
				return true
			}
		}
		return false
	}
	left := map[string]int{}
	for _, p := range done {
		if !lost(p.at) {
			left[fmt.Sprint(p.kind, p.port, math.Round(p.at))]++
			wanted++
		}
	}
	for i := range r.Differences {
		d := &r.Differences[i]
		if lost(d.AtMM()) {
			continue
		}
		hit := false
		for _, mm := range []float64{0, 1, -1} {
			key := fmt.Sprint(d.Kind, d.Port, math.Round(d.AtMM())+mm)
			if left[key] > 0 {
				left[key]--
				hit = true
				break
			}
		}
		if hit {
			found++
		} else {
			wrong++
			if wrong < 5 {
				t.Logf("false: %v port %d at %.1f to %.1f, found %.2f to %.2f", d.Kind, d.Port, d.LeadMM, d.TrailMM, d.FoundLeadMM,
					d.FoundTrailMM)
			}
		}
	}
	var keys []string
	for k, n := range left {
		if n > 0 {
			keys = append(keys, k)
		}
	}
	slices.SortFunc(keys, func(a, b string) int { return cmp.Compare(a, b) })
	for _, k := range keys[:min(len(keys), 5)] {
		t.Logf("not found: %s", k)
	}
	return found, wanted, wrong
}
