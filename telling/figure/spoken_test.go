package figure_test

import (
	"strings"
	"testing"

	"rollwright/telling/figure"
)

// Being at the same place of the music and striking together are two things, and
// all pictures use the same words for each. In tides the voices come to unit 126
// of 189 (2/3) at 126 * 5/32 s = 19.6875 s, between two notes.
func TestPlaceAndStroke(t *testing.T) {
	in := input(t, tides)
	for _, c := range []struct {
		kind string
		o    figure.Options
		want []string
		not  []string
	}{
		{"lines", figure.Options{}, []string{
			`come to the same place of the music at 0:19.7, the meeting point, where no note begins; meet = "note 48" would make it sound`,
			"low and mid never strike together. Their nearest miss is 1.74 ms. Their speeds have no common measure: they could only once, at 0:19.7, and there neither begins a note.",
			"mid and high never strike together. Their nearest miss is 3.26 ms.",
		}, []string{"never meet", "can meet"}},
		{"lines", figure.Options{Size: figure.Slide}, []string{"At 0:19.7 all voices of tides are at the same place", "could only once, at 0:19.7"}, []string{"nearest miss"}},
		// The stretch has none of the meeting point and none of shimmer.
		{"lines", figure.Options{FromSec: 15, ToSec: 18}, []string{
			"low and mid do not strike together here. Their nearest miss is 1.74 ms.",
			"mid and high do not strike together here. Their nearest miss is 4.9 ms.",
		}, []string{"0:19.7", "shimmer"}},
		{"meeting", figure.Options{}, []string{
			"tides: all voices at the same place at 0:19.7", "All reach unit 126 at 19.688 s.",
			`No note begins there; meet = "note 48" would make it sound.`,
			// 19.6875 s less 126 * 5/32 / sqrt(3) = 11.36658 s
			"mid needs 11.367 s to get there, so it begins at 19.688 − 11.367 = 8.321 s.",
		}, []string{"meet at"}},
		{"lag", figure.Options{}, []string{
			"At the beginning mid is 8.32 s behind, at the end 4.16 s ahead. At the beginning high is 5.2 s behind, at the end 2.6 s ahead.",
			"At 19.688 s all are at the same place, and every distance is 0.",
		}, []string{"both"}},
		{"lag", figure.Options{Pair: [2]string{"low", "mid"}}, []string{"At 19.688 s both are at the same place, and the distance is 0."}, []string{"high"}},
		{"lag", figure.Options{ToSec: 10}, []string{"At 0:00.0 mid is 8.32 s behind, at 0:08.4 4.75 s behind."}, []string{"19.6", "at the end"}},
	} {
		f := drawn(t, c.kind, in, c.o)
		says := f.Title + " " + f.Caption
		for _, want := range c.want {
			if !strings.Contains(says, want) {
				t.Errorf("%s %+v: %q is missing in %q", c.kind, c.o, want, says)
			}
		}
		for _, not := range c.not {
			if strings.Contains(says, not) {
				t.Errorf("%s %+v: %q stands in %q", c.kind, c.o, not, says)
			}
		}
	}
}

// What lies outside a stretch leaves no mark, and each pair's nearest miss is
// written into its rows.
func TestLinesKeepToTheirStretch(t *testing.T) {
	in := input(t, tides)
	for _, size := range []figure.Size{figure.Page, figure.Slide} {
		f := drawn(t, "lines", in, figure.Options{FromSec: 15, ToSec: 18, Size: size})
		for _, m := range texts(f) {
			if m.Text == "shimmer" {
				t.Error("shimmer, which begins at 0:29.5, has a row")
			}
		}
		if n := len(f.Drawing.Layer("rows", "").Marks); n == 0 {
			t.Error("no rows")
		}
		if a, b := text(t, f, "miss-1-2").Text, text(t, f, "miss-2-3").Text; a != "1.74 ms" || b != "4.9 ms" {
			t.Errorf("misses %q and %q", a, b)
		}
		f = drawn(t, "lines", in, figure.Options{Size: size})
		if a, b := text(t, f, "miss-1-2").Text, text(t, f, "miss-2-3").Text; a != "nearest: 1.74 ms" || b != "3.26 ms" {
			t.Errorf("misses %q and %q of the whole", a, b)
		}
	}
	if _, err := figure.Draw("lines", in, figure.Options{Voice: "shimmer", FromSec: 15, ToSec: 18}); err == nil ||
		!strings.Contains(err.Error(), "no voice plays between 15 s and 18 s") {
		t.Errorf("a voice outside the stretch: %v", err)
	}
}

// A voice alone meets nobody: an error with the way out, or, where the piece has
// no other, a sentence.
func TestMeetingOfOne(t *testing.T) {
	_, err := figure.Draw("meeting", input(t, tides), figure.Options{Voice: "shimmer"})
	if err == nil || !strings.Contains(err.Error(), `choose two with pair, or a voice of a canon, such as "low"`) {
		t.Errorf("%v", err)
	}
	f := drawn(t, "meeting", input(t, "voice \"a\" {\n  talea = 1\n  color = \"C4 E4\"\n}\n"), figure.Options{})
	if !strings.Contains(f.Caption, "The piece has one voice") {
		t.Errorf("caption %q", f.Caption)
	}
}
