//go:build !linux

package sound

// advise does nothing here: only Linux is asked for large pages.
func advise([]float32) {}
