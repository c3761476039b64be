package notation

import (
	"rollwright/exact"
	"rollwright/music/perform"
	"rollwright/music/piece"
)

// Metre is the time signature of a bar: so many of a note value. Its zero value is none.
type Metre struct{ Count, Value int64 }

// finestMetre is the shortest note value that a time signature counts: a 256th.
const finestMetre = 1 << finest

// metreOf is the time signature of a bar of so many units, the unit being a share of a
// whole note: in lowest terms but in quarters at least, and in eighths where the unit is an
// eighth and threes of them fill the bar, so that six eighths are not three quarters.
func metreOf(units, unit exact.Rat) Metre {
	length, ok := units.Mul(unit)
	if !ok || length.Sign() <= 0 {
		return Metre{}
	}
	n, value := length.Num(), length.Den()
	if value > finestMetre || value&(value-1) != 0 {
		return Metre{}
	}
	least := int64(4)
	if unit == exact.NewRat(1, 8) && units.IsInt() && units.Num()%3 == 0 && units.Num() > 3 {
		least = 8
	}
	for value < least {
		n, value = 2*n, 2*value
	}
	return Metre{n, value}
}

// Beat is the length of a beat in whole notes: three eighths, sixteenths and so on where
// the bar has threes of them; else a quarter (common practice, no source).
func (m Metre) Beat() exact.Rat {
	switch {
	case m.Value == 0:
		return exact.Rat{}
	case m.Value >= 8 && m.Count%3 == 0:
		return exact.NewRat(3, m.Value)
	}
	return exact.NewRat(1, 4)
}

// mostBars is how many bars a part is written in.
const mostBars = 100_000

// barWriter deals out what is performed to bars that the composer gives.
type barWriter struct {
	voice   *piece.Voice
	lengths *lengths
	line    *perform.Line
	bars    []Bar
	end     exact.Rat // where the last of them is full, in whole notes
	next    int       // number of the next
	ok      bool
}

// barred are the bars of a part as its voice gives them: items that go on over a bar line
// are tied. It is false where there are none, and where what stands in them cannot be
// written as it is performed.
func barred(perf *perform.Performance, voice int, w *lengths, s *Speller) ([]Bar, bool) {
	l, v := perf.Lines[voice], &perf.Piece.Voices[voice]
	if !v.Bar.Given() || w.manner != AsPerformed {
		return nil, false
	}
	b := &barWriter{voice: v, lengths: w, line: l, next: 1, ok: true}
	if v.Bar.Upbeat.Sign() > 0 {
		b.next = 0
	}
	n := noter{line: l, voice: v, speller: s, color: -1}
	for it := range l.All() {
		from, fits := w.at(it.N)
		to, fit := w.at(it.N + 1)
		note := n.note(it)
		b.ok = b.ok && fits && fit
		for begins := from; b.ok && from.Cmp(to) < 0; {
			if len(b.bars) == 0 || from.Cmp(b.end) >= 0 {
				b.open(it.Talea)
				continue
			}
			until := to
			if until.Cmp(b.end) > 0 {
				until = b.end
			}
			b.add(note, from, until, from != begins, until.Cmp(to) < 0)
			from = until
		}
		if !b.ok {
			return nil, false
		}
	}
	b.measure()
	return b.bars, b.ok
}

// open begins the next bar.
func (b *barWriter) open(talea int) {
	b.measure()
	units := b.voice.Bar.Upbeat
	whole := b.voice.Bar.Units[0]
	if b.next > 0 {
		whole = b.voice.Bar.Units[(b.next-1)%len(b.voice.Bar.Units)]
		units = whole
	}
	length, ok := units.Mul(b.voice.Unit)
	end, fits := b.end.Add(length)
	b.end, b.ok = end, b.ok && ok && fits && len(b.bars) < mostBars
	b.bars = append(b.bars, Bar{Number: b.next, Talea: talea + 1, Given: true, Metre: metreOf(whole, b.voice.Unit)})
	b.next++
}

// measure says how long the last bar has become.
func (b *barWriter) measure() {
	if n := len(b.bars); n > 0 {
		b.bars[n-1].Length = total(b.bars[n-1].Notes)
	}
}

// add puts what an item plays from one place to another, in whole notes, into the last bar.
func (b *barWriter) add(n Note, from, to exact.Rat, back, on bool) {
	length, fits := to.Sub(from)
	if !fits || !b.lengths.can(length) {
		b.ok = false
		return
	}
	n.Length, n.Values, n.Back, n.On = length, b.lengths.known[length], back, on
	n.First = n.First && !back
	if back {
		n.Grace, n.StartSec = nil, b.sec(from)
	}
	if on {
		n.EndSec = b.sec(to)
	}
	last := &b.bars[len(b.bars)-1]
	last.Notes = append(last.Notes, n)
}

// sec is the time in the piece at so many whole notes from the start of the voice.
func (b *barWriter) sec(wholes exact.Rat) float64 {
	return b.line.SecondsAt(wholes.Float64() / b.voice.Unit.Float64())
}

// Beam is where a note of a bar stands under beams: how many it shares with the note
// before and with the one after, and how many it has.
type Beam struct{ Before, After, Own int }

// Beams are the beams of a bar's values, one of each note: neighbours within a beat that are
// eighths or shorter. Bars without a time signature have none, for they have no beats.
func (b *Bar) Beams() [][]Beam {
	out := make([][]Beam, len(b.Notes))
	beat := b.Metre.Beat()
	type placed struct {
		note, value int
		beat        int64
		flags       int // 0: nothing to beam
	}
	var all []placed
	at := b.ahead()
	for i := range b.Notes {
		n := &b.Notes[i]
		out[i] = make([]Beam, len(n.Values))
		for k, v := range n.Values {
			p := placed{note: i, value: k, flags: max(0, v.Log-2)}
			if n.Rest() || beat.Sign() <= 0 {
				p.flags = 0
			} else if q, ok := at.Quo(beat); ok {
				p.beat = q.Num() / q.Den()
			} else {
				p.flags = 0
			}
			all = append(all, p)
			at, _ = at.Add(v.Length())
		}
	}
	for i, p := range all {
		out[p.note][p.value].Own = p.flags
		if i == 0 {
			continue
		}
		if q := all[i-1]; p.flags > 0 && q.flags > 0 && p.beat == q.beat {
			shared := min(p.flags, q.flags)
			out[p.note][p.value].Before, out[q.note][q.value].After = shared, shared
		}
	}
	return out
}

// ahead is what a bar that begins with an upbeat lacks, in whole notes: its beats are
// those at the end of a bar.
func (b *Bar) ahead() exact.Rat {
	if b.Number > 0 || b.Metre.Value == 0 {
		return exact.Rat{}
	}
	whole := exact.NewRat(b.Metre.Count, b.Metre.Value)
	short, ok := whole.Sub(b.Length)
	for ok && short.Sign() < 0 { // an upbeat longer than a bar
		short, ok = short.Add(whole)
	}
	return short
}
