package player

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"os/exec"
	"slices"
	"strings"
)

// ErrNoConverter says that the system has no program that Converter needs.
var ErrNoConverter = errors.New("player: no program that makes such files was found (looked for ffmpeg); " +
	"write .wav or .flac instead")

// conversions are the arguments of FFmpeg by the extension of the file. Bit-exact, so that
// the same sound makes the same file with the same program.
var conversions = map[string][]string{
	".mp3":  {"-c:a", "libmp3lame", "-q:a", "2", "-f", "mp3"},
	".opus": {"-c:a", "libopus", "-b:a", "160k", "-f", "opus"},
}

// Conversions are the extensions of the files that a converter makes, in order.
func Conversions() []string {
	var out []string
	for extension := range conversions {
		out = append(out, extension)
	}
	slices.Sort(out)
	return out
}

// A Converter is a program of the system that makes files of kinds that this one does not
// write.
type Converter struct{ path string }

// FindConverter is the converter, or ErrNoConverter. look is exec.LookPath, or a stand-in.
func FindConverter(look func(name string) (string, error)) (Converter, error) {
	path, err := look("ffmpeg")
	if err != nil {
		return Converter{}, ErrNoConverter
	}
	return Converter{path}, nil
}

// Convert writes to out what the extension says, ".mp3" or ".opus", of what write writes, a
// whole WAVE file. Errors: those of write, and what the program said.
func (c Converter) Convert(ctx context.Context, out io.Writer, extension string, write func(io.Writer) error) error {
	how, known := conversions[strings.ToLower(extension)]
	if !known {
		return fmt.Errorf("player: no conversion to %q", extension)
	}
	args := slices.Concat([]string{"-hide_banner", "-loglevel", "error", "-f", "wav", "-i", "-", "-map_metadata", "-1",
		"-fflags", "+bitexact", "-flags:a", "+bitexact"}, how, []string{"-"})
	cmd := exec.CommandContext(ctx, c.path, args...)
	var said bytes.Buffer
	cmd.Stdout, cmd.Stderr = out, &said
	in, err := cmd.StdinPipe()
	if err != nil {
		return fmt.Errorf("player: %w", err)
	}
	if err := cmd.Start(); err != nil {
		return fmt.Errorf("player: ffmpeg: %w", err)
	}
	wrote := write(in)
	if err := in.Close(); wrote == nil {
		wrote = err
	}
	if err := cmd.Wait(); err != nil {
		return Player{Name: "ffmpeg"}.failed(ctx, err, said.String())
	}
	return wrote
}
