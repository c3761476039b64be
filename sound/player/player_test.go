package player

import (
	"bytes"
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

// Without the program the error says which files can be written; with it, what comes out
// is its file (FFmpeg's own probe reads it back).
func TestConvert(t *testing.T) {
	if _, err := FindConverter(func(string) (string, error) { return "", exec.ErrNotFound }); !errors.Is(err,
		ErrNoConverter) {
		t.Errorf("got %v", err)
	}
	with, err := FindConverter(exec.LookPath)
	if err != nil {
		t.Skip(err)
	}
	tone := func(w io.Writer) error {
		head := "RIFF\xff\xff\xff\xffWAVEfmt \x10\x00\x00\x00\x01\x00\x01\x00\x80\xbb\x00\x00\x00\x77\x01\x00\x02\x00\x10\x00data\xff\xff\xff\xff"
		_, err := io.WriteString(w, head+strings.Repeat("\x00\x10\x00\xf0", 24000))
		return err
	}
	for extension, magic := range map[string]string{".mp3": "", ".opus": "OggS"} {
		var a, b bytes.Buffer
		if err := with.Convert(t.Context(), &a, extension, tone); err != nil {
			t.Fatal(err)
		}
		if err := with.Convert(t.Context(), &b, extension, tone); err != nil {
			t.Fatal(err)
		}
		if a.Len() < 500 || !strings.HasPrefix(a.String(), magic) || !bytes.Equal(a.Bytes(), b.Bytes()) {
			t.Errorf("%s: %d bytes, and %d again", extension, a.Len(), b.Len())
		}
	}
	bad := errors.New("bad piece")
	if err := with.Convert(t.Context(), io.Discard, ".mp3", func(io.Writer) error { return bad }); err == nil {
		t.Error("no error of what fails to write")
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
