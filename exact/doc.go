// Package exact computes with numbers that are kept exact: fractions, products
// of roots with pi, e and phi, and sums of such products.
//
// There is one type, and one file, for each kind of number:
//
//   - [Rat]: a fraction of two int64. Operations that would not fit say so.
//   - [Real]: a positive real number, a product of primes, pi, e and phi raised
//     to rational powers: 21/20, sqrt(31)/4, the twelfth root of 2, e/pi.
//   - [Sum]: a sum of rational multiples of such numbers: 3/2 + 5*sqrt(2).
//
// Exactness ends in these places only, each a method that says how it rounds:
// Float64 and Float, which give the nearest floating-point number, and Cmp,
// Sign and the continued fraction of a number that nobody has proved rational
// or irrational (one with both pi and e in it), which look no further than
// [MaxBits] bits. Where mathematics has no answer, the answer is [Unknown].
//
// The numbers have no unit; the caller's names carry it.
package exact

// MaxBits is how far a comparison is carried before it is called undecided:
// two numbers that agree to so many binary digits (1233 decimal ones) are
// treated as if they were equal, though never said to be.
const MaxBits = 4096
