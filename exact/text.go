package exact

import (
	"fmt"
	"math/bits"
	"strconv"
	"strings"
)

// String is the number as Parse reads it back to an equal one. Roots are
// reduced: powers lie between 0 and 1, and primes with the same power stand
// under one root, as in "3*sqrt(2)/2", "root(12, 2)", "pow(2, 7/12)", "e/pi"; what is whole
// cents and no root that anybody would write is cents: "cents(20)".
// Each number has one text. (Parse has limits; a number that computing took
// beyond them has a text that it refuses.)
func (x Real) String() string {
	if text, ok := x.centsText(); ok {
		return text
	}
	num, den := x.integerTexts()
	num = append(num, x.rootTexts()...)
	for _, f := range x.factors {
		switch {
		case f.base < basePhi:
		case f.exp.sign() > 0:
			num = append(num, powerText(f.base.String(), f.exp))
		default:
			den = append(den, powerText(f.base.String(), f.exp.neg()))
		}
	}
	text := strings.Join(num, "*")
	if text == "" {
		text = "1"
	}
	switch len(den) {
	case 0:
		return text
	case 1:
		return text + "/" + den[0]
	}
	return text + "/(" + strings.Join(den, "*") + ")"
}

// centsText is a power of 2 alone as cents, where these are whole and its root is finer than
// that of a semitone and no other of a common division.
func (x Real) centsText() (string, bool) {
	if len(x.factors) != 1 || x.factors[0].base != 2 || x.factors[0].exp.big != nil {
		return "", false
	}
	p := x.factors[0].exp.small
	if p.Den() < 8 || p.Den() == 12 {
		return "", false
	}
	cents, ok := p.Mul(Int(1200))
	if !ok || !cents.IsInt() {
		return "", false
	}
	return "cents(" + cents.String() + ")", true
}

func (b base) String() string {
	switch b {
	case basePhi:
		return "phi"
	case basePi:
		return "pi"
	case baseE:
		return "e"
	}
	return strconv.FormatUint(uint64(b), 10)
}

// powerText is how x to the power p, more than 0, is written.
func powerText(x string, p exponent) string {
	if p.big == nil && p.small.Num() == 1 {
		switch den := p.small.Den(); den {
		case 1:
			return x
		case 2:
			return "sqrt(" + x + ")"
		case 3:
			return "cbrt(" + x + ")"
		default:
			return fmt.Sprintf("root(%d, %s)", den, x)
		}
	}
	return fmt.Sprintf("pow(%s, %s)", x, p)
}

// integerTexts are the whole powers of primes: the numbers above and those
// below the line, each below maxInteger, or a power that is not.
func (x Real) integerTexts() (num, den []string) {
	var above, below packer
	for _, f := range x.factors {
		if f.base >= basePhi {
			continue
		}
		whole, _ := f.exp.split()
		side := &above
		if whole.Sign() < 0 {
			side = &below
			whole.Neg(whole)
		}
		if whole.Sign() == 0 {
			continue
		}
		if !whole.IsInt64() || !side.add(uint64(f.base), whole.Int64()) {
			side.texts = append(side.texts, fmt.Sprintf("pow(%s, %s)", f.base, whole))
		}
	}
	return above.done(), below.done()
}

// maxInteger bounds the whole numbers that String writes: 18 digits, which
// Parse always takes apart again.
const maxInteger = 1_000_000_000_000_000_000

// packer multiplies prime powers together as long as the product stays below
// maxInteger.
type packer struct {
	texts   []string
	product uint64 // 0: none yet
}

// add multiplies by b^n; false when b^n alone is too large. A prime of 19
// digits has to stand as it is: it is below 2^63.
func (p *packer) add(b uint64, n int64) bool {
	if n == 1 && b >= maxInteger {
		p.texts = append(p.texts, strconv.FormatUint(b, 10))
		return true
	}
	power, ok := powerBelow(b, n, maxInteger)
	if !ok {
		return false
	}
	if product, ok := mulBelow(max(p.product, 1), power, maxInteger); ok {
		p.product = product
		return true
	}
	p.texts = p.done()
	p.product = power
	return true
}

func (p *packer) done() []string {
	if p.product == 0 {
		return p.texts
	}
	return append(p.texts, strconv.FormatUint(p.product, 10))
}

func powerBelow(b uint64, n int64, limit uint64) (uint64, bool) {
	if n >= 64 {
		return 0, false
	}
	power, ok := uint64(1), true
	for range n {
		if power, ok = mulBelow(power, b, limit); !ok {
			return 0, false
		}
	}
	return power, true
}

func mulBelow(a, b, limit uint64) (uint64, bool) {
	high, low := bits.Mul64(a, b)
	return low, high == 0 && low < limit
}

// rootTexts are the roots of primes, in the order of the smallest prime under
// each.
func (x Real) rootTexts() []string {
	type radical struct {
		fraction exponent
		packer   packer
	}
	var radicals []*radical
	for _, f := range x.factors {
		if f.base >= basePhi {
			continue
		}
		_, fraction := f.exp.split()
		if fraction.sign() == 0 {
			continue
		}
		var same *radical
		for _, r := range radicals {
			if r.fraction.equal(fraction) {
				same = r
			}
		}
		if same == nil {
			same = &radical{fraction: fraction}
			radicals = append(radicals, same)
		}
		same.packer.add(uint64(f.base), 1)
	}
	var texts []string
	for _, r := range radicals {
		for _, radicand := range r.packer.done() {
			texts = append(texts, powerText(radicand, r.fraction))
		}
	}
	return texts
}
