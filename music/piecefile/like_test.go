package piecefile

import (
	"fmt"
	"testing"

	"rollwright/exact"
	"rollwright/music/piece"
)

// like takes over everything but start and meet; what is given here replaces.
func TestLike(t *testing.T) {
	p := read(t, `
tempo    = 90
hold     = 0.5
dynamics = "p"
tune "theme" {
  talea     = "3 2"
  color     = "C4 D4 E4"
  transpose = 5
  extent    = "9 notes"
  per_color {
    transpose = 2
    stretch   = 1/2
  }
  tempo_path {
    leg {
      to   = 120
      over = 8
    }
  }
}
voice "a" {
  like  = "theme"
  start = "2 s"
}
voice "b" {
  like  = "a"
  color = "G4"
  tempo = 60
  per_color {
    transpose = 1
  }
}
voice "c" {
  like = "b"
  line = "C4:1"
  tempo_path {
    leg {
      from = 30
      over = "3 s"
    }
  }
}
voice "d" {
  like  = "c"
  color = "A4"
  talea = "7"
  lasts = "as c"
}
voice "e" {
  like  = "d"
  speed = 2
}
`)
	var got []string
	for _, v := range p.Voices {
		got = append(got, fmt.Sprintf("%s | %s | %s | %d | tempo %v, %d legs | %v | start %v | each %d x%v | lasts %v | speed %v | %v %v",
			v.Name, durations(v.Talea), pitches(v.Color), v.Transpose, v.Tempo, len(v.Path), v.Extent.Count, v.Place.At,
			v.PerColor.TransposeEach, v.PerColor.StretchEach, v.Lasts.Set, v.Speed, v.Hold[0].Share, v.Dynamics[0].Level))
	}
	want := []string{
		"a | 3 2 | C4 D4 E4 | 5 | tempo 90, 1 legs | 9 | start 2 | each 2 x1/2 | lasts false | speed 1 | 1/2 49",
		"b | 3 2 | G4 | 5 | tempo 60, 0 legs | 9 | start 0 | each 1 x1 | lasts false | speed 1 | 1/2 49",
		"c | 1 | C4 | 5 | tempo 90, 1 legs | 9 | start 0 | each 1 x1 | lasts false | speed 1 | 1/2 49",
		"d | 7 | A4 | 5 | tempo 90, 1 legs | 9 | start 0 | each 1 x1 | lasts true | speed 1 | 1/2 49",
		"e | 7 | A4 | 5 | tempo 90, 1 legs | 9 | start 0 | each 1 x1 | lasts false | speed 2 | 1/2 49",
	}
	for i := range want {
		if got[i] != want[i] {
			t.Errorf("got  %s\nwant %s", got[i], want[i])
		}
	}
	if at := p.Voices[1].Places.Of("talea"); at.Line != 6 {
		t.Errorf("the talea of b stands in line %d, want 6, where it was written", at.Line)
	}
	if at := p.Voices[0].Places.Of("per_color.stretch"); at.Line != 12 {
		t.Errorf("per_color.stretch of a stands in line %d, want 12", at.Line)
	}
}

func TestCanon(t *testing.T) {
	p := read(t, `
piano "left" {}
piano "right" {
  hammers    = "tacks"
  roll_tempo = 95
}
tune "theme" {
  line      = "C4:1 D4:2"
  transpose = 3
  speed     = 7
}
tune "other" {
  line = "E4:1"
}
voice "first" {
  line = "C4:1"
}
section "A" {
  overlap = "0 s"
  canon "four" {
    subject   = "theme"
    meet      = "2/3"
    at        = "1:00"
    lasts     = "240 s"
    speeds    = "4 : 5 : sqrt(31) : 6"
    transpose = 1
    piano     = "right"
    voice "I" {}
    voice "II" {
      transpose = 7
    }
    voice "III" {
      like = "other"
    }
    voice "IV" {
      piano = "left"
    }
  }
}
`)
	c := p.Canons[0]
	if fmt.Sprintln(c.Voices, c.Section, c.Meet, c.HasAt, c.At, c.Lasts.Sec,
		c.Subject) != "[1 2 3 4] 0 {5 0 2/3} true 60 240 theme\n" {
		t.Errorf("canon %+v", c)
	}
	var got string
	for _, i := range c.Voices {
		v := p.Voices[i]
		got += fmt.Sprintln(v.Name, v.Speed, v.Transpose, pitches(v.Color), p.Pianos[v.Piano].Name,
			v.Place.Kind == piece.InCanon, v.Canon, v.Section)
	}
	want := "I 4 1 C4 D4 right true 0 0\nII 5 7 C4 D4 right true 0 0\nIII sqrt(31) 1 E4 right true 0 0\nIV 6 1 C4 D4 left true 0 0\n"
	if got != want {
		t.Errorf("got\n%swant\n%s", got, want)
	}
	if r := p.Pianos[1]; r.Hammers != "tacks" || r.RollTempo != exact.Int(95) || r.Instrument != "88-note" {
		t.Errorf("piano %+v", r)
	}
}

// Without lasts or speeds of the canon a voice takes over the subject's lasts
// like everything else; a speed of its own replaces it.
func TestLastsInCanon(t *testing.T) {
	const text = "tune \"t\" {\n  line = \"C4:1\"\n  lasts = \"9 s\"\n}\ncanon \"c\" {\n  subject = \"t\"\n  %s\n  voice \"I\" {}\n  voice \"II\" {\n    speed = 2\n  }\n}\n"
	for _, c := range []struct{ canon, want string }{
		{"", "9 0"},
		{"lasts = \"60 s\"", "0 0"},
		{"speed = 3", "0 0"},
	} {
		p := read(t, fmt.Sprintf(text, c.canon))
		if got := fmt.Sprint(p.Voices[0].Lasts.Sec, p.Voices[1].Lasts.Sec); got != c.want {
			t.Errorf("canon with %q: voices last %s, want %s", c.canon, got, c.want)
		}
	}
}

func TestMeet(t *testing.T) {
	p := read(t, `
voice "low" {
  line = "C4:1"
}
voice "high" {
  line = "C4:1"
  meet {
    with   = "low"
    mine   = "note 43"
    theirs = "note 7 end"
  }
}
voice "top" {
  line = "C4:1"
  meet {
    at   = "30 s"
    mine = "unit 12.5"
  }
}
voice "last" {
  line  = "C4:1"
  start = "after top"
}
`)
	for i, want := range []string{"{0 0 0 {0 0} {0 0 0} {0 0 0} 0 0}", "{2 0 0 {0 -1} {2 43 0} {3 7 0} 0 0}",
		"{3 30 0 {0 0} {4 0 25/2} {0 0 0} 0 0}", "{1 0 0 {2 -1} {0 0 0} {0 0 0} 0 0}"} {
		if got := fmt.Sprint(p.Voices[i].Place); got != want {
			t.Errorf("%s: %s, want %s", p.Voices[i].Name, got, want)
		}
	}
}

func TestKeptAsWritten(t *testing.T) {
	p := read(t, "title = \"Été \\\"1\\\"\"\nnote = <<-END\n  one\n    two\n  END\nshow \"evening\" {\n  order = [\"a\", 1]\n  x {}\n}\nvoice \"v\" {\n  line = \"C4:1\"\n  pedal = \"0-16 24-30.5\"\n  soft = \"full\"\n}\n")
	if p.Title != `Été "1"` || p.Note != "one\n  two" {
		t.Errorf("title %q, note %q", p.Title, p.Note)
	}
	if want := "show \"evening\" {\n  order = [\"a\", 1]\n  x {}\n}"; p.Show[0].Text != want || p.Show[0].At.Line != 6 {
		t.Errorf("show at %v: %q", p.Show[0].At, p.Show[0].Text)
	}
	if got := fmt.Sprint(p.Voices[0].Pedal, p.Voices[0].Soft); got != "{false [{0 16} {24 61/2}] 0} {true [] 0}" {
		t.Errorf("pedals %s", got)
	}
}
