package main

import (
	"cmp"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"
	"text/tabwriter"

	"rollwright/paper/survey"
)

type surveyCommand struct {
	pieceArg
	Attribute string  `arg:"" help:"The number that is tried: quick.speed, quick.tempo_path.leg.1.to."`
	Range     string  `arg:"" help:"From where to where: \"4/3 to 3/2\"."`
	Simple    int     `default:"40" placeholder:"N" help:"Fractions p/q with p + q at most N (40); beside a root at most N/4."`
	Apart     float64 `default:"30" placeholder:"MS" help:"Onsets this near are heard as one (30 ms)."`
	By        string  `default:"value" enum:"value,meetings,together,closest,length" help:"Sort by value, meetings, together, closest or length."`
	JSON      bool    `name:"json" help:"JSON in place of a table."`
}

func (c *surveyCommand) Run(ctx context.Context, t terminal) error {
	switch {
	case c.Simple < 2 || c.Simple > 1000:
		return usageError{"--simple runs from 2 to 1000"}
	case !(c.Apart >= 0 && c.Apart <= 10_000):
		return usageError{"--apart runs from 0 to 10000 ms"}
	}
	job, err := c.open(ctx, t)
	if err == nil {
		err = job.NeedsPiece("survey")
	}
	if err != nil {
		return err
	}
	rows, err := job.Survey(ctx, c.Attribute, c.Range, c.Simple, c.Apart/1000)
	if err != nil {
		return err
	}
	sortRows(rows, c.By)
	if c.JSON {
		e := json.NewEncoder(t.out)
		e.SetEscapeHTML(false)
		return e.Encode(map[string]any{"attribute": c.Attribute, "rows": rows})
	}
	return writeRows(t.out, rows)
}

// sortRows puts most meetings and least distances first; values ascend.
func sortRows(rows []survey.Row, by string) {
	closest := func(r survey.Row) float64 {
		if r.Closest == nil {
			return math.Inf(1)
		}
		return *r.Closest
	}
	slices.SortStableFunc(rows, func(a, b survey.Row) int {
		switch by {
		case "meetings":
			return cmp.Compare(b.Meetings, a.Meetings)
		case "together":
			return cmp.Compare(b.Together, a.Together)
		case "closest":
			return cmp.Compare(closest(a), closest(b))
		case "length":
			return cmp.Compare(a.Length, b.Length)
		}
		return cmp.Compare(a.Decimal, b.Decimal)
	})
}

func writeRows(out io.Writer, rows []survey.Row) error {
	w := tabwriter.NewWriter(out, 0, 0, 2, ' ', 0)
	fmt.Fprintln(w, strings.Join([]string{"value", "decimal", "meetings", "together", "closest_ms", "length_s", "forbids"},
		"\t"))
	for _, r := range rows {
		closest := "-"
		if r.Closest != nil {
			closest = strconv.FormatFloat(*r.Closest, 'f', 3, 64)
		}
		fmt.Fprintf(w, "%s\t%.6f\t%d\t%d\t%s\t%.3f\t%d\n", r.Value, r.Decimal, r.Meetings, r.Together, closest, r.Length,
			r.Forbids)
	}
	return w.Flush()
}
