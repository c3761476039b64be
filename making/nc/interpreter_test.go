package nc_test

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// interpreter runs a program as the NIST RS274/NGC Interpreter, version 3
// (2000), defines its words. It was written from that definition and knows
// nothing of the writer: what it does not know is an error, and so is
// everything the definition forbids.
type interpreter struct {
	motion         int  // modal group 1: 0, 1, 2, 3
	inches         bool // group 6
	absolute       bool // group 3
	perMinute      bool // group 5
	plane, units   bool // G17 and G20 or G21 have been said
	feed           float64
	x, y           float64 // millimetres
	on             bool    // something that makes holes is
	outputs        map[string]bool
	cold           map[int]bool // numbered outputs that are air or a lamp
	power          float64      // S; unknown counts as some
	ended          bool         // M2
	strokes        []stroke
	dwellSec       float64
	travelMM       float64
	cutMM          float64
	comments       []string
	lines, longest int
}

// stroke is the path of the tool while it is on: a corner, or a point of an
// arc, every so often.
type stroke struct {
	points []spot
}

type spot struct{ x, y float64 }

// bounds are the extremes of the path.
func (s *stroke) bounds() (x0, y0, x1, y1 float64) {
	x0, y0, x1, y1 = math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)
	for _, p := range s.points {
		x0, y0, x1, y1 = min(x0, p.x), min(y0, p.y), max(x1, p.x), max(y1, p.y)
	}
	return x0, y0, x1, y1
}

// interpret runs the text of a program.
func interpret(text string) (*interpreter, error) { return interpretOn(text, nil) }

// interpretOn runs it on a machine of which some numbered outputs neither burn
// nor punch.
func interpretOn(text string, cold map[int]bool) (*interpreter, error) {
	in := &interpreter{motion: -1, outputs: map[string]bool{}, cold: cold, power: math.NaN()}
	percents := 0
	for n, line := range strings.Split(strings.TrimSuffix(text, "\n"), "\n") {
		in.lines++
		in.longest = max(in.longest, len(line))
		if len(line) > 256 { // 3.3.1
			return nil, fmt.Errorf("line %d has %d characters", n+1, len(line))
		}
		if line == "%" { // 3.2: a file may be demarcated by percents, nothing follows the second
			percents++
			continue
		}
		if percents != 1 {
			return nil, fmt.Errorf("line %d stands outside the percents", n+1)
		}
		if in.ended {
			return nil, fmt.Errorf("line %d follows the end of the program", n+1)
		}
		if err := in.line(line); err != nil {
			return nil, fmt.Errorf("line %d, %q: %w", n+1, line, err)
		}
	}
	for name, on := range in.outputs {
		if on {
			return nil, fmt.Errorf("%s is on after the end", name)
		}
	}
	if percents != 2 || !in.ended || in.on {
		return nil, fmt.Errorf("%d percents, ended %v, tool on %v", percents, in.ended, in.on)
	}
	return in, nil
}

// line runs one line: its words count together, in the order of 3.8.
func (in *interpreter) line(line string) error {
	words, comments, err := split(line)
	if err != nil {
		return err
	}
	in.comments = append(in.comments, comments...)
	value := map[byte]float64{}
	var gs, ms []float64
	for _, w := range words {
		switch w.letter {
		case 'G':
			gs = append(gs, w.value)
		case 'M':
			ms = append(ms, w.value)
		default:
			if _, twice := value[w.letter]; twice { // 3.3.2
				return fmt.Errorf("two %c words", w.letter)
			}
			value[w.letter] = w.value
		}
	}
	if f, ok := value['F']; ok {
		in.feed = in.mm(f)
	}
	if s, ok := value['S']; ok {
		in.power = s
	}
	for _, m := range ms {
		if err := in.switches(m, value); err != nil {
			return err
		}
	}
	if hot := in.hot(); hot != in.on {
		in.on = hot
		if hot {
			in.strokes = append(in.strokes, stroke{[]spot{{in.x, in.y}}})
		}
	}
	dwell := false
	for _, g := range gs {
		switch g {
		case 0, 1, 2, 3:
			in.motion = int(g)
		case 4:
			dwell = true
		case 17:
			in.plane = true
		case 20, 21:
			in.inches, in.units = g == 20, true
		case 90:
			in.absolute = true
		case 94:
			in.perMinute = true
		case 40, 49, 80: // no compensations, no cycle
		default:
			return fmt.Errorf("G%g", g)
		}
	}
	if dwell { // 3.5.4: P is seconds
		p, ok := value['P']
		if !ok || p < 0 {
			return fmt.Errorf("a dwell of %g s", p)
		}
		in.dwellSec += p
		return nil
	}
	_, hasX := value['X']
	_, hasY := value['Y']
	if !hasX && !hasY {
		return nil
	}
	return in.move(value)
}

// switches turns an output of the machine on or off. M3 to M9 are of 3.6.2 and
// 3.6.4, the others as machines have them (from memory).
func (in *interpreter) switches(m float64, value map[byte]float64) error {
	number := func() string { return fmt.Sprintf("output %g", value['P']) }
	switch m {
	case 3, 4:
		in.outputs["spindle"] = true
	case 5:
		in.outputs["spindle"] = false
	case 7, 8:
		in.outputs[fmt.Sprintf("air %g", m)] = true
	case 9:
		in.outputs["air 7"], in.outputs["air 8"] = false, false
	case 10:
		in.outputs["clamp"] = true
	case 11:
		in.outputs["clamp"] = false
	case 64:
		in.outputs[number()] = true
	case 65:
		in.outputs[number()] = false
	case 106:
		in.outputs["fan"] = true
	case 107:
		in.outputs["fan"] = false
	case 2:
		in.ended = true
	default:
		return fmt.Errorf("M%g", m)
	}
	return nil
}

// hot reports whether something burns or strikes where the tool is.
func (in *interpreter) hot() bool {
	for name, on := range in.outputs {
		var n int
		_, err := fmt.Sscanf(name, "output %d", &n)
		isOutput := err == nil
		switch {
		case !on || strings.HasPrefix(name, "air"), isOutput && in.cold[n]:
		case (name == "spindle" || name == "fan") && in.power == 0:
		default:
			return true
		}
	}
	return false
}

// mm is a length of the program in millimetres.
func (in *interpreter) mm(x float64) float64 {
	if in.inches {
		return x * 25.4
	}
	return x
}

func (in *interpreter) move(value map[byte]float64) error {
	if !in.absolute || !in.units || !in.plane || !in.perMinute {
		return fmt.Errorf("a move before plane, units, distances and feeds are said")
	}
	x, y := in.x, in.y
	if v, ok := value['X']; ok {
		x = in.mm(v)
	}
	if v, ok := value['Y']; ok {
		y = in.mm(v)
	}
	if in.motion == 0 {
		if in.on {
			return fmt.Errorf("travel with the tool on")
		}
		in.travelMM += math.Hypot(x-in.x, y-in.y)
		in.x, in.y = x, y
		return nil
	}
	if !in.on || in.feed <= 0 {
		return fmt.Errorf("a cut with the tool off, or at feed %g", in.feed)
	}
	path := &in.strokes[len(in.strokes)-1]
	if in.motion == 1 {
		in.cutMM += math.Hypot(x-in.x, y-in.y)
		path.points = append(path.points, spot{x, y})
		in.x, in.y = x, y
		return nil
	}
	return in.arc(path, x, y, in.x+in.mm(value['I']), in.y+in.mm(value['J']))
}

// arc goes round a centre given from where it starts (3.5.3.2): both radii may
// differ by 0.002 mm or 0.0002 inch.
func (in *interpreter) arc(path *stroke, x, y, cx, cy float64) error {
	r0, r1 := math.Hypot(in.x-cx, in.y-cy), math.Hypot(x-cx, y-cy)
	if math.Abs(r0-r1) > 0.002 || r0 == 0 {
		return fmt.Errorf("an arc of radius %g that ends at radius %g", r0, r1)
	}
	a0, a1 := math.Atan2(in.y-cy, in.x-cx), math.Atan2(y-cy, x-cx)
	turn := a1 - a0
	if in.motion == 3 && turn <= 0 {
		turn += 2 * math.Pi
	}
	if in.motion == 2 && turn >= 0 {
		turn -= 2 * math.Pi
	}
	const steps = 180
	for i := 1; i <= steps; i++ {
		a := a0 + turn*float64(i)/steps
		path.points = append(path.points, spot{cx + r0*math.Cos(a), cy + r0*math.Sin(a)})
	}
	in.cutMM += math.Abs(turn) * r0
	in.x, in.y = x, y
	return nil
}

type word struct {
	letter byte
	value  float64
}

// split reads the words and comments of a line (3.3).
func split(line string) (words []word, comments []string, err error) {
	for i := 0; i < len(line); {
		c := line[i]
		switch {
		case c == ' ' || c == '\t':
			i++
		case c == '(': // 3.3.4
			end := strings.IndexByte(line[i:], ')')
			if end < 0 || strings.Contains(line[i+1:i+end], "(") {
				return nil, nil, fmt.Errorf("a comment that is not closed, or one in another")
			}
			comments = append(comments, line[i+1:i+end])
			i += end + 1
		case c >= 'A' && c <= 'Z':
			j := i + 1
			for j < len(line) && strings.IndexByte("+-.0123456789", line[j]) >= 0 {
				j++
			}
			v, err := strconv.ParseFloat(line[i+1:j], 64)
			if err != nil {
				return nil, nil, fmt.Errorf("%c without a number", c)
			}
			words = append(words, word{c, v})
			i = j
		default:
			return nil, nil, fmt.Errorf("the character %q", c)
		}
	}
	return words, comments, nil
}
