package web

import (
	"context"
	"net/http"
	"path"
	"slices"
	"strings"
	"time"
)

// deletedRoutes are those of pieces that are deleted: each stays in its history.
func deletedRoutes(s *Server) map[string]http.HandlerFunc {
	return map[string]http.HandlerFunc{"POST /api/delete": post(s.deleteFile), "GET /api/deleted": get(s.deleted),
		"POST /api/undelete": post(s.undelete)}
}

// deletedLabel is what the last text of a deleted piece is called in its history.
const deletedLabel = "deleted"

// deleteFile takes a piece out of the folder when its history has its text.
func (s *Server) deleteFile(_ context.Context, in nameOnly) (nameOnly, error) {
	if err := checkName(in.Name); err != nil {
		return nameOnly{}, err
	}
	s.folder.lock.Lock()
	defer s.folder.lock.Unlock()
	text, err := s.folder.read(in.Name)
	if err != nil {
		return nameOnly{}, err
	}
	if _, err := s.history.keep(in.Name, text, deletedLabel, time.Now()); err != nil {
		return nameOnly{}, err // it stays where it is
	}
	if err := s.folder.root.Remove(in.Name); err != nil {
		return nameOnly{}, s.folder.explain(in.Name, err)
	}
	s.folder.flush(path.Dir(in.Name))
	delete(s.folder.told, in.Name)
	s.hub.tell("", "files", struct{}{})
	return in, nil
}

// deleted lists the pieces that have a history and are there no more, by name.
func (s *Server) deleted(context.Context) ([]nameOnly, error) {
	s.folder.lock.Lock()
	defer s.folder.lock.Unlock()
	out := []nameOnly{}
	for _, name := range s.history.names() {
		if list := s.history.list(name); !s.folder.exists(name) && len(list) > 0 {
			out = append(out, nameOnly{name})
		}
	}
	return out, nil
}

// names are those of all pieces that have a history.
func (h *history) names() []string {
	var out []string
	var look func(dir string)
	look = func(dir string) {
		for _, e := range h.folder.entries(h.dir(dir)) {
			name := path.Join(dir, e.Name())
			switch {
			case e.IsDir() && isPiece(name):
				out = append(out, name)
			case e.IsDir():
				look(name)
			}
		}
	}
	look("")
	slices.Sort(out)
	return out
}

// undelete makes the file anew from the last text that its history has.
func (s *Server) undelete(_ context.Context, in nameOnly) (nameOnly, error) {
	if err := checkName(in.Name); err != nil {
		return nameOnly{}, err
	}
	s.folder.lock.Lock()
	list := s.history.list(in.Name)
	var text []byte
	err := error(&refusal{http.StatusNotFound, "there is no history of " + in.Name})
	if len(list) > 0 {
		last := slices.MaxFunc(list, func(a, b snapshot) int { return strings.Compare(a.ID, b.ID) })
		text, err = s.history.text(in.Name, last.ID)
	}
	s.folder.lock.Unlock()
	if err != nil {
		return nameOnly{}, err
	}
	return s.create(in.Name, text)
}
