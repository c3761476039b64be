package overhear

import (
	"flag"
	"fmt"
	"math"
	"os"
	"testing"
	"time"
)

var (
	each  = flag.Int("each", 20, "takes of each kind in the series")
	from  = flag.Int("from", 1000, "number of the first: others are other takes")
	dump  = flag.String("dump", "", "a file for what the series heard of every stroke, as CSV")
	quiet = flag.Bool("quiet", false, "no line a take")
)

func rootOf(x float64) float64 { return math.Sqrt(max(x, 0)) }

// curveOfCertainty counts, by how sure verdicts are said to be, how many are right.
type curveOfCertainty struct {
	said, right, n [len(sureEdges)]float64
}

var sureEdges = [...]float64{0.5, 0.6, 0.7, 0.8, 0.9, 0.95, 0.98, 0.99, 0.999, 1.01}

func (c *curveOfCertainty) add(s *stroke, sounded bool) {
	sure := s.sure()
	for i := range len(sureEdges) - 1 {
		if sure >= sureEdges[i] && sure < sureEdges[i+1] {
			c.said[i] += sure
			c.n[i]++
			if (s.sounded > 0.5) == sounded {
				c.right[i]++
			}
		}
	}
}

func (c *curveOfCertainty) String() string {
	out := "certainty said, and how often it was right:\n"
	for i, n := range c.n {
		if n > 0 {
			out += fmt.Sprintf("  %.3f  %.3f  of %.0f\n", c.said[i]/n, c.right[i]/n, n)
		}
	}
	return out
}

// BenchmarkSeries makes takes of every kind and holds what is heard of them
// against the truth; docs/listening.md has its numbers:
//
//	go test ./scan/overhear -run '^$' -bench Series -benchtime 1x -timeout 2h
func BenchmarkSeries(b *testing.B) {
	all := &curveOfCertainty{}
	var file *os.File
	if *dump != "" {
		var err error
		if file, err = os.Create(*dump); err != nil {
			b.Fatal(err)
		}
		defer file.Close()
	}
	within, asked := map[string]int{}, map[string]int{}
	for _, kind := range kinds {
		b.Run(kind, func(b *testing.B) {
			for range b.N {
				seriesOf(b, kind, all, within, asked, file)
			}
		})
	}
	for _, name := range []string{"speed", "slowing", "late bass", "late middle"} {
		fmt.Printf("%s: truth within the range in %d of %d\n", name, within[name], asked[name])
	}
	fmt.Print(all)
}

func seriesOf(b *testing.B, kind string, all *curveOfCertainty, within, asked map[string]int, file *os.File) {
	var o outcome
	worst, cpu := 0.0, time.Duration(0)
	for n := *from; n < *from+*each; n++ {
		x := newTrial(b, kind, n)
		rec := recorded(b, x.take)
		clock := time.Now()
		r, err := Hear(b.Context(), x.roll, rec)
		cpu += time.Since(clock)
		if err != nil {
			b.Errorf("%s %d: %v", kind, n, err)
			continue
		}
		one := x.outcome(r)
		if !*quiet {
			fmt.Printf("%s %d %s: transport %.1f ms rms, %.1f ms off; %d strokes, %d silent, found %d, false %d, unsure %d; dead %d of %d, false %d; within %v\n", kind, n, pieces[n%len(pieces)],
				one.rmsMS, one.biasMS, one.strokes, one.silent, one.found, one.falseAlarm, one.unsure, one.deadFound, one.dead,
				one.deadFalse, one.within)
		}
		worst = max(worst, one.rmsMS)
		o.strokes, o.silent, o.found = o.strokes+one.strokes, o.silent+one.silent, o.found+one.found
		o.falseAlarm, o.unsure = o.falseAlarm+one.falseAlarm, o.unsure+one.unsure
		o.dead, o.deadFound, o.deadFalse = o.dead+one.dead, o.deadFound+one.deadFound, o.deadFalse+one.deadFalse
		for name, ok := range one.within {
			asked[name]++
			if ok {
				within[name]++
			}
		}
		truth := x.truth()
		for i := range r.list {
			s := &r.list[i]
			if !s.inTake {
				continue
			}
			all.add(s, truth[s.slot].Sounded)
			if file != nil {
				y := 0
				if truth[s.slot].Sounded {
					y = 1
				}
				fmt.Fprintf(file, "%s,%d,%d,%d,%.4f,%.4f,%.4f,%.4f,%.4f,%.4f,%.3f\n", kind, n, s.key, y, s.odds[soon], s.could[soon],
					s.odds[later], s.could[later], s.rise, s.sounded,
					1e3*(s.heard-truth[s.slot].Sec))
			}
		}
	}
	b.ReportMetric(worst, "worst-ms-rms")
	b.ReportMetric(500*float64(o.falseAlarm)/float64(o.strokes), "false-silent/500")
	b.ReportMetric(100*float64(o.found)/float64(max(o.silent, 1)), "%silent-found")
	b.ReportMetric(100*float64(o.unsure)/float64(o.strokes), "%unsure")
	b.ReportMetric(float64(o.dead-o.deadFound), "dead-missed")
	b.ReportMetric(float64(o.deadFalse), "dead-false")
	b.ReportMetric(cpu.Seconds()/float64(*each), "s/take")
}
