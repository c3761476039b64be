package web

import (
	"bufio"
	"bytes"
	"context"
	"fmt"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// TestServeForKill is the process that TestKill kills.
func TestServeForKill(t *testing.T) {
	dir := os.Getenv("ROLLWRIGHT_TEST_KILL")
	if dir == "" {
		t.Skip("only for TestKill")
	}
	s, err := New(Options{Folder: dir})
	if err != nil {
		t.Fatal(err)
	}
	l, err := Listen(0)
	if err != nil {
		t.Fatal(err)
	}
	fmt.Println(s.Address(l))
	s.Serve(context.Background(), l)
}

// TestKill kills the workbench again and again while it saves. The file always
// holds a whole text, and never one older than the last whose saving was
// answered; a workbench that starts afterwards goes on from there.
func TestKill(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "a.piece")
	text := func(n int) string { return fmt.Sprintf("%d\n%s%d\n", n, strings.Repeat("# filling\n", 20_000), n) }
	if err := os.WriteFile(path, []byte(text(0)), 0o644); err != nil {
		t.Fatal(err)
	}
	n := 0
	for round := range 6 {
		saved := saveUntilKilled(t, dir, n, time.Duration(40+35*round)*time.Millisecond, text)
		data := must(os.ReadFile(path))
		var got int
		fmt.Sscan(string(data), &got)
		if string(data) != text(got) {
			t.Fatalf("round %d: the file holds no whole text: %d bytes", round, len(data))
		}
		if got < saved || got > saved+1 {
			t.Fatalf("round %d: the file holds text %d, and %d was the last that was saved", round, got, saved)
		}
		n = got
	}
	if n == 0 {
		t.Error("nothing was saved before a kill")
	}
	left, _ := filepath.Glob(filepath.Join(dir, partPrefix+"*"))
	for _, name := range left {
		old := time.Now().Add(-2 * oldPart)
		os.Chtimes(name, old, old)
	}
	b := serveFolder(t, dir)
	if f := ask[fileText](b, "/api/file", m{"name": "a.piece"}); f.Text != text(n) {
		t.Error("the workbench that starts anew has another text")
	}
	if left, _ := filepath.Glob(filepath.Join(dir, partPrefix+"*")); len(left) > 0 {
		t.Errorf("%v were left", left)
	}
}

// saveUntilKilled saves texts after the n-th and returns the last whose saving
// was answered.
func saveUntilKilled(t *testing.T, dir string, n int, after time.Duration, text func(int) string) int {
	t.Helper()
	c := exec.Command(os.Args[0], "-test.run=^TestServeForKill$")
	c.Env = append(os.Environ(), "ROLLWRIGHT_TEST_KILL="+dir)
	out := must(c.StdoutPipe())
	if err := c.Start(); err != nil {
		t.Fatal(err)
	}
	address := strings.TrimSpace(must(bufio.NewReader(out).ReadString('\n')))
	client := &http.Client{}
	r, err := client.Get(address)
	if err != nil {
		t.Fatal(err)
	}
	r.Body.Close()
	base := strings.TrimSuffix(address, "/")
	time.AfterFunc(after, func() { c.Process.Kill() }) // SIGKILL: it cannot be caught
	for saved := n; ; n++ {
		body := fmt.Sprintf(`{"name":"a.piece","text":%q,"base":%q,"tab":""}`, text(n+1), version([]byte(text(n))))
		r := must(http.NewRequest("POST", base+"/api/save", bytes.NewReader([]byte(body))))
		r.Header.Set("X-Rollwright", "1")
		answer, err := client.Do(r)
		if err != nil {
			c.Wait()
			return saved
		}
		answer.Body.Close()
		if answer.StatusCode != http.StatusOK {
			t.Fatalf("saving text %d: %s", n+1, answer.Status)
		}
		saved = n + 1
	}
}
