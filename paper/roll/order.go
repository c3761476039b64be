package roll

import (
	"cmp"
	"slices"
)

// CompareSlots orders slots by leading edge as printed, then port. No two
// slots of a roll are equal in it: those of one port lie apart.
func CompareSlots(a, b *Slot) int {
	return cmp.Or(cmp.Compare(Printed(a.LeadMM), Printed(b.LeadMM)), cmp.Compare(a.Port, b.Port))
}

// sortSlots orders slots that are nearly in order already, as strokes that
// come by time are: an insertion sort, which is then linear, until the moves
// grow out of proportion.
func sortSlots(slots []Slot) {
	moves := 0
	for i := 1; i < len(slots); i++ {
		if CompareSlots(&slots[i-1], &slots[i]) <= 0 {
			continue
		}
		s, j := slots[i], i
		for ; j > 0 && CompareSlots(&slots[j-1], &s) > 0; j-- {
			slots[j] = slots[j-1]
		}
		slots[j] = s
		if moves += i - j; moves > 32*len(slots) {
			slices.SortFunc(slots, func(a, b Slot) int { return CompareSlots(&a, &b) })
			return
		}
	}
}

// mergeSlots orders slots of which the first n, and the rest, are nearly in
// order already.
func mergeSlots(slots []Slot, n int) {
	sortSlots(slots[:n])
	rest := slices.Clone(slots[n:])
	sortSlots(rest)
	i, j := n-1, len(rest)-1
	for k := len(slots) - 1; j >= 0; k-- {
		if i >= 0 && CompareSlots(&slots[i], &rest[j]) > 0 {
			slots[k] = slots[i]
			i--
		} else {
			slots[k] = rest[j]
			j--
		}
	}
}
