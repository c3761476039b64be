package repair

import (
	"fmt"
	"strings"

	"rollwright/draw"
	"rollwright/making/bench"
	"rollwright/making/worksheet"
	"rollwright/scan/proof"
)

// Pages are a worksheet of the work, in the order of the roll: what to patch
// stands between the rows to punch, each with its reading of the crank.
func (w *Work) Pages(o worksheet.Options) []*draw.Drawing {
	o.Repair = &worksheet.Repair{Numbers: w.Numbers, Says: w.Says()}
	part := *w.Plan
	part.Rows, part.Punches, part.Stops = w.Rows, w.Punches(), nil
	for i := range w.Patches {
		part.Stops = append(part.Stops, w.stop(&w.Patches[i]))
	}
	return worksheet.Pages(&part, o)
}

// Says is what there is to do, in a sentence.
func (w *Work) Says() string {
	text := "Nothing is to be patched or punched."
	if !w.None() {
		text = fmt.Sprintf("%s to patch, and %s to punch in %s.",
			noun(len(w.Patches), "place"), noun(w.Punches(), "hole"), noun(len(w.Rows), "row"))
	}
	lengths := w.Plan.Profile.Lengths
	text += fmt.Sprintf(" The paper was held against the plan from %s to %s, counted from the row of time 0.",
		lengths.With(w.FromMM), lengths.With(w.ToMM))
	if w.Beyond > 0 {
		text += fmt.Sprintf(" What lies beyond, %s, is not listed: it is in the worksheet of the whole roll.",
			noun(w.Beyond, "slot"))
	}
	return text
}

// stop is a patch as a line between the rows.
func (w *Work) stop(p *Patch) bench.Stop {
	lengths := w.Plan.Profile.Lengths
	dial := w.Plan.Profile.Crank.Nearest(p.FromMM)
	zero := w.Plan.AlongMM(w.Plan.Start)
	return bench.Stop{
		Dial: dial, AlongMM: p.FromMM, Do: "patch",
		Name: fmt.Sprintf("%s %d %s from %s to %s (%s)", w.numbered(), w.Plan.Notch(p.Port), w.Plan.PortName(p.Port),
			lengths.With(p.FromMM-zero), lengths.With(p.ToMM-zero), why(p.Kind)),
	}
}

func (w *Work) numbered() string {
	if w.Plan.Profile.Rack.SpacingMM > 0 {
		return "notch"
	}
	return "port"
}

// why says what is wrong with the paper at a patch.
func why(k proof.Kind) string {
	switch k {
	case proof.Extra:
		return "not planned"
	case proof.Shifted:
		return "cut beside its place"
	case proof.Joined:
		return "the paper between two strokes is gone"
	}
	return "cut too long"
}

func noun(n int, one string) string {
	if n == 1 {
		return "1 " + one
	}
	digits := fmt.Sprint(n)
	for i := len(digits) - 3; i > 0; i -= 3 {
		digits = digits[:i] + "," + digits[i:]
	}
	return digits + " " + strings.TrimSuffix(one, "s") + "s"
}
