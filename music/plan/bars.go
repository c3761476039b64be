package plan

import (
	"fmt"
	"iter"
	"strings"

	"rollwright/music/perform"
	"rollwright/music/piece"
	"rollwright/text/say"
)

// Bars are how a voice, or the piece itself, is counted.
type Bars struct {
	Units  []string  `json:"units"`  // of each bar in turn, as a cycle
	Upbeat string    `json:"upbeat"` // units before bar 1; "0": none
	Count  int       `json:"count"`  // bars begun, the upbeat not counted
	Starts []Seconds `json:"starts_s"`
	// when the upbeat, if there is one, and bars 1, 2, ... begin: the first of them, at most 1000

	last Seconds // start of the last bar
}

// Bounds of what is said of bars: how many starts are kept, how many are looked at.
const (
	listedBars = 1000
	mostBars   = 1_000_000
)

// newBars counts bars; nil where there are none.
func newBars(b *piece.Bar, all iter.Seq[perform.BarStart]) *Bars {
	if !b.Given() {
		return nil
	}
	out := &Bars{Upbeat: b.Upbeat.String(), Starts: []Seconds{}}
	for _, u := range b.Units {
		out.Units = append(out.Units, u.String())
	}
	seen := 0
	for bar := range all {
		if seen++; seen > mostBars {
			break
		}
		if len(out.Starts) < listedBars {
			out.Starts = append(out.Starts, Seconds(bar.Sec))
		}
		out.Count, out.last = bar.Number, Seconds(bar.Sec)
	}
	return out
}

// upbeat reports whether units stand before bar 1.
func (b *Bars) upbeat() bool { return b.Upbeat != "0" }

// start is when bar n begins, from 1; false where it is not listed.
func (b *Bars) start(n int) (Seconds, bool) {
	i := n - 1
	if b.upbeat() {
		i = n
	}
	if i >= len(b.Starts) {
		return 0, false
	}
	return b.Starts[i], true
}

// text says how bars are counted, and when some of them begin.
func (b *Bars) text() string {
	const mostUnits = 12
	each := strings.Join(b.Units[:min(len(b.Units), mostUnits)], " ")
	if len(b.Units) > mostUnits {
		each += " .."
	}
	text := units(each) + " each"
	if len(b.Units) > 1 {
		text = "units " + each + " in turn"
	}
	if b.upbeat() {
		text += ", after an upbeat of " + b.Upbeat
	}
	more := ""
	if b.Count >= mostBars {
		more = " or more"
	}
	text += fmt.Sprintf(": %s%s", say.Count(b.Count, "bar"), more)
	var at []string
	for _, n := range []int{1, 2, 3} {
		if sec, ok := b.start(n); ok && n <= b.Count {
			at = append(at, fmt.Sprintf("bar %d at %s", n, clockTime(float64(sec))))
		}
	}
	if b.Count > 3 {
		at = append(at, fmt.Sprintf("the last at %s", clockTime(float64(b.last))))
	}
	if len(at) > 0 {
		text += "; " + strings.Join(at, ", ")
	}
	return text
}
