package inspect

import "sync"

// Try gives how many findings of each Severity are left when a change is made to
// the piece, and false where that cannot be found out.
type Try func(Change) (counts [3]int, ok bool)

// trials remember which changes help, so that a remedy does not make of one
// finding two. Without a way of trying, every change counts as good.
type trials struct {
	mu     sync.Mutex
	try    Try
	before [3]int
	left   int
	known  map[trial][3]int
}

// trial is a transposition that was tried.
type trial struct {
	voice int
	value string
}

// Try lets remedies that move a voice by octaves be named only where that leaves
// fewer findings as bad as theirs, or worse. At most so many changes are tried;
// what is not tried is not named then. Without Try they are named untried.
func (r *Report) Try(try Try, most int) {
	r.trials.mu.Lock()
	defer r.trials.mu.Unlock()
	r.trials.try, r.trials.before, r.trials.left = try, r.Counts, most
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
	key := trial{c.Voice, c.Value}
	after, known := t.known[key]
	if !known {
		if t.left <= 0 {
			return false
		}
		t.left--
		var ok bool
		if after, ok = t.try(c); !ok {
			after = t.before // no better
		}
		t.known[key] = after
	}
	return atLeast(after, severity) < atLeast(t.before, severity)
}

// atLeast counts what is as bad as that, or worse.
func atLeast(counts [3]int, severity Severity) (n int) {
	for _, c := range counts[severity:] {
		n += c
	}
	return n
}
