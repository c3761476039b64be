package player

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

// fake is a program under a player's name that runs a line of shell.
func fake(t *testing.T, name, script string) Player {
	t.Helper()
	if _, err := exec.LookPath("sh"); err != nil {
		t.Skip("no sh")
	}
	path := filepath.Join(t.TempDir(), name)
	if err := os.WriteFile(path, []byte("#!/bin/sh\n"+script+"\n"), 0o777); err != nil {
		t.Fatal(err)
	}
	p, err := Find(func(n string) (string, error) {
		if n == name {
			return path, nil
		}
		return "", exec.ErrNotFound
	})
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func hello(w io.Writer) error {
	_, err := io.WriteString(w, "hello")
	return err
}

func TestPlay(t *testing.T) {
	for _, name := range Names() {
		heard := filepath.Join(t.TempDir(), "heard")
		script := `for a; do last=$a; done; if [ -f "$last" ]; then cat "$last"; else cat; fi > ` + heard
		if err := fake(t, name, script).Play(context.Background(), hello); err != nil {
			t.Errorf("%s: %v", name, err)
		}
		if got, _ := os.ReadFile(heard); string(got) != "hello" {
			t.Errorf("%s heard %q", name, got)
		}
	}
}

func TestPlayerFails(t *testing.T) {
	for _, name := range []string{"aplay", "paplay"} {
		err := fake(t, name, "cat > /dev/null < /dev/null; echo no device >&2; exit 3").Play(context.Background(), hello)
		if err == nil || !strings.Contains(err.Error(), name) || !strings.Contains(err.Error(), "no device") {
			t.Errorf("%s: %v", name, err)
		}
	}
}

func TestWriterFails(t *testing.T) {
	bad := errors.New("bad piece")
	for _, name := range []string{"aplay", "paplay"} {
		err := fake(t, name, "cat > /dev/null").Play(context.Background(), func(io.Writer) error { return bad })
		if !errors.Is(err, bad) {
			t.Errorf("%s: %v", name, err)
		}
	}
}

func TestStops(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if err := fake(t, "aplay", "exec sleep 60").Play(ctx, hello); !errors.Is(err, context.Canceled) {
		t.Errorf("got %v", err)
	}
}

func TestNone(t *testing.T) {
	_, err := Find(func(string) (string, error) { return "", exec.ErrNotFound })
	if !errors.Is(err, ErrNone) {
		t.Errorf("got %v", err)
	}
}

func ExampleFind() {
	p, err := Find(func(name string) (string, error) { // a system that has aplay only
		if name == "aplay" {
			return "/usr/bin/aplay", nil
		}
		return "", exec.ErrNotFound
	})
	fmt.Println(p.Name, err)
	// Output: aplay <nil>
}
