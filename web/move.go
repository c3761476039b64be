package web

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"rollwright/exact"
	"rollwright/music/perform"
	"rollwright/music/piece"
	"rollwright/text/blocks"
)

// moving asks for the text in which a grip lies elsewhere.
type moving struct {
	Name  string  `json:"name"`
	Text  string  `json:"text"` // in which the grip lies where it was taken
	Voice int     `json:"voice"`
	Grip  string  `json:"grip"`  // its id
	By    float64 `json:"by"`    // seconds of the paper
	Steps int     `json:"steps"` // so many stops further from there: later, or earlier where it is negative
	Reach float64 `json:"reach"` // seconds within which ends of other voices and the like draw it
	Loose bool    `json:"loose"` // between the stops, too
}

// moved is such a text.
type moved struct {
	Splice splice  `json:"splice"`
	Attr   string  `json:"attr"`
	Value  string  `json:"value"`
	Stop   string  `json:"stop"` // what it stops at: one of the words of stopKind
	By     float64 `json:"by"`   // to where the stops were counted
	Sec    float64 `json:"sec"`  // where it lies now
}

// asking is where a grip is wanted.
type asking struct {
	toSec, reachSec float64
	loose           bool
}

// stop is a way to write where a grip lies.
type stop struct {
	attr  string // empty: the grip's own
	value string
	kind  stopKind
}

// stopKind says what a grip stops at.
type stopKind string

// The kinds of stop.
const (
	atUnit      stopKind = "unit"
	atTenth     stopKind = "tenth"
	atBar       stopKind = "bar"
	atVoice     stopKind = "voice" // where another one begins or ends
	atNote      stopKind = "note"
	atStatement stopKind = "statement"
	atShare     stopKind = "share"
	atComplete  stopKind = "complete"
	between     stopKind = "between"
)

var one = exact.Frac(1, 1)

// mostSteps bounds how far the next stop is looked for.
const mostSteps = 400

// move says what has to be written for a grip to lie elsewhere: as near as what it stops
// at lets it, and so that the text still is a piece.
func (s *Server) move(ctx context.Context, in moving) (*moved, error) {
	if math.IsNaN(in.By) || math.Abs(in.By) > 1e7 {
		return nil, &refusal{http.StatusBadRequest, "there is no such place on the paper"}
	}
	job, err := s.jobOf(ctx, &in.Name, in.Text)
	if err != nil {
		return nil, err
	}
	gone := &refusal{http.StatusNotFound, "this cannot be moved any more"}
	hand := handOn(job, in.Voice)
	if hand == nil {
		return nil, gone
	}
	grips := hand.grips(in.Voice)
	i := slices.IndexFunc(grips, func(g grip) bool { return g.ID == in.Grip })
	if i < 0 {
		return nil, gone
	}
	g := &grips[i]
	by := in.By
	if in.Steps != 0 {
		by = g.stepped(in)
	}
	err = gone
	for _, st := range g.stops(asking{g.Sec + by, in.Reach, in.Loose}) {
		var out *moved
		if out, err = s.moveTo(ctx, in, g, st); err == nil {
			out.By = by
			return out, nil
		}
		if ctx.Err() != nil {
			return nil, ctx.Err()
		}
	}
	return &moved{Splice: unwritable(err), By: by, Sec: g.Sec}, nil
}

// stepped is by how much a grip has to be moved to come so many stops further.
func (g *grip) stepped(in moving) float64 {
	by := in.By
	value := func() string {
		stops := g.stops(asking{g.Sec + by, 0, in.Loose})
		if len(stops) == 0 {
			return ""
		}
		return stops[0].attr + " " + stops[0].value
	}
	way := 1.0
	if in.Steps < 0 {
		way = -1
	}
	for range min(max(in.Steps, -in.Steps), 100) {
		before, from := value(), by
		step := 0.001
		for n := 0; n < mostSteps && value() == before; n++ {
			by = from + way*step
			step *= 1.06
		}
	}
	return by
}

// moveTo writes one stop and performs what comes of it.
func (s *Server) moveTo(ctx context.Context, in moving, g *grip, st stop) (*moved, error) {
	attr := g.Attr
	text := []byte(in.Text)
	var err error
	if st.attr != "" && st.attr != g.Attr { // a gap becomes an overlap, or the other way round
		if text, err = blocks.Remove(text, g.path, g.Attr); err != nil && g.Value != "" {
			return nil, err
		} else if err != nil {
			text = []byte(in.Text)
		}
		attr = st.attr
	}
	out := &moved{Attr: attr, Value: st.value, Stop: string(st.kind), Sec: g.Sec}
	if st.value == g.Value && attr == g.Attr {
		out.Splice = spliceOf(in.Text, in.Text)
		return out, nil
	}
	value := st.value
	if g.quoted && attr == g.Attr {
		value = quoted(value)
	}
	if text, err = assign(text, g.path, attr, value); err != nil {
		return nil, err
	}
	job, err := s.desk.job(ctx, asked{name: in.Name, text: string(text)})
	if err != nil {
		return nil, err
	}
	if hand := handOn(job, in.Voice); hand != nil {
		for _, now := range hand.grips(in.Voice) {
			if now.ID == g.ID {
				out.Sec = now.Sec
			}
		}
	}
	out.Splice = spliceOf(in.Text, string(text))
	out.Splice.Label = strings.TrimSpace(fmt.Sprintf("%s = %s %s", attr, st.value, where(g)))
	return out, nil
}

// where says whose attribute a grip changes.
func where(g *grip) string {
	switch {
	case g.Kind == meetingPoint:
		return "in canon " + g.Of
	case g.Kind == startOfSection:
		return "in section " + g.Of
	case g.Of == "":
		return "in the piece"
	case g.Kind == endOfLeg:
		return fmt.Sprintf("of leg %d in %s", g.Leg, g.Of)
	}
	return "in voice " + g.Of
}

// moment is a time as a text says it: of seconds and units, after or with something.
type moment struct {
	sec, units float64
	ref        string // "after low"; empty: the start of what it stands in
}

// moments are the stops of a grip whose attribute is a time. Written in seconds it stops
// at tenths of them, after "bar" at bars, else at whole units of the piece; in between a
// millisecond is the least step.
func (h *hand) moments(now moment, raw string, nominal func(float64) float64, atSec float64) func(asking) []stop {
	inBars := strings.HasPrefix(raw, "bar ")
	inUnits := raw == "" || strings.Contains(raw, "unit") || now.ref != "" && now.sec == 0
	base := now.sec + now.units*h.unit
	return func(a asking) []stop {
		by := nominal(a.toSec) - nominal(atSec)
		want := base + by
		var st stop
		switch {
		case a.loose:
			st.value, st.kind = join(now.ref, round(want, 0.001), "s"), between
		case inBars:
			st.value, st.kind = h.bar(want), atBar
		case inUnits:
			st.value, st.kind = join(now.ref, math.Round(want/h.unit), "units"), atUnit
		default:
			st.value, st.kind = join(now.ref, round(want, 0.1), "s"), atTenth
		}
		if st.value == "" {
			return nil
		}
		return []stop{st}
	}
}

// bar is the bar of the piece that begins nearest to a time in its nominal seconds.
func (h *hand) bar(sec float64) string {
	best, number := math.Inf(1), 0
	for n, at := range h.p.Bar.Starts() {
		off := math.Abs(at.Float64()*h.unit - sec)
		if n > 0 && off < best {
			best, number = off, n
		}
		if at.Float64()*h.unit > sec && n > 0 {
			break
		}
	}
	if number == 0 {
		return ""
	}
	return fmt.Sprintf("bar %d", number)
}

// join is a time, or something with a time before or behind it.
func join(ref string, x float64, unit string) string {
	switch {
	case ref == "":
		return plainNumber(x) + " " + unit
	case x == 0:
		return ref
	case x < 0:
		return ref + " - " + plainNumber(-x) + " " + unit
	}
	return ref + " + " + plainNumber(x) + " " + unit
}

func plainNumber(x float64) string {
	if x == 0 {
		return "0" // never -0
	}
	return strconv.FormatFloat(x, 'f', -1, 64)
}

// round is x to the nearest multiple of a step that is a power of ten.
func round(x, step float64) float64 {
	per := math.Round(1 / step)
	return math.Round(x*per) / per
}

// drawn are the stops of the start of a voice, with those at which another voice begins
// or ends: these come first where they are near.
func (h *hand) drawn(v *piece.Voice, l *perform.Line, others func(asking) []stop) func(asking) []stop {
	type magnet struct {
		sec   float64
		value string
	}
	var all []magnet
	for i, o := range h.job.Performance.Lines {
		w := &h.p.Voices[i]
		if w.Name == v.Name || w.Section != v.Section || o.Frame != l.Frame {
			continue
		}
		all = append(all, magnet{o.StartSec, "with " + w.Name}, magnet{o.EndSec, "after " + w.Name})
	}
	return func(a asking) []stop {
		var near []magnet
		for _, m := range all {
			if !a.loose && a.reachSec > 0 && math.Abs(m.sec-a.toSec) <= a.reachSec {
				near = append(near, m)
			}
		}
		slices.SortStableFunc(near, func(m, n magnet) int {
			return cmp.Compare(math.Abs(m.sec-a.toSec), math.Abs(n.sec-a.toSec))
		})
		var out []stop
		for _, m := range near[:min(len(near), 2)] {
			out = append(out, stop{value: m.value, kind: atVoice})
		}
		return append(out, others(a)...)
	}
}

// lengthStops are those of a length in units or seconds, which is positive.
func lengthStops(x float64, isTime bool, a asking) []stop {
	unit, kind, step := "", atUnit, 1.0
	if isTime {
		unit, kind, step = " s", atTenth, 0.1
	}
	if a.loose {
		kind, step = between, step/100
	}
	x = max(round(x, step), step)
	return []stop{{value: plainNumber(x) + unit, kind: kind}}
}

// end is the grip at the end of a voice: its extent, or how long it lasts.
func (h *hand) end(v *piece.Voice, l *perform.Line, path []string) *grip {
	if v.Unknown.Kind != piece.NoUnknown || l.Notes == 0 {
		return nil
	}
	g := &grip{ID: "end " + v.Name, Kind: endOfVoice, Of: v.Name, Sec: l.EndSec, Attr: "extent", path: path}
	length := l.EndSec - l.StartSec
	if v.Lasts.Set && h.written(path, "lasts") != "" && v.Lasts.Sec.Sign() > 0 {
		g.Attr = "lasts"
		lasts := v.Lasts.Sec.Float64()
		g.stops = func(a asking) []stop { return lengthStops(lasts*(a.toSec-l.StartSec)/length, true, a) }
		return g
	}
	g.stops = func(a asking) []stop { return extents(v, l, a) }
	return g
}

// extents are the stops of an extent, in the words in which it is written: notes where
// it says nothing, or a word that moves with something else.
func extents(v *piece.Voice, l *perform.Line, a asking) []stop {
	units := max(l.UnitsAt(a.toSec), 0)
	notes := notesIn(l, units)
	count := func(n int, word string, kind stopKind) []stop {
		return []stop{{value: fmt.Sprintf("%d %s", max(n, 1), word), kind: kind}}
	}
	if c := completeOf(v); c != nil && !a.loose && v.Extent.Kind == piece.Complete && c.Notes == notes {
		return []stop{{value: "complete", kind: atComplete}}
	}
	switch v.Extent.Kind {
	case piece.Taleae:
		if !a.loose {
			return count(statements(units, l, v.Extent.Count), "taleae", atStatement)
		}
	case piece.Colores:
		if !a.loose {
			return count(statements(units, l, v.Extent.Count), "colores", atStatement)
		}
	case piece.Seconds:
		return lengthStops(a.toSec-l.StartSec, true, a)
	case piece.Units:
		word := " units"
		x := math.Round(units)
		kind := atUnit
		if a.loose {
			x, kind = round(units, 0.01), between
		}
		x = max(x, 0.01)
		if v.Extent.Exact || a.loose {
			return []stop{{value: "exactly " + plainNumber(x) + word, kind: kind}}
		}
		return []stop{{value: plainNumber(x) + word, kind: kind}}
	case piece.Notes:
		if a.loose {
			return []stop{{value: "exactly " + plainNumber(max(round(units, 0.01), 0.01)) + " units", kind: between}}
		}
	}
	return count(notes, "notes", atNote)
}

// statements is how many statements of a cycle there are in so many units, when there
// are count of them in the line.
func statements(units float64, l *perform.Line, count int) int {
	return int(math.Round(units * float64(count) / l.Length))
}

// notesIn is how many notes of a line end nearest to a place: those beyond its end are
// counted as they would go on.
func notesIn(l *perform.Line, units float64) int {
	best, found := math.Inf(1), 1
	see := func(n int, end float64) bool {
		off := math.Abs(end - units)
		if off < best {
			best, found = off, n
		}
		return end < units
	}
	if units <= l.Length {
		for it := range l.All() {
			if it.Note > 0 && !see(it.Note, it.At+it.Units) {
				break
			}
		}
		return found
	}
	lattice, ok := l.Lattice()
	if !ok {
		return max(1, int(math.Round(float64(l.Notes)*units/l.Length)))
	}
	step := lattice.Step().Float64()
	see(l.Notes, l.Length)
	for n, at := range lattice.Beyond() {
		if n-1 > l.Notes && !see(n-1, float64(at)*step) || n > l.Notes+1_000_000 {
			return found
		}
	}
	if best > 0 && found == l.Notes { // it has no end in whole numbers, or goes backward
		return max(1, int(math.Round(float64(l.Notes)*units/l.Length)))
	}
	return found
}

// points are the stops of the meeting point of a canon that begins as early as it can:
// the instant moves with the point, by the voice that is longest on its way to it.
func points(now piece.Point, lines []*perform.Line, atSec float64) func(asking) []stop {
	when := func(p piece.Point) float64 {
		most := math.Inf(-1)
		for _, l := range lines {
			in, err := l.At(p)
			if err != nil {
				return math.Inf(1)
			}
			most = max(most, in.Sec-l.StartSec)
		}
		return most
	}
	base := when(now)
	notes := lines[0].Notes
	for _, l := range lines {
		notes = min(notes, l.Notes)
	}
	return func(a asking) []stop {
		want := base + a.toSec - atSec
		near := func(p piece.Point) float64 { return math.Abs(when(p) - want) }
		switch {
		case now.Kind == piece.AtShare || a.loose && now.Kind != piece.AtUnit:
			return shareStops(near, a.loose)
		case now.Kind == piece.AtUnit:
			return unitStops(when, want, a.loose)
		}
		n := lowest(1, notes, func(n int) bool { return when(piece.Point{Kind: piece.AtNote, N: n}) >= want })
		if n > 1 && near(piece.Point{Kind: piece.AtNote, N: n - 1}) <= near(piece.Point{Kind: piece.AtNote, N: n}) {
			n--
		}
		word := fmt.Sprintf("note %d", n)
		note := near(piece.Point{Kind: piece.AtNote, N: n})
		if near(piece.Point{Kind: piece.AtEnd}) < note {
			word = "end"
		} else if near(piece.Point{Kind: piece.AtStart}) <= note && n == 1 {
			word = "start"
		}
		return []stop{{value: word, kind: atNote}}
	}
}

// lowest is the first number of a range for which a test holds, or the last one.
func lowest(from, to int, holds func(int) bool) int {
	for from < to {
		if middle := (from + to) / 2; holds(middle) {
			to = middle
		} else {
			from = middle + 1
		}
	}
	return from
}

// shareStops are a share of the length: parts that are said in one breath, or thousandths.
func shareStops(near func(piece.Point) float64, loose bool) []stop {
	best, value := math.Inf(1), ""
	see := func(num, den int64) {
		x := exact.NewRat(num, den)
		if off := near(piece.Point{Kind: piece.AtShare, X: x}); off < best {
			best, value = off, x.String()
		}
	}
	if loose {
		for n := range int64(1001) {
			see(n, 1000)
		}
		return []stop{{value: value, kind: between}}
	}
	for _, den := range []int64{1, 2, 3, 4, 5, 6, 8, 9, 10, 12, 16} {
		for num := range den + 1 {
			see(num, den)
		}
	}
	return []stop{{value: value, kind: atShare}}
}

// unitStops are a place in units from the start, whole ones or hundredths.
func unitStops(when func(piece.Point) float64, want float64, loose bool) []stop {
	per, kind := int64(1), atUnit
	if loose {
		per, kind = 100, between
	}
	at := func(n int) piece.Point { return piece.Point{Kind: piece.AtUnit, X: exact.NewRat(int64(n), per)} }
	n := lowest(0, int(1_000_000*per), func(n int) bool { return when(at(n)) >= want })
	if n > 0 && math.Abs(when(at(n-1))-want) <= math.Abs(when(at(n))-want) {
		n--
	}
	return []stop{{value: "unit " + at(n).X.String(), kind: kind}}
}
