package journal

import (
	"bytes"
	"errors"
	"fmt"
	"hash/crc32"
	"math"
	"strconv"
	"strings"

	"rollwright/paper/roll"
)

// kind is what a record says.
type kind int8

const (
	kindCut kind = iota
	kindUndo
	kindSlip
	kindTorn
	kindPatch
	kindListed  // wrong holes that nobody noted get numbers
	kindMeasure // a length is to be measured after the row of this hole
	kindBegin
	kindPause
	kindResume
	kindEnd
	kindProved
)

var kindWords = []string{"cut", "undo", "slip", "torn", "patch", "listed", "measure", "begin", "pause", "resume", "end",
	"proved"}

// record is one line after the head.
type record struct {
	kind  kind
	ms    int64  // since 1970
	holes []Hole // of kindProved the two ends of a stretch, at the paper's edge
}

// text is the record without its checksum: "cut 1732520000123 117.4800 62.4417
// 82.1972" is two holes at 117.48 mm along. The holes of one record may lie at
// several places along: each begins with "@" then.
func (r record) text() []byte {
	out := append([]byte(kindWords[r.kind]), ' ')
	out = strconv.AppendInt(out, r.ms, 10)
	along := math.Inf(1)
	for _, h := range r.holes {
		if h.AlongMM != along {
			along = h.AlongMM
			out = roll.AppendMM(append(out, " @"...), along)
		}
		out = roll.AppendMM(append(out, ' '), h.AcrossMM)
	}
	return out
}

// printed is the hole as the journal writes it.
func (h Hole) printed() Hole { return Hole{printed(h.AcrossMM), printed(h.AlongMM)} }

func printed(mm float64) float64 { return float64(roll.Printed(mm)) / 1e4 }

const version = "rollwright-journal 1"

// headText is the first line.
func headText(h Head) []byte {
	text := plainHead(h)
	if h.TrialMM > 0 {
		text = append(append(text, trialStrip...), exact(h.TrialMM)...)
	}
	if h.Shared {
		text = append(text, sharedRows...)
	}
	return text
}

// sharedRows ends the head of a roll whose chains have their punches on common
// rows.
const sharedRows = " rows=shared"

// trialStrip goes before the length of a trial strip.
const trialStrip = " trial="

func plainHead(h Head) []byte {
	return fmt.Appendf(nil, "%s title=%s piano=%s bench=%s turn=%s parts=%d die=%s spool=%d/%d from=%s to=%s along=%s across=%s about=%d",
		version, strconv.Quote(h.Title), strconv.Quote(h.Piano), strconv.Quote(h.Bench), exact(h.TurnMM), h.Parts,
		exact(h.DieMM),
		h.Spool, h.Spools, exact(h.FromSec), exact(h.ToSec), exact(h.Along), exact(h.Across), h.About)
}

// exact is a number that reads back to the same bits.
func exact(x float64) string { return strconv.FormatFloat(x, 'g', -1, 64) }

var errHead = errors.New("this is no journal of rollwright, or its first line is damaged and no record follows it; move it away to begin anew")

// ErrFirstLine is returned by Read, beside what the records say, when they follow
// a first line that is damaged: which roll they are about has to be known from
// elsewhere.
var ErrFirstLine = errors.New("its first line is damaged, the records are there: punch goes on with them, at the bench and on the spool and paper that are given to it")

// cutLast cuts a line at the last sep.
func cutLast(line, sep string) (before, after string, ok bool) {
	i := strings.LastIndex(line, sep)
	if i < 0 {
		return line, "", false
	}
	return line[:i], line[i+len(sep):], true
}

func parseHead(line string) (Head, error) {
	var h Head
	line, h.Shared = strings.CutSuffix(line, sharedRows)
	if before, length, ok := cutLast(line, trialStrip); ok {
		if mm, err := strconv.ParseFloat(length, 64); err == nil && mm > 0 && mm < 1e6 {
			line, h.TrialMM = before, mm
		}
	}
	rest, ok := strings.CutPrefix(line, version+" ")
	if !ok {
		if strings.HasPrefix(line, "rollwright-journal ") {
			return h, fmt.Errorf("the journal is of another version than %q", version)
		}
		return h, errHead
	}
	_, err := fmt.Sscanf(rest, "title=%q piano=%q bench=%q turn=%g parts=%d die=%g spool=%d/%d from=%g to=%g along=%g across=%g about=%d",
		&h.Title, &h.Piano, &h.Bench, &h.TurnMM, &h.Parts, &h.DieMM, &h.Spool, &h.Spools, &h.FromSec, &h.ToSec, &h.Along,
		&h.Across, &h.About)
	switch {
	case err != nil:
		return h, errHead
	case !(h.TurnMM > 0 && h.TurnMM < 1e6 && h.DieMM >= 0 && h.DieMM < 1e6) || h.Parts < 1 || h.About < 0 || h.About > 2,
		!finite(h.FromSec, h.ToSec) || !finite(h.Along, h.Across):
		return h, errHead
	}
	return h, nil
}

func finite(xs ...float64) bool {
	for _, x := range xs {
		if math.IsNaN(x) || math.IsInf(x, 0) {
			return false
		}
	}
	return true
}

// parse reads a journal. whole is the length of everything up to the last line
// that is complete; what follows was cut off while it was written. An empty
// text, or one that ends before its first line does, is a journal that has not
// begun. Where the first line is damaged, a later head stands for it, else the
// state is headless.
func parse(text []byte) (s *State, whole int64, err error) {
	whole = int64(bytes.LastIndexByte(text, '\n') + 1)
	if _, sound := opened(string(text[whole:])); sound { // only its line end is missing
		whole = int64(len(text))
	}
	s = newState()
	if whole == 0 {
		if len(text) > 0 && !strings.HasPrefix(version, string(text[:min(len(text), len(version))])) {
			return nil, 0, errHead // some other file: it stays as it is
		}
		return s, 0, nil
	}
	n, records, headless := 0, 0, true
	for line := range strings.Lines(string(text[:whole])) {
		n++
		line = strings.TrimSuffix(strings.TrimSuffix(line, "\n"), "\r") // as some editors save it
		body, sound := opened(line)
		if r, ok := parseRecord(body); sound && ok {
			s.apply(r)
			records++
			continue
		}
		if h, err := parseHead(body); sound && headless && !errors.Is(err, errHead) {
			if err != nil {
				return nil, 0, err
			}
			s.Head, headless = h, false
			continue
		}
		if n > 1 {
			s.Damaged = append(s.Damaged, n)
		}
	}
	if headless && records == 0 {
		return nil, 0, errHead
	}
	s.Headless = headless
	return s, whole, nil
}

// opened is a line without its checksum, and whether that agrees.
func opened(line string) (body string, sound bool) {
	at := len(line) - len(" *00000000")
	if at < 0 || line[at:at+2] != " *" {
		return line, false
	}
	sum, err := strconv.ParseUint(line[at+2:], 16, 32)
	return line[:at], err == nil && uint32(sum) == crc32.ChecksumIEEE([]byte(line[:at]))
}

func parseRecord(body string) (r record, ok bool) {
	words := strings.Split(body, " ")
	if len(words) < 2 {
		return r, false
	}
	for k, word := range kindWords {
		if word == words[0] {
			r.kind, ok = kind(k), true
		}
	}
	ms, err := strconv.ParseInt(words[1], 10, 64)
	if !ok || err != nil {
		return r, false
	}
	r.ms = ms
	along := math.NaN()
	for _, word := range words[2:] {
		place, isAlong := strings.CutPrefix(word, "@")
		mm, err := strconv.ParseFloat(place, 64)
		if err != nil || !(math.Abs(mm) < 1e7) {
			return r, false
		}
		if isAlong {
			along = mm
			continue
		}
		if math.IsNaN(along) {
			return r, false
		}
		r.holes = append(r.holes, Hole{mm, along}.printed())
	}
	return r, (len(r.holes) > 0) == (r.kind <= kindMeasure || r.kind == kindProved) &&
		(r.kind != kindProved || len(r.holes) == 2)
}
