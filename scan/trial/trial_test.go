package trial

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"path/filepath"
	"slices"
	"testing"

	"rollwright/internal/long"
	"rollwright/paper/instrument"
	"rollwright/scan/read"
)

// score is what a comparison found.
type score struct {
	truth, found, hit int
	errors            []float64 // of edges, millimetres, in order
}

func (s *score) add(o score) {
	s.truth, s.found, s.hit = s.truth+o.truth, s.found+o.found, s.hit+o.hit
	s.errors = append(s.errors, o.errors...)
	slices.Sort(s.errors)
}

func (s *score) String() string {
	p95, worst := math.NaN(), math.NaN()
	if n := len(s.errors); n > 0 {
		p95, worst = s.errors[int(.95*float64(n-1))], s.errors[n-1]
	}
	return fmt.Sprintf("%d slots, %d found, %d of them right: recall %.4f, precision %.4f; 95 of 100 edges within %.3f mm, worst %.3f",
		s.truth, s.found, s.hit, float64(s.hit)/float64(s.truth), float64(s.hit)/float64(max(s.found, 1)), p95, worst)
}

// compare pairs what was read with what was punched, in millimetres of the worn
// paper. Along, only the zero is taken from the reading: the middle of what pairs
// differ by. Slots that the end of the picture cuts are left out of both.
func compare(t *testing.T, truth []cutSlot, along, fromMM, toMM float64, got []read.Slot) score {
	t.Helper()
	offset := best(truth, along, got)
	var s score
	taken := make([]bool, len(got))
	for _, c := range truth {
		lead, trail := c.lead*along, c.trail*along
		if lead < fromMM+6 || trail > toMM-6 {
			for i := range got { // cut, or nearly
				if got[i].Port+1 == c.port && got[i].LeadMM+offset < trail+1 && got[i].TrailMM+offset > lead-1 {
					taken[i] = true
				}
			}
			continue
		}
		s.truth++
		hits := s.hit
		for i := range got {
			g := &got[i]
			over := min(trail, g.TrailMM+offset) - max(lead, g.LeadMM+offset)
			if g.Port+1 != c.port || taken[i] || over < (trail-lead)/2 {
				continue
			}
			taken[i] = true
			s.hit++
			s.found++
			s.errors = append(s.errors, math.Abs(g.LeadMM+offset-lead), math.Abs(g.TrailMM+offset-trail))
			break
		}
		if s.hit == hits {
			t.Logf("not found: port %d from %.1f to %.1f mm", c.port, lead, trail)
		}
	}
	slices.Sort(s.errors)
	for i := range got {
		if !taken[i] {
			s.found++
			t.Logf("too many (%s): port %d from %.1f to %.1f mm", got[i].Reason, got[i].Port+1, got[i].LeadMM+offset,
				got[i].TrailMM+offset)
		}
	}
	return s
}

// best is the middle of the crowd of differences of leading edges.
func best(truth []cutSlot, along float64, got []read.Slot) float64 {
	var all []float64
	for _, c := range truth {
		for _, g := range got {
			if g.Port+1 == c.port {
				all = append(all, c.lead*along-g.LeadMM)
			}
		}
	}
	slices.Sort(all)
	most, at, to := 0, 0.0, 0
	for from := range all {
		for to < len(all) && all[to] <= all[from]+.8 {
			to++
		}
		if to-from > most {
			most, at = to-from, all[(from+to)/2]
		}
	}
	return at
}

func with(change func(*look)) look {
	l := plain
	change(&l)
	return l
}

// trials are papers with one trouble each, then with several; hard ones have a
// number of their own.
var trials = []struct {
	name string
	look look
	hard bool
}{
	{"plain", plain, false},
	{"lighter backing, on its side", with(func(l *look) {
		l.backing = [3]float64{.99, .99, .99}
		l.paper = [3]float64{.62, .58, .5}
		l.first, l.bass = "left", "top"
	}), false},
	{"coloured backing", with(func(l *look) { l.backing = [3]float64{.1, .2, .62}; l.first, l.bass = "top", "right" }), false},
	{"lit from behind, seen from the back", with(func(l *look) {
		l.backing, l.paper = [3]float64{.97, .97, .97}, [3]float64{.4, .36, .3}
		l.first, l.bass = "left", "bottom"
	}), false},
	{"uneven light", with(func(l *look) { l.fade = .45 }), false},
	{"stains, creases, tape", with(func(l *look) { l.stains, l.creases, l.tape = 9, 7, true }), false},
	{"words and lines", with(func(l *look) { l.words, l.lines = 14, 8 }), false},
	{"skew and wander", with(func(l *look) { l.skew, l.wanderMM = 1.8, 2 }), false},
	{"shrunk across, grown along", with(func(l *look) { l.across, l.along = .99, 1.01 }), false},
	{"grown across, unequal resolution", with(func(l *look) { l.across, l.dpiX, l.dpiY = 1.01, 100, 140 }), false},
	{"noise and traces of JPEG", with(func(l *look) { l.noise, l.blur, l.quality = .05, 1.2, 60 }), false},
	{"one bit", with(func(l *look) { l.oneBit, l.dpiX, l.dpiY = true, 150, 150 }), false},
	{"treble edge outside", with(func(l *look) { l.outside = 30 }), false},
	{"chads and tears", with(func(l *look) { l.chads, l.torn, l.ragged = .05, .05, .8 }), true},
	{"everything at once", with(func(l *look) {
		l.fade, l.stains, l.creases, l.words, l.lines, l.tape = .3, 6, 5, 8, 4, true
		l.skew, l.wanderMM, l.across, l.along = -1.2, 1.2, .993, .994
		l.noise, l.blur, l.chads, l.torn, l.ragged = .035, 1, .05, .04, .6
	}), true},
	{"words and lines across holes", with(func(l *look) { l.words, l.lines, l.touching = 14, 8, true }), false},
}

const trialMM = 320

// TestReaderOnPapersOfOthers: precision and recall of 0.999 over all papers but
// the worst, whose are 0.99; 95 of 100 edges within 0.15 mm and half a pixel, and none
// further off than 0.6 mm. Its long series draws each paper from twenty seeds.
func TestReaderOnPapersOfOthers(t *testing.T) {
	if testing.Short() {
		t.Skip("draws sixteen papers, half a minute")
	}
	in, err := instrument.Load("88-note", "")
	if err != nil {
		t.Fatal(err)
	}
	var all, hard score
	for i, tt := range trials {
		t.Run(tt.name, func(t *testing.T) {
			var paper score
			for n := range long.Of(1, 20) {
				seed := uint64(i + 1 + 100*n)
				p := newSheet(tt.look, music(rand.New(rand.NewPCG(seed, 1)), trialMM), seed)
				s := readBack(t, in, p, [][2]float64{{-15, trialMM * tt.look.along}})
				t.Logf("seed %d: %v", seed, &s)
				pixel := 25.4 / min(p.dpiX, p.dpiY)
				if n := len(s.errors); n == 0 || s.errors[int(.95*float64(n-1))] > .15+pixel/2 || s.errors[n-1] > .6 {
					t.Errorf("seed %d: edges too far off: %v", seed, &s)
				}
				paper.add(s)
			}
			t.Log(&paper)
			if tt.hard {
				hard.add(paper)
			} else {
				all.add(paper)
			}
		})
	}
	t.Log("all but the worst: ", &all)
	t.Log("the worst: ", &hard)
	if float64(all.hit) < .999*float64(max(all.truth, all.found)) {
		t.Errorf("all but the worst: %v", &all)
	}
	if float64(hard.hit) < .99*float64(max(hard.truth, hard.found)) {
		t.Errorf("the worst: %v", &hard)
	}
}

// TestPhotographsOfOthers: three photographs that overlap, taken from above by a
// camera that is not quite level, through a lens that bends lines: precision and
// recall of 0.99, edges within half a millimetre.
func TestPhotographsOfOthers(t *testing.T) {
	if testing.Short() {
		t.Skip("draws six photographs, ten seconds")
	}
	in, err := instrument.Load("88-note", "")
	if err != nil {
		t.Fatal(err)
	}
	for n := range long.Of(2, 24) {
		tilt := []float64{1, 3}[n%2]
		seed := uint64(tilt) + 100*uint64(n/2)
		l := with(func(l *look) { l.tilt, l.lens, l.quality, l.fade, l.noise = tilt, .01, 88, .15, .02 })
		p := newSheet(l, music(rand.New(rand.NewPCG(seed, 5)), 520), seed)
		s := readBack(t, in, p, [][2]float64{{-20, 230}, {140, 390}, {300, 540}})
		t.Logf("tilt %g, seed %d: %v", tilt, seed, &s)
		if float64(s.hit) < .99*float64(max(s.truth, s.found)) || s.errors[int(.95*float64(len(s.errors)-1))] > .5 {
			t.Errorf("tilt %g, seed %d: %v", tilt, seed, &s)
		}
	}
}

// readBack draws stretches of the paper, has them read, and compares.
func readBack(t *testing.T, in *instrument.Instrument, p *sheet, stretches [][2]float64) score {
	t.Helper()
	var names []string
	dir := t.TempDir()
	for i, s := range stretches {
		name := filepath.Join(dir, fmt.Sprintf("%d.png", i+1))
		if p.quality > 0 {
			name = filepath.Join(dir, fmt.Sprintf("%d.jpg", i+1))
		}
		if err := p.save(name, p.picture(s[0], s[1])); err != nil {
			t.Fatal(err)
		}
		names = append(names, name)
	}
	o := read.Options{Instruments: []*instrument.Instrument{in}}
	if p.tilt == 0 {
		o.DPIAlong, o.DPIAcross = p.dpiY, p.dpiX
		if p.first == "left" || p.first == "right" {
			o.DPIAlong, o.DPIAcross = p.dpiX, p.dpiY
		}
	}
	var err error
	if o.First, err = read.ParseSide(p.first); err != nil {
		t.Fatal(err)
	}
	if o.Bass, err = read.ParseSide(p.bass); err != nil {
		t.Fatal(err)
	}
	r, err := read.Read(context.Background(), names, o)
	if err != nil {
		t.Fatal(err)
	}
	return compare(t, p.slots, p.along, stretches[0][0], stretches[len(stretches)-1][1], r.Slots)
}
