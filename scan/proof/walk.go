package proof

import (
	"cmp"
	"math"
	"slices"
)

// endBonus is what it counts, in slots, that the scan begins where the plan does,
// and ends where it ends: among ways through a roll that is like itself, that
// one is right which loses no paper at the ends.
const endBonus = 2

// ends is how far the first slots of both rolls lie apart, and the last ones:
// plan less scan.
type ends struct{ first, last float64 }

// walk gives every window a place, so that together they agree most and the
// paper jumps least.
func walk(ws []window, nominal float64, e ends) []float64 {
	for i := range ws {
		ws[i].places = ws[i].peaks(nominal)
		ws[i].hold(nominal, ws[i].halfMM)
	}
	for i := 1; i < len(ws); i++ {
		ws[i].carry(&ws[i-1])
	}
	for i := len(ws) - 2; i >= 0; i-- {
		ws[i].carry(&ws[i+1])
	}
	for i := range ws {
		for k := range ws[i].places {
			ws[i].reach(i, k, ws, nominal)
			p := &ws[i].places[k]
			if i == 0 && math.Abs(p.offset-e.first) < 2*ws[i].halfMM {
				p.best += endBonus
			}
			if i == len(ws)-1 && math.Abs(p.offset-e.last) < 2*ws[i].halfMM {
				p.best += endBonus
			}
		}
	}
	return back(ws)
}

// carry weighs the places of a neighbour here, the best ones if there are many.
func (w *window) carry(from *window) {
	slack := slackMM(w, from)
	for _, p := range from.places {
		w.hold(p.offset, slack)
	}
	if len(w.places) > mostPlaces {
		slices.SortStableFunc(w.places, func(a, b place) int { return cmp.Compare(b.score, a.score) })
		w.places = w.places[:mostPlaces]
	}
}

// slackMM is what paper may have stretched between the middles of two windows.
func slackMM(a, b *window) float64 {
	return 1 + stretchShare*math.Abs(a.centreMM-b.centreMM)
}

// hold adds the place within reach of offset that has most votes.
func (w *window) hold(offset, reachMM float64) {
	score, at := w.scoreAt(offset, reachMM)
	for i := range w.places {
		if math.Abs(w.places[i].offset-at) < w.halfMM/2 {
			return
		}
	}
	w.places = append(w.places, place{offset: at, score: score})
}

// jumpCost is how many slots have to agree better before a jump is believed.
func (w *window) jumpCost() float64 { return 3 + float64(w.sampled)/4 }

// reach finds the best way to place k of window i.
func (w *window) reach(i, k int, ws []window, nominal float64) {
	p := &w.places[k]
	p.from, p.best = -1, p.score
	if i == 0 {
		p.best -= math.Min(math.Abs(p.offset-nominal)*1e-6, 0.5) // among equals the nearest
		return
	}
	before := &ws[i-1]
	slack := slackMM(w, before)
	p.best = math.Inf(-1)
	for b := range before.places {
		q := &before.places[b]
		moved := p.offset - q.offset
		cost := 0.3 * math.Abs(moved) / slack
		if math.Abs(moved) > slack {
			if moved < before.centreMM-w.centreMM {
				continue // the plan would go backwards
			}
			cost = w.jumpCost() + math.Min(math.Abs(moved)*1e-6, 0.5)
		}
		if way := q.best - cost; way > p.best {
			p.best, p.from = way, b
		}
	}
	p.best += p.score
}

// back follows the best way from its end.
func back(ws []window) []float64 {
	last := &ws[len(ws)-1]
	k := 0
	for i := range last.places {
		if last.places[i].best > last.places[k].best {
			k = i
		}
	}
	out := make([]float64, len(ws))
	for i := len(ws) - 1; i >= 0; i-- {
		if k < 0 { // no way leads here: the window before decides
			k = ws[i].bestPlace()
		}
		out[i] = ws[i].places[k].offset
		k = ws[i].places[k].from
	}
	return out
}

func (w *window) bestPlace() int {
	k := 0
	for i := range w.places {
		if w.places[i].score > w.places[k].score {
			k = i
		}
	}
	return k
}
