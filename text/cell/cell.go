// Package cell makes names harmless in tables.
//
// A spreadsheet takes a cell that begins with = + - or @, or with a tab or a
// carriage return, for a formula, quoted or not (OWASP, CSV Injection). A name
// that begins so is written with an apostrophe before it, as people write such a
// text in a spreadsheet; who reads the table takes it off again. Numbers are no
// names: -1.5 stays what it is.
package cell

import "strings"

// formula are the characters that begin a formula.
const formula = "=+-@\t\r"

// Name is a name as a cell of a table has it.
func Name(name string) string {
	if risky(name) {
		return "'" + name
	}
	return name
}

// Read is the name of which Name has made a cell. Of every name that comes back
// the name that it was: Name puts one apostrophe more before those that begin
// like a cell of its own.
func Read(cell string) string {
	if strings.HasPrefix(cell, "'") && risky(cell) {
		return cell[1:]
	}
	return cell
}

// risky reports whether a text begins a formula, after any number of apostrophes.
func risky(text string) bool {
	rest := strings.TrimLeft(text, "'")
	return rest != "" && strings.IndexByte(formula, rest[0]) >= 0
}
