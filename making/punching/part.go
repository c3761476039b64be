package punching

import (
	"fmt"

	"rollwright/making/journal"
)

// Part is the stretch of a piece that a journal is about, in words.
func Part(h *journal.Head) string {
	text := "the whole piece"
	if h.Spools > 1 {
		text = fmt.Sprintf("spool %d of %d", h.Spool, h.Spools)
	}
	return text + fmt.Sprintf(", %.3f to %.3f s", h.FromSec, h.ToSec)
}

// Apart reports whether two journals of one piano part the piece into spools in
// different ways: nothing that is cut for one counts for the other. The last
// spool goes on to the end of the piece, however long that has become.
func Apart(a, b *journal.Head) bool {
	switch {
	case a.Spools != b.Spools:
		return true
	case a.Spool != b.Spool:
		return false
	}
	return a.FromSec != b.FromSec || a.ToSec != b.ToSec && a.Spool < a.Spools
}
