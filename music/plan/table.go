package plan

import (
	"slices"

	"rollwright/music/perform"
	"rollwright/music/piece"
)

// table counts which member of the color falls on which member of the talea.
type table struct {
	width  int // members of the talea
	dense  []int32
	sparse map[int]int32 // instead of dense, when that would be large
	inTurn [][]int32
}

const (
	denseCells  = 1 << 20
	inTurnNotes = 40 // more than a line of text holds
)

func newTable(v *piece.Voice) *table {
	t := &table{width: len(v.Talea), inTurn: make([][]int32, len(v.Color))}
	if len(v.Color)*len(v.Talea) <= denseCells {
		t.dense = make([]int32, len(v.Color)*len(v.Talea))
	} else {
		t.sparse = make(map[int]int32)
	}
	return t
}

// count takes one sounding item.
func (t *table) count(it perform.Item) {
	cell := it.ColorPlace*t.width + it.TaleaPlace
	if t.dense != nil {
		t.dense[cell]++
	} else {
		t.sparse[cell]++
	}
	if turn := &t.inTurn[it.ColorPlace]; len(*turn) < inTurnNotes {
		*turn = append(*turn, int32(it.TaleaPlace))
	}
}

// rows are the members of the color in written order with what they got; texts
// are the durations of the talea.
func (t *table) rows(v *piece.Voice, texts []string) []Pairing {
	rows := make([]Pairing, len(v.Color))
	for i, p := range v.Color {
		rows[i] = Pairing{Place: i + 1, Pitch: PitchName(p, v), Gets: []Get{}, inTurn: t.inTurn[i]}
	}
	add := func(cell int, times int32) {
		row, place := &rows[cell/t.width], cell%t.width
		row.Gets = append(row.Gets, Get{place + 1, texts[place], int(times)})
	}
	for cell, times := range t.dense {
		if times > 0 {
			add(cell, times)
		}
	}
	cells := make([]int, 0, len(t.sparse))
	for cell := range t.sparse {
		cells = append(cells, cell)
	}
	slices.Sort(cells)
	for _, cell := range cells {
		add(cell, t.sparse[cell])
	}
	return rows
}
