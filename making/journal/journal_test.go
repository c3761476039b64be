package journal_test

import (
	"bufio"
	"errors"
	"fmt"
	"io/fs"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"rollwright/making/bench"
	"rollwright/making/journal"
)

var head = journal.Head{
	Title: "Weft, \"warp\"\nand all", Piano: "left", Bench: "crank-2mm", TurnMM: 2, Parts: 20, DieMM: 1.7272,
	Spool: 2, Spools: 3, FromSec: 1.0 / 3, ToSec: 47.25, Along: 1.002, Across: 0.998, About: 1,
}

// clock goes on by so much at every look.
func clock(step time.Duration) func() time.Time {
	now := time.Unix(1_700_000_000, 0)
	return func() time.Time {
		now = now.Add(step)
		return now
	}
}

func open(t testing.TB, path string, now func() time.Time) *journal.Journal {
	t.Helper()
	j, err := journal.Open(path, head, now)
	if err != nil {
		t.Fatal(err)
	}
	return j
}

func must(t testing.TB, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

func holes(along float64, across ...float64) []journal.Hole {
	var out []journal.Hole
	for _, x := range across {
		out = append(out, journal.Hole{AcrossMM: x, AlongMM: along})
	}
	return out
}

// What is cut, taken back, wrong, closed again.
func TestJournalReadsBack(t *testing.T) {
	path := filepath.Join(t.TempDir(), "a.journal")
	j := open(t, path, clock(time.Second))
	must(t, j.Begin())
	must(t, j.Cut(holes(0.9, 62.44167, 82.19722)))
	must(t, j.Cut(holes(2.4, 62.44167)))
	must(t, j.Undo(holes(2.4, 62.44167)))
	must(t, j.Slip(journal.Hole{AcrossMM: 100, AlongMM: 1.5}))
	must(t, j.Slip(journal.Hole{AcrossMM: 101, AlongMM: 1.5}))
	must(t, j.Patch(journal.Hole{AcrossMM: 101, AlongMM: 1.5}))
	must(t, j.Cut(holes(-3.1, 62.44167)))
	live := j.State
	must(t, j.End())
	must(t, j.Close())
	read, err := journal.Read(path)
	must(t, err)
	for name, s := range map[string]*journal.State{"live": live, "read": read} {
		want := []journal.Hole{{62.4417, -3.1}, {62.4417, 0.9}, {82.1972, 0.9}, {100, 1.5}}
		if got := s.Holes(); !slices.Equal(got, want) {
			t.Errorf("%s: holes %v, want %v", name, got, want)
		}
		if got := s.Slips(); !slices.Equal(got, []journal.Hole{{100, 1.5}}) {
			t.Errorf("%s: slips %v", name, got)
		}
		if !s.Undone(journal.Hole{AcrossMM: 62.4417, AlongMM: 2.4}) ||
			s.Undone(journal.Hole{AcrossMM: 62.4417, AlongMM: 0.9}) {
			t.Errorf("%s: the wrong hole counts as taken back", name)
		}
		if last, any := s.Last(); !any || last != (journal.Hole{AcrossMM: 62.4417, AlongMM: -3.1}) {
			t.Errorf("%s: the paper stands at %v", name, last)
		}
		if s.Head != head {
			t.Errorf("%s: head %+v, want %+v", name, s.Head, head)
		}
	}
}

// A power cut may leave any number of the last bytes unwritten. Wherever the
// file ends, it opens, holds every record before its last line, and goes on.
func TestCutAnywhere(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "a.journal")
	j := open(t, path, clock(time.Second))
	for i := range 5 {
		must(t, j.Cut(holes(float64(i), 10, 20)))
	}
	must(t, j.Close())
	text, err := os.ReadFile(path)
	must(t, err)
	for n := range len(text) {
		short := filepath.Join(dir, strconv.Itoa(n)+".journal")
		must(t, os.WriteFile(short, text[:n], 0o644))
		j := open(t, short, clock(time.Second))
		lines := strings.Count(string(text[:n]), "\n")
		if n < len(text) && text[n] == '\n' {
			lines++ // only the line's end is missing
		}
		if got, want := len(j.Holes()), 2*max(lines-1, 0); got != want {
			t.Fatalf("after %d of %d bytes: %d holes, want %d", n, len(text), got, want)
		}
		must(t, j.Cut(holes(99, 30)))
		had := len(j.Holes())
		must(t, j.Close())
		read, err := journal.Read(short)
		must(t, err)
		if got := len(read.Holes()); got != had || len(read.Damaged) > 0 {
			t.Fatalf("after %d of %d bytes: reads back %d holes of %d, damaged %v", n, len(text), got, had, read.Damaged)
		}
	}
}

// A damaged line costs that line.
func TestDamaged(t *testing.T) {
	path := filepath.Join(t.TempDir(), "a.journal")
	j := open(t, path, clock(time.Second))
	for i := range 3 {
		must(t, j.Cut(holes(float64(i), 10)))
	}
	must(t, j.Close())
	text, err := os.ReadFile(path)
	must(t, err)
	lines := strings.SplitAfter(string(text), "\n")
	lines[2] = strings.Replace(lines[2], "@1.0000", "@7.0000", 1)
	must(t, os.WriteFile(path, []byte(strings.Join(lines, "")), 0o644))
	s, err := journal.Read(path)
	must(t, err)
	if !slices.Equal(s.Damaged, []int{3}) || len(s.Holes()) != 2 {
		t.Errorf("damaged lines %v, holes %v", s.Damaged, s.Holes())
	}
	// An editor's other line ends harm nothing.
	must(t, os.WriteFile(path, []byte(strings.ReplaceAll(string(text), "\n", "\r\n")), 0o644))
	if s, err := journal.Read(path); err != nil || len(s.Holes()) != 3 || len(s.Damaged) > 0 {
		t.Errorf("with carriage returns: %v", err)
	}
}

// A damaged first line costs no row: what it said is taken from whoever opens the
// journal, who writes it anew.
func TestDamagedFirstLine(t *testing.T) {
	path := filepath.Join(t.TempDir(), "a.journal")
	j := open(t, path, clock(time.Second))
	for i := range 3 {
		must(t, j.Cut(holes(float64(i), 10)))
	}
	must(t, j.Close())
	text, err := os.ReadFile(path)
	must(t, err)
	first, rest, _ := strings.Cut(string(text), "\n")
	for _, damaged := range []string{strings.Replace(first, "crank-2mm", "crank-3mm", 1) + "\n", "\n", ""} {
		must(t, os.WriteFile(path, []byte(damaged+rest), 0o644))
		s, err := journal.Read(path)
		if !errors.Is(err, journal.ErrFirstLine) || s == nil || !s.Headless || len(s.Holes()) != 3 || len(s.Damaged) > 0 {
			t.Fatalf("first line %q: read %+v, %v", damaged, s, err)
		}
		other := head
		other.Bench = "other.bench"
		j, err := journal.Open(path, other, clock(time.Second))
		must(t, err)
		if !j.Headless || j.Head != other || len(j.Holes()) != 3 {
			t.Errorf("first line %q: opened %+v", damaged, j.State)
		}
		must(t, j.Cut(holes(3, 10)))
		must(t, j.Close())
		if s, err = journal.Read(path); err != nil || s.Headless || s.Head != other || len(s.Holes()) != 4 ||
			len(s.Damaged) > 0 {
			t.Errorf("first line %q: after that %+v, %v", damaged, s, err)
		}
	}
	must(t, os.WriteFile(path, []byte("a damaged line\n"), 0o644))
	if _, err := journal.Read(path); err == nil || !strings.Contains(err.Error(), "move it away to begin anew") {
		t.Errorf("a first line with nothing behind it: %v", err)
	}
}

// A file that is no journal stays as it is.
func TestOtherFiles(t *testing.T) {
	for _, text := range []string{"voice \"a\" {\n}\n", "no journal", "rollwright-journal 2 title=\"x\" *00000000\n",
		"rollwright-journal 1 title=\"x\" *00000000\n", "\n"} {
		path := filepath.Join(t.TempDir(), "a.journal")
		must(t, os.WriteFile(path, []byte(text), 0o644))
		if _, err := journal.Open(path, head, time.Now); err == nil {
			t.Errorf("%q was opened", text)
		}
		if _, err := journal.Read(path); err == nil {
			t.Errorf("%q was read", text)
		}
		if got, _ := os.ReadFile(path); string(got) != text {
			t.Errorf("%q became %q", text, got)
		}
	}
	if _, err := journal.Read(filepath.Join(t.TempDir(), "none")); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("a journal that is not there: %v", err)
	}
}

func TestOnlyOneAtATime(t *testing.T) {
	path := filepath.Join(t.TempDir(), "a.journal")
	j := open(t, path, time.Now)
	if _, err := journal.Open(path, head, time.Now); !errors.Is(err, journal.ErrBusy) {
		t.Errorf("opened twice: %v", err)
	}
	if _, err := journal.Read(path); err != nil {
		t.Errorf("reading beside: %v", err)
	}
	must(t, j.Close())
	must(t, open(t, path, time.Now).Close())
}

// A record of two punches each 9 seconds: rows that all have two strokes do not tell
// a stroke from a row, so both stand as is assumed, 5 to 4, and two and one take
// those 9 s: 45/14 and 36/14. Pauses do not count, nor does a gap of more than ten
// minutes.
func TestPace(t *testing.T) {
	assumed := bench.Pace{StrokeSec: 5, RowSec: 4}
	now := time.Unix(1_700_000_000, 0)
	j := open(t, filepath.Join(t.TempDir(), "a.journal"), func() time.Time { return now })
	must(t, j.Begin())
	for i := range 30 {
		now = now.Add(9 * time.Second)
		must(t, j.Cut(holes(float64(i), 10, 20)))
		if got := j.Pace(assumed); i < 19 && got.Known() {
			t.Fatalf("a pace of %v after %d punches", got, 2*i+2)
		}
		switch i {
		case 10:
			must(t, j.Pause())
			now = now.Add(8 * time.Minute)
			must(t, j.Resume())
		case 20:
			now = now.Add(time.Hour) // a power cut: nobody said pause
			must(t, j.Begin())
		case 25:
			now = now.Add(11 * time.Minute)
			must(t, j.Cut(holes(1000, 10)))
		}
	}
	if got := j.Pace(assumed); math.Abs(got.StrokeSec-45.0/14) > 1e-12 || math.Abs(got.RowSec-36.0/14) > 1e-12 {
		t.Errorf("pace %v, want 45/14 and 36/14", got)
	}
	if worked, punches := j.Worked(); worked != 270*time.Second || punches != 60 {
		t.Errorf("worked %v for %d punches, want 270 s for 60", worked, punches)
	}
}

func TestPaths(t *testing.T) {
	dir := t.TempDir()
	piece := filepath.Join(dir, "low.piece")
	for _, c := range []struct {
		piano         string
		spool, spools int
		want          string
	}{{"", 1, 1, "low.piece.journal"}, {"left", 1, 1, "low.piece.left.journal"},
		{"left", 2, 3, "low.piece.left.spool-2.journal"}, {"", 2, 3, "low.piece.spool-2.journal"}} {
		path := journal.Path(piece, c.piano, c.spool, c.spools)
		if filepath.Base(path) != c.want {
			t.Errorf("%v: %s", c, path)
		}
		must(t, os.WriteFile(path, nil, 0o644))
	}
	for _, other := range []string{"low.piece", "low.pieces.journal", "high.piece.journal", "low.piece.left.csv"} {
		must(t, os.WriteFile(filepath.Join(dir, other), nil, 0o644))
	}
	got, err := journal.Beside(piece)
	if err != nil || len(got) != 4 || filepath.Base(got[0]) != "low.piece.journal" {
		t.Errorf("beside it lie %v, %v", got, err)
	}
}

// TestMain lets the kill test run this binary as the program that is killed.
func TestMain(m *testing.M) {
	if path := os.Getenv("ROLLWRIGHT_TEST_JOURNAL"); path != "" {
		punchForEver(path)
	}
	os.Exit(m.Run())
}

// punchForEver records row after row, and says each one that is recorded.
func punchForEver(path string) {
	j, err := journal.Open(path, head, time.Now)
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
	for row := len(j.Holes()) / 2; ; row++ {
		if err := j.Cut(holes(float64(row), 10, 20)); err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
		fmt.Println(row)
	}
}

// TestKilledAHundredTimes kills a program that records rows, at random moments:
// no row that it has said to be recorded is missing, none is there that was not
// begun, and the next run goes on.
func TestKilledAHundredTimes(t *testing.T) {
	exe, err := os.Executable()
	must(t, err)
	path := filepath.Join(t.TempDir(), "a.journal")
	random := rand.New(rand.NewPCG(5, 1911))
	said := -1
	for kill := range 100 {
		cmd := exec.Command(exe)
		cmd.Env = append(os.Environ(), "ROLLWRIGHT_TEST_JOURNAL="+path)
		cmd.Stderr = os.Stderr
		out, err := cmd.StdoutPipe()
		must(t, err)
		must(t, cmd.Start())
		rows := bufio.NewScanner(out)
		want := random.IntN(6) // how many rows before the axe falls
		// Every third time the axe falls by the clock, which on a busy machine is before
		// anything is recorded; else after a while of recording.
		axe := func(pause time.Duration) { time.AfterFunc(pause, func() { cmd.Process.Kill() }) }
		byClock, pause := kill%3 == 0, time.Duration(random.IntN(30))*time.Millisecond
		if byClock {
			axe(3*time.Millisecond + pause)
		}
		for first := true; rows.Scan(); first = false {
			if first && !byClock {
				axe(pause)
			}
			n, err := strconv.Atoi(rows.Text())
			if err != nil {
				break // killed in the middle of saying it
			}
			said = n
			if want--; want < 0 {
				cmd.Process.Kill()
			}
		}
		cmd.Wait()
		s, err := journal.Read(path)
		if errors.Is(err, fs.ErrNotExist) && said < 0 {
			continue // killed before its first line
		}
		must(t, err)
		got := s.Holes()
		if len(s.Damaged) > 0 || len(got) < 2*(said+1) || len(got)%2 != 0 {
			t.Fatalf("kill %d: %d holes, damaged %v; rows up to %d were said to be recorded", kill+1, len(got), s.Damaged, said)
		}
		for i, h := range got {
			if h.AlongMM != float64(i/2) {
				t.Fatalf("kill %d: hole %d lies at %v", kill+1, i, h)
			}
		}
	}
	if said < 50 {
		t.Errorf("only %d rows were recorded between the kills: the test proves little", said+1)
	}
}

// Whatever a file holds, reading it does not fail badly; what is read is the
// same when it is opened to go on.
func FuzzRead(f *testing.F) {
	path := filepath.Join(f.TempDir(), "seed.journal")
	j, err := journal.Open(path, head, clock(time.Second))
	if err != nil {
		f.Fatal(err)
	}
	must(f, j.Begin())
	must(f, j.Cut(holes(1, 10, 20)))
	must(f, j.Close())
	text, err := os.ReadFile(path)
	must(f, err)
	f.Add(text)
	f.Add([]byte(strings.Replace(string(text), "cut", "slip", 1)))
	f.Fuzz(func(t *testing.T, text []byte) {
		path := filepath.Join(t.TempDir(), "f.journal")
		must(t, os.WriteFile(path, text, 0o644))
		read, readErr := journal.Read(path)
		j, err := journal.Open(path, head, clock(time.Second))
		if err != nil {
			if readErr == nil {
				t.Fatalf("read but not opened: %v", err)
			}
			return
		}
		defer j.Close()
		if readErr == nil && !slices.Equal(read.Holes(), j.Holes()) {
			t.Fatalf("read %v, opened %v", read.Holes(), j.Holes())
		}
		must(t, j.Cut(holes(5, 6)))
		again, err := journal.Read(path)
		must(t, err)
		if !slices.Equal(again.Holes(), j.Holes()) {
			t.Fatalf("after a row %v, in memory %v", again.Holes(), j.Holes())
		}
	})
}

func Example() {
	dir, err := os.MkdirTemp("", "journal")
	if err != nil {
		panic(err)
	}
	defer os.RemoveAll(dir)
	path := journal.Path(filepath.Join(dir, "first.piece"), "", 1, 1)
	noon := func() time.Time { return time.Date(2026, 1, 2, 12, 0, 0, 0, time.UTC) }
	j, err := journal.Open(path, journal.Head{Title: "First", Bench: "crank-2mm", TurnMM: 2, Parts: 20, DieMM: 1.7272,
		Spool: 1, Spools: 1, ToSec: 40}, noon)
	if err != nil {
		panic(err)
	}
	if err := j.Cut([]journal.Hole{{AcrossMM: 62.4417, AlongMM: 0.9}, {AcrossMM: 82.1972, AlongMM: 0.9}}); err != nil {
		panic(err)
	}
	j.Close()
	text, _ := os.ReadFile(path)
	fmt.Print(string(text))
	// Output:
	// rollwright-journal 1 title="First" piano="" bench="crank-2mm" turn=2 parts=20 die=1.7272 spool=1/1 from=0 to=40 along=0 across=0 about=0 *b2656384
	// cut 1767355200000 @0.9000 62.4417 82.1972 *8fc1c1f6
}

// One row on the disk, acknowledged.
func BenchmarkCut(b *testing.B) {
	j := open(b, filepath.Join(b.TempDir(), "a.journal"), time.Now)
	defer j.Close()
	row := holes(1, 10, 20, 30)
	for b.Loop() {
		row[0].AlongMM++
		if err := j.Cut(row); err != nil {
			b.Fatal(err)
		}
	}
}

// Rows of one to four strokes at 3.2 s a stroke and 2.5 s a row are fitted to just
// that, a row that is cut in two records being one row. With a fifth of the time as
// noise the times still sum up to what was worked.
func TestPaceIsFitted(t *testing.T) {
	for _, noise := range []float64{0, 0.2, 3} {
		now := time.Unix(1_700_000_000, 0)
		j := open(t, filepath.Join(t.TempDir(), "a.journal"), func() time.Time { return now })
		must(t, j.Begin())
		rng := rand.New(rand.NewPCG(1, 2))
		pass := func(sec float64) {
			ms := time.Duration(sec * 1000 * (1 + noise*(rng.Float64()-0.5)))
			now = now.Add(max(ms, 1) * time.Millisecond)
		}
		strokes := 0
		for row := range 120 {
			n := 1 + row%4
			strokes += n
			if n == 4 && row%3 == 0 { // four strokes, of which one was forgotten at first
				pass(2.5 + 3*3.2)
				must(t, j.Cut(holes(float64(row), 10, 20, 30)))
				pass(3.2)
				must(t, j.Cut(holes(float64(row), 40)))
				continue
			}
			pass(2.5 + float64(n)*3.2)
			must(t, j.Cut(holes(float64(row), []float64{10, 20, 30, 40}[:n]...)))
		}
		got := j.Pace(bench.Pace{StrokeSec: 5, RowSec: 4})
		worked, _ := j.Worked()
		if sum := got.WorkSec(strokes, 120); math.Abs(sum-worked.Seconds()) > 1e-6*sum {
			t.Errorf("noise %g: %v makes %g s, worked were %v", noise, got, sum, worked)
		}
		if noise == 0 && (math.Abs(got.StrokeSec-3.2) > 1e-9 || math.Abs(got.RowSec-2.5) > 1e-9) {
			t.Errorf("%v, want 3.2 and 2.5", got)
		}
		if noise == 0.2 && (math.Abs(got.StrokeSec-3.2) > 0.5 || math.Abs(got.RowSec-2.5) > 1.2) {
			t.Errorf("noise %g: %v, want near 3.2 and 2.5", noise, got)
		}
	}
}
