package web

import (
	"context"
	"net/http"

	"rollwright/music/perform"
	"rollwright/music/plan"
	"rollwright/workshop"
)

// plans is how the cycles run.
type plans struct {
	Pairs       []pair  `json:"pairs"`
	NotCompared string  `json:"notCompared"` // why pairs are missing; empty: none is
	Density     density `json:"density"`
	Tempo       []tempo `json:"tempo"`
	Canons      []canon `json:"canons"`
}

// pair is two voices and where they meet.
type pair struct {
	A             string    `json:"a"`
	B             string    `json:"b"`
	Canon         string    `json:"canon"`
	Ratio         *string   `json:"ratio"`   // exact; null: not known
	Decimal       *float64  `json:"decimal"` // null: a tempo changes
	Commensurable string    `json:"commensurable"`
	Count         int       `json:"count"` // of meetings
	Proof         string    `json:"proof"`
	Reason        string    `json:"reason"`
	Next          string    `json:"next"`
	Meets         []meeting `json:"meets"` // the first of them
	Near          []miss    `json:"near"`
}

type meeting struct {
	Sec   float64 `json:"sec"`
	NoteA int64   `json:"noteA"`
	NoteB int64   `json:"noteB"`
}

type miss struct {
	meeting
	DistSec float64 `json:"distSec"`
}

type density struct {
	BinSec float64 `json:"binSec"`
	Counts []int   `json:"counts"`
	Peak   float64 `json:"peak"` // notes a second in the fullest
	Mean   float64 `json:"mean"`
}

// tempo is a voice's quarter notes a minute over time, its speed included.
type tempo struct {
	Voice  int          `json:"voice"`
	Points [][2]float64 `json:"points"` // seconds, quarter notes a minute
}

type canon struct {
	Name   string   `json:"name"`
	Voices []string `json:"voices"`
	Meet   string   `json:"meet"`
	AtSec  float64  `json:"atSec"`
}

// planOf asks for the plan of a text that was worked on.
type planOf struct {
	ID string `json:"id"` // of the work
}

// plan answers with how the cycles of a text run. The page asks once the roll
// is on the screen, so that typing does not wait for it.
func (s *Server) plan(_ context.Context, in planOf) (out *plans, err error) {
	job := s.desk.performed(in.ID)
	if job == nil {
		return nil, &refusal{http.StatusNotFound, "this text is not at hand any more: ask for its work again"}
	}
	err = safely(func() error {
		out = plansOf(job)
		return nil
	})
	return out, err
}

// mostMeetings bounds the meetings that are listed of all pairs together.
const mostMeetings = 20_000

func plansOf(job *workshop.Job) *plans {
	if job.Piece == nil {
		return &plans{Pairs: []pair{}, Canons: []canon{}, Density: density{Counts: []int{}}, Tempo: []tempo{}}
	}
	p := job.Plan()
	out := &plans{Pairs: []pair{}, Canons: []canon{}, NotCompared: p.NotCompared}
	out.Density = density{float64(p.Density.Bin), p.Density.Counts, p.Density.PeakRate, p.Density.Mean}
	left := mostMeetings
	for i := range p.Pairs {
		one := pairOf(&p.Pairs[i], left)
		left -= len(one.Meets)
		out.Pairs = append(out.Pairs, one)
	}
	for _, c := range p.Canons {
		if len(c.Crossings) > 0 {
			continue // it has no one instant to mark
		}
		out.Canons = append(out.Canons, canon{c.Name, c.Voices, c.Meet, c.At.Decimal})
	}
	for i, l := range job.Performance.Lines {
		out.Tempo = append(out.Tempo, tempo{i, tempoOf(l)})
	}
	return out
}

func pairOf(p *plan.Pair, most int) pair {
	out := pair{
		A: p.A, B: p.B, Canon: p.Canon, Commensurable: p.Commensurable, Count: p.Meetings.Count, Proof: p.Proof,
		Reason: p.Reason, Next: p.Next.Reason, Meets: []meeting{}, Near: []miss{},
	}
	if out.Next == "" {
		out.Next = p.Next.Answer
	}
	if p.Ratio != nil {
		out.Decimal = &p.Ratio.Decimal
		if p.Ratio.Exact != "" {
			out.Ratio = &p.Ratio.Exact
		}
	}
	for _, m := range p.Meetings.List[:min(len(p.Meetings.List), most)] {
		out.Meets = append(out.Meets, meeting{m.At.Decimal, m.NoteA, m.NoteB})
	}
	for _, m := range p.NearMisses {
		out.Near = append(out.Near, miss{meeting{float64(m.At), m.NoteA, m.NoteB}, m.Distance.Decimal})
	}
	return out
}

// tempoPoints is how many points a changing tempo is drawn with.
const tempoPoints = 160

// tempoOf follows the tempo from the first item of a line to its end.
func tempoOf(l *perform.Line) [][2]float64 {
	steps := tempoPoints
	if l.Steady() {
		steps = 1
	}
	var out [][2]float64
	for i := range steps + 1 {
		units := l.Length * float64(i) / float64(steps)
		out = append(out, [2]float64{l.SecondsAt(units), l.TempoAt(units)})
	}
	return out
}
