// Package long says how long a test's series is. It is for tests alone.
//
// Series that take many minutes, over many seeds, run in full only where
// ROLLWRIGHT_LONG is set in the environment; elsewhere a test runs a few of them,
// so that a change for the worse shows.
package long

import "os"

// Variable is the name of the switch in the environment; any value but the empty
// one sets it.
const Variable = "ROLLWRIGHT_LONG"

// Of is many where the switch is set, else few.
func Of(few, many int) int {
	if os.Getenv(Variable) != "" {
		return many
	}
	return few
}
