package web

import (
	"context"
	"io/fs"
	"path"
	"slices"
	"strings"

	"rollwright/sound"
	"rollwright/workshop"
)

// session is what the page asks first.
type session struct {
	Version      string   `json:"version"` // of the program
	Folder       string   `json:"folder"`
	Open         string   `json:"open"`         // the piece to show first; empty: there is none
	SoundVersion string   `json:"soundVersion"` // changes when notes sound different
	First        bool     `json:"first"`        // nobody has worked in this folder yet
	Lang         []string `json:"lang"`         // languages there are words for
}

func (s *Server) session(ctx context.Context) (session, error) {
	list, err := s.files(ctx)
	if err != nil {
		return session{}, err
	}
	return session{
		Version: workshop.Version(), Folder: s.folder.path, Open: list.Open, SoundVersion: sound.Version(),
		First: !s.folder.exists(dataFolder), Lang: s.languages(),
	}, nil
}

func (s *Server) languages() []string {
	names, _ := fs.Glob(s.assets.files, "words/*.json")
	out := []string{"en"}
	for _, name := range names {
		if tag := strings.TrimSuffix(path.Base(name), ".json"); !slices.Contains(out, tag) {
			out = append(out, tag)
		}
	}
	return out
}
