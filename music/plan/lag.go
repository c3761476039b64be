package plan

import (
	"math"
	"slices"
	"strconv"

	"rollwright/exact"
	"rollwright/music/piece"
)

// lag is how far apart two voices of a canon are at the same places of the
// music: at the statements that both play, at the meeting point, at the end.
func lag(a, b *part, meet piece.Point, o Options) *Lag {
	l := &Lag{Of: "talea", Rows: []LagRow{}}
	itemsA, itemsB := a.taleae, b.taleae
	room := o.LagRows
	if min(len(itemsA), len(itemsB)) < 2 {
		l.Of, itemsA, itemsB = "color", a.colores, b.colores
	}
	if min(len(itemsA), len(itemsB)) < 2 {
		l.Of, itemsA, itemsB, room = "note", a.notes, b.notes, min(room, noteRows)
	}
	n := min(len(itemsA), len(itemsB))
	l.Every = max(1, (n+room-1)/room)
	for i := 0; i < n; i += l.Every {
		row := lagRow(a, b, a.item(int(itemsA[i])), b.item(int(itemsB[i])))
		row.Place = strconv.Itoa(i + 1)
		l.Rows = append(l.Rows, row)
	}
	l.insert(a, b, "meet", meet)
	if a.line.Items == b.line.Items {
		l.insert(a, b, "end", piece.Point{Kind: piece.AtEnd})
	}
	return l
}

// noteRows is how many rows a lag has when there are no statements to count.
const noteRows = 16

// insert adds the row of a point where it belongs in time.
func (l *Lag) insert(a, b *part, name string, at piece.Point) {
	markA, okA := a.point(at)
	markB, okB := b.point(at)
	if !okA || !okB {
		return
	}
	row := lagRow(a, b, markA, markB)
	row.Place = name
	place, _ := slices.BinarySearchFunc(l.Rows, row, func(r, s LagRow) int {
		if nanoseconds(float64(r.A)) <= nanoseconds(float64(s.A)) {
			return -1
		}
		return 1
	})
	l.Rows = slices.Insert(l.Rows, place, row)
}

// lagRow compares the times of two marks; exactly where both voices are exact.
func lagRow(a, b *part, markA, markB mark) LagRow {
	row := LagRow{A: Seconds(markA.sec), B: Seconds(markB.sec)}
	behind, unit := b, markB
	if markA.known && markB.known && a.onsets.exact() && b.onsets.exact() {
		apart := markB.at.Sub(markA.at)
		if apart.Sign() < 0 {
			behind = a
		}
		row.Lag = sumNumber(absSum(apart))
		row.Units = sumNumber(absSum(apart).MulReal(behind.unit.Inv()))
		if apart.IsZero() != exact.Yes {
			row.Behind = behind.name
		}
		return row
	}
	apart := markB.sec - markA.sec
	if math.Abs(apart) <= endSlack {
		row.Lag, row.Units = decimalNumber(0), decimalNumber(0)
		return row
	}
	if apart < 0 {
		behind, unit = a, markA
	}
	row.Behind = behind.name
	row.Lag = decimalNumber(math.Abs(apart))
	row.Units = decimalNumber(math.Abs(apart) / behind.secondsPerUnit(unit.units))
	return row
}
