package strip

import (
	"fmt"
	"io"
	"math"
	"slices"
	"strings"

	"rollwright/paper/inspect"
	"rollwright/text/blocks"
	"rollwright/text/fields"
	"rollwright/text/source"
)

// Extension ends the name of a form with its answers.
const Extension = ".answers"

// cautions are those of the instruments of strips, each once.
func cautions(strips []*Strip) string {
	var all []string
	for _, s := range strips {
		if text := s.Roll.Instrument.Caution(); !slices.Contains(all, text) {
			all = append(all, text)
		}
	}
	return strings.Join(all, " ")
}

// Form writes the questions of strips, one a piano, as a text to print and to fill
// in; Read reads it back. An error is that of w.
func Form(w io.Writer, title string, strips []*Strip) error {
	var b strings.Builder
	remark := func(format string, a ...any) {
		text := fmt.Sprintf(format, a...)
		for line := range strings.Lines(wrapped(text)) {
			b.WriteString("# " + strings.TrimRight(line, "\n") + "\n")
		}
	}
	remark("Trial strip of %s. Play it, listen, and write \"yes\" or \"no\" behind played; what you leave empty stays open. Then: check FILE with this file as its answers.", source.Printable(title))
	remark("%s", cannotShow(strips))
	for _, s := range strips {
		for _, win := range s.Windows {
			b.WriteString("\n")
			remark("%s: %s", win.Letter, placed(s, &win))
			for _, d := range win.Doubts {
				b.WriteString("\n")
				remark("%s: %s", d.Name, asks(&d))
				fmt.Fprintf(&b, "doubt %q {\n", d.Name)
				if s.Roll.Name != "" {
					fmt.Fprintf(&b, "  piano  = %s\n", quoted(s.Roll.Name))
				}
				fmt.Fprintf(&b, "  kind   = %q\n  value  = %s\n", d.Kind, fields.Figure(math.Round(d.Value*1e6)/1e6))
				if d.Unit != "" {
					fmt.Fprintf(&b, "  unit   = %q\n", d.Unit)
				}
				b.WriteString("  played = \"\"\n}\n")
			}
		}
		for _, k := range s.NoRoom {
			remark("Not on the strip for want of room: %s.", k)
		}
	}
	_, err := io.WriteString(w, b.String())
	return err
}

func quoted(text string) string {
	return `"` + strings.NewReplacer(`\`, `\\`, `"`, `\"`).Replace(text) + `"`
}

// wrapped is text in lines of at most 100 columns.
func wrapped(text string) string {
	var b strings.Builder
	column := 0
	for i, word := range strings.Fields(text) {
		n := len([]rune(word))
		switch {
		case i == 0:
		case column+1+n > 100:
			b.WriteString("\n")
			column = 0
		default:
			b.WriteString(" ")
			column++
		}
		b.WriteString(word)
		column += n
	}
	return b.String()
}

// answer is one block of a form as it is read.
type answer struct {
	piano, kind, unit, played string
	value                     float64
}

const mostBytes = 1 << 20

var table = fields.Table[answer]{
	What: "a form of answers", Others: map[string][]string{"": {"doubt {"}}, Several: "doubt",
	Fields: []fields.Field[answer]{
		fields.At("doubt", "piano", fields.Text(func(a *answer) *string { return &a.piano })),
		fields.At("doubt", "kind", fields.Text(func(a *answer) *string { return &a.kind })),
		fields.At("doubt", "unit", fields.Text(func(a *answer) *string { return &a.unit })),
		fields.At("doubt", "played", fields.Text(func(a *answer) *string { return &a.played })),
		fields.At("doubt", "value", fields.Number(-1e9, 1e9, func(a *answer) *float64 { return &a.value })),
	},
}

// Read reads the answers of a form; doubts that are left open are not among them.
// The error is a source.Errors.
func Read(f *source.File) ([]inspect.Answer, error) {
	body, errs := blocks.Parse(f, blocks.Options{MaxBytes: mostBytes})
	var out []inspect.Answer
	var a answer
	var wrong source.Errors
	more := table.Read(body, &a, fields.Given{}, func(b *blocks.Block) {
		one, err := read(b, a)
		a = answer{}
		switch {
		case err != nil:
			wrong = append(wrong, err)
		case one != nil:
			out = append(out, *one)
		}
	})
	if err := blocks.Merge(errs, append(more, wrong...)).Err(); err != nil {
		return nil, err
	}
	return out, nil
}

// read is one answer; nil where the doubt is open.
func read(b *blocks.Block, a answer) (*inspect.Answer, *source.Error) {
	kind, ok := inspect.KindOf(a.kind)
	at := func(name, problem, hint string) *source.Error {
		if attr := b.Body.Get(name); attr != nil {
			return attr.Error(problem, hint)
		}
		return b.Error(problem, hint)
	}
	switch {
	case !ok:
		return nil, at("kind", "this is no kind of doubt", "leave the line as the form has it")
	case b.Body.Get("value") == nil:
		return nil, b.Error("this doubt has no value", "leave the lines of the form but for played")
	}
	switch strings.ToLower(strings.TrimSpace(a.played)) {
	case "":
		return nil, nil
	case "yes", "no":
		return &inspect.Answer{Piano: a.piano, Kind: kind, Value: a.value, Unit: a.unit,
			Played: strings.EqualFold(strings.TrimSpace(a.played), "yes")}, nil
	}
	return nil, at("played", "an answer is yes or no", `write played = "yes" if it sounded as written, "no" if not`)
}
