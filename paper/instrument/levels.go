package instrument

// Accented reports whether a note of the given level is played as an accent:
// when its level is nearer to AccentLevel than to PlainLevel, halfway
// included.
func (v Levels) Accented(level int) bool {
	return v.Kind == Accents && 2*level >= v.AccentLevel+v.PlainLevel
}

// NearestStep is the binary number whose level is nearest to the given one,
// the lower number when two are as near. It is 0 without steps.
func (v Levels) NearestStep(level int) int {
	best := 0
	for i, l := range v.Steps {
		if abs(l-level) < abs(v.Steps[best]-level) {
			best = i
		}
	}
	return best
}

func abs(n int) int { return max(n, -n) }
