package overhear

import (
	"cmp"
	"fmt"
	"slices"

	"rollwright/music/pitch"
	"rollwright/text/say"
)

// SilentKey is a key of which strokes in the take were silent.
type SilentKey struct {
	Key, Port int   // the port is counted from 1
	Strokes   int   // in the take
	Silent    []int // which were: indices into Strokes of the Result
	Dead      bool  // or its port is blocked: no key of fewer than five strokes is called so
}

// String says it in a sentence, without a full stop.
func (k SilentKey) String() string {
	out := fmt.Sprintf("%s was silent in %d of %s", pitch.Name(k.Key), len(k.Silent), say.Count(k.Strokes, "stroke"))
	if k.Dead {
		out += fmt.Sprintf(": a dead key or a blocked port %d", k.Port)
	}
	return out
}

// SilentKeys are the keys of which strokes were silent: dead ones first, by key, then
// those with most.
func (r *Result) SilentKeys() []SilentKey {
	var all [128]SilentKey
	for i, s := range r.Strokes() {
		if !s.InTake {
			continue
		}
		k := &all[s.Key]
		k.Key, k.Port = s.Key, s.Port
		k.Strokes++
		if s.Verdict == Silent {
			k.Silent = append(k.Silent, i)
		}
	}
	for i := range r.list {
		s := &r.list[i]
		k := &all[s.key]
		if s.dead > 0.9 && k.Strokes >= deadStrokes && 2*len(k.Silent) >= k.Strokes {
			k.Dead = true
		}
	}
	out := slices.DeleteFunc(all[:], func(k SilentKey) bool { return len(k.Silent) == 0 })
	slices.SortStableFunc(out, func(a, b SilentKey) int {
		switch {
		case a.Dead && b.Dead:
			return cmp.Compare(a.Key, b.Key)
		case a.Dead != b.Dead:
			if a.Dead {
				return -1
			}
			return 1
		}
		return cmp.Or(cmp.Compare(len(b.Silent), len(a.Silent)), cmp.Compare(a.Key, b.Key))
	})
	return out
}

// DeadKeys are the keys that are dead, or whose ports are blocked, by key.
func (r *Result) DeadKeys() []SilentKey {
	return slices.DeleteFunc(r.SilentKeys(), func(k SilentKey) bool { return !k.Dead })
}
