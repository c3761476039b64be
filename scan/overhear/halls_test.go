package overhear

import (
	"context"
	"math/rand/v2"
	"path/filepath"
	"testing"

	"rollwright/examples"
	"rollwright/internal/hall"
	"rollwright/music/perform"
	"rollwright/music/piecefile"
	"rollwright/paper/instrument"
	"rollwright/paper/lay"
	"rollwright/paper/roll"
	"rollwright/sound/take"
	"rollwright/text/source"
)

// laidOut is an example on the named instrument.
func laidOut(t testing.TB, name, in string) *roll.Roll {
	t.Helper()
	text, err := examples.Source(name)
	if err != nil {
		t.Fatal(err)
	}
	p, err := piecefile.Parse(&source.File{Name: name, Text: text})
	if err != nil {
		t.Fatal(err)
	}
	var all []*instrument.Instrument
	for i := range p.Pianos {
		one, err := instrument.Load(in, "")
		if err != nil {
			t.Fatal(err)
		}
		if one, err = lay.AtTempo(p, i, one); err != nil {
			t.Fatal(err)
		}
		all = append(all, one)
	}
	f, err := perform.New(p, perform.Options{
		Fastest:     func(i int) float64 { x, _ := all[i].Repetition(); return x },
		FastestHold: func(i int) float64 { _, x := all[i].Repetition(); return x },
	})
	if err != nil {
		t.Fatal(err)
	}
	rolls, err := lay.Of(f, all)
	if err != nil {
		t.Fatal(err)
	}
	return rolls[0]
}

// recorded is a take as it is read from a file.
func recorded(t testing.TB, h *hall.Take) *take.Take {
	t.Helper()
	path := filepath.Join(t.TempDir(), "take.wav")
	hall.WriteWAV(t, path, h.Samples)
	rec, err := take.Read(context.Background(), path)
	if err != nil {
		t.Fatal(err)
	}
	return rec
}

// kinds are the kinds of takes, and pieces what is played.
var (
	kinds  = []string{"plain", "room", "hum", "noise", "wow", "delays", "dead", "lost", "lossy", "part"}
	pieces = []string{
		"two-shuttles", "heddles", "bobbins", "running-up", "twill", "four-looms", "first-thread", "unwinding", "herringbone",
		"two-shifts",
	}
)

// trial is one take with all that is true of it.
type trial struct {
	roll  *roll.Roll
	spec  hall.Spec
	take  *hall.Take
	delay [128]float64 // s, of a key
}

// newTrial is the n-th take of a kind; what chance decides follows from both.
func newTrial(t testing.TB, kind string, n int) *trial {
	t.Helper()
	rng := rand.New(rand.NewPCG(uint64(n), uint64(len(kind))*7919+uint64(kind[0])))
	between := func(a, b float64) float64 { return a + (b-a)*rng.Float64() }
	x := &trial{roll: laidOut(t, pieces[n%len(pieces)], []string{"88-note", "88-note-spool"}[n/len(pieces)%2])}
	s := &x.spec
	*s = hall.Spec{
		Seed: rng.Uint64(), BeginSec: between(0.5, 5), Speed: between(0.93, 1.07), Slowing: between(-0.5, 5),
		TailSec: between(0.5, 3),
		NoiseDB: between(20, 40), Lost: 0.02, RoomSec: between(0.2, 0.6), RoomDB: between(-10, -3),
		TuneCents: between(-15, 15),
	}
	scatter, tilt := 2.0, between(-3, 6)
	switch kind {
	case "plain":
		s.RoomSec, s.NoiseDB = 0, 50
	case "room":
		s.RoomSec, s.RoomDB = between(0.6, 1.2), between(-4, 2)
	case "hum":
		s.HumDB = between(3, 12)
	case "noise":
		s.NoiseDB = between(8, 12)
	case "wow":
		s.Wow, s.WowHz = between(0.001, 0.004), between(0.4, 2)
	case "delays":
		scatter, tilt = 6, between(-5, 15)
	case "dead":
		list, _ := strokesOf(x.roll)
		for range 1 + rng.IntN(4) {
			s.Dead = append(s.Dead, list[rng.IntN(len(list))].key)
		}
	case "lost":
		s.Lost = between(0.06, 0.15)
	case "lossy":
		i := rng.IntN(4)
		s.Codec, s.KBits = []string{"mp3", "aac", "opus", "vorbis"}[i], []int{48, 48, 24, 48}[i]
	case "part": // begins late, breaks off
		list, _ := strokesOf(x.roll)
		last := list[len(list)-1].plan
		s.FromSec, s.ToSec = s.BeginSec+between(0.05, 0.3)*last, s.BeginSec+between(0.65, 0.9)*last
	}
	for k := range x.delay {
		x.delay[k] = (scatter*rng.NormFloat64() + tilt*float64(72-k)/36) / 1000
	}
	s.DelayMS = func(key int) float64 { return 1000 * x.delay[key] }
	x.take = hall.Play(t, x.roll, *s)
	return x
}

// hear listens to the trial's take.
func (x *trial) hear(t testing.TB) *Result {
	t.Helper()
	r, err := Hear(context.Background(), x.roll, recorded(t, x.take))
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// truth is what is true of a slot.
func (x *trial) truth() map[int]hall.Stroke {
	out := map[int]hall.Stroke{}
	for _, s := range x.take.Strokes {
		out[s.Slot] = s
	}
	return out
}

// outcome is how a result compares with the truth.
type outcome struct {
	strokes, silent   int     // in the take; of them silent in truth
	found, falseAlarm int     // silent by the verdict: rightly, wrongly
	unsure            int     // in the take
	rmsMS             float64 // fitted transport with the regions' delays, beside the truth, a constant apart
	biasMS            float64 // that constant
	dead, deadFound   int     // keys of five strokes and more
	deadFalse         int
	within            map[string]bool // truth within the range of speed, slowing, late (bass to treble, middle to treble)
}

func (x *trial) outcome(r *Result) outcome {
	o := outcome{within: map[string]bool{}}
	truth := x.truth()
	var sum, squares float64
	for _, s := range r.Strokes() {
		if !s.InTake {
			continue
		}
		tr := truth[s.Slot]
		o.strokes++
		switch {
		case s.Verdict == Unsure:
			o.unsure++
		case s.Verdict == Silent && tr.Sounded:
			o.falseAlarm++
		case s.Verdict == Silent:
			o.found++
		}
		if !tr.Sounded {
			o.silent++
		}
		slot := &x.roll.Slots[s.Slot]
		c := r.fit.curve
		off := c.sec(slot.LeadMM+x.roll.Instrument.EdgeShiftMM()) + r.fit.regions[regionOf(s.Key)] -
			(tr.Sec - x.delay[s.Key] + x.region(r, regionOf(s.Key)))
		sum, squares = sum+off, squares+off*off
	}
	n := float64(o.strokes)
	o.biasMS = 1000 * sum / n
	o.rmsMS = 1000 * rootOf(squares/n-sum*sum/n/n)
	x.keys(r, &o)
	speed, slowing := r.SpeedMMPerSec(), r.SlowingPercent()
	v := x.spec.Speed * x.roll.Instrument.Transport.SpeedMMPerSec()
	o.within["speed"] = speed.Low <= v && v <= speed.High
	o.within["slowing"] = slowing.Low <= x.spec.Slowing && x.spec.Slowing <= slowing.High
	for _, a := range []Region{Bass, Middle} {
		if late, ok := r.Late(a, Treble); ok && r.fit.count[a] >= 5 && r.fit.count[Treble] >= 5 {
			is := 1000 * (x.region(r, a) - x.region(r, Treble))
			o.within["late "+a.String()] = late.Low <= is && is <= late.High
		}
	}
	return o
}

// region is the true delay of a region, in seconds: the mean over the strokes that
// told of it, with how late the sampled piano itself begins to sound.
func (x *trial) region(r *Result, of Region) float64 {
	sum, weight := 0.0, 0.0
	for i := range r.list {
		if s := &r.list[i]; s.weigh > 0 && regionOf(s.key) == of {
			sum, weight = sum+s.weigh*(x.delay[s.key]+speaks(s.key)), weight+s.weigh
		}
	}
	return sum / max(weight, 1e-9)
}

// speaks is how long after it was asked for the sampled piano begins to sound, in
// seconds: when its power first comes within 20 dB of the most that follows, read
// from notes alone, without room (5 to 9 ms in the bass, 3 to 4 in the treble).
func speaks(key int) float64 {
	return 0.001 * (8 - 4.5*float64(min(max(key-30, 0), 66))/66)
}

// keys counts the dead ones of five strokes and more in the take.
func (x *trial) keys(r *Result, o *outcome) {
	var strokes, silent [128]int
	truth := x.truth()
	for _, s := range r.Strokes() {
		if s.InTake {
			strokes[s.Key]++
			if !truth[s.Slot].Sounded {
				silent[s.Key]++
			}
		}
	}
	named := map[int]bool{}
	for _, d := range r.DeadKeys() {
		named[d.Key] = true
	}
	for key, n := range strokes {
		if n < deadStrokes {
			continue
		}
		if is := silent[key] == n; is {
			o.dead++
			if named[key] {
				o.deadFound++
			}
		} else if named[key] && 2*silent[key] < n {
			o.deadFalse++
		}
	}
}
