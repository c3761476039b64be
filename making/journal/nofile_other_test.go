//go:build !unix

package journal_test

import "testing"

// noFiles are paths at which no file lies, with what is said of them.
func noFiles(_ *testing.T, dir string) map[string]string {
	return map[string]string{dir: "is a folder"}
}
