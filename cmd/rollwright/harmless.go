package main

import (
	"io"
	"os"
	"sync"

	"golang.org/x/term"
)

// harmless passes on what is written for people, without what a terminal acts on:
// names, titles and paths come from files of others. Each control character but the
// line end and the tab is shown as one that can be seen. The screens of punch and the
// bar of a long command go past it.
type harmless struct {
	w    io.Writer
	lock sync.Mutex
	last byte // written before
}

// guarded lets nothing harmful through to a person: to the second output, and to the
// first where it is a screen. Elsewhere that holds data.
func guarded(t terminal) terminal {
	if _, screen := screenOf(t.out); screen {
		t.out = &harmless{w: t.out}
	}
	t.err = &harmless{w: t.err}
	return t
}

// screenOf is the file behind an output, and whether it is a terminal.
func screenOf(w io.Writer) (file *os.File, screen bool) {
	if h, ok := w.(*harmless); ok {
		w = h.w
	}
	file, ok := w.(*os.File)
	return file, ok && term.IsTerminal(int(file.Fd()))
}

// Write replaces single bytes, as a character may come in two writes: of the control
// characters U+0080 to U+009F the second byte, which makes them U+00BF.
func (h *harmless) Write(p []byte) (int, error) {
	h.lock.Lock()
	defer h.lock.Unlock()
	out := make([]byte, 0, len(p))
	for _, b := range p {
		switch {
		case b < ' ' && b != '\n' && b != '\t' || b == 0x7f:
			out = append(out, "\uFFFD"...)
		case h.last == 0xc2 && 0x80 <= b && b <= 0x9f:
			out = append(out, 0xbf)
		default:
			out = append(out, b)
		}
		h.last = b
	}
	if _, err := h.w.Write(out); err != nil {
		return 0, err
	}
	return len(p), nil
}
