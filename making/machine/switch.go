package machine

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"rollwright/text/blocks"
	"rollwright/text/fields"
	"rollwright/text/source"
)

// mostLines and longestLine bound what a profile adds to a program. 256 is the
// longest line of RS274/NGC (NIST, 2000, section 3.3.1).
const (
	mostLines   = 20
	longestLine = 200
)

// longestPause bounds the number of a dwell in the profile's own lines, which
// some controls take for milliseconds and others for seconds.
const longestPause = 5000

// endings are words that stop, end, repeat, call or begin a program anew, or
// wait for a person (M0 to M2, M30, M60: RS274/NGC 3.6.1; M47 begins anew, M97
// to M99 call and return, M6 waits for another tool: from memory).
var endings = []int{0, 1, 2, 6, 30, 47, 60, 97, 98, 99}

// output is something that words switch: a spindle word fires most beams and
// drives most dies, a fan or a numbered output of the control some, coolant is
// air or a pump.
type output struct {
	kind   kind
	number int // of a numbered output
}

type kind int8

const (
	spindle kind = iota
	clamp
	fan
	numbered
	mist
	flood
)

// action is what one M word does: it turns an output on, or one or more off.
type action struct {
	on      bool
	outputs []kind
	group   int8 // two words of a group contradict each other on a line
	level   bool // S says how much, and 0 is off
	which   bool // P says which
}

// actions are the words that a profile may hold. M3 to M5 and M7 to M9 are those
// of RS274/NGC (3.6.2, 3.6.4), M10 and M11 those of a clamp in ISO 6983; M64 and
// M65 switch a numbered output at once, M106 and M107 a fan, de facto (from
// memory). Not M62 and M63: they wait for the next move, and after the last one
// there is none.
var actions = map[int]action{
	3: {on: true, outputs: []kind{spindle}, group: 1, level: true},
	4: {on: true, outputs: []kind{spindle}, group: 1, level: true},
	5: {outputs: []kind{spindle}, group: 1},
	7: {on: true, outputs: []kind{mist}, group: 2}, 8: {on: true, outputs: []kind{flood}, group: 2},
	9:  {outputs: []kind{mist, flood}, group: 2},
	10: {on: true, outputs: []kind{clamp}, group: 3}, 11: {outputs: []kind{clamp}, group: 3},
	64:  {on: true, outputs: []kind{numbered}, group: 4, which: true},
	65:  {outputs: []kind{numbered}, group: 4, which: true},
	106: {on: true, outputs: []kind{fan}, group: 5, level: true}, 107: {outputs: []kind{fan}, group: 5},
}

// words is a line, taken apart.
type words struct {
	m       []int
	s, p    float64
	hasS    bool
	hasP    bool
	dwell   bool
	pCounts int // words that P belongs to
}

// program takes lines of a program that switch things: one text, or a list.
// They may hold the switches of the table, S, P and G4; never a move, a unit or
// an end, which the writer answers for.
func program(to func(*Profile) *[]string) fields.Take[Profile] {
	return func(p *Profile, a *blocks.Attr) *source.Error {
		list, err := a.List()
		if err != nil {
			return err
		}
		if len(list) > mostLines {
			return a.Error("too many lines", fmt.Sprintf("at most %d", mostLines))
		}
		var lines []string
		for _, v := range list {
			s, err := v.Str()
			if err != nil {
				return err
			}
			line := strings.Join(strings.Fields(strings.ToUpper(s)), " ")
			if _, problem := parseLine(line); problem != "" {
				return v.Error(problem, switchHint)
			}
			lines = append(lines, line)
		}
		*to(p) = lines
		return nil
	}
}

const switchHint = `allowed are M3 M4 M5 M7 M8 M9 M10 M11 M64 M65 M106 M107, S, P and G4, parted by blanks: "M3 S700", "M5"`

// parseLine takes a line apart, or says what it holds that it must not.
func parseLine(line string) (words, string) {
	var w words
	if line == "" || len(line) > longestLine {
		return w, "a line that switches the tool is empty or too long"
	}
	for _, text := range strings.Fields(line) {
		x, err := strconv.ParseFloat(text[1:], 64)
		if err != nil || math.IsNaN(x) || math.IsInf(x, 0) || strings.ContainsAny(text[1:], "EXP_") {
			return w, fmt.Sprintf("%q is no letter with its number", source.Printable(text))
		}
		if problem := w.add(text, x); problem != "" {
			return w, problem
		}
	}
	return w, w.whole(line)
}

// add adds one word.
func (w *words) add(text string, x float64) string {
	switch {
	case text[0] == 'M':
		return w.addM(text, x)
	case text[0] == 'G' && x == 4 && !w.dwell:
		w.dwell, w.pCounts = true, w.pCounts+1
	case text[0] == 'S' && x >= 0 && !w.hasS:
		w.s, w.hasS = x, true
	case text[0] == 'P' && x >= 0 && !w.hasP:
		w.p, w.hasP = x, true
	case strings.ContainsRune("GSP", rune(text[0])) && (x == 4 || x < 0 || text[0] != 'G'):
		return fmt.Sprintf("%s stands there twice, or is below 0", text)
	default:
		return fmt.Sprintf("%s does not switch the tool", text)
	}
	return ""
}

func (w *words) addM(text string, x float64) string {
	a, known := actions[int(x)]
	switch {
	case x == math.Trunc(x) && slices.Contains(endings, int(x)):
		return fmt.Sprintf("%s would stop or end the program", text)
	case !known || x != math.Trunc(x):
		return fmt.Sprintf("%s is not known to switch a beam, a die or air", text)
	}
	for _, m := range w.m {
		if actions[m].group == a.group {
			return fmt.Sprintf("M%d and %s cannot stand on one line", m, text)
		}
	}
	w.m = append(w.m, int(x))
	if a.which {
		w.pCounts++
	}
	return ""
}

// whole complains of words that need others.
func (w *words) whole(line string) string {
	switch {
	case w.hasP != (w.pCounts == 1) || w.pCounts > 1:
		return fmt.Sprintf("%q: G4, M64 and M65 have one P word each, on a line of their own", line)
	case w.dwell && w.p > longestPause:
		return fmt.Sprintf("a dwell of %s is longer than anything needs", plain(w.p))
	case !w.dwell && w.hasP && (w.p != math.Trunc(w.p) || w.p > 255):
		return fmt.Sprintf("P%s is no number of an output", plain(w.p))
	}
	return ""
}

// dwells reports whether a line waits.
func dwells(lines []string) bool {
	return slices.ContainsFunc(lines, func(line string) bool {
		w, _ := parseLine(line)
		return w.dwell && w.p > 0
	})
}

// uses reports whether a line that switches on holds the M word.
func (h *Head) uses(m int) bool {
	return slices.ContainsFunc(h.On, func(line string) bool {
		w, _ := parseLine(line)
		return slices.Contains(w.m, m)
	})
}

// board is what is switched on, by the words so far. Power that was never said
// counts as some.
type board struct {
	on       map[output]bool
	power    float64
	ever     map[output]bool // turned on at any time
	turnsOff map[output]bool
}

func newBoard() *board {
	return &board{on: map[output]bool{}, power: 1, ever: map[output]bool{}, turnsOff: map[output]bool{}}
}

// run plays lines. Words of one line count together: S first (RS274/NGC 3.8).
func (b *board) run(lines []string) {
	for _, line := range lines {
		w, _ := parseLine(line)
		if w.hasS {
			b.power = w.s
			if b.power > 0 && b.on[output{kind: spindle}] {
				b.ever[output{kind: spindle}] = true
			}
		}
		for _, m := range w.m {
			b.act(actions[m], &w)
		}
	}
}

func (b *board) act(a action, w *words) {
	for _, k := range a.outputs {
		o := output{kind: k}
		if a.which {
			o.number = int(w.p)
		}
		b.on[o] = a.on
		if a.on {
			b.ever[o] = true
		} else {
			b.turnsOff[o] = true
		}
	}
}

// hot lists what is on and makes holes.
func (b *board) hot() []output {
	var list []output
	for o, on := range b.on {
		if on && o.makesHoles() && (b.power > 0 || o.kind != spindle && o.kind != fan) {
			list = append(list, o)
		}
	}
	return list
}

// makesHoles reports whether it may be a beam or a die, which air is not.
func (o output) makesHoles() bool { return o.kind != mist && o.kind != flood }

// checkSwitches plays the profile's lines as a program has them: off, start, on,
// off, again and again, then end. The tool must be on after "on", off after
// "off", and never on by any other line.
func (r *reader) checkSwitches() {
	h, prog := &r.p.Head, &r.p.Program
	on, off := newBoard(), newBoard()
	on.run(h.On)
	off.run(h.Off)
	switch {
	case slices.Equal(h.On, h.Off):
		r.blame("off is the same as on: the tool would never be off", `write what switches it off: "M5"`, "head.off")
		return
	case len(off.ever) > 0:
		r.blame("off switches something on", `off may hold M5, M9, M11, M65, M107 only, and S0`, "head.off")
		return
	case off.power > 0 && slices.ContainsFunc(h.Off, hasPower):
		r.blame("off sets a power", "S belongs to on", "head.off")
		return
	case len(on.hot()) == 0:
		r.blame("on does not leave the tool switched on", `write what switches it on: "M3 S300"`, "head.on")
		return
	case r.p.Tool == Laser && on.ever[output{kind: clamp}]:
		r.blame("M10 is a clamp's word and no beam's", `a beam is switched by M3, M4, M64 or M106`, "head.on")
		return
	}
	for _, o := range on.hot() {
		if !off.turnsOff[o] {
			r.blame("off does not switch off what on switches on", "M3 and M4 want M5, M10 wants M11, M64 P2 wants M65 P2, M106 wants M107", "head.off")
			return
		}
	}
	again := newBoard() // S0 of off may have left no power for the next on
	again.run(h.On)
	again.run(h.Off)
	again.run(h.On)
	if len(again.hot()) != len(on.hot()) {
		r.blame("the second hole would not be cut: off leaves S0, and on does not set the power again",
			`write S in on, too: "M3 S300"`, "head.on")
		return
	}
	r.checkProgram(on, prog)
	r.checkMark()
}

// checkMark refuses a mark that is anything but the beam with less power, which
// off then switches off as it does the cut.
func (r *reader) checkMark() {
	h := &r.p.Head
	switch {
	case h.Mark == nil:
	case r.p.Tool != Laser:
		r.blame("a punch cannot mark paper", "leave it out: the head of every program says where the marks are drawn by hand",
			"head.mark")
	case !math.IsInf(r.p.Move.WindowMM, 1):
		r.blame("marks are made before the cuts of a bed, and here the paper does not come back",
			`leave it out, or say window = "bed" where the tool goes anywhere`, "head.mark")
	case !slices.Equal(withoutPower(h.Mark), withoutPower(h.On)) || !(most(h.Mark) > 0 && most(h.Mark) < most(h.On)):
		r.blame("mark must be what on is, with less power", `both say their power with S: on = "M3 S300", mark = "M3 S40"`,
			"head.mark")
	}
}

// withoutPower are lines less their S words.
func withoutPower(lines []string) []string {
	out := make([]string, len(lines))
	for i, line := range lines {
		out[i] = strings.Join(slices.DeleteFunc(strings.Fields(line), func(w string) bool { return w[0] == 'S' }), " ")
	}
	return out
}

// most is the highest power of lines; 0 where they do not say.
func most(lines []string) float64 {
	power := 0.0
	for _, line := range lines {
		if w, _ := parseLine(line); w.hasS {
			power = max(power, w.s)
		}
	}
	return power
}

func hasPower(line string) bool {
	w, _ := parseLine(line)
	return w.hasS && w.s > 0
}

// checkProgram holds the lines of start and end against the tool's.
func (r *reader) checkProgram(tool *board, prog *Program) {
	start, end := newBoard(), newBoard()
	start.run(prog.Start)
	end.run(prog.End)
	for _, lines := range []struct {
		name string
		b    *board
		text []string
	}{{"program.start", start, prog.Start}, {"program.end", end, prog.End}} {
		if slices.ContainsFunc(lines.text, toolWord) {
			r.blame("lines of start and end never switch the tool", "they may hold M7 M8 M9, M64 and M65 with P, and G4",
				lines.name)
			return
		}
		for o := range tool.ever {
			if o.kind == numbered && (lines.b.ever[o] || lines.b.turnsOff[o]) {
				r.blame(fmt.Sprintf("output P%d is the tool's", o.number), "the lines of on and off alone switch it", lines.name)
				return
			}
		}
	}
	if len(end.ever) > 0 {
		r.blame("end switches something on", "end may hold M9 and M65 only, and G4", "program.end")
		return
	}
	for o := range merged(start.ever, tool.ever) {
		if !o.makesHoles() || start.ever[o] {
			if r.leftOn(o, end) {
				return
			}
		}
	}
}

// leftOn complains of air or an output that stays on after the end.
func (r *reader) leftOn(o output, end *board) bool {
	off := newBoard()
	off.run(r.p.Head.Off)
	if end.turnsOff[o] || off.turnsOff[o] && !o.makesHoles() {
		return false
	}
	r.blame("something stays on after the end of the program", "end = \"M9\" for air; M65 with its P for an output",
		"program.end", "program.start", "head.on")
	return true
}

func merged(a, b map[output]bool) map[output]bool {
	all := map[output]bool{}
	for _, m := range []map[output]bool{a, b} {
		for o := range m {
			all[o] = true
		}
	}
	return all
}

// toolWord reports whether a line of start or end holds what only on and off may.
func toolWord(line string) bool {
	w, _ := parseLine(line)
	return w.hasS || slices.ContainsFunc(w.m, func(m int) bool { return !slices.Contains([]int{7, 8, 9, 64, 65}, m) })
}
