package main

import (
	"fmt"
	"io"
	"slices"
	"strings"

	"github.com/alecthomas/kong"

	"rollwright/workshop"
)

// printHelp is kong's help, but for write, whose options depend on what is
// written: it lists the formats, and each format its own options.
func printHelp(o kong.HelpOptions, ctx *kong.Context) error {
	node := ctx.Selected()
	if node == nil || node.Name != "write" {
		return kong.DefaultHelpPrinter(o, ctx)
	}
	for _, word := range ctx.Args {
		if known := workshop.Known("." + strings.TrimPrefix(strings.ToLower(word), ".")); len(known) > 0 {
			return writeFormatHelp(ctx.Stdout, node, known, word)
		}
	}
	return writeHelp(ctx.Stdout)
}

// writeHelp is what write is for, in a dozen lines.
func writeHelp(w io.Writer) error {
	fmt.Fprint(w, "Usage: rollwright write FILE OUT... [options]\n\nWrites files; their extensions choose the formats:\n\n")
	var rows [][2]string
	for _, extension := range workshop.Extensions() {
		var called []string
		for _, p := range workshop.Known(extension) {
			called = append(called, p.Called)
		}
		rows = append(rows, [2]string{extension, strings.Join(called, ", ")})
	}
	if err := columns(w, rows); err != nil {
		return err
	}
	_, err := fmt.Fprint(w, "\n--strict fails, after writing, when a finding says that something cannot play."+
		"\nWhat a format holds and the options that it heeds: rollwright write --help pdf\n")
	return err
}

// writeFormatHelp is what files of one extension can hold, each with its options.
func writeFormatHelp(w io.Writer, node *kong.Node, known []*workshop.Product, word string) error {
	extension, shown := "."+strings.TrimPrefix(strings.ToLower(word), "."), map[string]bool{}
	fmt.Fprintf(w, "Usage: rollwright write FILE OUT%s [options]\n", extension)
	for _, p := range known {
		by := ""
		if p.By != "" {
			by = ", with --" + string(p.By)
		}
		fmt.Fprintf(w, "\n%s%s: %s\n", strings.ToUpper(p.Called[:1])+p.Called[1:], by, p.About)
		rows, again := flagsOf(node, p, shown)
		if err := columns(w, rows); err != nil {
			return err
		}
		for _, line := range wrapped("as above: "+strings.Join(again, " "), helpWidth-2) {
			if len(again) > 0 {
				fmt.Fprintf(w, "  %s\n", line)
			}
		}
	}
	return nil
}

// flagsOf are the options that a product heeds, in the order of the command, and
// the names of those that were shown before.
func flagsOf(node *kong.Node, p *workshop.Product, shown map[string]bool) (rows [][2]string, again []string) {
	for _, f := range node.Flags {
		if !slices.Contains(p.Heeds, workshop.Option(f.Name)) {
			continue
		}
		if shown[f.Name] {
			again = append(again, "--"+f.Name)
			continue
		}
		shown[f.Name] = true
		left := "--" + f.Name
		switch {
		case f.PlaceHolder != "":
			left += "=" + f.PlaceHolder
		case !f.IsBool():
			left += "=" + f.Default
		}
		rows = append(rows, [2]string{left, f.Help})
	}
	return rows, again
}

// helpWidth is how wide help is printed: a terminal as POSIX assumes it.
const helpWidth = 80

// columns writes rows of two columns, the second one wrapped.
func columns(w io.Writer, rows [][2]string) error {
	left := 0
	for _, r := range rows {
		left = max(left, len(r[0]))
	}
	for _, r := range rows {
		for i, line := range wrapped(r[1], helpWidth-left-4) {
			head := r[0]
			if i > 0 {
				head = ""
			}
			if _, err := fmt.Fprintf(w, "  %-*s  %s\n", left, head, line); err != nil {
				return err
			}
		}
	}
	return nil
}

// wrapped breaks a text into lines of at most so many letters.
func wrapped(text string, width int) []string {
	var lines []string
	line := ""
	for _, word := range strings.Fields(text) {
		if line != "" && len(line)+1+len(word) > width {
			lines, line = append(lines, line), ""
		}
		line = strings.TrimLeft(line+" "+word, " ")
	}
	return append(lines, line)
}
