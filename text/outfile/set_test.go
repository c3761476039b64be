package outfile

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"maps"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"syscall"
	"testing"
)

// Two versions of a set: of the second, "gone" is no longer made, "new" is, and
// "sums" says what the set is.
var versions = [3]map[string]string{
	1: {"a.pdf": "a one", "b.nc": "b one", "sub/c.wav": "c one", "gone.nc": "gone one", "sums": "one"},
	2: {"a.pdf": "a two", "b.nc": "b two", "sub/c.wav": "c two", "new.nc": "new two", "sums": "two"},
}

// writeSet puts a version of the set into a folder.
func writeSet(folder string, version int) error {
	s, err := NewStage(folder)
	if err != nil {
		return err
	}
	defer s.Discard()
	for _, name := range slices.Sorted(maps.Keys(versions[version])) {
		path := s.Path(filepath.FromSlash(name))
		if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
			return err
		}
		fill := func(w io.Writer) error { _, err := io.WriteString(w, versions[version][name]); return err }
		if err := Write(context.Background(), path, fill); err != nil {
			return err
		}
	}
	for name := range versions[3-version] {
		if _, still := versions[version][name]; !still {
			s.Remove(name)
		}
	}
	s.Last("sums")
	_, err = s.Commit(context.Background())
	return err
}

// found is what lies in a folder, with what the person has put there.
func found(t *testing.T, folder string) map[string]string {
	t.Helper()
	all := map[string]string{}
	err := filepath.WalkDir(folder, func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		text, err := os.ReadFile(path)
		name, _ := filepath.Rel(folder, path)
		all[filepath.ToSlash(name)] = string(text)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return all
}

// isVersion is the version that lies in a folder beside the person's own file; 0
// where it is neither, or something else lies there too.
func isVersion(t *testing.T, folder string) int {
	t.Helper()
	all := found(t, folder)
	if all["mine.txt"] != "mine" {
		return 0
	}
	delete(all, "mine.txt")
	for v := 1; v <= 2; v++ {
		if maps.Equal(all, versions[v]) {
			return v
		}
	}
	return 0
}

// begun is a folder with the first version and a file of the person's.
func begun(t *testing.T) string {
	t.Helper()
	folder := filepath.Join(t.TempDir(), "made")
	if err := writeSet(folder, 1); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(folder, "mine.txt"), []byte("mine"), 0o644); err != nil {
		t.Fatal(err)
	}
	if isVersion(t, folder) != 1 {
		t.Fatalf("the first version is %v", found(t, folder))
	}
	return folder
}

// TestMain lets the kill test run this binary as the program that is killed.
func TestMain(m *testing.M) {
	folder := os.Getenv("ROLLWRIGHT_TEST_SET")
	if folder == "" {
		os.Exit(m.Run())
	}
	left, _ := strconv.Atoi(os.Getenv("ROLLWRIGHT_TEST_MOVES"))
	afterMove = func() {
		if left--; left < 0 {
			self, err := os.FindProcess(os.Getpid())
			if err == nil {
				err = self.Kill()
			}
			if err == nil {
				select {} // until it falls
			}
			os.Exit(9)
		}
	}
	var err error
	if os.Getenv("ROLLWRIGHT_TEST_DO") == "recover" {
		err = Recover(folder)
	} else {
		err = writeSet(folder, 2)
	}
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
}

// killedAfter runs a program that writes the second version, or ends what another
// has begun, and is killed after so many moves; false: it came to its end before.
func killedAfter(t *testing.T, folder, do string, moves int) bool {
	t.Helper()
	exe, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(exe)
	cmd.Env = append(os.Environ(), "ROLLWRIGHT_TEST_SET="+folder, "ROLLWRIGHT_TEST_DO="+do,
		fmt.Sprint("ROLLWRIGHT_TEST_MOVES=", moves))
	text, err := cmd.CombinedOutput()
	if len(text) > 0 {
		t.Fatalf("after %d moves: %s", moves, text)
	}
	return err != nil
}

// TestKilledBetweenMoves kills a program after every move of an exchange, and the
// one that goes on from there after every move of its own: in the end the folder
// holds one version whole, nothing hidden is left, and the person's file stays.
func TestKilledBetweenMoves(t *testing.T) {
	halves, moves := 0, 0
	for ; ; moves++ {
		folder := begun(t)
		if !killedAfter(t, folder, "write", moves) {
			break
		}
		if isVersion(t, folder) == 0 {
			halves++
		}
		for again := 0; killedAfter(t, folder, "recover", again); again++ {
			if again > 100 {
				t.Fatal("it never comes to an end")
			}
		}
		if v := isVersion(t, folder); v != 2 {
			t.Fatalf("killed after %d moves, then gone on with: %v", moves, found(t, folder))
		}
	}
	if moves < 8 || halves < 5 {
		t.Errorf("%d moves, %d times killed in the middle: the test proves little", moves, halves)
	}
}

// TestKilledBeforeExchange leaves a hidden folder and a hidden file of a killed
// program: the next set sweeps them away, and leaves those of a living one alone.
func TestKilledBeforeExchange(t *testing.T) {
	folder := begun(t)
	living, err := NewStage(folder)
	if err != nil {
		t.Fatal(err)
	}
	w, err := Create(context.Background(), filepath.Join(folder, "living.txt"))
	if err != nil {
		t.Fatal(err)
	}
	killed := filepath.Join(folder, ".rollwright-1.part")
	for path, text := range map[string]string{"lock": "", "new/a": "half"} {
		path = filepath.Join(killed, path)
		if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	if err := os.WriteFile(filepath.Join(folder, ".rollwright-2.part"), []byte("half"), 0o644); err != nil {
		t.Fatal(err)
	}
	if err := writeSet(folder, 2); err != nil {
		t.Fatal(err)
	}
	if err := w.Commit(); err != nil {
		t.Errorf("the living program's file: %v", err)
	}
	if err := os.Remove(filepath.Join(folder, "living.txt")); err != nil {
		t.Error(err)
	}
	living.Discard()
	if isVersion(t, folder) != 2 {
		t.Errorf("the folder holds %v", found(t, folder))
	}
}

// TestRefusedMove lets something stand in the way of every move in turn: the set
// is moved back whole, and the error names the file that was asked for.
func TestRefusedMove(t *testing.T) {
	for name := range versions[2] {
		folder := begun(t)
		target := filepath.Join(folder, filepath.FromSlash(name))
		before := found(t, folder)
		if before[name] == "" || name == "sub/c.wav" { // the only one in its folder
			continue
		}
		moves := 0
		afterMove = func() {
			if moves++; moves == 1 { // the plan stands; a folder takes the target's place
				if err := errors.Join(os.Remove(target), os.MkdirAll(filepath.Join(target, "full"), 0o755)); err != nil {
					t.Error(err)
				}
			}
		}
		err := writeSet(folder, 2)
		afterMove = func() {}
		if err == nil || !strings.Contains(err.Error(), target) || strings.Contains(err.Error(), ".part") {
			t.Errorf("%s: %v", name, err)
		}
		if err := os.RemoveAll(target); err != nil {
			t.Fatal(err)
		}
		delete(before, name)
		if after := found(t, folder); !maps.Equal(before, after) {
			t.Errorf("%s: moved back to %v, want %v", name, after, before)
		}
	}
}

// TestImmutableFile makes a file of the set one that even its owner cannot
// replace, as chattr(1) does: nothing is changed; and where the exchange was
// killed before it came to that file, the next run moves everything back.
func TestImmutableFile(t *testing.T) {
	for _, name := range []string{"a.pdf", "b.nc", "sums"} {
		folder := begun(t)
		path := filepath.Join(folder, name)
		if out, err := exec.Command("chattr", "+i", path).CombinedOutput(); err != nil {
			t.Skipf("no file can be made immutable here: %s", out)
		}
		err := writeSet(folder, 2)
		exec.Command("chattr", "-i", path).Run()
		if err == nil || !strings.Contains(err.Error(), path) {
			t.Errorf("%s: %v", name, err)
		}
		if isVersion(t, folder) != 1 {
			t.Errorf("%s: the folder holds %v", name, found(t, folder))
		}

		if !killedAfter(t, folder, "write", 2) { // the plan stands, a file has gone
			t.Fatal("not killed")
		}
		exec.Command("chattr", "+i", path).Run()
		err = Recover(folder)
		exec.Command("chattr", "-i", path).Run()
		if err := errors.Join(err, Recover(folder)); err != nil { // a second name of the file went with it only now
			t.Errorf("%s, killed before: %v", name, err)
		}
		if isVersion(t, folder) != 1 {
			t.Errorf("%s, killed before: the folder holds %v", name, found(t, folder))
		}
	}
}

// TestChangedMeanwhile changes a file between a kill and the next run: what a
// person has written is never replaced.
func TestChangedMeanwhile(t *testing.T) {
	for moves := 0; ; moves++ {
		folder := begun(t)
		if !killedAfter(t, folder, "write", moves) {
			return
		}
		path := filepath.Join(folder, "b.nc")
		if err := errors.Join(os.Remove(path), os.WriteFile(path, []byte("by hand"), 0o644)); err != nil {
			t.Fatal(err)
		}
		err := Recover(folder)
		if text, _ := os.ReadFile(path); err != nil || string(text) != "by hand" {
			t.Errorf("after %d moves: %v, %q", moves, err, text)
		}
	}
}

// TestDiskFills lets the disk be full at every call of write in turn, and at two
// hundred places of the bytes: the folder holds the version before, nothing else.
func TestDiskFills(t *testing.T) {
	folder := begun(t)
	defer func() { writeTo = (*os.File).Write }()
	try := func(why string, room func(n int) int) bool {
		writeTo = func(f *os.File, p []byte) (int, error) {
			if n := room(len(p)); n < len(p) {
				n, _ = f.Write(p[:n])
				return n, &fs.PathError{Op: "write", Path: f.Name(), Err: syscall.ENOSPC}
			}
			return f.Write(p)
		}
		err := writeSet(folder, 2)
		if err == nil {
			return false
		}
		if !errors.Is(err, syscall.ENOSPC) || strings.Contains(err.Error(), ".part") {
			t.Errorf("%s: %v", why, err)
		}
		if isVersion(t, folder) != 1 {
			t.Fatalf("%s: the folder holds %v", why, found(t, folder))
		}
		return true
	}
	calls := 0
	for ; ; calls++ {
		left := calls
		if !try(fmt.Sprintf("call %d", calls+1), func(n int) int {
			if left--; left < 0 {
				return n / 2
			}
			return n
		}) {
			break
		}
	}
	if calls < len(versions[2]) {
		t.Errorf("it was full %d times; a set of %d files writes more", calls, len(versions[2]))
	}
	writeTo = (*os.File).Write
	written := 0
	if err := writeSet(folder, 1); err != nil {
		t.Fatal(err)
	}
	writeTo = func(f *os.File, p []byte) (int, error) { written += len(p); return f.Write(p) }
	if err := errors.Join(writeSet(folder, 2), writeSet(folder, 1)); err != nil {
		t.Fatal(err)
	}
	random := rand.New(rand.NewPCG(9, 1905))
	for range 200 {
		left := random.IntN(written / 3)
		try(fmt.Sprintf("%d bytes", left), func(n int) int {
			n = min(n, left)
			left -= n
			return n
		})
		writeTo = (*os.File).Write
		if err := writeSet(folder, 1); err != nil {
			t.Fatal(err)
		}
	}
}

// TestTwoAtOnce lets eight writers put both versions into one folder at the same
// time: in the end it holds one of them whole.
func TestTwoAtOnce(t *testing.T) {
	folder := begun(t)
	done := make(chan error)
	for i := range 8 {
		go func() { done <- writeSet(folder, 1+i%2) }()
	}
	written := 0
	for range 8 {
		if err := <-done; err == nil {
			written++
		} else if !errors.Is(err, errChanged) {
			t.Error(err)
		}
	}
	if v := isVersion(t, folder); v == 0 || written == 0 {
		t.Errorf("%d were written; the folder holds %v", written, found(t, folder))
	}
}

// Whatever a plan says, nothing outside the folder is named by it.
func FuzzPlan(f *testing.F) {
	f.Add([]byte(`{"Steps":[{"Name":"a","New":{"Bytes":1,"TimeNS":2}},{"Name":"sub/b","Gone":true}]}`))
	f.Add([]byte(`{"Steps":[{"Name":"../a"}]}`))
	f.Fuzz(func(t *testing.T, text []byte) {
		x, err := parsePlan(text)
		if err != nil {
			return
		}
		x.folder, x.hidden = "folder", "folder/.rollwright-1.part"
		for i := range x.Steps {
			if rel, err := filepath.Rel("folder", x.target(&x.Steps[i])); err != nil || !filepath.IsLocal(rel) {
				t.Errorf("%q leads to %s", x.Steps[i].Name, rel)
			}
		}
	})
}
