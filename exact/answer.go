package exact

// Answer is the answer to a question about numbers. The zero Answer is Unknown.
type Answer int8

// The three answers. Unknown means that no proof is known to mathematics (or,
// where a method says so, that the numbers are too large to look).
const (
	Unknown Answer = iota
	No
	Yes
)

// String is "not known", "no" or "yes".
func (a Answer) String() string {
	switch a {
	case No:
		return "no"
	case Yes:
		return "yes"
	}
	return "not known"
}

// answer turns a proven fact into an Answer.
func answer(yes bool) Answer {
	if yes {
		return Yes
	}
	return No
}
