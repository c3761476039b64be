package journal

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strconv"
	"strings"

	"rollwright/text/outfile"
)

// ErrNotKept is what every error of a record wraps: the record is not, or not
// wholly, on the disk, and nothing more should be punched before that is mended.
var ErrNotKept = errors.New("not recorded")

// ErrLost is wrapped by the errors of a journal whose file is no longer the one
// that was written; it takes no record after that.
var ErrLost = fmt.Errorf("%w: the journal lies there no more", ErrNotKept)

// errCopy is wrapped where the journal has a record and its second copy has not.
var errCopy = fmt.Errorf("%w in the second copy", ErrNotKept)

// told is an error in words for a person, which is also one of those above.
type told struct {
	kind error
	text string
}

func (t *told) Error() string { return t.text }
func (t *told) Unwrap() error { return t.kind }

// onDisk is a file that holds the text of a journal.
type onDisk struct {
	path string
	file *os.File
	info fs.FileInfo // which file it is, and its time after the last write
}

// look takes down what the file is after it was written.
func (d *onDisk) look() error {
	info, err := d.file.Stat()
	if err != nil {
		return fmt.Errorf("journal: %w", err)
	}
	d.info = info
	return nil
}

// astray says in words why the name no longer leads to the file that holds text;
// empty: it does. Bytes are compared only where the time of the file has
// changed, or thorough says so.
func (d *onDisk) astray(text []byte, thorough bool) string {
	there, err := os.Stat(d.path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return "was taken away while it was open"
	case err != nil:
		return fmt.Sprintf("cannot be found any more (%v)", err)
	case !os.SameFile(there, d.info):
		return "was replaced by another file while it was open"
	case there.Size() != int64(len(text)):
		return "was changed by another program while it was open"
	case !thorough && there.ModTime().Equal(d.info.ModTime()):
		return ""
	}
	now := make([]byte, len(text))
	if _, err := d.file.ReadAt(now, 0); err != nil || !bytes.Equal(now, text) {
		return "was changed by another program while it was open"
	}
	d.info = there // touched, no more
	return ""
}

// add puts a line after text, on the disk. After an error nothing of it is left,
// as far as the system lets us.
func (d *onDisk) add(text, line []byte) error {
	_, err := d.file.Write(line)
	if err == nil {
		err = d.file.Sync()
	}
	if err != nil {
		_ = d.file.Truncate(int64(len(text)))
	}
	if looking := d.look(); err == nil {
		err = looking
	}
	return err
}

// write puts one line on the disk, twice where a copy is kept.
func (j *Journal) write(line []byte) error {
	if j.lost != nil {
		return j.lost
	}
	line = sealed(line)
	if len(j.text)+len(line) > mostBytes {
		return &told{ErrNotKept, fmt.Sprintf("journal: the last row is not recorded: %s would grow beyond %d MB, "+
			"which is the most that is read back", j.main.path, mostBytes>>20)}
	}
	if why := j.main.astray(j.text, false); why != "" {
		return j.lose(why, line)
	}
	if err := j.main.add(j.text, line); err != nil {
		return &notKept{fmt.Sprintf("journal: the last row is not recorded in %s", j.main.path), err}
	}
	before := j.text
	j.text = append(j.text, line...)
	if why := j.main.astray(j.text, false); why != "" {
		return j.lose(why, nil)
	}
	return j.copyLine(before, line)
}

// notKept is an error of the disk.
type notKept struct {
	text string
	err  error
}

func (n *notKept) Error() string   { return n.text + ": " + n.err.Error() }
func (n *notKept) Unwrap() []error { return []error{ErrNotKept, n.err} }

// copyLine puts a line into the second copy, whose text so far is given.
func (j *Journal) copyLine(text, line []byte) error {
	if j.also == nil {
		return nil
	}
	why := j.also.astray(text, false)
	if why == "" {
		err := j.also.add(text, line)
		if err == nil {
			if why = j.also.astray(j.text, false); why == "" {
				return nil
			}
		} else {
			why = "cannot be written: " + err.Error()
		}
	}
	return &told{errCopy, fmt.Sprintf("journal: the last row is recorded in %s, but the second copy %s %s; "+
		"bring it back, or go on without it", j.main.path, j.also.path, why)}
}

// lose ends a journal that lies there no more. What was recorded, and the line
// that was to be, is written anew under another name.
func (j *Journal) lose(why string, line []byte) error {
	text := append(j.text[:len(j.text):len(j.text)], line...)
	said := fmt.Sprintf("journal: %s %s, and nothing more is written to it", j.main.path, why)
	kept, err := keepAnew(j.main.path, text)
	switch {
	case err == nil:
		said += fmt.Sprintf("; all that was recorded, the last row too, is kept in %s: compare what lies there, then go on "+
			"with the one that agrees with the paper", kept)
	case j.also != nil:
		said += fmt.Sprintf("; the second copy %s has all but the last row (it could not be written anew: %v)",
			j.also.path, err)
	default:
		said += fmt.Sprintf("; what was recorded could not be written anew: %v", err)
	}
	j.lost = &told{ErrLost, said}
	return j.lost
}

// mostKept bounds the names that are tried.
const mostKept = 1000

// keepAnew writes text to a file of a new name beside path, or where that cannot
// be done in the system's folder for what is temporary.
func keepAnew(path string, text []byte) (string, error) {
	stem := strings.TrimSuffix(path, Extension) + ".kept-"
	var first error
	for _, stem := range []string{stem, filepath.Join(os.TempDir(), filepath.Base(stem))} {
		for n := 1; n <= mostKept; n++ {
			name := stem + strconv.Itoa(n) + Extension
			file, err := os.OpenFile(name, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644)
			if errors.Is(err, fs.ErrExist) {
				continue
			}
			if err == nil {
				if err = fill(file, text); err == nil {
					return name, nil
				}
			}
			if first == nil {
				first = err
			}
			break
		}
	}
	return "", first
}

// fill writes a new file whole, or takes it away.
func fill(file *os.File, text []byte) error {
	_, err := file.Write(text)
	err = errors.Join(err, file.Sync(), file.Close())
	if err != nil {
		_ = os.Remove(file.Name())
		return err
	}
	return outfile.SyncFolder(filepath.Dir(file.Name()))
}

// Also keeps a second copy of the journal in a folder, made if need be, under the
// same name: all that is recorded is there before the call that records it
// returns. A copy that is there goes on where it holds what the journal does; one
// that holds more, or something else, is an error.
func (j *Journal) Also(folder string) error {
	if err := os.MkdirAll(folder, 0o755); err != nil {
		return fmt.Errorf("journal: no second copy can be kept in %s: %w", folder, err)
	}
	path := filepath.Join(folder, filepath.Base(j.main.path))
	if there, err := os.Stat(path); err == nil && os.SameFile(there, j.main.info) {
		return fmt.Errorf("journal: %s is the journal itself; name a folder elsewhere for the second copy", path)
	}
	file, text, err := openText(path)
	if err != nil {
		return err
	}
	also := &onDisk{path: path, file: file}
	if err := also.goOn(text, j.text, j.main.path); err != nil {
		file.Close()
		return err
	}
	j.also = also
	return outfile.SyncFolder(folder)
}

// goOn brings a copy, which holds text, to what the journal at path holds.
func (d *onDisk) goOn(text, journal []byte, path string) error {
	switch {
	case bytes.HasPrefix(journal, text):
	case bytes.HasPrefix(text, journal):
		return fmt.Errorf("journal: the second copy %s holds more than %s: rows are missing there; copy it over that, "+
			"then go on", d.path, path)
	default:
		return fmt.Errorf("journal: %s holds something else than %s; compare the two, and move away the one that does not "+
			"agree with the paper", d.path, path)
	}
	if err := d.add(text, journal[len(text):]); err != nil {
		return fmt.Errorf("journal: the second copy %s cannot be written: %w", d.path, err)
	}
	return nil
}

// Close closes the file; everything is on the disk already. The error wraps
// ErrLost where what lies there is not what was recorded, unless a record has
// said so before.
func (j *Journal) Close() error {
	var err error
	if j.lost == nil {
		if why := j.main.astray(j.text, true); why != "" {
			err = j.lose(why, nil)
		}
	}
	closers := []io.Closer{j.main.file}
	if j.also != nil {
		closers = append(closers, j.also.file)
	}
	for _, c := range closers {
		if closing := c.Close(); err == nil {
			err = closing
		}
	}
	return err
}
