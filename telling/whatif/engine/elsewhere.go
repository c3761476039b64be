//go:build !(js && wasm)

package main

import (
	"fmt"
	"os"
)

func main() {
	fmt.Fprintln(os.Stderr, "engine runs in a browser: GOOS=js GOARCH=wasm go build ./telling/whatif/engine")
	os.Exit(2)
}
