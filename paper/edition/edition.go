// Package edition holds rolls together with what is said of them on sheets,
// labels and files: everything that is made of rolls is made from an Edition.
//
// A piece, a test roll, a journal of the bench, a table of holes, a picture of
// paper each become one. Times are seconds, lengths millimetres, as in package
// roll; nothing is reckoned here.
package edition

import (
	"fmt"

	"rollwright/paper/roll"
	"rollwright/paper/spools"
)

// Edition is the rolls of one piece, or of something else that is cut in paper.
type Edition struct {
	Title    string
	Composer string
	Source   string // the file that the rolls come from, as it was named; may be empty
	Rolls    []*Roll
}

// Roll is one roll on its spool, with what its sheets show.
type Roll struct {
	*spools.Spool
	Cues  []Cue    // lines across the paper that players watch for; nil: none
	Names []string // what the source calls the keys of the ports, by port; empty where it does not say; nil: nowhere
	EndMM float64  // where the paper of all pianos of this spool ends, along; 0: with this roll
}

// Cue is a place along the roll.
type Cue struct {
	AlongMM float64
	Name    string
}

// Whole is an edition of rolls that are each on one spool.
func Whole(title string, rolls ...*roll.Roll) *Edition {
	e := &Edition{Title: title}
	for _, r := range rolls {
		e.Rolls = append(e.Rolls, &Roll{Spool: &spools.Spool{Roll: r, Number: 1, Of: 1, ToSec: r.EndSec}})
	}
	return e
}

// Papers are the rolls themselves, in order.
func (e *Edition) Papers() []*roll.Roll {
	out := make([]*roll.Roll, len(e.Rolls))
	for i, r := range e.Rolls {
		out[i] = r.Roll
	}
	return out
}

// Of is the edition with some of its rolls alone.
func (e *Edition) Of(rolls ...*Roll) *Edition {
	some := *e
	some.Rolls = rolls
	return &some
}

// SpoolTitle is the title with the number of the roll's spool, where there are
// several.
func (e *Edition) SpoolTitle(r *Roll) string {
	if r.Of <= 1 {
		return e.Title
	}
	return e.Title + fmt.Sprintf(", spool %d of %d", r.Number, r.Of)
}

// RollTitle is SpoolTitle with the name of the roll's piano, where it has one.
func (e *Edition) RollTitle(r *Roll) string {
	named := *e
	if r.Name != "" {
		named.Title += " (" + r.Name + ")"
	}
	return named.SpoolTitle(r)
}
