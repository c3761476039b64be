package proof

import (
	"bufio"
	"fmt"
	"io"
	"strings"

	"rollwright/paper/roll"
)

// WriteText lists the differences for a person, a line each; name says what a
// port, an index into Instrument.Bar.Ports, is called. Only the writer fails.
func (r *Result) WriteText(w io.Writer, name func(port int32) string) error {
	b := bufio.NewWriterSize(w, 1<<16)
	for i := range r.Differences {
		d := &r.Differences[i]
		_, _ = fmt.Fprintf(b, "%-8s %s, port %d: %s\n", d.Kind, name(d.Port), d.Port+1, r.Says(d)) // Flush says what fails
	}
	return b.Flush()
}

// Says is where a difference lies, how large it is, and whose notes it touches.
func (r *Result) Says(d *Difference) string {
	planned := stretch(d.LeadMM, d.TrailMM)
	var text string
	switch d.Kind {
	case Missing:
		text = planned
	case Extra:
		text = stretch(d.FoundLeadMM, d.FoundTrailMM) + ", not planned"
	case Shifted:
		by := (d.FoundLeadMM - d.LeadMM + d.FoundTrailMM - d.TrailMM) / 2
		text = fmt.Sprintf("%s, found %s", planned, apart(by, "later", "earlier"))
	case Short, Long:
		change := (d.FoundTrailMM - d.FoundLeadMM) - (d.TrailMM - d.LeadMM)
		found := stretch(d.FoundLeadMM, d.FoundTrailMM)
		text = fmt.Sprintf("%s, found %s: %s", planned, apart(change, "longer", "shorter"), found)
	case Joined:
		text = fmt.Sprintf("%s, the paper between %d slots is gone", planned, len(d.Plan))
	case Split:
		text = fmt.Sprintf("%s, paper lies across it: %d slots found", planned, len(d.Found))
	}
	if notes := r.notes(d); notes != "" {
		text += "; " + notes
	}
	return text
}

// notes are the notes of a difference in words: "low note 3, high note 12".
func (r *Result) notes(d *Difference) string {
	voices, numbers := r.Causes(d)
	parts := make([]string, len(voices))
	for i := range voices {
		parts[i] = voices[i] + " note " + numbers[i]
	}
	return strings.Join(parts, ", ")
}

func stretch(from, to float64) string { return millimetres(from) + " to " + millimetres(to) + " mm" }

// millimetres is a place with one decimal, rounded as tables round.
func millimetres(mm float64) string {
	text := fmt.Sprintf("%.1f", float64(roll.Printed(mm))/1e4)
	if text == "-0.0" {
		return "0.0"
	}
	return text
}

// apart is a length with the word for its sign.
func apart(mm float64, above, below string) string {
	if mm < 0 {
		return millimetres(-mm) + " mm " + below
	}
	return millimetres(mm) + " mm " + above
}

// Summary is what was found, in a sentence.
func (r *Result) Summary() string {
	slots := fmt.Sprintf("%s planned, %s found", count(len(r.Plan.Slots), "slot"), count(len(r.Scan.Slots), "slot"))
	if len(r.Differences) == 0 {
		return "no difference: " + slots
	}
	var parts []string
	for k, n := range r.Count {
		if n > 0 {
			parts = append(parts, fmt.Sprintf("%d %s", n, Kind(k)))
		}
	}
	return fmt.Sprintf("%s: %s; %s", count(len(r.Differences), "difference"), strings.Join(parts, ", "), slots)
}

// fewOutside is how many slots may be missing at an end of the roll before it is
// said that the scan does not reach there.
const fewOutside = 8

// Remarks are what is said once about the whole scan: where paper jumps, and what
// of the plan it does not reach.
func (r *Result) Remarks() []string {
	var out []string
	if r.Before >= fewOutside {
		out = append(out, fmt.Sprintf("the scan begins at %s mm of the plan: %s before it %s missing",
			millimetres(r.FromMM), count(r.Before, "slot"), are(r.Before)))
	}
	for _, j := range r.Jumps {
		at := millimetres(j.ScanMM)
		if j.LostMM() > 0 {
			out = append(out, fmt.Sprintf("a splice at %s mm of the scan: the plan from %s, %s mm long, is lost",
				at, stretch(j.FromMM, j.ToMM), millimetres(j.LostMM())))
			continue
		}
		out = append(out, fmt.Sprintf("a splice at %s mm of the scan: %s mm more paper than the plan has at %s mm",
			at, millimetres(-j.LostMM()), millimetres(j.FromMM)))
	}
	if r.After >= fewOutside {
		out = append(out, fmt.Sprintf("the scan ends at %s mm of the plan: %s after it %s missing",
			millimetres(r.ToMM), count(r.After, "slot"), are(r.After)))
	}
	return out
}

func are(n int) string {
	if n == 1 {
		return "is"
	}
	return "are"
}

func count(n int, noun string) string {
	if n == 1 {
		return "1 " + noun
	}
	return fmt.Sprintf("%d %ss", n, noun)
}
