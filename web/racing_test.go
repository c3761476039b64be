//go:build race

package web

// racing: the race detector makes sound a hundred times slower, and package
// sound has tests of its own.
const racing = true
