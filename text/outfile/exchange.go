package outfile

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"syscall"
	"time"
)

// exchange is a set on its way from the hidden folder to its places.
type exchange struct {
	Steps []step

	folder, hidden string
}

// step is what happens to one name of the folder. How far it is can be seen from
// what lies where: see place.
type step struct {
	Name string // with slashes
	Gone bool   `json:",omitempty"` // nothing takes the place of what lies there
	Had  *mark  `json:",omitempty"` // what lay there before; nil: nothing
	New  *mark  `json:",omitempty"` // what takes its place
}

// mark tells a file from one that somebody has changed since.
type mark struct {
	Bytes  int64
	TimeNS int64 // of its last change, since 1970
}

func markOf(info fs.FileInfo) *mark { return &mark{info.Size(), info.ModTime().UnixNano()} }

func (m *mark) is(info fs.FileInfo) bool { return m != nil && *m == *markOf(info) }

// mostSteps and mostPlanBytes bound a plan that is read.
const (
	mostSteps     = 100_000
	mostPlanBytes = 64 << 20
)

// afterMove is told of every change of a name, by tests alone.
var afterMove = func() {}

func (x *exchange) at(part string, s *step) string {
	return filepath.Join(x.hidden, part, filepath.FromSlash(s.Name))
}

// target is where the step's file belongs: at the end of a link where there is
// one, so that a link stays one.
func (x *exchange) target(s *step) string {
	path := filepath.Join(x.folder, filepath.FromSlash(s.Name))
	if info, err := os.Lstat(path); err == nil && info.Mode()&fs.ModeSymlink != 0 && !s.Gone {
		if real, err := filepath.EvalSymlinks(path); err == nil {
			return real
		}
	}
	return path
}

// mark takes down what lies at the place of a step and what is to come there.
func (x *exchange) mark(s *step) error {
	target := x.target(s)
	there, err := os.Lstat(target)
	switch {
	case err == nil && there.IsDir():
		return fmt.Errorf("cannot write %s: a folder has that name; move it away", target)
	case err == nil:
		if err := isInput(target, there); err != nil {
			return err
		}
		s.Had = markOf(there)
	case !errors.Is(err, fs.ErrNotExist):
		return explain(target, err)
	}
	if s.Gone {
		return nil
	}
	info, err := os.Lstat(x.at(newName, s))
	if err != nil {
		return explain(target, err)
	}
	s.New = markOf(info)
	return nil
}

// patienceWithOthers is how long a set waits for another program that is
// exchanging one in the same folder.
const patienceWithOthers = 20 * time.Second

// begin writes the plan. From then on the exchange is under way: whoever comes
// after this program, if it is killed, ends it.
func (x *exchange) begin(ctx context.Context) error {
	text, err := json.Marshal(x)
	if err != nil {
		return err
	}
	if err := os.Mkdir(filepath.Join(x.hidden, oldName), 0o755); err != nil {
		return explain(filepath.Join(x.folder, x.first()), err)
	}
	plan := filepath.Join(x.hidden, planName)
	for since := time.Now(); ; {
		if err := ctx.Err(); err != nil {
			return err
		}
		open.remove(x.hidden) // from now on it is not to be abandoned
		err := Write(ctx, plan, func(w io.Writer) error { _, err := w.Write(text); return err })
		if err != nil {
			_ = os.Remove(plan)
			open.add(x.hidden)
			return explain(filepath.Join(x.folder, x.first()), causeOf(err))
		}
		if !x.others() {
			afterMove()
			return nil
		}
		_ = os.Remove(plan)
		open.add(x.hidden)
		if time.Since(since) > patienceWithOthers {
			return fmt.Errorf("another program is writing into %s; wait until it has ended", x.folder)
		}
		time.Sleep(10*time.Millisecond + rand.N(40*time.Millisecond))
	}
}

// first is a name of the set, for errors that are not about one.
func (x *exchange) first() string {
	if len(x.Steps) == 0 {
		return "x"
	}
	return x.Steps[0].Name
}

// others reports whether a living program is exchanging a set in the folder.
func (x *exchange) others() bool {
	for _, hidden := range hiddenIn(x.folder) {
		if filepath.Base(hidden) == filepath.Base(x.hidden) {
			continue
		}
		if _, err := os.Lstat(filepath.Join(hidden, planName)); err == nil && held(hidden) {
			return true
		}
	}
	return false
}

// run does all steps, or moves back what was done.
func (x *exchange) run() error {
	for i := range x.Steps {
		if i == len(x.Steps)-1 {
			_ = SyncFolder(x.folder) // what comes last says what the others are
		}
		if err := x.place(&x.Steps[i]); err != nil {
			if back := x.back(); back != nil {
				return fmt.Errorf("%w; and %w; what is needed to mend it lies in %s, and the next run tries again", err, back,
					x.hidden)
			}
			return err
		}
	}
	_ = SyncFolder(x.folder)
	return x.end()
}

// end takes the plan away: the exchange is no longer under way.
func (x *exchange) end() error {
	if err := os.Remove(filepath.Join(x.hidden, planName)); err != nil {
		return explain(filepath.Join(x.folder, x.first()), err)
	}
	afterMove()
	return nil
}

// errChanged says that somebody has changed a file while a set was exchanged.
var errChanged = errors.New("it was changed by another program meanwhile, and stays as it is")

// place does one step, or what is left of it. What lay there is kept in old by a
// second name where the system has them, so that the name is never without a
// file; else it is moved there.
func (x *exchange) place(s *step) error {
	target, fresh, old := x.target(s), x.at(newName, s), x.at(oldName, s)
	placed := !exists(fresh)
	if s.Gone {
		placed = exists(old) || s.Had == nil
	}
	if placed {
		return nil
	}
	there, err := os.Lstat(target)
	if err == nil {
		if err := x.aside(s, there, target, old); err != nil {
			return explain(target, err)
		}
	}
	if s.Gone {
		return nil
	}
	if err := os.MkdirAll(filepath.Dir(target), 0o755); err != nil {
		return explain(target, err)
	}
	if err := os.Rename(fresh, target); err != nil {
		return explain(target, causeOf(err))
	}
	afterMove()
	return nil
}

// aside keeps what lies at target.
func (x *exchange) aside(s *step, there fs.FileInfo, target, old string) error {
	if kept, err := os.Lstat(old); err == nil {
		if !os.SameFile(kept, there) {
			return errChanged
		}
		return nil
	}
	if !s.Had.is(there) {
		return errChanged
	}
	if err := os.MkdirAll(filepath.Dir(old), 0o755); err != nil {
		return causeOf(err)
	}
	if !s.Gone && os.Link(target, old) == nil {
		afterMove()
		return nil
	}
	err := os.Rename(target, old)
	afterMove()
	return causeOf(err)
}

// back undoes what was done of all steps, the last first.
func (x *exchange) back() error {
	for i := range slices.Backward(x.Steps) {
		if err := x.restore(&x.Steps[i]); err != nil {
			return fmt.Errorf("%s cannot be put back (%w)", x.target(&x.Steps[i]), causeOf(err))
		}
	}
	_ = SyncFolder(x.folder)
	return x.end()
}

// restore undoes one step. What somebody has changed since stays.
func (x *exchange) restore(s *step) error {
	target, fresh, old := x.target(s), x.at(newName, s), x.at(oldName, s)
	there, err := os.Lstat(target)
	ours := err == nil && s.New.is(there) && !s.Gone && !exists(fresh)
	if kept, keptErr := os.Lstat(old); keptErr == nil {
		switch {
		case err == nil && os.SameFile(kept, there):
			_ = os.Remove(old) // a second name, no more
		case err != nil || ours:
			err = os.Rename(old, target)
		default:
			err = nil
		}
		afterMove()
		return err
	}
	if !ours {
		return nil
	}
	err = os.Remove(target)
	afterMove()
	return err
}

func exists(path string) bool {
	_, err := os.Lstat(path)
	return err == nil
}

// causeOf is the system's error without the paths in it.
func causeOf(err error) error {
	var path *fs.PathError
	var link *os.LinkError
	var number syscall.Errno
	switch {
	case errors.As(err, &number):
		return number
	case errors.As(err, &path):
		return path.Err
	case errors.As(err, &link):
		return link.Err
	}
	return err
}

// readPlan is the exchange that is under way from a hidden folder.
func readPlan(hidden string) (*exchange, error) {
	file, err := os.Open(filepath.Join(hidden, planName))
	if err != nil {
		return nil, err
	}
	defer file.Close()
	text, err := io.ReadAll(io.LimitReader(file, mostPlanBytes+1))
	if err != nil {
		return nil, err
	}
	x, err := parsePlan(text)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", file.Name(), err)
	}
	x.folder, x.hidden = filepath.Dir(hidden), hidden
	return x, nil
}

// parsePlan reads what begin has written. A name that leads out of the folder is
// an error.
func parsePlan(text []byte) (*exchange, error) {
	var x exchange
	if len(text) > mostPlanBytes {
		return nil, errors.New("the plan of an exchange is too long")
	}
	if err := json.Unmarshal(text, &x); err != nil {
		return nil, errors.New("this is no plan of an exchange")
	}
	if len(x.Steps) > mostSteps {
		return nil, errors.New("the plan of an exchange has too many steps")
	}
	for _, s := range x.Steps {
		if !filepath.IsLocal(filepath.FromSlash(s.Name)) || !fs.ValidPath(s.Name) || s.Name == "." ||
			strings.HasPrefix(s.Name, partPrefix) {
			return nil, fmt.Errorf("%q leads out of the folder", s.Name)
		}
	}
	return &x, nil
}
