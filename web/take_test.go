package web

import (
	"encoding/binary"
	"encoding/json"
	"net/http"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"rollwright/internal/hall"
	"rollwright/workshop"
)

// walk has enough strokes of each key to tell a dead one: E4 comes ten times.
const strolling = `title = "Walk"
tempo = 120

voice "low" {
  talea  = "2 3 2 1"
  color  = "C3 G3 E4 A3 D4"
  extent = "50 notes"
}

voice "high" {
  talea     = "3 2 2"
  color     = "C5 D5 G5 F5"
  extent    = "40 notes"
}
`

// recordWalk plays the roll of strolling in a hall, E4 being dead, into take.wav of a folder.
func recordWalk(t testing.TB, dir string) []hall.Stroke {
	t.Helper()
	name := filepath.Join(dir, "walk.piece")
	if err := os.WriteFile(name, []byte(strolling), 0o644); err != nil {
		t.Fatal(err)
	}
	job, err := workshop.Open(t.Context(), name, nil)
	if err != nil {
		t.Fatal(err)
	}
	rolls, err := job.Rolls()
	if err != nil {
		t.Fatal(err)
	}
	take := hall.Play(t, rolls[0], hall.Spec{Seed: 7, BeginSec: 2, Speed: 1.01, Dead: []int{64}, TailSec: 1, NoiseDB: 30})
	hall.WriteWAV(t, filepath.Join(dir, "take.wav"), take.Samples)
	return take.Strokes
}

// await waits until a job has ended, and gives its last state.
func (b *bench) await(id string) jobNote {
	b.Helper()
	for range 1500 {
		note := fetch[jobNote](b, "/api/jobs/"+id)
		if note.State == done || note.State == failed || note.State == canceled {
			return note
		}
		time.Sleep(20 * time.Millisecond)
	}
	b.Fatal("the job never ends")
	return jobNote{}
}

// words are those of a packed answer, read into head.
func words(t testing.TB, data []byte, head any) {
	t.Helper()
	n := int(binary.LittleEndian.Uint32(data))
	if err := json.Unmarshal(data[4:4+n], head); err != nil {
		t.Fatal(err)
	}
}

// TestTakeTellsStrokes: the recording of a foreign piano with one dead key is held
// against its roll; what did not sound is what the hall has left out.
func TestTakeTellsStrokes(t *testing.T) {
	dir := t.TempDir()
	truth := recordWalk(t, dir)
	b := serveFolder(t, dir)
	question := m{"name": "walk.piece", "text": strolling, "take": "take.wav"}
	id := ask[idOnly](b, "/api/take", question).ID
	if note := b.await(id); note.State != done {
		t.Fatalf("%+v", note)
	}
	if again := ask[idOnly](b, "/api/take", question).ID; again != id {
		t.Errorf("the same question is job %s, then %s", id, again)
	}
	status, data := b.send("GET", "/api/take/"+id+"/all", nil)
	if status != http.StatusOK {
		t.Fatalf("%d %s", status, data)
	}
	var h heard
	words(t, data, &h)
	slots := unpack(t, data).numbers["take_slot"]
	if h.Counts.Strokes != len(truth) || len(h.Silent) == 0 || h.Silent[0].Pitch != "E4" || !h.Silent[0].Dead {
		t.Fatalf("%+v", h)
	}
	for i, at := range h.Silent[0].At {
		slot := int(slots[at])
		k := slices.IndexFunc(truth, func(s hall.Stroke) bool { return s.Slot == slot })
		if k < 0 || truth[k].Sounded {
			t.Errorf("silent stroke %d is slot %d, which sounded", i, slot)
		}
	}
	if !strings.HasPrefix(h.Silent[0].Says, "E4 was silent in ") || !slices.Contains(h.Said, h.Silent[0].Says) {
		t.Errorf("%q is not among what is said: %q", h.Silent[0].Says, h.Said)
	}
	// The hall's paper ran 1 % faster and its take began 2 s before row 0.
	if h.BeginSec < 1.9 || h.BeginSec > 2.1 {
		t.Errorf("row 0 lies at %v s", h.BeginSec)
	}
}

// TestTakeIsBounded: only recordings of the folder are heard or sent, and what is none
// is told apart.
func TestTakeIsBounded(t *testing.T) {
	b := serve(t, map[string]string{"small.piece": small, "words.wav": "no sound at all", "notes.txt": "x"})
	outside := filepath.Join(t.TempDir(), "other.wav")
	if err := os.WriteFile(outside, []byte("RIFF"), 0o644); err != nil {
		t.Fatal(err)
	}
	if err := os.Symlink(outside, filepath.Join(b.dir, "link.wav")); err != nil {
		t.Skip(err)
	}
	for name, want := range map[string]int{"../other.wav": 400, "notes.txt": 400, "gone.wav": 404, "link.wav": 403,
		".hidden.wav": 400} {
		if status, data := b.send("POST", "/api/take", m{"name": "small.piece", "text": small, "take": name}); status != want {
			t.Errorf("%s: %d %s", name, status, data)
		}
		if status, _ := b.send("GET", "/api/take/sound?name="+name, nil); status != want {
			t.Errorf("%s is sent with %d", name, status)
		}
	}
	id := ask[idOnly](b, "/api/take", m{"name": "small.piece", "text": small, "take": "words.wav"}).ID
	if note := b.await(id); note.State != failed || !strings.Contains(note.Error, "neither WAV nor FLAC") {
		t.Errorf("%+v", note)
	}
	if status, _ := b.send("GET", "/api/take/"+id+"/all", nil); status != http.StatusConflict {
		t.Errorf("a job without an answer answers with %d", status)
	}
	if status, _ := b.send("GET", "/api/take/99/all", nil); status != http.StatusNotFound {
		t.Errorf("no job answers with %d", status)
	}
}
