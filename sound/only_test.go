package sound

import (
	"context"
	"fmt"
	"math"
	"slices"
	"testing"

	"rollwright/music/event"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

func sounded(note int32, start, end float64, key, level int16) event.Event {
	return event.Event{StartSec: start, EndSec: end, Note: note, Part: 1, Key: key, Level: level}
}

func TestOnlyRhythm(t *testing.T) {
	got := OnlyRhythm([]event.Event{
		sounded(1, 0, 1, 60, 80), sounded(1, 0, 1.5, 64, 90), // a chord
		sounded(2, 2, 2.5, 67, 70),
	}, 72)
	want := []event.Event{sounded(1, 0, 1.5, 72, 90), sounded(2, 2, 2.5, 72, 70)}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("(-want +got)\n%s", diff)
	}
}

// Three notes at 1, 1.5 and 4 s: two steps in 3 s, so 1.5 s each, from 1 s on. The
// chord stays together.
func TestOnlyMelody(t *testing.T) {
	got := OnlyMelody([]event.Event{
		sounded(1, 1, 1.2, 60, 80),
		sounded(2, 1.5, 3, 62, 80), sounded(2, 1.5, 3, 65, 80),
		sounded(3, 4, 4.1, 64, 80),
	}, 0)
	want := []event.Event{
		sounded(1, 1, 2.5, 60, 80),
		sounded(2, 2.5, 4, 62, 80), sounded(2, 2.5, 4, 65, 80),
		sounded(3, 4, 5.5, 64, 80),
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("(-want +got)\n%s", diff)
	}
}

// A gesture of four strokes in one note keeps its proportions: strokes at 0, 1/4,
// 1/2 and 3/4 of the note.
func TestOnlyMelodyOfAGesture(t *testing.T) {
	var trill []event.Event
	for i := range 4 {
		e := sounded(1, float64(i), float64(i)+1, 60+int16(i%2)*2, 80)
		e.Part = int32(i + 1)
		trill = append(trill, e)
	}
	for i, e := range OnlyMelody(trill, 0.4) {
		if want := float64(i) * 0.1; math.Abs(e.StartSec-want) > 1e-12 {
			t.Errorf("stroke %d at %v s, wanted %v", i, e.StartSec, want)
		}
	}
}

// Whatever the voice, its melody is as many events, in steps of one length from
// note to note, and its rhythm as many instants as it had.
func TestOnlyOfAnyVoice(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var events []event.Event
		at := 0.0
		starts := map[float64]bool{}
		for note := range rapid.IntRange(1, 12).Draw(t, "notes") {
			length := float64(rapid.IntRange(1, 40).Draw(t, "length")) / 16
			for key := range rapid.IntRange(1, 3).Draw(t, "keys") {
				events = append(events, sounded(int32(note+1), at, at+length/2, int16(60+key), 80))
			}
			starts[at] = true
			at += length
		}
		if got := OnlyRhythm(events, 60); len(got) != len(starts) {
			t.Fatalf("%d instants, wanted %d", len(got), len(starts))
		}
		melody := OnlyMelody(events, 0.25)
		if len(melody) != len(events) {
			t.Fatalf("%d events of %d", len(melody), len(events))
		}
		for _, e := range melody {
			if want := melody[0].StartSec + float64(e.Note-1)*0.25; math.Abs(e.StartSec-want) > 1e-9 ||
				math.Abs(e.EndSec-want-0.25) > 1e-9 {
				t.Fatalf("note %d from %v to %v s", e.Note, e.StartSec, e.EndSec)
			}
		}
	})
}

// Stems are as long as the mix, peak at -1 dBTP at most, and are together the mix at
// another gain, to rounding: -90 dB. Voices strike the same keys, even at once; and
// the same of a stretch that begins in the middle of notes.
func TestStems(t *testing.T) {
	events := randomEvents(150, 3, 1)
	for i := range events {
		events[i].Key = int16(40 + i*7%23)
		if i%10 == 9 {
			events[i].StartSec, events[i].Key = events[i-1].StartSec, events[i-1].Key
		}
	}
	o := DefaultOptions(Metal)
	var err error
	if o.Cache, err = OpenCache(t.TempDir(), DefaultCacheBytes); err != nil {
		t.Fatal(err)
	}
	t.Run("whole", func(t *testing.T) { stemsAreTheMix(t, events, o) })
	o.FromSec = events[60].StartSec
	t.Run("from", func(t *testing.T) { stemsAreTheMix(t, events, o) })
	o.Rate = 0.5
	t.Run("slow", func(t *testing.T) { stemsAreTheMix(t, events, o) })
}

func stemsAreTheMix(t *testing.T, events []event.Event, o Options) {
	var sum []float32
	var gain float64
	var frames int64
	n := 0
	report, err := Stems(context.Background(), events, o, func(voice int32, s *Sound) error {
		if voice != int32(n) {
			t.Errorf("stem of voice %d, wanted %d", voice, n)
		}
		n++
		gain = s.Report().GainDB
		if frames > 0 && s.Report().Frames != frames {
			t.Errorf("voice %d: %d frames, before it %d", voice, s.Report().Frames, frames)
		}
		frames = s.Report().Frames
		if s.Report().TruePeakDB > -1 {
			t.Errorf("voice %d peaks at %.2f dBTP", voice, s.Report().TruePeakDB)
		}
		at := 0
		return s.Play(context.Background(), func(left, _ []float32) error {
			for i, v := range left {
				if at+i == len(sum) {
					sum = append(sum, 0)
				}
				sum[at+i] += v
			}
			at += len(left)
			return nil
		})
	})
	if err != nil || n != 3 {
		t.Fatalf("%d stems, %v", n, err)
	}
	o.TargetLUFS, o.GainDB = nil, &gain
	left, _, mix := played(t, events, o)
	if math.Abs(report.LUFS-mix.LUFS) > 0.001 || math.Abs(report.TruePeakDB-mix.TruePeakDB) > 0.001 ||
		report.LimitDB != 0 || report.GainDB != gain {
		t.Errorf("together they are said to be %+v, and are %+v", report, mix)
	}
	if int64(len(sum)) != report.Frames || len(left) != len(sum) {
		t.Fatalf("stems of %d frames, mix of %d", len(sum), len(left))
	}
	peak, worst := 0.0, 0.0
	for i := range left {
		peak = math.Max(peak, math.Abs(float64(left[i])))
		worst = math.Max(worst, math.Abs(float64(left[i]-sum[i])))
	}
	if worst > peak/30000 {
		t.Errorf("stems differ from the mix by %.2g of a peak of %.2g", worst, peak)
	}
}

// A voice that is silent in the stretch has a stem of silence.
func TestSilentStem(t *testing.T) {
	early, late := note1(0, 0.2, 60, 80), note1(3, 3.2, 64, 80)
	late.Voice = 1
	o := DefaultOptions(Metal)
	o.FromSec, o.ToSec = 2, 4
	n := 0
	report, err := Stems(context.Background(), []event.Event{early, late}, o, func(voice int32, s *Sound) error {
		n++
		if r := s.Report(); (voice == 0) != math.IsInf(r.TruePeakDB, -1) {
			t.Errorf("voice %d peaks at %v dBTP", voice, r.TruePeakDB)
		}
		frames, heard := int64(0), false
		err := s.Play(context.Background(), func(left, _ []float32) error {
			frames += int64(len(left))
			heard = heard || slices.ContainsFunc(left, func(v float32) bool { return v != 0 })
			return nil
		})
		if frames != s.Report().Frames || heard != (voice == 1) {
			t.Errorf("voice %d: %d of %d frames, heard: %v", voice, frames, s.Report().Frames, heard)
		}
		return err
	})
	if err != nil || n != 2 || math.IsInf(report.LUFS, -1) {
		t.Errorf("%d stems, %+v, %v", n, report, err)
	}
}

func TestOfVoices(t *testing.T) {
	events := randomEvents(9, 1, 1)
	got := slices.Collect(OfVoices(slices.Values(events), func(v int32) bool { return v == 1 }))
	if len(got) != 3 || got[0].Voice != 1 {
		t.Errorf("%d events: %v", len(got), got)
	}
}

func ExampleOnlyMelody() {
	voice := []event.Event{sounded(1, 0, 0.3, 60, 80), sounded(2, 0.75, 1, 67, 80), sounded(3, 1, 1.9, 63, 80)}
	for _, e := range OnlyMelody(voice, 0.5) {
		fmt.Printf("key %d from %.1f to %.1f s\n", e.Key, e.StartSec, e.EndSec)
	}
	// Output:
	// key 60 from 0.0 to 0.5 s
	// key 67 from 0.5 to 1.0 s
	// key 63 from 1.0 to 1.5 s
}
