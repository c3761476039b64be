package solve_test

import (
	"fmt"

	"rollwright/music/solve"
)

// Two conditions for two numbers: x + y = 7 and 2x = y + 2. A third that says
// otherwise is told from one that adds nothing.
func Example() {
	n := func(x int64) solve.Number { return solve.Whole(x) }
	s := solve.NewSystem(2)
	s.Add(solve.Equation{Coef: []solve.Number{n(1), n(1)}, Right: n(7)})
	s.Add(solve.Equation{Coef: []solve.Number{n(2), n(-1)}, Right: n(2)})
	for i := range 2 {
		x, known := s.Value(i)
		fmt.Println(x.Float64(), known)
	}
	fmt.Println(s.Add(solve.Equation{Coef: []solve.Number{n(1), n(-1)}, Right: n(-1)}) == solve.Contradicts)
	fmt.Println(s.Add(solve.Equation{Coef: []solve.Number{n(1), n(0)}, Right: n(4)}) == solve.Contradicts)
	// Output:
	// 3 true
	// 4 true
	// false
	// true
}
