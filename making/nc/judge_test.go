package nc_test

import (
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"rollwright/internal/judge"
	"rollwright/internal/rollcases"
	"rollwright/making/bed"
	"rollwright/making/machine"
)

// TestReferenceInterpreter runs a program of every built-in machine through the
// rs274 of Debian's linuxcnc-uspace, an interpreter of the same language by
// others, and compares its moves with those of ours.
func TestReferenceInterpreter(t *testing.T) {
	rs274 := judge.Program(t, "rs274")
	r := someRoll(t, nil)
	straight := regexp.MustCompile(`(STRAIGHT_TRAVERSE|STRAIGHT_FEED)\((-?[\d.]+), (-?[\d.]+),`)
	arc := regexp.MustCompile(`ARC_FEED\((-?[\d.]+), (-?[\d.]+), (-?[\d.]+), (-?[\d.]+), (-?\d+)`)
	for _, name := range programmed() {
		m := rollcases.Machine(t, name, func(m *machine.Profile) { m.Inches = name == "punch-table" })
		p := plan(t, r, m, bed.Options{})
		dir := t.TempDir()
		file, tools := filepath.Join(dir, "bed.ngc"), filepath.Join(dir, "tools.tbl")
		text := program(t, p, &p.Beds[0])
		if os.WriteFile(file, []byte(text), 0o644) != nil || os.WriteFile(tools, nil, 0o644) != nil {
			t.Fatal("cannot write")
		}
		out, err := exec.Command(rs274, "-g", "-t", tools, file).CombinedOutput()
		if err != nil || !strings.Contains(string(out), "PROGRAM_END()") {
			t.Fatalf("%s: %v\n%s", name, err, out[max(0, len(out)-500):])
		}
		in, err := interpret(text)
		if err != nil {
			t.Fatal(err)
		}
		travel, cutting, strokes := 0.0, 0.0, 0
		x, y := 0.0, 0.0
		unit := 1.0
		if m.Inches {
			unit = 25.4
		}
		number := func(s string) float64 { v, _ := strconv.ParseFloat(s, 64); return v * unit }
		for _, line := range strings.Split(string(out), "\n") {
			if f := straight.FindStringSubmatch(line); f != nil {
				nx, ny := number(f[2]), number(f[3])
				if f[1] == "STRAIGHT_FEED" {
					cutting += math.Hypot(nx-x, ny-y)
				} else {
					travel += math.Hypot(nx-x, ny-y)
				}
				x, y = nx, ny
			} else if f := arc.FindStringSubmatch(line); f != nil {
				cx, cy := number(f[3]), number(f[4])
				if f[5] != "1" {
					t.Fatalf("an arc that is not one turn counter-clockwise: %s", line)
				}
				cutting += math.Pi * math.Hypot(x-cx, y-cy) // ours are half circles
				x, y = number(f[1]), number(f[2])
			}
			strokes += strings.Count(line, "START_SPINDLE_CLOCKWISE")
		}
		// rs274 prints four decimals.
		limit := 0.0002 * unit * float64(in.lines)
		if math.Abs(travel-in.travelMM) > limit || math.Abs(cutting-in.cutMM) > limit || strokes != len(in.strokes) {
			t.Errorf("%s: travel %.3f cut %.3f strokes %d, ours %.3f %.3f %d", name, travel, cutting, strokes, in.travelMM,
				in.cutMM, len(in.strokes))
		}
	}
}
