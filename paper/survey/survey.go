// Package survey tries numbers in one place of a piece: for each number it gives
// how often the voice meets others, how near it comes to them, how long the
// piece is and what its rolls cannot do.
//
// Onsets meet when they are the same instant exactly, and, where a voice's
// times are not known exactly, when they agree within a nanosecond. Times are
// seconds, distances milliseconds.
package survey

import (
	"cmp"
	"context"
	"errors"
	"math"
	"runtime"
	"slices"
	"sync"
	"sync/atomic"

	"rollwright/music/perform"
	"rollwright/music/piece"
	"rollwright/music/simple"
	"rollwright/paper/inspect"
	"rollwright/paper/instrument"
	"rollwright/paper/lay"
)

// Row is what one number does.
type Row struct {
	Value    string   `json:"value"`
	Decimal  float64  `json:"decimal"`
	Meetings int      `json:"meetings"`   // onsets of the voice that are one with another voice's
	Together int      `json:"together"`   // onsets within the distance that is heard as one, those included
	Closest  *float64 `json:"closest_ms"` // least distance that is no meeting; nil: there is none
	Length   float64  `json:"length_s"`
	Forbids  int      `json:"forbids"` // findings that forbid
}

// Question is what is tried: numbers in the place of one of voice Voice.
type Question struct {
	Piece       *piece.Piece
	Voice       int
	Unknown     piece.Unknown
	Instruments []*instrument.Instrument
	Options     perform.Options
	ApartSec    float64 // within which onsets are heard as one
}

// Run tries every number, in their order, on all processors. A number with which the
// piece cannot be performed has no row.
func (q *Question) Run(ctx context.Context, numbers []simple.Number) ([]Row, error) {
	tried, errs := make([]*Row, len(numbers)), make([]error, len(numbers))
	var next atomic.Int64
	var all sync.WaitGroup
	for range runtime.GOMAXPROCS(0) {
		all.Go(func() {
			for i := next.Add(1) - 1; i < int64(len(numbers)) && ctx.Err() == nil; i = next.Add(1) - 1 {
				tried[i], errs[i] = q.try(numbers[i])
			}
		})
	}
	all.Wait()
	if err := cmp.Or(ctx.Err(), errors.Join(errs...)); err != nil {
		return nil, err
	}
	rows := []Row{}
	for _, row := range tried {
		if row != nil {
			rows = append(rows, *row)
		}
	}
	return rows, nil
}

// try is what one number does; nil where the piece cannot be performed with it.
func (q *Question) try(n simple.Number) (*Row, error) {
	p, ok := perform.With(q.Piece, q.Voice, q.Unknown, n.Value)
	if !ok {
		return nil, nil
	}
	performance, err := perform.New(p, q.Options)
	if err != nil {
		return nil, nil // a finding about the number, not a failure
	}
	row := &Row{Value: n.Value.String(), Decimal: n.Decimal, Length: performance.EndSec}
	q.count(performance, row)
	rolls, err := lay.Of(performance, q.Instruments)
	if err != nil {
		return nil, err
	}
	row.Forbids = inspect.Check(p, rolls).Counts[inspect.Forbids]
	return row, nil
}

// Count is what Run says of the meetings of a voice, of a performance as it is; findings
// are not looked for.
func Count(p *perform.Performance, voice int, apartSec float64) Row {
	row := Row{Length: p.EndSec}
	q := &Question{Piece: p.Piece, Voice: voice, ApartSec: apartSec}
	q.count(p, &row)
	return row
}

// onset is when a note begins, and its number in its voice.
type onset struct {
	sec  float64
	line *perform.Line
	note int
}

func onsets(l *perform.Line) []onset {
	out := make([]onset, 0, l.Notes)
	for it := range l.All() {
		if !it.Silent {
			out = append(out, onset{it.StartSec, l, it.Note})
		}
	}
	return out
}

// count compares the voice's onsets with those of all others.
func (q *Question) count(p *perform.Performance, row *Row) {
	var others []onset
	for i, l := range p.Lines {
		if i != q.Voice {
			others = append(others, onsets(l)...)
		}
	}
	slices.SortStableFunc(others, func(a, b onset) int {
		switch {
		case a.sec < b.sec:
			return -1
		case a.sec > b.sec:
			return 1
		}
		return 0
	})
	closest := math.Inf(1)
	first := 0
	for _, own := range onsets(p.Lines[q.Voice]) {
		for first < len(others) && others[first].sec < own.sec-q.ApartSec-nanosecond {
			closest = min(closest, own.sec-others[first].sec)
			first++
		}
		meets, together := false, false
		for _, other := range others[first:] {
			apart := math.Abs(other.sec - own.sec)
			if same := apart < nanosecond && one(own, other); same {
				meets = true
			} else {
				closest = min(closest, apart)
			}
			if other.sec > own.sec+q.ApartSec {
				break
			}
			together = together || apart <= q.ApartSec
		}
		if meets {
			row.Meetings++
		}
		if meets || together {
			row.Together++
		}
	}
	if !math.IsInf(closest, 1) {
		ms := closest * 1000
		row.Closest = &ms
	}
}

const nanosecond = 1e-9

// one reports whether two onsets within a nanosecond are the same instant.
func one(a, b onset) bool {
	x, err1 := a.line.At(piece.Point{Kind: piece.AtNote, N: a.note})
	y, err2 := b.line.At(piece.Point{Kind: piece.AtNote, N: b.note})
	if err1 != nil || err2 != nil || !x.TimeExact || !y.TimeExact {
		return true
	}
	return x.Time.Sub(y.Time).Sign() == 0
}
