package blocks

// Several is what stands after the = of an attribute whose value is of several
// words without quotes around them, a remark after it left out. Parse has
// complained about it; the value's methods return that complaint, whose hint
// puts all in quotes. A reader that knows better what is wanted there may change
// problem and hint.
func (a *Attr) Several() (words string, ok bool) { return a.several, a.several != "" }

// SeveralEnd is the byte of the file after the words of Several.
func (a *Attr) SeveralEnd() int { return a.Value.Start + len(a.several) }
