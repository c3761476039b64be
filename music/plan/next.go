package plan

import (
	"math"
	"math/big"

	"rollwright/exact"
)

// next is the first meeting at or after the end of the piece if both voices
// went on stating their taleae.
func (e *encounter) next() Next {
	if why := e.notExact(); why != "" || !e.comparable {
		return Next{Answer: NextNotComputed, Reason: why}
	}
	r := &e.relation
	switch {
	case r.common == exact.No && r.meet == exact.Yes:
		return e.nextOnly()
	case r.meet == exact.No:
		return Next{Answer: NextNever, Reason: e.neverReason()}
	case r.common == exact.Unknown:
		return Next{Answer: NextNotKnown, Reason: e.unknownNext()}
	case r.meet == exact.Unknown:
		return Next{Answer: NextNotComputed, Reason: "the numbers are too large"}
	}
	if why := e.noCycle(); why != "" {
		return Next{Answer: NextNotComputed, Reason: why}
	}
	return e.nextCommon()
}

// notExact says why two voices have no exact onsets to go on with: a tempo path
// before all, since what else is unknown mostly follows from it.
func (e *encounter) notExact() string {
	why := ""
	if !e.comparable {
		return "the time of one is bent by a tempo path that the other does not follow"
	}
	for _, p := range []*part{e.a, e.b} {
		switch {
		case !p.hasUnit && !p.steady():
			return p.name + " follows a tempo path"
		case why == "" && p.onsets.steps == nil:
			why = p.name + " " + p.noSteps
		case why == "" && !p.onsets.clock.known:
			why = p.name + " " + p.onsets.clock.unknown
		}
	}
	return why
}

// noCycle says why a talea does not simply go on.
func (e *encounter) noCycle() string {
	for _, p := range []*part{e.a, e.b} {
		if p.onsets.steps.cycle == nil {
			return p.name + " " + p.onsets.steps.noCycle
		}
	}
	return ""
}

// endSlack is how much before the end of the piece a next meeting may seem to
// lie because of rounding: cycles often come round exactly at the end.
const endSlack = 1e-9

// nextOnly looks at the one instant at which incommensurable lines can meet.
func (e *encounter) nextOnly() Next {
	l := e.relation.lattice
	at := e.a.onsets.time(big.NewInt(l.i0))
	if at.Float64() < e.endInside()-endSlack {
		return Next{Answer: NextNever, Reason: e.neverReason()}
	}
	if why := e.noCycle(); why != "" {
		return Next{Answer: NextNotComputed, Reason: why}
	}
	noteA, okA := e.a.onsets.steps.cycle.ordinal(l.i0)
	noteB, okB := e.b.onsets.steps.cycle.ordinal(l.j0)
	if !okA || !okB {
		return Next{Answer: NextNever, Reason: e.neverReason()}
	}
	return Next{NextAt, e.at(at, noteA, noteB),
		e.ratioName + " is irrational: this would be the only one"}
}

// nextCommon searches the common lattice of commensurable steps.
func (e *encounter) nextCommon() Next {
	l, a, b := e.relation.lattice, &e.a.onsets, &e.b.onsets
	step := a.step().Float64()
	first, spacing := a.clock.start.Float64()+float64(l.i0)*step, float64(l.di)*step
	least := math.Ceil((e.endInside() - endSlack - first) / spacing)
	if math.Abs(least) > math.MaxInt64/4 {
		return Next{Answer: NextNotComputed, Reason: "the numbers are too large"}
	}
	k, found, sure := again{l, a.steps.cycle, b.steps.cycle}.from(int64(least))
	switch {
	case !sure:
		return Next{Answer: NextNotComputed, Reason: "the taleae are too long together"}
	case !found:
		return Next{Answer: NextNever, Reason: "the notes of one never fall on notes of the other, however often the taleae return"}
	}
	i, okI := l.at(l.i0, l.di, k)
	j, okJ := l.at(l.j0, l.dj, k)
	if !okI || !okJ {
		return Next{Answer: NextNotComputed, Reason: "the numbers are too large"}
	}
	noteA, _ := a.steps.cycle.ordinal(i)
	noteB, _ := b.steps.cycle.ordinal(j)
	return Next{NextAt, e.at(a.time(big.NewInt(i)), noteA, noteB), "both taleae going on"}
}

// at is the step with number k of the lattice, and false when it does not fit.
func (lattice) at(from, by, k int64) (int64, bool) {
	n := new(big.Int).Mul(big.NewInt(by), big.NewInt(k))
	n.Add(n, big.NewInt(from))
	return n.Int64(), n.IsInt64()
}

// together is the least common multiple of the complete cycles of both voices,
// as if they began at the same instant.
func (e *encounter) together() *Together {
	if !e.related || e.relation.common != exact.Yes || e.noCycle() != "" {
		return nil
	}
	lengthA, lengthB := e.a.completeSteps(), e.b.completeSteps()
	// cyclesA * lengthA * p = cyclesB * lengthB * q
	ratio := new(big.Rat).SetFrac(
		lengthA.Mul(lengthA, e.relation.ratio.Num()),
		lengthB.Mul(lengthB, e.relation.ratio.Denom()))
	cyclesA, cyclesB := ratio.Denom(), ratio.Num()
	steps := new(big.Int).Mul(cyclesA, e.a.completeSteps())
	sum := exact.SumOf(e.a.onsets.step()).Scale(new(big.Rat).SetInt(steps))
	units := exact.SumOf(e.a.onsets.steps.size).Scale(new(big.Rat).SetInt(steps))
	return &Together{sumNumber(sum), sumNumber(units), cyclesA.String(), cyclesB.String()}
}
