package transcribe

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"rollwright/exact"
	"rollwright/music/piece"
	"rollwright/music/piecefile"
	"rollwright/text/source"
)

// Excerpt is a line of the file, or the stretch of it that is asked for: durations in
// the unit of the asker, and a pitch for each that sounds, with its level where the file
// says one. Without a stretch the line goes from the file's beginning to its last note;
// a stretch of bars or units from its beginning to its end, or to the end of a note that
// lasts longer; one of notes from the first of them to the end of the last.
//
// The error is a *piecefile.ExcerptError where what was asked for is not there.
func (f *File) Excerpt(ask piecefile.Excerpt) ([]piece.Duration, []piece.Pitch, error) {
	if err := f.checkLength(); err != nil {
		return nil, nil, err
	}
	part, err := f.part(ask.Part)
	if err != nil {
		return nil, nil, err
	}
	l, err := newLines(part.Notes)
	if err != nil {
		return nil, nil, fmt.Errorf("%s: %w", part.called(), err)
	}
	line := max(ask.Strand, 1) - 1
	if line >= len(l.heads) {
		return nil, nil, &piecefile.ExcerptError{Attr: "strand",
			Problem: fmt.Sprintf("%s of %s has no line %d", part.called(), f.Name, line+1), Hint: hasLines(len(l.heads))}
	}
	w := newWriter(f, ask.Unit, l.count[line])
	from, to, err := f.stretch(part, w, l.count[line], ask.Take)
	if err != nil {
		return nil, nil, err
	}
	n, started := 0, ask.Take.Kind != piecefile.TakeNotes
	l.line(line, func(c *chord) bool {
		n++
		at, wanted := w.units(c.from), true
		switch ask.Take.Kind {
		case piecefile.TakeNotes:
			wanted = exact.Int(int64(n)).Cmp(ask.Take.From) >= 0 && exact.Int(int64(n)).Cmp(ask.Take.To) <= 0
		case piecefile.TakeBars, piecefile.TakeUnits:
			wanted = at.Cmp(from) >= 0 && at.Cmp(to) < 0
		}
		if !wanted {
			return len(w.color) == 0 // what follows the stretch is not wanted either
		}
		if len(w.color) == 0 {
			if lead, _ := at.Sub(from); started && lead.Sign() > 0 {
				w.talea = append(w.talea, piece.Duration{Units: lead, Silent: true})
			}
			w.at = c.from
		}
		w.sound(l.notes[c.first:c.last], 0)
		return true
	})
	if len(w.color) == 0 {
		return nil, nil, &piecefile.ExcerptError{Attr: "take", Problem: fmt.Sprintf("no note of %s of %s begins there",
			part.called(), f.Name),
			Hint: "line " + strconv.Itoa(line+1) + " has " + count(l.count[line], "note")}
	}
	if rest, _ := to.Sub(w.units(w.at)); rest.Sign() > 0 {
		w.talea = append(w.talea, piece.Duration{Units: rest, Silent: true})
	}
	return w.talea, w.color, nil
}

// stretch is where what is asked for begins and ends, in units; its end is 0 where it
// ends with its last note.
func (f *File) stretch(part *Part, w *writer, notes int, take piecefile.Take) (from, to exact.Rat, err error) {
	wrong := func(problem, hint string) error {
		return &piecefile.ExcerptError{Attr: "take", Problem: problem, Hint: hint}
	}
	switch take.Kind {
	case piecefile.TakeUnits:
		return take.From, take.To, nil
	case piecefile.TakeNotes:
		if last := take.To; last.Cmp(exact.Int(int64(notes))) > 0 {
			return from, to, wrong(fmt.Sprintf("there is no note %v in this line of %s", last, f.Name), "it has "+
				count(notes, "note")+"; a chord is one")
		}
	case piecefile.TakeBars:
		first, last := int(take.From.Num())-part.FirstBar, int(take.To.Num())-part.FirstBar+1
		bars := len(part.Bars) - 1
		if bars < 1 {
			return from, to, wrong(fmt.Sprintf("the bars of %s are not known", f.Name),
				`take notes or units: "note 1 to note 40", "units 0 to 90"`)
		}
		if first < 0 || last > bars {
			return from, to, wrong(fmt.Sprintf("%s has no such bar", f.Name),
				fmt.Sprintf("its bars go from %d to %d", part.FirstBar, part.FirstBar+bars-1))
		}
		return w.units(part.Bars[first]), w.units(part.Bars[last]), nil
	}
	return from, to, nil
}

func hasLines(n int) string {
	if n == 1 {
		return "it has one"
	}
	return fmt.Sprintf("it has %d, counted from the top", n)
}

func count(n int, noun string) string {
	if n == 1 {
		return "1 " + noun
	}
	return fmt.Sprintf("%d %ss", n, noun)
}

// part is the part of a name, or else of a number; the only one with notes where
// nothing is asked for.
func (f *File) part(name string) (*Part, error) {
	var sounding []*Part
	for i := range f.Parts {
		p := &f.Parts[i]
		if len(p.Notes) > 0 {
			sounding = append(sounding, p)
		}
		if name != "" && strings.TrimSpace(p.Name) == name && len(p.Notes) > 0 {
			return p, nil
		}
	}
	if n, err := strconv.Atoi(name); err == nil {
		i := slices.IndexFunc(f.Parts, func(p Part) bool { return p.Number == n })
		if i >= 0 && len(f.Parts[i].Notes) > 0 {
			return &f.Parts[i], nil
		}
	}
	if name == "" && len(sounding) == 1 {
		return sounding[0], nil
	}
	problem := fmt.Sprintf("there is no part %q with notes in %s", source.Printable(name), f.Name)
	if name == "" {
		problem = fmt.Sprintf("%s has %d parts with notes; which one?", f.Name, len(sounding))
	}
	return nil, &piecefile.ExcerptError{Attr: "part", Problem: problem, Hint: listed(sounding)}
}

// listed names parts, as part = asks for them.
func listed(parts []*Part) string {
	const shown = 8
	var names []string
	for _, p := range parts[:min(len(parts), shown)] {
		if name := strings.TrimSpace(source.Printable(p.Name)); name != "" {
			names = append(names, fmt.Sprintf("%q or %d", name, p.Number))
			continue
		}
		names = append(names, strconv.Itoa(p.Number))
	}
	if len(parts) > shown {
		names = append(names, "...")
	}
	return "write part = with one of them: " + strings.Join(names, ", ")
}
