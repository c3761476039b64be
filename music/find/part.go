package find

import (
	"cmp"
	"context"
	"math"
	"slices"
	"strconv"
)

// partings are the ways in which notes without voices may be parted, the likeliest
// first: as voices that are one line at several speeds and pitches, which may
// cross, and of what is left ranges of keys whose pitches come back; as such
// ranges alone; as voices that each come back in a way of their own, which may cross
// too; as one voice.
func (d *Design) partings(ctx context.Context) []func() [][]int {
	rows := make([]int, len(d.Notes))
	for i := range rows {
		rows[i] = i
	}
	var ways []scaling
	c := newCloud(d.Notes, rows)
	return []func() [][]int{
		func() [][]int {
			ways = c.scalings(ctx)
			return d.byFamily(ctx, c, ways)
		},
		func() [][]int { return d.byRegister(ctx, rows) },
		func() [][]int { return d.byReturn(ctx, c, ways) },
		func() [][]int { return [][]int{rows} },
	}
}

// wellExplained is the share of notes without explanation below which no other
// way of parting is tried.
const wellExplained = 0.03

// parted is the design of notes without voices: of the ways of parting them, the
// one that explains them with least.
func parted(ctx context.Context, notes []Note) *Design {
	var best *Design
	for _, way := range (&Design{Notes: notes}).partings(ctx) {
		groups := way()
		if ctx.Err() != nil {
			return nil
		}
		if len(groups) == 0 || best != nil && best.wellParted(len(groups)) {
			continue
		}
		if d := grouped(ctx, notes, groups); best == nil || d.cost() < best.cost() {
			best = d
		}
	}
	return best
}

// grouped is the design of notes whose voices are these groups of rows, some notes of
// which may go to other voices yet, and some of which may be one.
func grouped(ctx context.Context, notes []Note, groups [][]int) *Design {
	best := designOf(ctx, notes, groups)
	better := func(groups [][]int) bool {
		if groups == nil || ctx.Err() != nil {
			return false
		}
		d := designOf(ctx, notes, groups)
		if ctx.Err() != nil || d.cost() >= best.cost() {
			return false
		}
		best = d
		return true
	}
	for range mostRegroups {
		if ctx.Err() != nil || best.Unexplained == 0 || len(notes) > mostCompared && best.mostlyExplained() {
			return best
		}
		if !better(best.regrouped()) && !better(best.merged(ctx)) {
			break
		}
	}
	if groups := best.trimmed(); groups != nil && ctx.Err() == nil {
		if d := designOf(ctx, notes, groups); d.Unexplained <= best.Unexplained {
			best = d
		}
	}
	return best
}

// designOf is the design of notes whose voices are these groups of rows.
func designOf(ctx context.Context, notes []Note, groups [][]int) *Design {
	d := &Design{Notes: notes, chords: newShapes()}
	d.nameGroups(groups)
	d.explain(ctx)
	return d
}

// cost is what it takes to say the notes by the design, in bits.
func (d *Design) cost() float64 {
	return errorBits*float64(d.Unexplained) + voiceBits*float64(len(d.Voices))
}

// mostlyExplained reports whether hardly any note is without explanation.
func (d *Design) mostlyExplained() bool {
	return float64(d.Unexplained) <= wellExplained*float64(len(d.Notes))
}

// wellParted reports whether notes need not be parted into so many voices besides: they
// are explained, and there are no more voices than that, or they have a line in common
// and sound at the same time. A voice that gets faster is like itself at another speed
// some time later, and as several voices, one after the other, it is explained as well;
// so is a song by its high and its low notes. Fewer voices are the better explanation.
func (d *Design) wellParted(voices int) bool {
	if !d.mostlyExplained() {
		return false
	}
	return len(d.Voices) <= voices || len(d.Notes) > mostCompared || len(d.Canons) > 0 && !d.succeedEachOther()
}

// mostCompared is how many notes that are explained are explained in other ways too.
const mostCompared = 8000

// succeedEachOther reports whether two voices share less than half the time of the
// shorter one.
func (d *Design) succeedEachOther() bool {
	for i := range d.Voices {
		for j := range i {
			a, b := &d.Voices[i], &d.Voices[j]
			shared := math.Min(a.EndSec, b.EndSec) - math.Max(a.StartSec, b.StartSec)
			if shared < math.Min(a.EndSec-a.StartSec, b.EndSec-b.StartSec)/2 {
				return true
			}
		}
	}
	return false
}

// byFamily parts all notes by the voices of a line; nil where none has most of them.
func (d *Design) byFamily(ctx context.Context, c *cloud, ways []scaling) [][]int {
	f := c.family(ctx, ways)
	if f == nil || f.placed <= len(c.t)/2 {
		return nil
	}
	groups := make([][]int, len(f.voices))
	var left []int
	for i, v := range f.of {
		if v < 0 {
			left = append(left, i)
		} else {
			groups[v] = append(groups[v], i)
		}
	}
	if len(left) > len(c.t)/20 {
		groups = append(groups, d.byRegister(ctx, left)...)
	}
	return groups
}

// byReturn parts all notes by how they come back, and what is left by ranges of keys;
// nil where nothing comes back.
func (d *Design) byReturn(ctx context.Context, c *cloud, ways []scaling) [][]int {
	groups, left := c.returns(ways)
	if len(groups) > 0 && len(left) > 0 {
		groups = append(groups, d.byRegister(ctx, left)...)
	}
	return groups
}

// byRegister parts rows by ranges of keys.
func (d *Design) byRegister(ctx context.Context, rows []int) [][]int {
	starts := newCloud(d.Notes, rows).registers(ctx)
	groups := make([][]int, len(starts))
	for _, r := range rows {
		k, found := slices.BinarySearch(starts, d.Notes[r].Key)
		if !found {
			k--
		}
		if k >= 0 { // a search that was broken off has not all ranges
			groups[k] = append(groups[k], r)
		}
	}
	return groups
}

// leastVoice is how many notes make a voice.
const leastVoice = 6

// nameGroups makes voices of groups of rows, in order of their first notes, and
// numbers them.
func (d *Design) nameGroups(groups [][]int) {
	groups = slices.DeleteFunc(groups, func(g []int) bool { return len(g) < leastVoice })
	slices.SortStableFunc(groups, func(a, b []int) int { return cmp.Compare(a[0], b[0]) })
	for i, g := range groups {
		d.Voices = append(d.Voices, newVoice(roman(i+1), d.Notes, g, d.chords))
	}
}

// roman numbers voices as parts are numbered; beyond what a person would read so,
// with figures.
func roman(n int) string {
	if n > 39 {
		return strconv.Itoa(n)
	}
	out := ""
	for _, d := range []struct {
		value int
		text  string
	}{{10, "X"}, {9, "IX"}, {5, "V"}, {4, "IV"}, {1, "I"}} {
		for n >= d.value {
			out, n = out+d.text, n-d.value
		}
	}
	return out
}
