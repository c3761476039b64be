package sheet

import (
	"testing"

	"rollwright/draw/pdf"
	"rollwright/draw/png"
	"rollwright/draw/svg"
	"rollwright/internal/drawcases"
)

// BenchmarkTiles makes the tiles of 200,000 slots over 30 m and writes them.
func BenchmarkTiles(b *testing.B) {
	r := scattered(b, "88-note", 200_000, 30_000)
	for b.Loop() {
		pages, err := Tiles(r, nil)
		if err != nil {
			b.Fatal(err)
		}
		var c drawcases.Counter
		if err := pdf.Encode(&c, pages, nil); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkLong makes the long drawing of 200,000 slots and writes it as SVG.
func BenchmarkLong(b *testing.B) {
	r := scattered(b, "88-note", 200_000, 30_000)
	for b.Loop() {
		d, err := Long(r, nil)
		if err != nil {
			b.Fatal(err)
		}
		var c drawcases.Counter
		if err := svg.Encode(&c, d, nil); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkPreview makes the picture of 200,000 slots and paints it.
func BenchmarkPreview(b *testing.B) {
	r := scattered(b, "88-note", 200_000, 30_000)
	for b.Loop() {
		d, scale, err := Preview(r, &Look{Title: "Many"})
		if err != nil {
			b.Fatal(err)
		}
		var c drawcases.Counter
		if err := png.Encode(&c, d, &png.Options{PixelsPerMM: scale}); err != nil {
			b.Fatal(err)
		}
	}
}
