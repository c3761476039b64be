// Package web serves a folder of pieces to the workbench, a page in a browser
// of this machine, and nothing else to nobody else.
//
// The page holds no music arithmetic: it sends the text of a piece and gets
// back everything that follows from it (see work.go for the form), it asks for
// single changes of that text, and it has files saved, kept in a history and
// written in other formats. Texts are UTF-8; places in them that the page sees
// are UTF-16 offsets, as its own strings count. Lengths are millimetres, times
// seconds, both float64.
package web

import (
	"context"
	"crypto/rand"
	"encoding/hex"
	"errors"
	"fmt"
	"io/fs"
	"log"
	"net"
	"net/http"
	"strconv"
	"time"
)

// Options say what a workbench shows.
type Options struct {
	Folder string // of the pieces; no file outside it is read or written
	File   string // the piece to show first, a name in Folder; empty: what was last at hand
	Assets fs.FS  // the page; nil: the one that is built in
	Also   string // a folder elsewhere for second copies of the journals; empty: none are kept
}

// Server is one workbench. It is made by New and may be served once.
type Server struct {
	folder     *folder
	history    *history
	hub        *hub
	desk       *desk
	jobs       *jobs
	notes      *notes
	companions *companions
	first      string
	assets     *assets
	token      string // asked of every request
	nonce      string // of the styles that the page makes itself
	hosts      map[string]bool
	listings   listings
}

// New prepares a workbench for a folder that exists.
func New(o Options) (*Server, error) {
	f, err := openFolder(o.Folder)
	if err != nil {
		return nil, err
	}
	s := &Server{folder: f, first: o.File, token: secret(), nonce: secret(), assets: builtIn()}
	if o.Assets != nil {
		s.assets = newAssets(o.Assets)
	}
	s.history = &history{folder: f}
	s.hub = newHub(f)
	s.desk = newDesk(f)
	s.jobs = newJobs(s)
	s.notes = newNotes()
	s.companions = newCompanions()
	s.companions.also = o.Also
	return s, nil
}

// secret is 128 bits that nobody can guess.
func secret() string {
	var b [16]byte
	rand.Read(b[:])
	return hex.EncodeToString(b[:])
}

// Listen opens a port of this machine that no other machine reaches: the
// wanted one, or any free one when it is taken or 0.
func Listen(port int) (net.Listener, error) {
	l, err := net.Listen("tcp4", net.JoinHostPort("127.0.0.1", strconv.Itoa(port)))
	if err != nil && port != 0 {
		l, err = net.Listen("tcp4", "127.0.0.1:0")
	}
	if err != nil {
		return nil, fmt.Errorf("web: no port of this machine is free: %w", err)
	}
	return l, nil
}

// Address is what a person opens to reach a workbench served on l. It holds the
// key, so it is not for others.
func (s *Server) Address(l net.Listener) string {
	return fmt.Sprintf("http://127.0.0.1:%d%s/", portOf(l), s.root())
}

func portOf(l net.Listener) int { return l.Addr().(*net.TCPAddr).Port }

// patience is how long requests under way may take once the server ends.
const patience = time.Second

// Serve answers requests on l until ctx ends, then lets those under way finish
// for a moment. It closes l. Where ctx ended it, the error is nil, or says which
// journals of punched rolls lie there no more.
func (s *Server) Serve(ctx context.Context, l net.Listener) (err error) {
	defer s.folder.close()
	defer s.jobs.close()
	defer func() { err = errors.Join(err, s.companions.close()) }()
	port := strconv.Itoa(portOf(l))
	s.hosts = map[string]bool{"127.0.0.1:" + port: true, "localhost:" + port: true}
	server := &http.Server{
		Handler:           s.handler(),
		ReadHeaderTimeout: 10 * time.Second,
		IdleTimeout:       2 * time.Minute,
		MaxHeaderBytes:    32 << 10,
		BaseContext:       func(net.Listener) context.Context { return ctx },
		ErrorLog:          log.New(silent{}, "", 0),
	}
	done := make(chan struct{})
	go func() {
		defer close(done)
		<-ctx.Done()
		last, cancel := context.WithTimeout(context.WithoutCancel(ctx), patience)
		defer cancel()
		if server.Shutdown(last) != nil {
			server.Close()
		}
	}()
	go s.hub.watch(ctx)
	err = server.Serve(l)
	if errors.Is(err, http.ErrServerClosed) {
		<-done
		return nil
	}
	return fmt.Errorf("web: %w", err)
}

// silent drops what net/http says of connections that a browser cut off.
type silent struct{}

func (silent) Write(p []byte) (int, error) { return len(p), nil }

// handler routes requests that have passed the guard.
func (s *Server) handler() http.Handler {
	mux := http.NewServeMux()
	mux.HandleFunc("GET /api/session", get(s.session))
	mux.HandleFunc("GET /api/files", get(s.files))
	mux.HandleFunc("GET /api/examples", get(s.examples))
	mux.HandleFunc("GET /api/instruments", get(s.instruments))
	mux.HandleFunc("GET /api/formats", get(s.formats))
	mux.HandleFunc("GET /api/words", s.words)
	mux.HandleFunc("GET /api/watch", s.watch)
	mux.HandleFunc("GET /api/note", s.note)
	mux.HandleFunc("GET /api/jobs/{id}", s.jobState)
	mux.HandleFunc("GET /api/jobs/{id}/file", s.jobFile)
	mux.HandleFunc("POST /api/file", post(s.file))
	mux.HandleFunc("POST /api/save", post(s.save))
	mux.HandleFunc("POST /api/new", post(s.newFile))
	mux.HandleFunc("POST /api/copy", post(s.copyFile))
	mux.HandleFunc("POST /api/rename", post(s.renameFile))
	mux.HandleFunc("POST /api/history", post(s.historyOf))
	mux.HandleFunc("POST /api/snapshot", post(s.snapshot))
	mux.HandleFunc("POST /api/restore", post(s.restore))
	mux.HandleFunc("POST /api/diff", post(s.diff))
	mux.HandleFunc("POST /api/example", post(s.exampleText))
	mux.HandleFunc("POST /api/work", s.work)
	mux.HandleFunc("POST /api/part", s.part)
	mux.HandleFunc("POST /api/plan", post(s.plan))
	mux.HandleFunc("POST /api/punches", s.punches)
	mux.HandleFunc("POST /api/set", post(s.set))
	mux.HandleFunc("POST /api/edit", post(s.edit))
	mux.HandleFunc("POST /api/remedy", post(s.remedy))
	mux.HandleFunc("POST /api/punch", post(s.punch))
	mux.HandleFunc("POST /api/offer", post(s.offer))
	mux.HandleFunc("POST /api/jobs", post(s.startJob))
	mux.HandleFunc("POST /api/jobs/cancel", post(s.cancelJob))
	for _, v := range views {
		for pattern, answer := range v.routes(s) {
			mux.HandleFunc(pattern, answer)
		}
	}
	mux.Handle("/api/", http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		fail(w, &refusal{http.StatusNotFound, "there is nothing at " + r.URL.Path})
	}))
	mux.HandleFunc("GET /fonts/{name}", s.font)
	mux.Handle("/", http.HandlerFunc(s.asset))
	return s.guard(mux)
}
