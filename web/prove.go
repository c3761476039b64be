package web

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net/http"
	"path"
	"path/filepath"
	"strings"

	"rollwright/making/journal"
	"rollwright/scan/proof"
	"rollwright/text/outfile"
	"rollwright/workshop"
)

// proving asks for what follows from the differences on the light table.
type proving struct {
	ID     string `json:"id"`
	Format string `json:"format"` // pdf: what to patch and punch; html: each place beside the plan; csv: every difference
	Bench  string `json:"bench"`  // of the worksheet; empty: the assumed one
	Letter bool   `json:"letter"` // paper of the worksheet, else A4
}

// startProof makes a file of what the paper on the light table lacks.
func (s *Server) startProof(_ context.Context, in proving) (idOnly, error) {
	l, err := answerOf[*lit](s.jobs, in.ID)
	if err != nil {
		return idOnly{}, err
	}
	endings := map[string]string{"pdf": "-repair.pdf", "html": "-proof.html", "csv": "-differences.csv"}
	if endings[in.Format] == "" {
		return idOnly{}, &refusal{http.StatusBadRequest, "a proof is written as pdf, html or csv"}
	}
	name := l.asked.name
	if err := s.folder.checkBench(path.Dir(name), in.Bench); err != nil {
		return idOnly{}, err
	}
	return s.jobs.start(order{name: name, of: 1, do: func(ctx context.Context, one *job) (outcome, error) {
		p, err := s.provedOn(ctx, l, in.Bench)
		if err != nil {
			return outcome{}, err
		}
		dir, err := s.jobs.folder(one)
		if err != nil {
			return outcome{}, err
		}
		stem := strings.TrimSuffix(path.Base(name), path.Ext(name))
		file := filepath.Join(dir, stem+endings[in.Format])
		return outcome{path: file}, outfile.Write(ctx, file, func(w io.Writer) error {
			return p.Write(w, "."+in.Format, in.Letter)
		})
	}})
}

// provedOn holds the whole roll, with its rows at a bench, against what was read.
func (s *Server) provedOn(ctx context.Context, l *lit, bench string) (*workshop.Proof, error) {
	job, err := s.desk.job(ctx, l.asked)
	if err != nil {
		return nil, unreadable(err)
	}
	making := &workshop.Making{Bench: bench}
	rolls, err := job.ToPunch("", making)
	if err != nil {
		return nil, unreadable(err)
	}
	if l.piano >= len(rolls) {
		return nil, &refusal{http.StatusBadRequest, "there is no such piano"}
	}
	plan, err := job.BenchPlan(rolls[l.piano], making)
	if err != nil {
		return nil, unreadable(err)
	}
	return prove(job.Prove(rolls[l.piano], plan, workshop.ScanOf(l.reading), proof.Options{}))
}

// prove refuses paper that is not of the roll.
func prove(p *workshop.Proof, err error) (*workshop.Proof, error) {
	var unlike *proof.UnlikeError
	if errors.As(err, &unlike) {
		return nil, &refusal{http.StatusUnprocessableEntity, unlike.Error()}
	}
	return p, err
}

// recording asks that a journal takes down what the paper on the light table has.
type recording struct {
	ID      string `json:"id"`
	Journal string `json:"journal"` // its name; empty: that of the only roll
	Bench   string `json:"bench"`   // of a roll that has not begun
}

// recorded is what the journal took down, in words.
type recorded struct {
	Journal string `json:"journal"`
	Says    string `json:"says"`
}

// recordProof puts into the journal of a roll what its paper really has, so that the
// companion leads through the repair. The piece has to be the one that lies under the
// picture, and on the disk.
func (s *Server) recordProof(ctx context.Context, in recording) (recorded, error) {
	l, err := answerOf[*lit](s.jobs, in.ID)
	if err != nil {
		return recorded{}, err
	}
	name := l.asked.name
	if !isPiece(name) || !s.folder.exists(name) {
		return recorded{}, &refusal{http.StatusConflict, "only what is punched of a piece in the folder has a journal: keep the piece first"}
	}
	text, err := s.folder.read(name)
	if err != nil {
		return recorded{}, err
	}
	if string(text) != l.asked.text {
		return recorded{}, &refusal{http.StatusConflict, "the piece in the folder is not the one under this picture any more: lay the picture there again"}
	}
	if in.Journal == "" {
		in.Journal = path.Base(journal.Path(name, "", 1, 1))
	}
	full, err := s.folder.journalPath(name, in.Journal)
	if err != nil {
		return recorded{}, err
	}
	if err := s.companions.astray(full); err != nil {
		return recorded{}, err
	}
	job, err := s.desk.job(ctx, l.asked)
	if err != nil {
		return recorded{}, unreadable(err)
	}
	r, err := s.rollToPunch(ctx, &punchOrder{Name: name, Journal: in.Journal, Bench: in.Bench})
	if err != nil {
		return recorded{}, err
	}
	if rolls, err := job.ToPunch("", &workshop.Making{}); err != nil || l.piano >= len(rolls) ||
		rolls[l.piano].Name != r.spool.Name {
		return recorded{}, &refusal{http.StatusConflict, fmt.Sprintf("%s is the journal of another piano's roll", in.Journal)}
	}
	p, err := prove(job.Prove(r.spool, r.plan, workshop.ScanOf(l.reading), proof.Options{}))
	if err != nil {
		return recorded{}, err
	}
	says, err := s.companions.record(r, p)
	return recorded{in.Journal, says}, err
}

// record writes what a proof found into a journal. The companion of that roll, if one
// is open, is left first: it reads the journal again when it goes on.
func (c *companions) record(r *rollToPunch, p *workshop.Proof) (says string, err error) {
	c.lock.Lock()
	defer c.lock.Unlock()
	if err := c.leave(r.path); err != nil {
		return "", err
	}
	j, err := c.journal(r)
	if err != nil {
		return "", err
	}
	entries := p.Work().Entries(j.State)
	if err := errors.Join(entries.Write(j), j.Close()); err != nil {
		return "", c.mark(r.path, err)
	}
	return entries.Says(r.plan, j.State), nil
}
