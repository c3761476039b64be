package sound

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"
	"sync"
)

// keys is how many keys have strings.
const keys = HighestKey - LowestKey + 1

// A Tuning says where the first partial of each key lies. The zero value is the
// stretched tuning on A4 = 440 Hz (ISO 16). Tunings compare with ==.
type Tuning struct {
	a4Hz  float64       // 0: concertPitch
	other bool          // cents says it; otherwise the stretched tuning does
	cents [keys]float64 // from equal temperament on A4
}

// Bounds of what A4 may be tuned to, Hz, and of what a table may say of a key, cents: strings
// of another pitch would be others.
const (
	LowestA4Hz  = 380
	HighestA4Hz = 480
	mostCents   = 300
)

// Names of tunings, as a piece writes them.
const (
	Stretched = "stretched" // octaves as wide as the strings ask for
	Equal     = "equal"     // every first partial at equal temperament
)

// temperaments are cents from equal temperament by pitch class, from C, with A at 0.
// They follow from how far each narrows its fifths (commas: syntonic 21.506 cents,
// Pythagorean 23.460): a quarter of the syntonic for 1/4 comma, and C-G-D-A-E of
// Kirnberger III; a quarter of the Pythagorean for C-G-D-A and B-F# of Werckmeister III;
// a sixth of it for F-C-G-D-A-E-B of Vallotti. They agree with the table at
// hpschd.nu/tech/tun/cents.html within its rounding of half a cent.
var temperaments = map[string][12]float64{
	"quarter-comma":  {10.26, -13.69, 3.42, 20.53, -3.42, 13.69, -10.26, 6.84, -17.11, 0, 17.11, -6.84},
	"werckmeister-3": {11.73, 1.96, 3.91, 5.87, 1.96, 9.78, 0, 7.82, 3.91, 0, 7.82, 3.91},
	"vallotti":       {5.87, 0, 1.96, 3.91, -1.96, 7.82, -1.96, 3.91, 1.96, 0, 5.87, -3.91},
	"kirnberger-3":   {10.26, 0.49, 3.42, 4.40, -3.42, 8.31, 0.49, 6.84, 2.44, 0, 6.35, -1.47},
}

// TuningNames are the names that ParseTuning knows.
func TuningNames() []string {
	return []string{Stretched, Equal, "kirnberger-3", "quarter-comma", "vallotti", "werckmeister-3"}
}

// ParseTuning is the tuning of a name, "" being Stretched, with A4 at a4Hz, 0 being 440 Hz. A
// temperament other than the equal one is laid over the stretched tuning, as a tuner
// widens its octaves too. Errors: an unknown name, an A4 outside of 380 to 480 Hz.
func ParseTuning(name string, a4Hz float64) (Tuning, error) {
	t := Tuning{}
	switch fifths, known := temperaments[name]; {
	case name == "" || name == Stretched:
	case name == Equal:
		t.other = true
	case known:
		t.other, t.cents = true, stretch()
		for i := range t.cents {
			t.cents[i] += fifths[(LowestKey+i)%12]
		}
	default:
		return Tuning{}, fmt.Errorf("sound: no tuning %q; there are %s", name, strings.Join(TuningNames(), ", "))
	}
	return t.At(a4Hz)
}

// At is the tuning with A4 at another pitch, Hz, 0 being 440. Errors: one outside of 380
// to 480 Hz.
func (t Tuning) At(a4Hz float64) (Tuning, error) {
	if a4Hz != 0 && !(a4Hz >= LowestA4Hz && a4Hz <= HighestA4Hz) {
		return t, fmt.Errorf("sound: A4 at %v Hz, wanted %d to %d", a4Hz, LowestA4Hz, HighestA4Hz)
	}
	if t.a4Hz = a4Hz; a4Hz == concertPitch {
		t.a4Hz = 0
	}
	return t, nil
}

// ReadTuning reads a table of keys and their cents from equal temperament: CSV with a first
// line "key,cents", then a line a key, 21 (A0) to 108 (C8), -300 to 300 cents. A key that the
// table leaves out stays where the stretched tuning has it. Errors name the line.
func ReadTuning(r io.Reader) (Tuning, error) {
	rows := csv.NewReader(r)
	rows.Comment, rows.FieldsPerRecord, rows.TrimLeadingSpace = '#', 2, true
	head, err := rows.Read()
	if err != nil || !strings.EqualFold(strings.TrimPrefix(head[0], "\ufeff"), "key") ||
		!strings.EqualFold(strings.TrimSpace(head[1]), "cents") {
		return Tuning{}, errors.New("line 1: a table of a tuning begins with the line key,cents")
	}
	t := Tuning{other: true, cents: stretch()}
	var seen [keys]bool
	for {
		row, err := rows.Read()
		if err == io.EOF {
			break
		}
		if err != nil {
			return Tuning{}, err
		}
		line, _ := rows.FieldPos(0)
		key, err := strconv.Atoi(strings.TrimSpace(row[0]))
		if err != nil || key < LowestKey || key > HighestKey {
			return Tuning{}, fmt.Errorf("line %d: key %q, wanted %d to %d", line, row[0], LowestKey, HighestKey)
		}
		cents, err := strconv.ParseFloat(strings.TrimSpace(row[1]), 64)
		if err != nil || !(math.Abs(cents) <= mostCents) {
			return Tuning{}, fmt.Errorf("line %d: %q cents, wanted a number from %d to %d", line, row[1], -mostCents, mostCents)
		}
		if seen[key-LowestKey] {
			return Tuning{}, fmt.Errorf("line %d: key %d stands there twice", line, key)
		}
		seen[key-LowestKey], t.cents[key-LowestKey] = true, cents
	}
	if !slices.Contains(seen[:], true) {
		return Tuning{}, errors.New("the table of the tuning has no key")
	}
	return t, nil
}

// Code is the tuning in characters that a URL holds, for those who keep or send it;
// TuningOfCode reads it. The code of the zero value is empty.
func (t Tuning) Code() string {
	if t == (Tuning{}) {
		return ""
	}
	code := []string{strconv.FormatFloat(t.A4Hz(), 'f', -1, 64)}
	if t.other {
		for _, c := range t.cents {
			code = append(code, strconv.FormatFloat(c, 'f', -1, 64))
		}
	}
	return strings.Join(code, "_")
}

// TuningOfCode is the tuning that Code wrote. Errors: anything else.
func TuningOfCode(code string) (Tuning, error) {
	if code == "" {
		return Tuning{}, nil
	}
	fields := strings.Split(code, "_")
	t := Tuning{other: len(fields) > 1}
	if t.other && len(fields) != 1+keys {
		return Tuning{}, fmt.Errorf("sound: a tuning of %d keys", len(fields)-1)
	}
	for i, f := range fields {
		x, err := strconv.ParseFloat(f, 64)
		switch {
		case err != nil || i > 0 && !(math.Abs(x) <= mostCents+50):
			return Tuning{}, fmt.Errorf("sound: no code of a tuning: %q", f)
		case i > 0:
			t.cents[i-1] = x
		default:
			if t, err = t.At(x); err != nil {
				return Tuning{}, err
			}
		}
	}
	return t, nil
}

// A4Hz is where A4 lies if the tuning leaves it at 0 cents.
func (t *Tuning) A4Hz() float64 {
	if t.a4Hz == 0 {
		return concertPitch
	}
	return t.a4Hz
}

// Cents are those of a key with strings above equal temperament on A4.
func (t *Tuning) Cents(key int) float64 {
	if !t.other {
		return stretch()[key-LowestKey]
	}
	return t.cents[key-LowestKey]
}

// FirstHz is the first partial of a key with strings.
func (t *Tuning) FirstHz(key int) float64 {
	return EqualTemperedHz(key) * t.A4Hz() / concertPitch * math.Exp2(t.Cents(key)/1200)
}

// A row of "octave" in scale.txt says of the upper key of an octave which of the lower
// key's partials meets which of its own: 2 is the second with the first (2:1), 6 the
// sixth with the third (6:3); between two rows, a type between.
type octaveTypes []row

// temperedFrom and temperedTo bound the octave from which the others are tuned, A3 to A4.
const temperedFrom, temperedTo = 57, 69

// stretch are the cents by key of the stretched tuning, by the stiffness of the strings
// that are tuned to it.
var stretch = sync.OnceValue(func() (cents [keys]float64) {
	rows, err := parseTable("scale.txt", scaleText)
	if err != nil {
		panic(err) // embedded; tested
	}
	types, err := tableRows(rows, "octave", 2)
	if err != nil {
		panic(err) // embedded; tested
	}
	// What a string's stiffness is depends a little on its tuning: the second round is
	// within a thousandth of a cent.
	for range 3 {
		cents = stretchOf(types, cents)
	}
	return cents
})

// stretchOf is one round: the stretch that strings tuned to given cents ask for. A3 to
// A4 is as wide as its octave type says, its keys evenly so; from there every key is
// tuned to the one an octave nearer.
func stretchOf(types octaveTypes, tuned [keys]float64) (cents [keys]float64) {
	courses := designed()
	for i := range courses {
		courses[i].FirstHz = EqualTemperedHz(LowestKey+i) * math.Exp2(tuned[i]/1200)
		courses[i].tune()
	}
	width := func(upper int) float64 {
		low, high := &courses[upper-12-LowestKey], &courses[upper-LowestKey]
		return OctaveStretch(low.Stiffness, high.Stiffness, linear(types, upper, 1))
	}
	whole := width(temperedTo)
	for key := temperedFrom; key <= temperedTo; key++ {
		cents[key-LowestKey] = whole * float64(key-temperedTo) / (temperedTo - temperedFrom)
	}
	for key := temperedTo + 1; key <= HighestKey; key++ {
		cents[key-LowestKey] = cents[key-12-LowestKey] + width(key)
	}
	for key := temperedFrom - 1; key >= LowestKey; key-- {
		cents[key-LowestKey] = cents[key+12-LowestKey] - width(key+12)
	}
	return cents
}

// OctaveStretch is by how many cents the first partials of an octave lie further apart
// than 2:1 when partial a of the lower string, of stiffness low, meets partial a/2 of the
// upper one. Partial n of a stiff string is 600 log2(1 + B n^2) cents above n f0 (H.
// Fletcher, JASA 36 (1964) 203).
func OctaveStretch(low, high, a float64) float64 {
	sharp := func(n, b float64) float64 { return 600 * math.Log2(1+b*n*n) }
	return sharp(a, low) - sharp(a/2, high) + sharp(1, high) - sharp(1, low)
}
