package perform_test

import (
	"strings"
	"testing"

	"pgregory.net/rapid"

	"rollwright/exact"
	"rollwright/music/perform"
	"rollwright/music/piece"
)

// nanosecond is what the package promises; a constant tempo does far better.
const (
	nanosecond = 1e-9
	tenHours   = 36000.0 // for pieces up to here
)

// TestRandomPieces has the judge look at pieces that use everything at once.
func TestRandomPieces(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := randomPiece(t)
		perf, err := perform.New(p, perform.Options{MaxEvents: 3000}) // more is too long for the judge
		if err != nil {
			mustBeRefused(t, err)
			t.Skip(err)
		}
		compareWithJudge(t, perf, nanosecond*max(1, perf.EndSec/tenHours))
	})
}

// mustBeRefused fails unless an error is one of those that random pieces earn.
func mustBeRefused(t *rapid.T, err error) {
	for _, reason := range []string{"has already ended", "has no note 1", "too large"} {
		if strings.Contains(err.Error(), reason) {
			return
		}
	}
	t.Fatal(err)
}

func pick[T any](t *rapid.T, name string, values ...T) T {
	return rapid.SampledFrom(values).Draw(t, name)
}

func randomPiece(t *rapid.T) *piece.Piece {
	p := pieceOf()
	for i := range rapid.IntRange(1, 4).Draw(t, "voices") {
		v := randomVoice(t)
		v.Name = string(rune('a' + i))
		placeVoice(t, &v, i)
		p.Voices = append(p.Voices, v)
	}
	if rapid.Bool().Draw(t, "canon") {
		addCanon(t, p)
	}
	return p
}

var durationPool = []string{"1", "2", "3", "1/2", "1/3", "0.35", "7/5", "4", "1/100", "3/4096"}

func randomVoice(t *rapid.T) piece.Voice {
	v := voice("", "1", "60")
	v.Talea = v.Talea[:0]
	for i := range rapid.IntRange(1, 6).Draw(t, "places") {
		d := piece.Duration{Units: rat(pick(t, "duration", durationPool...))}
		d.Silent = rapid.IntRange(0, 3).Draw(t, "silent") == 0
		v.Talea = append(v.Talea, d)
		if i == 0 {
			v.Talea[0].Silent = false
		}
	}
	v.Color = v.Color[:0]
	for range rapid.IntRange(1, 5).Draw(t, "members") {
		v.Color = append(v.Color, randomPitch(t))
	}
	for range rapid.IntRange(0, 3).Draw(t, "dynamics") {
		v.Dynamics = append(v.Dynamics, pick(t, "dynamic",
			piece.Dynamic{Level: 33}, piece.Dynamic{Level: 110}, piece.Dynamic{Level: 40, To: 99, Over: 7},
			piece.Dynamic{Level: 90, To: 9, Over: 1}))
	}
	for range rapid.IntRange(0, 3).Draw(t, "holds") {
		v.Hold = append(v.Hold, pick(t, "hold", piece.Hold{Share: real("4/5")}, piece.Hold{Share: real("sqrt(2)")},
			piece.Hold{Kind: piece.HoldTime, Sec: rat("0.09")}, piece.Hold{Kind: piece.HoldSingle}))
	}
	v.RotateColor, v.RotateTalea = rapid.IntRange(-7, 7).Draw(t, "rotate_color"),
		rapid.IntRange(-7, 7).Draw(t, "rotate_talea")
	v.Unit = rat(pick(t, "unit", "1/16", "1/12", "1/4"))
	v.PerColor, v.PerTalea = randomChange(t), randomChange(t)
	v.Stretch = real(pick(t, "stretch", "1", "1", "2/3", "sqrt(3)"))
	v.EachNote = real(pick(t, "each_note", "1", "1", "0.95", "21/20", "root(12, 2)", "1/2"))
	v.Transpose = rapid.IntRange(-9, 9).Draw(t, "transpose")
	if rapid.Bool().Draw(t, "inverted") {
		axis := rapid.IntRange(58, 66).Draw(t, "invert")
		v.Invert = &piece.Axis{Key: axis}
	}
	v.Backward = rapid.Bool().Draw(t, "backward")
	v.Tempo = real(pick(t, "tempo", "120", "92.5", "3/7 * 210"))
	v.Speed = real(pick(t, "speed", "1", "4/5", "sqrt(31)/4", "e/pi", "cents(50)"))
	for range pick(t, "legs", 0, 0, 0, 1, 3) {
		v.Path = append(v.Path, randomLeg(t))
	}
	v.Extent = pick(t, "extent", notes(1), notes(17), notes(70), taleae(3), piece.Extent{Kind: piece.Colores, Count: 3},
		units("6"), units("1.37"), seconds("2"), seconds("0.9"), piece.Extent{})
	if v.Extent.Kind == piece.Units || v.Extent.Kind == piece.Seconds {
		neverShrink(&v)
	}
	return v
}

// neverShrink keeps durations from coming to less than an extent asks for.
func neverShrink(v *piece.Voice) {
	for _, x := range []*exact.Real{&v.EachNote, &v.PerColor.StretchEach, &v.PerTalea.StretchEach} {
		if x.Cmp(exact.Real{}) < 0 {
			*x = exact.Real{}
		}
	}
}

func randomPitch(t *rapid.T) piece.Pitch {
	key := rapid.IntRange(56, 64).Draw(t, "key")
	p := piece.Pitch{Keys: []int{key}, Level: pick(t, "own level", 0, 0, 0, 111)}
	if rapid.Bool().Draw(t, "chord") {
		p.Keys = []int{key, key + 3, key + 7}
	}
	switch kind := pick(t, "gesture", piece.Plain, piece.Plain, piece.Plain, piece.Gliss, piece.Trill, piece.Repeat,
		piece.Cluster, piece.Spread, piece.Grace); kind {
	case piece.Gliss:
		p.Keys = []int{key, key + 2, key + 4, key + 5}
		p.Gesture = &piece.Gesture{Kind: kind, Ratio: real(pick(t, "ratio", "1", "4/5", "1000000001/1000000000"))}
	case piece.Trill:
		p.Keys = []int{key, key + 2, key + 5}
		p.Gesture = pick(t, "trill", &piece.Gesture{Kind: kind, EverySec: rat("1/14")},
			&piece.Gesture{Kind: kind, EveryUnits: rat("1/2")})
	case piece.Repeat:
		p.Gesture = pick(t, "repeat", &piece.Gesture{Kind: kind, EverySec: rat("1/10")},
			&piece.Gesture{Kind: kind, Fastest: true})
	case piece.Cluster:
		p.Gesture = &piece.Gesture{Kind: kind}
	case piece.Spread:
		p.Gesture = &piece.Gesture{Kind: kind, DelaySec: rat("0.03")}
	case piece.Grace:
		p.Keys = []int{key + 1, key, key + 4}
		p.Gesture = &piece.Gesture{Kind: kind, DelaySec: rat(pick(t, "grace", "0.04", "1"))}
	}
	return p
}

func randomChange(t *rapid.T) piece.Change {
	return piece.Change{
		Transpose:   pick(t, "transpose list", nil, []int{0, 3, -2}),
		StretchEach: real(pick(t, "stretch each", "1", "1", "2/3", "1.01", "root(12, 2)")),
		Stretch: pick(t, "stretch list", nil, nil, reals("1", "2/3", "1/2"), reals("sqrt(2)", "2*sqrt(2)"),
			reals("1", "phi")),
		Dynamics:      pick(t, "level list", nil, nil, []int{20, 100}),
		DynamicsEach:  pick(t, "level each", 0, 5, -7),
		TransposeEach: 0, // grows out of the keys; TestKeys is for that
	}
}

func randomLeg(t *rapid.T) piece.Leg {
	l := piece.Leg{Shape: pick(t, "shape", piece.Geometric, piece.PerUnit, piece.PerSecond)}
	if l.HasFrom = rapid.Bool().Draw(t, "has from"); l.HasFrom {
		l.From = real(pick(t, "from", "60", "240", "45.5"))
	}
	if l.HasTo = rapid.Bool().Draw(t, "has to"); l.HasTo {
		l.To = real(pick(t, "to", "61", "300", "33*sqrt(2)"))
	}
	if rapid.Bool().Draw(t, "over units") {
		l.OverUnits = rat(pick(t, "units", "4", "16", "7.25"))
	} else {
		l.OverSec = rat(pick(t, "seconds", "1", "2.5"))
	}
	return l
}

// placeVoice puts voice i somewhere, with reference to earlier ones at most.
func placeVoice(t *rapid.T, v *piece.Voice, i int) {
	point := func(name string) piece.Point {
		return pick(t, name, piece.Point{}, piece.Point{Kind: piece.AtEnd}, piece.Point{Kind: piece.AtNote, N: 1},
			piece.Point{Kind: piece.AtNoteEnd, N: 1}, piece.Point{Kind: piece.AtUnit, X: rat("5/2")},
			piece.Point{Kind: piece.AtShare, X: rat("2/3")})
	}
	v.Place.At = rat(pick(t, "at", "0", "1", "0.35"))
	kinds := []piece.PlaceKind{piece.StartAt, piece.MeetAt}
	if i > 0 {
		kinds = append(kinds, piece.After, piece.MeetWith)
	}
	v.Place.Kind = pick(t, "place", kinds...)
	v.Place.Mine, v.Place.Theirs = point("mine"), point("theirs")
	if i == 0 {
		return
	}
	v.Place.Ref = toVoice(rapid.IntRange(0, i-1).Draw(t, "reference"))
	if rapid.IntRange(0, 4).Draw(t, "until") == 0 {
		neverShrink(v)
		v.Extent = piece.Extent{Kind: piece.Until, Ref: toVoice(rapid.IntRange(0, i-1).Draw(t, "until whom"))}
		v.Place = piece.Place{At: v.Place.At}
	}
	if v.Extent.Kind == piece.Seconds || v.Extent.Kind == piece.Until {
		return
	}
	switch rapid.IntRange(0, 3).Draw(t, "lasts") {
	case 0:
		v.Lasts = piece.Lasts{Set: true, Sec: rat("7.3"), As: toVoice(-1)}
	case 1:
		v.Lasts = piece.Lasts{Set: true, As: v.Place.Ref}
	}
}

// addCanon adds three voices like the first one that meet, and a voice after
// them.
func addCanon(t *rapid.T, p *piece.Piece) {
	c := piece.Canon{Name: "canon", Section: -1, Meet: pick(t, "meet", piece.Point{Kind: piece.AtShare, X: rat("2/3")},
		piece.Point{Kind: piece.AtEnd}, piece.Point{Kind: piece.AtNote, N: 1})}
	if c.HasAt = rapid.Bool().Draw(t, "has at"); c.HasAt {
		c.At = rat("1/3")
	}
	subject := randomVoice(t)
	if subject.Extent.Kind != piece.Seconds && rapid.Bool().Draw(t, "canon lasts") {
		c.Lasts = piece.Lasts{Set: true, Sec: rat("11")}
	}
	for _, speed := range []string{"4", "5", "sqrt(31)"} {
		v := subject
		v.Canon, v.Place, v.Speed = 0, piece.Place{Kind: piece.InCanon}, real(speed)
		c.Voices = append(c.Voices, len(p.Voices))
		p.Voices = append(p.Voices, v)
	}
	p.Canons = []piece.Canon{c}
	after := voice("after", "1 (1/7)", "60")
	after.Place = piece.Place{Kind: piece.After, Ref: toCanon(0)}
	p.Voices = append(p.Voices, after)
}
