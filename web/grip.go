package web

import (
	"context"
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"rollwright/exact"
	"rollwright/music/perform"
	"rollwright/music/piece"
	"rollwright/music/piecefile"
	paths "rollwright/music/tempo"
	"rollwright/text/blocks"
	"rollwright/workshop"
)

// gripRoutes are those of what can be moved on the paper.
func gripRoutes(s *Server) map[string]http.HandlerFunc {
	return map[string]http.HandlerFunc{"POST /api/grips": post(s.grips), "POST /api/move": post(s.move)}
}

// grip is a place of the paper that can be taken hold of: when it is moved along its
// time, one attribute of the text changes.
type grip struct {
	ID    string   `json:"id"`
	Kind  gripKind `json:"kind"`
	Of    string   `json:"of"`  // the voice, canon or section; empty: the piece
	Leg   int      `json:"leg"` // of a tempo path, from 1; else 0
	Sec   float64  `json:"sec"`
	Attr  string   `json:"attr"`
	Value string   `json:"value"` // as it is written; empty: it is not

	path   []string
	quoted bool                // as it is written
	stops  func(asking) []stop // of how it may be written, what is wanted most first
}

// gripKind says what a grip is at.
type gripKind string

// The kinds of grip.
const (
	startOfVoice   gripKind = "start"
	endOfVoice     gripKind = "end"
	meetingPoint   gripKind = "meet"
	startOfSection gripKind = "section"
	endOfLeg       gripKind = "leg"
)

// gripsAsked asks what can be moved.
type gripsAsked struct {
	ID    string `json:"id"` // of the work
	Voice int    `json:"voice"`
}

// gripsFound is what can be moved of a voice, and of what it stands in.
type gripsFound struct {
	Grips []grip `json:"grips"`
}

// grips lists what can be moved: nothing in a text that is not at hand any more.
func (s *Server) grips(_ context.Context, in gripsAsked) (*gripsFound, error) {
	out := &gripsFound{Grips: []grip{}}
	if h := handOn(s.desk.performed(in.ID), in.Voice); h != nil {
		out.Grips = append(out.Grips, h.grips(in.Voice)...)
	}
	return out, nil
}

// hasVoice reports whether a job, which may be nil, is of a piece with so many voices.
func hasVoice(job *workshop.Job, voice int) bool {
	return job != nil && job.Piece != nil && voice >= 0 && voice < len(job.Piece.Voices)
}

// hand looks for what it can take hold of in a piece.
type hand struct {
	job  *workshop.Job
	p    *piece.Piece
	body *blocks.Body
	unit float64 // of the piece, seconds of nominal time
}

// handOn is nil where there is no such voice, or a text without blocks.
func handOn(job *workshop.Job, voice int) *hand {
	if !hasVoice(job, voice) {
		return nil
	}
	body, errs := blocks.Parse(job.File, blocks.Options{})
	if errs.Err() != nil {
		return nil
	}
	p := job.Performance.Piece
	return &hand{job, p, body, p.SecondsPerUnit().Float64()}
}

// raw is an attribute as it is written in the block at a path, without quotes, and
// whether it has some; empty: it is not written.
func (h *hand) raw(path []string, attr string) (text string, inQuotes bool) {
	body := h.bodyAt(path)
	if body == nil {
		return "", false
	}
	a := body.Get(attr)
	if a == nil {
		return "", false
	}
	text = strings.Trim(a.Raw(), `"`)
	return text, text != a.Raw()
}

func (h *hand) written(path []string, attr string) string {
	text, _ := h.raw(path, attr)
	return text
}

func (h *hand) bodyAt(path []string) *blocks.Body {
	if len(path) == 0 {
		return h.body
	}
	if b := blockAt(h.body, path); b != nil {
		return b.Body
	}
	return nil
}

// grips are those of a voice, of its canon and section, and of the piece.
func (h *hand) grips(voice int) []grip {
	v, l := &h.p.Voices[voice], h.job.Performance.Lines[voice]
	var out []grip
	add := func(g *grip) {
		if g != nil {
			g.Value, g.quoted = h.raw(g.path, g.Attr)
			out = append(out, *g)
		}
	}
	if path := h.own(v.Name); path != nil {
		add(h.start(v, l, path))
		add(h.end(v, l, path))
		for _, g := range h.legs(voice, path) {
			add(&g)
		}
	}
	if v.Canon >= 0 {
		add(h.meeting(&h.p.Canons[v.Canon]))
	}
	if v.Section >= 0 {
		add(h.section(v.Section))
		for _, g := range h.sectionLegs(v.Section) {
			add(&g)
		}
	}
	for _, g := range h.pieceLegs() {
		add(&g)
	}
	return out
}

// own is the path of a voice that has a block of its own, and not one that a section
// has copied: a change there would be one of all copies.
func (h *hand) own(name string) []string {
	path, err := piecefile.Path(h.job.File, name)
	if err != nil || len(path) == 0 {
		return nil
	}
	b := blockAt(h.body, path)
	if b == nil || b.Label(0) != name {
		return nil
	}
	return path
}

// start is the grip at the start of a voice: where what is written says when it begins.
func (h *hand) start(v *piece.Voice, l *perform.Line, path []string) *grip {
	if v.Unknown.Kind != piece.NoUnknown || len(v.Conditions) > 0 {
		return nil
	}
	g := &grip{ID: "start " + v.Name, Kind: startOfVoice, Of: v.Name, Sec: l.StartSec, Attr: "start", path: path}
	now := moment{sec: v.Place.At.Float64(), units: v.Place.Units.Float64()}
	magnets := true
	switch v.Place.Kind {
	case piece.InCanon:
		g.Attr, magnets = "later", false
		now.sec, now.units = v.Place.LaterSec.Float64(), v.Place.LaterUnits.Float64()
	case piece.MeetWith:
		g.path, g.Attr, magnets = append(slices.Clone(path), "meet"), "later", false
		now.sec, now.units = v.Place.LaterSec.Float64(), v.Place.LaterUnits.Float64()
	case piece.MeetAt:
		g.path, g.Attr, magnets = append(slices.Clone(path), "meet"), "at", false
	case piece.After:
		now.ref = "after " + h.named(v.Place.Ref)
	case piece.With:
		now.ref = "with " + h.named(v.Place.Ref)
	}
	if len(g.path) > len(path) && h.bodyAt(g.path) == nil {
		return nil // it stands where the block is like another
	}
	g.stops = h.moments(now, h.written(g.path, g.Attr), h.nominal(l, v.Section), g.Sec)
	if magnets {
		g.stops = h.drawn(v, l, g.stops)
	}
	return g
}

func (h *hand) named(r piece.Ref) string {
	if r.Voice >= 0 {
		return h.p.Voices[r.Voice].Name
	}
	return h.p.Canons[r.Canon].Name
}

// nominal are seconds as the text counts them at a time of the paper, up to a constant.
func (h *hand) nominal(l *perform.Line, section int) func(sec float64) float64 {
	speed := 1.0
	if section >= 0 {
		if s := h.p.Sections[section].Speed.Float64(); s > 0 {
			speed = s
		}
	}
	return func(sec float64) float64 { return l.Nominal(sec) * speed }
}

// meeting is the grip at the meeting point of a canon: where that is at a time that is
// written, it is the time that moves, else the point.
func (h *hand) meeting(c *piece.Canon) *grip {
	path := h.own(c.Name)
	if c.Crosses() || path == nil || len(c.Voices) == 0 {
		return nil
	}
	lines := make([]*perform.Line, len(c.Voices))
	for i, v := range c.Voices {
		lines[i] = h.job.Performance.Lines[v]
	}
	at, err := lines[0].At(c.Meet)
	if err != nil {
		return nil
	}
	later := h.p.Voices[c.Voices[0]].Place
	g := &grip{ID: "meet " + c.Name, Kind: meetingPoint, Of: c.Name, Attr: "meet", path: path,
		Sec: at.Sec - later.LaterSec.Float64() - later.LaterUnits.Float64()*h.unit}
	if c.HasAt {
		g.Attr = "at"
		now := moment{sec: c.At.Float64(), units: c.Units.Float64()}
		g.stops = h.moments(now, h.written(path, "at"), h.nominal(lines[0], c.Section), g.Sec)
		return g
	}
	g.stops = points(c.Meet, lines, g.Sec)
	return g
}

// section is the grip at the start of a section: its start where one is written, or
// where no section is before it; else the gap.
func (h *hand) section(n int) *grip {
	s := &h.p.Sections[n]
	path := h.sectionPath(s.Name)
	if path == nil {
		return nil
	}
	g := &grip{ID: "section " + s.Name, Kind: startOfSection, Of: s.Name, Sec: h.job.Performance.Sections[n].StartSec,
		Attr: "start", path: path}
	if s.HasStart || n == 0 {
		now := moment{sec: s.Start.Float64(), units: s.StartUnits.Float64()}
		g.stops = h.moments(now, h.written(path, g.Attr), h.pieceTime(), g.Sec)
		return g
	}
	g.Attr = "gap"
	if s.Overlap.Sign() > 0 {
		g.Attr = "overlap"
	}
	now := moment{sec: s.GapSec.Float64() - s.Overlap.Float64(), units: s.GapUnits.Float64()}
	later := h.moments(now, h.written(path, g.Attr), h.pieceTime(), g.Sec)
	g.stops = func(a asking) []stop {
		stops := later(a)
		for i := range stops {
			value, earlier := strings.CutPrefix(stops[i].value, "-")
			stops[i].attr, stops[i].value = "gap", value
			if number, isUnits := strings.CutSuffix(value, " units"); earlier && isUnits { // an overlap is a time
				units, _ := strconv.ParseFloat(number, 64)
				stops[i].value, stops[i].kind = plainNumber(round(units*h.unit, 0.001))+" s", between
			}
			if earlier {
				stops[i].attr = "overlap"
			}
		}
		return stops
	}
	return g
}

// pieceTime are seconds of the piece's own nominal time, up to a constant.
func (h *hand) pieceTime() func(float64) float64 {
	for _, l := range h.job.Performance.Lines {
		if l.Frame == -1 {
			return l.Nominal
		}
	}
	return func(sec float64) float64 { return sec }
}

func (h *hand) sectionPath(name string) []string {
	path := []string{stepOf("section "+name, 1)}
	if blockAt(h.body, path) == nil {
		return nil
	}
	return path
}

// legs are the grips at the ends of the legs of a voice's own tempo path.
func (h *hand) legs(voice int, path []string) []grip {
	l := h.job.Performance.Lines[voice]
	speed := 1.0
	for _, leg := range h.p.Voices[voice].Path {
		if leg.OverSec.Sign() > 0 && l.Speed.Float64() > 0 { // seconds of a leg are at speed 1
			speed = l.Speed.Float64()
		}
	}
	units := 0.0
	var ends []float64
	for _, leg := range h.p.Voices[voice].Path {
		if leg.OverSec.Sign() > 0 {
			units = l.Path.Units(l.Path.Seconds(units) + leg.OverSec.Float64()/speed)
		}
		units += leg.OverUnits.Float64()
		ends = append(ends, l.SecondsAt(units))
	}
	return h.legGrips("leg", h.p.Voices[voice].Name, path, h.p.Voices[voice].Path, l.StartSec, ends)
}

// pathEnds are when the legs of a path end that bends the time of the piece or of a
// section, in seconds from its 0.
func pathEnds(legs []piece.Leg, before float64, path *paths.Path) []float64 {
	units := 0.0
	var ends []float64
	for _, leg := range legs {
		if leg.OverSec.Sign() > 0 {
			units = path.Units(path.Seconds(units) + leg.OverSec.Float64())
		}
		units += leg.OverUnits.Float64()
		ends = append(ends, before+path.Seconds(units))
	}
	return ends
}

func (h *hand) pieceLegs() []grip {
	path, err := paths.New(tempoLegs(h.p.Path), h.p.Tempo, h.unitOf(), one)
	if len(h.p.Path) == 0 || err != nil {
		return nil
	}
	begins := h.job.Performance.ShiftSec
	return h.legGrips("piece leg", "", nil, h.p.Path, begins, pathEnds(h.p.Path, begins, path))
}

// sectionLegs are those of a section's own path; under a path of the piece they lie
// where that bends them to, and are not offered.
func (h *hand) sectionLegs(n int) []grip {
	s := &h.p.Sections[n]
	path, err := paths.New(tempoLegs(s.Path), s.Tempo, h.unitOf(), s.Speed)
	if len(s.Path) == 0 || err != nil || len(h.p.Path) > 0 || h.sectionPath(s.Name) == nil {
		return nil
	}
	begins := h.job.Performance.Sections[n].StartSec
	return h.legGrips("section leg", s.Name, h.sectionPath(s.Name), s.Path, begins, pathEnds(s.Path, begins, path))
}

func (h *hand) unitOf() exact.Rat {
	if h.p.Unit.Sign() == 0 {
		return piece.DefaultUnit
	}
	return h.p.Unit
}

func tempoLegs(legs []piece.Leg) []paths.Leg {
	out := make([]paths.Leg, len(legs))
	for i, l := range legs {
		out[i] = paths.Leg{From: l.From, To: l.To, HasFrom: l.HasFrom, HasTo: l.HasTo, OverUnits: l.OverUnits,
			OverSec: l.OverSec, Shape: paths.Shape(l.Shape)}
	}
	return out
}

// legGrips are those of the legs of a path that is written in the block at a path of the
// text. A leg's time grows with its length in the same ratio, whatever its shape.
func (h *hand) legGrips(id, of string, path []string, legs []piece.Leg, begins float64, ends []float64) []grip {
	var out []grip
	from := begins
	for i, leg := range legs {
		step := append(slices.Clone(path), "tempo_path", stepOf("leg", i+1))
		if blockAt(h.body, step) == nil {
			return nil // it stands where the block is like another
		}
		begin, end := from, ends[i]
		from = end
		if end <= begin {
			continue
		}
		g := grip{ID: fmt.Sprintf("%s %d %s", id, i+1, of), Kind: endOfLeg, Of: of,
			Leg: i + 1, Sec: end, Attr: "over", path: step}
		isTime := leg.OverSec.Sign() > 0
		over := leg.OverUnits.Float64() + leg.OverSec.Float64()
		g.stops = func(a asking) []stop { return lengthStops(over*(a.toSec-begin)/(end-begin), isTime, a) }
		out = append(out, g)
	}
	return out
}
