package blocks

import (
	"fmt"
	"slices"
	"strings"

	"rollwright/text/source"
)

// Unknown complains about every attribute and block of b that is not among the
// known ones; the hint names the nearest. A known name that ends in " {" is a
// block, any other an attribute. What says whose they are: "a voice".
func (b *Body) Unknown(known []string, what string) source.Errors {
	var errs source.Errors
	for _, a := range b.Attrs {
		if !slices.Contains(known, a.Name) && len(errs) < maxErrors {
			errs = append(errs, a.NameError(b.unknown(known, what, a.Name, false)))
		}
	}
	for _, block := range b.Blocks {
		if !slices.Contains(known, block.Type+" {") && len(errs) < maxErrors {
			errs = append(errs, block.Error(b.unknown(known, what, block.Type, true)))
		}
	}
	return errs
}

// ReadAsMeant gives every attribute and block that Unknown complains about the
// known name that its hint asks for, so that what is in it is read too and all
// mistakes come together. An attribute that is there already stays as it is.
func (b *Body) ReadAsMeant(known []string) {
	names := bare(known)
	for _, a := range b.Attrs {
		if slices.Contains(names, a.Name) {
			continue
		}
		if near, ok := source.Nearest(a.Name, names); ok && slices.Contains(known, near) && b.names[near] == nil {
			delete(b.names, a.Name)
			a.Name, b.names[near] = near, a
		}
	}
	for _, block := range b.Blocks {
		if slices.Contains(names, block.Type) {
			continue
		}
		if near, ok := source.Nearest(block.Type, names); ok && slices.Contains(known, near+" {") {
			block.Type = near
		}
	}
}

// bare are the names without the sign of a block.
func bare(known []string) []string {
	names := make([]string, len(known))
	for i, k := range known {
		names[i] = strings.TrimSuffix(k, " {")
	}
	return names
}

// unknown is the problem and hint for a name.
func (b *Body) unknown(known []string, what, name string, isBlock bool) (problem, hint string) {
	shown := source.Printable(name)
	if isBlock && slices.Contains(known, name) {
		return fmt.Sprintf("%s is an attribute in %s, no block", shown, what),
			fmt.Sprintf("an attribute has a sign = and a value: %s = ...", shown)
	}
	if !isBlock && slices.Contains(known, name+" {") {
		return fmt.Sprintf("%s is a block in %s, no attribute", shown, what), fmt.Sprintf("write:\n%s {\n  ...\n}", shown)
	}
	problem = fmt.Sprintf("there is no %q in %s", shown, what)
	names := bare(known)
	if near, ok := source.Nearest(name, names); ok {
		return problem, fmt.Sprintf("did you mean %s?", near)
	}
	slices.Sort(names)
	return problem, wrap("there are " + strings.Join(slices.Compact(names), ", "))
}

// wrap breaks a long list of words into lines of a terminal.
func wrap(s string) string {
	var lines []string
	line := ""
	for _, w := range strings.Fields(s) {
		if line != "" && len(line)+1+len(w) > 74 {
			lines, line = append(lines, line), ""
		}
		line = strings.TrimPrefix(line+" "+w, " ")
	}
	return strings.Join(append(lines, line), "\n")
}
