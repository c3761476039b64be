package web

import (
	"context"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// posts are the requests with a body of JSON.
var posts = []string{"file", "save", "new", "copy", "rename", "history", "snapshot", "restore", "diff", "example", "work",
	"part", "plan", "punch"}

// FuzzRequests sends any body to any of them: the answer is an answer or a
// refusal, never a failure of the server, and no file is made outside the folder.
func FuzzRequests(f *testing.F) {
	for i := range posts {
		f.Add(byte(i), `{"name":"two.piece","action":"rolls","text":"voice \"a\" {}"}`)
		f.Add(byte(i), `{"name":"../two.piece","to":"/etc/x.piece"}`)
		f.Add(byte(i), `{"name":"two.piece","splitSec":[1e308,-1,0],"spoolMM":1e-300,"bench":"nosuch","row":-1}`)
		f.Add(byte(i), `[`)
	}
	outer := f.TempDir()
	dir := filepath.Join(outer, "pieces")
	if err := os.Mkdir(dir, 0o755); err != nil {
		f.Fatal(err)
	}
	s, err := New(Options{Folder: dir})
	if err != nil {
		f.Fatal(err)
	}
	s.hosts = map[string]bool{"127.0.0.1:4187": true}
	f.Cleanup(func() { s.companions.close(); s.jobs.close(); s.folder.close() })
	handler := s.handler()
	f.Fuzz(func(t *testing.T, which byte, body string) {
		if err := os.WriteFile(filepath.Join(dir, "two.piece"), []byte(twoNotes), 0o644); err != nil {
			t.Fatal(err)
		}
		path := s.root() + "/api/" + posts[int(which)%len(posts)]
		r := httptest.NewRequestWithContext(context.Background(), "POST", "http://127.0.0.1:4187"+path, strings.NewReader(body))
		r.Header.Set("X-Rollwright", "1")
		answer := httptest.NewRecorder()
		handler.ServeHTTP(answer, r)
		if answer.Code >= http.StatusInternalServerError && answer.Code != http.StatusServiceUnavailable ||
			answer.Code == http.StatusUnauthorized {
			t.Errorf("%s %s: %d %s", path, body, answer.Code, answer.Body)
		}
		if entries, err := os.ReadDir(outer); err != nil || len(entries) != 1 {
			t.Errorf("%s %s: outside lie %v, %v", path, body, entries, err)
		}
	})
}
