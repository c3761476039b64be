package table

import (
	"io"
	"strconv"
	"strings"

	"rollwright/paper/instrument"
	"rollwright/paper/roll"
)

// WriteHoles lists the slots of the rolls, a row each, by roll, then
// leading edge, then port. Columns:
//
//	piano      its name; empty when the piece has one without a name
//	port       from the bass edge, from 1, control ports included
//	role       note, sustain, soft, theme_bass, theme_treble or level
//	key        that the port sounds, 0 to 127; empty for a control port
//	across_mm  from the bass edge of the paper to the centre of the hole
//	lead_mm    leading edge as cut, from the row of time 0; below 0 in the leader
//	trail_mm   trailing edge as cut
//	punches    strokes of the die
//	voice      that caused it, several joined by +; empty for a control port
//	note       of that voice, from 1, several joined by +; empty for a control port
//
// In JSON what is empty is null, and several notes are a text. Only the writer
// fails.
func WriteHoles(w io.Writer, f Format, rolls []*roll.Roll) error {
	r := newRows(w, f, "piano", "port", "role", "key", "across_mm", "lead_mm", "trail_mm", "punches", "voice", "note")
	t := holes{rows: r}
	for role := range t.roles {
		t.roles[role] = labelOf(f, roles[role])
	}
	for _, paper := range rolls {
		piano := labelOf(f, paper.Name)
		t.voices = labelsOf(f, paper.Voices)
		for i := range paper.Slots {
			if !t.slot(piano, paper, &paper.Slots[i]) {
				return r.close()
			}
		}
	}
	return r.close()
}

// WritePunches lists every stroke of the die, a row each, in the order of
// WriteHoles and along each slot. Columns: piano, port, across_mm as there, and
// along_mm, the punch's centre from the row of time 0. Only the writer fails.
func WritePunches(w io.Writer, f Format, rolls []*roll.Roll) error {
	r := newRows(w, f, "piano", "port", "across_mm", "along_mm")
	for _, paper := range rolls {
		piano := labelOf(f, paper.Name)
		ports := paper.Instrument.Bar.Ports
		for i := range paper.Slots {
			slot := &paper.Slots[i]
			for along := range paper.Punches(slot) {
				r.label(piano)
				r.integer(int64(slot.Port) + 1)
				r.millimetres(ports[slot.Port].AcrossMM)
				r.millimetres(along)
				if !r.end() {
					return r.close()
				}
			}
		}
	}
	return r.close()
}

// roles are the names of the ports' roles, as an instrument file has them.
var roles = [...]string{
	instrument.Note:        "note",
	instrument.Sustain:     "sustain",
	instrument.Soft:        "soft",
	instrument.ThemeBass:   "theme_bass",
	instrument.ThemeTreble: "theme_treble",
	instrument.Level:       "level",
	instrument.Register:    "register",
	instrument.Percussion:  "percussion",
	instrument.Rewind:      "rewind",
	instrument.Play:        "play",
	instrument.ShutOff:     "shut_off",
}

// holes writes slots as rows.
type holes struct {
	*rows
	voices []string // of the roll, as cells
	roles  [len(roles)]string
}

func (t *holes) slot(piano string, paper *roll.Roll, s *roll.Slot) bool {
	port := &paper.Instrument.Bar.Ports[s.Port]
	t.label(piano)
	t.integer(int64(s.Port) + 1)
	t.label(t.roles[port.Role])
	if port.Role == instrument.Note {
		t.integer(int64(port.Key))
	} else {
		t.none()
	}
	t.millimetres(port.AcrossMM)
	t.millimetres(s.LeadMM)
	t.millimetres(s.TrailMM)
	t.integer(int64(s.Punches))
	switch {
	case port.Role != instrument.Note, s.Causes.First.Note == 0: // a control port, or a roll that no event made
		t.none()
		t.none()
	case len(s.Causes.More) == 0:
		t.label(t.voices[s.Causes.First.Voice])
		t.integer(int64(s.Causes.First.Note))
	default:
		t.causes(paper, s.Causes)
	}
	return t.end()
}

// causes adds the voices and notes of a slot with several.
func (t *holes) causes(paper *roll.Roll, c roll.Causes) {
	var voices, notes []string
	for cause := range c.All() {
		voices = append(voices, paper.Voices[cause.Voice])
		notes = append(notes, strconv.Itoa(int(cause.Note)))
	}
	t.label(labelOf(t.format, strings.Join(voices, "+")))
	t.label(labelOf(t.format, strings.Join(notes, "+")))
}

// millimetres adds a length with four decimals.
func (r *rows) millimetres(mm float64) {
	r.next()
	r.line = roll.AppendMM(r.line, mm)
}
