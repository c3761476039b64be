package web

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"math"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"rollwright/music/piece"
	"rollwright/music/piecefile"
	"rollwright/paper/inspect"
	"rollwright/text/blocks"
	"rollwright/text/say"
	"rollwright/text/source"
	"rollwright/workshop"
)

// meetRoutes are those of two notes that are to meet.
func meetRoutes(s *Server) map[string]http.HandlerFunc {
	return map[string]http.HandlerFunc{"POST /api/meet": post(s.meet)}
}

// noteOf names a note of a piece.
type noteNamed struct {
	Voice string `json:"voice"`
	Note  int    `json:"note"` // from 1
}

// meetingAsked asks what makes two notes meet.
type meetingAsked struct {
	Name string    `json:"name"`
	Text string    `json:"text"`
	A    noteNamed `json:"a"`
	B    noteNamed `json:"b"`
}

// meetingFound is what makes them meet, or nearly, each way with what it does.
type meetingFound struct {
	Apart   string       `json:"apart"` // how far apart they are now
	Answers []meetAnswer `json:"answers"`
	Not     []string     `json:"not"` // what was asked for in vain, and why
}

// meetAnswer is one attribute that would be written, and what it does.
type meetAnswer struct {
	Voice     string   `json:"voice"`
	Attribute string   `json:"attribute"`
	Value     string   `json:"value"`
	Meets     bool     `json:"meets"` // to the nanosecond; else they come near
	Says      []string `json:"says"`
	Splice    splice   `json:"splice"`
}

// The bounds of what is tried: with more notes only what meets is, and a near number
// has to bring the two nearer than they are.
const (
	mostTriedNotes = 30_000
	mostNearTried  = 3
)

// meet says which speed or start of either voice makes two notes begin together. Each
// answer has been tried on the whole piece.
func (s *Server) meet(ctx context.Context, in meetingAsked) (*meetingFound, error) {
	job, err := s.jobOf(ctx, &in.Name, in.Text)
	if err != nil {
		return nil, err
	}
	m := &encounter{server: s, ctx: ctx, in: in, now: job}
	if m.a, m.b, err = m.times(job); err != nil {
		return nil, err
	}
	if in.A.Voice == in.B.Voice {
		return nil, &refusal{http.StatusUnprocessableEntity, "both are notes of " + in.A.Voice + ": choose notes of two voices"}
	}
	report, err := job.Findings()
	if err != nil {
		return nil, err
	}
	m.forbids = report.Counts[inspect.Forbids]
	out := &meetingFound{Answers: []meetAnswer{}, Not: []string{}, Apart: m.apartNow()}
	for _, way := range [][2]noteNamed{{in.B, in.A}, {in.A, in.B}} {
		m.speeds(out, way[0], way[1])
		m.start(out, way[0], way[1])
		if err := ctx.Err(); err != nil {
			return nil, err
		}
	}
	return out, nil
}

// encounter is a question on its way to its answers.
type encounter struct {
	server  *Server
	ctx     context.Context
	in      meetingAsked
	now     *workshop.Job
	a, b    float64 // when the two begin now, seconds
	forbids int
}

// times are when the two notes begin in a performance.
func (m *encounter) times(job *workshop.Job) (a, b float64, err error) {
	a, b = math.NaN(), math.NaN()
	find := func(n noteNamed) int { return slices.Index(job.Voices, n.Voice) }
	va, vb := find(m.in.A), find(m.in.B)
	for e := range job.Events() {
		switch {
		case int(e.Voice) == va && int(e.Note) == m.in.A.Note && math.IsNaN(a):
			a = e.StartSec
		case int(e.Voice) == vb && int(e.Note) == m.in.B.Note && math.IsNaN(b):
			b = e.StartSec
		}
	}
	if math.IsNaN(a) || math.IsNaN(b) {
		return 0, 0, &refusal{http.StatusUnprocessableEntity, "one of these notes is not in the piece: choose again"}
	}
	return a, b, nil
}

func (m *encounter) apartNow() string {
	if math.Abs(m.b-m.a) < oneInstant {
		return "they begin together already"
	}
	first, second, by := m.in.A, m.in.B, m.b-m.a
	if by < 0 {
		first, second, by = second, first, -by
	}
	return fmt.Sprintf("note %d of %s begins %s after note %d of %s", second.Note, second.Voice, apart(by), first.Note, first.Voice)
}

// oneInstant is within what two notes begin at one instant: a nanosecond, to which
// starts are rounded.
const oneInstant = 1.5e-9

// apart says a short time.
func apart(sec float64) string {
	if sec < 1 {
		return strconv.FormatFloat(sec*1000, 'g', 4, 64) + " ms"
	}
	return strconv.FormatFloat(math.Round(sec*1000)/1000, 'f', -1, 64) + " s"
}

// speeds asks solve for the speed of one voice, the place it is in being kept.
func (m *encounter) speeds(out *meetingFound, moved, kept noteNamed) {
	asking, path, err := m.ask(moved, kept)
	var job *workshop.Job
	if err == nil {
		job, err = m.perform(asking)
	}
	if err != nil {
		out.Not = append(out.Not, fmt.Sprintf("no speed of %s does it: %s", moved.Voice, plainReason(err)))
		return
	}
	for _, a := range job.Answers() {
		if a.Voice != moved.Voice {
			continue
		}
		value := string(a.Exact)
		if value == "" {
			value = string(a.Value)
		}
		m.try(out, moved, path, "speed", value, true)
		if m.now.Performance.Count > mostTriedNotes {
			return
		}
		for _, n := range a.Near[:min(len(a.Near), mostNearTried)] {
			m.try(out, moved, path, "speed", n.Value, false)
		}
	}
}

// ask is the text with the question in it: the speed of a voice, its note to meet
// another one.
func (m *encounter) ask(moved, kept noteNamed) ([]byte, []string, error) {
	text := []byte(m.in.Text)
	path, err := piecefile.Path(&source.File{Name: m.in.Name, Text: text}, moved.Voice)
	if err != nil {
		return nil, nil, err
	}
	if text, err = blocks.Set(text, path, "speed", `"?"`); err != nil {
		return nil, nil, err
	}
	body, errs := blocks.Parse(&source.File{Text: text}, blocks.Options{})
	if err := errs.Err(); err != nil {
		return nil, nil, err
	}
	voice := blockAt(body, path)
	v := slices.IndexFunc(m.now.Piece.Voices, func(v piece.Voice) bool { return v.Name == moved.Voice })
	if voice != nil && v >= 0 && m.now.Piece.Voices[v].Canon < 0 && voice.Body.Get("start") == nil && len(voice.Body.Of("meet")) == 0 {
		if text, err = blocks.Set(text, path, "start", `"0 s"`); err != nil {
			return nil, nil, err
		}
	}
	text, err = withMeet(text, path, fmt.Sprintf("with = %q\nmine = \"note %d\"\ntheirs = \"note %d\"\n", kept.Voice, moved.Note, kept.Note))
	return text, path, err
}

// withMeet is a text with one more meet block at the end of a block.
func withMeet(text []byte, path []string, inside string) ([]byte, error) {
	body, errs := blocks.Parse(&source.File{Text: text}, blocks.Options{})
	if err := errs.Err(); err != nil {
		return nil, err
	}
	parent := blockAt(body, path)
	if parent == nil {
		return nil, fmt.Errorf("this voice has no block of its own in the text")
	}
	at := parent.End - 1
	line := bytes.LastIndexByte(text[:at], '\n') + 1
	if len(bytes.TrimSpace(text[line:at])) > 0 {
		unfolded, err := unfold(text, path)
		if err != nil {
			return nil, err
		}
		return withMeet(unfolded, path, inside)
	}
	return slices.Concat(text[:line], []byte("meet {\n"+inside+"}\n"), text[line:]), nil
}

// perform tries a text.
func (m *encounter) perform(text []byte) (*workshop.Job, error) {
	stand, err := m.server.desk.sit(m.ctx)
	if err != nil {
		return nil, err
	}
	defer stand()
	return m.server.desk.perform(m.ctx, asked{name: m.in.Name, text: string(text)})
}

// start tries another start of a voice, or, in a canon, another entry.
func (m *encounter) start(out *meetingFound, moved, kept noteNamed) {
	i := slices.Index(m.now.Voices, moved.Voice)
	v := &m.now.Piece.Voices[i]
	text := []byte(m.in.Text)
	path, err := piecefile.Path(&source.File{Name: m.in.Name, Text: text}, moved.Voice)
	if err != nil {
		return
	}
	body, errs := blocks.Parse(&source.File{Text: text}, blocks.Options{})
	block := blockAt(body, path)
	if errs.Err() != nil || block == nil {
		return
	}
	by := m.a - m.b // how much later the moved one has to begin
	if moved == m.in.A {
		by = -by
	}
	if v.Canon < 0 && len(block.Body.Of("meet")) > 0 {
		out.Not = append(out.Not, fmt.Sprintf("the start of %s follows from its meet block: change that one", moved.Voice))
		return
	}
	attr, had := "start", ""
	if v.Canon >= 0 {
		attr = "later"
	}
	if a := block.Body.Get(attr); a != nil {
		had = strings.Trim(string(text[a.Value.Start:a.Value.End]), `"`)
	}
	for _, value := range moves(had, by) {
		if m.try(out, moved, path, attr, value, true) {
			return
		}
	}
	out.Not = append(out.Not, fmt.Sprintf("no %s of %s that can be written does it", attr, moved.Voice))
}

// moves are ways to write a start moved by so many seconds, the plainest first.
func moves(had string, by float64) []string {
	seconds := func(x float64) string { return strconv.FormatFloat(math.Round(x*1e9)/1e9, 'f', -1, 64) }
	base := 0.0
	if had != "" {
		number, isSec := strings.CutSuffix(had, " s")
		x, err := strconv.ParseFloat(number, 64)
		if !isSec || err != nil { // words or units: they stay, and the move stands beside them
			if by < 0 {
				return []string{had + " - " + seconds(-by) + " s"}
			}
			return []string{had + " + " + seconds(by) + " s"}
		}
		base = x
	}
	return []string{seconds(base+by) + " s"}
}

// try writes one attribute and sees what it does; it reports whether the answer was
// taken. Where the two have to meet, no other is.
func (m *encounter) try(out *meetingFound, moved noteNamed, path []string, attr, value string, meets bool) bool {
	text, err := assign([]byte(m.in.Text), path, attr, value)
	if err != nil || string(text) == m.in.Text {
		return false
	}
	job, err := m.perform(text)
	if err != nil {
		return false
	}
	a, b, err := m.times(job)
	off := math.Abs(a - b)
	if err != nil || meets && off > oneInstant || !meets && off >= math.Abs(m.a-m.b) {
		return false
	}
	one := meetAnswer{Voice: moved.Voice, Attribute: attr, Value: value, Meets: off <= oneInstant,
		Splice: spliceOf(m.in.Text, string(text))}
	one.Splice.Label = fmt.Sprintf("%s = %s in voice %s", attr, value, moved.Voice)
	if one.Meets {
		one.Says = append(one.Says, "they begin together at "+say.Clock(a, 2))
	} else {
		one.Says = append(one.Says, fmt.Sprintf("%s apart, at %s", apart(off), say.Clock(min(a, b), 2)))
	}
	one.Says = append(one.Says, m.length(job.EndSec))
	if report, err := job.Findings(); err == nil {
		one.Says = append(one.Says, m.findings(report.Counts[inspect.Forbids]))
	}
	out.Answers = append(out.Answers, one)
	return true
}

func (m *encounter) length(sec float64) string {
	by := sec - m.now.EndSec
	text := "the piece lasts " + say.Clock(sec, 1)
	switch {
	case math.Abs(by) < 0.05:
		return text + ", as now"
	case by < 0:
		return text + ", " + apart(-by) + " less than now"
	}
	return text + ", " + apart(by) + " more than now"
}

func (m *encounter) findings(n int) string {
	text := say.Count(n, "finding") + " that forbid"
	switch n {
	case 0:
		text = "nothing forbids it"
	case 1:
		text = "1 finding that forbids"
	}
	switch by := n - m.forbids; {
	case by == 0:
		return text + ", as now"
	case by < 0:
		return fmt.Sprintf("%s, %d fewer than now", text, -by)
	default:
		return fmt.Sprintf("%s, %d more than now", text, by)
	}
}

// plainReason is why there is no answer, without the place in a text that nobody has
// seen.
func plainReason(err error) string {
	var complaints source.Errors
	if errors.As(err, &complaints) && len(complaints) > 0 {
		return complaints[0].Problem
	}
	return err.Error()
}
