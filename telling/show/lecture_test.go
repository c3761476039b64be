package show_test

import (
	"bytes"
	"context"
	"fmt"
	"image/png"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"rollwright/draw"
	"rollwright/internal/judge"
	"rollwright/music/perform"
	"rollwright/telling/show"
	"rollwright/workshop"
)

// series is a voice of so many pitches on so many durations, played until both
// end together.
func series(pitches, durations int) string {
	color := strings.TrimSpace(strings.Repeat("C4 ", pitches))
	talea := strings.TrimSpace(strings.Repeat("1 ", durations))
	return fmt.Sprintf("voice \"v\" {\n  talea = %q\n  color = %q\n}\n", talea, color)
}

func stepNamed(t testing.TB, l *show.Lecture, name string) *show.Step {
	t.Helper()
	for _, s := range l.Steps {
		if s.Name == name {
			return s
		}
	}
	t.Fatalf("no step %q", name)
	return nil
}

// A tune of 40 units in bars of 12 after an upbeat of 4 has three bars; the page says so, and
// names pitches as the tune spells them: Bb3 and Ebb4, not A#3 and D4.
func TestBarsTold(t *testing.T) {
	l := lectureOf(t, jobOf(t, "ferry", `voice "ferry" {
  bar    = 12
  upbeat = 4
  line   = "G3:4 | Bb3:6 D4:2 E:4 | Ebb:4 E C | A3:8 (4) |"
}
`), show.Options{})
	rhythm, melody := stepNamed(t, l, "rhythm"), stepNamed(t, l, "melody")
	if want := "ferry is counted in bars of 12 units, after an upbeat of 4: 3 bars."; !strings.Contains(rhythm.Text[0], want) {
		t.Errorf("%q lacks %q", rhythm.Text[0], want)
	}
	if said := strings.Join(melody.Say, " "); !strings.Contains(said, "G3 Bb3 D4 E4 Ebb4") {
		t.Errorf("%q", said)
	}
}

// What the page says of two cycles is the arithmetic of the least common
// multiple.
func TestNumbersOfTogether(t *testing.T) {
	for _, c := range []struct {
		pitches, durations int
		want               string
	}{
		// Common practice: lcm(7, 6) = 42 = 6 * 7 = 7 * 6.
		{7, 6, "Only after 42 notes do both end together: 6 times through the color, 7 times through the talea."},
		// Messiaen, Quatuor pour la fin du temps, I: 29 chords on 17 durations, 493
		// until they realign (K. Kothman, course notes musTh 212, 2012).
		{29, 17, "Only after 493 notes do both end together: 17 times through the color, 29 times through the talea."},
		// The same, cello: 5 pitches on 15 durations, one talea is three colors.
		{5, 15, "Only after 15 notes do both end together: 3 times through the color, 1 time through the talea."},
		// Open Knowledge Graph, isorhythm questions: 40 notes, 5 and 8 statements.
		{8, 5, "Only after 40 notes do both end together: 5 times through the color, 8 times through the talea."},
	} {
		l := lectureOf(t, jobOf(t, "series", series(c.pitches, c.durations)), show.Options{})
		s := stepNamed(t, l, "together")
		if got := s.Text[0]; !strings.HasSuffix(got, c.want) {
			t.Errorf("%d on %d: %s", c.pitches, c.durations, got)
		}
		// A note is a sixteenth at 120 quarter notes a minute: an eighth of a second.
		notes, _ := strconv.Atoi(regexp.MustCompile(`after (\d+)`).FindStringSubmatch(c.want)[1])
		if want := float64(notes) / 8; s.ToSec != want {
			t.Errorf("%d on %d ends at %v s, want %v", c.pitches, c.durations, s.ToSec, want)
		}
	}
}

// Wherever the step ends, both series begin again; and nowhere before.
func TestTogetherEndsWhereBothBegin(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		pitches, durations := rapid.IntRange(1, 9).Draw(r, "pitches"), rapid.IntRange(1, 9).Draw(r, "durations")
		silent := rapid.IntRange(0, 3).Draw(r, "silent")
		talea := strings.Repeat("(1) ", silent) + strings.Repeat("2 ", durations)
		// At most 9 times through 9 durations of 2 and 3 silent units: 189.
		text := fmt.Sprintf("voice \"v\" {\n  talea = %q\n  color = %q\n  extent = \"200 units\"\n}\n",
			strings.TrimSpace(talea), strings.TrimSpace(strings.Repeat("C4 ", pitches)))
		job := jobOf(t, "series", text)
		end := stepNamed(t, lectureOf(t, job, show.Options{}), "together").ToSec
		for item := range job.Performance.Lines[0].All() {
			// The color begins anew where the notes so far are whole colors.
			anew := item.TaleaPlace == 0 && notesBefore(item, job.Performance.Lines[0])%pitches == 0
			if item.StartSec > 0 && item.StartSec < end && anew {
				r.Fatalf("both begin again at %v s, before %v s", item.StartSec, end)
			}
			if item.StartSec == end {
				if !anew {
					r.Fatalf("at %v s they do not both begin", end)
				}
				return
			}
		}
		r.Fatalf("no item begins at %v s", end)
	})
}

func notesBefore(item perform.Item, line *perform.Line) int {
	n := 0
	for it := range line.All() {
		if it.N >= item.N {
			return n
		}
		if !it.Silent {
			n++
		}
	}
	return n
}

// Terms are explained where the audience reads them first, and only there; plain
// words take their place throughout.
func TestTermsAreExplainedOnce(t *testing.T) {
	job := jobOf(t, "lesson", lesson)
	read := func(l *show.Lecture) string {
		var all []string
		for _, s := range l.Steps {
			all = append(append(all, s.Title), s.Text...)
		}
		return strings.Join(all, "\n")
	}
	text := read(lectureOf(t, job, show.Options{}))
	for _, term := range []string{"talea (the repeating series of durations)", "color (the repeating series of pitches)"} {
		word, _, _ := strings.Cut(term, " ")
		if strings.Count(text, term) != 1 || strings.Index(text, word) != strings.Index(text, term) {
			t.Errorf("%q is not explained at its first use, once:\n%s", word, text)
		}
	}
	l := lectureOf(t, job, show.Options{Plain: true})
	var b bytes.Buffer
	if err := l.WritePage(context.Background(), &b); err != nil {
		t.Fatal(err)
	}
	markup, _, _ := strings.Cut(b.String(), `<script type="application/json"`)
	words := regexp.MustCompile(`(?s)<style>.*?</style>|<[^>]*>`).ReplaceAllString(markup, " ")
	if found := regexp.MustCompile(`(?i)\b(talea|taleae|color|colores)\b`).FindString(words); found != "" {
		t.Errorf("a plain page says %q", found)
	}
	for _, want := range []string{"pitch series", "rhythm series"} {
		if !strings.Contains(words, want) {
			t.Errorf("a plain page does not say %q", want)
		}
	}
}

// All words come from the language file: what it translates is said in its
// words, on the page, in the text for the speaker, in the figures.
func TestLanguage(t *testing.T) {
	folder := t.TempDir()
	file := `{"language.tag": "xx", "language.name": "Test", "language.decimal": ",", "lecture.rhythm.title": "RHYTHMUS", "lecture.rhythm.say": "ZÄHLE {times}",
		"page.play": "SPIEL", "sheet.title": "BLATT"}`
	path := filepath.Join(folder, "xx.json")
	if err := os.WriteFile(path, []byte(file), 0o644); err != nil {
		t.Fatal(err)
	}
	text := strings.Replace(lesson, "show {", fmt.Sprintf("show {\n  language = %q", path), 1)
	l := lectureOf(t, jobOf(t, "lesson", text), show.Options{})
	var page, talk bytes.Buffer
	if err := l.WritePage(context.Background(), &page); err != nil {
		t.Fatal(err)
	}
	if err := l.WriteTalk(&talk, ".wav"); err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{`lang="xx"`, "RHYTHMUS", "<span>SPIEL</span>", "BLATT", `"decimal":","`, "ZÄHLE 5"} {
		if !strings.Contains(page.String(), want) {
			t.Errorf("the page lacks %q", want)
		}
	}
	if !strings.Contains(talk.String(), "ZÄHLE 5") || !strings.Contains(talk.String(), "3,5 s") {
		t.Errorf("the text for the speaker:\n%s", talk.String())
	}
}

// The files of a talk that has slides already: for every step that sounds a
// sound as long as its text says, a picture of 1920 by 1080, the same as SVG.
func TestSlides(t *testing.T) {
	job := jobOf(t, "lesson", lesson)
	folder := filepath.Join(t.TempDir(), "talk")
	names, err := job.WriteSlides(context.Background(), folder, workshop.Slides{Sound: ".wav"})
	if err != nil {
		t.Fatal(err)
	}
	l := lectureOf(t, job, show.Options{})
	var want []string
	for _, s := range l.Steps {
		want = append(want, s.FileName()+".png", s.FileName()+".svg")
		if s.Hear != show.Nothing {
			want = append(want, s.FileName()+".wav")
		}
	}
	want = append(want, "slides.pdf", "talk.txt")
	slices.Sort(want)
	if !slices.Equal(names, want) {
		t.Fatalf("files %v, want %v", names, want)
	}
	for _, s := range l.Steps {
		file, err := os.Open(filepath.Join(folder, s.FileName()+".png"))
		if err != nil {
			t.Fatal(err)
		}
		size, err := png.DecodeConfig(file)
		file.Close()
		if err != nil || size.Width != 1920 || size.Height != 1080 {
			t.Errorf("%s: %d by %d, %v", s.FileName(), size.Width, size.Height, err)
		}
	}
	text, err := os.ReadFile(filepath.Join(folder, "talk.txt"))
	if err != nil {
		t.Fatal(err)
	}
	pages := strings.Fields(output(t, judge.Program(t, "pdfinfo"), filepath.Join(folder, "slides.pdf")))
	if i := slices.Index(pages, "Pages:"); i < 0 || pages[i+1] != fmt.Sprint(len(l.Steps)) {
		t.Errorf("slides.pdf: %v", pages)
	}
	soxi := judge.Program(t, "soxi")
	for _, s := range l.Steps {
		if !strings.Contains(string(text), fmt.Sprintf("\n%d  %s (", s.Number, s.Title)) {
			t.Errorf("talk.txt lacks step %d", s.Number)
		}
		if s.Hear == show.Nothing {
			continue
		}
		path := filepath.Join(folder, s.FileName()+".wav")
		sec, err := strconv.ParseFloat(strings.TrimSpace(output(t, soxi, "-D", path)), 64)
		// The last notes ring on after the stretch.
		if err != nil || sec < s.Seconds()-1 || sec > s.Seconds()+8 {
			t.Errorf("%s lasts %v s, the step %v s", s.FileName(), sec, s.Seconds())
		}
	}
	if *pictures != "" {
		for _, name := range names {
			data, err := os.ReadFile(filepath.Join(folder, name))
			if err != nil {
				t.Fatal(err)
			}
			if strings.HasSuffix(name, ".png") {
				os.WriteFile(filepath.Join(*pictures, "slide-"+name), data, 0o644)
			}
		}
	}
}

// A piece of one note, and one whose only voice is silent after it, have their
// lecture too.
func TestSmallPieces(t *testing.T) {
	for name, text := range map[string]string{
		"note":  "voice \"a\" {\n  talea = 4\n  color = \"C4\"\n}\n",
		"chord": "voice \"a\" {\n  talea = \"4 (90)\"\n  color = \"C4+E4+G4\"\n}\n",
		"line":  "voice \"a\" {\n  line = \"gliss(C3 C6 white):16 (4) trill(C5 D5 14/s):8\"\n}\n",
		"back":  "voice \"a\" {\n  talea = \"3 (1) 2\"\n  color = \"C4 D4 E4\"\n  backward = true\n  rotate_talea = 1\n  rotate_color = 2\n}\n",
		"deep":  "voice \"a\" {\n  talea = \"3 2 1\"\n  color = \"C0 C4\"\n}\n",
	} {
		l := lectureOf(t, jobOf(t, name, text), show.Options{})
		var b bytes.Buffer
		if err := l.WritePage(context.Background(), &b); err != nil {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// A voice of one or two notes has no step of its own; the speaker is told where
// it is heard first.
func TestVoicesOfFewNotes(t *testing.T) {
	const bell = "voice \"bell\" {\n  talea = \"4 4\"\n  color = \"C6\"\n  start = \"after low\"\n}\n"
	const knell = "voice \"knell\" {\n  talea = \"9\"\n  color = \"C1\"\n}\n"
	for text, want := range map[string]string{
		voices:                "",
		voices + bell:         "bell is heard here first.",
		voices + bell + knell: "bell and knell are heard here first.",
	} {
		say := stepNamed(t, lectureOf(t, jobOf(t, "p", text), show.Options{}), "all").Say
		if got := strings.Join(say[1:], " "); got != want {
			t.Errorf("the speaker reads %q, want %q", got, want)
		}
	}
}

// texts are what is written in a layer.
func texts(l *draw.Layer) []string {
	var all []string
	for _, m := range l.Marks {
		if text, ok := m.(*draw.Text); ok {
			all = append(all, text.Text)
		}
	}
	return all
}
