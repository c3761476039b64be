package figure_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"rollwright/draw"
	"rollwright/telling/figure"
)

// kitPiece is a talea of 3 strokes and a silence on a color of 4 pitches, against the same
// twice as fast: 12 notes until both series end together.
const kitPiece = `
title = "Kit"
tempo = 60
tune "line" {
  talea = "3 1 (2) 2"
  color = "C4 D4 E4 F4"
}
canon "pair" {
  subject = "line"
  meet    = "start"
  voice "low" {}
  voice "high" {
    speed = 2
  }
}
`

// TestKit: wheels with marks the same way apart on both rims, strips with equal cells, as
// many as it takes, and strokes where the events are.
func TestKit(t *testing.T) {
	in := input(t, kitPiece)
	pages, err := figure.Kit(in, &figure.KitOptions{})
	if err != nil {
		t.Fatal(err)
	}
	if len(pages) != 3 {
		t.Fatalf("%d pages, want wheels, strips, tempos", len(pages))
	}
	for _, p := range pages {
		if err := p.Check(); err != nil {
			t.Error(err)
		}
	}
	texts := map[string]*draw.Text{}
	for _, page := range pages {
		for _, l := range page.Layers {
			for _, m := range l.Marks {
				if text, ok := m.(*draw.Text); ok && text.ID != "" {
					texts[text.ID] = text
				}
			}
		}
	}
	for id, want := range map[string]string{"color-wheel-1": "C4", "color-wheel-4": "F4", "talea-wheel-3": "2"} {
		if texts[id] == nil || texts[id].Text != want {
			t.Errorf("%s is %+v, want %s", id, texts[id], want)
		}
	}
	strips := map[string]int{}
	for id := range texts {
		kind, _, strip := strings.Cut(id, "-strip-")
		if strip {
			strips[kind]++
		}
	}
	// 12 cells of each series, as it takes until both end together: 4 times 3, 3 times 4.
	if strips["talea"] != 12 || strips["color"] != 12 {
		t.Errorf("cells: %v, want 12 of each", strips)
	}
	// Radii are as the marks.
	if r := radiusOf(pages[0], "color-wheel") / radiusOf(pages[0], "talea-wheel"); math.Abs(r-4.0/3) > 1e-6 {
		t.Errorf("the radii are as %v, want 4 : 3", r)
	}
	// High goes twice as fast: its stroke 1+n is half as far along as that of low.
	first := func(voice, note int) float64 {
		for _, m := range pages[2].Layer("marks", "").Marks {
			if p, ok := m.(*draw.Path); ok && p.ID == fmt.Sprintf("stroke-%d-%d", voice, note) {
				box, _ := p.Bounds()
				return box.Min.X
			}
		}
		t.Fatalf("no stroke %d of voice %d", note, voice)
		return 0
	}
	low, high := first(0, 3)-first(0, 1), first(1, 3)-first(1, 1)
	if math.Abs(low-2*high) > 1e-6 || low <= 0 {
		t.Errorf("the third strokes are %v and %v mm from the first", low, high)
	}
}

func radiusOf(d *draw.Drawing, id string) float64 {
	for _, m := range d.Layer("cut", "").Marks {
		if p, ok := m.(*draw.Path); ok && p.ID == id {
			box, _ := p.Bounds()
			return (box.W() - 0.4) / 2 // without the stroke
		}
	}
	return math.NaN()
}
