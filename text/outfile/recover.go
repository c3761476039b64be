package outfile

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"time"
)

// Unfinished outputs are hidden, and known by their names.
const (
	partPrefix = ".rollwright-"
	partSuffix = ".part"
)

func hiddenPart(name string) bool {
	return strings.HasPrefix(name, partPrefix) && strings.HasSuffix(name, partSuffix)
}

// ErrHeld is returned by Lock for a file that another program holds.
var ErrHeld = errors.New("another program holds the file")

// ErrNoLocks is returned by Lock where the system cannot lock.
var ErrNoLocks = errors.New("the file system has no locks")

// oldPart is the age from which a file belongs to nobody where nothing else says
// so, for want of locks.
const oldPart = time.Hour

// Recover ends what killed programs have begun in a folder: a set that was being
// exchanged is finished, or moved back where a move is refused; what was not
// complete is swept away. What living programs make is left alone. The error says
// what is half exchanged and why it stays so.
func Recover(folder string) error {
	for _, hidden := range hiddenIn(folder) {
		if err := recoverOne(hidden); err != nil {
			return err
		}
	}
	return nil
}

// hiddenIn are the unfinished outputs in a folder.
func hiddenIn(folder string) []string {
	entries, err := os.ReadDir(folder)
	if err != nil {
		return nil
	}
	var out []string
	for _, e := range entries {
		if hiddenPart(e.Name()) && (e.IsDir() || e.Type().IsRegular()) {
			out = append(out, filepath.Join(folder, e.Name()))
		}
	}
	return out
}

func recoverOne(hidden string) error {
	info, err := os.Lstat(hidden)
	if err != nil {
		return nil
	}
	if !info.IsDir() {
		sweepFile(hidden)
		return nil
	}
	lock, err := os.OpenFile(filepath.Join(hidden, lockName), os.O_RDWR, 0)
	if err != nil {
		if os.Remove(hidden) != nil && !exists(filepath.Join(hidden, lockName)) {
			_ = os.RemoveAll(hidden) // its program was killed while it took it away
		}
		return nil
	}
	defer lock.Close()
	if !free(lock, info.ModTime()) {
		return nil
	}
	x, err := readPlan(hidden)
	if errors.Is(err, os.ErrNotExist) {
		_ = os.RemoveAll(hidden)
		return nil
	}
	if err != nil {
		return fmt.Errorf("an earlier run was broken off and cannot be gone on with: %w; take that folder away", err)
	}
	if err := x.run(); err != nil && exists(filepath.Join(hidden, planName)) {
		return fmt.Errorf("an earlier run was broken off: %w", err)
	}
	_ = os.RemoveAll(hidden)
	return nil
}

// free reports whether no living program holds a lock, and takes it.
func free(lock *os.File, changed time.Time) bool {
	err := Lock(lock)
	return err == nil || errors.Is(err, ErrNoLocks) && time.Since(changed) > oldPart
}

// held reports whether a living program makes the set in a hidden folder.
func held(hidden string) bool {
	lock, err := os.OpenFile(filepath.Join(hidden, lockName), os.O_RDWR, 0)
	if err != nil {
		return false
	}
	defer lock.Close()
	info, err := lock.Stat()
	return err == nil && !free(lock, info.ModTime())
}

// sweepFile removes a single unfinished output of a program that was killed.
func sweepFile(name string) {
	file, err := os.OpenFile(name, os.O_RDWR, 0)
	if err != nil {
		return
	}
	defer file.Close()
	if info, err := file.Stat(); err == nil && free(file, info.ModTime()) {
		_ = os.Remove(name)
	}
}

// swept are the folders that this program has looked at before it wrote there.
var swept sync.Map

// sweepOnce ends in a folder what killed programs have begun, once in the life of
// a program. What cannot be ended is no reason not to write something else there.
func sweepOnce(folder string) {
	if full, err := filepath.Abs(folder); err == nil {
		if _, done := swept.LoadOrStore(full, true); !done {
			_ = Recover(folder)
		}
	}
}
