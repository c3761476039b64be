package web

import (
	"cmp"
	"net/http"
	"slices"
	"sort"

	"rollwright/music/event"
	"rollwright/music/pitch"
	"rollwright/paper/instrument"
	"rollwright/paper/roll"
	"rollwright/workshop"
)

// stretch is a part of the arrays.
type stretch struct {
	From  int `json:"from"`
	Count int `json:"count"`
}

// piano is an instrument of the piece and its paper.
type piano struct {
	Name         string    `json:"name"`
	Instrument   string    `json:"instrument"`
	Title        string    `json:"title"`
	Hammers      string    `json:"hammers"`
	Tuning       string    `json:"tuning"` // as the page asks for notes
	RollTempo    float64   `json:"rollTempo"`
	Paper        paper     `json:"paper"`
	Ports        []port    `json:"ports"`
	Bar          opening   `json:"bar"`
	Die          float64   `json:"die"`
	Step         float64   `json:"step"`
	Transport    transport `json:"transport"`
	Slots        stretch   `json:"slots"`
	Once         int       `json:"once"`          // notes at one time, at most; 0 in a lean answer
	MaxOnce      int       `json:"maxOnce"`       // notes at one time that the wind serves
	StrokesASec  float64   `json:"strokesPerSec"` // of one key
	SingleSec    float64   `json:"singleSec"`     // how long one punch holds a port open, at the start
	DelaySec     float64   `json:"delaySec"`
	EndSec       float64   `json:"endSec"`
	EdgeShiftMM  float64   `json:"edgeShift"` // the port opens when the row so much after a leading edge is on its middle
	Bridged      bool      `json:"bridged"`
	SlotSpacing  float64   `json:"slotSpacing"`
	BridgeSpaces float64   `json:"bridgeSpacing"`
	OpenFirst    float64   `json:"openFirst"`
}

// paper is in millimetres; lengthMM has leader and trailer in it.
type paper struct {
	Width    float64 `json:"width"`
	Edge     float64 `json:"edge"`
	Leader   float64 `json:"leader"`
	Trailer  float64 `json:"trailer"`
	MusicMM  float64 `json:"musicMM"`
	LengthMM float64 `json:"lengthMM"`
	Bass     string  `json:"bass"`   // left, right
	Travel   string  `json:"travel"` // down, up
}

type port struct {
	Across float64 `json:"across"`
	Role   string  `json:"role"`
	Key    int     `json:"key"` // -1: not a note's
	Pitch  string  `json:"pitch"`
}

type opening struct {
	Height float64 `json:"height"`
	Width  float64 `json:"width"`
}

// transport is s = v0 t, and for a spool s = v0 t + thickness v0^2 t^2/(4 pi
// radius^2), in millimetres and seconds; instrument.Transport says how slowing
// changes it.
type transport struct {
	Spool     bool    `json:"spool"`
	V0        float64 `json:"v0"`
	Radius    float64 `json:"radius"`
	Thickness float64 `json:"thickness"`
	Slowing   float64 `json:"slowing,omitempty"` // of the motor, a millimetre of paper
}

func transportOf(t instrument.Transport) transport {
	return transport{t.Spool, t.SpeedMMPerSec(), t.RadiusMM, t.ThicknessMM, t.SlowingPerMM}
}

func pianosOf(job *workshop.Job, rolls []*roll.Roll) []piano {
	out := []piano{}
	from := 0
	for i, r := range rolls {
		p := pianoOf(job.Pianos[i], r, job.KeyNames())
		p.Tuning = job.Pianos[i].Tuning.Code()
		p.Slots = stretch{from, len(r.Slots)}
		from += len(r.Slots)
		out = append(out, p)
	}
	return out
}

// pianoOf is a piano with its roll; names are those of keys that the piece spells.
func pianoOf(p workshop.Piano, r *roll.Roll, names map[int]string) piano {
	in := r.Instrument
	t := in.Transport
	out := piano{
		Name: p.Name, Instrument: in.Name, Title: in.Title, Hammers: p.Hammers, RollTempo: t.RollTempo,
		Paper: paper{
			Width: in.Paper.WidthMM, Edge: in.Paper.EdgeMM, Leader: in.Paper.LeaderMM, Trailer: in.Paper.TrailerMM,
			MusicMM: r.MusicMM(), LengthMM: r.LengthMM(), Bass: "left", Travel: "down",
		},
		Bar: opening{in.Bar.HeightMM, in.Bar.WidthMM}, Die: in.Die.DiameterMM, Step: in.StepMM,
		Transport: transportOf(t),
		MaxOnce:   in.Action.NotesAtOnce, StrokesASec: in.FastestStrokes(), DelaySec: in.Action.DelaySec, EndSec: r.EndSec,
		SingleSec: in.SingleSec(), EdgeShiftMM: in.EdgeShiftMM(), Bridged: in.Chain.Bridged,
		SlotSpacing: in.Chain.SlotSpacingMM, BridgeSpaces: in.BridgeMM(), OpenFirst: in.Chain.OpenFirstMM,
	}
	if in.Paper.Bass == instrument.Right {
		out.Paper.Bass = "right"
	}
	if in.Paper.TravelsUp {
		out.Paper.Travel = "up"
	}
	for _, p := range in.Bar.Ports {
		out.Ports = append(out.Ports, openingOf(p, names))
	}
	return out
}

var roles = map[instrument.Role]string{
	instrument.Note: "note", instrument.Sustain: "sustain", instrument.Soft: "soft",
	instrument.ThemeBass: "theme-bass", instrument.ThemeTreble: "theme-treble", instrument.Level: "level",
	instrument.Register: "register", instrument.Percussion: "percussion", instrument.Rewind: "rewind",
	instrument.Play: "play", instrument.ShutOff: "shut-off",
}

func openingOf(p instrument.Port, names map[int]string) port {
	out := port{Across: p.AcrossMM, Role: roles[p.Role], Key: -1}
	if p.Role == instrument.Note {
		out.Key, out.Pitch = p.Key, cmp.Or(names[p.Key], pitch.Name(p.Key))
	}
	return out
}

// packSlots packs the slots of all rolls, with their first causes, and the
// further ones apart.
func packSlots(p *packed, rolls []*roll.Roll) {
	all := make([]*roll.Slot, 0, slotsOf(rolls))
	for _, r := range rolls {
		for i := range r.Slots {
			all = append(all, &r.Slots[i])
		}
	}
	n := len(all)
	p.floats("slot_lead", n, func(i int) float64 { return all[i].LeadMM })
	p.floats("slot_trail", n, func(i int) float64 { return all[i].TrailMM })
	p.floats("slot_first", n, func(i int) float64 { return all[i].FirstMM })
	p.floats("slot_last", n, func(i int) float64 { return all[i].LastMM })
	p.ints("slot_port", n, func(i int) int32 { return all[i].Port })
	p.ints("slot_punches", n, func(i int) int32 { return all[i].Punches })
	p.ints("slot_voice", n, func(i int) int32 { return all[i].Causes.First.Voice })
	p.ints("slot_note", n, func(i int) int32 { return all[i].Causes.First.Note })
	packCauses(p, all)
}

func packCauses(p *packed, all []*roll.Slot) {
	type further struct {
		slot int32
		roll.Cause
	}
	var more []further
	for i, s := range all {
		for _, c := range s.Causes.More {
			more = append(more, further{int32(i), c})
		}
	}
	p.ints("more_slot", len(more), func(i int) int32 { return more[i].slot })
	p.ints("more_voice", len(more), func(i int) int32 { return more[i].Voice })
	p.ints("more_note", len(more), func(i int) int32 { return more[i].Note })
}

// rollOf is the roll of a piano, counted from 0, and how many slots the rolls before
// it have.
func rollOf(job *workshop.Job, piano int) (r *roll.Roll, before int, err error) {
	rolls, err := job.Rolls()
	if err != nil {
		return nil, 0, err
	}
	if piano < 0 || piano >= len(rolls) {
		return nil, 0, &refusal{http.StatusBadRequest, "there is no such piano"}
	}
	return rolls[piano], slotsOf(rolls[:piano]), nil
}

func slotsOf(rolls []*roll.Roll) int {
	n := 0
	for _, r := range rolls {
		n += len(r.Slots)
	}
	return n
}

// packPlayed packs what the rolls play, all pianos together by start.
func packPlayed(p *packed, rolls []*roll.Roll) {
	events := make([]event.Event, 0, slotsOf(rolls))
	for _, r := range rolls {
		for e := range roll.Play(r) {
			events = append(events, e)
		}
	}
	if len(rolls) > 1 {
		slices.SortStableFunc(events, func(a, b event.Event) int { return cmp.Compare(a.StartSec, b.StartSec) })
	}
	packEvents(p, "re_", events)
}

// stretching is a request for the punches of the slots that begin in a stretch of
// paper.
type stretching struct {
	ID    string  `json:"id"` // of the analysis
	Piano int     `json:"piano"`
	From  float64 `json:"from"` // leading edges, in millimetres; included
	To    float64 `json:"to"`   // not included
}

// mostPunches bounds an answer.
const mostPunches = 1_000_000

// punches answers with single punches: punch_slot i32, the slot as it is counted in
// the analysis, and punch_at f64, the centre.
func (s *Server) punches(w http.ResponseWriter, r *http.Request) {
	var in stretching
	if err := decode(r.Body, &in); err != nil {
		fail(w, err)
		return
	}
	answer, err := s.punchesOf(in)
	if err != nil {
		fail(w, err)
		return
	}
	sendPacked(w, answer)
}

func (s *Server) punchesOf(in stretching) ([]byte, error) {
	job := s.desk.performed(in.ID)
	if job == nil {
		return nil, &refusal{http.StatusNotFound, "this text is no longer on the desk; ask for its analysis again"}
	}
	r, base, err := rollOf(job, in.Piano)
	if err != nil {
		return nil, err
	}
	var slots []int32
	var at []float64
	first := sort.Search(len(r.Slots), func(i int) bool { return r.Slots[i].LeadMM >= in.From })
	for i := first; i < len(r.Slots) && r.Slots[i].LeadMM < in.To && len(at) < mostPunches; i++ {
		for center := range r.Punches(&r.Slots[i]) {
			slots, at = append(slots, int32(base+i)), append(at, center)
		}
	}
	var p packed
	p.floats("punch_at", len(at), func(i int) float64 { return at[i] })
	p.ints("punch_slot", len(slots), func(i int) int32 { return slots[i] })
	return p.assemble(struct {
		Arrays []packedArray `json:"arrays"`
	}{p.list})
}
