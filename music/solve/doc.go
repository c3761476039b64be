// Package solve finds the numbers that make equations true: linear equations in
// several unknowns, or one equation in one unknown of which only a function is
// known that can be evaluated.
//
// Numbers have no unit here; the caller's names carry it. What goes in exactly
// (sums of roots, exact.Sum) comes out exactly where it is a product of roots
// or can be written as such a sum. Everything else is worked out to Prec bits,
// some 77 decimal digits, and what differs from 0 by less than 2^-120 of what
// it was made of counts as 0.
package solve

// Prec is the precision in bits of what is not exact.
const Prec = 256
