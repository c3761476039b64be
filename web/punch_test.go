package web

import (
	"errors"
	"fmt"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"

	"rollwright/internal/judge"
	"rollwright/making/journal"
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
	if len(list.Rolls) != 1 || list.Rolls[0].Begun || list.Rolls[0].OfPunches != 26 ||
		list.Rolls[0].Journal != "two.piece.journal" {
		t.Fatalf("the rolls are %+v", list.Rolls)
	}
	if list.Benches[0].Name != "crank-2mm" {
		t.Errorf("the first bench is %+v", list.Benches[0])
	}
	v := b.order("open", nil)
	if v.Row != 1 || v.Rows != 17 || v.Moves[0].Text != "0 + 09" || v.Place != "0.90 mm" || v.Strokes[0].Number != 18 ||
		v.Strokes[1].Number != 25 {
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
	if len(slip.Patch) != 1 || slip.Patch[0].Text != "32 D3, 1.25 mm from zero" || !slip.Patch[0].Slip ||
		slip.Patches != 1 {
		t.Errorf("the slip is %+v", slip.Patch)
	}
	if status, text := b.refused("slip", m{"id": v.ID, "text": "H9"}); status != http.StatusUnprocessableEntity ||
		text != "there is no port H9" {
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

// TestPunchGoesBack looks back from row 4 to row 2. The paper stays until it is
// told to go: back a turn of 20 parts beyond row 2, and forward that turn again.
func TestPunchGoesBack(t *testing.T) {
	b := serve(t, map[string]string{"two.piece": twoNotes})
	second := b.next(b.order("open", nil))
	fourth := b.next(b.next(second))
	third := b.order("back", m{"id": fourth.ID, "row": 4})
	look := b.order("back", m{"id": fourth.ID, "row": third.Row})
	if look.Row != 2 || !look.Looking || look.Moves == nil || len(look.Moves) != 0 || look.Reading != second.Reading {
		t.Fatalf("looking back two rows: %+v", look)
	}
	if old := b.order("go", m{"id": fourth.ID, "row": 4}); !old.Again || !old.Looking {
		t.Errorf("a tab that shows another row moves the paper: %+v", old)
	}
	gone := b.order("go", m{"id": look.ID, "row": 2})
	if gone.Row != 2 || gone.Looking || len(gone.Moves) != 2 || !gone.Moves[0].Back || gone.Moves[1].Text != "1 + 00" ||
		gone.Moves[1].To != second.Reading || gone.Reading != second.Reading {
		t.Errorf("going there: %+v", gone)
	}
	if !strings.Contains(gone.Mind, "must stand at crank "+fourth.Reading) {
		t.Errorf("from row 4, at %s, it minds %q", fourth.Reading, gone.Mind)
	}
	if twice := b.order("go", m{"id": look.ID, "row": 2}); twice.Reading != gone.Reading || len(twice.Moves) != 2 ||
		b.holes() != 6 {
		t.Errorf("told again: %+v", twice)
	}
}

// TestPunchNotesBadHole says of a hole that belongs to the row shown that it came
// out bad: the row counts the other one only, and comes again.
func TestPunchNotesBadHole(t *testing.T) {
	b := serve(t, map[string]string{"two.piece": twoNotes})
	v := b.next(b.order("open", nil))
	bad := b.order("slip", m{"id": v.ID, "text": "18 @ 0.9"})
	if !strings.Contains(bad.Said, "18 C2, 0.90 mm from zero belongs there but came out bad") || len(bad.Patch) != 1 ||
		!bad.Patch[0].Torn || bad.Row != 2 || bad.Punches != 1 {
		t.Fatalf("a bad hole in row 1: %+v", bad)
	}
	back := b.order("back", m{"id": v.ID, "row": 2})
	if back.Done || !back.Looking || back.Strokes[0].Done || !back.Strokes[1].Done {
		t.Errorf("row 1 lacks its first hole: %+v", back)
	}
	gone := b.order("go", m{"id": v.ID, "row": 1})
	if !strings.Contains(gone.Mind, "patch 18 C2 here before you punch it again") {
		t.Errorf("at the bad hole it minds %q", gone.Mind)
	}
	if status, text := b.refused("slip", m{"id": v.ID, "text": "18 @ 0.9"}); status != http.StatusUnprocessableEntity ||
		!strings.Contains(text, "already") {
		t.Errorf("the same slip again: %d %s", status, text)
	}
	if again := b.next(gone); again.Row != 2 || again.Punches != 2 {
		t.Errorf("punched anew: %+v", again)
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
	if _, err := journal.Open(filepath.Join(b.dir, "two.piece.journal"), journal.Head{}, time.Now); !errors.Is(err,
		journal.ErrBusy) {
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

// TestPunchBeginsAnewWithoutJournal takes the journal away while it is open: that
// is said, all rows are kept under another name, and a roll begins in its place
// only when somebody has read so.
func TestPunchBeginsAnewWithoutJournal(t *testing.T) {
	b := serve(t, map[string]string{"two.piece": twoNotes})
	v := b.next(b.order("open", nil))
	if err := os.Rename(filepath.Join(b.dir, "two.piece.journal"), filepath.Join(b.dir, "kept")); err != nil {
		t.Skip(err) // not every system lets an open file go
	}
	for _, action := range []string{"next", "open", "back"} {
		status, text := b.refused(action, m{"id": v.ID, "row": v.Row})
		if status != http.StatusConflict || !strings.Contains(text, "taken away") ||
			!strings.Contains(text, "two.piece.kept-1.journal") {
			t.Errorf("%s without the journal: %d %s", action, status, text)
		}
	}
	state, err := journal.Read(filepath.Join(b.dir, "two.piece.kept-1.journal"))
	if err != nil || state.Punched() != 4 {
		t.Fatalf("kept are %v, %v; want the two holes of each of two rows", state, err)
	}
	list := ask[rollsListed](b, "/api/punch", m{"name": "two.piece", "action": "rolls"})
	if len(list.Mind) != 1 || !strings.Contains(list.Mind[0], "taken away") || len(list.Rolls) != 2 {
		t.Errorf("listed %+v, want the sentence, what is kept, and a roll to begin", list)
	}
	if v = b.order("open", nil); v.Row != 1 {
		t.Errorf("without its journal it goes on at row %d", v.Row)
	}
	if b.next(v); b.holes() != 2 {
		t.Errorf("the new journal holds %d holes, want 2", b.holes())
	}
}

// TestPunchBeginsSpools parts the piece at 0.3 s: C2 and G2 end at 0.33 s and are
// cut short, C3 begins at 0.5 s on the second spool.
// Rows count although the first line of their journal is damaged, and an empty
// journal is not taken for a roll that nobody has begun; both are said.
func TestPunchSaysWhatIsDamaged(t *testing.T) {
	b := serve(t, map[string]string{"two.piece": twoNotes})
	v := b.next(b.order("open", nil))
	b.order("close", nil)
	path := filepath.Join(b.dir, "two.piece.journal")
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		text, mind string
		row        int
	}{
		{strings.Replace(string(text), "title", "titel", 1), "the first line of two.piece.journal is damaged: its rows count", v.Row},
		{"", "two.piece.journal is there but holds nothing", 1},
	} {
		if err := os.WriteFile(path, []byte(c.text), 0o644); err != nil {
			t.Fatal(err)
		}
		list := ask[rollsListed](b, "/api/punch", m{"name": "two.piece", "action": "rolls"})
		if len(list.Mind) != 1 || !strings.Contains(list.Mind[0], c.mind) || len(list.Rolls) != 1 {
			t.Errorf("listed %+v, want %q", list, c.mind)
		}
		if v := b.order("open", nil); v.Row != c.row || (v.Damaged == 1) != (c.row > 1) {
			t.Errorf("%s: opened at row %d, %d lines damaged", c.mind, v.Row, v.Damaged)
		}
		b.order("close", nil)
	}
}

func TestPunchBeginsSpools(t *testing.T) {
	b := serve(t, map[string]string{"two.piece": twoNotes})
	at := m{"name": "two.piece", "action": "rolls", "splitSec": []float64{0.3}}
	list := ask[rollsListed](b, "/api/punch", at)
	if len(list.Rolls) != 2 || len(list.Mind) != 0 {
		t.Fatalf("the rolls are %+v, mind %q", list.Rolls, list.Mind)
	}
	one, two := list.Rolls[0], list.Rolls[1]
	if one.Journal != "two.piece.spool-1.journal" || one.Spools != 2 || one.ToSec != 0.3 || one.End == nil ||
		one.End.Crossing != 2 || one.Begun {
		t.Errorf("the first is %+v, ends %+v", one, one.End)
	}
	if two.Journal != "two.piece.spool-2.journal" || two.FromSec != 0.3 || two.End != nil || two.OfPunches != 8 {
		t.Errorf("the second is %+v", two)
	}
	v := b.order("open", m{"journal": two.Journal, "splitSec": []float64{0.3}})
	if v.Spool != 2 || v.Spools != 2 || v.OfPunches != 8 || v.Row != 1 {
		t.Fatalf("the second spool begins with %+v", v)
	}
	v = b.order("next", m{"journal": two.Journal, "id": v.ID, "row": 1})
	if v.Row != 2 || v.Punches != 1 {
		t.Errorf("after a row %+v", v)
	}
	b.order("close", m{"journal": two.Journal})
	state, err := journal.Read(filepath.Join(b.dir, two.Journal))
	if err != nil || len(state.Holes()) != 1 || state.Head.Spool != 2 || state.Head.FromSec != 0.3 {
		t.Fatalf("the journal holds %+v, %v", state, err)
	}

	// It goes on without a word of where spools end, and is not begun twice.
	if v := b.order("open", m{"journal": two.Journal}); v.Spool != 2 || v.Row != 2 {
		t.Errorf("going on: %+v", v)
	}
	list = ask[rollsListed](b, "/api/punch", at)
	if len(list.Rolls) != 2 || !list.Rolls[0].Begun || list.Rolls[0].Spool != 2 || list.Rolls[1].Spool != 1 ||
		len(list.Mind) != 0 {
		t.Errorf("with one begun the rolls are %+v, mind %q", list.Rolls, list.Mind)
	}
	for _, c := range []struct {
		more m
		want []string
	}{
		{m{}, []string{"two.piece.spool-2.journal has begun this piece on other spools (spool 2 of 2, 0.300 to 0.750 s); what begins here is"}},
		{m{"splitSec": []float64{0.2}}, []string{"two.piece.spool-2.journal was begun as spool 2 of 2, 0.300 to 0.750 s, and stays so"}},
	} {
		c.more["name"], c.more["action"] = "two.piece", "rolls"
		mind := ask[rollsListed](b, "/api/punch", c.more).Mind
		if len(mind) != len(c.want) || !strings.HasPrefix(mind[0], c.want[0]) {
			t.Errorf("%v: mind %q", c.more, mind)
		}
	}
	for _, more := range []m{{"splitSec": []float64{9}}, {"splitSec": []float64{-1}}, {"spoolMM": -3}, {"spoolMM": 20}} {
		if status, text := b.refused("rolls", more); status != http.StatusBadRequest &&
			status != http.StatusUnprocessableEntity {
			t.Errorf("%v: %d %s", more, status, text)
		}
	}
	if status, _ := b.refused("open", m{"journal": "two.piece.spool-3.journal",
		"splitSec": []float64{0.3}}); status != http.StatusNotFound {
		t.Errorf("a third spool of two: %d", status)
	}
}

// TestPageBeginsSpools begins a spool in the page and goes on with it, and the
// page offers the other one still.
func TestPageBeginsSpools(t *testing.T) {
	b := serve(t, map[string]string{"two.piece": twoNotes})
	p := visit(t, chrome(t), b.address())
	p.skipTour()
	p.tab("make")
	p.click(".punch-way button", "bench")
	p.Await(`document.querySelectorAll(".punch-roll").length === 1`)
	enter := func(field, text string) {
		p.Helper()
		p.hurry(field, text, `f.dispatchEvent(new Event("change", {bubbles: true}))`)
	}
	enter(".punch-ends", "0:99")
	p.Await(`document.querySelector(".punch-ends").getAttribute("aria-invalid") === "true" && document.querySelectorAll(".punch-roll").length === 1`)
	enter(".punch-ends", "9")
	p.Await(`document.querySelector(".punch-begin .note-red")?.textContent.includes("cannot end at 9.000 s")`)
	enter(".punch-ends", "0.3")
	p.Await(`document.querySelectorAll(".punch-roll").length === 2`)
	if text := value[string](p, `document.querySelector(".punch-roll").innerText`); !strings.Contains(text,
		"spool 1 of 2") || !strings.Contains(text, "0:00.0 – 0:00.3. Its end cuts 2 notes short. 18 punches, not begun") {
		t.Errorf("the first spool is %q", text)
	}
	p.JS(`document.querySelectorAll(".punch-roll .main")[1].click()`)
	p.shows(1)
	p.Await(`document.querySelector(".punch-head h1").textContent.includes("spool 2 of 2") && document.querySelector(".punch-facts").textContent.includes("0 of 8")`)
	p.Keys(" ")
	p.shows(2)
	p.Keys("q")
	p.Await(`!document.querySelector(".punch")`)
	p.click(".punch-way button", "bench")
	p.Await(`document.querySelectorAll(".punch-roll").length === 2 && document.querySelector(".punch-ends").value === "0:00.3"`)
	if text := value[string](p, `document.querySelector(".punch-begin").innerText`); !strings.Contains(text,
		"1 of 8 punches are in the paper") || strings.Contains(text, "other spools") {
		t.Errorf("the choice is %q", text)
	}
	enter(".punch-ends", "")
	p.Await(`document.querySelector(".punch-begin .note-amber")?.textContent.includes("has begun this piece on other spools (spool 2 of 2")`)
}

// atBench opens the page and goes to the bench with two.piece.
func atBench(t *testing.T, address string) *visitor {
	t.Helper()
	p := visit(t, chrome(t), address)
	p.skipTour()
	p.tab("make")
	p.click(".punch-way button", "bench")
	p.click(".punch-begin .main", "")
	p.shows(1)
	return p
}

// shows waits for a row on the screen.
func (p *visitor) shows(row int) {
	p.Helper()
	p.Await(fmt.Sprintf(`document.querySelector(".punch-work")?.dataset.row === "%d" && !document.querySelector(".punch-lines .note-red")`, row))
}

// settle waits until the key for the next row is taken again.
func (p *visitor) settle() { time.Sleep(750 * time.Millisecond) }

func TestPagePunches(t *testing.T) {
	b := serve(t, map[string]string{"two.piece": twoNotes})
	p := atBench(t, b.address())
	for _, want := range []string{"0 + 09", "0.90 mm", "18", "25", "1/9", "left to right", "0 of 26 punches",
		"5 s a stroke and 4 s a row, assumed"} {
		if text := value[string](p, `document.querySelector(".punch").innerText`); !strings.Contains(text, want) {
			t.Errorf("%q is not on the screen:\n%s", want, text)
		}
	}
	p.Keys(" ")
	p.shows(2)
	if got := b.holes(); got != 2 {
		t.Errorf("%d holes are in the journal when the next row is shown, want 2", got)
	}
	p.Keys("   ") // a switch that bounces
	p.settle()
	if got := b.holes(); got != 2 {
		t.Errorf("%d holes after bounces, want 2", got)
	}
	p.Keys("\r") // as another switch sends
	p.shows(3)
	p.settle()
	p.click(".punch-next", "")
	p.shows(4)
	p.settle()
	p.Keys(" ") // the button has given the focus back
	p.shows(5)

	p.Keys("b")
	p.shows(4)
	p.Await(`document.querySelector(".punch").innerText.includes("punched already")`)
	p.Keys("u")
	p.Await(`document.querySelector(".punch").innerText.includes("6 of 26")`)
	p.settle()
	p.Keys("n")
	p.shows(5)

	// Looking back moves nothing; going there does, with what it reads on the way.
	p.Keys("b")
	p.shows(4)
	p.Keys("b")
	p.shows(3)
	if moves := value[int](p, `document.querySelectorAll(".punch-turns").length`); moves != 0 {
		t.Errorf("looking back shows %d movements", moves)
	}
	reading := value[string](p, `document.querySelector(".punch-reading dd").textContent`)
	p.click(".punch-controls button", "Go there")
	p.Await(`document.querySelectorAll(".punch-turns").length === 2 && !!document.querySelector(".punch-mind")`)
	if text := value[string](p, `document.querySelector(".punch-crank").textContent`); !strings.Contains(text,
		"until it reads "+reading) {
		t.Errorf("the crank goes to %q, by %q", reading, text)
	}
	p.Keys(" ")
	p.shows(4)
	p.Keys("g") // row 4 has the way told already, or has it told now
	p.Await(`document.querySelector(".punch-turns") && document.querySelector(".punch-reading dt").textContent === "Crank then at"`)
	p.settle()
	p.Keys(" ")
	p.shows(5)

	p.settle()
	p.Keys("s")
	p.Await(`document.activeElement.id === "punch-slip"`)
	p.hurry("#punch-slip", "H9", `f.form.requestSubmit()`)
	p.Await(`document.querySelector(".punch-slip .wrong")?.textContent === "there is no port H9"`)
	p.settle()
	p.JS(`document.querySelector("#punch-slip").select()`)
	p.Insert("32 @ 400")
	p.Keys("\r\r") // the second one is a bounce
	p.Await(`document.querySelector(".punch-slip .wrong")?.textContent.includes("400.00 mm from zero lies 394.60 mm ahead of the work")`)
	p.settle()
	if value[bool](p, `!document.querySelector(".punch-slip") || !!document.querySelector(".punch-controls .count")`) {
		t.Error("a bounce has answered the question")
	}
	p.Keys("\r")
	p.Await(`!document.querySelector(".punch-slip") && document.querySelector(".punch-said")?.textContent.startsWith("noted: 32 D3, 400.00 mm")`)
	p.Keys("l")
	p.click(".punch-patches li button", "Closed")
	p.Await(`!document.querySelector(".punch-patches li")`)
	p.Keys("ls")
	p.Await(`document.activeElement.id === "punch-slip"`)
	p.JS(`document.querySelector("#punch-slip").select()`)
	p.Insert("32 @ 1.25")
	p.Keys("\r")
	p.Await(`!document.querySelector(".punch-slip") && document.querySelector(".punch-controls .count")?.textContent === "1"`)
	p.Await(`document.querySelector(".punch-said")?.textContent === "noted: 32 D3, 1.25 mm from zero is to patch; the list has 1"`)
	p.Keys("l")
	p.Await(`document.querySelector(".punch-patches li")?.textContent.includes("32 D3, 1.25 mm from zero")`)
	p.click(".punch-patches li button", "Closed")
	p.Await(`!document.querySelector(".punch-patches li")`)
	p.settle()
	p.Keys(" ") // back to the row, and nothing is counted
	p.shows(5)
	p.Await(`document.querySelector(".punch-row")`)

	p.Keys("p")
	p.Await(`document.querySelector(".punch-plain")?.innerText.includes("Paused")`)
	p.Keys(" ")
	p.Await(`document.querySelector(".punch-row")`)
	if got := b.holes(); got != 8 {
		t.Errorf("%d holes are in the journal, want those of four rows", got)
	}

	p.Do(chromedp.Reload())
	p.shows(5)
	p.Keys("q")
	p.Await(`!document.querySelector(".punch") && !document.getElementById("app").hidden`)
	p.Await(`bench.work.value !== null`)
	j, err := journal.Open(filepath.Join(b.dir, "two.piece.journal"), journal.Head{}, time.Now)
	for range 50 { // the page does not wait for it
		if err == nil {
			break
		}
		time.Sleep(20 * time.Millisecond)
		j, err = journal.Open(filepath.Join(b.dir, "two.piece.journal"), journal.Head{}, time.Now)
	}
	if err != nil {
		t.Fatalf("the journal is not free after leaving: %v", err)
	}
	// Now another program has it.
	p.tab("make")
	p.click(".punch-way button", "bench")
	p.Await(`document.querySelector(".punch-lines .note-red")?.innerText.includes("terminal")`)
	j.Close()
	p.shows(5) // by itself
}

// TestPageNotesBadHole says of a hole of the row shown that it came out bad: the
// page confirms it, and the row stays to be punched.
func TestPageNotesBadHole(t *testing.T) {
	b := serve(t, map[string]string{"two.piece": twoNotes})
	p := atBench(t, b.address())
	p.Keys("s")
	p.Await(`document.activeElement.id === "punch-slip"`)
	p.JS(`document.querySelector("#punch-slip").select()`) // the driver types the s as well
	p.Insert("C2")
	p.Keys("\r")
	p.Await(`document.querySelector(".punch-said")?.textContent.includes("18 C2, 0.90 mm from zero belongs there but came out bad")`)
	p.shows(1)
	p.Await(`document.querySelector(".punch-facts").textContent.includes("0 of 26") && !document.querySelector(".punch-stroke-done")`)
	p.settle()
	p.Keys(" ") // the other one
	p.shows(2)
	p.Await(`document.querySelector(".punch-facts").textContent.includes("1 of 26")`)
	p.Await(`document.querySelector(".punch-said")?.textContent === "row 1 still waits for patch 1, and comes again"`)
	p.Keys("b")
	p.shows(1)
	p.Await(`document.querySelector(".punch-row").textContent.includes("comes again")`)
	p.Keys("g")
	p.Await(`document.querySelector(".punch-mind")?.textContent.includes("patch 18 C2 here")`)
}

// TestPageCountsClicks goes to a ratchet of half a millimetre a click.
func TestPageCountsClicks(t *testing.T) {
	const ratchet = "title = \"ratchet\"\nlengths = \"mm\"\n\ncrank {\n  turn = 0.5\n  parts = 1\n}\n"
	b := serve(t, map[string]string{"two.piece": twoNotes, "ratchet.bench": ratchet})
	if v := b.order("open", m{"bench": "ratchet.bench"}); !v.Clicks {
		t.Fatalf("the bench is no ratchet: %+v", v)
	}
	b.order("close", nil)
	p := visit(t, chrome(t), b.address())
	p.skipTour()
	p.tab("make")
	p.click(".punch-way button", "bench") // the roll has begun: it is gone on with at once
	p.shows(1)
	text := value[string](p, `document.querySelector(".punch-crank").textContent`)
	// 0.8636 mm is nearest to the second click, 1 mm.
	if !strings.Contains(text, "Clicks forward") || !strings.Contains(text, "2 clicks") ||
		!strings.Contains(text, "Then at click2") {
		t.Errorf("the crank says %q", text)
	}
}

// TestPagePunchesAfterKill ends the workbench while rows are told to it. The
// page says so, and goes on at the same row when it is back.
func TestPagePunchesAfterKill(t *testing.T) {
	dir := t.TempDir()
	if err := os.WriteFile(filepath.Join(dir, "two.piece"), []byte(twoNotes), 0o644); err != nil {
		t.Fatal(err)
	}
	l, err := Listen(0)
	if err != nil {
		t.Fatal(err)
	}
	_, port, _ := net.SplitHostPort(l.Addr().String())
	l.Close()
	first := startMortal(t, dir, port)
	p := atBench(t, first.address)
	row := 1
	for range 3 {
		p.Keys(" ")
		row++
		p.shows(row)
		p.settle()
	}
	first.process.Process.Kill()
	first.process.Wait()
	p.Keys(" ")
	p.Await(`document.querySelector(".punch-lines .note-red")`)
	state, err := journal.Read(filepath.Join(dir, "two.piece.journal"))
	if err != nil || len(state.Holes()) != 6 {
		t.Fatalf("the journal holds %d holes (%v), want those of three rows", len(state.Holes()), err)
	}
	second := startMortal(t, dir, port)
	p.Await(`document.querySelector(".punch-lines .note-red")?.innerText.includes("started anew")`)
	p.Do(chromedp.Navigate(second.address))
	p.shows(row)
	p.Keys(" ")
	p.shows(row + 1)
}

// fakeVoices stands for the browser's voices: one of the network and one of this
// machine, and keeps what is said.
const fakeVoices = `
	window.said = [];
	const voices = [{name: "far", voiceURI: "far", lang: "en-US", localService: false, default: true}, {name: "near", voiceURI: "near", lang: "en-GB", localService: true}];
	Object.defineProperty(window, "speechSynthesis", {value: {getVoices: () => window.onlyFar ? [voices[0]] : voices, addEventListener() {}, cancel() {}, speak: u => said.push([u.voice?.name, u.text])}});
	window.SpeechSynthesisUtterance = class { constructor(text) { this.text = text } };`

func TestPageSpeaksByLocalVoices(t *testing.T) {
	b := serve(t, map[string]string{"two.piece": twoNotes})
	tab := chrome(t)
	said := func(p *visitor) string { t.Helper(); return value[string](p, `JSON.stringify(window.said)`) }
	inject := func(script string) {
		t.Helper()
		if err := chromedp.Do(tab.Ctx, chromedp.EmulateViewport(1280, 720)); err != nil {
			t.Fatal(err)
		}
		if _, err := chromedp.Call(tab.Ctx, page.AddScriptToEvaluateOnNewDocument,
			page.AddScriptToEvaluateOnNewDocumentParams{Source: script}); err != nil {
			t.Fatal(err)
		}
	}
	inject(fakeVoices)
	p := visit(t, tab, b.address())
	p.skipTour()
	p.tab("make")
	p.click(".punch-way button", "bench")
	p.click(".punch-begin .main", "")
	p.shows(1)
	p.Keys(" ")
	p.shows(2)
	if got := said(p); got != "[]" {
		t.Errorf("before it is asked for, it says %s", got)
	}
	p.Keys("v")
	p.settle()
	p.Keys(" ")
	p.shows(3)
	// Row 3 is one web further on; what is said is what the server made of it.
	want := b.order("open", nil).Say
	if got := said(p); got != `[["near",`+quote(want)+`]]` {
		t.Errorf("it says %s, want %q by the voice of this machine", got, want)
	}
	p.JS(`window.said.length = 0`)
	inject(`window.onlyFar = true`)
	p.Do(chromedp.Reload())
	p.shows(3)
	p.Await(`document.querySelector(".punch-mute")`)
	p.Keys("b")
	p.shows(2)
	if got := said(p); got != "[]" {
		t.Errorf("with no voice but one of the network, it says %s", got)
	}
}

// bigChord is a chord of twelve.
const bigChord = `title = "Bell tower"

voice "all" {
  talea = "3 (1) 2 (2) 9"
  color = "C1+G1+C2+G2+C3+E3+G3+C4+E4+G4+C5+E5"
}
`

// TestPunchViews looks at the bench in every size: axe-core finds nothing, no
// letter is smaller than 28 px on a screen of 1280 by 720, nothing sticks out.
func TestPunchViews(t *testing.T) {
	axe, err := os.ReadFile("page/node_modules/axe-core/axe.min.js")
	if err != nil {
		judge.Missing(t, "axe-core", "npm ci in web/page")
	}
	for _, look := range []struct {
		name          string
		width, height int64
		dark          bool
	}{{"1280", 1280, 720, false}, {"1280-dark", 1280, 720, true}, {"390", 390, 844, false}, {"360-dark", 360, 640, true}} {
		t.Run(look.name, func(t *testing.T) {
			t.Parallel() // a tab for each core
			b := serve(t, map[string]string{"two.piece": bigChord})
			p := visit(t, chrome(t), b.address())
			if look.dark {
				p.dark()
			}
			p.Do(chromedp.EmulateViewport(look.width, look.height))
			p.JS(string(axe))
			p.skipTour()
			p.JS(`document.querySelector("#tab-make").click()`)
			judge := func(name string) {
				t.Helper()
				p.JS(`await new Promise(r => setTimeout(r, 250))`)
				if found := value[string](p, `axe.run().then(r => r.violations.map(v => v.id + ": " + v.nodes.map(n => n.html.slice(0, 120) + " " + n.failureSummary).join("; ")).join("\n"))`); found != "" {
					t.Errorf("%s: %s", name, found)
				}
				p.picture("punch-" + look.name + "-" + name)
				if out := value[string](p, `[...document.querySelectorAll(".punch *")].filter(e => e.getBoundingClientRect().right > innerWidth + 1 || (e.closest(".punch-controls") && e.getBoundingClientRect().bottom > innerHeight + 1)).map(e => e.className + " " + e.textContent.slice(0, 40)).join("\n")`); out != "" {
					t.Errorf("%s: this sticks out: %s", name, out)
				}
				if hidden := value[bool](p, `(() => { const row = document.querySelector(".punch-row"); return !!row && row.scrollHeight > row.clientHeight + 1 })()`); hidden {
					t.Errorf("%s: the row is higher than its place", name)
				}
				if look.width == 1280 {
					if small := value[string](p, `[...document.querySelectorAll(".punch *")].filter(e => !e.closest(".hidden") && [...e.childNodes].some(n => n.nodeType === 3 && n.data.trim()) && parseFloat(getComputedStyle(e).fontSize) < 28).map(e => e.tagName + " " + e.textContent.slice(0, 40)).join("\n")`); small != "" {
						t.Errorf("%s: smaller than 28 px: %s", name, small)
					}
				}
			}
			p.click(".punch-way button", "bench")
			p.Await(`document.querySelector(".punch-begin .main")`)
			judge("choose")
			for _, ends := range []struct{ text, name string }{{"0.8", "spools"}, {"", ""}} {
				p.hurry(".punch-ends", ends.text, `f.dispatchEvent(new Event("change", {bubbles: true}))`)
				p.Await(`document.querySelectorAll(".punch-roll").length === ` +
					map[bool]string{true: "2", false: "1"}[ends.text != ""])
				if ends.name != "" {
					judge(ends.name)
				}
			}
			p.click(".punch-begin .main", "")
			p.shows(1)
			judge("row")
			// a small screen shows a large row in parts
			for more := 0; more < 9 && value[bool](p, `document.querySelector(".punch-work").dataset.row === "1"`); more++ {
				p.Keys(" ")
				p.settle()
			}
			p.shows(2)
			p.Keys("b")
			p.shows(1)
			judge("back")
			p.Keys("s")
			p.Await(`document.activeElement.id === "punch-slip"`)
			p.JS(`document.querySelector("#punch-slip").select()`) // the driver types the s as well
			p.Insert("31 @ 0.5")
			judge("slip")
			p.Keys("\r")
			p.Await(`!document.querySelector(".punch-slip")`)
			p.Keys("l")
			p.Await(`document.querySelector(".punch-patches li")`)
			judge("patches")
			p.Keys("l")
			p.Await(`document.querySelector(".punch-row")`)
			p.Keys("s")
			p.Await(`document.activeElement.id === "punch-slip"`)
			p.JS(`document.querySelector("#punch-slip").select()`)
			p.Insert("C2")
			p.Keys("\r")
			p.Await(`document.querySelector(".punch-said")`)
			judge("noted")
			p.Keys("g")
			p.Await(`document.querySelector(".punch-mind")`)
			judge("go")
			p.Keys("p")
			p.Await(`document.querySelector(".punch-plain")`)
			judge("paused")
		})
	}
}
