package inspect

import "sync"

// Try gives how many findings of each Severity are left when a change is written into
// the text of the piece, and false where that cannot be found out.
type Try func(Change) (counts [3]int, ok bool)

// trials remember which changes help, so that no remedy is named that makes of one
// finding two. Without a way of trying, every change counts as good.
type trials struct {
	mu     sync.Mutex
	try    Try
	before [3]int
	left   int
	known  map[Change][3]int
}

// Try lets remedies be named only where the text that they would make has fewer
// findings as bad as theirs, or worse, and no more of those that are worse still. At most
// so many changes are tried; what is not tried is not named then. Without Try they are
// named untried.
func (r *Report) Try(try Try, most int) {
	r.trials.mu.Lock()
	defer r.trials.mu.Unlock()
	r.trials.try, r.trials.before, r.trials.left = try, r.Counts, most
}

// tries reports whether changes are tried before they are named.
func (t *trials) tries() bool {
	if t == nil {
		return false
	}
	t.mu.Lock()
	defer t.mu.Unlock()
	return t.try != nil
}

// helps reports whether a change leaves fewer findings of that severity or worse.
func (t *trials) helps(c Change, severity Severity) bool {
	if t == nil {
		return true
	}
	t.mu.Lock()
	defer t.mu.Unlock()
	if t.try == nil {
		return true
	}
	after, known := t.known[c]
	if !known {
		if t.left <= 0 {
			return false
		}
		t.left--
		var ok bool
		if after, ok = t.try(c); !ok {
			after = t.before // no better
		}
		t.known[c] = after
	}
	return Better(t.before, after, severity)
}

// Better reports whether the counts after a change are better for a finding of a
// severity: fewer are as bad or worse, and no more are worse.
func Better(before, after [3]int, severity Severity) bool {
	return atLeast(after, severity) < atLeast(before, severity) &&
		(severity == Forbids || atLeast(after, severity+1) <= atLeast(before, severity+1))
}

// atLeast counts what is as bad as that, or worse.
func atLeast(counts [3]int, severity Severity) (n int) {
	for _, c := range counts[severity:] {
		n += c
	}
	return n
}
