package main

import (
	"context"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"strconv"

	"rollwright/text/outfile"
	"rollwright/workshop"
)

type solveCommand struct {
	pieceArg
	Write bool `help:"Put each number into the file, in the place of its \"?\"."`
	JSON  bool `name:"json" help:"JSON in place of text."`
}

func (c *solveCommand) Run(ctx context.Context, t terminal) error {
	if c.Write && c.File == "-" {
		return usageError{"--write changes the file, and standard input is none"}
	}
	job, err := c.open(ctx, t)
	if err == nil {
		err = job.NeedsPiece("solve")
	}
	if err != nil {
		return err
	}
	answers := job.Answers()
	if c.Write && len(answers) > 0 {
		text, err := job.WithAnswers()
		if err != nil {
			return err
		}
		if err := outfile.Replace(ctx, c.File, func(w io.Writer) error { _, err := w.Write(text); return err }); err != nil {
			return err
		}
	}
	if c.JSON {
		e := json.NewEncoder(t.out)
		e.SetEscapeHTML(false)
		return e.Encode(map[string]any{"unknowns": answers})
	}
	return writeAnswers(t.out, answers)
}

// writeAnswers prints each answer and the simple numbers near to it.
func writeAnswers(w io.Writer, answers []workshop.Answer) error {
	if len(answers) == 0 {
		_, err := fmt.Fprintln(w, "this piece asks for no number; to ask for one write speed = \"?\" in a voice")
		return err
	}
	for _, a := range answers {
		value := fmt.Sprintf("%s (found, to 18 digits)", a.Value)
		if a.Exact != "" {
			value = fmt.Sprintf("%s = %s", a.Exact, a.Value)
			if string(a.Exact) == string(a.Value) {
				value = string(a.Exact)
			}
		}
		fmt.Fprintf(w, "%s of %s: %s\n", a.Attribute, a.Voice, value)
		for _, n := range a.Near {
			fmt.Fprintf(w, "  near to it: %-12s %s\n", n.Value, offText(n.OffS))
		}
	}
	return nil
}

// offText says what a near number does to the condition that it does not keep.
func offText(sec float64) string {
	size := strconv.FormatFloat(math.Abs(sec), 'f', -1, 64)
	switch {
	case sec > 0:
		return "the other condition is then " + size + " s late"
	case sec < 0:
		return "the other condition is then " + size + " s early"
	}
	return "both conditions hold, within a microsecond"
}
