package web

import (
	"bytes"
	"cmp"
	"context"
	"errors"
	"fmt"
	"io/fs"
	"net/http"
	"path"
	"strings"
	"sync"
	"time"
	"unicode/utf8"

	"rollwright/examples"
	"rollwright/music/piecefile"
	"rollwright/paper/instrument"
	"rollwright/text/source"
)

// listed is a piece in the list of files.
type listed struct {
	Name   string `json:"name"`
	Title  string `json:"title"`
	Bytes  int64  `json:"bytes"`
	Errors int    `json:"errors"`
}

// fileList is the answer to /api/files.
type fileList struct {
	Folder string   `json:"folder"`
	Open   string   `json:"open"` // the piece to show first; empty: there is none
	Files  []listed `json:"files"`
}

func (s *Server) files(context.Context) (fileList, error) {
	out := fileList{Folder: s.folder.path, Files: []listed{}}
	for _, info := range s.folder.list() {
		out.Files = append(out.Files, s.listings.of(s.folder, info))
	}
	out.Open = s.firstOf(out.Files)
	return out, nil
}

// firstOf is the piece that was asked for, else the one last saved, else the
// first.
func (s *Server) firstOf(files []listed) string {
	last, _ := s.folder.bytes(lastName, 1000)
	for _, want := range []string{s.first, strings.TrimSpace(string(last))} {
		for _, f := range files {
			if f.Name == want {
				return want
			}
		}
	}
	if len(files) > 0 {
		return files[0].Name
	}
	return ""
}

// lastName is the file that says which piece was saved last.
const lastName = dataFolder + "/last"

// listings remembers what was read of files that have not changed since.
type listings struct {
	lock sync.Mutex
	made map[string]listing
}

type listing struct {
	size int64
	time time.Time
	listed
}

func (l *listings) of(f *folder, info fs.FileInfo) listed {
	l.lock.Lock()
	defer l.lock.Unlock()
	if m, ok := l.made[info.Name()]; ok && m.size == info.Size() && m.time.Equal(info.ModTime()) {
		return m.listed
	}
	m := listing{info.Size(), info.ModTime(), listed{Name: info.Name(), Bytes: info.Size()}}
	if text, err := f.read(info.Name()); err != nil {
		m.Errors = 1
	} else {
		m.Title, m.Errors = glance(info.Name(), text)
	}
	if l.made == nil || len(l.made) > 2*mostFiles {
		l.made = map[string]listing{}
	}
	l.made[info.Name()] = m
	return m.listed
}

// glance is the title of a piece and how many mistakes its text has.
func glance(name string, text []byte) (string, int) {
	p, err := piecefile.Parse(&source.File{Name: name, Text: text})
	var complaints source.Errors
	switch {
	case errors.As(err, &complaints):
		return "", len(complaints)
	case err != nil:
		return "", 1
	}
	return p.Title, 0
}

// nameOnly is a request about one file.
type nameOnly struct {
	Name string `json:"name"`
}

// fileText is a file as it is on the disk.
type fileText struct {
	Name    string `json:"name"`
	Text    string `json:"text"`
	Version string `json:"version"`
}

func (s *Server) file(_ context.Context, in nameOnly) (fileText, error) {
	text, err := s.folder.read(in.Name)
	if err != nil {
		return fileText{}, err
	}
	if !utf8.Valid(text) {
		return fileText{}, &refusal{http.StatusUnprocessableEntity, in.Name +
			" is not text in UTF-8: save it as UTF-8 in the program that wrote it"}
	}
	return fileText{in.Name, toPage(text), version(text)}, nil
}

// saving is a request to save.
type saving struct {
	Name string `json:"name"`
	Text string `json:"text"`
	Base string `json:"base"` // the version that the text was made from; empty: a new file
	Tab  string `json:"tab"`  // who saves
}

// saved is what a file has become.
type saved struct {
	Version string `json:"version"`
}

// onDisk is what stands in the way of saving.
type onDisk struct {
	Error   string  `json:"error"`
	Version string  `json:"version"` // empty: the file is gone
	Text    *string `json:"text"`    // null: the file is gone
}

// save writes a text over the version that it was made from, and over no other.
func (s *Server) save(_ context.Context, in saving) (saved, error) {
	if err := checkText(in.Name, in.Text); err != nil {
		return saved{}, err
	}
	s.folder.lock.Lock()
	defer s.folder.lock.Unlock()
	had, err := s.folder.read(in.Name)
	text := toDisk(in.Text, had)
	out := saved{version(text)}
	var told *refusal
	switch gone := errors.As(err, &told) && told.status == http.StatusNotFound; {
	case gone && in.Base != "":
		return out, inTheWay(in.Name+" is no longer there: another program has moved or deleted it", nil)
	case err != nil && !gone:
		return out, err
	case gone:
	case version(had) == out.Version:
		return out, nil
	case version(had) != in.Base:
		return out, inTheWay(in.Name+" was changed by another program or tab; nothing was written over", had)
	default:
		s.history.before(in.Name, had, time.Now())
	}
	return out, s.store(in.Name, text, in.Tab)
}

func inTheWay(why string, had []byte) error {
	body := onDisk{Error: why}
	if had != nil {
		text := toPage(had)
		body.Version, body.Text = version(had), &text
	}
	return &conflict{refusal{http.StatusConflict, why}, body}
}

// store writes a text and tells every tab; the lock of the folder is held.
func (s *Server) store(name string, text []byte, tab string) error {
	fresh := !s.folder.exists(name)
	if err := s.folder.write(name, text); err != nil {
		return err
	}
	v := version(text)
	s.folder.told[name] = v
	if last, _ := s.folder.bytes(lastName, 1000); string(last) != name && !isInstrument(name) {
		s.folder.write(lastName, []byte(name)) // only a convenience
	}
	s.hub.tell(name, "saved", savedNote{Name: name, Version: v, Tab: tab, Text: toPage(text)})
	if fresh {
		s.hub.tell("", "files", struct{}{})
	}
	return nil
}

// savedNote tells a tab that a file was saved.
type savedNote struct {
	Name    string `json:"name"`
	Version string `json:"version"`
	Tab     string `json:"tab"`
	Text    string `json:"text"`
}

func checkText(name, text string) error {
	if err := checkName(name); err != nil {
		return err
	}
	return checkLength(text)
}

// checkLength refuses a text that is longer than a piece may be.
func checkLength(text string) error {
	if len(text) > mostText {
		return &refusal{http.StatusRequestEntityTooLarge, fmt.Sprintf("a piece has at most %d MB of text; split this one",
			mostText>>20)}
	}
	return nil
}

// crlf reports whether every line of a text ends as on some systems.
func crlf(text []byte) bool {
	n := bytes.Count(text, []byte("\r\n"))
	return n > 0 && n == bytes.Count(text, []byte("\n"))
}

// toPage is a text as the page has it: its lines end in a line feed alone.
func toPage(text []byte) string {
	if crlf(text) {
		return strings.ReplaceAll(string(text), "\r\n", "\n")
	}
	return string(text)
}

// toDisk is a text of the page with the line ends that its file had.
func toDisk(text string, had []byte) []byte {
	if crlf(had) && !strings.Contains(text, "\r") {
		text = strings.ReplaceAll(text, "\n", "\r\n")
	}
	return []byte(text)
}

// beginning is a request for a new file.
type beginning struct {
	Name    string `json:"name"`
	Example string `json:"example"` // what it begins as; empty: a page with nothing but the title
	Title   string `json:"title"`   // of an empty page; empty: the name
}

func (s *Server) newFile(_ context.Context, in beginning) (nameOnly, error) {
	if in.Example == "" {
		title := cmp.Or(in.Title, strings.TrimSuffix(path.Base(in.Name), extension))
		return s.create(in.Name, []byte("title = "+quoted(title)+"\n"))
	}
	text, err := examples.Source(in.Example)
	if err != nil {
		return nameOnly{}, &refusal{http.StatusNotFound, fmt.Sprintf("there is no example %q", in.Example)}
	}
	return s.create(in.Name, text)
}

// create writes a file that is not there yet. A name without its ending gets
// it.
func (s *Server) create(name string, text []byte) (nameOnly, error) {
	name = withExtension(name)
	if err := checkName(name); err != nil {
		return nameOnly{}, err
	}
	s.folder.lock.Lock()
	defer s.folder.lock.Unlock()
	if s.folder.exists(name) {
		return nameOnly{}, &refusal{http.StatusConflict, name + " is there already and stays as it is; choose another name"}
	}
	return nameOnly{name}, s.store(name, text, "")
}

func withExtension(name string) string {
	if path.Ext(name) != extension {
		return name + extension
	}
	return name
}

// twoNames is a request to copy or rename.
type twoNames struct {
	Name string `json:"name"`
	To   string `json:"to"`
}

func (s *Server) copyFile(_ context.Context, in twoNames) (nameOnly, error) {
	text, err := s.folder.read(in.Name)
	if err != nil {
		return nameOnly{}, err
	}
	return s.create(in.To, text)
}

// renameFile gives a file another name; its history goes with it.
func (s *Server) renameFile(_ context.Context, in twoNames) (nameOnly, error) {
	to := withExtension(in.To)
	for _, name := range []string{in.Name, to} {
		if err := checkName(name); err != nil {
			return nameOnly{}, err
		}
	}
	s.folder.lock.Lock()
	defer s.folder.lock.Unlock()
	switch {
	case !s.folder.exists(in.Name):
		return nameOnly{}, &refusal{http.StatusNotFound, "there is no file " + in.Name}
	case s.folder.exists(to):
		return nameOnly{}, &refusal{http.StatusConflict, to + " is there already and stays as it is; choose another name"}
	}
	if err := s.folder.root.MkdirAll(path.Dir(to), 0o755); err != nil {
		return nameOnly{}, s.folder.explain(to, err)
	}
	if err := s.folder.root.Rename(in.Name, to); err != nil {
		return nameOnly{}, s.folder.explain(in.Name, err)
	}
	s.folder.flush(path.Dir(to))
	s.history.rename(in.Name, to)
	s.renameJournals(in.Name, to)
	s.folder.told[to] = s.folder.told[in.Name]
	delete(s.folder.told, in.Name)
	s.hub.tell("", "files", renamedNote{in.Name, to})
	return nameOnly{to}, nil
}

// renamedNote tells tabs that a file has another name.
type renamedNote struct {
	Renamed string `json:"renamed"`
	To      string `json:"to"`
}

// exampleText is the text of an example, to be looked at before it is a file.
func (s *Server) exampleText(_ context.Context, in nameOnly) (textOnly, error) {
	text, err := examples.Source(in.Name)
	if err != nil {
		return textOnly{}, &refusal{http.StatusNotFound, fmt.Sprintf("there is no example %q", in.Name)}
	}
	return textOnly{string(text)}, nil
}

// instrumentName is an instrument that a piece may name.
type instrumentName struct {
	Name  string `json:"name"`
	Title string `json:"title"`
}

// instruments are the built-in ones and the files of the folder.
func (s *Server) instruments(context.Context) ([]instrumentName, error) {
	var out []instrumentName
	for _, l := range instrument.List() {
		out = append(out, instrumentName(l))
	}
	names, _ := fs.Glob(s.folder.root.FS(), "*"+instrument.Extension)
	for _, name := range names {
		one := instrumentName{Name: name}
		if in, err := s.folder.instrument(name, s.folder.path); err == nil {
			one.Title = in.Title
		}
		out = append(out, one)
	}
	return out, nil
}

// example is a piece to begin with.
type example struct {
	Name  string `json:"name"`
	Title string `json:"title"`
	Idea  string `json:"idea"`
}

func (s *Server) examples(context.Context) ([]example, error) {
	var out []example
	for _, e := range examples.List() {
		out = append(out, example(e))
	}
	return out, nil
}
