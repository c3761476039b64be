package main

import (
	"bytes"
	"context"
	"math/bits"
	"slices"
	"strings"
	"testing"

	"rollwright/workshop"
)

// Every flag of write says for which outputs it does something, and the table
// holds no other.
func TestAppliesHoldsEveryFlag(t *testing.T) {
	parser, err := newParser(context.Background(), terminal{&bytes.Buffer{}, &bytes.Buffer{}, &bytes.Buffer{}})
	if err != nil {
		t.Fatal(err)
	}
	forAll := []string{"help", "strict"}
	var flags []string
	for _, command := range parser.Model.Children {
		if command.Name == "write" {
			for _, f := range command.Flags {
				flags = append(flags, f.Name)
			}
		}
	}
	for _, name := range flags {
		if _, ok := applies[name]; !ok && !slices.Contains(forAll, name) {
			t.Errorf("--%s is for no output", name)
		}
	}
	for name, to := range applies {
		if !slices.Contains(flags, name) || to == 0 {
			t.Errorf("write has no --%s, or it is for nothing", name)
		}
	}
}

// Each output is of one kind, whatever the flags, and every kind has a name.
func TestKinds(t *testing.T) {
	if n := bits.Len(uint(soundFile)); n != len(kindNames) {
		t.Errorf("%d kinds have %d names", n, len(kindNames))
	}
	var figure, score, labels, worksheet, machine, long writeCommand
	figure.Figure, score.Score, labels.Labels, worksheet.Worksheet, machine.Machine, long.Long = "grid", true, true, true, "laser", true
	for _, tt := range []struct {
		c    *writeCommand
		want string // of the formats and sounds, in their order
	}{
		{&writeCommand{}, "a roll in tiles, an SVG of the roll, a DXF of the roll, a picture, a machine program, a table, a MIDI file, notation, a lecture page, sound, sound"},
		{&figure, "a figure as PDF or SVG, a figure as PDF or SVG, a figure as PDF or SVG, a figure as PNG, a figure as PDF or SVG, a figure as PDF or SVG, a figure as PDF or SVG, notation, a figure as PDF or SVG, sound, sound"},
		{&score, "a score as PDF or SVG, a score as PDF or SVG, a score as PDF or SVG, a score as PNG, a score as PDF or SVG, a score as PDF or SVG, a score as PDF or SVG, notation, a score as PDF or SVG, sound, sound"},
		{&machine, "a roll in tiles, a machine program, a machine program, a picture, a machine program, a table, a MIDI file, notation, a lecture page, sound, sound"},
		{&long, "a long PDF, an SVG of the roll, a DXF of the roll, a picture, a machine program, a table, a MIDI file, notation, a lecture page, sound, sound"},
	} {
		var got []string
		for _, f := range workshop.Formats {
			got = append(got, tt.c.kindOf("x"+strings.ToUpper(f.Extension)).String())
		}
		for _, extension := range workshop.SoundExtensions {
			got = append(got, tt.c.kindOf("x"+extension).String())
		}
		if all := strings.Join(got, ", "); all != tt.want {
			t.Errorf("%s\nwant %s", all, tt.want)
		}
	}
	if k := labels.kindOf("x.pdf") | worksheet.kindOf("x.csv"); k.String() != "a worksheet or labels" {
		t.Errorf("%v", k)
	}
}
