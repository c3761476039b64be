package main

import (
	"bytes"
	"context"
	"encoding/csv"
	"image"
	"image/color"
	"image/png"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
)

// benchFolder is a folder in which commands run as a user gives them.
type benchFolder struct {
	t   *testing.T
	dir string
}

// do runs a command and returns what it prints; paths without a slash lie in the
// folder.
func (b *benchFolder) do(want int, in string, args ...string) (out, err string) {
	b.t.Helper()
	var stdout, stderr bytes.Buffer
	if got := run(context.Background(), args, terminal{strings.NewReader(in), &stdout, &stderr}); got != want {
		b.t.Fatalf("%q ends with %d, want %d\n%s%s", args, got, want, &stdout, &stderr)
	}
	return stdout.String(), stderr.String()
}

func (b *benchFolder) path(name string) string { return filepath.Join(b.dir, name) }

func (b *benchFolder) write(name, text string) string {
	b.t.Helper()
	if err := os.WriteFile(b.path(name), []byte(text), 0o644); err != nil {
		b.t.Fatal(err)
	}
	return b.path(name)
}

// column is a column of a table.
func (b *benchFolder) column(table, name string) []string {
	b.t.Helper()
	rows, err := csv.NewReader(strings.NewReader(table)).ReadAll()
	if err != nil {
		b.t.Fatal(err)
	}
	for i, head := range rows[0] {
		if head == name {
			var out []string
			for _, row := range rows[1:] {
				out = append(out, row[i])
			}
			return out
		}
	}
	b.t.Fatalf("no column %s", name)
	return nil
}

func numbers(t *testing.T, texts []string) []float64 {
	t.Helper()
	out := make([]float64, len(texts))
	for i, text := range texts {
		x, err := strconv.ParseFloat(text, 64)
		if err != nil {
			t.Fatal(err)
		}
		out[i] = x
	}
	return out
}

// wornPicture draws an old roll at 120 dpi, the start below: punches as a table
// lists them on paper that has grown by 0.4 % along, each hole up to 0.06 mm beside
// its place, black behind, a little askew, with grain and noise.
func wornPicture(t *testing.T, path string, across, along []float64) {
	t.Helper()
	const dpi, margin, paper, radius = 120 / 25.4, 8.0, 285.75, 1.7272 / 2
	r := rand.New(rand.NewPCG(1, 2))
	end := 0.0
	for _, mm := range along {
		end = max(end, mm)
	}
	w, h := int(math.Floor((paper+2*margin)*dpi)), int((end*1.004+60)*dpi)
	m := image.NewGray(image.Rect(0, 0, w, h))
	sin, cos := math.Sincos(0.6 * math.Pi / 180)
	at := func(a, s float64) (x, y float64) {
		x, y = (a-paper/2)*dpi, -(s*1.004-end/2)*dpi
		return float64(w)/2 + x*cos - y*sin, float64(h)/2 + x*sin + y*cos
	}
	for y := range h {
		for x := range w {
			dx, dy := float64(x)+.5-float64(w)/2, float64(y)+.5-float64(h)/2
			edge := paper/2*dpi - math.Abs(dx*cos+dy*sin)
			tone := 12 + 180*min(max(edge+.5, 0), 1) + 6*r.NormFloat64()
			m.SetGray(x, y, color.Gray{uint8(min(max(tone, 0), 255))})
		}
	}
	for i := range across {
		x, y := at(across[i], along[i]+.06*(2*r.Float64()-1))
		for py := int(y - 8); py <= int(y+8); py++ {
			for px := int(x - 8); px <= int(x+8); px++ {
				open := radius*dpi - math.Hypot(float64(px)+.5-x, float64(py)+.5-y)
				if share := min(max(open+.5, 0), 1); share > 0 {
					old := float64(m.GrayAt(px, py).Y)
					m.SetGray(px, py, color.Gray{uint8(old + share*(12-old))})
				}
			}
		}
	}
	f, err := os.Create(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	if err := (&png.Encoder{CompressionLevel: png.BestSpeed}).Encode(f, m); err != nil {
		t.Fatal(err)
	}
}

// TestCopyAnOldRoll: a worn roll comes out as its master on its own rows, and that
// master is checked, heard, cut by a machine, punched by hand and proved, all
// through the commands that a user gives.
func TestCopyAnOldRoll(t *testing.T) {
	b := &benchFolder{t, t.TempDir()}
	first := b.path("first.piece")
	b.do(0, "", "new", first)
	text, err := os.ReadFile(first)
	if err != nil {
		t.Fatal(err)
	}
	onRows := "instrument = \"88-note-45\"\n" + strings.ReplaceAll(string(text), "instrument", "# instrument")
	master := b.write("master.piece", onRows)
	holes, _ := b.do(0, "", "holes", master)
	punches, _ := b.do(0, "", "holes", master, "--punches")
	across, along := numbers(t, b.column(punches, "across_mm")), numbers(t, b.column(punches, "along_mm"))
	wornPicture(t, b.path("old.png"), across, along)

	summary, _ := b.do(0, "", "read", b.path("old.png"), "--dpi", "120")
	if !strings.Contains(summary, "45 an inch") {
		t.Errorf("the perforator's rows are not found:\n%s", summary)
	}
	copied := b.path("copy.csv")
	b.do(0, "", "read", b.path("old.png"), "--dpi", "120", "--snap", "--into", copied)
	table, err := os.ReadFile(copied)
	if err != nil {
		t.Fatal(err)
	}
	// The tired paper is 0.4 % longer and its edges are off; the master's are not. The
	// holes of both begin at the first slot of a note.
	for _, edge := range []string{"lead_mm", "trail_mm"} {
		want, got := numbers(t, b.column(holes, edge)), numbers(t, b.column(string(table), edge))
		if len(want) != len(got) {
			t.Fatalf("%d slots, want %d", len(got), len(want))
		}
		for i := range want {
			if off := got[i] - want[i] - (got[0] - want[0]); math.Abs(off) > .02 {
				t.Fatalf("%s of slot %d is %.4f mm, want %.4f", edge, i+1, got[i], want[i])
			}
		}
	}
	for _, command := range []string{"check", "events"} {
		b.do(0, "", command, copied, "--instrument", "88-note-45")
	}
	_, loud := b.do(0, "", "hear", copied, b.path("copy.flac"), "--instrument", "88-note-45", "--to", "2")
	if !strings.Contains(loud, "LUFS") {
		t.Error("it is not heard")
	}
	b.do(0, "", "write", copied, b.path("copy.nc"), "--machine", "laser", "--instrument", "88-note-45")
	b.do(0, "", "write", copied, b.path("copy.pdf"), "--instrument", "88-note-45")
	b.do(0, "\n\nq\n", "punch", copied, "--plain", "--bench", "ratchet-45", "--instrument", "88-note-45")
	status, _ := b.do(0, "", "punch", copied, "--status", "--instrument", "88-note-45")
	if !strings.Contains(status, "4 of the ") {
		t.Errorf("two rows of two were punched:\n%s", status)
	}
	// What was copied is the piece, and the old paper itself is the copy, tired.
	if _, said := b.do(0, "", "proof", master, copied, "--tolerance", "0.05"); !strings.Contains(said, "no difference") {
		t.Error(said)
	}
	_, said := b.do(0, "", "proof", copied, b.path("old.png"), "--dpi", "120", "--instrument", "88-note-45")
	if !strings.Contains(said, "no difference") {
		t.Error(said)
	}
}
