package web

import (
	"cmp"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"net/http"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"time"
	"unicode"
	"unicode/utf8"

	"rollwright/paper/instrument"
	"rollwright/text/outfile"
)

// extension ends the name of a piece's file.
const extension = ".piece"

// mostText is the longest piece, as everywhere.
const mostText = 1 << 20

// folder is where the pieces lie. Everything in it is reached through an
// os.Root, so neither ".." nor a symbolic link leads out of it.
type folder struct {
	path string
	root *os.Root

	// lock is held while a file is looked at in order to be written, so that
	// what is written over is what was looked at.
	lock sync.Mutex
	// told is the version of each file that its watchers know of.
	told map[string]string
}

func openFolder(name string) (*folder, error) {
	full, err := filepath.Abs(name)
	if err != nil {
		return nil, err
	}
	root, err := os.OpenRoot(full)
	if err != nil {
		return nil, fmt.Errorf("web: cannot open the folder %s: %w", name, err)
	}
	f := &folder{path: full, root: root, told: map[string]string{}}
	f.sweep()
	return f, nil
}

func (f *folder) close() { f.root.Close() }

// version names the bytes of a text.
func version(text []byte) string {
	sum := sha256.Sum256(text)
	return hex.EncodeToString(sum[:12])
}

// checkName refuses what is not the name of a piece in the folder.
func checkName(name string) error {
	if !isInstrument(name) && (!strings.HasSuffix(name, extension) || name == extension) {
		return &refusal{http.StatusBadRequest, fmt.Sprintf("%q is not the name of a piece: it ends in %s", name, extension)}
	}
	if !plainName(name) {
		return &refusal{http.StatusBadRequest, fmt.Sprintf("%q cannot be the name of a piece in this folder", name)}
	}
	return nil
}

// isInstrument reports whether a name is that of an instrument's file, whose text the page
// shows and saves as it does a piece's.
func isInstrument(name string) bool {
	return strings.HasSuffix(name, instrument.Extension) && name != instrument.Extension
}

// plainName reports whether a name stays in the folder, is not hidden, and can
// be had on every system.
func plainName(name string) bool {
	if len(name) > 200 || !utf8.ValidString(name) || !fs.ValidPath(name) || !filepath.IsLocal(filepath.FromSlash(name)) {
		return false
	}
	if strings.ContainsAny(name, `\:*?"<>|`) || strings.ContainsFunc(name, unicode.IsControl) {
		return false
	}
	for part := range strings.SplitSeq(name, "/") {
		if strings.HasPrefix(part, ".") || strings.TrimSpace(part) != part || strings.HasSuffix(part, ".") {
			return false
		}
	}
	return true
}

// read is the text of a piece.
func (f *folder) read(name string) ([]byte, error) {
	if err := checkName(name); err != nil {
		return nil, err
	}
	return f.bytes(name, mostText)
}

// bytes is a regular file of the folder, of at most so many bytes.
func (f *folder) bytes(name string, most int64) ([]byte, error) {
	file, err := f.root.OpenFile(name, os.O_RDONLY|nonblocking, 0)
	if err != nil {
		return nil, f.explain(name, err)
	}
	defer file.Close()
	if info, err := file.Stat(); err != nil || !info.Mode().IsRegular() {
		return nil, &refusal{http.StatusBadRequest, name + " is not a file of text"}
	}
	text, err := io.ReadAll(io.LimitReader(file, most+1))
	if err == nil && int64(len(text)) > most {
		err = &refusal{http.StatusRequestEntityTooLarge, fmt.Sprintf("%s is larger than %d MB; a piece file holds text, split this one", name, most>>20)}
	}
	return text, err
}

// explain makes an error of the system one that a person can act on.
func (f *folder) explain(name string, err error) error {
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return &refusal{http.StatusNotFound, fmt.Sprintf("there is no file %s in %s", name, f.path)}
	case errors.Is(err, fs.ErrPermission):
		return &refusal{http.StatusForbidden, "no permission to use " + name}
	case strings.Contains(err.Error(), "escapes"):
		return &refusal{http.StatusForbidden, name + " leads out of the folder; the workbench stays in it"}
	}
	return fmt.Errorf("%s: %w", name, err)
}

// exists reports whether something has that name.
func (f *folder) exists(name string) bool {
	_, err := f.root.Lstat(name)
	return err == nil
}

// write gives a file its bytes, all of them or none, and returns when they are
// on the disk. A file that is there keeps its permissions.
func (f *folder) write(name string, text []byte) error {
	mode := fs.FileMode(0o644)
	if info, err := f.root.Stat(name); err == nil {
		mode = info.Mode().Perm()
	}
	dir := path.Dir(name)
	if err := f.root.MkdirAll(dir, 0o755); err != nil {
		return f.explain(dir, err)
	}
	part := path.Join(dir, partPrefix+secret()+partSuffix)
	if err := f.fill(part, text, mode); err != nil {
		f.root.Remove(part)
		return f.explain(name, err)
	}
	if err := f.root.Rename(part, name); err != nil {
		f.root.Remove(part)
		return f.explain(name, err)
	}
	f.flush(dir)
	return nil
}

// The temporary files of writing: hidden, and known for what they are.
const (
	partPrefix = ".rollwright-"
	partSuffix = ".part"
)

func (f *folder) fill(part string, text []byte, mode fs.FileMode) error {
	file, err := f.root.OpenFile(part, os.O_WRONLY|os.O_CREATE|os.O_EXCL, mode)
	if err != nil {
		return err
	}
	_ = outfile.Lock(file) // other programs that write here leave it alone
	_, err = file.Write(text)
	return errors.Join(err, file.Sync(), file.Close())
}

// flush brings a folder's list of names to the disk. Not every system can; a
// rename is whole there all the same.
func (f *folder) flush(dir string) {
	if d, err := f.root.Open(dir); err == nil {
		d.Sync()
		d.Close()
	}
}

// oldPart is the age from which a temporary file belongs to nobody.
const oldPart = time.Hour

// sweep removes what a server that was killed while writing has left.
func (f *folder) sweep() {
	for _, e := range f.entries(".") {
		if !strings.HasPrefix(e.Name(), partPrefix) || !strings.HasSuffix(e.Name(), partSuffix) {
			continue
		}
		if info, err := e.Info(); err == nil && info.Mode().IsRegular() && time.Since(info.ModTime()) > oldPart {
			f.root.Remove(e.Name())
		}
	}
}

// mostFiles bounds the list of files.
const mostFiles = 1000

// list is the pieces of the folder and of the folders in it, by name.
func (f *folder) list() []fs.FileInfo {
	return append(f.listIn("."), f.below()...)
}

// named is a file with its path in the folder.
type named struct {
	fs.FileInfo
	path string
}

func (n named) Name() string { return n.path }

func (f *folder) listIn(dir string) []fs.FileInfo {
	var out []fs.FileInfo
	for _, e := range f.entries(dir) {
		name := path.Join(dir, e.Name())
		if checkName(name) != nil || isInstrument(name) || len(out) >= mostFiles {
			continue
		}
		if info, err := f.root.Stat(name); err == nil && info.Mode().IsRegular() {
			out = append(out, named{info, name})
		}
	}
	return out
}

// below are the pieces one folder down.
func (f *folder) below() []fs.FileInfo {
	entries := f.entries(".")
	var out []fs.FileInfo
	for _, e := range entries[:min(len(entries), mostFiles)] {
		if e.IsDir() && plainName(e.Name()) && len(out) < mostFiles {
			out = append(out, f.listIn(e.Name())...)
		}
	}
	return out
}

// entries are what a folder of the folder holds, by name; nothing when it cannot
// be read.
func (f *folder) entries(dir string) []fs.DirEntry {
	d, err := f.root.Open(dir)
	if err != nil {
		return nil
	}
	defer d.Close()
	out, _ := d.ReadDir(-1)
	slices.SortFunc(out, func(a, b fs.DirEntry) int { return cmp.Compare(a.Name(), b.Name()) })
	return out
}

// instruments is a text that changes whenever an instrument's file of the
// folder does.
func (f *folder) instruments() string {
	var b strings.Builder
	for _, e := range f.entries(".") {
		if info, err := e.Info(); err == nil && strings.HasSuffix(e.Name(), instrument.Extension) {
			fmt.Fprintf(&b, "%s %d %d\n", e.Name(), info.Size(), info.ModTime().UnixNano())
		}
	}
	return b.String()
}

// instrument reads the instrument that a piece names: a built-in one, or one of
// a file in the folder. dir, in the folder too, is where the piece lies.
func (f *folder) instrument(name, dir string) (*instrument.Instrument, error) {
	return instrument.LoadWith(name, dir, func(full string) ([]byte, error) {
		local, err := filepath.Rel(f.path, full)
		if err != nil || !filepath.IsLocal(local) || filepath.Ext(local) != instrument.Extension {
			return nil, fmt.Errorf("the workbench reads instruments only from its own folder, and %s is not in it: copy it to %s", full, f.path)
		}
		return f.bytes(filepath.ToSlash(local), mostText)
	})
}
