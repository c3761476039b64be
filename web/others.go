package web

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"net/http"
	"os"
	"path"
	"path/filepath"
	"strings"

	"rollwright/music/find"
	"rollwright/music/transcribe"
	"rollwright/paper/instrument"
	"rollwright/paper/table"
	"rollwright/text/source"
	"rollwright/workshop"
)

// subject is what a request is about: the text of a piece as the page has it, or a
// file of the folder that is no piece.
type subject struct {
	Name       string `json:"name"`
	Text       string `json:"text"`       // of a piece
	Instrument string `json:"instrument"` // of what is no piece; empty: the usual one
}

func (s subject) asked() asked { return asked{s.Name, s.Text, s.Instrument} }

// check refuses what cannot be worked on, and names a text that has no file.
func (s *subject) check() error {
	s.Name = orUnnamed(s.Name)
	if isPiece(s.Name) || isInstrument(s.Name) {
		return checkText(s.Name, s.Text)
	}
	if kindOfName(s.Name) == "" || !plainName(s.Name) {
		return &refusal{http.StatusBadRequest, fmt.Sprintf("%q is no file of notes or holes", s.Name)}
	}
	s.Text = ""
	return nil
}

func isPiece(name string) bool { return path.Ext(name) == extension }

// The kinds of files beside pieces.
const (
	notesKind   = "notes"   // MIDI, MusicXML, a table of notes
	holesKind   = "holes"   // a table of holes
	takeKind    = "take"    // a recording
	pictureKind = "picture" // of paper
)

// kindOfName is the kind of a file by its extension, of a table before it is looked at
// notesKind; empty: none.
func kindOfName(name string) string {
	switch extension := strings.ToLower(path.Ext(name)); {
	case extension == ".csv", transcribe.Known(name):
		return notesKind
	case extension == ".wav", extension == ".flac":
		return takeKind
	case workshop.IsPicture(extension):
		return pictureKind
	}
	return ""
}

// other is a file of the folder that is no piece.
type other struct {
	Name  string `json:"name"`
	Kind  string `json:"kind"`
	Bytes int64  `json:"bytes"`
}

func othersRoutes(s *Server) map[string]http.HandlerFunc {
	return map[string]http.HandlerFunc{
		"GET /api/others": get(s.others),
		"POST /api/draft": post(s.draft),
	}
}

// others lists the files of the folder, and of the folders in it, that are no pieces
// and of use.
func (s *Server) others(context.Context) ([]other, error) {
	out := []other{}
	for _, dir := range append([]string{"."}, s.folder.folders()...) {
		for _, e := range s.folder.entries(dir) {
			name := path.Join(dir, e.Name())
			kind := kindOfName(name)
			if kind == "" || !plainName(name) || len(out) >= mostFiles {
				continue
			}
			info, err := s.folder.root.Stat(name)
			if err != nil || !info.Mode().IsRegular() {
				continue
			}
			if strings.EqualFold(path.Ext(name), ".csv") {
				if kind = s.folder.kindOfTable(name); kind == "" {
					continue
				}
			}
			out = append(out, other{name, kind, info.Size()})
		}
	}
	return out, nil
}

// folders are those of the folder itself.
func (f *folder) folders() []string {
	var out []string
	for _, e := range f.entries(".") {
		if e.IsDir() && plainName(e.Name()) && len(out) < mostFiles {
			out = append(out, e.Name())
		}
	}
	return out
}

// headBytes is how much of a table is looked at to tell its kind.
const headBytes = 4 << 10

// kindOfTable is the kind of a table by its first row; empty: it is no such table.
func (f *folder) kindOfTable(name string) string {
	file, err := f.regular(name)
	if err != nil {
		return ""
	}
	defer file.Close()
	head, err := io.ReadAll(io.LimitReader(file, headBytes))
	if err != nil {
		return ""
	}
	line, _, _ := bytes.Cut(head, []byte("\n"))
	kind, err := table.KindOf(&source.File{Name: name, Text: line})
	switch {
	case err != nil:
		return ""
	case kind == table.Holes:
		return holesKind
	}
	return notesKind
}

// regular opens a regular file of the folder.
func (f *folder) regular(name string) (*os.File, error) {
	if !plainName(name) {
		return nil, &refusal{http.StatusBadRequest, fmt.Sprintf("%q is no file of this folder", name)}
	}
	file, err := f.root.OpenFile(filepath.FromSlash(name), os.O_RDONLY|nonblocking, 0)
	if err != nil {
		return nil, f.explain(name, err)
	}
	if info, err := file.Stat(); err != nil || !info.Mode().IsRegular() {
		file.Close()
		return nil, &refusal{http.StatusBadRequest, name + " is no file"}
	}
	return file, nil
}

// stamp changes whenever a file does that is no piece; empty for a piece, whose text
// the page has, and where there is none.
func (f *folder) stamp(name string) string {
	if isPiece(name) {
		return ""
	}
	info, err := f.root.Stat(filepath.FromSlash(name))
	if err != nil {
		return ""
	}
	return fmt.Sprintln(name, info.Size(), info.ModTime().UnixNano())
}

// mostTable bounds a table that is opened: what the page shows has at most mostEvents
// rows, which are shorter than this on average.
const mostTable = mostEvents * 100

// open works out what follows from a file that is no piece.
func (f *folder) open(ctx context.Context, a asked) (*workshop.Job, error) {
	text, err := f.bytes(a.name, mostTable)
	if err != nil {
		return nil, err
	}
	dir := filepath.Join(f.path, filepath.Dir(filepath.FromSlash(a.name)))
	given := workshop.Given{Instrument: a.instrument, Load: f.instrument}
	file := &source.File{Name: a.name, Text: text}
	var job *workshop.Job
	if transcribe.Known(a.name) {
		job, err = workshop.OfTranscribed(ctx, file, dir, given)
	} else {
		job, err = workshop.OfTable(file, dir, given)
	}
	if err != nil {
		return nil, err
	}
	count := 0
	for range job.Events() {
		if count++; count > mostEvents {
			return nil, &refusal{http.StatusUnprocessableEntity, fmt.Sprintf("%s has more than the %d notes that the workbench shows", a.name, mostEvents)}
		}
	}
	return job, nil
}

// drafting is a request for a piece that plays the notes of a file.
type drafting struct {
	subject
	To string `json:"to"` // the new piece
}

// draft writes a new piece that plays the notes of a file: of one that another program
// wrote as they stand there, of a table by what is found in it.
func (s *Server) draft(ctx context.Context, in drafting) (nameOnly, error) {
	if err := in.check(); err != nil {
		return nameOnly{}, err
	}
	job, err := s.desk.job(ctx, in.asked())
	if err != nil {
		return nameOnly{}, unreadable(err)
	}
	notes, err := job.Notes()
	if err != nil {
		return nameOnly{}, err
	}
	found, err := find.Find(ctx, notes)
	if err != nil {
		return nameOnly{}, err
	}
	var b bytes.Buffer
	if err := find.WriteDraft(&b, found, path.Base(in.Name)); err != nil {
		return nameOnly{}, &refusal{http.StatusUnprocessableEntity, err.Error()}
	}
	return s.create(in.To, b.Bytes())
}

// instrumentOf is the instrument of a name, for a file in dir of the folder.
func (f *folder) instrumentOf(name, file string) (*instrument.Instrument, error) {
	dir := filepath.Join(f.path, filepath.Dir(filepath.FromSlash(file)))
	in, err := f.instrument(name, dir)
	if err != nil {
		return nil, &refusal{http.StatusUnprocessableEntity, err.Error()}
	}
	return in, nil
}
