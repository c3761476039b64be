package punching

import (
	"fmt"
	"strconv"
	"strings"
	"unicode/utf8"

	"rollwright/making/bench"
)

// Style is how a line of a screen stands out.
type Style int8

// The styles.
const (
	Normal Style = iota
	Strong
	Quiet
	Alarm
)

// Line is one line of a screen.
type Line struct {
	Text  string
	Style Style
}

// Screen is what a terminal of so many columns and rows shows.
type Screen struct {
	Head          string // what is being punched
	Columns, Rows int
	Blocks        bool     // block characters may be used, else number signs
	Part          int      // which part of a row or list that does not fit at once, from 0
	Message       string   // what the person has to know now, wrapped to the screen; empty: nothing
	Prompt        string   // what they are asked, with what they have typed, below the message; empty: nothing
	List          []string // shown in place of the row; nil: the row is shown

	more bool // the list comes in parts
}

// The keys, as the foot of a screen names them.
const (
	keysWorking = "space next · b back · u not punched · m missed hole · s slip · t to a row · l patches · p pause · q leave"
	keysLooking = "space next · b back · g bring the paper here · u not punched · m missed hole · s slip · t to a row · l patches · q leave"
	keysSlip    = "return notes it · Esc drops it"
	keysPaused  = "any key goes on · q leave"
	keysDone    = "b back · s slip · l patches · q leave"
	keysList    = "number and return: that patch is closed · Esc or l goes back"
	keysLists   = "space more · b back · " + keysList
)

// Draw is the screen of a view, at most Rows lines of at most Columns
// characters, and in how many parts the row, or the list, is shown. Letters are as
// large as the screen allows.
func (s *Screen) Draw(v View) (lines []Line, parts int) {
	s.more = s.List != nil
	head, foot := s.head(v), s.foot(v)
	body, parts := s.body(v, s.Rows-len(head)-len(foot))
	if s.more && parts == 1 {
		s.more = false
		foot = s.foot(v)
	}
	if s.List == nil && parts > 1 || s.Rows < smallRows { // what is to be punched goes before how the work stands
		foot = s.say()
		body, parts = s.body(v, s.Rows-len(head)-len(foot))
	}
	room := s.Rows - len(head) - len(foot)
	body = body[:min(len(body), max(room, 0))]
	for len(body) < room {
		body = append(body, Line{})
	}
	lines = append(append(head, body...), foot...)
	lines = lines[:min(len(lines), max(s.Rows, 0))]
	for i := range lines {
		lines[i].Text = clip(lines[i].Text, s.Columns)
	}
	return lines, parts
}

// A smaller screen has no room for large letters.
const smallColumns, smallRows = 60, 16

// Small reports whether a terminal is too small for large letters: plain lines
// are better there.
func Small(columns, rows int) bool { return columns < smallColumns || rows < smallRows }

// body is what stands between head and foot, and in how many parts.
func (s *Screen) body(v View, room int) (body []Line, parts int) {
	switch {
	case s.List != nil:
		return s.list(room)
	case v.Paused:
		body = s.word("PAUSE", room)
	case v.Finished:
		body = s.word("DONE", room)
	case Small(s.Columns, s.Rows):
		return s.small(v, room)
	default:
		return s.row(v, room)
	}
	return body, 1
}

// list is the list, or one part of it.
func (s *Screen) list(room int) ([]Line, int) {
	var all []Line
	for _, text := range s.List {
		for _, text := range wrap(text, s.Columns) {
			all = append(all, Line{text, Normal})
		}
	}
	if len(all) <= room {
		return all, 1
	}
	each := max(room-1, 1)
	parts := (len(all) + each - 1) / each
	at := min(s.Part, parts-1)
	shown := all[at*each : min((at+1)*each, len(all))]
	if room < 2 {
		return shown, parts
	}
	return append([]Line{{fmt.Sprintf("part %d of %d of the list", at+1, parts), Quiet}}, shown...), parts
}

// clip cuts text to so many characters.
func clip(text string, columns int) string {
	if utf8.RuneCountInString(text) <= columns {
		return text
	}
	r := []rune(text)
	return string(r[:max(columns, 0)])
}

func (s *Screen) head(v View) []Line {
	right := fmt.Sprintf("row %d of %d", v.Row, v.Rows)
	left := clip(s.Head, s.Columns-len(right)-2)
	gap := max(s.Columns-utf8.RuneCountInString(left)-len(right), 1)
	return []Line{{left + strings.Repeat(" ", gap) + right, Quiet}, {}}
}

// foot is the state of the work, a message, and the keys.
func (s *Screen) foot(v View) []Line {
	work := fmt.Sprintf("%d of %d punches", v.Punches, v.OfPunches)
	if v.Patches > 0 {
		work += fmt.Sprintf(" · %d to patch", v.Patches)
	}
	work += " · " + bench.Pace{StrokeSec: v.StrokeSec, RowSec: v.RowSec}.Text()
	if v.Assumed {
		work += ", assumed until your pace is known"
	}
	left := "nothing left to punch"
	if v.Left != "" {
		left = fmt.Sprintf("%s left, %s; without a break done %s", v.Left, number(int64(v.Sessions), "sitting"),
			v.DoneAt.Format("Mon 2 Jan 15:04"))
	}
	lines := append(s.say(), Line{work, Quiet}, Line{left, Quiet})
	for _, text := range wrap(s.keys(v), s.Columns) {
		lines = append(lines, Line{text, Normal})
	}
	return lines
}

// keys are those that do something now.
func (s *Screen) keys(v View) string {
	switch {
	case s.more:
		return keysLists
	case s.List != nil:
		return keysList
	case s.Prompt != "":
		return keysSlip
	case v.Paused:
		return keysPaused
	case v.Finished:
		return keysDone
	case v.Looking:
		return keysLooking
	}
	return keysWorking
}

// say is what the person has to know, and what they are asked; at least one line.
func (s *Screen) say() []Line {
	var out []Line
	for _, text := range []Line{{s.Message, Alarm}, {s.Prompt, Strong}} {
		if text.Text == "" {
			continue
		}
		for _, line := range wrap(text.Text, s.Columns) {
			out = append(out, Line{line, text.Style})
		}
	}
	if out == nil {
		return []Line{{}}
	}
	return out
}

// wrap breaks text between words to lines of so many characters; a longer word
// stays whole.
func wrap(text string, columns int) []string {
	lines := []string{""}
	for _, word := range strings.Fields(text) {
		last := &lines[len(lines)-1]
		switch n := utf8.RuneCountInString(*last); {
		case n == 0:
			*last = word
		case n+1+utf8.RuneCountInString(word) <= columns:
			*last += " " + word
		default:
			lines = append(lines, word)
		}
	}
	return lines
}

// word is one word as large as it can be.
func (s *Screen) word(text string, room int) []Line {
	for _, scale := range []int{4, 2, 1} {
		if largeHigh(scale, s.Blocks)+1 <= room && largeWide(text, scale) <= s.Columns {
			return append([]Line{{}}, styled(Large(text, scale, s.Blocks), Strong)...)
		}
	}
	return []Line{{text, Strong}}
}

func styled(texts []string, style Style) []Line {
	out := make([]Line, len(texts))
	for i, t := range texts {
		out[i] = Line{t, style}
	}
	return out
}

// row is the row to punch at the largest scale at which all of it fits, else
// one part of it.
func (s *Screen) row(v View, room int) ([]Line, int) {
	for _, scale := range []int{4, 2, 1} {
		top, ok := s.moves(v, scale)
		strokes := s.strokes(v, scale)
		if ok && len(top)+len(strokes)*s.band(scale)-1 <= room { // the last gap may go
			return append(top, flat(strokes)...), 1
		}
	}
	return s.part(v, room)
}

// band is how many lines one line of strokes takes: large letters, names, a
// gap.
func (s *Screen) band(scale int) int { return largeHigh(scale, s.Blocks) + 2 }

// part is some of the strokes of a row that does not fit at once, below the
// cranking; on a small screen after it.
func (s *Screen) part(v View, room int) ([]Line, int) {
	top, ok := s.moves(v, 1)
	bands := s.strokes(v, 1)
	each := (room - len(top) - 1) / s.band(1)
	first := 0 // how many parts come before the strokes
	if ok && each < 1 && len(top) < room && s.band(1) <= room {
		first, each = 1, (room-1)/s.band(1)
	}
	if !ok || each < 1 {
		return s.small(v, room)
	}
	parts := first + (len(bands)+each-1)/each
	at := min(s.Part, parts-1)
	note := Line{fmt.Sprintf("part %d of %d of this row", at+1, parts), Alarm}
	if at < first {
		return append([]Line{note}, top...), parts
	}
	shown := bands[(at-first)*each : min((at-first+1)*each, len(bands))]
	if first > 0 {
		top = nil
	}
	return append(append(top, note), flat(shown)...), parts
}

// small is the row without large letters, for a very small screen, in parts of
// lines.
func (s *Screen) small(v View, room int) ([]Line, int) {
	var lines []Line
	for _, text := range append(v.Lines, v.Mind) {
		for _, text := range wrap(text, s.Columns) {
			if text != "" {
				lines = append(lines, Line{text, Alarm})
			}
		}
	}
	if v.Looking {
		lines = append(lines, Line{"looking back: stay", Alarm})
	}
	for _, m := range v.Moves {
		lines = append(lines, Line{fmt.Sprintf("%s %s (%s)", way(m), m.Text, m.To), Strong})
	}
	text := ""
	for _, stroke := range v.Strokes {
		word := strings.TrimSpace(fmt.Sprintf("%d %s %s", stroke.Number, stroke.Name, stroke.Chain()))
		if text != "" && utf8.RuneCountInString(text)+3+len(word) > s.Columns {
			lines, text = append(lines, Line{text, Strong}), ""
		}
		if text != "" {
			text += " · "
		}
		text += word
	}
	if v.Cut > 0 {
		text += fmt.Sprintf(" (only these: %d are cut)", v.Cut)
	}
	lines = append(lines, Line{text, Strong})
	room = max(room, 1)
	parts := (len(lines) + room - 1) / room
	at := min(s.Part, parts-1)
	return lines[at*room : min((at+1)*room, len(lines))], parts
}

func way(m Move) string {
	if m.Back {
		return "BACK"
	}
	return "ON"
}

// head says what to do with the crank for a movement.
func (m Move) head(clicks bool) string {
	switch {
	case m.Say == "":
		return "stay here"
	case clicks && m.Back:
		return "clicks back"
	case clicks:
		return "clicks forward"
	case m.Back:
		return "turn back"
	}
	return "turn on"
}

// Where is the place of the row on the crank's counter.
func (v *View) Where() string {
	if v.Clicks {
		return "click " + v.Reading
	}
	return "crank at " + v.Reading
}

// moves is what to do with the crank, and what to mind before punching.
func (s *Screen) moves(v View, scale int) ([]Line, bool) {
	var lines []Line
	for _, text := range v.Lines {
		lines = append(lines, Line{"on the way: " + text, Alarm})
	}
	for _, text := range wrap(v.Mind, s.Columns) {
		if text != "" {
			lines = append(lines, Line{text, Alarm})
		}
	}
	if v.Looking {
		text := "this row is punched already: you are looking back, the crank stays"
		if !v.Done {
			text = "you are looking back, the crank stays; this row comes again"
		}
		lines = append(lines, Line{text, Alarm})
	} else if v.Done {
		lines = append(lines, Line{"this row is punched already", Alarm})
	}
	for _, m := range v.Moves {
		text := m.Text
		if len(v.Moves) > 1 {
			text = way(m) + " " + text
			lines = append(lines, Line{m.head(v.Clicks) + ", until it reads " + m.To, Quiet})
		} else {
			lines = append(lines, Line{m.head(v.Clicks), Quiet})
		}
		if largeWide(text, scale) > s.Columns {
			return lines, false
		}
		lines = append(lines, styled(Large(text, scale, s.Blocks), Strong)...)
		if scale > 1 { // half blocks end in half an empty row
			lines = append(lines, Line{})
		}
	}
	order := "left to right →"
	if v.Leftward {
		order = "← right to left"
	}
	where := v.Where() + " · " + v.Place + " from zero"
	if v.Measure != "" {
		where += " · measure this length after the row"
	}
	lines = append(lines, Line{where, Quiet})
	switch {
	case v.Cut > 0:
		lines = append(lines, Line{fmt.Sprintf("only %s of %d, the others are cut; %s", punches(len(v.Strokes)),
			len(v.Strokes)+v.Cut, order), Alarm})
	case len(v.Strokes) > 1:
		lines = append(lines, Line{fmt.Sprintf("%d punches, %s", len(v.Strokes), order), Quiet})
	}
	return append(lines, Line{}), true
}

// strokes are the numbers of the row in bands, with the names below them.
func (s *Screen) strokes(v View, scale int) [][]Line {
	var out [][]Line
	band, wide := newBand(s.band(scale)), 0
	for _, stroke := range v.Strokes {
		number := strconv.Itoa(stroke.Number)
		name := strings.TrimSpace(stroke.Name + " " + stroke.Chain())
		if stroke.Done {
			name += " done"
		}
		w := max(largeWide(number, scale), utf8.RuneCountInString(name))
		if wide > 0 && wide+3*scale+w > s.Columns {
			out = append(out, band)
			band, wide = newBand(s.band(scale)), 0
		}
		if wide > 0 {
			wide += 3 * scale
		}
		cells := append(Large(number, scale, s.Blocks), name)
		for y, text := range cells {
			l := &band[y]
			l.Text += strings.Repeat(" ", max(wide-utf8.RuneCountInString(l.Text), 0)) + text
		}
		wide += w
	}
	return append(out, band)
}

func newBand(high int) []Line {
	band := make([]Line, high)
	for y := range band {
		band[y].Style = Strong
	}
	return band
}

func flat(bands [][]Line) []Line {
	var out []Line
	for _, b := range bands {
		out = append(out, b...)
	}
	return out
}
