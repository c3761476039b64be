package show_test

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"

	"rollwright/draw"
	"rollwright/music/piecefile"
	"rollwright/telling/show"
	"rollwright/text/source"
)

const voices = `voice "low" {
  talea = "3 2 1"
  color = "C3 G3"
}
voice "high" {
  talea = "2 1"
  color = "E5 B5 D5"
}
`

// A show block changes order, text, voices, stretch and rate, and adds pages.
func TestScript(t *testing.T) {
	text := voices + `show {
  order   = ["title", "why", "melody", "rhythm", "meetings", "low part", "rhythm"]
  rate    = 0.5
  mono    = true
  minutes = 12
  step "rhythm" {
    voices = "high"
    text   = "Two strokes."
    say    = <<END
Clap.

Clap
again.
END
    rate   = 2
    hear   = "knock"
  }
  step "low part" {
    title   = "The low part"
    voices  = ["low"]
    stretch = "0.25 s to 0.5 s"
    figure  = "none"
    auto    = true
  }
  page "why" {
    title = "Why"
    text  = "Because."
  }
}
`
	l := lectureOf(t, jobOf(t, "p", text), show.Options{})
	var names []string
	for _, s := range l.Steps {
		names = append(names, s.Name)
	}
	meetings := 0
	for _, n := range names {
		if strings.HasPrefix(n, "meeting ") {
			meetings++
		}
	}
	if meetings == 0 {
		t.Error("the two voices meet, and the lecture does not say so")
	}
	names = slices.DeleteFunc(names, func(n string) bool { return strings.HasPrefix(n, "meeting ") })
	if got, want := strings.Join(names, ", "), "title, why, melody, rhythm, low part, rhythm"; got != want {
		t.Fatalf("order %s, want %s", got, want)
	}
	rhythm, own, why := stepNamed(t, l, "rhythm"), stepNamed(t, l, "low part"), stepNamed(t, l, "why")
	if !slices.Equal(rhythm.Voices, []int{1}) || rhythm.Rate != 2 || rhythm.Hear != show.Knock ||
		!slices.Equal(rhythm.Text, []string{"Two strokes."}) || !slices.Equal(rhythm.Say, []string{"Clap.", "Clap again."}) {
		t.Errorf("rhythm: %+v", rhythm)
	}
	if own.Title != "The low part" || own.FromSec != 0.25 || own.ToSec != 0.5 || own.Rate != 0.5 || own.Figure != nil ||
		!own.Auto || own.Seconds() != 0.5 {
		t.Errorf("own step: %+v", own)
	}
	if why.Title != "Why" || why.Hear != show.Nothing || why.Seconds() != 0 {
		t.Errorf("page: %+v", why)
	}
	if !l.Mono || l.Minutes != 12 {
		t.Errorf("mono %v, minutes %v", l.Mono, l.Minutes)
	}
}

// Several blocks have names; the command chooses.
func TestNamedScripts(t *testing.T) {
	text := voices + "show {\n  order = [\"title\"]\n}\nshow \"evening\" {\n  order = [\"all\"]\n}\n"
	job := jobOf(t, "p", text)
	for name, want := range map[string]string{"": "title", "evening": "all"} {
		l := lectureOf(t, job, show.Options{Show: name})
		if len(l.Steps) != 1 || l.Steps[0].Name != want {
			t.Errorf("show %q begins with %q", name, l.Steps[0].Name)
		}
	}
	_, err := job.Lecture(context.Background(), show.Options{Show: "morning"})
	if err == nil || err.Error() != `the piece has no show block called "morning"; it has evening` {
		t.Errorf("morning: %v", err)
	}
}

// Whole messages: place, line, marker, how to write it right. All come together.
func TestScriptErrors(t *testing.T) {
	for _, c := range []struct{ block, want string }{
		{"show {\n  ordr = [\"title\"]\n}", `p.piece:10:3: there is no "ordr" in a show block
      ordr = ["title"]
      ^^^^
  did you mean order?`},
		{"show {\n  order = [\"titel\"]\n}", `p.piece:10:12: there is no step "titel"
      order = ["titel"]
               ^^^^^^^
  did you mean title? this piece has: voices, meetings, title, rhythm, hall, melody, together, voice high, all, meeting 1, meeting 2, meeting 3`},
		{"show {\n  step \"rhythm\" {\n    voices = \"hihg\"\n  }\n}", `p.piece:11:14: there is no voice "hihg"
        voices = "hihg"
                 ^^^^^^
  did you mean high?`},
		{"show {\n  step \"melody\" {\n    voices = [\"low\", \"high\"]\n  }\n}", `p.piece:10:3: melody is that of one voice, and 2 sound here
      step "melody" {
      ^^^^^^^^^^^^^
  name it: voices = "low"`},
		{"show {\n  step \"all\" {\n    stretch = \"1:20\"\n  }\n}", `p.piece:11:15: "1:20" is no stretch
        stretch = "1:20"
                  ^^^^^^
  write a stretch of the piece as two times: "10 s to 1:20", or "1:20 to end"`},
		{"show {\n  step \"all\" {\n    stretch = \"9 s to 5 s\"\n    rate = 9\n  }\n}", `p.piece:11:15: the stretch ends before it begins
        stretch = "9 s to 5 s"
                  ^^^^^^^^^^^^
  write a stretch of the piece as two times: "10 s to 1:20", or "1:20 to end"
p.piece:12:12: rate = 9 is out of range
        rate = 9
               ^
  it goes from 0.25 to 4`},
		{"show {\n  step \"all\" {\n    hear = \"loud\"\n  }\n}", `p.piece:11:12: there is no way to hear "loud"
        hear = "loud"
               ^^^^^^
  one of score, roll, rhythm, knock, melody, nothing`},
		{"show {\n  language = \"de.json\"\n}", `p.piece:10:14: there is no language "de.json"
      language = "de.json"
                 ^^^^^^^^^
  write en, de, es, fr, or the path of a language file`},
		{"show {\n  page {\n    text = \"x\"\n  }\n}", `p.piece:10:3: a page without a name
      page {
      ^^^^
  name it: page "why" {`},
	} {
		_, err := jobOf(t, "p", voices+c.block+"\n").Lecture(context.Background(), show.Options{})
		if err == nil {
			t.Errorf("%s is accepted", c.block)
			continue
		}
		if got := err.Error(); got != c.want {
			t.Errorf("got\n%s\nwant\n%s", got, c.want)
		}
	}
}

// A new step whose name is close to that of another is made, with a warning; the
// order, names in steps and values are complained of at once.
func TestScriptDoubts(t *testing.T) {
	const slip = "show {\n  order = [\"titel\", \"voice hihg\"]\n  rate  = 9\n  step \"rythm\" {\n    voices = \"hihg\"\n    hear   = \"melody\"\n  }\n  step \"voice hgih\" {\n  }\n}\n"
	wrong, doubts := jobOf(t, "p", voices+slip).CheckLecture()
	if got, want := doubts.Error(), `p.piece:12:3: "rythm" is a new step
      step "rythm" {
      ^^^^^^^^^^^^
  did you mean rhythm? a name that the piece has not makes a step of its own
p.piece:16:3: "voice hgih" is a new step
      step "voice hgih" {
      ^^^^^^^^^^^^^^^^^
  did you mean voice high? a name that the piece has not makes a step of its own`; got != want {
		t.Errorf("doubts\n%s\nwant\n%s", got, want)
	}
	var at []string
	for _, e := range wrong {
		at = append(at, fmt.Sprintf("%d:%d", e.At.Line, e.At.Column))
		if strings.Contains(e.Hint, "rythm") || strings.Contains(e.Hint, "hgih") {
			t.Errorf("a slip is offered: %s", e.Hint)
		}
	}
	if got, want := strings.Join(at, " "), "10:12 10:21 11:11 13:14"; got != want {
		t.Errorf("complaints at %s, want %s", got, want)
	}
	_, err := jobOf(t, "p", voices+slip).Lecture(context.Background(), show.Options{})
	if err == nil || err.Error() != wrong.Error() {
		t.Errorf("the lecture complains of\n%v\nwant\n%v", err, wrong)
	}
}

// Names that go on from another one, and pages, are meant.
func TestScriptWithoutDoubts(t *testing.T) {
	text := voices + "show {\n  step \"rhythm 2\" {\n  }\n  step \"the melody\" {\n  }\n  step \"voice low\" {\n  }\n  step \"voice high again\" {\n  }\n  page \"titles\" {\n  }\n  step \"coda\" {\n  }\n}\n"
	var doubts []string
	lecture, err := jobOf(t, "p", text).Lecture(context.Background(),
		show.Options{Doubt: func(e *source.Error) { doubts = append(doubts, e.Error()) }})
	if err != nil || len(doubts) > 0 {
		t.Fatalf("%v, doubts %q", err, doubts)
	}
	stepNamed(t, lecture, "coda")
}

// FuzzScript: a show block is read or refused; every complaint has a place in the
// file, and nothing panics.
func FuzzScript(f *testing.F) {
	for _, seed := range []string{
		"order = [\"title\", \"all\"]", "step \"rhythm\" {\n voices = \"low\"\n stretch = \"1 s to end\"\n}",
		"page \"x\" {\n text = <<E\na\n\nb\nE\n}",
		"language = \"xx\"", "rate = 1/3", "minutes = 1e9", "step \"\" {}", "}",
	} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, inside string) {
		text := voices + "show {\n" + inside + "\n}\n"
		p, err := piecefile.Parse(&source.File{Name: "p.piece", Text: []byte(text)})
		if err != nil {
			return
		}
		_, err = show.ReadScript(p, "")
		var complaints source.Errors
		if errors.As(err, &complaints) {
			for _, c := range complaints {
				if !c.At.Known() || c.At.Line > strings.Count(text, "\n")+1 {
					t.Errorf("a complaint at %v of %q: %s", c.At, text, c.Problem)
				}
			}
		}
	})
}

func ExampleReadScript() {
	p, err := piecefile.Parse(&source.File{Name: "p.piece", Text: []byte(voices +
		"show {\n  minutes = 20\n  plain   = true\n}\n")})
	if err != nil {
		fmt.Println(err)
		return
	}
	s, err := show.ReadScript(p, "")
	fmt.Println(s.Minutes, s.Plain, err)
	// Output: 20 true <nil>
}

// TestNoteNames: notes are called as the show block says, in what is said and in figures.
func TestNoteNames(t *testing.T) {
	for names, want := range map[string]string{"german": "E4 H4 D5 A4 G4", "syllables": "mi4 si4 re5 la4 sol4",
		"letters": "E4 B4 D5 A4 G4"} {
		text := strings.Replace(lesson, "  minutes = 10\n", fmt.Sprintf("  notes = %q\n", names), 1)
		l := lectureOf(t, jobOf(t, "lesson", strings.Replace(text, "transpose = -12", "", 1)), show.Options{})
		if s := stepNamed(t, l, "melody"); !strings.Contains(strings.Join(s.Say, " "), want) {
			t.Errorf("%s: %v, want %s", names, s.Say, want)
		}
		drawn := ""
		for _, layer := range stepNamed(t, l, "together").Figure.Drawing.Layers {
			for _, m := range layer.Marks {
				if text, ok := m.(*draw.Text); ok {
					drawn += " " + text.Text
				}
			}
		}
		if second := strings.Fields(want)[1]; !strings.Contains(drawn, " "+second) {
			t.Errorf("%s: the wheels say %s, want %s among it", names, drawn, second)
		}
	}
	wrong := strings.Replace(lesson, "  minutes = 10\n", "  notes = \"solfa\"\n", 1)
	job := jobOf(t, "lesson", wrong)
	if errs, _ := job.CheckLecture(); len(errs) != 1 || !strings.Contains(errs[0].Error(), "write letters, syllables") {
		t.Errorf("%v", errs)
	}
}
