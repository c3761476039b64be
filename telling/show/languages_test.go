package show_test

import (
	"fmt"
	"regexp"
	"strings"
	"testing"

	"rollwright/examples"
	seeds "rollwright/internal/long"
	"rollwright/telling/show"
	"rollwright/text/words"
)

// gap is what a sentence must not show: a name in braces, a key in brackets.
var gap = regexp.MustCompile(`[{}]|\[[a-z]+\.`)

// number is a decimal as English writes it.
var number = regexp.MustCompile(`\d\.\d`)

// TestLanguages tells every example in every language that is built in: nothing is
// missing, no English is left, numbers have the language's sign, and what is counted
// is the same.
func TestLanguages(t *testing.T) {
	digits := regexp.MustCompile(`\d+`)
	for _, e := range examples.List() {
		job := example(t, e.Name)
		english := lectureOf(t, job, show.Options{Language: "en"})
		for _, tag := range words.Languages()[1:] {
			l := lectureOf(t, job, show.Options{Language: tag})
			if len(l.Steps) != len(english.Steps) {
				t.Errorf("%s, %s: %d steps, in English %d", e.Name, tag, len(l.Steps), len(english.Steps))
				continue
			}
			for i, s := range l.Steps {
				own := job.Piece.Show != nil && (s.Kind == show.Text || s.Kind == show.Own)
				for k, text := range append(append([]string{s.Title}, s.Text...), s.Say...) {
					if gap.MatchString(text) {
						t.Errorf("%s, %s, %s: %q", e.Name, tag, s.Name, text)
					}
					if number.MatchString(text) && !own && !strings.Contains(text, job.Piece.Note) {
						t.Errorf("%s, %s, %s: %q has a decimal point", e.Name, tag, s.Name, text)
					}
					theirs := append(append([]string{english.Steps[i].Title}, english.Steps[i].Text...), english.Steps[i].Say...)
					if len(theirs) <= k {
						t.Errorf("%s, %s, %s: %q is not said in English", e.Name, tag, s.Name, text)
						continue
					}
					if a, b := digits.FindAllString(theirs[k], -1), digits.FindAllString(text, -1); same(a, b) != "" {
						t.Errorf("%s, %s, %s: %q and %q differ: %s", e.Name, tag, s.Name, text, theirs[k], same(a, b))
					}
				}
				if f := s.Figure; f != nil && (gap.MatchString(f.Caption) || gap.MatchString(f.Title)) {
					t.Errorf("%s, %s, %s: %q %q", e.Name, tag, s.Name, f.Title, f.Caption)
				}
			}
		}
	}
}

// same says which numbers only one of two sentences has.
func same(a, b []string) string {
	count := map[string]int{}
	for _, n := range a {
		count[n]++
	}
	for _, n := range b {
		count[n]--
	}
	for n, c := range count {
		if c != 0 {
			return n
		}
	}
	return ""
}

// TestLanguagesFit opens talks in every language: no sentence runs out of its place.
func TestLanguagesFit(t *testing.T) {
	list := examples.List()
	p := browser(t)
	for _, e := range list[:seeds.Of(2, len(list))] {
		name, job := e.Name, example(t, e.Name)
		for _, tag := range words.Languages()[1:] {
			l := lectureOf(t, job, show.Options{Language: tag})
			p.open(page(t, l), 1280, 720)
			if got := value[string](p, `document.documentElement.lang`); got != tag {
				t.Errorf("the page is in %q", got)
			}
			for _, s := range l.Steps {
				p.JS(fmt.Sprintf(`rollwright.go(%d); await new Promise(r => setTimeout(r, 40))`, s.Number))
				p.fits(s)
			}
			p.picture(name + "-" + tag)
		}
	}
}
