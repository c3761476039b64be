package plan

// endTogether is how many notes it takes until a color of so many members and
// a talea of so many notes end together: their least common multiple.
func endTogether(color, talea int) int { return color / gcd(color, talea) * talea }

func gcd[T int | int64](a, b T) T {
	for b != 0 {
		a, b = b, a%b
	}
	if a < 0 {
		return -a
	}
	return a
}

// mod is the remainder of a that is not negative.
func mod(a, m int64) int64 {
	if a %= m; a < 0 {
		a += m
	}
	return a
}

// ceilDiv is the least integer not below a/b, for b > 0.
func ceilDiv(a, b int64) int64 {
	q := a / b
	if a%b > 0 {
		q++
	}
	return q
}
