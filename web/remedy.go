package web

import (
	"context"
	"fmt"
	"net/http"

	"rollwright/music/piece"
	"rollwright/music/piecefile"
	"rollwright/paper/inspect"
	"rollwright/text/source"
	"rollwright/workshop"
)

// mending is a request for a remedy.
type mending struct {
	Name    string `json:"name"`
	Text    string `json:"text"`
	Finding string `json:"finding"` // its id
}

// remedy writes into the text what helps against a finding. Each change that may
// help is tried: one that leaves none of the group is taken at once, else the
// one that leaves fewest, provided that no more is unplayable than before.
func (s *Server) remedy(ctx context.Context, in mending) (splice, error) {
	in.Name = orUnnamed(in.Name)
	if err := checkText(in.Name, in.Text); err != nil {
		return splice{}, err
	}
	job, err := s.desk.job(ctx, asked{name: in.Name, text: in.Text})
	if err != nil {
		return splice{}, unreadable(err)
	}
	report, err := job.Findings()
	if err != nil {
		return splice{}, err
	}
	for _, f := range groupsOf(report) {
		if f.ID == in.Finding {
			return s.mend(ctx, in, job, report, &f)
		}
	}
	return splice{}, &refusal{http.StatusNotFound, "this finding is gone already"}
}

func (s *Server) mend(ctx context.Context, in mending, job *workshop.Job, report *inspect.Report, f *finding) (splice,
	error) {
	fewest := f.Count
	var best splice
	for _, c := range f.group.Worst.Changes() {
		out, err := applied(job.File, job.Piece, c)
		if err != nil || string(out) == in.Text {
			continue
		}
		after, err := s.tried(ctx, in.Name, string(out))
		if err != nil {
			if ctx.Err() != nil {
				return splice{}, ctx.Err()
			}
			continue
		}
		left := like(after, f)
		if left >= fewest || after.Counts[inspect.Forbids] > report.Counts[inspect.Forbids] {
			continue
		}
		fewest, best = left, spliceOf(in.Text, string(out))
		best.Label = label(c, job.Piece)
		if left == 0 {
			break
		}
	}
	if best.Label == "" {
		return splice{}, &refusal{http.StatusUnprocessableEntity, "nothing that the workbench can write makes this better without making something else worse; " + f.Remedy}
	}
	return best, nil
}

// tried is what is found in a text with a change.
func (s *Server) tried(ctx context.Context, name, text string) (*inspect.Report, error) {
	stand, err := s.desk.sit(ctx)
	if err != nil {
		return nil, err
	}
	defer stand()
	job, err := s.desk.perform(ctx, asked{name: name, text: text})
	if err != nil {
		return nil, err
	}
	return job.Findings()
}

// like counts the findings that belong to the same group.
func like(report *inspect.Report, f *finding) int {
	n := 0
	for _, g := range report.Groups {
		if f.group.First.Width > 0 && (g.First.At != f.group.First.At || g.First.Before != f.group.First.Before) {
			continue // another gesture's
		}
		if g.Kind == f.group.Kind && g.Severity == f.group.Severity &&
			(f.Voice < 0 || g.Voice == f.Voice && g.First.Other == f.group.First.Other) && (f.Piano < 0 || g.Piano == f.Piano) {
			n += g.Count
		}
	}
	return n
}

// applied is the text of a piece with a change.
func applied(file *source.File, p *piece.Piece, c inspect.Change) ([]byte, error) {
	if c.Attr == "" {
		return piecefile.Replace(file, c.Old, c.Value)
	}
	path, err := pathOf(file, p, c)
	if err != nil {
		return nil, err
	}
	return assign(file.Text, path, c.Attr, c.Value)
}

// pathOf leads to the block that a change is written into: the voice's own, the
// piano's own, or the piece where it has no piano blocks.
func pathOf(file *source.File, p *piece.Piece, c inspect.Change) ([]string, error) {
	switch {
	case c.Voice >= 0:
		return piecefile.Path(file, p.Voices[c.Voice].Name)
	case p.Pianos[c.Piano].Name != "":
		return []string{stepOf("piano "+p.Pianos[c.Piano].Name, 1)}, nil
	}
	return nil, nil
}

// label says what a change does.
func label(c inspect.Change, p *piece.Piece) string {
	switch {
	case c.Attr == "":
		return fmt.Sprintf("%s in place of %s", source.Printable(c.Text()), source.Printable(c.Old.Text))
	case c.Voice >= 0:
		return fmt.Sprintf("%s in voice %s", c.Text(), source.Printable(p.Voices[c.Voice].Name))
	case p.Pianos[c.Piano].Name != "":
		return fmt.Sprintf("%s of piano %s", c.Text(), source.Printable(p.Pianos[c.Piano].Name))
	}
	return c.Text()
}
