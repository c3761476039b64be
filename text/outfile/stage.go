package outfile

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"syscall"
)

// Stage is a set of outputs that appear in a folder together: they are made
// in a hidden folder inside it and moved at Commit, so that a failed run leaves
// the folder as it was.
type Stage struct {
	folder string
	hidden string
	made   bool // the folder was not there before
}

// NewStage begins a set of outputs for folder, which is made if need be.
func NewStage(folder string) (*Stage, error) {
	_, err := os.Stat(folder)
	s := &Stage{folder: folder, made: errors.Is(err, fs.ErrNotExist)}
	if err := os.MkdirAll(folder, 0o755); errors.Is(err, syscall.ENOTDIR) {
		return nil, fmt.Errorf("%s is a file, or lies in one; name a folder", folder)
	} else if err != nil {
		return nil, explain(folder, err)
	}
	if s.hidden, err = os.MkdirTemp(folder, ".rollwright-*.part"); err != nil {
		return nil, explain(filepath.Join(folder, "x"), err)
	}
	open.add(s.hidden)
	return s, nil
}

// Path is where the output called name is to be written before Commit.
func (s *Stage) Path(name string) string { return filepath.Join(s.hidden, name) }

// Names are the outputs so far, sorted; those in folders of their own with slashes.
func (s *Stage) Names() ([]string, error) {
	var names []string
	err := fs.WalkDir(os.DirFS(s.hidden), ".", func(path string, entry fs.DirEntry, err error) error {
		if err == nil && !entry.IsDir() {
			names = append(names, path)
		}
		return err
	})
	slices.Sort(names)
	return names, err
}

// Commit moves the outputs into the folder and returns their names, sorted.
// Other files of the folder stay.
func (s *Stage) Commit(ctx context.Context) ([]string, error) {
	names, err := s.Names()
	if err != nil {
		return nil, err
	}
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	for _, name := range names {
		if err := os.MkdirAll(filepath.Dir(filepath.Join(s.folder, name)), 0o755); err != nil {
			return nil, explain(filepath.Join(s.folder, name), err)
		}
		if err := os.Rename(s.Path(name), filepath.Join(s.folder, name)); err != nil {
			return nil, explain(filepath.Join(s.folder, name), err)
		}
	}
	s.made = false
	s.Discard()
	return names, SyncFolder(s.folder)
}

// Discard drops what was not committed, and the folder if it was made for it.
func (s *Stage) Discard() {
	_ = os.RemoveAll(s.hidden)
	open.remove(s.hidden)
	if s.made {
		_ = os.Remove(s.folder)
	}
}
