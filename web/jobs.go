package web

import (
	"archive/zip"
	"context"
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"sync"

	"rollwright/workshop"
)

// jobs makes files in the background, one after the other, and keeps the last
// of them for a browser to fetch.
type jobs struct {
	server *Server
	lock   sync.Mutex
	list   []*job
	made   int
	line   chan struct{} // holds one while a job runs
	dir    string        // where the files are made; empty until there is one
	over   context.Context
	end    context.CancelFunc
}

// The bounds of the jobs that wait and of those that are kept.
const (
	mostWaitingJobs = 8
	mostKeptJobs    = 8
)

// The states of a job.
const (
	queued   = "queued"
	running  = "running"
	done     = "done"
	failed   = "failed"
	canceled = "canceled"
)

// job is one output being made. Its fields are guarded by the lock of jobs.
type job struct {
	jobNote
	path   string // of the result
	cancel context.CancelFunc
}

// jobNote tells tabs how far a job is.
type jobNote struct {
	ID    string `json:"id"`
	Name  string `json:"name"`
	Done  int    `json:"done"`
	Of    int    `json:"of"`
	State string `json:"state"`
	Step  string `json:"step,omitempty"` // what is being made
	Error string `json:"error,omitempty"`
	File  string `json:"file,omitempty"` // the name under which the result is saved
}

func newJobs(s *Server) *jobs {
	over, end := context.WithCancel(context.Background())
	return &jobs{server: s, line: make(chan struct{}, 1), over: over, end: end}
}

// close ends all jobs and removes their files.
func (j *jobs) close() {
	j.end()
	j.lock.Lock()
	defer j.lock.Unlock()
	if j.dir != "" {
		os.RemoveAll(j.dir)
	}
}

// ordering is a request for an output.
type ordering struct {
	Name    string  `json:"name"`
	Text    string  `json:"text"`
	Format  string  `json:"format"` // an extension, or build
	Options choices `json:"options"`
}

// idOnly names a job.
type idOnly struct {
	ID string `json:"id"`
}

// build is the format of an archive of everything.
const build = "zip"

func (s *Server) startJob(_ context.Context, in ordering) (idOnly, error) {
	in.Name = orUnnamed(in.Name)
	if err := checkText(in.Name, in.Text); err != nil {
		return idOnly{}, err
	}
	in.Format = strings.TrimPrefix(in.Format, ".")
	options, err := in.Options.options(s.folder, path.Dir(in.Name))
	if err != nil {
		return idOnly{}, err
	}
	var product *workshop.Product
	if in.Format != build {
		if product, err = workshop.ProductOf("x."+in.Format, &options); err != nil {
			return idOnly{}, &refusal{http.StatusBadRequest, strings.TrimPrefix(worded(err), "x."+in.Format+": ")}
		}
	}
	return s.jobs.start(in, product, options)
}

// start puts a job into the line.
func (j *jobs) start(in ordering, p *workshop.Product, o workshop.Options) (idOnly, error) {
	j.lock.Lock()
	defer j.lock.Unlock()
	waiting := 0
	for _, one := range j.list {
		if one.State == queued || one.State == running {
			waiting++
		}
	}
	if waiting >= mostWaitingJobs {
		return idOnly{}, &refusal{http.StatusTooManyRequests, "so many files are being made already; wait for one, or cancel it"}
	}
	if j.dir == "" {
		dir, err := os.MkdirTemp("", "rollwright-files-")
		if err != nil {
			return idOnly{}, err
		}
		j.dir = dir
	}
	ctx, cancel := context.WithCancel(j.over)
	j.made++
	one := &job{jobNote: jobNote{ID: strconv.Itoa(j.made), Name: in.Name, State: queued, Of: 1}, cancel: cancel}
	switch {
	case in.Format == build:
		one.Of = workshop.BuildSteps
	case isSound(p):
		one.Of = soundSteps
		o.Sound.Progress = j.soundProgress(one)
	}
	j.list = append(j.list, one)
	j.forget()
	go j.run(ctx, one, in, o)
	return idOnly{one.ID}, nil
}

// forget drops the oldest results beyond the bound.
func (j *jobs) forget() {
	over := len(j.list) - mostKeptJobs - mostWaitingJobs
	j.list = slices.DeleteFunc(j.list, func(one *job) bool {
		if over <= 0 || one.State == queued || one.State == running {
			return false
		}
		over--
		os.RemoveAll(filepath.Join(j.dir, one.ID))
		return true
	})
}

func (j *jobs) find(id string) *job {
	for _, one := range j.list {
		if one.ID == id {
			return one
		}
	}
	return nil
}

// change changes a job and tells every tab.
func (j *jobs) change(one *job, how func()) {
	j.lock.Lock()
	how()
	note := one.jobNote
	j.lock.Unlock()
	j.server.hub.tell("", "job", note)
}

// run makes the output of a job when its turn comes.
func (j *jobs) run(ctx context.Context, one *job, in ordering, o workshop.Options) {
	defer one.cancel()
	var path string
	var err error
	select {
	case j.line <- struct{}{}:
		j.change(one, func() { one.State = running })
		err = safely(func() (err error) {
			path, err = j.make(ctx, one, in, o)
			return err
		})
		<-j.line
	case <-ctx.Done():
		err = ctx.Err()
	}
	j.change(one, func() {
		switch {
		case ctx.Err() != nil:
			one.State = canceled
		case err != nil:
			one.State, one.Error = failed, worded(err)
		default:
			one.State, one.Done, one.path, one.File, one.Step = done, one.Of, path, filepath.Base(path), ""
		}
	})
}

// make writes the files of an order and returns the path of the one to fetch.
func (j *jobs) make(ctx context.Context, one *job, in ordering, o workshop.Options) (string, error) {
	work, err := j.server.desk.job(ctx, in.Name, in.Text)
	if err != nil {
		return "", unreadable(err)
	}
	dir := filepath.Join(j.dir, one.ID)
	out := filepath.Join(dir, "out")
	if err := os.MkdirAll(out, 0o700); err != nil {
		return "", err
	}
	stem := strings.TrimSuffix(filepath.Base(filepath.FromSlash(in.Name)), extension)
	path := filepath.Join(out, stem+in.Options.content()+"."+in.Format)
	var names []string
	switch {
	case in.Format == build:
		names, err = work.Build(ctx, out, o, func(name string) {
			j.change(one, func() { one.Done, one.Step = min(one.Done+1, one.Of), name })
		})
		for i, name := range names {
			names[i] = filepath.Join(out, filepath.Base(name))
		}
	default:
		names, err = work.Write(ctx, path, o)
	}
	if err != nil {
		return "", unreadable(err)
	}
	if len(names) == 1 && in.Format != build {
		return names[0], nil
	}
	path = filepath.Join(dir, stem+in.Options.content()+".zip")
	return path, archive(path, stem, names)
}

// soundSteps is how finely the making of a sound is told.
const soundSteps = 100

// isSound reports whether p is heard; nil, an archive of everything, is not.
func isSound(p *workshop.Product) bool { return p != nil && p.Name == "sound" }

// soundProgress tells how far the making of a sound is.
func (j *jobs) soundProgress(one *job) func(stage string, share float64) {
	return func(stage string, share float64) {
		j.lock.Lock()
		same := one.Step == stage && one.Done == int(share*soundSteps)
		j.lock.Unlock()
		if !same {
			j.change(one, func() { one.Step, one.Done = stage, int(share*soundSteps) })
		}
	}
}

// archive packs files into a zip, in a folder of their own.
func archive(path, folder string, names []string) error {
	file, err := os.Create(path)
	if err != nil {
		return err
	}
	z := zip.NewWriter(file)
	for _, name := range names {
		if err := archiveOne(z, folder+"/"+filepath.Base(name), name); err != nil {
			file.Close()
			return err
		}
	}
	return errors.Join(z.Close(), file.Close())
}

// dense are the files that packing makes no smaller.
var dense = []string{".pdf", ".png", ".flac", ".zip"}

func archiveOne(z *zip.Writer, as, name string) error {
	in, err := os.Open(name)
	if err != nil {
		return err
	}
	defer in.Close()
	method := zip.Deflate
	if slices.Contains(dense, filepath.Ext(name)) {
		method = zip.Store
	}
	out, err := z.CreateHeader(&zip.FileHeader{Name: as, Method: method})
	if err != nil {
		return err
	}
	_, err = io.Copy(out, in)
	return err
}

// jobState tells how far a job is.
func (s *Server) jobState(w http.ResponseWriter, r *http.Request) {
	s.jobs.lock.Lock()
	defer s.jobs.lock.Unlock()
	if one := s.jobs.find(r.PathValue("id")); one != nil {
		write(w, http.StatusOK, one.jobNote)
		return
	}
	fail(w, &refusal{http.StatusNotFound, "there is no such job"})
}

func (s *Server) cancelJob(_ context.Context, in idOnly) (struct{}, error) {
	s.jobs.lock.Lock()
	defer s.jobs.lock.Unlock()
	one := s.jobs.find(in.ID)
	if one == nil {
		return struct{}{}, &refusal{http.StatusNotFound, "there is no such job"}
	}
	one.cancel()
	return struct{}{}, nil
}

// printable is the policy of a sheet that is shown to be printed: the browser's
// own viewer needs a style and a plug-in of its own, and there is no script.
const printable = "default-src 'none'; style-src 'unsafe-inline'; object-src 'self'; plugin-types application/pdf; base-uri 'none'; frame-ancestors 'none'"

// jobFile sends the result of a job, to be saved; a PDF that is asked for inline
// to be shown.
func (s *Server) jobFile(w http.ResponseWriter, r *http.Request) {
	s.jobs.lock.Lock()
	var path string
	if one := s.jobs.find(r.PathValue("id")); one != nil {
		path = one.path
	}
	s.jobs.lock.Unlock()
	if path == "" {
		fail(w, &refusal{http.StatusNotFound, "this file is not made, or no longer kept: make it again"})
		return
	}
	name := filepath.Base(path)
	how, kind := "attachment", "application/octet-stream"
	if r.URL.Query().Has("inline") && filepath.Ext(name) == ".pdf" {
		how, kind = "inline", "application/pdf"
		w.Header().Set("Content-Security-Policy", printable)
	}
	w.Header().Set("Content-Type", kind)
	w.Header().Set("Content-Disposition", fmt.Sprintf(`%s; filename="%s"; filename*=UTF-8''%s`, how, plainASCII(name),
		url.PathEscape(name)))
	http.ServeFile(w, r, path)
}

// plainASCII is a name for browsers that read no other (RFC 6266, 4.3).
func plainASCII(name string) string {
	return strings.Map(func(r rune) rune {
		if r < ' ' || r > '~' || r == '"' || r == '\\' {
			return '_'
		}
		return r
	}, name)
}
