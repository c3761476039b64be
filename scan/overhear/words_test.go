package overhear

import (
	"bytes"
	"encoding/json"
	"math"
	"slices"
	"strings"
	"testing"

	"rollwright/paper/instrument"
	"rollwright/paper/roll"
	"rollwright/text/source"
)

// told is a result by hand: eight strokes of F#5 on a roll of 1 m at 40.64 mm/s, the
// take from 1.9 s before them to the seventh; five of them silent.
func told(t *testing.T) *Result {
	t.Helper()
	in, err := instrument.Load("88-note", "")
	if err != nil {
		t.Fatal(err)
	}
	port, _ := in.Bar.Port(78)
	r := &Result{Roll: &roll.Roll{Instrument: in}, TakeSec: 20, fit: &fitted{}}
	r.fit.curve = curve{begin: 1.9, speed: 40.8838, slowing: 0.032, endMM: 1000}
	r.fit.rms, r.fit.speedHalf, r.fit.slowingHalf = 0.0081, 0.002, 0.001
	for i := range 8 {
		lead := float64(i) * 100
		r.Roll.Slots = append(r.Roll.Slots, roll.SlotOf(in, int32(port), lead, lead+10))
		s := stroke{slot: i, key: 78, rowMM: lead, plan: lead / 40.64, near: 1.9 + lead/40, heard: math.NaN(), inTake: i < 7,
			sounded: 0.02, dead: 0.99}
		if i < 2 {
			s.sounded, s.heard, s.weigh = 0.99, s.near+0.004, 1
		}
		r.list = append(r.list, s)
	}
	return r
}

// TestSentences: what a person is told, whole.
func TestSentences(t *testing.T) {
	r := told(t)
	r.fit.count = [regions]int{20, 30, 40}
	r.fit.late[Bass][Treble] = bound{0.012, 0.004}
	r.fit.late[Middle][Treble] = bound{0.001, 0.003}
	r.Cents = -31
	want := `8 strokes: 2 sounded, 5 silent, 1 unsure
the take begins 1.9 s before the first note
the take breaks off at 20.0 s, before the roll does: the last 1 stroke is not heard
the paper runs at 40.884 mm/s at row 0 (40.882 to 40.886), 0.60 % faster than planned
the paper slows by 3.20 % over the roll (3.10 to 3.30)
the bass speaks 12 ms later than the treble (8 to 16)
middle and treble speak together, as far as can be told (within 4 ms)
strokes scatter by 8.1 ms around that
F#5 was silent in 5 of 7 strokes: a dead key or a blocked port 60
the piano is tuned about 31 cents below A4 = 440 Hz
`
	var b bytes.Buffer
	if err := r.WriteReport(&b); err != nil || b.String() != want {
		t.Errorf("%v\n%s", err, b.String())
	}
	r.Cents = 25
	r.fit.late[Bass][Treble] = bound{-0.012, 0.004}
	r.fit.curve.slowing, r.fit.curve.speed = 0.0005, 40.64
	for i := range r.list {
		r.list[i].dead = 0
		r.list[i].near -= 4
		r.list[i].inTake = r.list[i].near > 0
	}
	all := strings.Join(r.Sentences(), "\n")
	for _, want := range []string{
		"the take begins 2.1 s after the first note\n1 stroke before it is not heard", "(40.638 to 40.642), as planned",
		"no slowing is to be told over the roll (-0.05 to 0.15 %)", "the treble speaks 12 ms later than the bass (8 to 16)",
		"F#5 was silent in 6 of 7 strokes", "25 cents above",
	} {
		if !strings.Contains(all, want) {
			t.Errorf("does not say %q:\n%s", want, all)
		}
	}
	r.fit.curve.slowing = -0.01
	r.fit.curve.speed = 40
	all = strings.Join(r.Sentences(), "\n")
	for _, want := range []string{"the paper gains 1.00 % over the roll (0.90 to 1.10), besides the plan's build-up",
		"1.57 % slower than planned"} {
		if !strings.Contains(all, want) {
			t.Errorf("does not say %q:\n%s", want, all)
		}
	}
}

// TestFewAreNotDead: four strokes make no dead key, however silent.
func TestFewAreNotDead(t *testing.T) {
	r := told(t)
	for i := range r.list {
		r.list[i].inTake = i >= 2 && i < 6
	}
	if d := r.DeadKeys(); len(d) != 0 {
		t.Errorf("%+v", d)
	}
}

// TestTables, by hand: the second stroke lies at 100 mm, 2.4606 s by the plan; heard 4
// ms after 4.4 s. At 40.8838 mm/s and the slowing so far (0.16 % in the mean) the
// transport has it at 1.9 + 2.4460 * 1.0016 = 4.3499.
func TestTables(t *testing.T) {
	r := told(t)
	var b bytes.Buffer
	if err := r.WriteHeard(&b); err != nil {
		t.Fatal(err)
	}
	lines := strings.Split(b.String(), "\n")
	if lines[0] != "port,key,planned_s,heard_s,late_ms,sure,verdict" || len(lines) != 10 ||
		lines[2] != "60,78,2.4606,4.4040,54.1,0.990,sounded" || !strings.HasSuffix(lines[3], ",0.980,silent") ||
		!strings.HasSuffix(lines[8], ",0.000,unsure") {
		t.Errorf("%s", b.String())
	}
	b.Reset()
	if err := r.WriteJSON(&b); err != nil {
		t.Fatal(err)
	}
	want := `{"strokes":8,"sounded":2,"silent":5,"unsure":1,"begin_s":1.900,"rms_ms":8.1,` +
		`"speed_mm_s":{"value":40.8838,"low":40.8818,"high":40.8858},"slowing_percent":{"value":3.200,"low":3.100,"high":3.300},` +
		`"dead_keys":[{"key":78,"strokes":7,"silent":5}],"unheard":1,"delays":[],"bass_late_ms":null}` + "\n"
	if b.String() != want || !json.Valid(b.Bytes()) {
		t.Errorf("%s\nwant\n%s", b.String(), want)
	}
}

// TestInstrument: what is written reads back as the transport that was heard: 40.8838
// mm/s are roll tempo 80.480; 3.2 % over 1 m are 3.2 % a metre, which no instrument
// may have, over 3 m 1.0667.
func TestInstrument(t *testing.T) {
	r := told(t)
	r.fit.curve.endMM = 3000
	var b bytes.Buffer
	if err := r.WriteInstrument(&b, "88-note", "88-note roll", "take.wav"); err != nil {
		t.Fatal(err)
	}
	in, err := instrument.Read(&source.File{Name: "hall.instrument", Text: b.Bytes()}, "")
	if err != nil {
		t.Fatalf("%v\n%s", err, b.String())
	}
	close(t, "roll tempo", in.Transport.RollTempo, 80.48, 1e-3)
	close(t, "lever", in.Transport.LeverTempo(), 80, 1e-9)
	close(t, "slowing", in.Transport.SlowingPerMM, 0.032/3000, 1e-9)
	if !strings.Contains(b.String(), "# Fitted to the recording take.wav: 2 of 8 strokes heard.") {
		t.Errorf("%s", b.String())
	}
	r.fit.curve.slowing = 0.0005 // not to be told from none
	if tr := r.Transport(); tr.SlowingPerMM != 0 {
		t.Errorf("slowing %v", tr.SlowingPerMM)
	}
}

// TestSilentKeys: dead keys come first, then those with most silent strokes, then by
// key; a key of which all strokes sounded is none.
func TestSilentKeys(t *testing.T) {
	r := &Result{Roll: laidOut(t, "first-thread", "88-note")}
	r.list, _ = strokesOf(r.Roll)
	r.fit = &fitted{}
	var seen []int // keys in order of their first stroke
	for i := range r.list {
		s := &r.list[i]
		s.inTake, s.sounded = true, 1
		if !slices.Contains(seen, s.key) {
			seen = append(seen, s.key)
		}
	}
	silence := func(key, most int, dead float64) {
		for i := range r.list {
			if s := &r.list[i]; s.key == key {
				if s.dead = dead; most > 0 {
					s.sounded, most = 0, most-1
				}
			}
		}
	}
	silence(seen[0], 1, 0)
	silence(seen[1], 2, 0)
	silence(seen[2], 100, 1)
	keys := r.SilentKeys()
	if len(keys) != 3 || keys[0].Key != seen[2] || !keys[0].Dead || keys[1].Key != seen[1] || keys[2].Key != seen[0] {
		t.Fatalf("%v", keys)
	}
	if k := keys[0]; len(k.Silent) != k.Strokes || !strings.Contains(k.String(), ": a dead key or a blocked port ") {
		t.Errorf("%+v, %s", k, k)
	}
	if k := keys[1]; len(k.Silent) != 2 || strings.Contains(k.String(), ":") || r.Strokes()[k.Silent[0]].Verdict != Silent {
		t.Errorf("%+v, %s", k, k)
	}
}
