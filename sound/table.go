package sound

import (
	"bufio"
	"fmt"
	"strconv"
	"strings"
)

// A row is one line of a data file: a word, perhaps a name, then numbers.
type row struct {
	word, name string
	num        []float64
	line       int
}

// parseTable reads the lines of a data file. Everything after # is a comment.
// A second field that is no number is the row's name.
func parseTable(file, text string) ([]row, error) {
	var rows []row
	sc := bufio.NewScanner(strings.NewReader(text))
	for line := 1; sc.Scan(); line++ {
		body, _, _ := strings.Cut(sc.Text(), "#")
		fields := strings.Fields(body)
		if len(fields) == 0 {
			continue
		}
		r := row{word: fields[0], line: line}
		fields = fields[1:]
		if len(fields) > 0 {
			if _, err := strconv.ParseFloat(fields[0], 64); err != nil {
				r.name, fields = fields[0], fields[1:]
			}
		}
		for _, f := range fields {
			x, err := strconv.ParseFloat(f, 64)
			if err != nil {
				return nil, fmt.Errorf("sound: %s:%d: %q is no number", file, line, f)
			}
			r.num = append(r.num, x)
		}
		rows = append(rows, r)
	}
	return rows, sc.Err()
}

// tableRows are the rows of one word, each with exactly n numbers.
func tableRows(rows []row, word string, n int) ([]row, error) {
	var out []row
	for _, r := range rows {
		if r.word != word {
			continue
		}
		if len(r.num) != n {
			return nil, fmt.Errorf("sound: line %d: %s has %d numbers, wanted %d", r.line, word, len(r.num), n)
		}
		out = append(out, r)
	}
	if len(out) == 0 {
		return nil, fmt.Errorf("sound: no line %q", word)
	}
	return out, nil
}
