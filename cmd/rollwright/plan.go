package main

import (
	"context"
	"fmt"
	"strings"

	"rollwright/making/price"
	"rollwright/music/plan"
	"rollwright/workshop"
)

// planCommand says how the cycles of a piece run.
type planCommand struct {
	pieceArg
	Voice      string `xor:"much" placeholder:"NAME" help:"Everything about this voice."`
	Pair       string `xor:"much" placeholder:"A,B" help:"Everything between these two voices."`
	All        bool   `xor:"much" help:"Everything about all voices and pairs, in place of one screen."`
	Ear        bool   `xor:"much" help:"What a listener can follow: what is heard as one attack, what falls apart, what is hidden."`
	Hands      bool   `xor:"much" help:"What every voice, hold and gesture costs to punch by hand, and what shorter holds would save."`
	Bench      string `placeholder:"NAME|FILE" help:"With --hands: at this bench; 'rollwright benches' lists the built-in ones."`
	Thresholds string `placeholder:"FILE" help:"With --ear: the listener's own thresholds, a .ear file."`
	JSON       bool   `name:"json" help:"For programs: JSON in place of text."`
}

func (c *planCommand) Run(ctx context.Context, t terminal) error {
	job, err := c.open(ctx, t)
	if err == nil && !c.Ear {
		err = job.NeedsPiece("plan")
	}
	if err != nil {
		return err
	}
	if c.Ear || c.Thresholds != "" {
		return c.ear(t, job)
	}
	warnOfLecture(job, t.err)
	if c.Bench != "" && !c.Hands {
		return usageError{"--bench does nothing for plan without --hands"}
	}
	switch {
	case c.Hands:
		return c.hands(ctx, t, job)
	case c.JSON:
		return plan.WriteJSON(t.out, job.Plan())
	case c.All:
		return plan.WriteText(t.out, job.Plan(), plan.TextOptions{All: true})
	case c.Voice != "":
		return c.voice(t, job)
	case c.Pair != "":
		return c.pair(t, job)
	}
	return plan.WriteBrief(t.out, job.Plan(), job.Hands(), otherPlans(job))
}

// hands says what the decisions of the piece cost at a bench.
func (c *planCommand) hands(ctx context.Context, t terminal, job *workshop.Job) error {
	bill, err := job.Price(ctx, &workshop.Making{Bench: c.Bench})
	if err != nil {
		return err
	}
	if c.JSON {
		return price.WriteJSON(t.out, bill)
	}
	return price.WriteText(t.out, bill)
}

func (c *planCommand) voice(t terminal, job *workshop.Job) error {
	found, err := plan.WriteVoice(t.out, job.Plan(), c.Voice)
	if err == nil && !found {
		err = fmt.Errorf("the piece has no voice %q; its voices: %s", c.Voice, strings.Join(job.Voices, ", "))
	}
	return err
}

func (c *planCommand) pair(t terminal, job *workshop.Job) error {
	a, b, ok := strings.Cut(c.Pair, ",")
	a, b = strings.TrimSpace(a), strings.TrimSpace(b)
	if !ok || a == "" || b == "" || a == b {
		return usageError{fmt.Sprintf("--pair %q: write two names of voices with a comma between them", c.Pair)}
	}
	found, err := plan.WritePair(t.out, job.Plan(), a, b)
	if err == nil && !found {
		err = fmt.Errorf("%q and %q are not compared; the voices of the piece: %s", a, b, strings.Join(job.Voices, ", "))
	}
	return err
}

// otherPlans says what else can be asked for, by the names of this piece.
func otherPlans(job *workshop.Job) string {
	if len(job.Voices) == 0 {
		return ""
	}
	text := fmt.Sprintf("one voice: --voice %q", job.Voices[0])
	if pairs := job.Plan().Pairs; len(pairs) > 0 {
		text += fmt.Sprintf("; two: --pair %q", pairs[0].A+","+pairs[0].B)
	}
	return text + "; everything: --all; what a listener follows: --ear; by hand: --hands"
}
