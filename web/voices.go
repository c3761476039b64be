package web

import (
	"math"

	"rollwright/music/perform"
	"rollwright/music/piece"
	"rollwright/music/plan"
	"rollwright/workshop"
)

// voice is a voice as written and as performed.
type voice struct {
	Name     string  `json:"name"`
	Piano    string  `json:"piano"`
	Canon    string  `json:"canon"`   // empty: in none
	Section  string  `json:"section"` // empty: in none
	Line     int     `json:"line"`
	From     int     `json:"from"` // of its block in the text
	To       int     `json:"to"`
	Notes    int     `json:"notes"`
	Events   int     `json:"events"`
	StartSec float64 `json:"startSec"`
	EndSec   float64 `json:"endSec"`

	ColorLen int       `json:"colorLen"`
	TaleaLen int       `json:"taleaLen"`
	Color    []string  `json:"color"` // at most mostMembers
	Talea    []string  `json:"talea"`
	Colores  int       `json:"colores"` // statements begun
	Taleae   int       `json:"taleae"`
	Complete *complete `json:"complete"` // null: nothing to say

	Unit       string   `json:"unit"`       // a share of a whole note
	SecPerUnit *float64 `json:"secPerUnit"` // null: the tempo changes
	Units      float64  `json:"units"`      // written length

	Path      []string          `json:"path"`
	Fields    fields            `json:"fields"`
	Inherited map[string]string `json:"inherited"` // what it takes over, as written elsewhere
	Items     stretch           `json:"items"`
}

// complete is what the voice would be if it went on until color and talea end
// together.
type complete struct {
	Notes   int `json:"notes"`
	Colores int `json:"colores"`
	Taleae  int `json:"taleae"`
}

// mostMembers bounds the members of a cycle that are listed.
const mostMembers = 2000

func voicesOf(job *workshop.Job, tree *outline) []voice {
	out := []voice{}
	if job.Piece == nil {
		return namedVoices(job)
	}
	items := 0
	for i, l := range job.Performance.Lines {
		v := voiceOf(job.Piece, &job.Piece.Voices[i], l, tree)
		v.Items = stretch{items, l.Items}
		items += l.Items
		out = append(out, v)
	}
	return out
}

// namedVoices are those of a table, which have names and notes and nothing else.
func namedVoices(job *workshop.Job) []voice {
	out := make([]voice, len(job.Voices))
	for i, name := range job.Voices {
		out[i] = voice{Name: name, Color: []string{}, Talea: []string{}, Path: []string{}, Fields: fields{},
			Inherited: map[string]string{}, StartSec: math.Inf(1)}
	}
	for e := range job.Events() {
		if e.Voice < 0 || int(e.Voice) >= len(out) {
			continue
		}
		v := &out[e.Voice]
		v.Notes, v.Events = v.Notes+1, v.Events+1
		v.StartSec, v.EndSec = min(v.StartSec, e.StartSec), max(v.EndSec, e.EndSec)
	}
	for i := range out {
		if out[i].Notes == 0 {
			out[i].StartSec = 0
		}
	}
	return out
}

func voiceOf(p *piece.Piece, v *piece.Voice, l *perform.Line, tree *outline) voice {
	out := voice{
		Name: v.Name, Piano: p.Pianos[v.Piano].Name, Line: v.Places.Of("").Line,
		Notes: l.Notes, Events: l.Events, StartSec: l.StartSec, EndSec: l.EndSec,
		ColorLen: len(v.Color), TaleaLen: len(v.Talea), Colores: l.Colores.Begun, Taleae: l.Taleae.Begun,
		Complete: completeOf(v), Unit: v.Unit.String(), Units: l.Length, Path: []string{}, Inherited: map[string]string{},
	}
	for _, m := range v.Color[:min(len(v.Color), mostMembers)] {
		out.Color = append(out.Color, plan.PitchName(m, v))
	}
	for _, d := range v.Talea[:min(len(v.Talea), mostMembers)] {
		out.Talea = append(out.Talea, durationText(d))
	}
	if v.Canon >= 0 {
		out.Canon = p.Canons[v.Canon].Name
	}
	if v.Section >= 0 {
		out.Section = p.Sections[v.Section].Name
	}
	if sec, ok := l.Path.SecondsPerUnit(); ok && !l.Bent() {
		x := sec.Float64()
		out.SecPerUnit = &x
	}
	if b := tree.named(v.Name); b != nil {
		out.From, out.To, out.Path, out.Fields = b.From, b.To, b.Path, b.Fields
		out.Inherited = tree.inherited(v.Places, b)
	}
	return out
}

// completeOf counts the fewest whole taleae whose notes are whole colors; nil
// where that is too many to be of use.
func completeOf(v *piece.Voice) *complete {
	sounding := 0
	for _, d := range v.Talea {
		if !d.Silent {
			sounding++
		}
	}
	a, b := sounding, len(v.Color)
	for b != 0 {
		a, b = b, a%b
	}
	taleae, colores := len(v.Color)/a, sounding/a
	if float64(taleae)*float64(sounding) > math.MaxInt32 {
		return nil
	}
	return &complete{Notes: taleae * sounding, Colores: colores, Taleae: taleae}
}

func durationText(d piece.Duration) string {
	if d.Silent {
		return "(" + d.Units.String() + ")"
	}
	return d.Units.String()
}

// packItems packs the items of voices, one after the other.
func packItems(p *packed, lines []*perform.Line) {
	n := 0
	for _, l := range lines {
		n += l.Items
	}
	all := make([]perform.Item, 0, n)
	for _, l := range lines {
		for it := range l.All() {
			all = append(all, it)
		}
	}
	p.floats("item_at", n, func(i int) float64 { return all[i].StartSec })
	p.floats("item_len", n, func(i int) float64 { return all[i].EndSec - all[i].StartSec })
	p.floats("item_unit", n, func(i int) float64 { return all[i].At })
	p.ints("item_color", n, func(i int) int32 { return int32(all[i].ColorPlace) })
	p.ints("item_talea", n, func(i int) int32 { return int32(all[i].TaleaPlace) })
	p.ints("item_note", n, func(i int) int32 { return int32(all[i].Note) })
	p.ints("item_color_n", n, func(i int) int32 { return int32(all[i].Color) })
	p.ints("item_talea_n", n, func(i int) int32 { return int32(all[i].Talea) })
}
