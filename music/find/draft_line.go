package find

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"rollwright/music/event"
	"rollwright/text/draft"
)

// rest writes the notes of no voice, and those that the series of their voice do
// not explain.
func (t *drafting) rest() {
	strays := len(t.left)
	for i, of := range t.d.Of {
		if of < 0 {
			t.left = append(t.left, i)
		}
	}
	if len(t.left) == 0 {
		return
	}
	slices.Sort(t.left)
	remark := "No voice was found for these notes."
	if strays > 0 {
		remark = "Notes that no series explains, at the times of the table, a unit a second."
	}
	t.lines("rest", remark, t.left)
}

// lines writes rows as they stand, in as many voices as sound at once: in each
// only notes that follow one another, or begin and end together.
func (t *drafting) lines(name, remark string, rows []int) {
	for _, strand := range t.strands(rows) {
		entry := draft.Block("voice", t.name(name),
			draft.Attr("tempo", draft.Bare(strconv.Itoa(sixteenthsAMinute))),
			draft.Attr("start", draft.Quoted(trimmed(event.Nanoseconds(strand[0].start))+" s")),
			draft.Attr("line", draft.Series(strandWords(strand)...)))
		if level := t.d.level(rows); level != 80 {
			entry.Inside = append(entry.Inside, draft.Attr("dynamics", draft.Bare(strconv.Itoa(level))))
		}
		t.entries = append(t.entries, entry.Above(remark))
		remark = ""
	}
}

// blow is a chord of a line.
type blow struct {
	start, end float64
	keys       []int
}

// strands parts rows into lines in which nothing overlaps.
func (t *drafting) strands(rows []int) [][]blow {
	var blows []blow
	rows = slices.Clone(rows)
	slices.SortStableFunc(rows, func(a, b int) int {
		x, y := t.d.Notes[a], t.d.Notes[b]
		return cmp.Or(cmp.Compare(x.StartSec, y.StartSec), cmp.Compare(x.EndSec, y.EndSec), cmp.Compare(x.Key, y.Key))
	})
	for _, r := range rows {
		n := t.d.Notes[r]
		if last := len(blows) - 1; last >= 0 && blows[last].start == n.StartSec && blows[last].end == n.EndSec {
			if !slices.Contains(blows[last].keys, n.Key) {
				blows[last].keys = append(blows[last].keys, n.Key)
			}
			continue
		}
		blows = append(blows, blow{n.StartSec, n.EndSec, []int{n.Key}})
	}
	var strands [][]blow
	for _, b := range blows {
		k := slices.IndexFunc(strands, func(s []blow) bool {
			last := s[len(s)-1]
			return event.Nanoseconds(last.end) <= event.Nanoseconds(b.start) && last.start < b.start
		})
		if k < 0 {
			strands = append(strands, nil)
			k = len(strands) - 1
		}
		strands[k] = append(strands[k], b)
	}
	return strands
}

// strandWords are the items of a line whose unit is a second.
func strandWords(strand []blow) []string {
	var words []string
	at := event.Nanoseconds(strand[0].start)
	for _, b := range strand {
		start, end := event.Nanoseconds(b.start), event.Nanoseconds(b.end)
		if start > at {
			words = append(words, "("+trimmed(start-at)+")")
		}
		if end <= start {
			end = start + 1_000_000 // a single punch: as short as can be written
		}
		words = append(words, chordName(b.keys)+":"+trimmed(end-start))
		at = end
	}
	return words
}

// trimmed writes nanoseconds as seconds without zeros at the end.
func trimmed(ns int64) string {
	text := fmt.Sprintf("%d.%09d", ns/1_000_000_000, ns%1_000_000_000)
	return strings.TrimRight(strings.TrimRight(text, "0"), ".")
}
