// Package journal keeps on disk which holes of a roll are cut.
//
// A journal is a text file that only grows, a line a record, each on the disk
// before the call that wrote it returns: a crash or a power cut loses nothing
// that was acknowledged. Places are millimetres with four decimals, across from
// the bass edge and along from the roll's zero, so a journal stands for itself
// whatever becomes of the piece; times are whole milliseconds since 1970.
//
// Every line ends in a checksum. A last line that was cut off is dropped when
// the journal is opened again; a damaged line elsewhere is left out and
// reported. Where it is the first one, which says what roll this is, the next
// who opens the journal says so anew, in a line after the last.
//
// Other programs reach the file too: an older copy is moved over it, a sync
// client puts another in its place, somebody deletes it. So every record looks,
// before and after, whether the name still leads to the file that is written and
// whether that holds what was written; where it does not, all that was recorded
// is written anew under another name, and the journal takes nothing more.
package journal

import (
	"errors"
	"fmt"
	"hash/crc32"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strconv"
	"syscall"
	"time"

	"rollwright/text/infile"
	"rollwright/text/outfile"
)

// Extension ends the name of a journal.
const Extension = ".journal"

// mostBytes is the longest journal that is read: about two million holes.
const mostBytes = 64 << 20

// Hole is one place on the paper.
type Hole struct{ AcrossMM, AlongMM float64 }

// Head says which roll a journal is about and how it was laid out.
type Head struct {
	Title          string
	Piano          string
	Bench          string // name or path of the profile
	TurnMM         float64
	Parts          int
	DieMM          float64
	Spool, Spools  int     // from 1
	FromSec, ToSec float64 // the stretch of the piece on the spool
	Along, Across  float64 // size of the paper at the bench over that at the instrument
	About          int     // what keeps its place across: instrument.Anchor
	TrialMM        float64 // of a trial strip: how long it may be; 0: the roll itself
	Shared         bool    // chains have their punches on common rows: bench.Share
}

// Journal is an open journal. It is not for several goroutines at once.
type Journal struct {
	main onDisk
	also *onDisk // the second copy; nil: none is kept
	now  func() time.Time
	text []byte // all whole records, as they are on the disk
	lost error  // what happened to the file, once it is not the one that was written
	*State
}

// ErrBusy is returned by Open when another program has the journal open.
var ErrBusy = errors.New("the journal is open in another program")

// Open opens the journal at path to go on with it, or begins one with the given
// head. Only one program can have a journal open; another gets ErrBusy. now
// tells the time. The state is what the journal holds; its head may differ from
// the one given.
func Open(path string, head Head, now func() time.Time) (*Journal, error) {
	file, text, err := openText(path)
	if err != nil {
		return nil, err
	}
	j := &Journal{main: onDisk{path: path, file: file}, now: now}
	if err := j.open(text, head); err != nil {
		file.Close()
		return nil, err
	}
	return j, nil
}

// openText opens the file at path, or makes it, for nobody else to write, and
// reads it.
func openText(path string) (*os.File, []byte, error) {
	if err := infile.Check(path); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return nil, nil, unusable(path, err)
	}
	file, err := os.OpenFile(path, os.O_RDWR|os.O_CREATE|os.O_APPEND, 0o644)
	if err != nil {
		return nil, nil, unusable(path, err)
	}
	// Where the system has no locks it is better to work than to refuse.
	if err := outfile.Lock(file); err != nil && !errors.Is(err, outfile.ErrNoLocks) {
		file.Close()
		if errors.Is(err, outfile.ErrHeld) {
			err = ErrBusy
		}
		return nil, nil, fmt.Errorf("journal: %s: %w", path, err)
	}
	text, err := readAll(file, path)
	if err != nil {
		file.Close()
		return nil, nil, err
	}
	return file, text, nil
}

func (j *Journal) open(text []byte, head Head) error {
	state, whole, err := parse(text)
	if err != nil {
		return fmt.Errorf("journal: %s: %w", j.main.path, err)
	}
	if int(whole) < len(text) {
		if err := j.main.file.Truncate(whole); err != nil {
			return fmt.Errorf("journal: %s ends in half a line that cannot be taken away: %w", j.main.path, err)
		}
	}
	j.State, j.text = state, text[:whole:whole]
	if err := j.main.look(); err != nil {
		return err
	}
	if whole > 0 {
		if err := j.endLine(); err != nil || !j.Headless {
			return err
		}
	}
	j.Head = head
	if err := j.write(headText(head)); err != nil {
		return err
	}
	return outfile.SyncFolder(filepath.Dir(j.main.path))
}

// endLine gives the last line its end when an editor has taken it away.
func (j *Journal) endLine() error {
	if j.text[len(j.text)-1] == '\n' {
		return nil
	}
	if _, err := j.main.file.Write([]byte{'\n'}); err != nil {
		return fmt.Errorf("journal: %s: %w", j.main.path, err)
	}
	j.text = append(j.text, '\n')
	return j.main.look()
}

// Read is the state that the journal at path holds. It changes nothing and may
// run beside a program that writes. The error is fs.ErrNotExist where there is
// none, ErrFirstLine, with a state, where it is not known what roll it is of.
func Read(path string) (*State, error) {
	file, err := infile.Open(path)
	if err != nil {
		return nil, unusable(path, err)
	}
	defer file.Close()
	text, err := readAll(file, path)
	if err != nil {
		return nil, err
	}
	state, whole, err := parse(text)
	if err != nil {
		return nil, fmt.Errorf("journal: %s: %w", path, err)
	}
	if whole == 0 {
		return nil, fmt.Errorf("journal: %s has not begun: %w", path, fs.ErrNotExist)
	}
	if state.Headless {
		return state, fmt.Errorf("journal: %s: %w", path, ErrFirstLine)
	}
	return state, nil
}

// unusable is what the system says of a file that cannot be opened or read, in
// words.
func unusable(path string, err error) error {
	switch {
	case errors.Is(err, syscall.EISDIR):
		return fmt.Errorf("journal: %s is a folder, where the journal of the punched rows would be a file", path)
	case errors.Is(err, syscall.EROFS):
		return fmt.Errorf("journal: cannot write %s: the folder %s is read-only", path, filepath.Dir(path))
	}
	return fmt.Errorf("journal: %w", err)
}

func readAll(r io.Reader, path string) ([]byte, error) {
	text, err := io.ReadAll(io.LimitReader(r, mostBytes+1))
	if err != nil {
		return nil, unusable(path, err)
	}
	if len(text) > mostBytes {
		return nil, fmt.Errorf("journal: %s is longer than %d MB", path, mostBytes>>20)
	}
	return text, nil
}

// Path is where the journal lies.
func (j *Journal) Path() string { return j.main.path }

// Cut records that the holes of one row are cut.
func (j *Journal) Cut(holes []Hole) error { return j.record(record{kind: kindCut, holes: holes}) }

// Undo records that holes recorded as cut are not.
func (j *Journal) Undo(holes []Hole) error { return j.record(record{kind: kindUndo, holes: holes}) }

// Slip records a wrong hole.
func (j *Journal) Slip(h Hole) error { return j.record(record{kind: kindSlip, holes: []Hole{h}}) }

// Tear records that a hole which is wanted came out bad: it is to be patched,
// then cut again.
func (j *Journal) Tear(h Hole) error { return j.record(record{kind: kindTorn, holes: []Hole{h}}) }

// Patch records that a hole is closed again.
func (j *Journal) Patch(h Hole) error { return j.record(record{kind: kindPatch, holes: []Hole{h}}) }

// Prove records that a stretch of the paper was held against the plan: what the
// journal says of it is what lies there.
func (j *Journal) Prove(s Stretch) error {
	return j.record(record{kind: kindProved, holes: []Hole{{AlongMM: s.FromMM}, {AlongMM: s.ToMM}}})
}

// List records that wrong holes which nobody noted, because the piece has
// changed, stand on the list of patches: they get the next numbers.
func (j *Journal) List(holes []Hole) error {
	return j.record(record{kind: kindListed, holes: holes})
}

// Measure records that a length is to be measured after the row of a hole.
func (j *Journal) Measure(h Hole) error {
	return j.record(record{kind: kindMeasure, holes: []Hole{h}})
}

// Begin, Pause, Resume and End record when somebody works.
func (j *Journal) Begin() error  { return j.record(record{kind: kindBegin}) }
func (j *Journal) Pause() error  { return j.record(record{kind: kindPause}) }
func (j *Journal) Resume() error { return j.record(record{kind: kindResume}) }
func (j *Journal) End() error    { return j.record(record{kind: kindEnd}) }

// record writes r, and only then takes it into the state.
func (j *Journal) record(r record) error {
	r.ms = j.now().UnixMilli()
	for i := range r.holes {
		r.holes[i] = r.holes[i].printed()
	}
	if err := j.write(r.text()); err != nil && !errors.Is(err, errCopy) {
		return err
	} else if err != nil {
		j.apply(r) // the journal itself has it
		return err
	}
	j.apply(r)
	return nil
}

// sealed is the line with its checksum and its end.
func sealed(line []byte) []byte {
	sum := crc32.ChecksumIEEE(line)
	line = append(line, " *"...)
	line = append(line, fmt.Sprintf("%08x", sum)...)
	return append(line, '\n')
}

// Path is where the journal of a roll lies: beside the piece, named after it
// and, where there are several, after piano and spool.
func Path(piece, piano string, spool, spools int) string {
	name := piece
	if piano != "" {
		name += "." + piano
	}
	if spools > 1 {
		name += ".spool-" + strconv.Itoa(spool)
	}
	return name + Extension
}

// Beside are the journals beside a piece, in the order of their names.
func Beside(piece string) ([]string, error) {
	entries, err := os.ReadDir(filepath.Dir(piece))
	if err != nil {
		return nil, err
	}
	base := filepath.Base(piece) + "."
	var out []string
	for _, e := range entries {
		name := e.Name()
		if len(name) >= len(base)+len(Extension)-1 && name[:len(base)] == base && filepath.Ext(name) == Extension {
			out = append(out, filepath.Join(filepath.Dir(piece), name))
		}
	}
	return out, nil
}
