package simple_test

import (
	"fmt"

	"rollwright/music/simple"
)

// Numbers to try between a fourth and a fifth, and what 1.4142 may have been.
func Example() {
	for _, n := range simple.Between(4.0/3, 1.5, 12) {
		fmt.Printf("%v = %.4f\n", n.Value, n.Decimal)
	}
	fmt.Println(simple.Named(1.41418, 1.41424, 1))
	// Output:
	// 4/3 = 1.3333
	// e/2 = 1.3591
	// 7/5 = 1.4000
	// sqrt(2) = 1.4142
	// cbrt(3) = 1.4422
	// 3/2 = 1.5000
	// [sqrt(2)]
}
