package web

import "strings"

// hunk is consecutive lines that are in both texts, only in the newer or only
// in the older.
type hunk struct {
	Kind  string   `json:"kind"` // same, add, del
	Lines []string `json:"lines"`
}

// The kinds of hunk.
const (
	same = "same"
	add  = "add"
	del  = "del"
)

// mostEdits bounds the work of compare, which grows with its square; texts that
// differ by more are shown as wholly different between their common ends.
const mostEdits = 2000

// compare is the shortest way from one text to another, line by line, by the
// greedy algorithm of E. W. Myers (Algorithmica 1 (1986) 251-266). Lines that
// go come before lines that come.
func compare(from, to string) []hunk {
	a, b := lines(from), lines(to)
	head := 0
	for head < len(a) && head < len(b) && a[head] == b[head] {
		head++
	}
	tail := 0
	for tail < len(a)-head && tail < len(b)-head && a[len(a)-1-tail] == b[len(b)-1-tail] {
		tail++
	}
	out := grow(nil, same, a[:head]...)
	out = edit(out, a[head:len(a)-tail], b[head:len(b)-tail])
	return grow(out, same, a[len(a)-tail:]...)
}

func lines(s string) []string {
	if s == "" {
		return nil
	}
	return strings.Split(strings.TrimSuffix(s, "\n"), "\n")
}

// grow adds lines to hunks; consecutive ones of a kind are one hunk.
func grow(out []hunk, kind string, lines ...string) []hunk {
	if len(lines) == 0 {
		return out
	}
	if n := len(out); n > 0 && out[n-1].Kind == kind {
		out[n-1].Lines = append(out[n-1].Lines, lines...)
		return out
	}
	return append(out, hunk{kind, append([]string(nil), lines...)})
}

// edit adds the way from a to b.
func edit(out []hunk, a, b []string) []hunk {
	var trace []front
	for d := 0; d <= min(len(a)+len(b), mostEdits); d++ {
		now := newFront(d)
		for k := -d; k <= d; k += 2 {
			x := 0
			if d > 0 {
				_, x = trace[d-1].came(k)
			}
			for x < len(a) && x-k < len(b) && a[x] == b[x-k] {
				x++
			}
			now.set(k, x)
			if x >= len(a) && x-k >= len(b) {
				return walk(out, a, b, trace)
			}
		}
		trace = append(trace, now)
	}
	return grow(grow(out, del, a...), add, b...)
}

// front is how many lines of a are behind on each diagonal, lines of a less
// lines of b, after some number of changes.
type front []int

// newFront is for d changes: diagonals -d to d, and one beyond at each end that
// is never reached.
func newFront(d int) front {
	f := make(front, 2*d+3)
	for i := range f {
		f[i] = -1
	}
	return f
}

func (f front) set(k, x int) { f[k+len(f)/2] = x }

func (f front) at(k int) int {
	if i := k + len(f)/2; i >= 0 && i < len(f) {
		return f[i]
	}
	return -1
}

// came is the diagonal from which one more change leads to k, and how far along
// it leads. A line that goes is preferred to one that comes.
func (f front) came(k int) (from, x int) {
	if down, right := f.at(k+1), f.at(k-1); right >= 0 && right >= down {
		return k - 1, right + 1
	} else {
		return k + 1, down
	}
}

// walk adds the lines of the way that trace has found, which it follows back
// from the end.
func walk(out []hunk, a, b []string, trace []front) []hunk {
	type step struct{ kind, line string }
	var back []step
	x, y := len(a), len(b)
	for d := len(trace) - 1; d >= 0; d-- {
		from, start := trace[d].came(x - y)
		for x > start {
			x, y = x-1, y-1
			back = append(back, step{same, a[x]})
		}
		if from == x-y-1 {
			x--
			back = append(back, step{del, a[x]})
		} else {
			y--
			back = append(back, step{add, b[y]})
		}
	}
	for x > 0 {
		x--
		back = append(back, step{same, a[x]})
	}
	for i := len(back) - 1; i >= 0; i-- {
		out = grow(out, back[i].kind, back[i].line)
	}
	return out
}
