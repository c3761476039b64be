package web

import (
	"context"
	"fmt"
	"net/http"
	"path"
	"strings"

	"rollwright/music/pitch"
	"rollwright/scan/overhear"
	"rollwright/sound/take"
)

// takeRoutes are those of a recording that is held against the paper.
func takeRoutes(s *Server) map[string]http.HandlerFunc {
	return map[string]http.HandlerFunc{
		"POST /api/take":         post(s.startTake),
		"GET /api/take/sound":    s.takeSound,
		"GET /api/take/{id}/all": packedAnswer(s, func(a *takenAll) []byte { return a.packed }),
	}
}

// taking asks what of a roll a recording holds.
type taking struct {
	subject
	Piano int    `json:"piano"`
	Take  string `json:"take"` // a recording in the folder
}

// heard is what was heard; its arrays have a number a stroke, in the order of the
// roll:
//
//	take_slot i32: the slot as it is counted in the analysis
//	take_verdict u8: 0 sounded, 1 silent, 2 unsure
//	take_sure, take_at, take_late f64: certainty 0 to 1, seconds of the take, milliseconds
type heard struct {
	Work      string        `json:"work"` // id of the analysis that it is of
	Take      string        `json:"take"`
	TakeSec   float64       `json:"takeSec"`
	BeginSec  float64       `json:"beginSec"` // of row 0, in the take
	Transport transport     `json:"transport"`
	Said      []string      `json:"said"`
	Counts    verdicts      `json:"counts"`
	Silent    []silentKey   `json:"silent"`
	Arrays    []packedArray `json:"arrays"`
}

type verdicts struct {
	Strokes int `json:"strokes"`
	Sounded int `json:"sounded"`
	Silent  int `json:"silent"`
	Unsure  int `json:"unsure"`
	Beyond  int `json:"beyond"` // before the take begins or after it ends, among the unsure
}

// silentKey is a key of which strokes were silent.
type silentKey struct {
	Key     int    `json:"key"`
	Pitch   string `json:"pitch"`
	Port    int    `json:"port"` // from 1
	Strokes int    `json:"strokes"`
	Dead    bool   `json:"dead"`
	Says    string `json:"says"`
	At      []int  `json:"at"` // the silent ones, as they are counted in the arrays
}

func (s *Server) startTake(ctx context.Context, in taking) (idOnly, error) {
	if err := in.check(); err != nil {
		return idOnly{}, err
	}
	if kindOfName(in.Take) != takeKind {
		return idOnly{}, &refusal{http.StatusBadRequest, fmt.Sprintf("%q is no recording: WAV and FLAC are read here", in.Take)}
	}
	file, err := s.folder.regular(in.Take)
	if err != nil {
		return idOnly{}, err
	}
	file.Close()
	work := s.desk.sheet(in.asked()).id
	return s.jobs.start(order{
		name: in.Take, of: shareSteps, key: fmt.Sprintln("take", work, in.Piano, s.folder.stamp(in.Take)),
		do: func(ctx context.Context, one *job) (outcome, error) {
			answer, err := s.hear(ctx, one, in, work)
			return outcome{answer: answer}, err
		},
	})
}

// takenAll is the answer of a job that has listened.
type takenAll struct{ packed []byte }

// hear listens to a recording of what is worked on.
func (s *Server) hear(ctx context.Context, one *job, in taking, work string) (*takenAll, error) {
	job, err := s.desk.job(ctx, in.asked())
	if err != nil {
		return nil, unreadable(err)
	}
	planned, base, err := rollOf(job, in.Piano)
	if err != nil {
		return nil, err
	}
	file, err := s.folder.regular(in.Take)
	if err != nil {
		return nil, err
	}
	defer file.Close()
	s.jobs.share(one, "reading", 0.02)
	sound, err := take.From(ctx, in.Take, file)
	if err != nil {
		return nil, err
	}
	result, err := overhear.HearTold(ctx, planned, sound, func(share float64) {
		s.jobs.share(one, "listening", 0.1+0.9*share)
	})
	if err != nil {
		return nil, fmt.Errorf("%s: %w", in.Take, err)
	}
	out := heardOf(result, in.Take, work)
	var p packed
	strokes := result.Strokes()
	n := len(strokes)
	p.floats("take_sure", n, func(i int) float64 { return strokes[i].Sure })
	p.floats("take_at", n, func(i int) float64 { return strokes[i].HeardSec })
	p.floats("take_late", n, func(i int) float64 { return strokes[i].LateMS })
	p.ints("take_slot", n, func(i int) int32 { return int32(base + strokes[i].Slot) })
	p.bytes("take_verdict", n, func(i int) uint8 { return uint8(strokes[i].Verdict) })
	out.Silent = silentKeysOf(result)
	out.Arrays = p.list
	all, err := p.assemble(out)
	return &takenAll{all}, err
}

func heardOf(r *overhear.Result, name, work string) *heard {
	c := r.Counts()
	return &heard{
		Work: work, Take: name, TakeSec: r.TakeSec, BeginSec: r.BeginSec(), Transport: transportOf(r.Transport()),
		Said: r.Sentences(), Counts: verdicts{c.Strokes, c.Sounded, c.Silent, c.Unsure, c.Before + c.After},
	}
}

// silentKeysOf are the keys of which strokes in the take were silent.
func silentKeysOf(r *overhear.Result) []silentKey {
	out := []silentKey{}
	for _, k := range r.SilentKeys() {
		out = append(out, silentKey{Key: k.Key, Pitch: pitch.Name(k.Key), Port: k.Port, Strokes: k.Strokes, Dead: k.Dead,
			Says: k.String(), At: k.Silent})
	}
	return out
}

// takeSound sends a recording, or the stretch of it that is asked for.
func (s *Server) takeSound(w http.ResponseWriter, r *http.Request) {
	name := r.URL.Query().Get("name")
	if kindOfName(name) != takeKind {
		fail(w, &refusal{http.StatusBadRequest, fmt.Sprintf("%q is no recording", name)})
		return
	}
	file, err := s.folder.regular(name)
	if err != nil {
		fail(w, err)
		return
	}
	defer file.Close()
	info, err := file.Stat()
	if err != nil {
		fail(w, err)
		return
	}
	w.Header().Set("Content-Type", "audio/"+strings.TrimPrefix(strings.ToLower(path.Ext(name)), "."))
	http.ServeContent(w, r, "", info.ModTime(), file)
}
