package web

import (
	"bytes"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"rollwright/making/journal"
)

// TestMendedFromTheLightTable: what the paper lacks comes as a worksheet, as a page and
// as a table, as rollwright proof writes them; the journal takes down what the paper
// has, and the companion leads to the one slot that was left out and the one that is
// to be patched.
func TestMendedFromTheLightTable(t *testing.T) {
	dir := t.TempDir()
	missing, _ := punchWalk(t, dir)
	b := serveFolder(t, dir)
	id, l, _ := b.light(m{"name": "walk.piece", "text": strolling, "pictures": []string{"scan.png"}})
	if len(l.Differences) != 2 {
		t.Fatalf("%+v", l.Differences)
	}
	for format, want := range map[string]struct{ name, begins, has string }{
		"pdf":  {"walk-repair.pdf", "%PDF-", ""},
		"html": {"walk-proof.html", "<!", "data:image/"},
		"csv":  {"walk-differences.csv", "kind,port,key,", "\nextra,"},
	} {
		job := ask[idOnly](b, "/api/light/proof", m{"id": id, "format": format}).ID
		note := b.await(job)
		if note.State != done || note.File != want.name {
			t.Fatalf("%s: %+v", format, note)
		}
		if _, file := b.send("GET", "/api/jobs/"+job+"/file", nil); !bytes.HasPrefix(file, []byte(want.begins)) ||
			!strings.Contains(string(file), want.has) {
			t.Errorf("%s begins with %.60q", format, file)
		}
	}

	// Nobody has told the journal of a punch: all that is there is taken down.
	made := ask[recorded](b, "/api/light/record", m{"id": id})
	if made.Journal != "walk.piece.journal" || !strings.Contains(made.Says, "1 more hole to patch; proved") {
		t.Errorf("%+v", made)
	}
	state, err := journal.Read(filepath.Join(dir, made.Journal))
	if err != nil {
		t.Fatal(err)
	}
	if len(state.Holes()) < 100 {
		t.Errorf("%d holes are taken down", len(state.Holes()))
	}
	view := ask[punchAnswer](b, "/api/punch", m{"name": "walk.piece", "journal": made.Journal, "action": "open"})
	if view.Add != len(missing.Punches) {
		t.Errorf("the companion knows of %d holes to add, and %d were left out", view.Add, len(missing.Punches))
	}
	list := ask[punchAnswer](b, "/api/punch", m{"name": "walk.piece", "journal": made.Journal, "action": "list", "id": view.ID})
	if len(list.Patch) != 1 {
		t.Errorf("to patch: %+v", list.Patch)
	}

	// While the companion is open, too; nothing is new then.
	if again := ask[recorded](b, "/api/light/record", m{"id": id}); !strings.HasPrefix(again.Says, "0 more holes there") || !strings.Contains(again.Says, "0 more holes to patch") {
		t.Errorf("said again: %+v", again)
	}
}

// TestMendingIsRefused where it would be about another piece, roll or bench.
func TestMendingIsRefused(t *testing.T) {
	dir := t.TempDir()
	punchWalk(t, dir)
	b := serveFolder(t, dir)
	id, _, _ := b.light(m{"name": "walk.piece", "text": strolling, "pictures": []string{"scan.png"}})
	refused := func(what, path string, body m, want int) {
		t.Helper()
		if status, data := b.send("POST", path, body); status != want {
			t.Errorf("%s: %d %s, want %d", what, status, data, want)
		}
	}
	refused("a format", "/api/light/proof", m{"id": id, "format": "mid"}, http.StatusBadRequest)
	refused("a bench elsewhere", "/api/light/proof", m{"id": id, "format": "pdf", "bench": "../a.bench"}, http.StatusForbidden)
	refused("a journal of another piece", "/api/light/record", m{"id": id, "journal": "other.piece.journal"}, http.StatusBadRequest)
	refused("no job", "/api/light/record", m{"id": "99"}, http.StatusNotFound)
	if err := os.WriteFile(filepath.Join(dir, "walk.piece"), []byte(strolling+"\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	refused("a piece that has changed", "/api/light/record", m{"id": id}, http.StatusConflict)
	if _, err := os.Stat(filepath.Join(dir, "walk.piece.journal")); err == nil {
		t.Error("a journal has begun all the same")
	}
}
