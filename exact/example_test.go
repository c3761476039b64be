package exact_test

import (
	"fmt"
	"math/big"

	"rollwright/exact"
)

// Two speeds: does a whole number of units of the one ever last as long as a
// whole number of units of the other?
func Example() {
	for _, text := range []string{"21/20", "sqrt(18)/sqrt(2)", "sqrt(31)/4", "e/pi"} {
		speed, err := exact.Parse(text)
		if err != nil {
			fmt.Println(err)
			continue
		}
		fmt.Printf("%s = %s: commensurable with 1: %v, nearly %v\n",
			text, speed, speed.Rational(), speed.Convergents(4))
	}
	// Output:
	// 21/20 = 21/20: commensurable with 1: yes, nearly [1/1 21/20]
	// sqrt(18)/sqrt(2) = 3: commensurable with 1: yes, nearly [3/1]
	// sqrt(31)/4 = sqrt(31)/4: commensurable with 1: no, nearly [1/1 3/2 4/3 7/5]
	// e/pi = e/pi: commensurable with 1: not known, nearly [0/1 1/1 6/7 13/15]
}

func ExampleRat_Add() {
	talea := []exact.Rat{exact.NewRat(3, 16), exact.NewRat(1, 12), exact.NewRat(1, 4)}
	var length exact.Rat
	for _, duration := range talea {
		longer, ok := length.Add(duration)
		if !ok {
			fmt.Println("too long to be kept exact")
			return
		}
		length = longer
	}
	fmt.Println(length)
	// Output: 25/48
}

func ExampleParse_error() {
	_, err := exact.Parse("1 + sqrt(2)")
	fmt.Println(err)
	// Output:
	// a sum cannot be written here: only products, quotients and roots are kept exact; work it out and write it as one fraction, decimal or root
}

// One voice has units of 1/8 s and begins at once; another has units of
// sqrt(2)/8 s and begins 1 s later. The only place where they can meet is where
// x/8 = 1 + y*sqrt(2)/8.
func ExampleSum_InSpan() {
	first, second := exact.Frac(1, 8), exact.MustParse("sqrt(2)/8")
	later := exact.SumRat(big.NewRat(1, 1))
	x, y, answer := later.InSpan(first, second)
	fmt.Println(answer, x, y)
	_, _, answer = exact.SumOf(exact.MustParse("sqrt(3)")).InSpan(first, second)
	fmt.Println(answer)
	// Output:
	// yes 8/1 0/1
	// no
}
