package overhear_test

import (
	"context"
	"fmt"
	"math"

	"rollwright/paper/instrument"
	"rollwright/paper/roll"
	"rollwright/scan/overhear"
	"rollwright/sound"
	"rollwright/sound/take"
)

// scales is a roll of eighty strokes on eight keys.
func scales(in *instrument.Instrument) *roll.Roll {
	r := &roll.Roll{Instrument: in}
	steps := [8]int32{0, 5, 2, 9, 7, 14, 11, 16}
	for n := range 80 {
		lead := float64(n)*14 + 5*float64(n%3)
		r.Slots = append(r.Slots, roll.Slot{LeadMM: lead, TrailMM: lead + 9, FirstMM: lead + 0.86, LastMM: lead + 8.14,
			OpenMM: lead, ShutMM: lead + 9, Port: 35 + steps[n%8], Punches: 4})
	}
	r.Sort()
	r.EndSec = in.Transport.Sec(80*14 + 20)
	return r
}

// recording is what a telephone hears of r where the paper runs at a share of its speed
// and one key is dead: eight partials a stroke that die away.
func recording(r *roll.Roll, share float64, dead int) *take.Take {
	t := &take.Take{Rate: 11_025, Samples: make([]float32, 11_025*35)}
	in := r.Instrument
	for _, s := range r.Slots {
		key := in.Bar.Ports[s.Port].Key
		course, err := sound.CourseOf(key)
		if err != nil || key == dead {
			continue
		}
		begin := int(t.Rate * (2 + in.Transport.Sec(s.LeadMM+in.EdgeShiftMM())/share))
		for n := 1; n <= 8; n++ {
			turns := 2 * math.Pi * course.PartialHz(n) / t.Rate
			for i := range min(6000, len(t.Samples)-begin) {
				loud := 0.1 / float64(n) * math.Exp(-float64(i)/3000)
				t.Samples[begin+i] += float32(loud * math.Sin(turns*float64(i)))
			}
		}
	}
	return t
}

// A recording tells how fast the paper ran, and which strokes did not sound.
func ExampleHear() {
	in, err := instrument.Load("88-note", "")
	if err != nil {
		fmt.Println(err)
		return
	}
	r := scales(in)
	result, err := overhear.Hear(context.Background(), r, recording(r, 0.98, in.Bar.Ports[44].Key))
	if err != nil {
		fmt.Println(err)
		return
	}
	c := result.Counts()
	fmt.Printf("%d strokes: %d sounded, %d silent\n", c.Strokes, c.Sounded, c.Silent)
	fmt.Printf("%.1f %% of the plan's speed\n", 100*result.SpeedMMPerSec().Value/in.Transport.SpeedMMPerSec())
	for _, d := range result.DeadKeys() {
		fmt.Printf("port %d was silent in %d of %d strokes\n", d.Port, len(d.Silent), d.Strokes)
	}
	// Output:
	// 80 strokes: 70 sounded, 10 silent
	// 98.0 % of the plan's speed
	// port 45 was silent in 10 of 10 strokes
}
