package show

import (
	"embed"
	"encoding/base64"
	"fmt"

	"rollwright/sound"
	"rollwright/telling/whatif"
)

// The engine answers in the page what the piece would be with another ratio: package
// whatif, compiled for browsers by tools/bundle.
//
//go:embed engine
var engineFiles embed.FS

// mostAsked is how many events a piece may have that is asked about in a page: a browser
// answers within a second.
const mostAsked = 30_000

// whatIfData is what the page asks with.
type whatIfData struct {
	Step   int            `json:"step"` // place in pageData.Steps
	Source *whatif.Source `json:"source"`
	Pairs  []pairData     `json:"pairs"`
	Ratios []ratioData    `json:"ratios"`
	Tones  [][4]int       `json:"tones"`  // piano, key, level, place in the bank
	Speeds []float64      `json:"speeds"` // of the hammer at each level: how loud one is beside another
}

// pairData are two voices whose ratio can be asked.
type pairData struct {
	whatif.Pair
	Written string `json:"written"` // their ratio in the piece
}

// ratioData is a number that a button asks.
type ratioData struct {
	Ratio string `json:"ratio"`
	Label string `json:"label"`
}

// ratios are those that halls ask for: the simple ones in the order of their size, and the
// best known that are none.
var ratios = []ratioData{
	{"1", "1 : 1"}, {"9/8", "9 : 8"}, {"5/4", "5 : 4"}, {"4/3", "4 : 3"}, {"sqrt(2)", "√2"}, {"3/2", "3 : 2"},
	{"phi", "φ"}, {"5/3", "5 : 3"}, {"7/4", "7 : 4"}, {"2", "2 : 1"}, {"e", "e"}, {"pi", "π"},
}

// whatIf are the pairs of voices whose ratio can be asked in the page; nil where there is
// none.
func (l *Lecture) whatIf() (*whatIfData, error) {
	if l.in.Source == nil || l.in.Performance.Count > mostAsked {
		return nil, nil
	}
	piece, err := whatif.Open(*l.in.Source)
	if err != nil {
		return nil, fmt.Errorf("show: %w", err)
	}
	d := &whatIfData{Source: l.in.Source, Ratios: ratios}
	for _, pair := range piece.Pairs() {
		d.Pairs = append(d.Pairs, pairData{pair, piece.Written(pair)})
	}
	if len(d.Pairs) == 0 {
		return nil, nil
	}
	for level := range 128 {
		d.Speeds = append(d.Speeds, round(sound.LevelSpeed(level), 4))
	}
	return d, nil
}

// whatIfStep plays the whole piece, as it would be.
func (l *Lecture) whatIfStep() *Step {
	return &Step{Number: len(l.Steps) + 1, Kind: whatIfKind, Besides: true, Title: l.Book.Say("page.whatif", nil),
		Hear: Score, Voices: allVoices(l.in), ToSec: l.in.Performance.EndSec, Rate: 1}
}

// tonesOf are the notes of the bank by piano, key and level: those that strings make.
func (b *Bank) tonesOf(pianos []sound.Piano) [][4]int {
	var tones [][4]int
	for i, p := range pianos {
		for n, t := range b.tones {
			if !t.knock && t.hammers == p.Hammers && t.dry == p.Dry && t.tuning == p.Tuning && t.copy == p.Copy {
				tones = append(tones, [4]int{i, int(t.key), int(t.level), n})
			}
		}
	}
	return tones
}

// engine is what the page runs: a script, and a program in base64.
func engine() (script, program string, err error) {
	text, err := engineFiles.ReadFile("engine/engine.js")
	if err != nil {
		return "", "", fmt.Errorf("show: %w", err)
	}
	packed, err := engineFiles.ReadFile("engine/engine.wasm.gz")
	if err != nil {
		return "", "", fmt.Errorf("show: %w", err)
	}
	return string(text), base64.StdEncoding.EncodeToString(packed), nil
}
