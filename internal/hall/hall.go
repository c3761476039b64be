// Package hall makes recordings of rolls for tests: a sampled piano that is not
// ours plays them, in a room with its noises, on a transport of its own.
//
// Its input is a roll and a Spec, its output samples of one channel, with what is
// true of every stroke. The piano is Debian's fluid-soundfont-gm, played by
// fluidsynth, whose notes begin on a grid of 64 frames (1.5 ms). Everything that
// chance decides follows from the seed.
package hall

import (
	"encoding/binary"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"testing"

	"rollwright/internal/judge"
	"rollwright/paper/instrument"
	"rollwright/paper/roll"
	"rollwright/sound/wav"
)

// Rate is the frames a second of every recording.
const Rate = 44100

// soundfont is where Debian's fluid-soundfont-gm puts its file.
const soundfont = "/usr/share/sounds/sf2/FluidR3_GM.sf2"

// Spec says how a roll is played and recorded. The zero value is the roll's own
// transport, without room or noise.
type Spec struct {
	Seed      uint64
	BeginSec  float64           // of the recording, at row 0
	Speed     float64           // of the paper over the roll's own; 0: 1
	Slowing   float64           // per cent from row 0 to the last trailing edge, straight along the paper
	DelayMS   func(int) float64 // of a key, beside the instrument's own; nil: none
	Dead      []int             // keys that never sound
	Lost      float64           // share of strokes that do not sound
	TailSec   float64           // after the last note
	RoomSec   float64           // time in which the room's sound falls by 60 dB; 0: no room
	RoomDB    float64           // of the room's sound over the direct one
	NoiseDB   float64           // music over pink noise; 0: none
	HumDB     float64           // music over hum at 50 Hz and its multiples; 0: none
	Wow       float64           // largest share by which the speed of the recording wavers
	WowHz     float64
	TuneCents float64 // the piano stands so much too high
	Codec     string  // "mp3", "aac", "opus", "vorbis": by ffmpeg; "": none
	KBits     int     // a second, of the codec
	FromSec   float64 // what is before is cut away
	ToSec     float64 // and what is after; 0: nothing
}

// Stroke is what is true of a slot of a note port, in the order of the slots.
type Stroke struct {
	Slot    int
	Key     int
	Sec     float64 // in the recording, when the note begins
	Sounded bool
}

// Take is a recording with the truth about it.
type Take struct {
	Samples []float32 // at Rate
	Strokes []Stroke
	EndMM   float64 // the last trailing edge of a note
}

// Play plays r.
func Play(tb testing.TB, r *roll.Roll, s Spec) *Take {
	tb.Helper()
	rng := rand.New(rand.NewPCG(s.Seed, 17))
	t := &Take{}
	notes := t.strokes(r, &s, rng)
	t.Samples = render(tb, notes, s)
	t.Samples = room(t.Samples, s, rng)
	t.wow(s, rng)
	music := power(t.Samples)
	hum(t.Samples, s, music, rng)
	pink(t.Samples, s, music, rng)
	level(t.Samples)
	t.Samples = coded(tb, t.Samples, s)
	t.cut(s)
	return t
}

// note is a note to be rendered.
type note struct {
	on, off  float64
	key, vel int
}

func (t *Take) strokes(r *roll.Roll, s *Spec, rng *rand.Rand) []note {
	in := r.Instrument
	for i := range r.Slots {
		if in.Bar.Ports[r.Slots[i].Port].Role == instrument.Note {
			t.EndMM = max(t.EndMM, r.Slots[i].TrailMM)
		}
	}
	speed := s.Speed
	if speed == 0 {
		speed = 1
	}
	paper := newPaper(in.Transport, speed, s.Slowing, t.EndMM)
	edge := in.EdgeShiftMM()
	var notes []note
	for p := range r.Played() {
		slot := &r.Slots[p.Slot]
		key := in.Bar.Ports[slot.Port].Key
		late := in.Action.DelaySec
		if s.DelayMS != nil {
			late += s.DelayMS(key) / 1000
		}
		on := s.BeginSec + paper.sec(slot.LeadMM+edge) + late
		off := s.BeginSec + paper.sec(slot.TrailMM-edge) + late
		sounds := !slices.Contains(s.Dead, key) && rng.Float64() >= s.Lost && p.Sounds
		t.Strokes = append(t.Strokes, Stroke{p.Slot, key, on, sounds})
		if sounds {
			vel := min(max(p.Level+rng.IntN(13)-6, 1), 127)
			notes = append(notes, note{on, max(off, on+0.03), key, vel})
		}
	}
	return notes
}

// paper is when rows lie on the bar, by summing up small steps of paper.
type paper struct {
	stepMM float64
	at     []float64
	from   float64
}

func newPaper(t instrument.Transport, speed, slowing, endMM float64) *paper {
	p := &paper{stepMM: 1, from: -2000}
	grow := 0.0
	if t.Spool {
		grow = t.ThicknessMM / (math.Pi * t.RadiusMM * t.RadiusMM)
	}
	v := func(mm float64) float64 {
		return speed * t.SpeedMMPerSec() * math.Sqrt(max(1+grow*mm, 0.1)) * (1 - slowing/100*mm/endMM)
	}
	sec := 0.0
	for mm := p.from; mm < endMM+2000; mm += p.stepMM {
		p.at = append(p.at, sec)
		sec += p.stepMM / 6 * (1/v(mm) + 4/v(mm+p.stepMM/2) + 1/v(mm+p.stepMM)) // Simpson
	}
	zero := p.sec(0)
	for i := range p.at {
		p.at[i] -= zero
	}
	return p
}

func (p *paper) sec(mm float64) float64 {
	x := (mm - p.from) / p.stepMM
	i := min(max(int(x), 0), len(p.at)-2)
	return p.at[i] + (x-float64(i))*(p.at[i+1]-p.at[i])
}

// render lets fluidsynth play the notes.
func render(tb testing.TB, notes []note, s Spec) []float32 {
	tb.Helper()
	judge.File(tb, soundfont, "apt-get install fluid-soundfont-gm")
	dir := tb.TempDir()
	mid, out := filepath.Join(dir, "a.mid"), filepath.Join(dir, "a.wav")
	if err := os.WriteFile(mid, midi(notes, s), 0o600); err != nil {
		tb.Fatal(err)
	}
	cmd := exec.Command(judge.Program(tb, "fluidsynth"), "-ni", "-q", "-g", "0.4", "-r", "44100", "-R", "0", "-C", "0",
		"-o", "synth.polyphony=512", "-T", "wav", "-O", "s16", "-F", out, soundfont, mid)
	if said, err := cmd.CombinedOutput(); err != nil {
		tb.Fatalf("fluidsynth: %v\n%s", err, said)
	}
	return readWAV(tb, out)
}

func readWAV(tb testing.TB, path string) []float32 {
	tb.Helper()
	file, err := os.Open(path)
	if err != nil {
		tb.Fatal(err)
	}
	defer file.Close()
	r, err := wav.NewReader(file)
	if err != nil {
		tb.Fatal(err)
	}
	var all []float32
	buf := make([]float32, 1<<14)
	for {
		n, err := r.Mono(buf)
		all = append(all, buf[:n]...)
		if err != nil {
			return all
		}
	}
}

// ticksASec is how finely a MIDI file holds times here.
const ticksASec = 10_000

// midi is a file of format 0 with the notes (Standard MIDI Files 1.0).
func midi(notes []note, s Spec) []byte {
	type message struct {
		tick int64
		data []byte
	}
	var all []message
	end := 0.0
	tune := int(8192 + s.TuneCents/200*8192) // bend of two semitones each way
	all = append(all, message{0, []byte{0xff, 0x51, 3, 0x0f, 0x42, 0x40}}, message{0, []byte{0xc0, 0}},
		message{0, []byte{0xe0, byte(tune & 127), byte(tune >> 7)}})
	for _, n := range notes {
		at := func(sec float64) int64 { return int64(math.Round(max(sec, 0) * ticksASec)) }
		all = append(all, message{at(n.on), []byte{0x90, byte(n.key), byte(n.vel)}},
			message{at(n.off), []byte{0x80, byte(n.key), 64}})
		end = max(end, n.off)
	}
	slices.SortStableFunc(all, func(a, b message) int { return int(a.tick - b.tick) })
	all = append(all, message{int64((end + 1 + s.TailSec) * ticksASec), []byte{0xff, 0x2f, 0}})
	var track []byte
	last := int64(0)
	for _, m := range all {
		d := uint32(m.tick - last)
		last = m.tick
		for shift := 21; shift > 0; shift -= 7 {
			if d>>shift > 0 {
				track = append(track, byte(d>>shift)&127|128)
			}
		}
		track = append(append(track, byte(d)&127), m.data...)
	}
	b := binary.BigEndian.AppendUint32([]byte("MThd"), 6)
	b = append(b, 0, 0, 0, 1)
	b = binary.BigEndian.AppendUint16(b, ticksASec)
	b = binary.BigEndian.AppendUint32(append(b, "MTrk"...), uint32(len(track)))
	return append(b, track...)
}
