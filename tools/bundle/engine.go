package main

import (
	"bytes"
	"compress/gzip"
	"encoding/base64"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
)

// toolchain makes the engine: of another one the bytes would be others. The go command
// fetches it where it is not the one at hand.
const toolchain = "go1.26.8"

// mostEngine is how large the engine may be as it stands in a page, in base64.
const mostEngine = 3_000_000

// runEngine makes the engine of the lecture's page from the program in root, or compares
// it. What is compared is unpacked: packing may change with what packs.
func runEngine(root string, check bool) error {
	folder := filepath.Join(root, "telling", "show", "engine")
	wasm, script, err := buildEngine(root)
	if err != nil {
		return err
	}
	if check {
		return compareEngine(folder, wasm, script)
	}
	var packed bytes.Buffer
	w, err := gzip.NewWriterLevel(&packed, gzip.BestCompression)
	if err != nil {
		return err
	}
	if _, err := w.Write(wasm); err != nil {
		return err
	}
	if err := w.Close(); err != nil {
		return err
	}
	if size := base64.StdEncoding.EncodedLen(packed.Len()); size > mostEngine {
		return fmt.Errorf("the engine has %d bytes in base64, more than %d", size, mostEngine)
	}
	if err := os.WriteFile(filepath.Join(folder, "engine.wasm.gz"), packed.Bytes(), 0o644); err != nil {
		return err
	}
	if err := os.WriteFile(filepath.Join(folder, "engine.js"), script, 0o644); err != nil {
		return err
	}
	fmt.Printf("%d bytes of engine gzipped\n", packed.Len())
	return nil
}

// buildEngine is the engine, and the script that comes with Go to run it, its licence
// before it. Nothing of this machine gets into either. Functions are not written out where
// they are called, which makes the engine a seventh smaller.
func buildEngine(root string) (wasm, script []byte, err error) {
	folder, err := os.MkdirTemp("", "engine")
	if err != nil {
		return nil, nil, err
	}
	defer os.RemoveAll(folder)
	path := filepath.Join(folder, "engine.wasm")
	if _, err := goCommand(root, "build", "-trimpath", "-buildvcs=false", "-gcflags=all=-l", "-ldflags=-s -w -buildid=",
		"-o", path, "./telling/whatif/engine"); err != nil {
		return nil, nil, err
	}
	if wasm, err = os.ReadFile(path); err != nil {
		return nil, nil, err
	}
	goroot, err := goCommand(root, "env", "GOROOT")
	if err != nil {
		return nil, nil, err
	}
	at := string(bytes.TrimSpace(goroot))
	licence, err := os.ReadFile(filepath.Join(at, "LICENSE"))
	if err != nil {
		return nil, nil, err
	}
	runs, err := os.ReadFile(filepath.Join(at, "lib", "wasm", "wasm_exec.js"))
	if err != nil {
		return nil, nil, err
	}
	if bytes.Contains(licence, []byte("*/")) || bytes.Contains(runs, []byte("</script")) {
		return nil, nil, errors.New("the script that comes with Go cannot stand in a page")
	}
	return wasm, bytes.Join([][]byte{[]byte("/*\n"), licence, []byte("*/\n"), runs}, nil), nil
}

// goCommand runs the go command of the toolchain for a browser.
func goCommand(root string, args ...string) ([]byte, error) {
	c := exec.Command("go", args...)
	c.Dir = root
	c.Env = append(os.Environ(), "GOTOOLCHAIN="+toolchain, "GOOS=js", "GOARCH=wasm", "GOFLAGS=", "GOWASM=", "GOEXPERIMENT=",
		"CGO_ENABLED=0", "GOWORK=off")
	var said bytes.Buffer
	c.Stderr = &said
	out, err := c.Output()
	if err != nil {
		return nil, fmt.Errorf("go %s: %w: %s", args[0], err, bytes.TrimSpace(said.Bytes()))
	}
	return out, nil
}

func compareEngine(folder string, wasm, script []byte) error {
	path := filepath.Join(folder, "engine.wasm.gz")
	have, err := unpacked(path)
	if err != nil {
		return err
	}
	if !bytes.Equal(have, wasm) {
		return fmt.Errorf("%s is not what the sources make: run go -C tools run ./bundle -engine", path)
	}
	return compare(folder, []output{{"engine.js", script}})
}

func unpacked(path string) ([]byte, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	r, err := gzip.NewReader(f)
	if err != nil {
		return nil, err
	}
	return io.ReadAll(r)
}
