package price_test

import (
	"fmt"

	"rollwright/making/bench"
	"rollwright/making/price"
)

func Example() {
	pace := bench.Pace{StrokeSec: 5, RowSec: 4}
	long := price.Cost{Slots: 12, Punches: 140, Rows: 120, WorkSec: pace.WorkSec(140, 120)}
	short := price.Cost{Slots: 12, Punches: 60, Rows: 51, WorkSec: pace.WorkSec(60, 51)}
	fmt.Println(long.Sum())
	saved := long.Beyond(short)
	fmt.Printf("%d punches and %d rows less\n", saved.Punches, saved.Rows)
	// Output:
	// 140 punches in 120 rows, 20 min
	// 80 punches and 69 rows less
}
