// Package vtt writes subtitles as a WebVTT file.
//
// The format is W3C's "WebVTT: The Web Video Text Tracks Format" (Candidate
// Recommendation, 2019). Times are seconds, rounded to the format's whole
// milliseconds, halves up.
package vtt

import (
	"bufio"
	"fmt"
	"io"
	"math"
	"strings"
)

// Cue is words that are shown from one time to another.
type Cue struct {
	FromSec, ToSec float64 // 0 <= FromSec < ToSec, by at least a millisecond
	Text           string
}

// millis is the crossing from seconds to whole milliseconds, halves up.
func millis(sec float64) int64 { return int64(math.Floor(sec*1000 + 0.5)) }

// stamp is a time as section 4.1 has it, with hours.
func stamp(ms int64) string {
	return fmt.Sprintf("%02d:%02d:%02d.%03d", ms/3600000, ms/60000%60, ms/1000%60, ms%1000)
}

// plain makes a text one that section 4.2.2 allows in a cue: a line, without marks
// that would be tags or begin another cue.
var plain = strings.NewReplacer("&", "&amp;", "<", "&lt;", ">", "&gt;", "\r\n", " ", "\n", " ", "\r", " ", "\x00",
	"\uFFFD")

// Encode writes the cues in order. Errors: a cue whose times are wrong, and the
// first error of w.
func Encode(w io.Writer, cues []Cue) error {
	out := bufio.NewWriter(w)
	fmt.Fprint(out, "WEBVTT\n")
	for i, c := range cues {
		from, to := millis(c.FromSec), millis(c.ToSec)
		if !(c.FromSec >= 0) || from >= to {
			return fmt.Errorf("vtt: cue %d goes from %g s to %g s", i+1, c.FromSec, c.ToSec)
		}
		fmt.Fprintf(out, "\n%s --> %s\n%s\n", stamp(from), stamp(to), plain.Replace(c.Text))
	}
	return out.Flush()
}
