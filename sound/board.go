package sound

import (
	_ "embed"
	"math"
	"math/cmplx"
	"sync"
)

//go:embed board.txt
var boardText string

// A resonance answers a force f with Re(c * integral of f(t') e^(p(t-t')) dt').
type resonance struct {
	pole complex128 // -decay + i w, per second
	gain complex128 // c
}

// A body is what the strings and the blow set ringing.
type body struct {
	mobility float64     // s/kg, of the bridge
	board    []resonance // driven by the force of the strings on the bridge
	knock    []resonance // set off by the stop of the stroke; gain is the amplitude
	tick     []resonance // set off by metal on steel; gain is the amplitude
}

// bridgeMobility is what the bridge yields, s/kg.
func bridgeMobility() float64 { return theBody().mobility }

var theBody = sync.OnceValue(func() *body {
	b, err := readBody(boardText)
	if err != nil {
		panic(err) // the embedded file; tested
	}
	return b
})

func readBody(text string) (*body, error) {
	rows, err := parseTable("board.txt", text)
	if err != nil {
		return nil, err
	}
	t := map[string][]row{}
	for word, n := range map[string]int{"mobility": 1, "direct": 1, "board": 3, "case": 3, "tick": 3} {
		if t[word], err = tableRows(rows, word, n); err != nil {
			return nil, err
		}
	}
	b := &body{mobility: t["mobility"][0].num[0]}
	// The direct sound is 1 - a/(s+a): all of the force, less this pole.
	a := 2 * math.Pi * t["direct"][0].num[0]
	b.board = append(b.board, resonance{pole: complex(-a, 0), gain: complex(-a, 0)})
	for _, r := range t["board"] {
		w := 2 * math.Pi * r.num[0]
		decay := w * r.num[1] / 100 / 2 // loss factor eta: amplitude falls at eta w / 2
		b.board = append(b.board, resonance{complex(-decay, w), complex(2*decay*r.num[2], 0)})
	}
	b.knock, b.tick = struck(t["case"]), struck(t["tick"])
	return b, nil
}

func struck(rows []row) []resonance {
	var out []resonance
	for _, r := range rows {
		out = append(out, resonance{complex(-r.num[1], 2*math.Pi*r.num[0]), complex(r.num[2], 0)})
	}
	return out
}

// drier is the body with its ring taken away: all decays times factor.
func (b *body) drier(factor float64) *body {
	d := &body{mobility: b.mobility}
	for _, r := range b.board {
		// The peak of a resonance is c/(2 decay): it keeps its height.
		f := complex(factor, 0)
		if imag(r.pole) == 0 {
			f = 1 // the direct sound's pole is no ring
		}
		d.board = append(d.board, resonance{complex(real(r.pole)*real(f), imag(r.pole)), r.gain * f})
	}
	for _, r := range b.knock {
		d.knock = append(d.knock, resonance{complex(real(r.pole)*factor, imag(r.pole)), r.gain})
	}
	d.tick = b.tick
	return d
}

// response is the transfer of the board, direct sound included, at the complex
// frequency s: what a force e^(st) that has lasted for ever comes out as.
func (b *body) response(s complex128) complex128 {
	h := complex(1, 0)
	for _, r := range b.board {
		h += r.gain / 2 * (1/(s-r.pole) + 1/(s-cmplx.Conj(r.pole)))
	}
	return h
}
