package web

import (
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

func TestListAndOpen(t *testing.T) {
	b := serve(t, map[string]string{"b.piece": "voice {", "a.piece": small, "sub/c.piece": small, ".hidden.piece": small,
		"notes.txt": "no piece"})
	got := fetch[fileList](b, "/api/files")
	want := []listed{{"a.piece", "Small", int64(len(small)), 0}, {"b.piece", "", 7, 1},
		{"sub/c.piece", "Small", int64(len(small)), 0}}
	if len(got.Files) != len(want) {
		t.Fatalf("the files are %v, want %v", got.Files, want)
	}
	for i, w := range want {
		g := got.Files[i]
		g.Errors = min(g.Errors, 1)
		if g != w {
			t.Errorf("file %d is %v, want %v", i, g, w)
		}
	}
	if got.Open != "a.piece" {
		t.Errorf("the first to open is %q", got.Open)
	}
	ask[saved](b, "/api/save", m{"name": "sub/c.piece", "text": "# new\n", "base": version([]byte(small)), "tab": "t"})
	if open := fetch[session](b, "/api/session").Open; open != "sub/c.piece" {
		t.Errorf("after saving another, the first to open is %q", open)
	}
}

// TestSaveNeverOverwrites: only over the version that the text was made from.
func TestSaveNeverOverwrites(t *testing.T) {
	b := serve(t, map[string]string{"a.piece": "one\n"})
	v1 := ask[fileText](b, "/api/file", m{"name": "a.piece"}).Version
	v2 := ask[saved](b, "/api/save", m{"name": "a.piece", "text": "two\n", "base": v1, "tab": ""}).Version
	conflicts := func(text, base, disk string, gone bool) {
		t.Helper()
		status, data := b.send("POST", "/api/save", m{"name": "a.piece", "text": text, "base": base, "tab": ""})
		got := decoded[onDisk](t, data)
		if status != http.StatusConflict || gone != (got.Text == nil) || !gone && *got.Text != disk || got.Error == "" {
			t.Errorf("saving over another version: %d %s", status, data)
		}
	}
	conflicts("three\n", v1, "two\n", false)
	conflicts("three\n", "", "two\n", false)
	b.put("a.piece", "from elsewhere\n")
	conflicts("three\n", v2, "from elsewhere\n", false)
	if text := b.disk("a.piece"); text != "from elsewhere\n" {
		t.Errorf("the disk holds %q", text)
	}
	// The same bytes are no conflict, whoever wrote them.
	if got := ask[saved](b, "/api/save", m{"name": "a.piece", "text": "from elsewhere\n", "base": v1,
		"tab": ""}); got.Version != version([]byte("from elsewhere\n")) {
		t.Errorf("the version is %v", got)
	}
	os.Remove(filepath.Join(b.dir, "a.piece"))
	conflicts("three\n", v2, "", true)
	ask[saved](b, "/api/save", m{"name": "a.piece", "text": "three\n", "base": "", "tab": ""})
	if text := b.disk("a.piece"); text != "three\n" {
		t.Errorf("the disk holds %q", text)
	}
}

// TestLineEnds: a file keeps the ends of its lines, though the page knows one
// kind only.
func TestLineEnds(t *testing.T) {
	b := serve(t, map[string]string{"dos.piece": "# a\r\n# b\r\n", "mixed.piece": "# a\r\n# b\n"})
	f := ask[fileText](b, "/api/file", m{"name": "dos.piece"})
	if f.Text != "# a\n# b\n" {
		t.Errorf("the page gets %q", f.Text)
	}
	s := ask[saved](b, "/api/save", m{"name": "dos.piece", "text": "# a\n# c\n", "base": f.Version, "tab": ""})
	if text := b.disk("dos.piece"); text != "# a\r\n# c\r\n" || s.Version != version([]byte(text)) {
		t.Errorf("the disk holds %q", text)
	}
	if got := ask[fileText](b, "/api/file", m{"name": "mixed.piece"}).Text; got != "# a\r\n# b\n" {
		t.Errorf("mixed ends became %q", got)
	}
}

func TestNewCopyRename(t *testing.T) {
	b := serve(t, map[string]string{"a.piece": small})
	if got := ask[nameOnly](b, "/api/new", m{"name": "first", "example": "twill"}); got.Name != "first.piece" ||
		!strings.Contains(b.disk("first.piece"), "Twill") {
		t.Errorf("the new file is %v", got)
	}
	if got := ask[nameOnly](b, "/api/new", m{"name": "sub/second.piece"}); got.Name != "sub/second.piece" {
		t.Errorf("the new file is %v", got)
	}
	if text := b.disk("sub/second.piece"); text != "title = \"second\"\n" {
		t.Errorf("the empty page has %q", text)
	}
	if u := b.work("sub/second.piece", b.disk("sub/second.piece")); u.OK || !u.Empty || len(u.Errors) != 0 {
		t.Errorf("of an empty page it is said %+v", u.head)
	}
	ask[nameOnly](b, "/api/copy", m{"name": "a.piece", "to": "b.piece"})
	ask[snapshot](b, "/api/snapshot", m{"name": "b.piece", "label": "as it was"})
	ask[nameOnly](b, "/api/rename", m{"name": "b.piece", "to": "c"})
	if b.disk("c.piece") != small || b.server.folder.exists("b.piece") {
		t.Error("the renamed file is not what it was")
	}
	if h := ask[[]snapshot](b, "/api/history", m{"name": "c.piece"}); len(h) != 1 || h[0].Label != "as it was" {
		t.Errorf("its history is %v", h)
	}
	for path, body := range map[string]m{
		"/api/new":    {"name": "a.piece"},
		"/api/copy":   {"name": "c.piece", "to": "a.piece"},
		"/api/rename": {"name": "c.piece", "to": "a.piece"},
	} {
		if status, data := b.send("POST", path, body); status != http.StatusConflict {
			t.Errorf("%s over a file: %d %s", path, status, data)
		}
	}
	for path, body := range map[string]m{
		"/api/new":    {"name": "x.piece", "example": "none"},
		"/api/copy":   {"name": "none.piece", "to": "y.piece"},
		"/api/rename": {"name": "none.piece", "to": "y.piece"},
	} {
		if status, data := b.send("POST", path, body); status != http.StatusNotFound {
			t.Errorf("%s of nothing: %d %s", path, status, data)
		}
	}
	if b.disk("a.piece") != small {
		t.Error("a file was written over")
	}
}

// TestSaveKeepsMode: a file that only its owner reads stays so.
func TestSaveKeepsMode(t *testing.T) {
	b := serve(t, map[string]string{"a.piece": "one\n"})
	path := filepath.Join(b.dir, "a.piece")
	if err := os.Chmod(path, 0o600); err != nil {
		t.Fatal(err)
	}
	ask[saved](b, "/api/save", m{"name": "a.piece", "text": "two\n", "base": version([]byte("one\n")), "tab": ""})
	if info := must(os.Stat(path)); info.Mode().Perm() != 0o600 {
		t.Errorf("the mode is %v", info.Mode())
	}
	entries := must(os.ReadDir(b.dir))
	for _, e := range entries {
		if strings.HasSuffix(e.Name(), partSuffix) {
			t.Errorf("%s was left", e.Name())
		}
	}
}

func TestNotText(t *testing.T) {
	b := serve(t, map[string]string{"latin.piece": "title = \"K\xf6nig\"\n"})
	if status, data := b.send("POST", "/api/file", m{"name": "latin.piece"}); status != http.StatusUnprocessableEntity {
		t.Errorf("a file that is not UTF-8: %d %s", status, data)
	}
}
