package sound

import (
	"crypto/sha256"
	"embed"
	"encoding/binary"
	"errors"
	"fmt"
	"hash/crc32"
	"io/fs"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"time"
)

// A Cache keeps computed notes on disk, a file a note: every file carries
// checksums, and one that is damaged, cut or made by another version is computed
// again. Files are written beside their place and renamed into it, so that two
// programs may share a cache. Losing it loses nothing but time.
//
// A nil *Cache keeps nothing. Several goroutines may use one.
type Cache struct {
	dir   string
	most  int64
	mu    sync.Mutex
	wrote bool
	err   error
}

// DefaultCacheBytes is room for the notes of several pieces: a note takes 150 kB
// for half a second.
const DefaultCacheBytes = 1 << 30

// DefaultCacheDir is where notes are kept unless told otherwise: a folder of the
// user's own for caches. It is an error if the system names none.
func DefaultCacheDir() (string, error) {
	dir, err := os.UserCacheDir()
	if err != nil {
		return "", fmt.Errorf("sound: no folder for the cache of notes: %w", err)
	}
	return filepath.Join(dir, "rollwright", "notes"), nil
}

// OpenCache uses a folder, made if it is not there, for at most mostBytes. Errors:
// the folder cannot be made.
func OpenCache(dir string, mostBytes int64) (*Cache, error) {
	if err := os.MkdirAll(filepath.Join(dir, modelVersion()), 0o755); err != nil {
		return nil, fmt.Errorf("sound: cache of notes: %w", err)
	}
	return &Cache{dir: dir, most: mostBytes}, nil
}

// Err is the first error of writing to the cache, such as a full disk. The sound
// is right all the same.
func (c *Cache) Err() error {
	if c == nil {
		return nil
	}
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.err
}

//go:embed scale.txt hammers.txt board.txt scale.go tuning.go hammer.go blow.go board.go unison.go
//go:embed note.go render.go cache.go
var model embed.FS

// modelVersion names what notes depend on: the data files and the source that
// computes from them. Whoever changes either gets new notes without thinking of
// it.
var modelVersion = sync.OnceValue(func() string {
	h := sha256.New()
	entries, err := model.ReadDir(".")
	if err != nil {
		panic(err) // embedded
	}
	for _, e := range entries {
		b, err := model.ReadFile(e.Name())
		if err != nil {
			panic(err) // embedded
		}
		fmt.Fprintf(h, "%s %d\n%s", e.Name(), len(b), b)
	}
	return fmt.Sprintf("model-%x", h.Sum(nil)[:8])
})

// A note's file is, little-endian: 16 bytes of magic; the body; the segments. Body and segments are
// float32, each followed by its
// CRC-32C, which in memory is the last of their floats.
const (
	noteMagic     = "rollwright note\n"
	noteHead      = len(noteMagic)
	touchEveryDay = 24 * time.Hour
)

var castagnoli = crc32.MakeTable(crc32.Castagnoli)

func (c *Cache) path(t timbre, id noteID) string {
	set := fmt.Sprintf("%s-%v-%d%s", t.hammers, t.dry, t.rate, t.tuned())
	return filepath.Join(c.dir, modelVersion(), set, fmt.Sprintf("%03d-%d.note", id.key, id.layer))
}

// tuned is what of a timbre's folder says how it is tuned: nothing for the first piano in
// the stretched tuning.
func (t timbre) tuned() string {
	if t.copy == 0 && t.tuning == (Tuning{}) {
		return ""
	}
	h := sha256.New()
	for key := LowestKey; key <= HighestKey; key++ {
		binary.Write(h, binary.LittleEndian, t.tuning.FirstHz(key))
	}
	return fmt.Sprintf("-%x-%d", h.Sum(nil)[:8], t.copy)
}

// load reads body and segments of a note up to last. What is missing or damaged
// is nil, from there on. Their memory is the arena's.
func (c *Cache) load(a *arena, t timbre, id noteID, last int) *note {
	if c == nil {
		return &note{}
	}
	f, err := os.Open(c.path(t, id))
	if err != nil {
		return &note{}
	}
	defer f.Close()
	info, err := f.Stat()
	if err != nil {
		return &note{}
	}
	var head [noteHead]byte
	if _, err := f.ReadAt(head[:], 0); err != nil || string(head[:]) != noteMagic {
		return &note{}
	}
	n := &note{}
	at := int64(noteHead)
	read := func(frames int) []float32 {
		x := a.floats(frames + 1)
		if readFloats(f, x, at) != nil || checksum(x[:frames]) != math.Float32bits(x[frames]) {
			a.giveBack(x)
			return nil
		}
		at += int64(4 * len(x))
		return x
	}
	if n.body = read(bodyFrames); n.body == nil {
		return n
	}
	c.touch(f.Name(), info.ModTime())
	for len(n.segments) < last && at < info.Size() {
		x := read(segmentFrames)
		if x == nil {
			break
		}
		n.segments = append(n.segments, x)
	}
	return n
}

// checksum is the CRC-32C of samples as they lie in a file.
func checksum(x []float32) uint32 {
	b := bytesOf(x)
	if b == nil {
		b = appendFloats(nil, x)
	}
	return crc32.Checksum(b, castagnoli)
}

// touch marks a note as used, which decides what goes when there is no more room.
// Once a day is enough.
func (c *Cache) touch(name string, last time.Time) {
	if now := time.Now(); now.Sub(last) > touchEveryDay {
		os.Chtimes(name, now, now) // a cache that cannot be written to still reads
	}
}

// save writes a note with its segments from the first.
func (c *Cache) save(t timbre, id noteID, n *note) {
	if c == nil {
		return
	}
	scratch := writing.Get().(*[]byte)
	defer writing.Put(scratch)
	b := append((*scratch)[:0], noteMagic...)
	for _, x := range append([][]float32{n.body}, n.segments...) {
		x[len(x)-1] = math.Float32frombits(checksum(x[:len(x)-1]))
		b = appendFloats(b, x)
	}
	*scratch = b
	if err := writeBeside(c.path(t, id), b); err != nil {
		c.fail(err)
		return
	}
	c.mu.Lock()
	c.wrote = true
	c.mu.Unlock()
}

// writing are buffers in which files are put together.
var writing = sync.Pool{New: func() any { return new([]byte) }}

func (c *Cache) fail(err error) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.err == nil {
		c.err = fmt.Errorf("sound: cache of notes: %w", err)
	}
}

// writeBeside writes a file under another name and renames it into place.
func writeBeside(name string, b []byte) (err error) {
	dir := filepath.Dir(name)
	f, err := os.CreateTemp(dir, ".note-*")
	if errors.Is(err, fs.ErrNotExist) {
		if err := os.MkdirAll(dir, 0o755); err != nil {
			return err
		}
		f, err = os.CreateTemp(dir, ".note-*")
	}
	if err != nil {
		return err
	}
	_, err = f.Write(b)
	if e := f.Close(); err == nil {
		err = e
	}
	if err == nil {
		err = os.Rename(f.Name(), name)
	}
	if err != nil {
		os.Remove(f.Name())
	}
	return err
}

// A kept is one file of the cache.
type kept struct {
	name string
	size int64
	used time.Time
}

// trim brings the cache back to its bound if something was written: notes of
// other versions go first, then those unused for longest.
func (c *Cache) trim() {
	if c == nil {
		return
	}
	c.mu.Lock()
	wrote := c.wrote
	c.wrote = false
	c.mu.Unlock()
	if !wrote {
		return
	}
	var files []kept
	total := int64(0)
	filepath.WalkDir(c.dir, func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return nil // gone meanwhile, or not ours to read
		}
		if info, err := d.Info(); err == nil && (filepath.Ext(name) == ".note" || strings.HasPrefix(d.Name(), ".note-") &&
			time.Since(info.ModTime()) > touchEveryDay) {
			files = append(files, kept{name, info.Size(), info.ModTime()})
			total += info.Size()
		}
		return nil
	})
	mine := filepath.Join(c.dir, modelVersion()) + string(filepath.Separator)
	isMine := func(k kept) bool { return len(k.name) > len(mine) && k.name[:len(mine)] == mine }
	slices.SortFunc(files, func(a, b kept) int {
		if x, y := isMine(a), isMine(b); x != y {
			if y {
				return -1
			}
			return 1
		}
		return a.used.Compare(b.used)
	})
	for _, k := range files {
		if total <= c.most {
			return
		}
		if os.Remove(k.name) == nil {
			total -= k.size
		}
	}
}
