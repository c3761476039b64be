package transcribe

import (
	"cmp"
	"container/heap"
	"fmt"
	"slices"
)

// chord is notes that begin and end together: those from first to last of a part's
// notes in the order of sorted.
type chord struct {
	from, to    int64
	first, last int32
	next        int32 // the next chord of its line; -1: none
}

// lines are the lines of a part: the chords, and the first chord of each line.
type lines struct {
	notes  []Note
	chords []chord
	heads  []int32
	count  []int // chords of each line
}

// line is the chords of one line, in order.
func (l *lines) line(i int, each func(*chord) bool) {
	for at := l.heads[i]; at >= 0; at = l.chords[at].next {
		if !each(&l.chords[at]) {
			return
		}
	}
}

// newLines parts notes into lines. The notes are put in order for it: by start, then
// end, grace notes ahead of others, then key.
func newLines(notes []Note) (*lines, error) {
	l := &lines{notes: notes}
	byChord := func(a, b Note) int {
		return cmp.Or(cmp.Compare(a.From, b.From), cmp.Compare(a.To, b.To), cmp.Compare(b.Grace, a.Grace),
			cmp.Compare(a.Key, b.Key), cmp.Compare(b.Level, a.Level))
	}
	if !slices.IsSortedFunc(notes, byChord) {
		slices.SortStableFunc(notes, byChord)
	}
	l.chords = make([]chord, 0, len(notes))
	for i := 0; i < len(notes); {
		j := i + 1
		for j < len(notes) && notes[j].From == notes[i].From && notes[j].To == notes[i].To {
			j++
		}
		l.chords = append(l.chords, chord{notes[i].From, notes[i].To, int32(i), int32(j), -1})
		i = j
	}
	l.highestFirst()
	return l, l.assign()
}

// highestFirst puts chords that begin together in the order of their highest keys.
func (l *lines) highestFirst() {
	for i := 0; i < len(l.chords); {
		j := i + 1
		for j < len(l.chords) && l.chords[j].from == l.chords[i].from {
			j++
		}
		if j-i > 1 {
			slices.SortStableFunc(l.chords[i:j], func(a, b chord) int {
				return cmp.Compare(l.notes[b.last-1].Key, l.notes[a.last-1].Key)
			})
		}
		i = j
	}
}

// assign gives each chord its line.
func (l *lines) assign() error {
	var free numbers
	var busy endings
	var tails []int32
	for i := range l.chords {
		c := &l.chords[i]
		for len(busy) > 0 && busy[0].at <= c.from {
			heap.Push(&free, heap.Pop(&busy).(lineEnd).line)
		}
		if len(free) == 0 {
			if len(l.heads) == maxLines {
				return fmt.Errorf("more than %d notes sound at once", maxLines)
			}
			free = append(free, int32(len(l.heads)))
			l.heads, tails, l.count = append(l.heads, -1), append(tails, -1), append(l.count, 0)
		}
		line := heap.Pop(&free).(int32)
		if tails[line] < 0 {
			l.heads[line] = int32(i)
		} else {
			l.chords[tails[line]].next = int32(i)
		}
		tails[line] = int32(i)
		l.count[line]++
		heap.Push(&busy, lineEnd{c.to, line})
	}
	return nil
}

// lineEnd is where the last note of a line ends.
type lineEnd struct {
	at   int64
	line int32
}

// numbers is a heap of line numbers, the lowest first.
type numbers []int32

func (n numbers) Len() int           { return len(n) }
func (n numbers) Less(i, j int) bool { return n[i] < n[j] }
func (n numbers) Swap(i, j int)      { n[i], n[j] = n[j], n[i] }
func (n *numbers) Push(x any)        { *n = append(*n, x.(int32)) }
func (n *numbers) Pop() any {
	last := (*n)[len(*n)-1]
	*n = (*n)[:len(*n)-1]
	return last
}

// endings is a heap of busy lines, the one that ends first at its top.
type endings []lineEnd

func (e endings) Len() int           { return len(e) }
func (e endings) Less(i, j int) bool { return e[i].at < e[j].at }
func (e endings) Swap(i, j int)      { e[i], e[j] = e[j], e[i] }
func (e *endings) Push(x any)        { *e = append(*e, x.(lineEnd)) }
func (e *endings) Pop() any {
	last := (*e)[len(*e)-1]
	*e = (*e)[:len(*e)-1]
	return last
}
