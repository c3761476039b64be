package instrument

import (
	"errors"
	"fmt"
	"strings"
	"testing"

	"rollwright/text/source"
)

// BenchmarkManyPorts reads an instrument of 5,000 and of 20,000 ports, 0.03 mm from
// each to the next, which is complained of: four times the ports take four times as
// long.
func BenchmarkManyPorts(b *testing.B) {
	for _, n := range []int{5000, 20_000} {
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			var text strings.Builder
			text.WriteString("like = \"88-note\"\npaper {\n  width = 1000\n}\n")
			for i := range n {
				fmt.Fprintf(&text, "port \"%d\" {\nrole=\"note\"\nkey=\"C4\"\nat=%.2f\n}\n", i, 300+float64(i)*0.03)
			}
			f := &source.File{Name: "many.instrument", Text: []byte(text.String())}
			for b.Loop() {
				_, err := Read(f, "")
				var wrong source.Errors
				if !errors.As(err, &wrong) {
					b.Fatalf("%v, want complaints", err)
				}
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(n), "ns/port")
		})
	}
}
