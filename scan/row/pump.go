package row

import "io"

// So many bytes are made at a time, so many times ahead.
const (
	pumped = 1 << 18
	ahead  = 30
)

// pump inflates ahead in a goroutine of its own, so that undoing filters and
// looking at pixels cost no time of the inflating.
type pump struct {
	full, free chan []byte
	stop       chan struct{}
	err        error  // set before full is closed
	bytes      int    // of a row
	block      []byte // rows still to be given
	spent      []byte // the block they are in
	above      []byte // the row given last, once its block is gone
}

// newPump reads r in blocks of whole rows of n bytes.
func newPump(r io.Reader, n int) *pump {
	p := &pump{full: make(chan []byte, ahead), free: make(chan []byte, ahead+2), stop: make(chan struct{}), bytes: n}
	size := max(pumped/n, 1) * n
	for range cap(p.free) {
		p.free <- nil // made when it is needed: small pictures have one block
	}
	go p.run(r, size)
	return p
}

func (p *pump) run(r io.Reader, size int) {
	defer close(p.full)
	for {
		var b []byte
		select {
		case b = <-p.free:
		case <-p.stop:
			return
		}
		if b == nil {
			b = make([]byte, size)
		}
		n, err := io.ReadFull(r, b[:cap(b)])
		if n > 0 {
			select {
			case p.full <- b[:n]:
			case <-p.stop:
				return
			}
		}
		if err != nil {
			p.err = err
			return
		}
	}
}

// next is the next row, which the caller may change, and the one before it as the
// caller left it, nil before the first. Both are good until next is called again.
func (p *pump) next() (row, above []byte, err error) {
	if done := len(p.spent) - len(p.block); done > 0 {
		above = p.spent[done-p.bytes : done : done]
	}
	if len(p.block) == 0 {
		if p.spent != nil {
			p.above = append(p.above[:0], above...)
			above = p.above
			p.free <- p.spent
			p.spent = nil
		}
		b, ok := <-p.full
		if !ok {
			return nil, nil, orEOF(p.err)
		}
		p.block, p.spent = b, b
	}
	if len(p.block) < p.bytes {
		p.block, p.spent = nil, nil
		return nil, nil, io.ErrUnexpectedEOF
	}
	row, p.block = p.block[:p.bytes:p.bytes], p.block[p.bytes:]
	return row, above, nil
}

func orEOF(err error) error {
	if err == nil {
		return io.EOF
	}
	return err
}

func (p *pump) close() { close(p.stop) }
