package piecefile

import (
	"fmt"
	"runtime"
	"strings"
	"testing"

	"rollwright/text/source"
)

// adversaries are texts made to be slow or large to read, each as close to the
// longest text as it gets.
var adversaries = []struct {
	name string
	text func() string
}{
	{"brackets", full("a = ", "[", "")},
	{"parentheses", full("a = ", "(", "")},
	{"minus signs", full("a = ", "-", "")},
	{"blocks within blocks", full("", "a {\n", "")},
	{"closing braces", full("", "}", "")},
	{"list of numbers", full("voice v {\n  color = \"C4\"\n  talea = [", "1,", "1]\n}\n")},
	{"long number", full("tempo = ", "9", "\n")},
	{"long name", full("", "a", " = 1\n")},
	{"long product", full("tempo = ", "1*", "1\n")},
	{"attributes on one line", full("a {", " a=1", "}")},
	{"the same attribute", full("", "a=1\n", "")},
	{"signs without meaning", full("", "$", "")},
	{"open quotes", full("", "\"\n", "")},
	{"open heredocs", numbered("", "a{n}=<<X{n}\n", "")},
	{"remarks without end", full("", "/*", "")},
	{"lost sharps", full("", "a=C#\n", "")},
	{"groups within groups", full("voice v {\n  color = \"C4\"\n  talea = \"", "4 times [", "\"\n}\n")},
	{"repeats of repeats", full("voice v {\n  color = \"C4\"\n  talea = \"", "4 times ", "1\"\n}\n")},
	{"many members", full("voice v {\n  talea = 1\n  color = \"", "C4 ", "\"\n}\n")},
	{"many chords", full("voice v {\n  talea = 1\n  color = \"", "C4+E4+G4 ", "\"\n}\n")},
	{"many gestures", full("voice v {\n  talea = 1\n  color = \"", "gliss(C-1 G9 chromatic) ", "\"\n}\n")},
	{"many trills", full("voice v {\n  talea = 1\n  color = \"", "trill(C4 D4 E4 F4 14/s) ", "\"\n}\n")},
	{"a repeated gesture", full("voice v {\n  talea = 1\n  color = \"499999 times gliss(C-1 G9 chromatic)\"\n}\n", "\n", "")},
	{"fractions", numbered("voice v {\n  talea = 1\n  color = \"C4\"\n  hold = \"", "{n}/{n}7 ", "1\"\n}\n")},
	{"roots", numbered("voice v {\n  talea = 1\n  color = \"C4\"\n  hold = \"", "sqrt({n}) ", "1\"\n}\n")},
	{"constants", numbered("voice v {\n  talea = 1\n  color = \"C4\"\n  hold = \"", "{n}/pi*e ", "1\"\n}\n")},
	{"large primes", numbered("voice v {\n  talea = 1\n  color = \"C4\"\n  hold = \"", "0.999{n}8660044731 ", "1\"\n}\n")},
	{"names in a chain", numbered("let {\n  a0 = \"C4\"\n", "  a{n} = a{m}\n", "}\nvoice v {\n  talea = 1\n  color = a20000\n}\n")},
	{"doubling names", numbered("let {\n  a0 = \"C4 D4\"\n", "  a{n} = join(a{m}, a{m})\n", "}\nvoice v {\n  talea = 1\n  color = a20000\n}\n")},
	{"doubling nothing", numbered("let {\n  a0 = \"\"\n", "  a{n} = join(a{m}, a{m})\n", "}\nvoice v {\n  talea = 1\n  color = a20000\n}\n")},
	{"even rhythms", numbered("", "voice v{n} {\n  talea = even(\"1 of 400000\")\n  color = \"C4\"\n}\n", "")},
	{"joined gestures", full("let {\n  a = \"80000 times gliss(C-1 G9 chromatic)\"\n  b = join(a, a)\n}\nvoice v {\n  talea = 1\n  color = backward(b)\n}\n", "\n", "")},
	{"voices", numbered("", "voice v{n} {}\n", "")},
	{"voices alike", numbered("voice v0 {\n  line = \"C4:1\"\n}\n", "voice v{n} { "+remark+"\n  like = \"v{m}\"\n}\n", "")},
	{"voices in a circle", numbered("voice v0 {\n  like = \"v9000\"\n}\n", "voice v{n} { "+remark+"\n  like = \"v{m}\"\n}\n", "")},
	{"voices after each other", numbered("voice v0 {\n  line = \"C4:1\"\n}\n", "voice v{n} { "+remark+"\n  line = \"C4:1\"\n  start = \"after v{m}\"\n}\n", "")},
	{"wrong names", numbered("", "voice abcdefghijklmnopqrstuvwxyzabcdefghijklmnop{n} {\n  like = \"abcdefghijklmnopqrstuvwxyzabcdefgxxxxmnop{n}\"\n}\n", "")},
	{"wrong attributes", numbered("voice v {\n", "  abcdefghijk{n} = 1\n", "}\n")},
	{"sections", numbered("", "section s{n} {\n  voice v{n} {\n    line = \"C4:1\"\n  }\n}\n", "")},
	{"canons", numbered("tune t {\n  line = \"C4:1\"\n}\n", "canon c{n} {\n  subject = \"t\"\n  voice v{n} {}\n}\n", "")},
	{"legs", full("voice v {\n  line = \"C4:1\"\n  tempo_path {\n", "leg {\nto=3\nover=1\n}\n", "}\n}\n")},
	{"voices ever faster", numbered("tune t {\n  talea = \"9999 times [1 2 3]\"\n  color = \"C4\"\n  each_note = 0.999999\n  extent = \"5 units\"\n}\n", "voice v{n} { "+remark+"\n  like = \"t\"\n}\n", "")},
}

// remark makes a voice so long that a file holds just less than the most voices.
var remark = "# " + strings.Repeat("x", 80)

// full repeats a text as often as it fits between two others.
func full(before, text, after string) func() string {
	return func() string {
		return before + strings.Repeat(text, (1_000_000-len(before)-len(after))/len(text)) + after
	}
}

// numbered is the same with a number in each text, {n}, and the one before it,
// {m}.
func numbered(before, text, after string) func() string {
	return func() string {
		var b strings.Builder
		b.WriteString(before)
		for i := 1; ; i++ {
			next := strings.NewReplacer("{n}", fmt.Sprint(i), "{m}", fmt.Sprint(i-1)).Replace(text)
			if b.Len()+len(next)+len(after) > 1_000_000 {
				return b.String() + after
			}
			b.WriteString(next)
		}
	}
}

// Nothing allocates more than 500 MB in all, let alone at one time. The time is
// in BenchmarkAdversary: less than a second each.
func TestAdversaries(t *testing.T) {
	var before, after runtime.MemStats
	for _, a := range adversaries {
		f := &source.File{Name: "x.piece", Text: []byte(a.text())}
		runtime.ReadMemStats(&before)
		_, err := Parse(f)
		runtime.ReadMemStats(&after)
		if mb := (after.TotalAlloc - before.TotalAlloc) / 1e6; mb > 500 {
			t.Errorf("%s: %d MB", a.name, mb)
		}
		if err != nil {
			checkErrors(t, f, err.(source.Errors))
		}
	}
}

func BenchmarkAdversary(b *testing.B) {
	for _, a := range adversaries {
		f := &source.File{Name: "x.piece", Text: []byte(a.text())}
		b.Run(strings.ReplaceAll(a.name, " ", "_"), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				Parse(f)
			}
		})
	}
}

// An ordinary piece of some hundred lines: eight voices and a canon.
func BenchmarkParse(b *testing.B) {
	var s strings.Builder
	s.WriteString("title = \"Tidewheel\"\ntempo = 120\n")
	for i := range 8 {
		fmt.Fprintf(&s, "voice \"v%d\" {\n  talea  = \"3 2 2 (1) 2 2 1 4 times [3 1]\"\n  color  = \"C2 G2 C3 Bb2 F2+F3 Eb2\"\n  hold   = 0.8\n  extent = \"42 notes\"\n  speed  = \"sqrt(%d)/2\"\n  start  = \"%d s\"\n  per_color {\n    transpose = 2\n  }\n}\n", i, i+2, i)
	}
	s.WriteString("canon \"four\" {\n  subject = \"v0\"\n  meet    = \"2/3\"\n  lasts   = \"240 s\"\n  speeds  = \"4 : 5 : sqrt(31) : 6\"\n  voice \"I\" {}\n  voice \"II\" {}\n  voice \"III\" {}\n  voice \"IV\" {}\n}\n")
	f := &source.File{Name: "x.piece", Text: []byte(s.String())}
	b.ReportAllocs()
	b.ReportMetric(float64(strings.Count(s.String(), "\n")), "lines")
	for b.Loop() {
		if _, err := Parse(f); err != nil {
			b.Fatal(err)
		}
	}
}
