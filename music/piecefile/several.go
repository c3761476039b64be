package piecefile

import (
	"fmt"
	"regexp"
	"slices"
	"strings"

	"rollwright/text/blocks"
	"rollwright/text/source"
)

// Bounds of trying out what may have been meant: each trial reads the file
// again.
const (
	mostTrials    = 24
	longestTried  = 100_000 // bytes of a file
	longestInline = 120     // bytes of a value
)

// tryHints sees to it that the hint for a value of several words without quotes
// is accepted when it is followed: it tries what may have been meant and keeps
// the first that does.
func (r *reader) tryHints() {
	if len(r.file.Text) > longestTried {
		return
	}
	trials := mostTrials
	r.each(r.body, func(a *blocks.Attr) {
		if trials > 0 && r.commaForPoint(a) {
			trials--
		}
		words, ok := a.Several()
		if !ok || len(words) > longestInline {
			return
		}
		e := a.Error("", "")
		for _, m := range r.meantBy(words) {
			if trials--; trials < 0 {
				return
			}
			wrong := r.tried(a, a.SeveralEnd(), m.value)
			if wrong == nil {
				e.Problem, e.Hint = m.problem, fmt.Sprintf("write: %s = %s%s", a.Name, m.value, sharpHint(words))
				return
			}
			if m.quoted {
				e.Problem, e.Hint = m.problem, "in quotes it would be read, but: "+wrong.Problem
			}
		}
	})
}

// each hands every attribute of a body, of its blocks too, to do.
func (r *reader) each(b *blocks.Body, do func(*blocks.Attr)) {
	for _, a := range b.Attrs {
		do(a)
	}
	for _, inner := range b.Blocks {
		r.each(inner.Body, do)
	}
}

// meaning is what may be meant by words without quotes.
type meaning struct {
	value, problem string
	quoted         bool
}

var (
	leadingNumber = regexp.MustCompile(`^-?[0-9][0-9./]*`)
	bareName      = regexp.MustCompile(`^[A-Za-z_][A-Za-z0-9_-]*$`)
)

func (r *reader) meantBy(words string) []meaning {
	const several = "a value of several words stands in quotes"
	var out []meaning
	if call := r.joinedUp(unnested(words)); call != "" {
		out = append(out, meaning{call, "text and functions side by side are one value only within join", false})
	}
	problem := several
	if !strings.Contains(words, " ") {
		problem = source.Printable(words) + " is neither a number nor text in quotes"
	}
	out = append(out, meaning{fmt.Sprintf("%q", strings.ReplaceAll(words, `"`, "")), problem, true})
	if n := leadingNumber.FindString(words); n != "" && strings.HasPrefix(words[len(n):], " ") {
		out = append(out, meaning{n, "a number alone is wanted here, and more follows", false})
	}
	return out
}

func sharpHint(words string) string {
	if strings.Contains(words, "#") {
		return "\noutside quotes # begins a remark, so a sharp has to stand in quotes"
	}
	return ""
}

// commaForPoint says so where the commas in quoted text are what is wrong with
// it: with points it is read. Without quotes the commas are told of already, and
// it says what else is wrong. It reports whether anything was tried. Where commas
// may part members too, as between durations, the complaint names both.
func (r *reader) commaForPoint(a *blocks.Attr) (tried bool) {
	pointed, ok := a.Pointed()
	if !ok || len(pointed) > longestInline {
		return false
	}
	i := slices.IndexFunc(r.errs, func(e *source.Error) bool {
		return e.At.Line == a.ValueAt.Line && !e.At.Before(a.ValueAt) && !strings.Contains(e.Hint, "parted by")
	})
	if i < 0 {
		return false
	}
	comma, wrong := a.DecimalComma(), r.tried(a, a.Value.End, pointed)
	switch {
	case wrong == nil:
		r.errs[i].Problem, r.errs[i].Hint = comma.Problem, comma.Hint
	case a.Kind() == blocks.Bad:
		r.errs[i].Hint = "with a point it would be read, but: " + wrong.Problem
	}
	return true
}

// tried is the first complaint about the line of a when value stands there, up to
// the byte at end, or nil.
func (r *reader) tried(a *blocks.Attr, end int, value string) *source.Error {
	var text []byte
	text = append(text, r.file.Text[:a.Value.Start]...)
	text = append(text, value...)
	text = append(text, r.file.Text[end:]...)
	_, errs := parseWith(&source.File{Name: r.file.Name, Text: text}, r.options)
	for _, e := range errs {
		if e.At.Line == a.At.Line {
			return e
		}
	}
	return nil
}

// unnested takes away the quotes around words in which a function has quotes of
// its own: "2 1 even("3 of 8")".
func unnested(words string) string {
	inner, ok := strings.CutPrefix(words, `"`)
	if close := strings.IndexByte(inner, '"'); ok && close > 0 && inner[close-1] == '(' && strings.HasSuffix(inner, `"`) {
		return inner[:len(inner)-1]
	}
	return words
}

// joinedUp is text with functions in it, as it has to be written: the functions
// outside quotes, the rest within, everything joined. It is empty when there is
// no function in it.
func (r *reader) joinedUp(text string) string {
	var parts, plain []string
	calls := 0
	flush := func() {
		if len(plain) > 0 {
			parts = append(parts, `"`+strings.Join(plain, " ")+`"`)
		}
		plain = nil
	}
	for _, item := range splitOutside(text, " \t\n\r|,") {
		item = strings.TrimSpace(item)
		name, args, call := strings.Cut(item, "(")
		_, known := functions[name]
		switch {
		case item == "":
		case call && known && strings.HasSuffix(args, ")"):
			flush()
			calls++
			parts = append(parts, name+"("+r.quotedArgs(strings.TrimSuffix(args, ")"))+")")
		case r.lets[item] != nil && !isPitch(item):
			flush()
			parts = append(parts, item)
		default:
			plain = append(plain, strings.Trim(item, `"`))
		}
	}
	flush()
	switch {
	case calls == 0:
		return ""
	case len(parts) == 1:
		return parts[0]
	}
	return "join(" + strings.Join(parts, ", ") + ")"
}

// quotedArgs puts quotes around what needs them in the parentheses of a
// function.
func (r *reader) quotedArgs(args string) string {
	parts := splitOutside(args, ",")
	for i, arg := range parts {
		arg = strings.TrimSpace(arg)
		call := r.joinedUp(arg)
		switch {
		case call != "":
			arg = call
		case arg == "" || arg[0] == '"' || leadingNumber.FindString(arg) == arg || bareName.MatchString(arg) && !isPitch(arg):
		default:
			arg = `"` + strings.ReplaceAll(arg, `"`, "") + `"`
		}
		parts[i] = arg
	}
	return strings.Join(parts, ", ")
}

// splitOutside parts text at any of the signs, but not within parentheses or
// quotes.
func splitOutside(text, signs string) []string {
	var out []string
	depth, quoted, from := 0, false, 0
	for i := range len(text) {
		switch c := text[i]; {
		case c == '"':
			quoted = !quoted
		case quoted:
		case c == '(':
			depth++
		case c == ')':
			depth--
		case depth <= 0 && strings.IndexByte(signs, c) >= 0:
			out = append(out, text[from:i])
			from = i + 1
		}
	}
	return append(out, text[from:])
}

// functionInQuotes completes a complaint about the member of quoted text at byte
// at that is a function: there it is only text.
func (s *textReader[T]) functionInQuotes(at int, e *source.Error) {
	again := *s.c
	again.i = at
	name, _, call := strings.Cut(again.item().String(), "(")
	if _, known := functions[name]; !known || !call || !s.v.IsText() {
		return
	}
	e.Problem, e.Hint = name+" is a function, and in quotes it is only text",
		"functions stand outside quotes, parted from text by join"
	if whole := strings.TrimSpace(s.c.t.S); s.v.Kind() == blocks.Quoted && len(whole) <= longestInline {
		e.Hint = "write: " + s.r.joinedUp(whole)
	}
}
