package outfile

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"syscall"
)

// Stage is a set of outputs that appear in a folder together, all of them or
// none. They are made in a hidden folder inside it; Commit writes down what is to
// be exchanged, then moves each output to its place and what lay there aside.
// Where a move is refused, everything is moved back. Where the program is killed
// in between, the next one that writes into the folder goes on from what is
// written down: it finishes, or moves back.
type Stage struct {
	folder string
	hidden string
	lock   *os.File
	made   bool     // the folder was not there before
	remove []string // names that go with the exchange
	last   string   // the name that is exchanged last
}

// What lies in the hidden folder of a set.
const (
	lockName = "lock" // held while its program lives
	newName  = "new"  // the outputs
	oldName  = "old"  // what lay in their places
	planName = "plan" // what is to be exchanged; while it is there, the exchange is under way
)

// NewStage begins a set of outputs for folder, which is made if need be. What
// killed programs have left there is finished, moved back, or swept away first.
func NewStage(folder string) (*Stage, error) {
	_, err := os.Stat(folder)
	made := errors.Is(err, fs.ErrNotExist)
	if err := os.MkdirAll(folder, 0o755); errors.Is(err, syscall.ENOTDIR) {
		return nil, fmt.Errorf("%s is a file, or lies in one; name a folder", folder)
	} else if err != nil {
		return nil, explain(folder, err)
	}
	s, err := StageIn(folder)
	if err == nil {
		s.made = made
	}
	return s, err
}

// StageIn is NewStage for a folder that has to be there.
func StageIn(folder string) (*Stage, error) {
	if err := Recover(folder); err != nil {
		return nil, err
	}
	for {
		s := &Stage{folder: folder}
		err := s.hide()
		if err == nil {
			return s, nil
		}
		if !errors.Is(err, errSwept) {
			return nil, explain(filepath.Join(folder, "x"), err)
		}
	}
}

// errSwept says that another program took a folder or file away before it was
// locked.
var errSwept = errors.New("swept away")

// hide makes the hidden folder.
func (s *Stage) hide() (err error) {
	if s.hidden, err = os.MkdirTemp(s.folder, partPrefix+"*"+partSuffix); err != nil {
		return err
	}
	name := filepath.Join(s.hidden, lockName)
	s.lock, err = os.OpenFile(name, os.O_RDWR|os.O_CREATE|os.O_EXCL, 0o600)
	if errors.Is(err, fs.ErrNotExist) {
		return errSwept
	}
	if err == nil {
		err = hold(s.lock, name)
	}
	if err == nil {
		err = os.Mkdir(filepath.Join(s.hidden, newName), 0o755)
	}
	if err == nil {
		err = os.Chmod(s.hidden, 0o755)
	}
	if err != nil {
		s.lock.Close()
		_ = os.RemoveAll(s.hidden)
		return err
	}
	open.add(s.hidden)
	return nil
}

// hold locks a file that was just made, and makes sure that nobody has swept it
// away before.
func hold(file *os.File, name string) error {
	if err := Lock(file); errors.Is(err, ErrHeld) {
		return errSwept
	}
	there, err := os.Stat(name)
	if err != nil {
		return errSwept
	}
	if mine, err := file.Stat(); err != nil || !os.SameFile(mine, there) {
		return errSwept
	}
	return nil
}

// Path is where the output called name is to be written before Commit.
func (s *Stage) Path(name string) string { return filepath.Join(s.hidden, newName, name) }

// Remove lets a file of the folder go when the set takes its place.
func (s *Stage) Remove(name string) { s.remove = append(s.remove, name) }

// Last says which output takes its place when all others have: the one that says
// what the set is.
func (s *Stage) Last(name string) { s.last = name }

// Names are the outputs so far, sorted; those in folders of their own with slashes.
func (s *Stage) Names() ([]string, error) {
	var names []string
	err := fs.WalkDir(os.DirFS(filepath.Join(s.hidden, newName)), ".", func(path string, entry fs.DirEntry, err error) error {
		if err == nil && !entry.IsDir() {
			names = append(names, path)
		}
		return err
	})
	slices.Sort(names)
	return names, err
}

// Commit moves the outputs into the folder and returns their names, sorted.
// Other files of the folder stay. After an error everything is as it was before,
// or the error says what is not.
func (s *Stage) Commit(ctx context.Context) ([]string, error) {
	names, err := s.Names()
	if err != nil {
		return nil, err
	}
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	x, err := s.exchange(names)
	if err != nil {
		return nil, err
	}
	if err := x.begin(ctx); err != nil {
		return nil, err
	}
	if err := x.run(); err != nil {
		return nil, err
	}
	s.made = false
	s.Discard()
	return names, SyncFolder(s.folder)
}

// exchange is what is to be done to the folder.
func (s *Stage) exchange(names []string) (*exchange, error) {
	x := &exchange{folder: s.folder, hidden: s.hidden}
	order := slices.DeleteFunc(slices.Clone(names), func(name string) bool { return name == s.last })
	if len(order) < len(names) {
		order = append(order, s.last)
	}
	for _, name := range s.remove {
		x.Steps = append(x.Steps, step{Name: filepath.ToSlash(name), Gone: true})
	}
	for _, name := range order {
		x.Steps = append(x.Steps, step{Name: name})
	}
	for i := range x.Steps {
		if err := x.mark(&x.Steps[i]); err != nil {
			return nil, err
		}
	}
	return x, nil
}

// Discard drops what was not committed, and the folder if it was made for it.
func (s *Stage) Discard() {
	open.remove(s.hidden)
	if _, err := os.Lstat(filepath.Join(s.hidden, planName)); err == nil {
		_ = s.lock.Close() // an exchange that could not be moved back: the next program goes on with it
		return
	}
	_ = s.lock.Close()
	_ = os.RemoveAll(s.hidden)
	if s.made {
		_ = os.Remove(s.folder)
	}
}

// Shown is the path that a person has asked for, of a file that lies in the
// hidden folder of a set.
func Shown(path string) string {
	parts := strings.Split(filepath.ToSlash(path), "/")
	for i := 0; i+1 < len(parts); i++ {
		if hiddenPart(parts[i]) && parts[i+1] == newName {
			parts = slices.Delete(parts, i, i+2)
			return filepath.FromSlash(strings.Join(parts, "/"))
		}
	}
	return path
}
