package sound

import "sync"

// An arena hands out memory for samples from large pieces, and takes it back to
// hand it out again. It serves few sizes, each many times. Nobody may look at any of
// it after close.
type arena struct {
	mu     sync.Mutex
	free   []float32
	back   map[int][][]float32 // by size
	pieces []func()            // what gives each of them back
}

// arenaFloats is the size of a piece: 16 MiB, so that most of it is whole large pages.
const arenaFloats = 4 << 20

// floats is n samples of any value, n much less than a piece.
func (a *arena) floats(n int) []float32 {
	a.mu.Lock()
	defer a.mu.Unlock()
	if list := a.back[n]; len(list) > 0 {
		x := list[len(list)-1]
		a.back[n] = list[:len(list)-1]
		return x
	}
	if n > len(a.free) {
		x, giveBack := mapped(arenaFloats)
		a.free, a.pieces = x, append(a.pieces, giveBack)
	}
	x := a.free[:n:n]
	a.free = a.free[n:]
	return x
}

// zeros is n zeros.
func (a *arena) zeros(n int) []float32 {
	x := a.floats(n)
	clear(x)
	return x
}

// giveBack takes what floats handed out and nobody looks at any more.
func (a *arena) giveBack(x []float32) {
	a.mu.Lock()
	defer a.mu.Unlock()
	if a.back == nil {
		a.back = map[int][][]float32{}
	}
	a.back[len(x)] = append(a.back[len(x)], x)
}

// close gives all memory back.
func (a *arena) close() {
	for _, giveBack := range a.pieces {
		giveBack()
	}
	*a = arena{}
}
