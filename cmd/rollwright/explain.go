package main

import (
	"fmt"
	"strings"
	"text/tabwriter"

	"rollwright/telling/figure"
	"rollwright/workshop"
)

// explaining are the options of what explains a piece.
type explaining struct {
	Figure   string `placeholder:"KIND" help:"Write a figure in place of the roll; list names the kinds. The voice shown: --voice; the stretch: --from, --to."`
	Score    bool   `help:"Write a time-space score in place of the roll: notes on staves, placed by time. --voice, --from, --to and --paper hold."`
	OneTempo string `placeholder:"VALUE" help:"MusicXML: all parts in the tempo of the piece, strokes rounded to this note value (1/16, 1/32, 1/24), for programs that know one tempo. The score says by how much."`
	Kit      bool   `help:"Write sheets to cut out in place of the roll: color and talea as wheels and strips, two tempos as strips. --voice, --pair, --ink and --paper hold."`
	Pair     string `placeholder:"A,B" help:"The two voices that are compared."`
	Size     string `enum:"page,slide" default:"page" help:"For a page or a slide."`
	Ink      string `enum:"hues,black" default:"hues" help:"In hues, or in black alone."`
	Plain    bool   `help:"Say pitch series and rhythm series for color and talea."`
	Language string `placeholder:"TAG|FILE" help:"The words: en, de, es, fr, or a language file."`
}

// set gives the options to o.
func (e *explaining) set(o *workshop.Options) error {
	o.Explaining = workshop.Explaining{
		Figure: e.Figure, Score: e.Score, Kit: e.Kit, OneTempo: e.OneTempo,
		Slide: e.Size == "slide", BlackInk: e.Ink == "black", Plain: e.Plain,
		Language: e.Language,
	}
	if e.Pair != "" {
		a, b, ok := strings.Cut(e.Pair, ",")
		if !ok || a == "" || b == "" {
			return usageError{fmt.Sprintf("--pair %q: write two names of voices with a comma between them", e.Pair)}
		}
		o.Compared = [2]string{strings.TrimSpace(a), strings.TrimSpace(b)}
	}
	return nil
}

// list writes the kinds of figure.
func listFigures(t terminal) error {
	w := tabwriter.NewWriter(t.out, 0, 0, 2, ' ', 0)
	for _, k := range figure.Kinds() {
		fmt.Fprintf(w, "%s\t%s\n", k.Name, k.About)
	}
	return w.Flush()
}
