package piece

import (
	"fmt"
	"strings"

	"rollwright/text/source"
)

// Mistakes are the mistakes of a piece's voices, each once. Where voices share the
// words that are wrong, what is said of the first of them is said of the others in
// its hint. The zero value is empty.
type Mistakes struct {
	first map[mistake]*shared
}

// mistake is one that several voices can have: a place and a problem in which the
// voice's name is left out.
type mistake struct {
	at      source.Pos
	problem string
}

// shared is a mistake with how many other voices have it.
type shared struct {
	e      *source.Error
	hint   string // as it was with one voice
	others []string
	more   int
}

// mostNamed is how many voices a hint names.
const mostNamed = 3

// Add takes the complaint e about an attribute of the voice v, or of nothing of its
// own when v is nil. It adds to the hint where the voice takes the attribute over.
// It reports false when it was added to an earlier complaint about the same words.
func (m *Mistakes) Add(e *source.Error, v *Voice, attribute string) bool {
	if m.first == nil {
		m.first = map[mistake]*shared{}
	}
	key := mistake{e.At, e.Problem}
	if v != nil {
		key.problem = strings.Replace(e.Problem, fmt.Sprintf("%q", v.Name), "", 1)
	}
	earlier := m.first[key]
	if earlier == nil {
		if v != nil {
			e.Hint = joinHints(e.Hint, v.takenOver(attribute, e.File))
		}
		m.first[key] = &shared{e: e, hint: e.Hint}
		return true
	}
	if v != nil && e.Problem != earlier.e.Problem {
		earlier.add(v, attribute)
	}
	return false
}

func (s *shared) add(v *Voice, attribute string) {
	if len(s.others) == mostNamed {
		s.more++
	} else {
		name := fmt.Sprintf("%q", v.Name)
		if at, ok := v.Taken[attribute]; ok {
			name += fmt.Sprintf(" (line %d)", at.Line)
		}
		s.others = append(s.others, name)
	}
	names := strings.Join(s.others, ", ")
	switch n := len(s.others); {
	case s.more > 0:
		names += fmt.Sprintf(" and %d more", s.more)
	case n > 1:
		names = strings.Join(s.others[:n-1], ", ") + " and " + s.others[n-1]
	}
	s.e.Hint = joinHints(s.hint, "the same goes for "+names)
}

// takenOver says where the voice takes the attribute over, and is empty where it does
// not.
func (v *Voice) takenOver(attribute string, f *source.File) string {
	at, ok := v.Taken[attribute]
	if !ok {
		return ""
	}
	return fmt.Sprintf("%q takes this over in line %d: %s", v.Name, at.Line,
		source.Printable(strings.TrimSpace(f.Line(at.Line))))
}

func joinHints(a, b string) string {
	if a == "" || b == "" {
		return a + b
	}
	return a + "\n" + b
}
