package web

import (
	"bytes"
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"encoding/json"
	"io/fs"
	"net/http"
	"path"
	"regexp"
	"strings"
	"sync"
)

// The page: index.html and what it loads, made from page/ by a generate step
// and committed, so that a build needs nothing but Go.
//
//go:generate go -C ../tools run ./bundle
//go:embed all:dist
var dist embed.FS

// assets are the files of the page.
type assets struct {
	files fs.FS
	lock  sync.Mutex
	tags  map[string]string
}

func newAssets(files fs.FS) *assets { return &assets{files: files, tags: map[string]string{}} }

func builtIn() *assets {
	files, err := fs.Sub(dist, "dist")
	if err != nil {
		panic(err) // the name is a constant
	}
	return newAssets(files)
}

// contentTypes are those of the files that a page has; a system's own table may
// lack some.
var contentTypes = map[string]string{
	".html": "text/html; charset=utf-8", ".js": "text/javascript; charset=utf-8", ".css": "text/css; charset=utf-8",
	".json": "application/json; charset=utf-8", ".svg": "image/svg+xml", ".png": "image/png", ".ico": "image/x-icon",
	".woff": "font/woff", ".woff2": "font/woff2", ".txt": "text/plain; charset=utf-8", ".map": "application/json",
	".webmanifest": "application/manifest+json",
	".piece":       "text/plain; charset=utf-8",
}

// nonceMark stands in index.html where the nonce of the styles belongs.
const nonceMark = "__NONCE__"

// asset sends a file of the page.
func (s *Server) asset(w http.ResponseWriter, r *http.Request) {
	name := strings.TrimPrefix(path.Clean(r.URL.Path), "/")
	if name == "" {
		name = "index.html"
	}
	kind, known := contentTypes[path.Ext(name)]
	data, err := fs.ReadFile(s.assets.files, name)
	if err != nil || !known || r.Method != http.MethodGet && r.Method != http.MethodHead {
		fail(w, &refusal{http.StatusNotFound, "there is nothing at " + r.URL.Path})
		return
	}
	w.Header().Set("Content-Type", kind)
	if name == "index.html" {
		data = bytes.ReplaceAll(data, []byte(nonceMark), []byte(s.nonce))
	} else {
		w.Header().Set("Cache-Control", "no-cache")
		w.Header().Set("ETag", s.assets.tag(name, data))
		if r.Header.Get("If-None-Match") == w.Header().Get("ETag") {
			w.WriteHeader(http.StatusNotModified)
			return
		}
	}
	w.Write(data)
}

// tag names the bytes of a file.
func (a *assets) tag(name string, data []byte) string {
	a.lock.Lock()
	defer a.lock.Unlock()
	if _, ok := a.tags[name]; !ok {
		sum := sha256.Sum256(data)
		a.tags[name] = `"` + hex.EncodeToString(sum[:8]) + `"`
	}
	return a.tags[name]
}

// language is the form of a language's name, such as en or pt-br (RFC 5646).
var language = regexp.MustCompile(`^[a-z]{2,3}(-[a-z0-9]{2,8})?$`)

// words sends the language file that was asked for, else the English one.
func (s *Server) words(w http.ResponseWriter, r *http.Request) {
	lang := strings.ToLower(r.URL.Query().Get("lang"))
	data, err := []byte(nil), fs.ErrNotExist
	if language.MatchString(lang) {
		base, _, _ := strings.Cut(lang, "-")
		for _, try := range []string{lang, base} {
			if data, err = fs.ReadFile(s.assets.files, "words/"+try+".json"); err == nil {
				break
			}
		}
	}
	if err != nil {
		data, err = fs.ReadFile(s.assets.files, "words/en.json")
	}
	if err != nil || !json.Valid(data) {
		data = []byte("{}")
	}
	w.Header().Set("Content-Type", contentTypes[".json"])
	w.Write(data)
}
