package repair

import (
	"fmt"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"rollwright/draw"
	"rollwright/making/bench"
	"rollwright/making/journal"
	"rollwright/making/punching"
	"rollwright/making/worksheet"
	"rollwright/paper/instrument"
	"rollwright/paper/roll"
	"rollwright/scan/proof"
)

// ladder is a slot on a port of its own every 20 mm, ten of them, 10 mm long; and
// on port 50 (index 49) the slots that are given. Its bench is the default one: a
// crank of 2 mm with 20 parts.
func ladder(t *testing.T, found bool, extra ...[2]float64) *roll.Roll {
	t.Helper()
	in, err := instrument.Load("88-note", "")
	if err != nil {
		t.Fatal(err)
	}
	r := &roll.Roll{Instrument: in}
	for k := range 10 {
		r.Slots = append(r.Slots, roll.SlotOf(in, int32(10+k), float64(k)*20, float64(k)*20+10))
	}
	for _, e := range extra {
		s := roll.SlotOf(in, 49, e[0], e[1])
		if found {
			s.LeadMM, s.TrailMM = e[0], e[1]
		}
		r.Slots = append(r.Slots, s)
	}
	r.Sort()
	return r
}

func work(t *testing.T, plan, scan *roll.Roll) *Work {
	t.Helper()
	p, err := bench.Load("", "")
	if err != nil {
		t.Fatal(err)
	}
	rows, err := bench.New(plan, p)
	if err != nil {
		t.Fatal(err)
	}
	result, err := proof.Compare(plan, scan, proof.Options{})
	if err != nil {
		t.Fatal(err)
	}
	return New(result, rows)
}

// todo is the work in words.
func todo(w *Work) string {
	var out []string
	for _, p := range w.Patches {
		out = append(out, fmt.Sprintf("patch %.1f-%.1f", p.FromMM, p.ToMM))
	}
	for i := range w.Rows {
		for _, s := range w.Rows[i].Strokes {
			out = append(out, fmt.Sprintf("%d/%d", s.N, s.Of))
		}
	}
	return strings.Join(out, " ")
}

// TestWork, by hand. A slot from 100 to 110 mm is cut by die 1.7272 with 4 mm open
// first: centres at 100.8636, 101.6212, 102.3788 and 103.1364, then every 2.2578 to
// 105.3942 and 107.652, and 108.3942 and 109.1364 at its end (the last 1.4844 mm are
// less than die and web). That makes eight strokes.
func TestWork(t *testing.T) {
	type slots [][2]float64
	for _, tt := range []struct {
		name        string
		plan, found slots
		want        string
	}{
		{"nothing", slots{{100, 110}}, slots{{100, 110}}, ""},
		{"missing", slots{{100, 110}}, nil, "1/8 2/8 3/8 4/8 5/8 6/8 7/8 8/8"},
		{"extra", nil, slots{{100, 110}}, "patch 100.0-110.0"},
		// The last three strokes reach to 108.5156 and farther: beyond 108 by more than half a millimetre.
		{"short", slots{{100, 110}}, slots{{100, 108}}, "6/8 7/8 8/8"},
		// The last stroke lies at the edge that the patch covers.
		{"long", slots{{100, 110}}, slots{{100, 113}}, "patch 110.0-113.0 8/8"},
		// Its first stroke reaches 1 mm before what is open; its last is where it should be, and the patch begins beside it.
		{"shifted", slots{{100, 110}}, slots{{101, 111}}, "patch 110.0-111.0 1/8 8/8"},
		// The second stroke ends at 102.4848, the seventh begins at 107.5306: within half a millimetre of what is open.
		{"split", slots{{100, 110}}, slots{{100, 102}, {108, 110}}, "3/8 4/8 5/8 6/8"},
		{"joined", slots{{100, 101.7272}, {107, 108.7272}}, slots{{100, 108.7272}}, "patch 101.7-107.0 1/1 1/1"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			w := work(t, ladder(t, false, tt.plan...), ladder(t, true, tt.found...))
			if got := todo(w); got != tt.want {
				t.Errorf("%s, want %s", got, tt.want)
			}
			if w.None() != (tt.want == "") {
				t.Error("None is wrong")
			}
		})
	}
}

// TestJournalFollowsThePaper: whatever the journal said before, what punch has to
// do afterwards is what the proof found, and a second proof adds nothing.
func TestJournalFollowsThePaper(t *testing.T) {
	plan := ladder(t, false, [2]float64{50, 60}, [2]float64{100, 110}, [2]float64{140, 150})
	scan := ladder(t, true, [2]float64{50, 54}, [2]float64{70, 72}, [2]float64{100, 104}, [2]float64{107, 110},
		[2]float64{140, 150})
	w := work(t, plan, scan)
	path := filepath.Join(t.TempDir(), "x.journal")
	clock := func() time.Time { return time.UnixMilli(1_700_000_000_000) }
	j, err := journal.Open(path, journal.Head{TurnMM: 2, Parts: 20, Spool: 1, Spools: 1}, clock)
	if err != nil {
		t.Fatal(err)
	}
	// The journal believes in a hole that is not there, and knows one that is.
	across := plan.Instrument.Bar.Ports[49].AcrossMM
	if err := j.Cut([]journal.Hole{{AcrossMM: across, AlongMM: 59.1}, {AcrossMM: across, AlongMM: 140.9}}); err != nil {
		t.Fatal(err)
	}
	e := w.Entries(j.State)
	if err := e.Write(j); err != nil {
		t.Fatal(err)
	}
	c := punching.Compare(w.Plan, j.State)
	if len(c.Patch) != 2 || c.Patch[0].Port != 49 { // 70 to 72 mm are two punches of the die
		t.Errorf("to patch: %+v", c.Patch)
	}
	if want := w.Punches(); len(c.Add) != want || want == 0 {
		t.Errorf("%d to add, want %d", len(c.Add), want)
	}
	if got := punching.Proved(w.Plan, j.State); got != "proved to the last row" {
		t.Errorf("%q", got)
	}
	if pace := j.Pace(bench.Pace{StrokeSec: 5}); pace.Known() {
		t.Errorf("a proof has a pace: %s", pace.Text())
	}
	again := w.Entries(j.State)
	if len(again.Cut)+len(again.Slip) > 0 {
		t.Errorf("a second proof adds %+v", again)
	}
	if err := j.Close(); err != nil {
		t.Fatal(err)
	}
	read, err := journal.Read(path)
	if err != nil || len(read.Proved) != 1 || read.Proved[0].ToMM < 189 {
		t.Errorf("read back: %v, %+v", err, read.Proved)
	}
}

// TestPartOfARoll: an evening's photograph of the first half proves so many rows,
// and what is not yet punched is no repair.
func TestPartOfARoll(t *testing.T) {
	plan, scan := ladder(t, false, [2]float64{50, 60}), ladder(t, true)
	scan.Slots = scan.Slots[:5] // to 90 mm
	w := work(t, plan, scan)
	if w.Beyond != 5 || w.FromMM != 0 || w.ToMM < 89 || w.ToMM > 91 {
		t.Errorf("from %v to %v mm, %d beyond", w.FromMM, w.ToMM, w.Beyond)
	}
	if len(w.Patches) != 0 || len(w.Rows) == 0 || w.Plan.AlongMM(w.Rows[len(w.Rows)-1].Dial) > 60 {
		t.Errorf("work %s", todo(w))
	}
	state := &journal.State{Proved: []journal.Stretch{{FromMM: w.FromMM, ToMM: w.ToMM}}}
	rows := punching.ProvedRows(w.Plan, state)
	// Every row up to 90 mm, and none beyond.
	if along := w.Plan.AlongMM(w.Plan.Rows[rows-1].Dial); along < 85 || along > 90 ||
		w.Plan.AlongMM(w.Plan.Rows[rows].Dial) < 90 {
		t.Errorf("proved up to row %d at %v mm", rows, along)
	}
	if want := fmt.Sprintf("proved up to row %d, %.2f mm from zero", rows,
		w.Plan.RunningMM(w.Plan.Rows[rows-1].Dial)); punching.Proved(w.Plan, state) != want {
		t.Errorf("%q, want %q", punching.Proved(w.Plan, state), want)
	}
}

// TestPages: the worksheet says what is to do, in the order of the roll, with the
// reading of the crank; rows keep the numbers that they have in the whole roll.
func TestPages(t *testing.T) {
	w := work(t, ladder(t, false, [2]float64{50, 60}), ladder(t, true, [2]float64{130, 132}))
	var all []string
	for _, page := range w.Pages(worksheet.Options{Title: "Ladder"}) {
		for _, l := range page.Layers {
			for _, m := range l.Marks {
				if text, ok := m.(*draw.Text); ok {
					all = append(all, text.Text)
				}
			}
		}
	}
	text := strings.Join(all, "\n")
	for _, want := range []string{
		"Worksheet for repair · 88-note roll, constant speed", "What was found", "Patch first, punch after", "patch",
		// 130 mm are 65 turns of 2 mm.
		"port 50 G#4 from 130.00 mm to 132.00 mm (not planned), at crank 65 + 00",
		fmt.Sprint(w.Numbers[0]), "8 of 8 so far",
	} {
		if !strings.Contains(text, want) && !strings.Contains(strings.ReplaceAll(text, "\n", " "), want) {
			t.Errorf("the pages lack %q", want)
		}
	}
	if w.Numbers[0] < 10 || !strings.Contains(w.Says(), "1 place to patch, and 8 holes to punch in 8 rows. The paper was held against the plan from 0.00 mm to 190.00 mm") {
		t.Errorf("numbers %v; %s", w.Numbers, w.Says())
	}
}
