package cell_test

import (
	"fmt"
	"strings"
	"testing"

	"rollwright/text/cell"
)

func Example() {
	for _, name := range []string{"low", `=HYPERLINK("http://x")`, "-2", "'tis", "'=x"} {
		fmt.Println(cell.Name(name))
	}
	// Output:
	// low
	// '=HYPERLINK("http://x")
	// '-2
	// 'tis
	// ''=x
}

// What is written begins no formula, and reads back.
func FuzzName(f *testing.F) {
	for _, name := range []string{"", "'", "''=", "=1", "@x", "+", "-", "\tx", "\r=", "low"} {
		f.Add(name)
	}
	f.Fuzz(func(t *testing.T, name string) {
		text := cell.Name(name)
		if text != "" && strings.IndexByte("=+-@\t\r", text[0]) >= 0 {
			t.Errorf("%q is written as %q", name, text)
		}
		if back := cell.Read(text); back != name {
			t.Errorf("%q reads back as %q", name, back)
		}
	})
}
