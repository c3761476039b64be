package main

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"rollwright/internal/hall"
	"rollwright/making/calibrate"
	"rollwright/paper/instrument"
	"rollwright/workshop"
)

// ran is one run of the command: its outputs and its exit status.
func ran(t *testing.T, args ...string) (out, said string, status int) {
	t.Helper()
	var o, e bytes.Buffer
	status = run(t.Context(), args, terminal{strings.NewReader(""), &o, &e})
	return o.String(), e.String(), status
}

// wants fails where a text does not match every expression.
func wants(t *testing.T, text string, all ...string) {
	t.Helper()
	for _, want := range all {
		if !regexp.MustCompile("(?m)" + want).MatchString(text) {
			t.Errorf("does not say %q:\n%s", want, text)
		}
	}
}

// TestOverhear: a piece is recorded; the recording is held against the piece and
// against its table of holes, and becomes an instrument. Another roll's recording,
// and what is no recording, are said in a sentence.
func TestOverhear(t *testing.T) {
	t.Chdir(t.TempDir())
	for _, name := range []string{"first-thread", "twill"} {
		if _, said, status := ran(t, "new", "--example", name, name+".piece"); status != exitDone {
			t.Fatal(said)
		}
	}
	job, err := workshop.Open(context.Background(), "first-thread.piece", nil)
	if err != nil {
		t.Fatal(err)
	}
	rolls, err := job.Rolls()
	if err != nil {
		t.Fatal(err)
	}
	r := rolls[0]
	count := map[int]int{}
	dead := 0
	for _, s := range r.Slots {
		key := r.Instrument.Bar.Ports[s.Port].Key
		if count[key]++; count[key] > count[dead] {
			dead = key
		}
	}
	h := hall.Play(t, r, hall.Spec{Seed: 8, BeginSec: 1.9, Speed: 1.006, Slowing: 3.2, Dead: []int{dead}, RoomSec: 0.4,
		RoomDB: -5, NoiseDB: 25, TailSec: 1})
	hall.WriteWAV(t, "take.wav", h.Samples)

	out, said, status := ran(t, "overhear", "first-thread.piece", "take.wav", "--into", "heard.csv", "--write",
		"hall.instrument")
	if status != exitDone {
		t.Fatal(said)
	}
	wants(t, out, `^\d+ strokes: \d+ sounded, \d+ silent, \d+ unsure$`, `^the take begins 1\.9 s before the first note$`,
		`^the paper runs at 40\.8\d\d mm/s at row 0 \(40\.8\d\d to 40\.8\d\d\), 0\.[56]\d % faster than planned$`,
		`^the paper slows by 3\.\d\d % over the roll`, ` was silent in \d+ of \d+ strokes: a dead key or a blocked port \d+$`)
	if strings.Contains(out, "fault") {
		t.Error("says fault")
	}
	wants(t, said, `wrote heard\.csv`, `instrument = "hall\.instrument"`)
	table, err := os.ReadFile("heard.csv")
	if err != nil {
		t.Fatal(err)
	}
	wants(t, string(table), `\Aport,key,planned_s,heard_s,late_ms,sure,verdict$`, `,sounded$`, `,silent$`)
	if n := strings.Count(string(table), "\n"); n != len(h.Strokes)+1 {
		t.Errorf("%d rows of %d strokes", n-1, len(h.Strokes))
	}
	in, err := instrument.Load("hall.instrument", "")
	if err != nil {
		t.Fatal(err)
	}
	if tr := in.Transport; tr.LeverTempo() != r.Instrument.Transport.LeverTempo() || tr.RollTempo < 80.3 ||
		tr.RollTempo > 80.7 || tr.SlowingPerMM <= 0 {
		t.Errorf("%+v", tr)
	}

	// The table of holes tells the same.
	holes, _, _ := ran(t, "holes", "first-thread.piece")
	if err := os.WriteFile("holes.csv", []byte(holes), 0o644); err != nil {
		t.Fatal(err)
	}
	again, said, status := ran(t, "overhear", "holes.csv", "take.wav")
	if status != exitDone {
		t.Fatal(said)
	}
	first, _, _ := strings.Cut(out, "\n")
	wants(t, again, regexp.QuoteMeta(first), fmt.Sprintf(`of %d strokes: a dead key or a blocked port \d+$`, count[dead]))
	out, _, _ = ran(t, "overhear", "first-thread.piece", "take.wav", "--json")
	var told struct {
		Strokes, Sounded, Silent, Unsure int
		Begin                            float64                              `json:"begin_s"`
		RMS                              float64                              `json:"rms_ms"`
		Speed                            struct{ Value, Low, High float64 }   `json:"speed_mm_s"`
		Slowing                          struct{ Value, Low, High float64 }   `json:"slowing_percent"`
		Dead                             []struct{ Key, Strokes, Silent int } `json:"dead_keys"`
	}
	if err := json.Unmarshal([]byte(out), &told); err != nil {
		t.Fatal(err)
	}
	if told.Strokes != len(h.Strokes) || told.Sounded+told.Silent+told.Unsure != told.Strokes || told.Begin < 1.88 ||
		told.Begin > 1.93 ||
		told.RMS > 10 || told.Speed.Low > told.Speed.Value || told.Speed.High < told.Speed.Value || told.Slowing.Low > 3.25 ||
		told.Slowing.High < 3.15 ||
		len(told.Dead) != 1 || told.Dead[0].Key != dead {
		t.Errorf("%s, dead %d", out, dead)
	}

	for _, wrong := range []struct {
		args   []string
		status int
		want   string
	}{
		{[]string{"twill.piece", "take.wav"}, exitFailed, `does not hold this roll`},
		{[]string{"first-thread.piece", "none.wav"}, exitFailed, `there is no recording none\.wav`},
		{[]string{"first-thread.piece", "holes.csv"}, exitFailed, `no sound`},
		{[]string{"first-thread.piece", "take.wav", "--write", "hall.txt"}, exitUsage, `ends in \.instrument`},
		{[]string{"first-thread.piece", "take.wav", "--into", "heard.txt"}, exitUsage, `\.csv`},
		{[]string{"first-thread.piece", "take.wav", "--into", "-", "--json"}, exitUsage, `both take standard output`},
		{[]string{"first-thread.piece", "take.wav", "--write", "hall.instrument"}, exitFailed, `is there already`},
		{[]string{"first-thread.piece", "take.wav", "--instrument", "88-note"}, exitFailed, `says itself which instrument`},
	} {
		out, said, status := ran(t, append([]string{"overhear"}, wrong.args...)...)
		if status != wrong.status || out != "" {
			t.Errorf("%v: status %d, %s", wrong.args, status, out)
		}
		wants(t, said, wrong.want)
	}
}

// TestCalibrateTake: a recording of a short test roll alone tells the transport;
// beside readings it counts for more than a hand with a stopwatch.
func TestCalibrateTake(t *testing.T) {
	t.Chdir(t.TempDir())
	if _, said, status := ran(t, "calibrate", "roll", "88-note", "test", "--length", "5m"); status != exitDone {
		t.Fatal(said)
	}
	in, err := instrument.Load("88-note", "")
	if err != nil {
		t.Fatal(err)
	}
	test, err := calibrate.NewTest(in, calibrate.Options{LengthMM: 5000})
	if err != nil {
		t.Fatal(err)
	}
	h := hall.Play(t, test.Roll, hall.Spec{Seed: 9, BeginSec: 1.2, Speed: 0.985, RoomSec: 0.3, RoomDB: -6, NoiseDB: 30,
		TailSec: 1})
	hall.WriteWAV(t, filepath.Join("test", "take.wav"), h.Samples)
	out, said, status := ran(t, "overhear", "test", filepath.Join("test", "take.wav"))
	if status != exitDone {
		t.Fatal(said)
	}
	wants(t, out, `^the paper runs at 40\.0\d\d mm/s at row 0`,
		`1\.5\d % slower than planned|1\.4\d % slower than planned`)
	out, said, status = ran(t, "calibrate", "read", filepath.Join("test", workshop.TestRollName), "--take",
		filepath.Join("test", "take.wav"), "--write", "hall.instrument")
	if status != exitDone {
		t.Fatal(out, said)
	}
	wants(t, out, `take\.wav: \d+ of \d+ strokes heard, which scatter by \d+\.\d ms`, `1\.(4|5)\d* % slow`)
	got, err := instrument.Load("hall.instrument", "")
	if err != nil {
		t.Fatal(err)
	}
	if tempo := got.Transport.RollTempo; tempo < 78.7 || tempo > 78.9 {
		t.Errorf("roll tempo %v, want 78.8", tempo)
	}
}
