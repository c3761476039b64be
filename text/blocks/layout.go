package blocks

import (
	"fmt"
	"strings"

	"rollwright/text/source"
)

// layout is how the items of a body are spread over lines. HCL wants a line
// for each item and for the closing brace; a block with one attribute, or
// none, may stand on a line as a whole.
type layout struct {
	items   int
	inline  bool // the first item stands on the line of the opening brace
	crowded int  // offset of the first later item that does not begin its line, or -1
	comma   int  // offset of the first comma or semicolon between items, or -1
	brace   bool // the closing brace does not begin its line
}

func (l *layout) item(start int, fresh bool) {
	l.items++
	if fresh {
		return
	}
	if l.items == 1 {
		l.inline = true
	} else if l.crowded < 0 {
		l.crowded = start
	}
}

func (l *layout) mark(comma int) {
	if l.comma < 0 {
		l.comma = comma
	}
}

func (l *layout) close(fresh bool) { l.brace = !fresh }

// checkLayout complains when the items of b are not spread as HCL wants.
func (p *parser) checkLayout(block *Block, b *Body, l layout) {
	single := l.items == 1 && len(b.Blocks) == 0 && l.inline && l.brace && l.comma < 0
	switch {
	case single || l.items == 0 && l.comma < 0:
	case block != nil && (l.inline || l.crowded >= 0 && p.file.pos(l.crowded).Line == block.At.Line):
		block.Body, block.End = b, b.end+1
		p.report(p.file.fail(block.Start, p.headEnd(b), "only a block with a single attribute may stand on one line",
			"write it over several lines, one attribute a line:\n"+strings.Join(p.spread(block, ""), "\n")))
	case l.crowded >= 0:
		p.report(p.file.fail(l.crowded, p.file.lineEnd(l.crowded), "two things on one line", "begin a new line here"))
	case l.comma >= 0:
		p.report(p.file.fail(l.comma, l.comma+1, "lines are not parted by "+string(p.file.bytes[l.comma]),
			"delete it; each attribute has a line of its own"))
	case block != nil && l.brace:
		p.report(p.file.fail(b.end, b.end+1, "the closing } stands on a line of its own", "begin a new line before it"))
	}
}

// spread is the block written as HCL wants it, as lines.
func (p *parser) spread(block *Block, indent string) []string {
	head := strings.TrimSpace(string(p.file.bytes[block.Start:max(block.Body.start-1, block.Start)]))
	if len(block.Body.Attrs)+len(block.Body.Blocks) == 0 {
		return []string{indent + head + " {}"}
	}
	lines := []string{indent + head + " {"}
	width := 0
	for _, a := range block.Body.Attrs {
		width = max(width, len(a.Name))
	}
	for _, a := range block.Body.Attrs {
		value := strings.TrimSpace(string(p.file.bytes[a.Value.Start:a.Value.End]))
		lines = append(lines, fmt.Sprintf("%s  %-*s = %s", indent, width, source.Printable(a.Name), value))
	}
	for _, inner := range block.Body.Blocks {
		lines = append(lines, p.spread(inner, indent+"  ")...)
		if len(lines) > longestHint {
			return append(lines[:longestHint], indent+"  ...")
		}
	}
	if len(lines) > longestHint {
		return append(lines[:longestHint], indent+"  ...")
	}
	return append(lines, indent+"}")
}

// longestHint is the most lines of a block that a hint shows.
const longestHint = 16
