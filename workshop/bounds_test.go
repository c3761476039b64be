package workshop

import (
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"rollwright/text/source"
)

// Fourteen notes of 100,000 whole notes at one quarter a minute last eleven years;
// every output that leaves the roll refuses them with the same sentence before it
// works on them. Programs, worksheets and lectures took all memory or time before.
func TestRollBeyondTheBound(t *testing.T) {
	ctx, dir := context.Background(), t.TempDir()
	text := "tempo = 1\nvoice \"low\" {\n  talea = \"100000 (1)\"\n  unit = \"1/1\"\n  color = \"C2\"\n  extent = \"14 notes\"\n}\n"
	job, err := New(ctx, &source.File{Name: "long.piece", Text: []byte(text)}, dir)
	if err != nil {
		t.Fatal(err)
	}
	for name, o := range map[string]Options{
		"a.pdf": {}, "long.pdf": {Long: LongUnit}, "a.svg": {}, "a.dxf": {}, "a.png": {}, "a.csv": {}, "a.html": {},
		"a.nc": {Machining: Machining{Machine: "laser"}}, "b.pdf": {Making: Making{Worksheet: true}},
		"b.csv": {Making: Making{Worksheet: true}},
	} {
		_, err := job.Write(ctx, filepath.Join(dir, name), o)
		if err == nil || !strings.Contains(err.Error(), "is longer than the 500 m that are written") {
			t.Errorf("%s: %v", name, err)
		}
	}
	if entries, err := os.ReadDir(dir); err != nil || len(entries) != 0 {
		t.Errorf("left are %v, %v", entries, err)
	}
	if hands := job.Hands(); hands != "" {
		t.Errorf("by hand it takes %s", hands)
	}
}

// TestAboutBytes holds what is said of a file's size before it is written against the
// file: within a third of it.
func TestAboutBytes(t *testing.T) {
	ctx, dir := context.Background(), t.TempDir()
	job, err := Open(ctx, "../examples/two-shuttles.piece", nil)
	if err != nil {
		t.Fatal(err)
	}
	for name, o := range map[string]Options{
		"a.wav": {ToSec: 30}, "mono.wav": {ToSec: 30, Sound: Listening{Mono: true, Bits: 16, Rate: 2}}, "a.flac": {ToSec: 30},
		"a.svg": {}, "a.dxf": {}, "bed.nc": {Machining: Machining{Machine: "laser"}}, "a.mid": {},
	} {
		p, err := ProductOf(name, &o)
		if err != nil {
			t.Fatal(err)
		}
		about, err := job.AboutBytes(p, filepath.Ext(name), &o)
		if err != nil {
			t.Fatal(err)
		}
		made, err := job.Write(ctx, filepath.Join(dir, name), o)
		if err != nil {
			t.Fatal(err)
		}
		bytes := int64(0)
		for _, path := range made {
			info, err := os.Stat(path)
			if err != nil {
				t.Fatal(err)
			}
			bytes += info.Size()
		}
		if name == "a.mid" && about != 0 || name != "a.mid" && (3*about < 2*bytes || 3*about > 4*bytes) {
			t.Errorf("%s has %d bytes, about %d were said", name, bytes, about)
		}
	}
}
