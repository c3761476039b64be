package draft

import (
	"bytes"
	"fmt"
	"strings"
	"unicode/utf8"

	"rollwright/text/source"
)

const (
	mostColumns = 100 // of a line that has not been broken
	wrapAt      = 84  // columns of the lines of what has
	remarkAt    = 80  // columns of the lines of a remark
	indentation = "  "
	marker      = "END" // of a heredoc
)

// Bytes is the text. Every line ends with a line feed.
func (d *Draft) Bytes() []byte {
	var w writer
	if d.Head != "" {
		w.remark("", d.Head)
		w.b.WriteByte('\n')
	}
	w.body("", d.Entries)
	return w.b.Bytes()
}

// writer is the text so far.
type writer struct{ b bytes.Buffer }

// body writes entries. A run of attributes that stand on lines next to each other
// is aligned as one.
func (w *writer) body(indent string, entries []Entry) {
	for i := 0; i < len(entries); {
		if i > 0 && parted(indent, &entries[i-1], &entries[i]) {
			w.b.WriteByte('\n')
		}
		if entries[i].kind != attribute {
			w.entry(indent, &entries[i])
			i++
			continue
		}
		n := run(indent, entries[i:])
		w.attributes(indent, entries[i:i+n])
		i += n
	}
}

// parted reports whether an empty line stands between two entries: before a remark,
// between the blocks of the whole text, and between the attributes of a block and
// the named blocks that follow them.
func parted(indent string, before, e *Entry) bool {
	switch {
	case e.Remark != "":
		return true
	case e.kind == attribute && before.kind == attribute:
		return false
	case indent == "":
		return true
	}
	return e.kind == block && e.Label != "" && before.kind == attribute
}

// run is how many attributes from the first on are aligned as one.
func run(indent string, entries []Entry) int {
	n := 1
	for n < len(entries) && entries[n].kind == attribute && entries[n].Remark == "" &&
		!entries[n].broken(indent) && !entries[0].broken(indent) {
		n++
	}
	return n
}

// alignedName is how wide a name is taken to become by being aligned with others.
const alignedName = 12

// broken reports whether the attribute takes several lines.
func (e *Entry) broken(indent string) bool {
	if e.Value.words == nil && e.Value.call == "" {
		return false
	}
	name := max(utf8.RuneCountInString(e.Name), alignedName)
	return name+utf8.RuneCountInString(indent+" = "+e.Value.flat()) > mostColumns
}

func (w *writer) attributes(indent string, run []Entry) {
	w.remark(indent, run[0].Remark)
	if run[0].broken(indent) {
		w.long(indent, &run[0])
		return
	}
	width := 0
	for i := range run {
		width = max(width, utf8.RuneCountInString(run[i].Name))
	}
	for i := range run {
		fmt.Fprintf(&w.b, "%s%-*s = %s", indent, width, run[i].Name, run[i].Value.flat())
		if run[i].Aside != "" {
			w.b.WriteString(" # " + oneLine(run[i].Aside))
		}
		w.b.WriteByte('\n')
	}
}

// entry writes a block, or text as it stands.
func (w *writer) entry(indent string, e *Entry) {
	w.remark(indent, e.Remark)
	if e.kind == raw {
		w.b.WriteString(strings.TrimRight(e.Value.text, "\n") + "\n")
		return
	}
	w.b.WriteString(indent + e.Name)
	if e.Label != "" {
		w.b.WriteString(` "` + escaped(e.Label) + `"`)
	}
	if len(e.Inside) == 0 {
		w.b.WriteString(" {}\n")
		return
	}
	w.b.WriteString(" {\n")
	w.body(indent+indentation, e.Inside)
	w.b.WriteString(indent + "}\n")
}

// long writes an attribute over several lines. What is said behind it stands above
// it then.
func (w *writer) long(indent string, e *Entry) {
	if e.Aside != "" {
		w.remark(indent, e.Aside)
	}
	w.b.WriteString(indent + e.Name + " = ")
	if e.Value.call != "" {
		w.longCall(indent, e.Value)
		return
	}
	w.b.WriteString("<<-" + marker + "\n")
	for _, line := range wrapped(e.Value.words, wrapAt-len(indent+indentation)) {
		w.b.WriteString(indent + indentation + line + "\n")
	}
	w.b.WriteString(indent + marker + "\n")
}

// longCall writes a call with a line for each of its arguments. A series that does
// not fit a line becomes several arguments, which is the same in a function that
// puts its arguments one after the other.
func (w *writer) longCall(indent string, v Value) {
	w.b.WriteString(v.call + "(\n")
	var lines []string
	for _, arg := range v.args {
		if arg.words == nil {
			lines = append(lines, arg.flat())
			continue
		}
		for _, line := range wrapped(arg.words, wrapAt-len(indent+indentation)-len(`"",`)) {
			lines = append(lines, `"`+line+`"`)
		}
	}
	w.b.WriteString(indent + indentation + strings.Join(lines, ",\n"+indent+indentation))
	w.b.WriteString("\n" + indent + ")\n")
}

// remark writes paragraphs as remarks; none where the text is empty.
func (w *writer) remark(indent, text string) {
	if text == "" {
		return
	}
	for line := range strings.SplitSeq(strings.TrimSpace(text), "\n") {
		line = oneLine(line)
		if line == "" {
			w.b.WriteString(indent + "#\n")
			continue
		}
		for _, part := range wrapped(strings.Fields(line), remarkAt-len(indent)-len("# ")) {
			w.b.WriteString(indent + "# " + part + "\n")
		}
	}
}

// oneLine is a remark without line ends and characters that nobody sees.
func oneLine(text string) string { return source.Printable(strings.Join(strings.Fields(text), " ")) }
