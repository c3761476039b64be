package show_test

import (
	"math"
	"strings"
	"testing"

	"rollwright/telling/show"
)

// TestSubtitles holds every cue of a talk against the piece: the title first, a
// voice's words not before it enters, those of a meeting when its notes strike.
func TestSubtitles(t *testing.T) {
	job := example(t, "two-shuttles")
	l := lectureOf(t, job, show.Options{})
	end := job.EndSec
	cues := l.Subtitles(0, end)
	if len(cues) < 5 || cues[0].FromSec != 0 || cues[0].Text != "Two Shuttles" {
		t.Fatalf("%+v", cues)
	}
	for i, c := range cues {
		if i > 0 && c.FromSec < cues[i-1].ToSec {
			t.Errorf("%q begins before the end of %q", c.Text, cues[i-1].Text)
		}
		if c.ToSec > end || c.ToSec-c.FromSec < 1.4 || c.ToSec-c.FromSec > 7.1 {
			t.Errorf("%+v", c)
		}
	}
	// quick enters later than slow, and they meet at 0:56.0
	var against, meeting bool
	for _, c := range cues {
		if strings.HasPrefix(c.Text, "The same line at two speeds") {
			against = true
			if first := job.Performance.Lines[1].Item(0).StartSec; c.FromSec < first || c.FromSec > first+25 {
				t.Errorf("said at %.2f s of a voice that enters at %.2f s", c.FromSec, first)
			}
		}
		if strings.HasPrefix(c.Text, "At 0:56.0") {
			meeting = true
			if math.Abs(c.FromSec-56) > 1e-6 {
				t.Errorf("the meeting is said at %g s", c.FromSec)
			}
		}
	}
	if !against || !meeting {
		t.Errorf("against %v, meeting %v: %+v", against, meeting, cues)
	}
	for _, c := range l.Subtitles(50, 60) {
		if c.FromSec < 50 || c.ToSec > 60 {
			t.Errorf("outside the stretch: %+v", c)
		}
	}
}
