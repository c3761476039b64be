package web

import (
	"net/http"
	"os"
	"path/filepath"
	"testing"
)

// TestDeletedStaysInHistory: a deleted piece is gone from the folder, its history has it,
// and it comes back as it was.
func TestDeletedStaysInHistory(t *testing.T) {
	b := serve(t, map[string]string{"small.piece": small, "in/other.piece": small})
	for _, name := range []string{"small.piece", "in/other.piece"} {
		ask[nameOnly](b, "/api/delete", m{"name": name})
		if _, err := os.Stat(filepath.Join(b.dir, name)); !os.IsNotExist(err) {
			t.Errorf("%s is still there: %v", name, err)
		}
	}
	status, data := b.send("GET", "/api/deleted", nil)
	if got := string(data); status != http.StatusOK || got != `[{"name":"in/other.piece"},{"name":"small.piece"}]`+"\n" {
		t.Errorf("%d %s", status, got)
	}
	ask[nameOnly](b, "/api/undelete", m{"name": "small.piece"})
	if text := b.disk("small.piece"); text != small {
		t.Errorf("it came back as\n%s", text)
	}
	if _, data := b.send("GET", "/api/deleted", nil); string(data) != `[{"name":"in/other.piece"}]`+"\n" {
		t.Errorf("%s", data)
	}
	for path, name := range map[string]string{"/api/delete": "none.piece", "/api/undelete": "none.piece"} {
		if status, _ := b.send("POST", path, m{"name": name}); status != http.StatusNotFound {
			t.Errorf("%s of what is not there: %d", path, status)
		}
	}
	if status, _ := b.send("POST", "/api/delete", m{"name": "../out.piece"}); status == http.StatusOK {
		t.Error("a file outside is deleted")
	}
}
