package ear

import (
	"cmp"
	"fmt"
	"io"
	"math"
	"slices"
	"text/tabwriter"

	"rollwright/text/say"
)

// Near is a simpler speed in place of a pair's own, and what it would change.
type Near struct {
	A         string  `json:"a"`
	B         string  `json:"b"` // the voice whose speed is tried
	Value     string  `json:"value"`
	In        string  `json:"in_place_of"`
	BeforeSec float64 `json:"-"` // NaN: never heard apart on that side
	AfterSec  float64 `json:"-"`
	Slots     int     `json:"slots_differ"`
	Of        int     `json:"slots"`
}

// mostPairs and mostTold are how many pairs and runs the text names.
const (
	mostPairs = 12
	mostTold  = 2
)

// worthTelling is how many notes in a row have to fall together before it is told
// where nothing meets: fewer do so by chance.
const worthTelling = 3

// WriteText says in words what can be followed; near are speeds that were tried.
func (r *Report) WriteText(w io.Writer, near []Near) error {
	t := &r.Thresholds
	fmt.Fprintf(w, "what the ear follows: for about half of listeners, good to know and no more\n\n")
	table := tabwriter.NewWriter(w, 0, 0, 2, ' ', tabwriter.AlignRight)
	fmt.Fprintf(table, "voice\tnotes\twith another\texactly\tfalls apart\teither way\tno pulse\tflutters\thidden\t\n")
	for _, v := range r.Voices {
		fmt.Fprintf(table, "%s\t%d\t%s\t%s\t%s\t%s\t%s\t%s\t%s\t\n", v.Name, v.Notes,
			share(v.Fused, v.Notes), share(v.Together, v.Notes), share(v.Split, v.Notes),
			share(v.Either, v.Notes), share(v.NoPulse, v.Notes), share(v.Flutter, v.Notes), share(v.Masked, v.Notes))
	}
	if err := table.Flush(); err != nil {
		return err
	}
	fmt.Fprintf(w, "\nwith another: begins within %.0f ms of another voice's note, heard as one attack (Hirsh 1959, Rasch 1979)\n"+
		"exactly: begins with it\nfalls apart: so fast and far from the note before that one line is heard as two (van Noorden 1975)\n"+
		"either way: at least %g semitones, and less than that: one line or two, as one listens (van Noorden 1975)\n"+
		"no pulse: less than %.0f ms or more than %.1f s after the note before (London 2002, Repp 2006)\n"+
		"flutters: repeats in less than %.0f ms, not counted one by one (Jurado 2021)\n"+
		"hidden: within %.0f ms after a louder note of the same band of hearing (Glasberg and Moore 1990)\n",
		t.OneSec*1000, t.FissionSteps, t.PulseFastSec*1000, t.PulseSlowSec, t.FlutterSec*1000, t.MaskSec*1000)
	r.pairs(w)
	r.tempos(w)
	for _, n := range near {
		fmt.Fprintln(w, n.text(t))
	}
	return nil
}

func (r *Report) pairs(w io.Writer) {
	var worth []Pair
	for _, p := range r.Pairs {
		p.Runs = slices.DeleteFunc(slices.Clone(p.Runs), func(run Run) bool { return !run.Exact && run.Notes < worthTelling })
		if len(p.Runs) > 0 {
			worth = append(worth, p)
		}
	}
	slices.SortStableFunc(worth, func(a, b Pair) int { return cmp.Compare(b.Runs[0].Notes, a.Runs[0].Notes) })
	fmt.Fprintln(w)
	for i, p := range worth {
		if i == mostPairs {
			fmt.Fprintf(w, "and %s more\n", say.Count(len(worth)-mostPairs, "pair"))
			return
		}
		for _, run := range p.Runs[:min(len(p.Runs), mostTold)] {
			how := "as one attack"
			if run.Exact {
				how = "as one attack around a meeting"
			}
			fmt.Fprintf(w, "%s with %s: heard %s over %s, from %s to %s\n", p.A, p.B, how,
				say.Count(run.Notes, "note"), say.Clock(run.FromSec, 1), say.Clock(run.ToSec, 1))
		}
	}
}

// tempos says which speeds are heard as one.
func (r *Report) tempos(w io.Writer) {
	for i, p := range r.Tempos {
		if i == mostPairs {
			fmt.Fprintf(w, "and %s more\n", say.Count(len(r.Tempos)-mostPairs, "pair"))
			return
		}
		fmt.Fprintf(w, "%s and %s: %.2g %% apart in speed, heard as one tempo whose notes drift (Drake and Botte 1993)\n", p.A,
			p.B, p.Share*100)
	}
}

// text says what a near speed would change.
func (n *Near) text(t *Thresholds) string {
	when := fmt.Sprintf("never heard apart, within %.0f ms throughout", t.OneSec*1000)
	before, after := !math.IsNaN(n.BeforeSec), !math.IsNaN(n.AfterSec)
	switch {
	case before && after:
		when = fmt.Sprintf("heard apart before %s and from %s on", say.Clock(n.BeforeSec, 1), say.Clock(n.AfterSec, 1))
	case before:
		when = "heard apart before " + say.Clock(n.BeforeSec, 1)
	case after:
		when = fmt.Sprintf("heard apart from %s on", say.Clock(n.AfterSec, 1))
	}
	holes := fmt.Sprintf("%d of %d holes of %s lie elsewhere", n.Slots, n.Of, n.B)
	if n.Slots == 0 {
		holes = "the same roll, hole for hole"
	}
	return fmt.Sprintf("%s at %s of %s in place of %s: %s; %s", n.B, n.Value, n.A, n.In, when, holes)
}

// share is a share of so many in per cent, to the nearest whole, never 0 for some
// nor 100 for less than all.
func share(n, of int) string {
	if of == 0 {
		return "-"
	}
	percent := math.Round(100 * float64(n) / float64(of))
	switch {
	case n > 0 && percent == 0:
		return "<1 %"
	case n < of && percent == 100:
		return ">99 %"
	}
	return fmt.Sprintf("%.0f %%", percent)
}
