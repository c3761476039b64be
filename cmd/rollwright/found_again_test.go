package main

import (
	"context"
	"image/color"
	"image/png"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"rollwright/internal/scancase"
	"rollwright/music/find"
	"rollwright/workshop"
)

// An example is cut, scanned askew from noisy paper, read, and found again: what the
// paper is made of is what its file says. Nothing on paper names a voice.
func TestFoundOnPaper(t *testing.T) {
	ctx, dir := context.Background(), t.TempDir()
	job, err := workshop.Open(ctx, "../../examples/two-shuttles.piece", nil)
	if err != nil {
		t.Fatal(err)
	}
	rolls, err := job.Rolls()
	if err != nil {
		t.Fatal(err)
	}
	picture := filepath.Join(dir, "old.png")
	file, err := os.Create(picture)
	if err != nil {
		t.Fatal(err)
	}
	c := scancase.Case{Seed: 7, DPIAlong: 100, DPIAcross: 100, Margin: [2]float64{9, 8}, First: "bottom", Skew: 0.6,
		Wander: 0.5, Noise: 4, Paper: color.RGBA{214, 204, 180, 255}, Behind: color.RGBA{20, 20, 20, 255}}
	paper := rolls[0]
	for i := range paper.Slots {
		s := &paper.Slots[i]
		c.Slots = append(c.Slots, scancase.Slot{Port: int(s.Port), Lead: s.LeadMM, Trail: s.TrailMM,
			Punches: slices.Collect(paper.Punches(s))})
		c.To = max(c.To, s.TrailMM+30)
	}
	c.From = paper.Slots[0].LeadMM - 30
	if err := (&png.Encoder{CompressionLevel: png.BestSpeed}).Encode(file, c.Draw()); err != nil {
		t.Fatal(err)
	}
	if err := file.Close(); err != nil {
		t.Fatal(err)
	}
	old, err := workshop.Open(ctx, picture, nil)
	if err != nil {
		t.Fatal(err)
	}
	notes, err := old.Notes()
	if err != nil {
		t.Fatal(err)
	}
	found, err := find.Find(ctx, notes)
	if err != nil {
		t.Fatal(err)
	}
	var said strings.Builder
	if err := find.WriteText(&said, found); err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{
		"in 2 voices, parted by what explains them",
		"series    13 pitches on 12 durations; together they end after 156 notes",
		"Canon I, II",
		"which is  sqrt(2)",
		"they are at one place of the line at 0:",
	} {
		if !strings.Contains(said.String(), want) {
			t.Errorf("it does not say %q", want)
		}
	}
	if t.Failed() {
		t.Logf("%d notes of %d slots\n%s", len(notes), len(paper.Slots), said.String())
	}
}
