package engrave

import (
	"math"
	"slices"

	"rollwright/text/choice"
)

// system is a stretch of a score: the voices that sound in it, one below the other.
type system struct {
	from, to float64 // seconds
	sec      float64 // that its axis is long, not less than to - from
	rows     []*row
	tall     float64 // its ruler included
}

// layOut chooses the size of staves, and with it systems and pages: the largest
// that fit a page; a little smaller where that saves pages.
func (s *scoreWriter) layOut() error {
	best := 0.0
	for _, space := range staffSpaces {
		if best > 0 && space < readableSpace {
			break
		}
		s.space = space
		systems, err := s.systems()
		if err != nil {
			return err
		}
		if slices.ContainsFunc(systems, func(y system) bool { return y.tall > s.room(1) }) {
			continue
		}
		if sheets := s.paginate(systems); best == 0 || len(sheets) < len(s.sheets) {
			best, s.sheets = space, sheets
		}
	}
	if s.space = best; best == 0 {
		return TooLarge{choice.Errorf("a page holds no system of %d voices: choose some with {voice}", len(s.rows))}
	}
	if n := len(s.sheets); n > mostPages {
		return TooLarge{choice.Errorf("the score would have %d pages, more than %d: choose a stretch with {from} and {to}", n,
			mostPages)}
	}
	return nil
}

// readableSpace is the smallest space of staves that is chosen to save pages.
const readableSpace = 1.2

// mostSystems bounds what is laid out: more do not fit mostPages.
const mostSystems = mostPages * 30

// systems cuts the stretch into systems.
func (s *scoreWriter) systems() ([]system, error) {
	var systems []system
	for n := 0; ; n++ {
		y := system{from: s.from, sec: s.o.SystemSec}
		if n > 0 {
			y.from = systems[n-1].from + systems[n-1].sec
		}
		if s.o.SystemSec > 0 {
			y.from = s.from + float64(n)*s.o.SystemSec
		}
		if n > 0 && y.from >= s.to-1e-9 {
			return systems, nil
		}
		if n == mostSystems {
			return nil, TooLarge{choice.Errorf("the score would have more than %d pages: choose a stretch with {from} and {to}",
				mostPages)}
		}
		if y.sec == 0 {
			y.sec = s.longest(y.from)
		}
		y.to = min(y.from+y.sec, s.to)
		y.rows, y.tall = s.sounding(y.from, y.to), rulerHeight
		for _, r := range y.rows {
			y.tall += r.spaces() * s.space
		}
		systems = append(systems, y)
	}
}

// sounding are the rows that sound between two instants; all of them where none
// does.
func (s *scoreWriter) sounding(from, to float64) []*row {
	var rows []*row
	for _, r := range s.rows {
		if r.sounds(from, to) {
			rows = append(rows, r)
		}
	}
	if len(rows) == 0 {
		return s.rows
	}
	return rows
}

// sounds reports whether a stroke sounds between two instants, or begins there.
func (r *row) sounds(from, to float64) bool {
	end, _ := slices.BinarySearchFunc(r.strokes, to, func(k stroke, t float64) int {
		if k.start < t {
			return -1
		}
		return 1
	})
	for i := end - 1; i >= 0; i-- {
		if r.strokes[i].end > from || r.strokes[i].start >= from {
			return true
		}
		if r.longest > 0 && r.strokes[i].start < from-r.longest {
			return false // nothing before can reach so far
		}
	}
	return false
}

// longest is the length of the system from an instant on: the longest in which nine
// tenths of the notes of every voice stand a head's width and a half apart.
func (s *scoreWriter) longest(from float64) float64 {
	axis, least := s.axisWidth(), headWidth*1.5*s.space
	shortest := systemLengths[len(systemLengths)-1]
	for _, sec := range systemLengths {
		if sec > shortest && sec/2 > s.to-from {
			continue
		}
		if s.needs(from, from+sec)*axis/sec >= least {
			return sec
		}
	}
	return shortest
}

// needs is the time that nine tenths of the notes of every voice stand apart at
// least between two instants.
func (s *scoreWriter) needs(from, to float64) float64 {
	need := math.Inf(1)
	var gaps []float64
	for _, r := range s.rows {
		i, _ := slices.BinarySearch(r.heads, from)
		j, _ := slices.BinarySearch(r.heads, to)
		gaps = gaps[:0]
		for k := i + 1; k < j; k++ {
			gaps = append(gaps, r.heads[k]-r.heads[k-1])
		}
		if len(gaps) > 0 {
			slices.Sort(gaps)
			need = min(need, gaps[len(gaps)/10])
		}
	}
	return need
}

func (s *scoreWriter) axisWidth() float64 { return s.width - 2*scoreMargin - nameWidth }

// room is the height that a page, counted from 1, has for systems.
func (s *scoreWriter) room(page int) float64 {
	room := s.height - 2*scoreMargin - scoreFoot
	if page == 1 {
		room -= scoreHead
	}
	return room
}

// paginate puts systems on pages, as many as fit.
func (s *scoreWriter) paginate(systems []system) [][]system {
	var pages [][]system
	used := math.Inf(1)
	for _, y := range systems {
		if used+systemGap+y.tall > s.room(len(pages)) {
			pages = append(pages, nil)
			used = -systemGap
		}
		last := len(pages) - 1
		pages[last] = append(pages[last], y)
		used += systemGap + y.tall
	}
	return pages
}

// spread is what is added between the systems of a full page, so that it is used to
// its end.
func (s *scoreWriter) spread(page int) float64 {
	systems := s.sheets[page-1]
	if len(systems) < 2 || page == len(s.sheets) {
		return 0
	}
	free := s.room(page) + systemGap
	for _, y := range systems {
		free -= systemGap + y.tall
	}
	return min(free/float64(len(systems)-1), mostSpread)
}

// mostSpread is as much as that may be: systems far apart are hard to follow.
const mostSpread = 14.0
