// Package outfile writes an output whole or not at all.
//
// A Writer collects its bytes in a temporary file beside the target and takes
// the target's name only at Commit, after the bytes are on the disk. Whatever
// goes wrong before that (a full disk, a cancelled context, a program that
// ends) leaves the old target as it was and no half file. A target that is not
// a regular file, such as a pipe or a terminal, is written as it comes. A Stage
// does the same for a set of outputs. What a killed program has left is ended or
// swept away by the next one that writes into the folder.
package outfile

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"sync"
	"syscall"

	"rollwright/text/infile"
)

// bufferBytes was chosen by measure: larger buffers gained nothing.
const bufferBytes = 256 << 10

// Writer is an output that does not exist until Commit.
type Writer struct {
	ctx    context.Context
	target string   // the name after Commit
	file   *os.File // the temporary file, or the target itself when direct
	buffer *bufio.Writer
	direct bool
	done   bool
}

// Create begins an output that will be named path. Symbolic links are followed,
// so that a link stays a link. The error says what to do about a folder that
// does not exist or may not be written, and about a file that this program has
// opened to read (text/infile).
func Create(ctx context.Context, path string) (*Writer, error) {
	if info, err := os.Stat(path); err == nil {
		if err := isInput(path, info); err != nil {
			return nil, err
		}
	}
	return create(ctx, path)
}

// isInput is an error where a file is one that this program reads.
func isInput(path string, info fs.FileInfo) error {
	switch from := infile.Opened(info); {
	case from == "":
		return nil
	case from == path:
		return fmt.Errorf("%s is what is read here, and would be destroyed; name another file", path)
	default:
		return fmt.Errorf("%s is the same file as %s, which is read here, and would be destroyed; name another file", path,
			from)
	}
}

func create(ctx context.Context, path string) (*Writer, error) {
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	w := &Writer{ctx: ctx, target: path}
	info, err := os.Stat(path)
	switch {
	case err == nil && info.IsDir():
		return nil, fmt.Errorf("%s is a folder; give a file name", Shown(path))
	case err == nil && !info.Mode().IsRegular():
		w.direct = true
		w.file, err = os.OpenFile(path, os.O_WRONLY, 0)
	case err == nil:
		err = w.beside(path, info.Mode().Perm())
	case errors.Is(err, fs.ErrNotExist):
		err = w.beside(path, 0o644)
	}
	if err != nil {
		return nil, explain(path, err)
	}
	w.buffer = bufio.NewWriterSize(unbuffered{w}, bufferBytes)
	return w, nil
}

// beside opens the temporary file in the target's folder: a rename is atomic
// only within one file system.
func (w *Writer) beside(path string, mode fs.FileMode) error {
	if real, err := filepath.EvalSymlinks(path); err == nil {
		w.target = real
	}
	dir := filepath.Dir(w.target)
	sweepOnce(dir)
	for {
		file, err := os.CreateTemp(dir, partPrefix+"*"+partSuffix)
		if err != nil {
			return err
		}
		if hold(file, file.Name()) != nil { // another program took it for that of a killed one
			file.Close()
			continue
		}
		w.file = file
		open.add(file.Name())
		return file.Chmod(mode)
	}
}

func isFolder(name string) bool {
	info, err := os.Stat(name)
	return err == nil && info.IsDir()
}

// explain turns the system's error into one a person can act on. It names the
// file that was asked for, wherever it lies as yet.
func explain(path string, err error) error {
	path = Shown(path)
	dir := filepath.Dir(path)
	switch {
	case errors.Is(err, fs.ErrNotExist) && isFolder(dir): // such as /proc
		return fmt.Errorf("cannot write %s: %s takes no files", path, dir)
	case errors.Is(err, fs.ErrNotExist):
		return fmt.Errorf("cannot write %s: there is no folder %s; make it first", path, dir)
	case errors.Is(err, fs.ErrPermission):
		return fmt.Errorf("cannot write %s: no permission to write in %s", path, dir)
	case errors.Is(err, syscall.EROFS):
		return fmt.Errorf("cannot write %s: the folder %s is read-only", path, dir)
	}
	// The name of the temporary file tells nobody anything.
	return fmt.Errorf("cannot write %s: %w", path, causeOf(err))
}

// writeTo writes to a file; tests let it fail.
var writeTo = (*os.File).Write

// unbuffered is the unbuffered side of a Writer; it refuses once the context
// is cancelled, so that a long output stops soon.
type unbuffered struct{ w *Writer }

func (u unbuffered) Write(p []byte) (int, error) {
	if err := u.w.ctx.Err(); err != nil {
		return 0, err
	}
	n, err := writeTo(u.w.file, p)
	if err != nil {
		return n, explain(u.w.target, err)
	}
	return n, nil
}

// Write adds to the output.
func (w *Writer) Write(p []byte) (int, error) { return w.buffer.Write(p) }

// Seek moves the place of the next Write, for formats whose head is known last.
// A pipe or terminal cannot seek.
func (w *Writer) Seek(offset int64, whence int) (int64, error) {
	if err := w.buffer.Flush(); err != nil {
		return 0, err
	}
	return w.file.Seek(offset, whence)
}

// Commit gives the output its name. After an error the output is gone and the
// old target is untouched.
func (w *Writer) Commit() error {
	if w.done {
		return nil
	}
	if err := w.commit(); err != nil {
		w.Discard()
		return err
	}
	w.done = true
	return nil
}

func (w *Writer) commit() error {
	if err := w.buffer.Flush(); err != nil {
		return err
	}
	if err := w.ctx.Err(); err != nil {
		return err
	}
	if w.direct {
		return w.file.Close()
	}
	temporary := w.file.Name()
	if err := w.file.Sync(); err != nil {
		return explain(w.target, err)
	}
	// The file is held until it has its name, so that nobody takes it for that of a
	// killed program; Windows renames no file that is open.
	if runtime.GOOS == "windows" {
		_ = w.file.Close()
	}
	if err := os.Rename(temporary, w.target); err != nil {
		return explain(w.target, err)
	}
	open.remove(temporary)
	_ = w.file.Close() // its bytes are on the disk
	return SyncFolder(filepath.Dir(w.target))
}

// SyncFolder makes a new name in the folder last through a power cut. A file
// system that cannot do it (some network folders) is no reason to fail.
func SyncFolder(dir string) error {
	d, err := os.Open(dir)
	if err != nil {
		return nil
	}
	defer d.Close()
	_ = d.Sync()
	return nil
}

// Discard drops an output that was not committed. After Commit it does
// nothing, so it can be deferred.
func (w *Writer) Discard() {
	if w.done {
		return
	}
	w.done = true
	_ = w.file.Close()
	if !w.direct {
		_ = os.Remove(w.file.Name())
		open.remove(w.file.Name())
	}
}

// Write makes the output named path from what fill writes: all of it or, on an
// error of fill or of the disk, nothing.
func Write(ctx context.Context, path string, fill func(io.Writer) error) error {
	w, err := Create(ctx, path)
	if err != nil {
		return err
	}
	return w.fill(fill)
}

// Replace is Write for a file that was read to be changed.
func Replace(ctx context.Context, path string, fill func(io.Writer) error) error {
	w, err := create(ctx, path)
	if err != nil {
		return err
	}
	return w.fill(fill)
}

func (w *Writer) fill(fill func(io.Writer) error) error {
	defer w.Discard()
	if err := fill(w); err != nil {
		return err
	}
	return w.Commit()
}

// open are the temporary files of outputs in the making.
var open unfinished

type unfinished struct {
	sync.Mutex
	names map[string]bool
}

func (u *unfinished) add(name string) {
	u.Lock()
	defer u.Unlock()
	if u.names == nil {
		u.names = map[string]bool{}
	}
	u.names[name] = true
}

func (u *unfinished) remove(name string) {
	u.Lock()
	defer u.Unlock()
	delete(u.names, name)
}

// Abandon removes what is temporary of all outputs that were begun and
// neither committed nor discarded. A program that must end at once, at the
// user's Ctrl-C, calls it last.
func Abandon() {
	open.Lock()
	defer open.Unlock()
	for name := range open.names {
		_ = os.RemoveAll(name)
	}
	open.names = nil
}
