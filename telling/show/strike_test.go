package show_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"rollwright/telling/show"
)

// The same place of the music and striking together are two things: the meeting
// point of a canon has a step though no note falls there, with what the plan knows of the pair.
func TestMeetingPointWithoutNotes(t *testing.T) {
	l := lectureOf(t, jobOf(t, "p", ends), show.Options{})
	// 189 units of 5/32 s: 2/3 of them are 126 units = 19.6875 s of low, which
	// begins first, at 0. That is 18 units into the fifth talea, whose ninth
	// duration, the silent 3, goes from 16 to 19.
	point := stepNamed(t, l, "meeting 1")
	if point.MeetAt != 19.6875 || len(point.Meets) != 0 || !slices.Equal(point.Place, []int{0, 1, 2}) ||
		!slices.Equal(point.Voices, point.Place) {
		t.Errorf("meeting 1 at %v of %v, notes %v", point.MeetAt, point.Place, point.Meets)
	}
	if want := "The meeting point"; point.Title != want {
		t.Errorf("title %q, want %q", point.Title, want)
	}
	if got, want := point.Text[0], "tides are at the same place of the music. No note begins there."; !strings.HasSuffix(got, want) {
		t.Errorf("says %q", got)
	}
	against := stepNamed(t, l, "against")
	want := []string{
		"The same line at two speeds: while low plays one unit, mid plays √3 (1.7321).",
		"At 0:19.7 both are at the same place of the music. They could strike together only there, and neither begins a note.",
	}
	if !slices.Equal(against.Text, want) {
		t.Errorf("against: %q", against.Text)
	}
	if got, want := against.Say[len(against.Say)-1], `They would strike together at the meeting point with meet = "note 48" in the piece file.`; got != want {
		t.Errorf("advice %q", got)
	}
}

func TestMeetingPoints(t *testing.T) {
	for _, c := range []struct {
		meet          string
		title, says   string
		against, that string
	}{
		{"note 48", "The meeting point", "There note 48 of low, note 48 of mid and note 48 of high strike together.", "They strike together there, and nowhere else.", "note 48"},
		{"end", "The meeting point", "They end there together.", "They never strike together.", "the end"},
	} {
		text := strings.Replace(ends, `"2/3"`, `"`+c.meet+`"`, 1)
		l := lectureOf(t, jobOf(t, "p", text), show.Options{})
		s := stepNamed(t, l, "meeting 1")
		if s.Title != c.title || !strings.HasSuffix(s.Text[0], c.says) {
			t.Errorf("%s: %q says %q", c.that, s.Title, s.Text)
		}
		if got := stepNamed(t, l, "against").Text[1]; !strings.HasSuffix(got, c.against) {
			t.Errorf("%s: against says %q", c.that, got)
		}
	}
	// Voices that all begin at the meeting point are at one place by beginning.
	l := lectureOf(t, jobOf(t, "p", strings.Replace(strings.Replace(ends, `"2/3"`, `"start"`, 1), `"3 2 2`, `"(3) 2 2`,
		1)), show.Options{})
	for _, s := range l.Steps {
		if s.Kind == show.Meeting && len(s.Meets) == 0 {
			t.Errorf("a step for the beginning: %q", s.Text)
		}
	}
}

// Two voices outside a canon strike together, and are at no common place.
func TestStrikingTogether(t *testing.T) {
	l := lectureOf(t, jobOf(t, "p", voices), show.Options{})
	s := stepNamed(t, l, "meeting 1")
	if !strings.HasPrefix(s.Title, "Striking together, 1 of ") || !strings.Contains(s.Text[0], " strike together.") ||
		s.Place != nil {
		t.Errorf("%q says %q", s.Title, s.Text)
	}
}

// On the page the countdown says which of the two is awaited.
func TestCountdown(t *testing.T) {
	l := lectureOf(t, jobOf(t, "p", ends), show.Options{})
	p := browser(t)
	p.open(page(t, l), 1280, 720)
	point := stepNamed(t, l, "meeting 1")
	for _, c := range []struct {
		micros int64
		want   string
	}{
		// The meeting point is at 19.6875 s.
		{17_687_500, "Meeting point in 2.0 s"}, {19_687_500, "Now"}, {21_187_500, "Meeting point 1.5 s ago"},
	} {
		p.JS(fmt.Sprintf(`rollwright.go(%d); rollwright.seek(%d); await new Promise(r => setTimeout(r, 60))`, point.Number,
			c.micros))
		got := value[string](p, `document.querySelector(".step:not([hidden]) .down").textContent`)
		if got != c.want {
			t.Errorf("at %d µs: %q, want %q", c.micros, got, c.want)
		}
	}
}

// Two canons may come to their points at one instant: each is at a place of its own.
func TestTwoMeetingPointsAtOnce(t *testing.T) {
	canon := func(name string) string {
		return fmt.Sprintf("canon %q {\n  subject = \"line\"\n  meet    = \"note 3\"\n  at      = \"5 s\"\n  voice \"%[2]s1\" {}\n  voice \"%[2]s2\" {\n    speed = 2\n  }\n  voice \"%[2]s3\" {\n    speed = 3\n  }\n}\n", name, name[:1])
	}
	text := "tune \"line\" {\n  talea = \"2 1 3\"\n  color = \"C4 D4 E4 F4\"\n}\n" + canon("left") + canon("right")
	l := lectureOf(t, jobOf(t, "p", text), show.Options{})
	i := slices.IndexFunc(l.Steps, func(s *show.Step) bool { return s.Kind == show.Meeting && len(s.Place) > 0 })
	if i < 0 {
		t.Fatal("no meeting point")
	}
	want := "the canons left and right are at their meeting points: in each, all voices are at the same place of the music. There 6 voices strike together."
	if s := l.Steps[i]; !slices.Equal(s.Place, []int{0, 1, 2, 3, 4, 5}) || !strings.HasSuffix(s.Text[0], want) {
		t.Errorf("voices %v: %q", s.Place, s.Text)
	}
}
