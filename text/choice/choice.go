// Package choice words errors that another choice would mend: a text that names
// options becomes the words of whoever shows it.
//
// A program has several faces: the command calls an option --pair, the page in
// the browser shows a field. What lies below both names the option in braces,
// {pair}, and leaves its name to the face.
package choice

import (
	"errors"
	"fmt"
	"regexp"
	"strings"
)

// Error is a problem whose text names options.
type Error struct {
	text string // options stand in braces
	err  error  // what lies below; may be nil
}

// Errorf is an Error of a text as for fmt.Errorf, in which {name} stands for the
// option of that name: lower-case letters and hyphens.
func Errorf(format string, args ...any) *Error {
	err := fmt.Errorf(format, args...)
	return &Error{err.Error(), errors.Unwrap(err)}
}

// Error is the text with the bare names of the options.
func (e *Error) Error() string { return e.say(func(option string) string { return option }) }

// Unwrap is the error that was wrapped with %w, if any.
func (e *Error) Unwrap() error { return e.err }

var braces = regexp.MustCompile(`\{[a-z][a-z-]*\}`)

func (e *Error) say(name func(option string) string) string {
	return braces.ReplaceAllStringFunc(e.text, func(s string) string { return name(s[1 : len(s)-1]) })
}

// Say is the text of err, however deep an Error lies in it, with each option in
// the words that name gives it.
func Say(err error, name func(option string) string) string {
	var e *Error
	if !errors.As(err, &e) {
		return err.Error()
	}
	return strings.Replace(err.Error(), e.Error(), e.say(name), 1)
}
