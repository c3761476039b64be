package journal

import (
	"math"

	"rollwright/making/bench"
)

// surePart is how well the time of a stroke has to be known before it is parted
// from that of a row: its standard error as a share of it.
const surePart = 0.25

// Pace is how fast the last rows went, so much a stroke and so much a row; the zero
// Pace while too little is known. Both are fitted to the times of the rows by least
// squares. Where they cannot be told apart, because rows have equally many strokes
// or the times scatter too much, they stand to each other as in the pace that is
// assumed. Either way the last rows take together what they took.
func (s *State) Pace(assumed bench.Pace) bench.Pace {
	recent := s.stints.recent
	recent = recent[max(0, len(recent)-recentRows):]
	strokes, rows, sec := 0, 0, 0.0
	for _, t := range recent {
		strokes, rows, sec = strokes+t.punches, rows+t.rows(), sec+float64(t.ms)/1000
	}
	if strokes < knownPunches || sec == 0 {
		return bench.Pace{}
	}
	pace, ok := fitted(recent)
	if !ok {
		pace = assumed
	}
	by := sec / pace.WorkSec(strokes, rows)
	return bench.Pace{StrokeSec: by * pace.StrokeSec, RowSec: by * pace.RowSec, SessionSec: assumed.SessionSec}
}

// rows is 1, or 0 for more of the row before.
func (t *stint) rows() int {
	if t.again {
		return 0
	}
	return 1
}

// fitted are the times of a stroke and of a row by ordinary least squares: the
// solution of the two normal equations, and the standard error of the first from
// the residuals (N. R. Draper, H. Smith, Applied Regression Analysis, ch. 1). It is
// not taken where one of them is below 0 or the first is not known well.
func fitted(of []stint) (p bench.Pace, ok bool) {
	var nn, nr, rr, nt, rt float64
	for _, t := range of {
		n, r, sec := float64(t.punches), float64(t.rows()), float64(t.ms)/1000
		nn, nr, rr, nt, rt = nn+n*n, nr+n*r, rr+r*r, nt+n*sec, rt+r*sec
	}
	det := nn*rr - nr*nr
	if len(of) < 3 || det < 1e-6*nn*rr {
		return p, false
	}
	p.StrokeSec, p.RowSec = (rr*nt-nr*rt)/det, (nn*rt-nr*nt)/det
	squares := 0.0
	for _, t := range of {
		off := float64(t.ms)/1000 - p.WorkSec(t.punches, t.rows())
		squares += off * off
	}
	wide := math.Sqrt(squares / float64(len(of)-2) * rr / det)
	return p, p.StrokeSec > 0 && p.RowSec >= 0 && wide <= surePart*p.StrokeSec
}
