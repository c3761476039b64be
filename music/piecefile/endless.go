package piecefile

import (
	"fmt"
	"math"

	"rollwright/music/piece"
)

// mostSummed bounds the durations that checkEndless adds up.
const mostSummed = 5_000_000

// checkEndless complains about a voice that gets faster and faster, so that all
// its notes together never last as long as its extent wants: a geometric series
// with a factor below 1 has a finite sum. A voice whose color statements change
// the durations too is left to package perform, which counts events.
func (r *reader) checkEndless() {
	summed := 0
	for i, n := range r.sounding {
		v := &r.piece.Voices[i]
		wanted := wantedUnits(v)
		if len(r.errs) > 0 || wanted == 0 || len(v.PerColor.Stretch) > 0 || v.PerColor.StretchEach.Float64() != 1 {
			continue
		}
		if summed += len(v.Talea) * max(1, len(v.PerTalea.Stretch)); summed > mostSummed {
			return
		}
		if total := allUnits(v); total <= wanted*(1+1e-12) {
			r.addOf(v, aExtent, n.all[aExtent].Error(fmt.Sprintf("%q never gets there: it is ever faster, and all its notes together last %.6g units", n.name, total),
				fmt.Sprintf("write how many notes or taleae, or less than %.6g units", total)))
		}
	}
}

// wantedUnits is the extent of a voice in units, where that is known without
// playing it: its units, or its time at one tempo. Else it is 0.
func wantedUnits(v *piece.Voice) float64 {
	switch {
	case v.Extent.Kind == piece.Units:
		return v.Extent.Amount.Float64()
	case v.Extent.Kind == piece.Seconds && len(v.Path) == 0 && !v.Lasts.Set && v.Canon < 0:
		quarters := v.Extent.Amount.Float64() * v.Tempo.Float64() / 60 * v.Speed.Float64()
		return quarters / (4 * v.Unit.Float64())
	}
	return 0
}

// allUnits is the length of a voice that goes on for ever: infinite unless
// each_note or per_talea make its statements shorter and shorter.
func allUnits(v *piece.Voice) float64 {
	statements := max(1, len(v.PerTalea.Stretch))
	length := len(v.Talea) * statements
	each, statement := v.EachNote.Float64(), v.PerTalea.StretchEach.Float64()
	if len(v.PerTalea.Stretch) > 0 {
		statement = 1
	}
	ratio := math.Pow(each, float64(length)) * statement
	if ratio >= 1 {
		return math.Inf(1)
	}
	period, factor := 0.0, v.Stretch.Float64()
	turn := v.RotateTalea%len(v.Talea) + len(v.Talea)
	for i := range statements {
		stretch := 1.0
		if len(v.PerTalea.Stretch) > 0 {
			stretch = v.PerTalea.Stretch[i].Float64()
		}
		for j := range v.Talea {
			period += v.Talea[(j+turn)%len(v.Talea)].Units.Float64() * stretch * factor
			factor *= each
		}
	}
	return period / (1 - ratio)
}
