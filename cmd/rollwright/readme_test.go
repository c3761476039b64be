package main

import (
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

// TestReadmeWalk types the walk of the README, line by line, into an empty folder:
// every command succeeds and says what stands under it, "..." standing for lines
// left out. Only hear is not typed: it plays through the loudspeakers.
func TestReadmeWalk(t *testing.T) {
	text, err := os.ReadFile("../../README.md")
	if err != nil {
		t.Fatal(err)
	}
	dir, bin := t.TempDir(), t.TempDir()
	if err := os.Symlink(must(os.Executable()), filepath.Join(bin, "rollwright")); err != nil {
		t.Fatal(err)
	}
	typed := 0
	for _, block := range regexp.MustCompile("(?ms)^```([a-z]*)\n(.*?)^```$").FindAllStringSubmatch(string(text), -1) {
		for _, said := range strings.Split("\n"+block[2], "\n$ ")[1:] {
			command, output, _ := strings.Cut(said, "\n")
			if strings.HasPrefix(command, "rollwright hear") {
				continue
			}
			typed++
			run := exec.Command("sh", "-c", command)
			run.Dir, run.Env = dir, append(os.Environ(), "PATH="+bin+":"+os.Getenv("PATH"))
			got, err := run.CombinedOutput()
			if err != nil {
				t.Errorf("%s: %v\n%s", command, err, got)
			}
			if !says(string(got), output) {
				t.Errorf("%s says\n%s\nand not\n%s", command, got, output)
			}
		}
	}
	if typed < 6 {
		t.Errorf("the walk has %d commands", typed)
	}
}

// says reports whether the parts of want between lines of dots stand in got, in
// order, runs of blanks counting as one.
func says(got, want string) bool {
	got = strings.Join(strings.Fields(got), " ")
	for _, part := range strings.Split("\n"+want+"\n", "\n...\n") {
		part = strings.Join(strings.Fields(part), " ")
		at := strings.Index(got, part)
		if at < 0 {
			return false
		}
		got = got[at+len(part):]
	}
	return true
}

func must[T any](x T, err error) T {
	if err != nil {
		panic(err)
	}
	return x
}

func TestSays(t *testing.T) {
	for _, c := range []struct {
		got, want string
		ok        bool
	}{
		{"a\nb  c\nd\n", "a\n...\nd\n", true}, {"a\nb\n", "b\n...\na\n", false}, {"a b\n", "a\n  b\n", true}, {"a\n", "", true},
	} {
		if says(c.got, c.want) != c.ok {
			t.Errorf("%q and %q", c.got, c.want)
		}
	}
}
