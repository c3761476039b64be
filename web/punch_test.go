package web

import (
	"errors"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"rollwright/journal"
)

// twoNotes is three units of C2 together with G2, one of silence, and two of
// C3. Rows worked by hand at crank-2mm, 40.64 mm/s and 0.125 s a unit: the first
// punches stand at 0.8636 mm, 0.9 mm on a dial of tenths: 9 parts, under ports 18
// and 25. Both slots have nine punches, row for row; C3 has eight.
const twoNotes = `voice "low" {
  talea = "3 (1) 2"
  color = "C2+G2 C3"
}
`

// order asks the companion of two.piece.
func (b *bench) order(action string, more m) punchAnswer {
	b.Helper()
	body := m{"name": "two.piece", "action": action}
	for k, v := range more {
		body[k] = v
	}
	return ask[punchAnswer](b, "/api/punch", body)
}

// next says that the row of an answer is punched.
func (b *bench) next(v punchAnswer) punchAnswer {
	b.Helper()
	return b.order("next", m{"id": v.ID, "row": v.Row})
}

func (b *bench) refused(action string, more m) (int, string) {
	b.Helper()
	body := m{"name": "two.piece", "action": action}
	for k, v := range more {
		body[k] = v
	}
	status, data := b.send("POST", "/api/punch", body)
	return status, decoded[map[string]string](b, data)["error"]
}

func (b *bench) holes() int {
	b.Helper()
	state, err := journal.Read(filepath.Join(b.dir, "two.piece.journal"))
	if err != nil {
		b.Fatal(err)
	}
	return len(state.Holes())
}

func TestPunch(t *testing.T) {
	b := serve(t, map[string]string{"two.piece": twoNotes})
	list := ask[rollsListed](b, "/api/punch", m{"name": "two.piece", "action": "rolls"})
	if len(list.Rolls) != 1 || list.Rolls[0].Begun || list.Rolls[0].OfPunches != 26 || list.Rolls[0].Journal != "two.piece.journal" {
		t.Fatalf("the rolls are %+v", list.Rolls)
	}
	if list.Benches[0].Name != "crank-2mm" {
		t.Errorf("the first bench is %+v", list.Benches[0])
	}
	v := b.order("open", nil)
	if v.Row != 1 || v.Rows != 17 || v.Moves[0].Text != "0 + 09" || v.Place != "0.90 mm" || v.Strokes[0].Number != 18 || v.Strokes[1].Number != 25 {
		t.Fatalf("the first row is %+v", v)
	}
	if v.Bass != "left" || len(v.Across) != 2 || v.Across[0] <= 0 || v.Across[0] >= v.Across[1] || v.Across[1] >= 0.5 {
		t.Errorf("two low notes lie at %v of the width, bass at the %s", v.Across, v.Bass)
	}

	second := b.next(v)
	if second.Row != 2 || second.Punches != 2 || b.holes() != 2 {
		t.Fatalf("after a row: %+v and %d holes", second, b.holes())
	}
	if again := b.next(v); !again.Again || again.Row != 2 || b.holes() != 2 {
		t.Errorf("the same row told twice counts twice: %+v", again)
	}
	back := b.order("back", m{"id": second.ID, "row": 2})
	if back.Row != 1 || !back.Done {
		t.Errorf("looking back shows %+v", back)
	}
	if undone := b.order("undo", m{"id": back.ID, "row": 1}); undone.Punches != 0 || undone.Nothing || b.holes() != 0 {
		t.Errorf("taking the row back leaves %+v", undone)
	}
	if none := b.order("undo", m{"id": back.ID, "row": 1}); !none.Nothing {
		t.Error("a row that is not punched was taken back")
	}
	v = b.next(back)

	slip := b.order("slip", m{"id": v.ID, "text": "D3 @ 1.25"})
	if len(slip.Patch) != 1 || slip.Patch[0].Text != "32 D3, 1.25 mm from zero" || !slip.Patch[0].Slip || slip.Patches != 1 {
		t.Errorf("the slip is %+v", slip.Patch)
	}
	if status, text := b.refused("slip", m{"id": v.ID, "text": "H9"}); status != http.StatusUnprocessableEntity || text != "there is no port H9" {
		t.Errorf("a port that is not there: %d %s", status, text)
	}
	closed := m{"acrossMM": slip.Patch[0].AcrossMM, "alongMM": slip.Patch[0].AlongMM}
	for range 2 {
		if v := b.order("patched", closed); len(v.Patch) != 0 || v.Patches != 0 {
			t.Errorf("after closing it: %+v", v.Patch)
		}
	}

	if paused := b.order("pause", nil); !paused.Paused {
		t.Error("it does not pause")
	}
	if v := b.next(v); v.Row != 2 || !v.Paused {
		t.Errorf("a row counts in a pause: %+v", v)
	}
	if v := b.order("resume", nil); v.Paused {
		t.Error("it does not go on")
	}
	if status, text := b.refused("dance", nil); status != http.StatusBadRequest {
		t.Errorf("%d %s", status, text)
	}
}

func TestPunchLeavesAndGoesOn(t *testing.T) {
	b := serve(t, map[string]string{"two.piece": twoNotes})
	v := b.next(b.order("open", nil))
	b.order("close", nil)
	b.order("close", nil) // a second tab
	j, err := journal.Open(filepath.Join(b.dir, "two.piece.journal"), journal.Head{}, time.Now)
	if err != nil {
		t.Fatalf("the journal is not free: %v", err)
	}
	status, text := b.refused("open", nil)
	if status != http.StatusLocked || !strings.Contains(text, "terminal") {
		t.Errorf("while another program has it: %d %s", status, text)
	}
	if err := j.Close(); err != nil {
		t.Fatal(err)
	}
	// The row that the tab still shows is the one to go on with, opened or not.
	if v = b.next(v); v.Row != 3 || v.Again || b.holes() != 4 {
		t.Errorf("going on: %+v", v)
	}
	if _, err := journal.Open(filepath.Join(b.dir, "two.piece.journal"), journal.Head{}, time.Now); !errors.Is(err, journal.ErrBusy) {
		t.Errorf("another program may write while the workbench does: %v", err)
	}
}

// TestPunchFollowsThePiece changes the piece after two rows: C2 becomes D2 from
// the first hole on.
func TestPunchFollowsThePiece(t *testing.T) {
	b := serve(t, map[string]string{"two.piece": twoNotes})
	v := b.next(b.next(b.order("open", nil)))
	b.put("two.piece", strings.Replace(twoNotes, "C2+", "D2+", 1))
	v = b.next(v)
	if !v.Outdated || v.Row != 4 || v.Patches != 0 {
		t.Errorf("a roll that is begun goes on until it is opened again: %+v", v)
	}
	now := b.order("open", nil)
	if now.Outdated || now.ID == v.ID || now.Patches != 3 || now.Add != 3 || now.Row != 1 || !now.Moves[0].Back {
		t.Errorf("opened again: %+v", now)
	}
	if old := b.next(v); !old.Again || old.Row != 1 {
		t.Errorf("a tab that shows the old rows: %+v", old)
	}
	if list := b.order("list", nil); len(list.Patch) != 3 || list.Patch[0].Slip || list.Add != 3 {
		t.Errorf("the list is %+v", list.Patch)
	}
}

func TestPunchRenames(t *testing.T) {
	b := serve(t, map[string]string{"one.piece": twoNotes})
	v := ask[punchAnswer](b, "/api/punch", m{"name": "one.piece", "action": "open"})
	ask[punchAnswer](b, "/api/punch", m{"name": "one.piece", "action": "next", "id": v.ID, "row": 1})
	ask[nameOnly](b, "/api/rename", m{"name": "one.piece", "to": "two.piece"})
	if v := b.order("open", nil); v.Row != 2 {
		t.Errorf("after a new name it begins at row %d", v.Row)
	}
	if _, err := os.Stat(filepath.Join(b.dir, "one.piece.journal")); err == nil {
		t.Error("the old journal is still there")
	}
}

func TestPunchStaysInFolder(t *testing.T) {
	b := serve(t, map[string]string{"two.piece": twoNotes})
	outside := filepath.Join(t.TempDir(), "outside.journal")
	if err := os.WriteFile(outside, nil, 0o644); err != nil {
		t.Fatal(err)
	}
	if err := os.Symlink(outside, filepath.Join(b.dir, "two.piece.journal")); err != nil {
		t.Skip(err)
	}
	for _, c := range []struct {
		more   m
		status int
	}{
		{m{}, http.StatusForbidden},
		{m{"journal": "../two.piece.journal"}, http.StatusBadRequest},
		{m{"journal": "other.journal"}, http.StatusBadRequest},
		{m{"journal": "two.piece.x/y.journal"}, http.StatusBadRequest},
		{m{"name": "../two.piece"}, http.StatusBadRequest},
		{m{"journal": "two.piece.new.journal", "bench": "../mine.bench"}, http.StatusForbidden},
		{m{"journal": "two.piece.new.journal", "bench": "/etc/mine.bench"}, http.StatusForbidden},
	} {
		if status, text := b.refused("open", c.more); status != c.status {
			t.Errorf("%v: %d %s, want %d", c.more, status, text, c.status)
		}
	}
	if data, err := os.ReadFile(outside); err != nil || len(data) > 0 {
		t.Errorf("a file outside was written: %s %v", data, err)
	}
}

// TestPunchBeginsAnewWithoutJournal takes the journal away while it is open.
func TestPunchBeginsAnewWithoutJournal(t *testing.T) {
	b := serve(t, map[string]string{"two.piece": twoNotes})
	v := b.next(b.order("open", nil))
	if err := os.Rename(filepath.Join(b.dir, "two.piece.journal"), filepath.Join(b.dir, "kept")); err != nil {
		t.Skip(err) // not every system lets an open file go
	}
	if v = b.next(v); !v.Again || v.Row != 1 {
		t.Errorf("without its journal it goes on at row %d", v.Row)
	}
	if b.next(v); b.holes() != 2 {
		t.Errorf("the new journal holds %d holes, want 2", b.holes())
	}
}
