package show

import (
	"fmt"

	"rollwright/draw"
)

// rim is the colour and pattern by which a voice is known, as a style sheet
// writes it; the pattern in widths of the line.
func rim(voice int) (hue string, dash []float64) {
	s := draw.VoiceStroke(voice, 1)
	return css(s.Ink), s.DashMM
}

func css(i draw.Ink) string { return fmt.Sprintf("#%02x%02x%02x", i.R, i.G, i.B) }
