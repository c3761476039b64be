package plan

import (
	"encoding/json"
	"io"
)

// WriteJSON writes a plan as JSON, two blanks a level, the same bytes for the
// same piece. Field names are those of the types' tags; a number is exact text
// beside a decimal (see Number), a time has nine decimals. An error is that of
// w.
func WriteJSON(w io.Writer, p *Plan) error {
	e := json.NewEncoder(w)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	return e.Encode(p)
}
