package piecefile

import (
	"fmt"
	"slices"
	"unicode/utf8"
)

// longestGroup is the most members of a group that shorthand looks for.
const longestGroup = 64

// shorthand is members of a cycle as they are written: "4 times 3" and
// "2 times [3 1]" wherever that is shorter. Each word of the result stays on one
// line.
func shorthand(members []string) []string {
	numbers := map[string]int{}
	ids := make([]int, len(members))
	for i, m := range members {
		id, known := numbers[m]
		if !known {
			id = len(numbers)
			numbers[m] = id
		}
		ids[i] = id
	}
	s := shortener{members, ids}
	return s.short(0, len(members))
}

// shortener holds members with a number for each that is the same for equal ones.
type shortener struct {
	members []string
	ids     []int
}

// short is the members from one to another.
func (s *shortener) short(from, to int) []string {
	var words []string
	for i := from; i < to; {
		period, times := s.best(i, to)
		if times < 2 {
			words = append(words, s.members[i])
			i++
			continue
		}
		words = append(words, s.group(i, period, times)...)
		i += period * times
	}
	return words
}

// best is the repetition from member i on that saves most, and the shortest of
// those; 1 time where none saves anything.
func (s *shortener) best(i, to int) (period, times int) {
	most, size := 0, 0
	period, times = 1, 1
	for p := 1; p <= longestGroup && i+2*p <= to; p++ {
		size += utf8.RuneCountInString(s.members[i+p-1]) + 1
		n := s.repeats(i, to, p)
		if saved := (n-1)*size - len(fmt.Sprintf("%d times ", n)) - len("[]")*min(p-1, 1); n > 1 && saved > most {
			most, period, times = saved, p, n
		}
	}
	return period, times
}

// repeats is how often the p members from i on stand one after the other.
func (s *shortener) repeats(i, to, p int) int {
	n := 1
	for at := i + p; at+p <= to && slices.Equal(s.ids[at:at+p], s.ids[i:i+p]); at += p {
		n++
	}
	return n
}

// group is the words of a repetition.
func (s *shortener) group(i, period, times int) []string {
	head := fmt.Sprintf("%d times ", times)
	if period == 1 {
		return []string{head + s.members[i]}
	}
	words := s.short(i, i+period)
	words[0] = head + "[" + words[0]
	words[len(words)-1] += "]"
	return words
}
