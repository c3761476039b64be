package main

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"

	"rollwright/web"
)

// openCommand serves the workbench to a browser of this machine until it is
// interrupted.
type openCommand struct {
	Path    string `arg:"" optional:"" default:"." help:"A piece file, or a folder of pieces; by default this folder."`
	Port    int    `default:"4187" help:"The port of this machine to answer on, when it is free."`
	Browser bool   `default:"true" negatable:"" help:"Open the page in the browser; --no-browser only prints its address."`
	Also    string `placeholder:"FOLDER" help:"Keep a second copy of every journal at the bench in this folder, at every row."`
}

func (c *openCommand) Run(ctx context.Context, t terminal) error {
	if c.Port < 0 || c.Port > 65535 {
		return usageError{"--port runs from 0 (any that is free) to 65535"}
	}
	o, err := c.options()
	if err != nil {
		return err
	}
	server, err := web.New(o)
	if err != nil {
		return err
	}
	listener, err := web.Listen(c.Port)
	if err != nil {
		return err
	}
	if got := listener.Addr().(*net.TCPAddr).Port; c.Port != 0 && got != c.Port {
		fmt.Fprintf(t.err, "port %d is not free; port %d is taken in its place\n", c.Port, got)
	}
	address := server.Address(listener)
	fmt.Fprintf(t.out, "%s\n", address)
	fmt.Fprintln(t.err, "the workbench is open at this address, for this machine alone; Ctrl-C closes it")
	if c.Browser {
		if err := browse(address); err != nil {
			fmt.Fprintln(t.err, "no browser was found; open the address in one")
		}
	}
	return server.Serve(ctx, listener)
}

// options are those of a folder, or of the folder of a file.
func (c *openCommand) options() (web.Options, error) {
	info, err := os.Stat(c.Path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return web.Options{}, c.missing()
	case err != nil:
		return web.Options{}, err
	case info.IsDir():
		return web.Options{Folder: c.Path, Also: c.Also}, nil
	case filepath.Ext(c.Path) != ".piece":
		return web.Options{}, usageError{fmt.Sprintf("%s is not a piece file: its name has to end in .piece", c.Path)}
	}
	return web.Options{Folder: filepath.Dir(c.Path), File: filepath.Base(c.Path), Also: c.Also}, nil
}

// missing says what could be there. Without the ending of a piece it may be a
// folder that is meant.
func (c *openCommand) missing() error {
	if filepath.Ext(c.Path) == ".piece" {
		return fmt.Errorf("there is no file %s; rollwright new %s writes a piece that plays", c.Path, c.Path)
	}
	return fmt.Errorf("there is no file or folder %s; for a new folder make it first: mkdir %s; for a new piece: rollwright new %s.piece", c.Path, c.Path, c.Path)
}

// browse asks the system to show an address.
func browse(address string) error {
	name, args := "xdg-open", []string{address}
	switch runtime.GOOS {
	case "darwin":
		name = "open"
	case "windows":
		name, args = "rundll32", []string{"url.dll,FileProtocolHandler", address}
	}
	command := exec.Command(name, args...)
	if err := command.Start(); err != nil {
		return err
	}
	go command.Wait()
	return nil
}
