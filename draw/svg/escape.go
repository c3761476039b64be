package svg

import (
	"strings"

	"rollwright/draw/typeface"
)

var entities = strings.NewReplacer("&", "&amp;", "<", "&lt;", ">", "&gt;", `"`, "&quot;", "'", "&#39;")

// escape makes text fit for character data and attributes. What XML 1.0 cannot
// carry at all (section 2.2, Char) is replaced first.
func escape(text string) string { return entities.Replace(typeface.Clean(text)) }

// escapeLines is escape that keeps the ends of lines.
func escapeLines(text string) string {
	lines := strings.Split(text, "\n")
	for i := range lines {
		lines[i] = escape(lines[i])
	}
	return strings.Join(lines, "\n")
}
