package sound

import (
	_ "embed"
	"fmt"
	"math"
	"strings"
	"sync"
)

// Hammers says what meets the strings.
type Hammers uint8

// The three sets of hammers.
const (
	Felt  Hammers = iota // felt as the maker left it
	Metal                // felt wrapped in a thin strip of metal
	Tacks                // a loose point of steel in the felt
)

// hammerNames are the words of the piece file, in the order of the constants.
var hammerNames = [...]string{"felt", "metal", "tacks"}

func (h Hammers) String() string {
	if int(h) < len(hammerNames) {
		return hammerNames[h]
	}
	return fmt.Sprintf("Hammers(%d)", uint8(h))
}

// ParseHammers reads "felt", "metal" or "tacks".
func ParseHammers(s string) (Hammers, error) {
	for i, name := range hammerNames {
		if s == name {
			return Hammers(i), nil
		}
	}
	return 0, fmt.Errorf("sound: no hammers %q; there are %s", s, strings.Join(hammerNames[:], ", "))
}

//go:embed hammers.txt
var hammersText string

// A head is one line of hammers.txt: what a set of hammers changes of felt.
type head struct {
	stiffness, exponent float64 // factor, difference
	mass                float64 // factor
	relax, relaxSec     float64
	tipKg, gapM, tipK   float64
	widthM              float64
	tickDB              float64 // 0: none
}

var heads = sync.OnceValue(func() []head {
	h, err := readHeads(hammersText)
	if err != nil {
		panic(err) // the embedded file; tested
	}
	return h
})

func readHeads(text string) ([]head, error) {
	rows, err := parseTable("hammers.txt", text)
	if err != nil {
		return nil, err
	}
	rows, err = tableRows(rows, "hammer", 10)
	if err != nil {
		return nil, err
	}
	out := make([]head, len(hammerNames))
	for _, r := range rows {
		i, err := ParseHammers(r.name)
		if err != nil {
			return nil, err
		}
		n := r.num
		out[i] = head{n[0], n[1], n[2], n[3], n[4] / 1e3, n[5] / 1e3, n[6] / 1e3, n[7], n[8] / 1e3, n[9]}
	}
	return out, nil
}

// LevelSpeed is the speed of the hammer, m/s, at a level of 1 to 127: equal
// ratios from 0.4 to 6 m/s. Hammer speeds of 1 to 6 m/s span the normal range
// (Russell and Rossing 1998); that the lowest levels lie below is assumed,
// and so is the even spread.
func LevelSpeed(level int) float64 {
	if level >= 1 && level < len(levelSpeeds) {
		return levelSpeeds[level]
	}
	return levelSpeed(level)
}

func levelSpeed(level int) float64 {
	const softest, hardest = 0.4, 6.0
	return softest * math.Pow(hardest/softest, float64(level-1)/126)
}

// SoftLevel is the level at which a stroke of a level is heard under the soft pedal, whose rail
// halves the way of the hammers (common practice in uprights and players, no source): the same
// push over half the way gives half the energy, 0.7 of the speed, 16 levels less. So it is a
// step of dynamics softer, and darker as that step is.
func SoftLevel(level int) int { return max(1, level-softLevels) }

// softLevels is the nearest whole number of levels to half the energy: 126 ln sqrt(2) / ln 15
// is 16.1.
const softLevels = 16

var levelSpeeds = func() (v [128]float64) {
	for level := range v {
		v[level] = levelSpeed(level)
	}
	return v
}()
