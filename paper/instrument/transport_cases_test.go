package instrument

import (
	"encoding/json"
	"fmt"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"

	"rollwright/internal/judge"
)

// transportCase is a transport with rows of paper: millimetres, seconds, mm/s.
type transportCase struct {
	Name          string
	RollTempo     float64 `json:"roll_tempo"`
	Spool         bool
	RadiusMM      float64      `json:"radius_mm"`
	ThicknessMM   float64      `json:"thickness_mm"`
	SlowingPerMM  float64      `json:"slowing_per_mm"`
	AlongSecSpeed [][3]float64 `json:"along_sec_speed"`
}

// transportCases are those to which the scripts of the two pages are held as well
// (web/page/test/transport.test.mjs).
func transportCases(t *testing.T) []transportCase {
	text, err := os.ReadFile("testdata/transport.json")
	if err != nil {
		t.Fatal(err)
	}
	var cases []transportCase
	if err := json.Unmarshal(text, &cases); err != nil {
		t.Fatal(err)
	}
	return cases
}

func TestTransportCases(t *testing.T) {
	for _, c := range transportCases(t) {
		tr := Transport{RollTempo: c.RollTempo, Spool: c.Spool, RadiusMM: c.RadiusMM, ThicknessMM: c.ThicknessMM,
			SlowingPerMM: c.SlowingPerMM}
		for _, row := range c.AlongSecSpeed {
			along, sec, speed := row[0], row[1], row[2]
			near(t, c.Name+": row", tr.AlongMM(sec), along, 1e-10*max(1, math.Abs(along)))
			near(t, c.Name+": time", tr.Sec(along), sec, 1e-10*max(1, math.Abs(sec)))
			near(t, c.Name+": speed", tr.SpeedAt(sec), speed, 1e-10*speed)
		}
	}
}

// integral knows nothing of closed forms: it adds up ds/v(s) in 40 digits, with
// v(s) = v0 sqrt(1 + h s/(pi r0^2)) (1 - min(k s, 0.8)).
const integral = `
import sys
from mpmath import mp, mpf, quad, sqrt, pi, nstr
mp.dps = 40
tempo, spool, r, h, k, s = sys.argv[1:]
a = mpf(h) / (pi * mpf(r)**2) if spool == "true" else mpf(0)
k, s = mpf(k), mpf(s)
v = lambda x: mpf(tempo) / 10 * mpf("304.8") / 60 * sqrt(1 + a*x) * (1 - min(k*x, mpf("0.8")))
to = [mpf(0), s] if k == 0 or s < mpf("0.8")/k else [mpf(0), mpf("0.8")/k, s]
print(nstr(quad(lambda x: 1/v(x), to), 16), nstr(v(s), 16))`

// The times and speeds of the cases are not ours: mpmath integrates them.
func TestTransportCasesJudged(t *testing.T) {
	number := func(x float64) string { return strconv.FormatFloat(x, 'g', -1, 64) }
	for _, c := range transportCases(t) {
		for _, row := range c.AlongSecSpeed {
			said := string(judge.Script(t, "mpmath", integral, number(c.RollTempo), fmt.Sprint(c.Spool), number(c.RadiusMM),
				number(c.ThicknessMM), number(c.SlowingPerMM), number(row[0])))
			var sec, speed float64
			if _, err := fmt.Sscan(strings.TrimSpace(said), &sec, &speed); err != nil {
				t.Fatal(said, err)
			}
			near(t, c.Name+": time", row[1], sec, 1e-12*max(1, math.Abs(sec)))
			near(t, c.Name+": speed", row[2], speed, 1e-12*speed)
		}
	}
}
