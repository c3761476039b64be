// Package flicker counts flashes in moving pictures, for tests: WCAG 2.2, 2.3.1 allows no
// more than three in a second over more than a quarter of any rectangle of 341 by 256
// pixels of a picture 1024 pixels wide. Luminances are relative, 0 to 1, of linear light.
package flicker

// Most is how many flashes a second may have.
const Most = 3

// Flashes counts pairs of opposing changes in the luminance of one place: a tenth or more
// of the most, the darker below 0.80.
func Flashes(h []float64) int {
	changes, last, low, high := 0, 0, h[0], h[0]
	for _, v := range h {
		low, high = min(low, v), max(high, v)
		switch {
		case v-low >= 0.1 && low < 0.8 && last != 1:
			changes, last, high, low = changes+1, 1, v, v
		case high-v >= 0.1 && v < 0.8 && last != -1:
			changes, last, high, low = changes+1, -1, v, v
		case last == 1:
			low = high
		case last == -1:
			high = low
		}
	}
	return changes / 2
}

// Worst is the greatest share, 0 to 1, of any rectangle of w by h cells that flashes more
// than Most times. The cells' luminances over one second are row after row, columns in a row.
func Worst(cells [][]float64, columns, w, h int) float64 {
	const step = 4 // cells from rectangle to rectangle
	rows := len(cells) / columns
	flashing := make([]bool, len(cells))
	for c, history := range cells {
		flashing[c] = Flashes(history) > Most
	}
	w, h = min(w, columns), min(h, rows)
	worst := 0.0
	for y := 0; y+h <= rows; y += step {
		for x := 0; x+w <= columns; x += step {
			n := 0
			for k := range w * h {
				if flashing[(y+k/w)*columns+x+k%w] {
					n++
				}
			}
			worst = max(worst, float64(n)/float64(w*h))
		}
	}
	return worst
}
