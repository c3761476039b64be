package piecefile

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"rollwright/music/piece"
)

// waiting is what has to be known before something else: a graph whose points
// are lengths, speeds and places.
type waiting struct {
	r    *reader
	on   [][]int // for each point, those that it waits on
	seen []state
	path []int
}

// The points: three for each voice, four for each canon, two for each section.
const perVoice, perCanon, perSection = 3, 4, 2

func (w *waiting) voice(i int) int { return perVoice * i } // its length in units

func (w *waiting) canon(i int) int { // the factor that lasts makes
	return perVoice*len(w.r.piece.Voices) + perCanon*i
}

func (w *waiting) section(i int) int { // its beginning
	return w.canon(len(w.r.piece.Canons)) + perSection*i
}

func (w *waiting) lengthOf(voice int) int       { return w.voice(voice) }
func (w *waiting) secondsOf(voice int) int      { return w.voice(voice) + 1 }
func (w *waiting) startOf(voice int) int        { return w.voice(voice) + 2 }
func (w *waiting) factorOf(canon int) int       { return w.canon(canon) }
func (w *waiting) placeOf(canon int) int        { return w.canon(canon) + 1 }
func (w *waiting) endOfCanon(canon int) int     { return w.canon(canon) + 2 }
func (w *waiting) lengthOfCanon(c int) int      { return w.canon(c) + 3 }
func (w *waiting) beginOf(section int) int      { return w.section(section) }
func (w *waiting) endOfSection(section int) int { return w.section(section) + 1 }

func (w *waiting) add(point int, on ...int) { w.on[point] = append(w.on[point], on...) }

// checkCircles complains about voices, canons and sections that wait for each
// other.
func (r *reader) checkCircles() {
	if len(r.errs) > 0 {
		return // names may be unresolved
	}
	w := &waiting{r: r}
	n := w.section(len(r.piece.Sections))
	w.on, w.seen = make([][]int, n), make([]state, n)
	for i := range r.piece.Voices {
		w.addVoice(i, &r.piece.Voices[i])
	}
	for i := range r.piece.Canons {
		w.addCanon(i, &r.piece.Canons[i])
	}
	for i := range r.piece.Sections {
		if i > 0 && !r.piece.Sections[i].HasStart {
			w.add(w.beginOf(i), w.endOfSection(i-1))
		}
		w.add(w.endOfSection(i), w.beginOf(i))
	}
	for point := range w.on {
		w.visit(point)
	}
}

// end is what the end of a voice or canon waits on.
func (w *waiting) end(ref piece.Ref) []int {
	if ref.Voice >= 0 {
		return []int{w.startOf(ref.Voice), w.secondsOf(ref.Voice)}
	}
	return []int{w.endOfCanon(ref.Canon)}
}

// begin is what the beginning of a voice or canon waits on.
func (w *waiting) begin(ref piece.Ref) []int {
	if ref.Voice >= 0 {
		return []int{w.startOf(ref.Voice)}
	}
	return []int{w.placeOf(ref.Canon)}
}

func (w *waiting) seconds(ref piece.Ref) int {
	if ref.Voice >= 0 {
		return w.secondsOf(ref.Voice)
	}
	return w.lengthOfCanon(ref.Canon)
}

func (w *waiting) addVoice(i int, v *piece.Voice) {
	w.add(w.secondsOf(i), w.lengthOf(i))
	if v.Extent.Kind == piece.Until {
		w.add(w.lengthOf(i), append(w.end(v.Extent.Ref), w.startOf(i))...)
	}
	if v.Lasts.Set && v.Lasts.Sec.Sign() == 0 {
		w.add(w.secondsOf(i), w.seconds(v.Lasts.As))
	}
	if v.Canon >= 0 && w.r.piece.Canons[v.Canon].Lasts.Set {
		w.add(w.secondsOf(i), w.factorOf(v.Canon))
	}
	if v.Section >= 0 {
		w.add(w.endOfSection(v.Section), w.startOf(i), w.secondsOf(i))
	}
	w.addPlace(i, v)
}

func (w *waiting) addPlace(i int, v *piece.Voice) {
	start := w.startOf(i)
	if v.Unknown.Kind != piece.NoUnknown {
		return // it is found together with those that it waits for
	}
	switch p := v.Place; p.Kind {
	case piece.After:
		w.add(start, w.end(p.Ref)...)
		return
	case piece.With:
		w.add(start, w.begin(p.Ref)...)
		return
	case piece.MeetWith:
		w.add(start, w.startOf(p.Ref.Voice))
		w.addPoint(start, p.Ref.Voice, p.Theirs)
		w.addPoint(start, i, p.Mine)
		return
	case piece.InCanon:
		w.add(start, w.placeOf(v.Canon))
		return
	case piece.MeetAt:
		w.addPoint(start, i, p.Mine)
	}
	if v.Section >= 0 {
		w.add(start, w.beginOf(v.Section))
	}
}

// addPoint makes a place wait for what a point of a voice needs. Only the start
// and a unit can be found without knowing how long the voice goes on: it may
// not have so many notes.
func (w *waiting) addPoint(point, voice int, p piece.Point) {
	v := &w.r.piece.Voices[voice]
	if p.Kind != piece.AtStart && p.Kind != piece.AtUnit {
		w.add(point, w.lengthOf(voice))
	}
	if p.Kind != piece.AtStart && (v.Lasts.Set || v.Canon >= 0 && w.r.piece.Canons[v.Canon].Lasts.Set) {
		w.add(point, w.secondsOf(voice))
	}
}

func (w *waiting) addCanon(i int, c *piece.Canon) {
	if c.Lasts.Set && c.Lasts.Sec.Sign() == 0 {
		w.add(w.factorOf(i), w.seconds(c.Lasts.As))
	}
	if c.Section >= 0 {
		w.add(w.placeOf(i), w.beginOf(c.Section))
	}
	for _, voice := range c.Voices {
		if c.Lasts.Set {
			w.add(w.factorOf(i), w.lengthOf(voice))
		}
		w.addPoint(w.placeOf(i), voice, c.Meet)
		w.add(w.endOfCanon(i), w.startOf(voice), w.secondsOf(voice))
		w.add(w.lengthOfCanon(i), w.secondsOf(voice))
	}
}

func (w *waiting) visit(point int) {
	switch w.seen[point] {
	case resolved:
		return
	case underway:
		w.report(w.path[slices.Index(w.path, point):])
		return
	}
	w.seen[point] = underway
	w.path = append(w.path, point)
	for _, on := range w.on[point] {
		if w.visit(on); w.r.full() {
			return
		}
	}
	w.path = w.path[:len(w.path)-1]
	w.seen[point] = resolved
}

// report complains about points that wait for each other, at the first of
// their attributes in the text.
func (w *waiting) report(circle []int) {
	var names []string
	var at *setting
	var voice *piece.Voice
	var said attr
	for _, point := range circle {
		name, words := w.describe(point)
		if len(names) == 0 || names[len(names)-1] != name {
			names = append(names, name)
		}
		if words != nil && (at == nil || words.at.Before(at.at)) {
			at = words
			voice, said = w.sayer(point)
		}
	}
	if len(names) > 1 && names[0] == names[len(names)-1] {
		names = names[1:]
	}
	problem := names[0] + " waits for itself"
	if len(names) > 1 {
		const most = 6
		problem = names[0] + " waits for " + strings.Join(append(names[1:min(len(names), most)], names[0]),
			", which waits for ")
		if len(names) > most {
			problem = fmt.Sprintf("%s waits, through %d others, for itself", names[0], len(names)-1)
		}
	}
	if at == nil {
		return // nothing in the text says so: package perform will find its words
	}
	w.r.addOf(voice, said, at.Error(problem, "how long one of them goes on, or where it stands, must not depend on the others"))
}

// waits are the attributes that make the points of a voice wait.
var waits = [perVoice]attr{aExtent, aLasts, aStart}

// sayer is the voice of a point with the attribute that makes it wait; no voice where
// it is another's point.
func (w *waiting) sayer(point int) (*piece.Voice, attr) {
	if point >= w.canon(0) {
		return nil, 0
	}
	return &w.r.piece.Voices[point/perVoice], waits[point%perVoice]
}

// describe is the name of what a point belongs to, and the attribute that makes
// it wait.
func (w *waiting) describe(point int) (string, *setting) {
	switch {
	case point < w.canon(0):
		n := w.r.sounding[point/perVoice]
		said := waits[point%perVoice]
		if said == aStart {
			return fmt.Sprintf("%q", n.name), cmp.Or(n.own[aStart], n.own[aMeet])
		}
		return fmt.Sprintf("%q", n.name), n.all[said]
	case point < w.section(0):
		c := w.r.canons[(point-w.canon(0))/perCanon]
		if (point-w.canon(0))%perCanon == 0 {
			return fmt.Sprintf("%q", c.name), c.lasts
		}
		return fmt.Sprintf("%q", c.name), nil
	}
	return fmt.Sprintf("section %q", w.r.piece.Sections[(point-w.section(0))/perSection].Name), nil
}
