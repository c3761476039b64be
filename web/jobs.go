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
	"time"

	"rollwright/making/machine"
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
	key    string // what it answers; empty: it is done anew each time
	path   string // of the result
	answer any    // of a job that makes no file
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
	subject
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
	if err := in.check(); err != nil {
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
	o := order{name: in.Name, of: 1}
	switch {
	case in.Format == build:
		o.of = workshop.BuildSteps + len(furtherOutputs(workshop.Options{}))
	case isSound(product):
		o.of = shareSteps
	}
	o.do = func(ctx context.Context, one *job) (outcome, error) {
		if isSound(product) {
			options.Sound.Progress = func(stage string, share float64) { s.jobs.share(one, stage, share) }
		}
		path, err := s.jobs.make(ctx, one, in, options)
		return outcome{path: path}, err
	}
	return s.jobs.start(o)
}

// order is something to be done in the background.
type order struct {
	name string // of what it is about
	of   int    // steps
	key  string // the same for the same question, which is answered once; empty: done anew each time
	do   func(ctx context.Context, one *job) (outcome, error)
}

// outcome is what a job has come to: a file, or an answer.
type outcome struct {
	path   string
	answer any
}

// start puts a job into the line, or finds the one that answers the same.
func (j *jobs) start(o order) (idOnly, error) {
	j.lock.Lock()
	defer j.lock.Unlock()
	for _, one := range j.list {
		if o.key != "" && one.key == o.key && one.State != failed && one.State != canceled {
			return idOnly{one.ID}, nil
		}
	}
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
	one := &job{jobNote: jobNote{ID: strconv.Itoa(j.made), Name: o.name, State: queued, Of: o.of}, key: o.key,
		cancel: cancel}
	j.list = append(j.list, one)
	j.forget()
	go j.run(ctx, one, o)
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

// run does a job when its turn comes.
func (j *jobs) run(ctx context.Context, one *job, o order) {
	defer one.cancel()
	var out outcome
	var err error
	select {
	case j.line <- struct{}{}:
		j.change(one, func() { one.State = running })
		err = safely(func() (err error) {
			out, err = o.do(ctx, one)
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
			one.State, one.Done, one.Step, one.path, one.answer = done, one.Of, "", out.path, out.answer
			if out.path != "" {
				one.File = filepath.Base(out.path)
			}
		}
	})
}

// make writes the files of an order and returns the path of the one to fetch.
func (j *jobs) make(ctx context.Context, one *job, in ordering, o workshop.Options) (string, error) {
	work, err := j.server.desk.job(ctx, in.asked())
	if err != nil {
		return "", unreadable(err)
	}
	dir := filepath.Join(j.dir, one.ID)
	out := filepath.Join(dir, "out")
	if err := os.MkdirAll(out, 0o700); err != nil {
		return "", err
	}
	stem := strings.TrimSuffix(path.Base(in.Name), path.Ext(in.Name))
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
		if err == nil {
			names, err = j.further(ctx, one, work, out, o, names)
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

// shareSteps is how finely a share of what is to be done is told.
const shareSteps = 100

// isSound reports whether p is heard; nil, an archive of everything, is not.
func isSound(p *workshop.Product) bool { return p != nil && p.Name == "sound" }

// share tells what share is done of a job that counts in shareSteps.
func (j *jobs) share(one *job, stage string, share float64) {
	j.lock.Lock()
	same := one.Step == stage && one.Done == int(share*shareSteps)
	j.lock.Unlock()
	if !same {
		j.change(one, func() { one.Step, one.Done = stage, int(share*shareSteps) })
	}
}

// folder is where a job puts its files; it is made at the first call.
func (j *jobs) folder(one *job) (string, error) {
	dir := filepath.Join(j.dir, one.ID)
	return dir, os.MkdirAll(dir, 0o700)
}

// mostTables is how many light tables keep their copies of pictures on the disk.
const mostTables = 2

// retire forgets the older answers of a kind, and their files, before one more is
// there.
func (j *jobs) retire(but *job, is func(answer any) bool) {
	j.lock.Lock()
	defer j.lock.Unlock()
	kept := 1
	for _, one := range slices.Backward(j.list) {
		if one == but || one.answer == nil || !is(one.answer) {
			continue
		}
		if kept++; kept > mostTables {
			one.answer, one.key = nil, ""
			os.RemoveAll(filepath.Join(j.dir, one.ID))
		}
	}
}

// answerOf is what a job has answered, if it is of the kind.
func answerOf[Answer any](j *jobs, id string) (Answer, error) {
	j.lock.Lock()
	defer j.lock.Unlock()
	var none Answer
	one := j.find(id)
	if one == nil {
		return none, &refusal{http.StatusNotFound, "this is no longer at hand: start it again"}
	}
	answer, ok := one.answer.(Answer)
	if !ok {
		return none, &refusal{http.StatusConflict, "this is not done yet"}
	}
	return answer, nil
}

// packedAnswer sends what a job has answered.
func packedAnswer[Answer any](s *Server, packed func(Answer) []byte) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		answer, err := answerOf[Answer](s.jobs, r.PathValue("id"))
		if err != nil {
			fail(w, err)
			return
		}
		sendPacked(w, packed(answer))
	}
}

// furtherOutput is what everything holds beside what the command builds: what a person at
// the bench or at a machine needs.
type furtherOutput struct {
	name    string
	options workshop.Options
}

// furtherOutputs are worksheet, labels and a program for each built-in machine.
func furtherOutputs(o workshop.Options) []furtherOutput {
	sheet, labels := o, o
	sheet.Worksheet, labels.Labels = true, true
	out := []furtherOutput{{"worksheet.pdf", sheet}, {"labels.pdf", labels}}
	for _, m := range machine.List() {
		profile, err := machine.Load(m.Name, "")
		for _, extension := range []string{".nc", ".plt"} {
			if err == nil && workshop.MachineReads(profile, extension) == nil {
				program := o
				program.Machine = m.Name
				out = append(out, furtherOutput{"program-" + m.Name + extension, program})
				break
			}
		}
	}
	return out
}

// further makes these beside the files that are there. What cannot be made of this piece is
// told of in a file.
func (j *jobs) further(ctx context.Context, one *job, work *workshop.Job, dir string, o workshop.Options,
	names []string) ([]string, error) {
	var not []string
	for _, f := range furtherOutputs(o) {
		j.change(one, func() { one.Done, one.Step = min(one.Done+1, one.Of), f.name })
		made, err := work.Write(ctx, filepath.Join(dir, f.name), f.options)
		if ctx.Err() != nil {
			return nil, ctx.Err()
		}
		if err != nil {
			not = append(not, f.name+": "+worded(err)+"\n")
			continue
		}
		names = append(names, made...)
	}
	if len(not) == 0 {
		return names, nil
	}
	path := filepath.Join(dir, "not-made.txt")
	return append(names, path), os.WriteFile(path, []byte(strings.Join(not, "")), 0o600)
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
	when := time.Now() // a file without a date is one of 1980
	if info, err := in.Stat(); err == nil {
		when = info.ModTime()
	}
	method := zip.Deflate
	if slices.Contains(dense, filepath.Ext(name)) {
		method = zip.Store
	}
	out, err := z.CreateHeader(&zip.FileHeader{Name: as, Method: method, Modified: when})
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
