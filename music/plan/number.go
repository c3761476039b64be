package plan

import (
	"encoding/json"
	"math"
	"math/big"
	"strconv"

	"rollwright/exact"
	"rollwright/music/event"
)

// Number is a number twice: exactly, where that is known and short enough to
// be of use, and as a decimal.
type Number struct {
	Exact   string  // as package exact writes it; empty: not known exactly
	Decimal float64 // nearest to it, or right to 1 ns for a time
}

// longestExact is how many characters of an exact number are kept.
const longestExact = 200

// MarshalJSON writes {"exact": "sqrt(2)", "decimal": 1.41421356237}: the exact
// text null when it is not known, the decimal with twelve digits.
func (n Number) MarshalJSON() ([]byte, error) {
	out := []byte(`{"exact":null`)
	if n.Exact != "" {
		text, err := json.Marshal(n.Exact)
		if err != nil {
			return nil, err
		}
		out = append([]byte(`{"exact":`), text...)
	}
	out = append(out, `,"decimal":`...)
	return append(append(out, decimalText(n.Decimal)...), '}'), nil
}

// UnmarshalJSON reads what MarshalJSON writes.
func (n *Number) UnmarshalJSON(data []byte) error {
	var in struct {
		Exact   *string
		Decimal float64
	}
	if err := json.Unmarshal(data, &in); err != nil {
		return err
	}
	*n = Number{Decimal: in.Decimal}
	if in.Exact != nil {
		n.Exact = *in.Exact
	}
	return nil
}

// decimalText rounds to twelve significant digits: the last ones of a float64
// may differ between processors, and a plan may not.
func decimalText(x float64) string {
	if math.IsInf(x, 0) || math.IsNaN(x) {
		return "null"
	}
	rounded, _ := strconv.ParseFloat(strconv.FormatFloat(x, 'g', 12, 64), 64)
	if rounded == 0 {
		return "0" // never -0
	}
	return strconv.FormatFloat(rounded, 'g', -1, 64)
}

// Seconds is a time or a length of time in seconds, right to 1 ns.
type Seconds float64

// MarshalJSON writes nine decimals, rounded half up.
func (s Seconds) MarshalJSON() ([]byte, error) {
	return strconv.AppendFloat(nil, float64(nanoseconds(float64(s)))/1e9, 'f', 9, 64), nil
}

// nanoseconds rounds a time in seconds to whole nanoseconds as the tables of
// events do. Times beyond 9e9 s (285 years) are held to that.
func nanoseconds(sec float64) int64 {
	return event.Nanoseconds(min(max(sec, -9e9), 9e9))
}

func intNumber(n int64) Number { return Number{strconv.FormatInt(n, 10), float64(n)} }

func decimalNumber(x float64) Number { return Number{Decimal: x} }

func ratNumber(r *big.Rat) Number {
	f, _ := r.Float64()
	return Number{short(ratText(r)), f}
}

func realNumber(x exact.Real) Number { return Number{short(x.String()), x.Float64()} }

func sumNumber(s exact.Sum) Number { return Number{short(s.String()), s.Float64()} }

// short drops an exact text that nobody could read.
func short(text string) string {
	if len(text) > longestExact {
		return ""
	}
	return text
}

// ratText writes a fraction without a denominator of 1.
func ratText(r *big.Rat) string {
	if r.IsInt() {
		return r.Num().String()
	}
	return r.String()
}

// absSum is s without its sign; an undecided sum counts as positive.
func absSum(s exact.Sum) exact.Sum {
	if s.Sign() < 0 {
		return s.Neg()
	}
	return s
}
