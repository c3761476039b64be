package table

import (
	"fmt"

	"rollwright/music/event"
	"rollwright/text/source"
)

// Unlabelled is the voice of an event whose row names none.
const Unlabelled = -1

// mezzoForte is the level of an event whose row gives none.
const mezzoForte = 80

// Notes are the events of a table.
type Notes struct {
	Voices []string      // in the order in which they come first
	Events []event.Event // a row each, in the order of the rows
}

// ReadEvents reads a table with the columns of WriteEvents, in any order. Only
// key, start_s and end_s are needed. An event whose voice is empty has the
// voice Unlabelled. Where level is empty it is 80 (mf), where part is empty 1,
// where note is empty 0: not counted. Times stand as they are, and may be below
// 0; an event that ends where it starts is Single. The pitch is a word for the
// key and is not read. Pianos are all 0.
//
// The error is a source.Errors with up to twenty complaints.
func ReadEvents(f *source.File) (*Notes, error) {
	g := newGrid(f)
	g.need(eventColumns, "a table of notes has at least key, start_s and end_s; see what events prints")
	if err := g.errs.Err(); err != nil {
		return nil, err
	}
	v, out := newNames(g), &Notes{Events: make([]event.Event, 0, g.about())}
	for g.next() {
		out.Events = append(out.Events, g.event(v))
	}
	if err := g.errs.Err(); err != nil {
		return nil, err
	}
	out.Voices = v.names
	return out, nil
}

// event reads the row.
func (g *grid) event(v *names) event.Event {
	e := event.Event{
		Voice: Unlabelled,
		Note:  int32(g.whole("note", 1, 1<<31-1, 0)),
		Part:  int32(g.whole("part", 1, 1<<31-1, 1)),
		Key:   int16(g.needWhole("key", 0, 127)),
		Level: int16(g.whole("level", 1, 127, mezzoForte)),

		StartSec: g.number("start_s", maxSec),
		EndSec:   g.number("end_s", maxSec),
	}
	if name := g.text("voice"); name != "" {
		e.Voice = v.index(name)
	}
	if e.EndSec < e.StartSec && len(g.errs) == 0 {
		g.failCell(g.column["end_s"], "the note ends before it starts",
			fmt.Sprintf("it starts at %s s", g.cell("start_s")))
	}
	e.Single = e.EndSec == e.StartSec
	return e
}

// names numbers names in the order in which they come.
type names struct {
	grid  *grid
	names []string
	known map[string]int32
}

func newNames(g *grid) *names { return &names{grid: g, known: map[string]int32{}} }

func (n *names) index(name string) int32 {
	if i, ok := n.known[name]; ok {
		return i
	}
	if len(n.names) == maxVoices {
		n.grid.failCell(n.grid.column["voice"], fmt.Sprintf("the table names more than %d voices", maxVoices), "")
		return 0
	}
	i := int32(len(n.names))
	name = string([]byte(name)) // not the row it was cut from
	n.names, n.known[name] = append(n.names, name), i
	return i
}
