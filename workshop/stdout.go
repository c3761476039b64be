package workshop

import (
	"context"
	"fmt"
	"io"
	"os"
	"path/filepath"
)

// WriteTo writes to w the one file that an output of this extension, with its
// dot, is. An output of several files, as of two pianos, is an error.
func (o *Order) WriteTo(ctx context.Context, w io.Writer, extension string) error {
	folder, err := os.MkdirTemp("", "rollwright-")
	if err != nil {
		return err
	}
	defer os.RemoveAll(folder)
	made, err := o.Write(ctx, filepath.Join(folder, "out"+extension))
	if err != nil {
		return err
	}
	if len(made) != 1 {
		return fmt.Errorf("the output is %d files and standard output holds one: name a file, or choose a piano, spool or page", len(made))
	}
	file, err := os.Open(made[0])
	if err != nil {
		return err
	}
	defer file.Close()
	_, err = io.Copy(w, file)
	return err
}
