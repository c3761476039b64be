package plan

// contact is two notes, one of each voice, by their indices.
type contact struct{ a, b int }

// sweep walks two rising series of instants once, side by side.
//
// Notes for which meets says yes are handed to meet. Every other two notes, one
// of each series, neither of them in a meeting, with no further note between
// them, are handed to near with their distance.
type sweep struct {
	a, b  []int64
	meets func(i, j int) bool
	meet  func(i, j int)
	near  func(i, j int, distance int64)
}

func (s sweep) run() {
	i, j := 0, 0
	for i < len(s.a) && j < len(s.b) {
		switch {
		case s.meets(i, j):
			s.meet(i, j)
			i++
			j++
		case s.a[i] <= s.b[j]:
			if i+1 == len(s.a) || s.a[i+1] > s.b[j] && !s.meets(i+1, j) {
				s.near(i, j, s.b[j]-s.a[i])
			}
			i++
		default:
			if j+1 == len(s.b) || s.b[j+1] > s.a[i] && !s.meets(i, j+1) {
				s.near(i, j, s.a[i]-s.b[j])
			}
			j++
		}
	}
}

// closest keeps the few smallest distances, earlier ones first among equals,
// and counts how many are as small as the smallest.
type closest struct {
	room  int
	kept  []distance
	equal int
}

type distance struct {
	contact
	size int64
}

func (c *closest) add(i, j int, size int64) {
	switch {
	case len(c.kept) == 0 || size < c.kept[0].size:
		c.equal = 1
	case size == c.kept[0].size:
		c.equal++
	}
	if len(c.kept) == c.room {
		if size >= c.kept[c.room-1].size {
			return
		}
		c.kept = c.kept[:c.room-1]
	}
	at := len(c.kept)
	for at > 0 && c.kept[at-1].size > size {
		at--
	}
	c.kept = append(c.kept, distance{})
	copy(c.kept[at+1:], c.kept[at:])
	c.kept[at] = distance{contact{i, j}, size}
}
