package whatif_test

import (
	"testing"

	"rollwright/examples"
	"rollwright/telling/whatif"
)

// BenchmarkAsk is how long an answer takes; a browser takes several times as long.
func BenchmarkAsk(b *testing.B) {
	text, err := examples.Source("two-shuttles")
	if err != nil {
		b.Fatal(err)
	}
	p, err := whatif.Open(whatif.Source{Name: "two-shuttles.piece", Text: string(text)})
	if err != nil {
		b.Fatal(err)
	}
	q := whatif.Question{Pair: p.Pairs()[0], Ratio: "3/2"}
	for b.Loop() {
		if _, err := p.Ask(q); err != nil {
			b.Fatal(err)
		}
	}
}
