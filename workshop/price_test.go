package workshop

import (
	"context"
	"encoding/csv"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"rollwright/examples"
	"rollwright/making/bench"
	"rollwright/making/price"
	"rollwright/sound"
	"rollwright/text/source"
)

func jobOf(t *testing.T, name, text string) *Job {
	t.Helper()
	j, err := New(t.Context(), &source.File{Name: name, Text: []byte(text)}, t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	return j
}

func billOf(t *testing.T, j *Job, m *Making) *price.Bill {
	t.Helper()
	b, err := j.Price(t.Context(), m)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// What the voices of an example cost adds up to its bill, and the bill is what the
// worksheet has: a line of its table for every row, with so many strokes.
func TestPricesAddUpToTheWorksheet(t *testing.T) {
	for _, e := range examples.List() {
		for _, at := range []string{"", bench.Default()} {
			text, err := examples.Source(e.Name)
			if err != nil {
				t.Fatal(err)
			}
			j := jobOf(t, e.Name+".piece", string(text))
			m := Making{Bench: at}
			plans, err := j.benchPlans(&m)
			if err != nil {
				t.Fatal(err)
			}
			pace := bench.Pace{StrokeSec: 3, RowSec: 7}
			b := price.Of(j.Performance, plans, pace)
			strokes, rows := worksheetOf(t, j, m)
			if b.Whole.Punches != strokes || b.Whole.Rows != rows {
				t.Errorf("%s %q: %+v, the worksheet has %d strokes in %d rows", e.Name, at, b.Whole, strokes, rows)
			}
			var voices, lines price.Cost
			own := b.Shared
			for _, v := range b.Voices {
				add(&voices, v.Cost)
				own += v.Rows
				for _, l := range v.Lines {
					add(&lines, l.Cost)
				}
			}
			if voices.Slots != b.Whole.Slots || voices.Punches != strokes || own != rows ||
				math.Abs(voices.WorkSec-b.Whole.WorkSec) > 1e-6 {
				t.Errorf("%s %q: voices %+v and %d rows, whole %+v", e.Name, at, voices, own, b.Whole)
			}
			if lines.Slots != voices.Slots || lines.Punches != strokes || math.Abs(lines.WorkSec-voices.WorkSec) > 1e-6 {
				t.Errorf("%s %q: lines %+v, voices %+v", e.Name, at, lines, voices)
			}
		}
	}
}

func add(to *price.Cost, c price.Cost) {
	to.Slots, to.Punches = to.Slots+c.Slots, to.Punches+c.Punches
	to.Rows, to.WorkSec = to.Rows+c.Rows, to.WorkSec+c.WorkSec
}

// worksheetOf counts what the worksheet's table has.
func worksheetOf(t *testing.T, j *Job, m Making) (strokes, rows int) {
	t.Helper()
	m.Worksheet = true
	path := filepath.Join(t.TempDir(), "rows.csv")
	if _, err := j.Write(t.Context(), path, Options{Making: m}); err != nil {
		t.Fatal(err)
	}
	file, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	all, err := csv.NewReader(file).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	column := map[string]int{}
	for i, name := range all[0] {
		column[name] = i
	}
	for _, row := range all[1:] {
		if row[column["row"]] == "" {
			continue
		}
		rows++
		n, err := strconv.Atoi(row[column["strokes"]])
		if err != nil {
			t.Fatal(err)
		}
		strokes += n
	}
	return strokes, rows
}

// Three voices: a bass that is held, a run of gestures, and a high note held for
// longer than its strings sound.
const costly = `tempo = 60
voice "bass" {
  talea = "5 3 (1)"
  color = "C2 G2"
}
voice "run" {
  talea = "4 2"
  color = "C5 trill(D5 E5 8/s) F5~0.5"
  dynamics = "mf ff"
}
voice "glass" {
  talea = "30 2"
  color = "C8 C7"
}
`

// Every saving is what comes out when the hold is written into the piece, which is
// then read, performed, laid out and put in rows from the beginning.
func TestSavingsComeOut(t *testing.T) {
	for _, at := range []string{"", bench.Default()} {
		before := billOf(t, jobOf(t, "costly.piece", costly), &Making{Bench: at})
		if len(before.Savings) < 6 {
			t.Fatalf("savings %+v", before.Savings)
		}
		for _, s := range before.Savings {
			text := costly
			for _, voice := range []string{"bass", "run", "glass"} {
				if s.Voice == "" || s.Voice == voice {
					head := fmt.Sprintf("voice %q {\n", voice)
					text = strings.Replace(text, head, head+"  hold = "+s.Hold+"\n", 1)
				}
			}
			after := billOf(t, jobOf(t, "costly.piece", text), &Making{Bench: at})
			if got := before.Whole.Beyond(after.Whole); got != s.Cost {
				t.Errorf("bench %q, %q hold = %s: saves %+v, promised %+v", at, s.Voice, s.Hold, got, s.Cost)
			}
		}
	}
}

// C8 is held for 30 sixteenths, 7.5 s, and has sunk after some: what lies beyond is unheard, and
// nothing of it where the pedal is down.
func TestUnheard(t *testing.T) {
	b := billOf(t, jobOf(t, "costly.piece", costly), &Making{})
	sink, err := sound.SinkSec(108, sound.Metal) // a piano that says nothing
	if err != nil {
		t.Fatal(err)
	}
	if len(b.Unheard) != 1 || b.Unheard[0].Voice != "glass" || b.Unheard[0].Slots != 1 || b.Unheard[0].Key != 108 ||
		b.Unheard[0].SinkSec != sink {
		t.Fatalf("unheard %+v, C8 sinks in %g s", b.Unheard, sink)
	}
	// At 40.64 mm/s and webs every 2.2578 mm a punch is 55.6 ms: so
	// many fit into what is held beyond the sinking, within one at each end.
	want := (7.5 - sink) / (2.2578 / 40.64)
	if got := float64(b.Unheard[0].Punches); math.Abs(got-want) > 2 {
		t.Errorf("%g punches unheard, reckoned %.1f", got, want)
	}
	held := false
	for _, s := range b.Savings {
		held = held || s.Voice == "glass" && strings.HasSuffix(s.Hold, ` s"`) && s.Cost.Punches >= b.Unheard[0].Punches-1
	}
	if !held {
		t.Errorf("no saving leaves out what is not heard: %+v", b.Savings)
	}
	down := strings.Replace(costly, "color = \"C8 C7\"", "color = \"C8 C7\"\n  pedal = \"29-31\"", 1)
	if b := billOf(t, jobOf(t, "costly.piece", down), &Making{}); len(b.Unheard) != 0 {
		t.Errorf("under pedal %+v", b.Unheard)
	}
	if _, err := jobOf(t, "costly.piece", costly).Price(cancelled(), &Making{}); err == nil {
		t.Error("a bill although nobody wants it any more")
	}
}

func cancelled() context.Context {
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	return ctx
}
