package web

import (
	"bytes"
	"context"
	"fmt"
	"net/http"
	"path"
	"slices"
	"strings"

	"rollwright/music/find"
	"rollwright/workshop"
)

// designRoutes are those of what is found in notes.
func designRoutes(s *Server) map[string]http.HandlerFunc {
	return map[string]http.HandlerFunc{
		"POST /api/design":         post(s.startDesign),
		"GET /api/design/{id}/all": packedAnswer(s, func(a *designed) []byte { return a.packed }),
		"POST /api/design/take":    post(s.takeDesign),
	}
}

// designed is a design with what it was found in.
type designed struct {
	design *find.Design
	name   string
	packed []byte
}

// design is what was found; its arrays have a number a note, by start:
//
//	note_start, note_end f64, note_key, note_level, note_piano, note_explained u8
//	note_of i32: the index of its voice; -1: nobody knows
//
// and one a pair of partners:
//
//	pair_canon, pair_leader, pair_follower i32: the index of the canon, and of the notes
type design struct {
	Work        string        `json:"work"` // id of the analysis that it is of
	Summary     string        `json:"summary"`
	Count       int           `json:"count"`
	Unexplained int           `json:"unexplained"`
	Voices      []foundVoice  `json:"voices"`
	Canons      []foundCanon  `json:"canons"`
	Arrays      []packedArray `json:"arrays"`
}

// foundVoice is a voice with what is claimed of it.
type foundVoice struct {
	Name   string     `json:"name"`
	Claims bool       `json:"claims"` // a series was found in it
	Says   []foundRow `json:"says"`
	Taleae []begins   `json:"taleaAt"`
	Colors []begins   `json:"colorAt"`
}

// foundCanon is a line in two voices.
type foundCanon struct {
	Leader   int        `json:"leader"`
	Follower int        `json:"follower"`
	MeetSec  *float64   `json:"meetSec"` // null: never
	Says     []foundRow `json:"says"`
}

type foundRow struct {
	Label string `json:"label"`
	Says  string `json:"says"`
}

// begins is where a statement begins.
type begins struct {
	N    int `json:"n"`
	Note int `json:"note"` // as it is counted in the arrays
}

func (s *Server) startDesign(_ context.Context, in subject) (idOnly, error) {
	if err := in.check(); err != nil {
		return idOnly{}, err
	}
	work := s.desk.sheet(in.asked()).id
	return s.jobs.start(order{
		name: in.Name, key: fmt.Sprintln("design", work),
		do: func(ctx context.Context, one *job) (outcome, error) {
			s.jobs.change(one, func() { one.Step = "finding" })
			answer, err := s.find(ctx, in, work)
			return outcome{answer: answer}, err
		},
	})
}

// find looks for the design of what is worked on.
func (s *Server) find(ctx context.Context, in subject, work string) (*designed, error) {
	job, err := s.desk.job(ctx, in.asked())
	if err != nil {
		return nil, unreadable(err)
	}
	notes, err := job.Notes()
	if err != nil {
		return nil, err
	}
	d, err := find.Find(ctx, notes)
	if err != nil {
		return nil, err
	}
	out := &designed{design: d, name: path.Base(in.Name)}
	out.packed, err = packDesign(d, job, work)
	return out, err
}

func packDesign(d *find.Design, job *workshop.Job, work string) ([]byte, error) {
	out := design{Work: work, Summary: d.Summary(), Count: d.Count, Unexplained: d.Unexplained,
		Voices: []foundVoice{}, Canons: []foundCanon{}}
	for i := range d.Voices {
		v := &d.Voices[i]
		out.Voices = append(out.Voices, foundVoice{Name: v.Name, Claims: v.Talea != nil || v.Color != nil,
			Says: rowsOfItems(d.VoiceItems(i)), Taleae: beginsOf(v.TaleaBegins()), Colors: beginsOf(v.ColorBegins())})
	}
	var p packed
	n := len(d.Notes)
	p.floats("note_start", n, func(i int) float64 { return d.Notes[i].StartSec })
	p.floats("note_end", n, func(i int) float64 { return d.Notes[i].EndSec })
	p.ints("note_of", n, func(i int) int32 { return int32(d.Of[i]) })
	p.bytes("note_key", n, func(i int) uint8 { return uint8(d.Notes[i].Key) })
	p.bytes("note_level", n, func(i int) uint8 { return uint8(d.Notes[i].Level) })
	pianos := pianosOfVoices(job)
	p.bytes("note_piano", n, func(i int) uint8 { return pianos[d.Notes[i].Voice] })
	p.bytes("note_explained", n, func(i int) uint8 {
		if d.Explained[i] {
			return 1
		}
		return 0
	})
	var pairs [][3]int
	for i := range d.Canons {
		c := &d.Canons[i]
		one := foundCanon{Leader: c.Leader, Follower: c.Follower, Says: rowsOfItems(d.CanonItems(i))}
		if c.Meets {
			one.MeetSec = &c.MeetSec
		}
		out.Canons = append(out.Canons, one)
		for _, q := range d.Partners(c) {
			pairs = append(pairs, [3]int{i, q[0], q[1]})
		}
	}
	for k, name := range []string{"pair_canon", "pair_leader", "pair_follower"} {
		p.ints(name, len(pairs), func(i int) int32 { return int32(pairs[i][k]) })
	}
	out.Arrays = p.list
	return p.assemble(out)
}

// pianosOfVoices are the pianos of the voices of a piece by name; of what is no piece,
// the first has all.
func pianosOfVoices(job *workshop.Job) map[string]uint8 {
	out := map[string]uint8{}
	if job.Piece != nil {
		for i := range job.Piece.Voices {
			out[job.Piece.Voices[i].Name] = uint8(job.Piece.Voices[i].Piano)
		}
	}
	return out
}

func rowsOfItems(items []find.Item) []foundRow {
	out := make([]foundRow, len(items))
	for i, item := range items {
		out[i] = foundRow(item)
	}
	return out
}

func beginsOf(list []find.Begin) []begins {
	out := make([]begins, len(list))
	for i, b := range list {
		out[i] = begins{b.Statement, b.Row}
	}
	return out
}

// takingDesign asks for a piece of some of the voices that were found.
type takingDesign struct {
	ID     string `json:"id"`     // of the job
	Voices []int  `json:"voices"` // empty: everything that was found
	To     string `json:"to"`     // the new piece
}

// takeDesign writes a new piece of what was found.
func (s *Server) takeDesign(_ context.Context, in takingDesign) (nameOnly, error) {
	d, err := answerOf[*designed](s.jobs, in.ID)
	if err != nil {
		return nameOnly{}, err
	}
	if slices.ContainsFunc(in.Voices, func(v int) bool { return v < 0 || v >= len(d.design.Voices) }) {
		return nameOnly{}, &refusal{http.StatusBadRequest, "there is no such voice"}
	}
	var b bytes.Buffer
	source := strings.TrimSuffix(d.name, extension)
	if len(in.Voices) == 0 {
		err = find.WriteDraft(&b, d.design, source)
	} else {
		err = find.WriteDraftOf(&b, d.design, source, in.Voices)
	}
	if err != nil {
		return nameOnly{}, &refusal{http.StatusUnprocessableEntity, err.Error()}
	}
	return s.create(in.To, b.Bytes())
}
