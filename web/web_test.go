package web

import (
	"bytes"
	"context"
	"encoding/binary"
	"encoding/json"
	"io"
	"math"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"rollwright/internal/chromium"
)

// TestMain keeps computed notes out of the user's own cache.
func TestMain(m *testing.M) {
	dir, err := os.MkdirTemp("", "rollwright-notes-")
	if err != nil {
		panic(err)
	}
	os.Setenv("XDG_CACHE_HOME", dir)
	status := chromium.Run(m)
	os.RemoveAll(dir)
	os.Exit(status)
}

// bench is a workbench that is served to a client with its key.
type bench struct {
	testing.TB
	dir    string
	base   string // http://127.0.0.1:PORT
	server *Server
	client *http.Client
}

const small = `title = "Small"

voice "low" {
  talea = "3 2 (1) 2"
  color = "C2 G2"
}
`

// serve opens a workbench on a folder with these files.
func serve(t testing.TB, files map[string]string) *bench {
	t.Helper()
	dir := t.TempDir()
	for name, text := range files {
		path := filepath.Join(dir, name)
		if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	return serveFolder(t, dir)
}

func serveFolder(t testing.TB, dir string) *bench {
	t.Helper()
	s, err := New(Options{Folder: dir})
	if err != nil {
		t.Fatal(err)
	}
	l, err := Listen(0)
	if err != nil {
		t.Fatal(err)
	}
	ctx, end := context.WithCancel(context.Background())
	ended := make(chan error)
	address := s.Address(l)
	go func() { ended <- s.Serve(ctx, l) }()
	t.Cleanup(func() {
		end()
		if err := <-ended; err != nil {
			t.Error(err)
		}
	})
	b := &bench{TB: t, dir: dir, base: strings.TrimSuffix(address, "/"), server: s, client: &http.Client{}}
	r, err := b.client.Get(address)
	if err != nil {
		t.Fatal(err)
	}
	r.Body.Close()
	if r.StatusCode != http.StatusOK {
		t.Fatalf("%s answers %s at %s", address, r.Status, r.Request.URL)
	}
	return b
}

// send asks and returns status and body.
func (b *bench) send(method, path string, body any) (int, []byte) {
	b.Helper()
	var in io.Reader
	if body != nil {
		data, err := json.Marshal(body)
		if err != nil {
			b.Fatal(err)
		}
		in = bytes.NewReader(data)
	}
	r, err := http.NewRequest(method, b.base+path, in)
	if err != nil {
		b.Fatal(err)
	}
	r.Header.Set("X-Rollwright", "1")
	answer, err := b.client.Do(r)
	if err != nil {
		b.Fatal(err)
	}
	defer answer.Body.Close()
	data, err := io.ReadAll(answer.Body)
	if err != nil {
		b.Fatal(err)
	}
	return answer.StatusCode, data
}

// m is a body.
type m = map[string]any

// ask posts, wants success, and reads the answer as JSON.
func ask[Out any](b *bench, path string, body any) Out {
	b.Helper()
	status, data := b.send("POST", path, body)
	if status != http.StatusOK {
		b.Fatalf("%s: %d %s", path, status, data)
	}
	var out Out
	if err := json.Unmarshal(data, &out); err != nil {
		b.Fatalf("%s: %v in %s", path, err, data)
	}
	return out
}

func fetch[Out any](b *bench, path string) Out {
	b.Helper()
	status, data := b.send("GET", path, nil)
	if status != http.StatusOK {
		b.Fatalf("%s: %d %s", path, status, data)
	}
	var out Out
	if err := json.Unmarshal(data, &out); err != nil {
		b.Fatalf("%s: %v in %s", path, err, data)
	}
	return out
}

// disk is the text of a file in the folder.
func (b *bench) disk(name string) string {
	b.Helper()
	text, err := os.ReadFile(filepath.Join(b.dir, name))
	if err != nil {
		b.Fatal(err)
	}
	return string(text)
}

func (b *bench) put(name, text string) {
	b.Helper()
	if err := os.WriteFile(filepath.Join(b.dir, name), []byte(text), 0o644); err != nil {
		b.Fatal(err)
	}
}

// unpacked is a packed answer, read as its description says and by nothing that
// wrote it.
type unpacked struct {
	head
	numbers map[string][]float64
}

func unpack(t testing.TB, data []byte) unpacked {
	t.Helper()
	n := int(binary.LittleEndian.Uint32(data))
	var u unpacked
	if err := json.Unmarshal(data[4:4+n], &u.head); err != nil {
		t.Fatal(err)
	}
	rest := data[(4+n+7)/8*8:]
	u.numbers = map[string][]float64{}
	end := 0
	for _, a := range u.Arrays {
		size := map[string]int{"f64": 8, "f32": 4, "i32": 4, "u16": 2, "u8": 1}[a.Type]
		if a.Offset%8 != 0 || a.Offset < end || a.Offset+size*a.Length > len(rest) {
			t.Fatalf("array %s at %d with %d numbers of %d bytes, in %d bytes from %d on", a.Name, a.Offset, a.Length, size,
				len(rest), end)
		}
		end = a.Offset + size*a.Length
		list := make([]float64, a.Length)
		for i := range list {
			at := rest[a.Offset+i*size:]
			switch a.Type {
			case "f64":
				list[i] = math.Float64frombits(binary.LittleEndian.Uint64(at))
			case "i32":
				list[i] = float64(int32(binary.LittleEndian.Uint32(at)))
			case "u8":
				list[i] = float64(at[0])
			default:
				t.Fatalf("array %s is of type %s", a.Name, a.Type)
			}
		}
		u.numbers[a.Name] = list
	}
	return u
}

func (b *bench) work(name, text string) unpacked {
	b.Helper()
	status, data := b.send("POST", "/api/work", m{"name": name, "text": text})
	if status != http.StatusOK {
		b.Fatalf("%d %s", status, data)
	}
	return unpack(b, data)
}

func decoded[Out any](t testing.TB, data []byte) Out {
	t.Helper()
	var out Out
	if err := json.Unmarshal(data, &out); err != nil {
		t.Fatalf("%v in %s", err, data)
	}
	return out
}
