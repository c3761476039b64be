package web

import (
	"context"
	"net/http"
)

// laterRoutes are those of what takes longer than the paper.
func laterRoutes(s *Server) map[string]http.HandlerFunc {
	return map[string]http.HandlerFunc{"POST /api/findings": post(s.findings)}
}

// found is what is found in a text that was worked on.
type found struct {
	Gone     bool      `json:"gone"` // the text is not at hand any more: there is another one
	Summary  string    `json:"summary"`
	Findings []finding `json:"findings"`
	Once     []int     `json:"once"` // notes at one time, at most, by piano
}

// findings answers with what a lean answer has left out: the page shows the roll as soon
// as it is there.
func (s *Server) findings(ctx context.Context, in planOf) (*found, error) {
	sheet := s.desk.at(in.ID)
	if sheet == nil || sheet.job.Load() == nil {
		return &found{Gone: true, Findings: []finding{}, Once: []int{}}, nil
	}
	stand, err := s.desk.look(ctx)
	if err != nil {
		return nil, err
	}
	defer stand()
	out := &found{Once: []int{}}
	err = safely(func() error {
		report, err := sheet.job.Load().Findings()
		if err != nil {
			return err
		}
		o := newOffsets(sheet.text)
		out.Summary, out.Findings = report.Summary(), findingsOf(report, o, newOutline(sheet.text, o))
		for _, f := range report.Facts {
			out.Once = append(out.Once, f.AtOnce)
		}
		return nil
	})
	return out, err
}
