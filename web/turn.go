package web

import (
	"context"
	"fmt"
	"math"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"rollwright/exact"
	"rollwright/music/ear"
	"rollwright/music/perform"
	"rollwright/music/piece"
	"rollwright/music/simple"
	"rollwright/paper/survey"
)

// turnRoutes are those of numbers that are tried.
func turnRoutes(s *Server) map[string]http.HandlerFunc {
	return map[string]http.HandlerFunc{"POST /api/turns": post(s.turns), "POST /api/effects": post(s.effects),
		"POST /api/survey": post(s.survey)}
}

// turn is a number of the text that can be turned.
type turn struct {
	ID     string     `json:"id"`
	Of     string     `json:"of"`   // the voice or canon; empty: the piece
	Path   []string   `json:"path"` // where it stands, as /api/set wants it
	Attr   string     `json:"attr"`
	Before string     `json:"before"` // what stands before and after it in the value
	After  string     `json:"after"`
	Value  string     `json:"value"` // as it is written, or what holds
	Now    float64    `json:"now"`
	Low    float64    `json:"low"`
	High   float64    `json:"high"`
	Ratio  bool       `json:"ratio"`  // equal ratios are equal ways
	Places int        `json:"places"` // decimals between the stops
	Stops  []turnStop `json:"stops"`  // ascending
	Survey string     `json:"survey"` // the number as a survey calls it; empty: it cannot
}

// turnStop is a number at which it stops.
type turnStop struct {
	Value string  `json:"value"`
	At    float64 `json:"at"`
}

// turnsFound are the numbers of a voice, and of what it stands in.
type turnsFound struct {
	Turns []turn `json:"turns"`
}

// How far a number is turned, and how simple its stops are: as many as a hand can tell
// apart on the way.
const (
	widestRatio = 4 // times as much, or as little
	plainest    = 16
)

// turns lists what can be turned: nothing in a text that is not at hand any more.
func (s *Server) turns(_ context.Context, in gripsAsked) (*turnsFound, error) {
	out := &turnsFound{Turns: []turn{}}
	h := handOn(s.desk.performed(in.ID), in.Voice)
	if h == nil {
		return out, nil
	}
	v, l := &h.p.Voices[in.Voice], h.job.Performance.Lines[in.Voice]
	own := h.own(v.Name)
	add := func(t turn) {
		t.Stops = stopsOf(&t)
		out.Turns = append(out.Turns, t)
	}
	if own != nil && v.Unknown.Kind == piece.NoUnknown {
		for _, t := range h.numbers(v, l, own) {
			add(t)
		}
	}
	if v.Canon >= 0 {
		if t, ok := h.proportion(&h.p.Canons[v.Canon], in.Voice); ok {
			add(t)
		}
	}
	tempo := h.written(nil, "tempo")
	if x := h.p.Tempo.Float64(); x > 0 && len(h.p.Path) == 0 {
		add(turn{ID: "piece tempo", Path: []string{}, Attr: "tempo", Value: orText(tempo, perform.Decimal(h.p.Tempo)), Now: x,
			Low: x / widestRatio, High: x * widestRatio, Ratio: true, Places: 1})
	}
	return out, nil
}

func orText(text, other string) string {
	if text == "" {
		return other
	}
	return text
}

// numbers are those of a voice's own block.
func (h *hand) numbers(v *piece.Voice, l *perform.Line, own []string) []turn {
	var out []turn
	one := func(attr string, x exact.Real, places int, canSurvey bool) {
		now := x.Float64()
		t := turn{ID: v.Name + " " + attr, Of: v.Name, Path: own, Attr: attr, Value: orText(h.written(own, attr), x.String()),
			Now: now, Low: now / widestRatio, High: now * widestRatio, Ratio: true, Places: places}
		if canSurvey {
			t.Survey = v.Name + "." + attr
		}
		out = append(out, t)
	}
	lasts := v.Lasts.Set || v.Canon >= 0 && h.p.Canons[v.Canon].Lasts.Set
	proportioned := v.Canon >= 0 && h.written(h.own(h.p.Canons[v.Canon].Name), "speeds") != ""
	if !lasts && !proportioned && l.SpeedExact {
		one("speed", v.Speed, 3, true)
	}
	if len(v.Path) == 0 && v.Tempo.Float64() > 0 && !lasts && h.written(own, "tempo") != "" {
		one("tempo", v.Tempo, 1, true)
	}
	if len(v.PerTalea.Stretch) == 0 {
		one("stretch", orOne(v.Stretch), 3, true)
	}
	semitones := v.Transpose
	if v.Section >= 0 {
		semitones = 0 // the section's share is in it: what is written counts
		if n, err := strconv.Atoi(h.written(own, "transpose")); err == nil {
			semitones = n
		}
	}
	return append(out, turn{ID: v.Name + " transpose", Of: v.Name, Path: own, Attr: "transpose",
		Value: orText(h.written(own, "transpose"), strconv.Itoa(semitones)), Now: float64(semitones),
		Low: float64(semitones - 24), High: float64(semitones + 24)})
}

func orOne(x exact.Real) exact.Real {
	if x.Float64() == 0 {
		return exact.Frac(1, 1)
	}
	return x
}

// proportion is the member of a canon's speeds that belongs to a voice.
func (h *hand) proportion(c *piece.Canon, voice int) (turn, bool) {
	path := h.own(c.Name)
	speeds := h.written(path, "speeds")
	parts := strings.Split(speeds, ":")
	n := slices.Index(c.Voices, voice)
	if path == nil || speeds == "" || n < 0 || len(parts) != len(c.Voices) {
		return turn{}, false
	}
	x, err := exact.Parse(strings.TrimSpace(parts[n]))
	if err != nil {
		return turn{}, false
	}
	value := strings.TrimSpace(parts[n])
	at := len(strings.Join(parts[:n], ":")) + min(n, 1)
	at += strings.Index(parts[n], value)
	now := x.Float64()
	return turn{ID: c.Name + " speeds", Of: c.Name, Path: path, Attr: "speeds", Before: speeds[:at],
		After: speeds[at+len(value):], Value: value, Now: now, Low: now / widestRatio, High: now * widestRatio, Ratio: true,
		Places: 3}, true
}

// stopsOf are the simple numbers on the way of a turn: whole semitones, tempos that are
// whole, ratios of small numbers, and the number that stands there.
func stopsOf(t *turn) []turnStop {
	out := []turnStop{}
	switch {
	case !t.Ratio:
		for n := math.Ceil(t.Low); n <= t.High; n++ {
			out = append(out, turnStop{plainNumber(n), n})
		}
		return out
	case t.Attr == "tempo":
		for _, n := range []float64{1, 2, 4, 5, 10, 20} {
			if (t.High-t.Low)/n > 60 {
				continue
			}
			for x := math.Ceil(t.Low/n) * n; x <= t.High; x += n {
				out = append(out, turnStop{plainNumber(x), x})
			}
			break
		}
	default:
		// Ratios to one: of a proportion they are ratios to whatever the others are.
		for _, n := range simple.Between(t.Low, t.High, plainest) {
			if _, plain := n.Value.Rat(); plain {
				out = append(out, turnStop{n.Value.String(), n.Decimal})
			}
		}
	}
	if !slices.ContainsFunc(out, func(s turnStop) bool { return math.Abs(s.At-t.Now) < 1e-9*t.Now }) {
		i, _ := slices.BinarySearchFunc(out, t.Now, func(s turnStop, x float64) int { return int(math.Copysign(1, s.At-x)) })
		out = slices.Insert(out, i, turnStop{t.Value, t.Now})
	}
	return out
}

// effects are what numbers do: of a voice and of the whole piece.
type effects struct {
	Gone     bool     `json:"gone"` // the text is not at hand any more
	Length   float64  `json:"lengthSec"`
	Meetings int      `json:"meetings"` // notes of the voice that begin with one of another voice
	Together int      `json:"together"` // notes that are heard to, those included
	ApartMS  float64  `json:"apartMS"`  // within which they are
	Closest  *float64 `json:"closestMS"`
	Hands    string   `json:"hands"` // what it takes at the bench; empty: not told
}

// effects answers with what a text that was worked on comes to.
func (s *Server) effects(ctx context.Context, in gripsAsked) (*effects, error) {
	job := s.desk.performed(in.ID)
	if !hasVoice(job, in.Voice) {
		return &effects{Gone: true}, nil
	}
	stand, err := s.desk.look(ctx)
	if err != nil {
		return nil, err
	}
	defer stand()
	out := &effects{Length: job.EndSec}
	err = safely(func() error {
		apart := ear.Published().OneSec
		row := survey.Count(job.Performance, in.Voice, apart)
		out.Meetings, out.Together, out.Closest, out.ApartMS = row.Meetings, row.Together, row.Closest, apart*1000
		out.Hands = job.Hands()
		return nil
	})
	return out, err
}

// surveying asks what each simple number of a range does.
type surveying struct {
	Name   string  `json:"name"`
	Text   string  `json:"text"`
	Number string  `json:"number"` // quick.speed
	From   float64 `json:"from"`
	To     float64 `json:"to"`
}

// surveyed is a row for each.
type surveyed struct {
	Problem string       `json:"problem,omitempty"`
	ApartMS float64      `json:"apartMS"`
	Rows    []survey.Row `json:"rows"`
}

// mostSurveyed bounds a survey: notes times numbers.
const mostSurveyed = 1_000_000

// survey tries every simple number of a range.
func (s *Server) survey(ctx context.Context, in surveying) (*surveyed, error) {
	job, err := s.jobOf(ctx, &in.Name, in.Text)
	if err != nil {
		return nil, err
	}
	out := &surveyed{ApartMS: ear.Published().OneSec * 1000, Rows: []survey.Row{}}
	if job.Piece == nil || !(in.From > 0 && in.From < in.To && in.To < 1e6) {
		out.Problem = "there is no such range"
		return out, nil
	}
	most := plainest
	for most > 4 && len(simple.Between(in.From, in.To, most))*max(job.Performance.Count, 1) > mostSurveyed {
		most -= 2
	}
	stand, err := s.desk.look(ctx)
	if err != nil {
		return nil, err
	}
	defer stand()
	span := fmt.Sprintf("%s to %s", plainNumber(round(in.From, 1e-6)), plainNumber(round(in.To, 1e-6)))
	rows, err := job.Survey(ctx, in.Number, span, most, out.ApartMS/1000)
	switch {
	case ctx.Err() != nil:
		return nil, ctx.Err()
	case err != nil:
		out.Problem = err.Error()
	default:
		out.Rows = rows
	}
	return out, nil
}
