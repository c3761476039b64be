// Package player hands a WAVE file to whatever program of the system plays one.
//
// It looks for the players that come with the common systems, in an order that
// does not change, streams to those that read standard input, and gives the others
// a temporary file.
package player

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"strings"
)

// ErrNone says that the system has none of the programs that Find looks for.
var ErrNone = errors.New("player: no program that plays sound was found; write a file instead")

// A Player is a program of the system.
type Player struct {
	Name string // as a person knows it
	path string
	args []string
	file bool // args end with the name of a file instead of reading standard input
}

// known are the programs tried, in order: PipeWire, PulseAudio, ALSA, sox, macOS,
// FFmpeg.
var known = []Player{
	{Name: "pw-play", file: true},
	{Name: "paplay", file: true},
	{Name: "aplay", args: []string{"-q", "-"}},
	{Name: "play", args: []string{"-q", "-t", "wav", "-"}},
	{Name: "afplay", file: true},
	{Name: "ffplay", args: []string{"-nodisp", "-autoexit", "-loglevel", "error", "-i", "-"}},
}

// Names are the programs that Find looks for, in its order.
func Names() []string {
	var names []string
	for _, p := range known {
		names = append(names, p.Name)
	}
	return names
}

// Find is the first program that is there. look is exec.LookPath, or a stand-in.
func Find(look func(name string) (string, error)) (Player, error) {
	for _, p := range known {
		if path, err := look(p.Name); err == nil {
			p.path = path
			return p, nil
		}
	}
	return Player{}, fmt.Errorf("%w (looked for %s)", ErrNone, strings.Join(Names(), ", "))
}

// Play plays what write writes, a whole WAVE file, and returns when it has been
// heard, write has failed or ctx has ended. An error of the program carries what
// it said.
func (p Player) Play(ctx context.Context, write func(io.Writer) error) error {
	if p.file {
		return p.fromFile(ctx, write)
	}
	cmd := exec.CommandContext(ctx, p.path, p.args...)
	var said bytes.Buffer
	cmd.Stderr = &said
	in, err := cmd.StdinPipe()
	if err != nil {
		return fmt.Errorf("player: %w", err)
	}
	if err := cmd.Start(); err != nil {
		return fmt.Errorf("player: %s: %w", p.Name, err)
	}
	wrote := write(in)
	if err := in.Close(); wrote == nil {
		wrote = err
	}
	if err := cmd.Wait(); err != nil {
		return p.failed(ctx, err, said.String())
	}
	return wrote
}

func (p Player) fromFile(ctx context.Context, write func(io.Writer) error) error {
	f, err := os.CreateTemp("", "rollwright-*.wav")
	if err != nil {
		return fmt.Errorf("player: temporary file: %w", err)
	}
	defer os.Remove(f.Name())
	err = write(f)
	if e := f.Close(); err == nil {
		err = e
	}
	if err != nil {
		return err
	}
	cmd := exec.CommandContext(ctx, p.path, append(p.args, f.Name())...)
	var said bytes.Buffer
	cmd.Stderr = &said
	if err := cmd.Run(); err != nil {
		return p.failed(ctx, err, said.String())
	}
	return nil
}

// failed is the error of a program that ended badly; if it was told to end, why.
func (p Player) failed(ctx context.Context, err error, said string) error {
	if ctx.Err() != nil {
		return ctx.Err()
	}
	if said = strings.TrimSpace(said); said != "" {
		return fmt.Errorf("player: %s failed: %s (%w)", p.Name, said, err)
	}
	return fmt.Errorf("player: %s failed: %w", p.Name, err)
}
