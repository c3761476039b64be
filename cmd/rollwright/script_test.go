package main

import (
	"context"
	"errors"
	"flag"
	"os"
	"os/exec"
	"os/signal"
	"strconv"
	"syscall"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"
)

var update = flag.Bool("update", false, "rewrite the expected outputs in the scripts")

func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){"rollwright": main})
}

// TestScripts runs the command as a user would. Each script in testdata says in
// its first line what it shows.
func TestScripts(t *testing.T) {
	testscript.Run(t, testscript.Params{
		Dir: "testdata", UpdateScripts: *update, RequireUniqueNames: true,
		Cmds: map[string]func(*testscript.TestScript, bool, []string){"status": status},
	})
}

// status N COMMAND... runs a command that must end with exit status N.
func status(ts *testscript.TestScript, _ bool, args []string) {
	want, err := strconv.Atoi(args[0])
	ts.Check(err)
	got := 0
	var exit *exec.ExitError
	if err := ts.Exec(args[1], args[2:]...); errors.As(err, &exit) {
		got = exit.ExitCode()
	} else {
		ts.Check(err)
	}
	if got != want {
		ts.Fatalf("exit status %d, want %d", got, want)
	}
}

// TestInterrupt stops a command that would go on for seconds, and looks for
// what it leaves.
func TestInterrupt(t *testing.T) {
	dir := t.TempDir()
	piece := dir + "/long.piece"
	text := "voice \"a\" {\n  talea  = \"1\"\n  color  = \"C4 D4\"\n  unit   = \"1/64\"\n  extent = \"400000 notes\"\n}\n"
	if err := os.WriteFile(piece, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
	ctx, stop := signal.NotifyContext(context.Background(), syscall.SIGUSR1)
	defer stop()
	go syscall.Kill(os.Getpid(), syscall.SIGUSR1)
	null, err := os.OpenFile(os.DevNull, os.O_RDWR, 0)
	if err != nil {
		t.Fatal(err)
	}
	defer null.Close()
	got := run(ctx, []string{"write", piece, dir + "/long.dxf"}, terminal{null, null, null})
	if got != exitInterrupted {
		t.Errorf("status %d, want %d", got, exitInterrupted)
	}
	entries, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	if len(entries) != 1 {
		t.Errorf("left %v, want the piece alone", entries)
	}
}

// BenchmarkStart is the time from nothing to the six lines of help, whole
// process.
func BenchmarkStart(b *testing.B) {
	exe, err := os.Executable()
	if err != nil {
		b.Fatal(err)
	}
	dir := b.TempDir()
	link := dir + "/rollwright" // testscript.Main runs the command under this name
	if err := os.Symlink(exe, link); err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		p, err := os.StartProcess(link, []string{"rollwright"}, &os.ProcAttr{})
		if err != nil {
			b.Fatal(err)
		}
		if _, err := p.Wait(); err != nil {
			b.Fatal(err)
		}
	}
}
