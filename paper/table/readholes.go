package table

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"rollwright/paper/instrument"
	"rollwright/paper/roll"
	"rollwright/text/source"
)

// ReadHoles reads a table with the columns of WriteHoles, in any order, as
// rolls for the instrument in: one for each name in the column piano, in the
// order in which they come first, or one without a name. Only port, lead_mm and
// trail_mm are needed, and without a port the key; key and role, where they
// stand, must be what the port has on that instrument.
//
// Edges stand as they are. FirstMM, LastMM and Punches are what the
// instrument's perforator would cut for them (roll.SlotOf), so that on an
// instrument with a step only slots that lie on its rows are cut where they
// stand. OpenMM and ShutMM are the edges. Causes have the level that the roll plays.
//
// The error is a source.Errors with up to twenty complaints: among them slots of
// one port that overlap.
func ReadHoles(f *source.File, in *instrument.Instrument) ([]*roll.Roll, error) {
	g := newGrid(f)
	g.need(g.holeColumns(), "a table of holes has at least port, lead_mm and trail_mm; see what holes prints")
	if err := g.errs.Err(); err != nil {
		return nil, err
	}
	h := holeReader{grid: g, in: in, voices: newNames(g), byName: map[string]*reading{}}
	for g.next() {
		h.row()
	}
	h.part()
	h.apart()
	if err := g.errs.Err(); err != nil {
		return nil, err
	}
	return h.finish(), nil
}

// holeReader reads rows into rolls.
type holeReader struct {
	*grid
	in      *instrument.Instrument
	voices  *names
	byName  map[string]*reading
	rolls   []*reading
	several []several
}

// reading is a roll that is being read, with the line of each slot.
type reading struct {
	roll  *roll.Roll
	lines []int32
}

// several is a slot whose causes are told apart when all names are known.
type several struct {
	of     *reading
	slot   int
	at     source.Pos
	voices string
	notes  []int32
}

func (h *holeReader) row() {
	port := h.port()
	lead, trail := h.number("lead_mm", maxMM), h.number("trail_mm", maxMM)
	if len(h.errs) > 0 {
		return
	}
	if trail <= lead {
		h.failCell(h.column["trail_mm"], "the slot ends before it begins", "trail_mm lies beyond lead_mm: "+h.cell("lead_mm"))
		return
	}
	if !h.fits(&h.in.Bar.Ports[port], port) {
		return
	}
	r := h.rollOf(h.text("piano"))
	s := roll.SlotOf(h.in, int32(port), lead, trail)
	if roll.Printed(s.LeadMM) != roll.Printed(lead) {
		s.LeadMM = lead
	}
	if roll.Printed(s.TrailMM) != roll.Printed(trail) {
		s.TrailMM = trail
	}
	h.causes(r, &s)
	line, _ := h.csv.FieldPos(0)
	r.roll.Slots, r.lines = append(r.roll.Slots, s), append(r.lines, int32(line))
}

// port is the index of the row's port.
func (h *holeReader) port() int {
	if h.has("port") {
		return h.needWhole("port", 1, len(h.in.Bar.Ports)) - 1
	}
	key := h.needWhole("key", 0, 127)
	port, ok := h.in.Bar.Port(key)
	if !ok {
		h.failCell(h.column["key"], fmt.Sprintf("%s has no port for key %d", h.in.Name, key),
			"say which instrument the roll is for")
	}
	return port
}

// fits complains when the row speaks of another instrument.
func (h *holeReader) fits(p *instrument.Port, port int) bool {
	const hint = "this table was made for another instrument: say which"
	role := h.cell("role")
	if role != "" && role != roles[p.Role] {
		h.failCell(h.column["role"], fmt.Sprintf("port %d of %s is %s, not %q", port+1, h.in.Name, roles[p.Role],
			clipped(role)), hint)
		return false
	}
	if key := h.whole("key", 0, 127, -1); h.cell("key") != "" && (p.Role != instrument.Note || key != p.Key) {
		h.failCell(h.column["key"], fmt.Sprintf("port %d of %s is %s, not key %d", port+1, h.in.Name, p.Name(), key), hint)
		return false
	}
	return true
}

func (h *holeReader) rollOf(name string) *reading {
	if r, ok := h.byName[name]; ok {
		return r
	}
	name = string([]byte(name))
	r := &reading{roll: &roll.Roll{Piano: len(h.rolls), Name: name, Instrument: h.in}}
	h.rolls, h.byName[name] = append(h.rolls, r), r
	return r
}

// causes reads voice and note of the row, which is the next slot of r.
func (h *holeReader) causes(r *reading, s *roll.Slot) {
	voice, note := h.text("voice"), h.cell("note")
	if voice == "" || note == "" {
		return
	}
	if !strings.Contains(note, "+") {
		s.Causes.First = roll.Cause{Voice: h.voices.index(voice), Note: int32(h.whole("note", 1, 1<<31-1, 0))}
		return
	}
	var notes []int32
	for part := range strings.SplitSeq(note, "+") {
		n, err := strconv.ParseInt(part, 10, 32)
		if err != nil || n < 1 {
			h.failCell(h.column["note"], fmt.Sprintf("note cannot be %q", clipped(note)), "write whole numbers joined by +")
			return
		}
		notes = append(notes, int32(n))
	}
	h.several = append(h.several, several{r, len(r.roll.Slots), h.place(h.column["voice"]), string([]byte(voice)), notes})
}

// part tells the causes of slots with several of them apart. A name may have a
// + in it; then the names that stand alone elsewhere decide.
func (h *holeReader) part() {
	for _, s := range h.several {
		parts := strings.Split(s.voices, "+")
		if len(parts) != len(s.notes) {
			parts = h.group(parts, len(s.notes))
		}
		if parts == nil {
			h.failAt(s.at, 1, fmt.Sprintf("%q does not name %d voices", clipped(s.voices), len(s.notes)),
				"write as many voices as notes, both joined by +")
			return
		}
		c := &s.of.roll.Slots[s.slot].Causes
		for i, name := range parts {
			cause := roll.Cause{Voice: h.voices.index(name), Note: s.notes[i]}
			if i == 0 {
				c.First = cause
			} else {
				c.More = append(c.More, cause)
			}
		}
	}
}

// group joins parts into n known names; nil if there is no way.
func (h *holeReader) group(parts []string, n int) []string {
	if n > len(parts) || n == 0 {
		return nil
	}
	for k := 1; k <= len(parts)-n+1; k++ {
		name := strings.Join(parts[:k], "+")
		if _, ok := h.voices.known[name]; !ok {
			continue
		}
		if k == len(parts) {
			return []string{name}
		}
		if rest := h.group(parts[k:], n-1); rest != nil {
			return append([]string{name}, rest...)
		}
	}
	return nil
}

// apart complains of slots on one port that overlap.
func (h *holeReader) apart() {
	if len(h.errs) > 0 {
		return
	}
	for _, r := range h.rolls {
		slots := r.roll.Slots
		order := make([]int32, len(slots))
		for i := range order {
			order[i] = int32(i)
		}
		slices.SortStableFunc(order, func(a, b int32) int { return cmp.Compare(slots[a].LeadMM, slots[b].LeadMM) })
		last := make([]int32, len(h.in.Bar.Ports))
		for i := range last {
			last[i] = -1
		}
		for _, i := range order {
			before := last[slots[i].Port]
			if before >= 0 && roll.Printed(slots[before].TrailMM) > roll.Printed(slots[i].LeadMM) {
				h.overlap(r, before, i)
				return
			}
			last[slots[i].Port] = i
		}
	}
}

func (h *holeReader) overlap(r *reading, before, i int32) {
	s := &r.roll.Slots[i]
	h.failAt(source.Pos{Line: int(r.lines[i]), Column: 1}, 1,
		fmt.Sprintf("on port %d this slot begins before the one of line %d ends", s.Port+1, r.lines[before]),
		fmt.Sprintf("that one ends at %.4f mm, this one begins at %.4f mm; leave one out or make one of both",
			r.roll.Slots[before].TrailMM, s.LeadMM))
}

// finish puts the slots in order. Without a row there is one empty roll.
func (h *holeReader) finish() []*roll.Roll {
	if len(h.rolls) == 0 {
		h.rollOf("")
	}
	out := make([]*roll.Roll, len(h.rolls))
	for i, r := range h.rolls {
		out[i] = r.roll
		r.roll.Voices = h.voices.names
		r.roll.Sort()
		settle(r.roll)
	}
	return out
}

// settle says when the roll ends and how loud each cause is, as it plays.
func settle(r *roll.Roll) {
	end := math.Inf(-1)
	for p := range r.Played() {
		c := &r.Slots[p.Slot].Causes
		if c.First.Note > 0 {
			c.First.Level = int16(p.Level)
		}
		for i := range c.More {
			c.More[i].Level = int16(p.Level)
		}
		end = max(end, p.EndSec)
	}
	r.EndSec = max(end, 0)
}
