package row

import "io"

// pumped is how many bytes are made ahead at a time.
const pumped = 1 << 18

// pump inflates ahead in a goroutine of its own, so that undoing filters and
// looking at pixels cost no time of the inflating.
type pump struct {
	full, free chan []byte
	stop       chan struct{}
	err        error // set before full is closed
	block      []byte
	spent      []byte
}

// newPump reads r in blocks of whole rows of n bytes.
func newPump(r io.Reader, n int) *pump {
	p := &pump{full: make(chan []byte, 2), free: make(chan []byte, 4), stop: make(chan struct{})}
	size := max(pumped/n, 1) * n
	for range 4 {
		p.free <- make([]byte, size)
	}
	go p.run(r)
	return p
}

func (p *pump) run(r io.Reader) {
	defer close(p.full)
	for {
		var b []byte
		select {
		case b = <-p.free:
		case <-p.stop:
			return
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

// readFull fills dst or fails.
func (p *pump) readFull(dst []byte) error {
	for len(dst) > 0 {
		if len(p.block) == 0 {
			if p.spent != nil {
				p.free <- p.spent
				p.spent = nil
			}
			b, ok := <-p.full
			if !ok {
				return orEOF(p.err)
			}
			p.block, p.spent = b, b
		}
		n := copy(dst, p.block)
		dst, p.block = dst[n:], p.block[n:]
	}
	return nil
}

func orEOF(err error) error {
	if err == nil {
		return io.EOF
	}
	return err
}

func (p *pump) close() { close(p.stop) }
