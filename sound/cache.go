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

// DefaultCacheBytes is room for the notes of several pieces: a note takes 80 kB
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

// A note's file is, little-endian: 16 bytes of magic; how many segments of low partials and
// how many segments there are, 32 bits each, and their CRC-32C; then pieces: the body, the low
// segments, the segments. A piece is its step, a float32, its samples in 16 bits, and the
// CRC-32C of both.
const (
	noteMagic     = "rollwright notes"
	noteHead      = len(noteMagic) + 12
	pieceHead     = 4
	pieceTail     = 4
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

// load reads a note as far as last, or all of it where the file has less than that. What is
// missing or damaged is left out, from there on. The memory is the arena's.
func (c *Cache) load(a *arena, t timbre, id noteID, last extent) *note {
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
	if _, err := f.ReadAt(head[:], 0); err != nil {
		return &note{}
	}
	have, ok := readNoteHead(head[:])
	if !ok || info.Size() != noteSize(have) {
		return &note{}
	}
	if !have.covers(last) {
		last = have // what is computed goes on from all that is there
	}
	scratch := files.Get().(*[]byte)
	defer files.Put(scratch)
	read := func(at int64, frames, pieces int) (out [][]float32) {
		size := pieceBytes(frames)
		b := slices.Grow((*scratch)[:0], pieces*size)[:pieces*size]
		*scratch = b
		if _, err := f.ReadAt(b, at); err != nil {
			return nil
		}
		for ; len(b) > 0; b = b[size:] {
			x := a.floats(frames)
			if !readPiece(x, b[:size]) {
				a.giveBack(x)
				return out
			}
			out = append(out, x)
		}
		return out
	}
	n := &note{}
	if body := read(noteSize(extent{})-int64(pieceBytes(bodyFrames)), bodyFrames, 1); body != nil {
		n.body = body[0]
	} else {
		return n
	}
	c.touch(f.Name(), info.ModTime())
	n.low = read(noteSize(extent{}), lowFrames, last.low)
	n.segments = read(noteSize(extent{0, have.low}), segmentFrames, last.segments)
	return n
}

// pieceBytes is how long a piece of so many samples is in a file.
func pieceBytes(samples int) int { return pieceHead + 2*samples + pieceTail }

// noteSize is how long the file of so much of a note is.
func noteSize(e extent) int64 {
	return int64(noteHead + pieceBytes(bodyFrames) + e.low*pieceBytes(lowFrames) + e.segments*pieceBytes(segmentFrames))
}

func readNoteHead(b []byte) (e extent, ok bool) {
	counts := b[len(noteMagic) : noteHead-4]
	e.low, e.segments = int(binary.LittleEndian.Uint32(counts)), int(binary.LittleEndian.Uint32(counts[4:]))
	return e, string(b[:len(noteMagic)]) == noteMagic &&
		binary.LittleEndian.Uint32(b[noteHead-4:]) == crc32.Checksum(counts, castagnoli)
}

// readPiece fills x, unless the bytes are damaged.
func readPiece(x []float32, b []byte) bool {
	b, sum := b[:len(b)-pieceTail], binary.LittleEndian.Uint32(b[len(b)-pieceTail:])
	if crc32.Checksum(b, castagnoli) != sum {
		return false
	}
	step := math.Float32frombits(binary.LittleEndian.Uint32(b))
	b = b[pieceHead:]
	for i := 0; i < len(x); i += 4 { // all pieces are whole fours
		x, b := (*[4]float32)(x[i:]), binary.LittleEndian.Uint64(b[2*i:])
		x[0], x[1] = float32(int16(b))*step, float32(int16(b>>16))*step
		x[2], x[3] = float32(int16(b>>32))*step, float32(int16(b>>48))*step
	}
	return true
}

// appendPiece appends samples that are rounded.
func appendPiece(b []byte, x []float32) []byte {
	from, step := len(b), stepOf(x)
	b = slices.Grow(b, pieceBytes(len(x)))
	b = binary.LittleEndian.AppendUint32(b, math.Float32bits(step))
	at := len(b)
	b = b[:at+2*len(x)]
	perStep := float32(0)
	if step > 0 {
		perStep = 1 / step
	}
	for i := 0; i < len(x); i += 4 { // all pieces are whole fours
		x, b := (*[4]float32)(x[i:]), b[at+2*i:at+2*i+8]
		binary.LittleEndian.PutUint64(b, uint64(uint16(whole(x[0], perStep)))|uint64(uint16(whole(x[1], perStep)))<<16|
			uint64(uint16(whole(x[2], perStep)))<<32|uint64(uint16(whole(x[3], perStep)))<<48)
	}
	return binary.LittleEndian.AppendUint32(b, crc32.Checksum(b[from:], castagnoli))
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
	scratch := files.Get().(*[]byte)
	defer files.Put(scratch)
	b := append((*scratch)[:0], noteMagic...)
	b = binary.LittleEndian.AppendUint32(b, uint32(len(n.low)))
	b = binary.LittleEndian.AppendUint32(b, uint32(len(n.segments)))
	b = binary.LittleEndian.AppendUint32(b, crc32.Checksum(b[len(noteMagic):], castagnoli))
	b = appendPiece(b, n.body)
	for _, x := range slices.Concat(n.low, n.segments) {
		b = appendPiece(b, x)
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

// files are buffers in which files are read and put together.
var files = sync.Pool{New: func() any { return new([]byte) }}

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
