package perform_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math/big"
	"math/rand/v2"
	"os"
	"os/exec"
	"strings"
	"testing"

	judges "rollwright/internal/judge"
	"rollwright/internal/long"
	"rollwright/music/perform"
	"rollwright/music/piece"
	"rollwright/music/piecefile"
	"rollwright/text/source"
)

// The problems are solved a second time by testdata/solve/solve.py, with mpmath at
// 60 digits, from the laws of tempo and the rules of the language alone.

type askedPoint struct {
	Kind string `json:"kind"`
	N    int    `json:"n,omitempty"`
}

func (p askedPoint) text() string {
	switch p.Kind {
	case "note", "unit":
		return fmt.Sprint(p.Kind, " ", p.N)
	case "note end":
		return fmt.Sprintf("note %d end", p.N)
	}
	return p.Kind
}

type askedLeg struct {
	From  string `json:"from"`
	To    string `json:"to"`
	Over  string `json:"over"`
	Shape string `json:"shape"`
}

type askedVoice struct {
	Talea    []int      `json:"talea"`
	Notes    int        `json:"notes"`
	Tempo    string     `json:"tempo"`
	Speed    string     `json:"speed"`
	Stretch  string     `json:"stretch"`
	EachNote string     `json:"each_note"`
	Legs     []askedLeg `json:"legs,omitempty"`
}

// text is what a voice says but for its place.
func (v *askedVoice) text() string {
	var b strings.Builder
	fmt.Fprintf(&b, "  talea = %q\n  color = \"C4 D4 E4 F4\"\n  extent = \"%d notes\"\n", strings.Trim(fmt.Sprint(v.Talea), "[]"),
		v.Notes)
	for _, a := range [][2]string{{"tempo", v.Tempo}, {"speed", v.Speed}, {"stretch", v.Stretch},
		{"each_note", v.EachNote}} {
		if a[0] == "tempo" && len(v.Legs) > 0 || a[1] == "1" {
			continue
		}
		fmt.Fprintf(&b, "  %s = %q\n", a[0], a[1])
	}
	if len(v.Legs) > 0 {
		b.WriteString("  tempo_path {\n")
		for _, l := range v.Legs {
			fmt.Fprintf(&b, "    leg {\n      from = %q\n      to = %q\n      over = %q\n      shape = %q\n    }\n", l.From, l.To,
				l.Over, l.Shape)
		}
		b.WriteString("  }\n")
	}
	return b.String()
}

// askedInstant is when something falls: a time, or a point of a voice that starts
// at 0.
type askedInstant struct {
	At    string      `json:"at,omitempty"`
	Voice *askedVoice `json:"voice,omitempty"`
	Point *askedPoint `json:"point,omitempty"`
	Later string      `json:"later,omitempty"`
}

func (at *askedInstant) text(mine askedPoint) string {
	var b strings.Builder
	b.WriteString("  meet {\n")
	if at.Voice == nil {
		fmt.Fprintf(&b, "    at = \"%s s\"\n", at.At)
	} else {
		fmt.Fprintf(&b, "    with = \"other\"\n    theirs = %q\n", at.Point.text())
	}
	if mine.Kind != "start" {
		fmt.Fprintf(&b, "    mine = %q\n", mine.text())
	}
	if at.Later != "" {
		fmt.Fprintf(&b, "    later = \"%s s\"\n", at.Later)
	}
	return b.String() + "  }\n"
}

// askedProblem is one problem as solve.py reads it, with the piece that asks it.
type askedProblem struct {
	Voice   *askedVoice    `json:"voice,omitempty"`
	Unknown map[string]any `json:"unknown,omitempty"`
	Points  []askedPoint   `json:"points,omitempty"`
	Apart   map[string]any `json:"apart,omitempty"`
	Bounds  []string       `json:"bounds,omitempty"`
	Rows    [][]string     `json:"rows,omitempty"` // equations, in place of all the rest

	kind  string
	piece string
	asks  []int // which of the numbers of Rows voices ask for, in the order of the answers
}

// problems draws problems of one kind.
type problems struct{ r *rand.Rand }

func (g *problems) of(list ...string) string { return list[g.r.IntN(len(list))] }

func (g *problems) voice() *askedVoice {
	v := &askedVoice{Notes: 20 + g.r.IntN(40), Tempo: g.of("60", "72", "90.5", "sqrt(2)*60"),
		Speed: g.of("1", "1", "4/3", "sqrt(2)", "phi"), Stretch: g.of("1", "1", "3/2", "sqrt(3)"), EachNote: "1"}
	for range 2 + g.r.IntN(6) {
		v.Talea = append(v.Talea, 1+g.r.IntN(5))
	}
	return v
}

func (g *problems) path(v *askedVoice) {
	for range 1 + g.r.IntN(2) {
		v.Legs = append(v.Legs, askedLeg{From: g.of("60", "80", "100"), To: g.of("50", "70", "120", "sqrt(2)*90"),
			Over: g.of("24", "40.5", "64"), Shape: g.of("geometric", "per-unit", "per-second")})
	}
	v.Tempo = "60"
}

func (g *problems) point(v *askedVoice, from int) askedPoint {
	n := from + g.r.IntN(v.Notes-from) + 1
	return []askedPoint{{"note", n}, {"note", n}, {"note end", n}, {"end", 0}, {"unit", n}}[g.r.IntN(5)]
}

func (g *problems) time(from, to int) string {
	return fmt.Sprintf("%d.%03d", from+g.r.IntN(to-from), g.r.IntN(1000))
}

func (g *problems) instant(from, to int) (at askedInstant) {
	if g.r.IntN(3) > 0 {
		return askedInstant{At: g.time(from, to)}
	}
	other := g.voice()
	p := g.point(other, from*other.Notes/(to+1))
	return askedInstant{Voice: other, Point: &p}
}

// alone asks for one number of one voice: two points of it fall at two instants, or
// it lasts so long.
func (g *problems) alone(kind string) *askedProblem {
	v := g.voice()
	p := &askedProblem{kind: kind, Voice: v, Unknown: map[string]any{"kind": kind, "leg": 0}}
	bounds := piece.Unknown{Kind: map[string]piece.UnknownKind{"speed": piece.UnknownSpeed, "tempo": piece.UnknownTempo,
		"stretch": piece.UnknownStretch, "each_note": piece.UnknownEachNote, "from": piece.UnknownFrom,
		"to": piece.UnknownTo, "over": piece.UnknownOver}[kind]}
	low, high := bounds.Bounds()
	p.Bounds = []string{fmt.Sprintf("%f", low), fmt.Sprintf("%f", high)}
	switch kind {
	case "speed":
		v.Speed = "?"
		if g.r.IntN(2) == 0 {
			g.path(v)
		}
	case "tempo":
		v.Tempo = "?"
	case "stretch":
		v.Stretch = "?"
		if g.r.IntN(3) == 0 {
			g.path(v)
		}
	case "each_note":
		v.EachNote, v.Notes = "?", 20+g.r.IntN(12)
	default:
		g.path(v)
		leg := g.r.IntN(len(v.Legs))
		p.Unknown["leg"] = leg
		*map[string]*string{"from": &v.Legs[leg].From, "to": &v.Legs[leg].To, "over": &v.Legs[leg].Over}[kind] = "?"
	}
	p.place(g)
	return p
}

// place says where the voice stands, and writes the piece.
func (p *askedProblem) place(g *problems) {
	v, others := p.Voice, ""
	var said string
	if g.r.IntN(4) == 0 {
		sec := g.time(8, 40)
		p.Points, p.Apart = []askedPoint{{"start", 0}, {"end", 0}}, map[string]any{"sec": sec}
		said = fmt.Sprintf("  lasts = \"%s s\"\n", sec)
	} else {
		a, b := g.instant(2, 8), g.instant(10, 30)
		if a.Voice != nil && b.Voice != nil {
			b = askedInstant{At: g.time(10, 30)}
		}
		if g.r.IntN(3) == 0 {
			b.Later = g.of("0.25", "-0.3", "1.5")
		}
		first := askedPoint{Kind: "start"}
		if g.r.IntN(2) == 0 {
			first = g.point(v, 0)
		}
		second := g.point(v, v.Notes/2)
		p.Points, p.Apart = []askedPoint{first, second}, map[string]any{"from": a, "to": b}
		said = a.text(first) + b.text(second)
		for _, at := range []askedInstant{a, b} {
			if at.Voice != nil {
				others += "voice \"other\" {\n" + at.Voice.text() + "}\n"
			}
		}
	}
	p.piece = "tempo = 60\n" + others + "voice \"asked\" {\n" + v.text() + said + "}\n"
}

// canon is a voice of a canon that asks for its speed beside the meeting point.
func (g *problems) canon() *askedProblem {
	v := g.voice()
	v.Tempo, v.Stretch, v.Speed = "60", "1", "?"
	meet, mine := askedPoint{"note", 1 + g.r.IntN(v.Notes/2)}, g.point(v, v.Notes/2)
	a, b := g.time(20, 30), g.time(31, 50)
	p := &askedProblem{kind: "canon", Voice: v, Unknown: map[string]any{"kind": "speed"}, Points: []askedPoint{meet, mine},
		Bounds: []string{"0.000001", "1000000"},
		Apart:  map[string]any{"from": askedInstant{At: a, Later: "0.5"}, "to": askedInstant{At: b}}}
	subject := *v
	subject.Speed = "1"
	p.piece = fmt.Sprintf("tempo = 60\ntune \"line\" {\n%s}\ncanon \"c\" {\n  subject = \"line\"\n  meet = %q\n  at = \"%s s\"\n"+
		"  voice \"first\" {}\n  voice \"asked\" {\n    speed = \"?\"\n    later = \"500 ms\"\n    meet {\n      at = \"%s s\"\n      mine = %q\n    }\n  }\n}\n",
		subject.text(), meet.text(), a, b, mine.text())
	return p
}

// together is two voices whose places and speeds depend on each other. Voice a has a
// point at a time and one on a point of b; b has one at a time and one on a point of
// a, all of them later than the one before.
func (g *problems) together() *askedProblem {
	a, b := g.voice(), g.voice()
	a.Notes, b.Notes = 50, 50
	for _, v := range []*askedVoice{a, b} {
		v.Tempo, v.Speed, v.Stretch = "60", "?", "1"
	}
	ia, ja, ka := 1+g.r.IntN(10), 12+g.r.IntN(15), 30+g.r.IntN(20)
	ib, jb, kb := 1+g.r.IntN(10), 12+g.r.IntN(15), 30+g.r.IntN(20)
	ta, tb := g.time(1, 6), g.time(1, 6)
	p := &askedProblem{kind: "together", asks: []int{1, 3}}
	note := func(v *askedVoice, n int) string { // seconds from the start at speed 1: a unit is a quarter of a second
		units := 0
		for i := range n - 1 {
			units += v.Talea[i%len(v.Talea)]
		}
		return fmt.Sprintf("%g", float64(units)/4)
	}
	later := g.of("0", "0.5", "2")
	p.Rows = [][]string{
		{"1", note(a, ia), "0", "0", ta},
		{"1", note(a, ja), "-1", "-" + note(b, jb), later},
		{"0", "0", "1", note(b, ib), tb},
		{"-1", "-" + note(a, ka), "1", note(b, kb), "0"},
	}
	meet := func(with, theirs, at, mine, later string) string {
		if with != "" {
			return fmt.Sprintf("  meet {\n    with = %q\n    theirs = %q\n    mine = %q\n    later = \"%s s\"\n  }\n", with, theirs,
				mine, later)
		}
		return fmt.Sprintf("  meet {\n    at = \"%s s\"\n    mine = %q\n  }\n", at, mine)
	}
	n := func(n int) string { return fmt.Sprint("note ", n) }
	p.piece = "tempo = 60\nvoice \"a\" {\n" + a.text() + meet("", "", ta, n(ia), "") + meet("b", n(jb), "", n(ja), later) +
		"}\nvoice \"b\" {\n" + b.text() + meet("", "", tb, n(ib), "") + meet("a", n(ka), "", n(kb), "0") + "}\n"
	return p
}

// crossing is three voices of a canon of which one has its speed and one its speed
// and its start: unknown are start and speed of the middle one and the first one's
// start. A voice is at q*t + b units; q is 4 times its speed.
func (g *problems) crossing() *askedProblem {
	one := g.of("3/2", "2", "5/4")
	t12, t13, t23 := g.time(20, 40), g.time(45, 70), g.time(30, 100)
	p := &askedProblem{kind: "crossing", asks: []int{3}}
	p.Rows = [][]string{
		{"1", "0", "0", "0", "0", "0", "4*" + one},
		{t12, "1", "0", "-" + t12, "-1", "0", "0"},
		{t13, "1", "-" + t13, "0", "0", "-1", "0"},
		{"0", "0", t23, "-" + t23, "-1", "1", "0"},
		{"0", "0", "1", "0", "0", "0", "4"},
		{"0", "0", "0", "0", "0", "1", "0"},
	}
	// unknowns: q1 b1 q3 q2 b2 b3
	cross := func(voices, at string) string {
		return fmt.Sprintf("  cross {\n    voices = %q\n    at = \"%s s\"\n  }\n", voices, at)
	}
	p.piece = "tempo = 60\ntune \"line\" {\n  talea = \"4\"\n  color = \"C4 D4\"\n  extent = \"400 notes\"\n}\n" +
		"canon \"c\" {\n  subject = \"line\"\n" + cross("one two", t12) + cross("one three", t13) + cross("two three", t23) +
		"  voice \"one\" {\n    speed = \"" + one + "\"\n  }\n  voice \"two\" {\n    speed = \"?\"\n  }\n" +
		"  voice \"three\" {\n    start = 0\n  }\n}\n"
	return p
}

// asked are the numbers that a piece asks for as package perform finds them, in the
// order of its voices; else what it says is wrong.
func (p *askedProblem) asked(t *testing.T) (values []string, problem string) {
	t.Helper()
	parsed, err := piecefile.Parse(&source.File{Name: p.kind + ".piece", Text: []byte(p.piece)})
	if err != nil {
		t.Fatalf("%v\n%s", err, p.piece)
	}
	perf, err := perform.New(parsed, perform.Options{})
	if err != nil {
		return nil, err.Error()
	}
	for voice := range parsed.Voices {
		for _, f := range perf.Found {
			if f.Voice == voice {
				values = append(values, f.Value.Float(220).Text('f', 40))
			}
		}
	}
	return values, ""
}

// TestSolve60 draws five problems of each of ten kinds (20 where ROLLWRIGHT_LONG is
// set), and solves them here and with
// mpmath: the same answer to 18 digits, or none, or several.
func TestSolve60(t *testing.T) {
	python := judges.Python(t, "mpmath")
	g := &problems{rand.New(rand.NewPCG(60, 18))}
	var all []*askedProblem
	for range long.Of(5, 20) {
		for _, kind := range []string{"speed", "tempo", "stretch", "each_note", "from", "to", "over"} {
			all = append(all, g.alone(kind))
		}
		all = append(all, g.canon(), g.together(), g.crossing())
	}
	var lines bytes.Buffer
	for _, p := range all {
		if err := json.NewEncoder(&lines).Encode(p); err != nil {
			t.Fatal(err)
		}
	}
	cmd := exec.Command(python, "testdata/solve/solve.py")
	cmd.Stdin, cmd.Stderr = &lines, os.Stderr
	out, err := cmd.Output()
	if err != nil {
		t.Fatal(err)
	}
	answers := json.NewDecoder(bytes.NewReader(out))
	solved, none := map[string]int{}, 0
	for i, p := range all {
		var want []string
		if err := answers.Decode(&want); err != nil {
			t.Fatal(err)
		}
		got, problem := p.asked(t)
		if p.Rows != nil {
			want = p.positive(want)
		}
		switch {
		case len(want) == 0:
			none++
			if problem == "" {
				t.Errorf("problem %d, %s: %v found, but there is no answer\n%s", i, p.kind, got, p.piece)
			}
		case len(want) > 1 && p.Rows == nil:
			if !strings.Contains(problem, "more than one") {
				t.Errorf("problem %d, %s: found %v %s, want %v\n%s", i, p.kind, got, problem, want, p.piece)
			}
		case problem != "":
			t.Errorf("problem %d, %s: %s, want %v\n%s", i, p.kind, problem, want, p.piece)
		default:
			solved[p.kind]++
			for k := range want {
				if off := apart(got[k], want[k]); off > 5.1e-18 {
					t.Errorf("problem %d, %s: found %s, want %s\n%s", i, p.kind, got[k], want[k], p.piece)
				}
			}
		}
	}
	t.Logf("solved %v, %d without an answer", solved, none)
	if len(solved) != 10 || none < 5 {
		t.Errorf("problems of %d kinds are solved, %d have no answer", len(solved), none)
	}
}

// positive are the answers among the solutions of equations: none where a voice
// would have to go backward.
func (p *askedProblem) positive(values []string) []string {
	var out []string
	for _, k := range p.asks {
		x, _ := new(big.Float).SetPrec(220).SetString(values[k])
		if x.Sign() <= 0 {
			return nil
		}
		if p.kind == "together" {
			x.Quo(big.NewFloat(1).SetPrec(220), x) // seconds a second, of which the speed is the inverse
		} else {
			x.Quo(x, big.NewFloat(4))
		}
		out = append(out, x.Text('f', 40))
	}
	return out
}

// apart is the difference of two decimals as a share of the second.
func apart(a, b string) float64 {
	x, _ := new(big.Float).SetPrec(220).SetString(a)
	y, _ := new(big.Float).SetPrec(220).SetString(b)
	d := new(big.Float).SetPrec(220).Sub(x, y)
	off, _ := d.Quo(d, y).Float64()
	return max(off, -off)
}
