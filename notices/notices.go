// Package notices holds the licence and the source of everything that is in the
// program and was made by others: modules, the parts of the language, fonts, the
// packages in the scripts of the workbench's page.
package notices

import (
	"embed"
	"fmt"
	"io"
	"strings"
)

// Notice is one work of others.
type Notice struct {
	Name    string // "golang.org/x/text v0.43.0"
	Licence string // its SPDX identifier; several joined by AND
	Source  string // where it comes from
	Text    string // the licence and whose it is, as it came
}

//go:embed texts
var texts embed.FS

// List are all notices, by their names.
func List() []Notice {
	entries, err := texts.ReadDir("texts")
	if err != nil {
		panic("notices: " + err.Error())
	}
	var list []Notice
	for _, e := range entries {
		text, err := texts.ReadFile("texts/" + e.Name())
		if err != nil {
			panic("notices: " + err.Error())
		}
		list = append(list, parse(string(text)))
	}
	return list
}

// parse reads a file of this package: name, licence and source, a line each, then
// an empty line and the text.
func parse(file string) Notice {
	head, text, _ := strings.Cut(file, "\n\n")
	lines := strings.SplitN(head, "\n", 3)
	for len(lines) < 3 {
		lines = append(lines, "")
	}
	return Notice{lines[0], lines[1], lines[2], text}
}

func (n *Notice) file() string {
	return n.Name + "\n" + n.Licence + "\n" + n.Source + "\n\n" + n.Text
}

// Write writes all notices as text, a list of them first.
func Write(w io.Writer) error {
	var b strings.Builder
	list := List()
	b.WriteString("rollwright contains the following works of others.\n\n")
	for _, n := range list {
		fmt.Fprintf(&b, "%s\n    %s, from %s\n", n.Name, n.Licence, n.Source)
	}
	for _, n := range list {
		fmt.Fprintf(&b, "\n%s\n%s\n\n%s", strings.Repeat("=", 78), n.Name, strings.TrimRight(n.Text, "\n")+"\n")
	}
	_, err := io.WriteString(w, b.String())
	return err
}
