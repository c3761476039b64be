package calibrate

import (
	"fmt"
	"path/filepath"
)

// Heard is when a row was heard in a recording of the test roll, less the delay
// of the keys that told: one of several strokes together, so that one does not
// depend on the next.
type Heard struct {
	AlongMM  float64 // the row on the middle of the ports when they opened
	Sec      float64 // of the recording
	SigmaSec float64 // its precision
}

// leastTakeSec is the last place to which an onset in a recording is told.
const leastTakeSec = 1e-3

// Overhear adds what a recording of the test roll tells to the readings, as a run
// with a clock of its own.
func (r *Readings) Overhear(recording string, rows []Heard, edgeMM float64) {
	for _, h := range rows {
		r.list = append(r.list, reading{
			heard, h.AlongMM - edgeMM, r.runs, h.Sec, h.SigmaSec, leastTakeSec,
			fmt.Sprintf("%s at %.0f mm", filepath.Base(recording), h.AlongMM),
		})
	}
	if len(rows) > 0 {
		r.runs++
	}
}
