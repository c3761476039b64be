package read

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"rollwright/text/infile"
)

// AnswersName is the file beside the first picture in which a person has said of
// doubtful slots what they are.
func AnswersName(picture string) string {
	return strings.TrimSuffix(picture, filepath.Ext(picture)) + ".answers.csv"
}

// answer is what a person said of the slot at a place of a picture.
type answer struct {
	picture int // from 0
	x, y    float64
	is      bool
}

// answerSlack is how far beside a slot's box an answer may point, in pixels.
const answerSlack = 4

// answer takes the answers of a file, if there is one: what is none goes, what is
// one is sure.
func (r *Reading) answer(name string) error {
	list, err := r.options.answers(name)
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	if err != nil {
		return err
	}
	r.Slots = slices.DeleteFunc(r.Slots, func(s Slot) bool {
		i := slices.IndexFunc(list, func(a answer) bool { return a.of(&s) })
		return i >= 0 && !list[i].is
	})
	for i := range r.Slots {
		s := &r.Slots[i]
		if k := slices.IndexFunc(list, func(a answer) bool { return a.of(s) }); k >= 0 {
			s.Certainty, s.Reason = 1, ""
			r.Answered++
		}
	}
	return nil
}

// Answered is the text of a file of answers with one more: that a slot is one ("is"),
// or none ("none"), in the place of what was said of it before; "": nothing is said.
func Answered(text string, s *Slot, is string) (string, error) {
	list, err := parseAnswers("answers", text)
	if err != nil {
		return "", err
	}
	list = slices.DeleteFunc(list, func(a answer) bool { return a.of(s) })
	if is != "" {
		list = append(list, answer{s.Picture, (s.Box.X0 + s.Box.X1) / 2, (s.Box.Y0 + s.Box.Y1) / 2, is == "is"})
	}
	var b strings.Builder
	b.WriteString("picture,x,y,answer\n")
	for _, a := range list {
		word := "none"
		if a.is {
			word = "is"
		}
		fmt.Fprintf(&b, "%d,%s,%s,%s\n", a.picture+1, strconv.FormatFloat(a.x, 'f', -1, 64),
			strconv.FormatFloat(a.y, 'f', -1, 64), word)
	}
	return b.String(), nil
}

func (a answer) of(s *Slot) bool {
	return a.picture == s.Picture && a.x >= s.Box.X0-answerSlack && a.x <= s.Box.X1+answerSlack &&
		a.y >= s.Box.Y0-answerSlack && a.y <= s.Box.Y1+answerSlack
}

// mostAnswers bounds a file of answers, in bytes.
const mostAnswers = 10 << 20

func (o *Options) answers(name string) ([]answer, error) {
	open := o.Open
	if open == nil {
		open = infile.Open
	}
	file, err := open(name)
	if err != nil {
		return nil, err
	}
	defer file.Close()
	text, err := io.ReadAll(io.LimitReader(file, mostAnswers+1))
	if err != nil {
		return nil, err
	}
	if len(text) > mostAnswers {
		return nil, fmt.Errorf("%s has more than %d MB, which no answers have", name, mostAnswers>>20)
	}
	return parseAnswers(name, string(infile.Text(text)))
}

// parseAnswers reads rows of picture (from 1), x, y and "is" or "none".
func parseAnswers(name, text string) ([]answer, error) {
	c := csv.NewReader(strings.NewReader(text))
	c.FieldsPerRecord = 4
	rows, err := c.ReadAll()
	if err != nil {
		return nil, fmt.Errorf("%s: %w; its columns are picture,x,y,answer", name, err)
	}
	var out []answer
	for i, row := range rows {
		if i == 0 && row[0] == "picture" {
			continue
		}
		p, err1 := strconv.Atoi(row[0])
		x, err2 := strconv.ParseFloat(row[1], 64)
		y, err3 := strconv.ParseFloat(row[2], 64)
		if err := errors.Join(err1, err2, err3); err != nil || row[3] != "is" && row[3] != "none" {
			return nil, fmt.Errorf("%s:%d: %q is no answer; write the picture's number, x, y and is or none", name, i+1,
				strings.Join(row, ","))
		}
		out = append(out, answer{p - 1, x, y, row[3] == "is"})
	}
	return out, nil
}
