// Package whatif answers what a piece would be if two of its voices went in another
// ratio: what meets then, what the paper looks like, what sounds. It is the program's own
// reckoning, by a changed text as `plan` with something set gives it, and small enough to
// be compiled for a browser (see engine), where a lecture asks it while the hall waits.
//
// Times are seconds, or microseconds where a name says so.
package whatif

import (
	"cmp"
	"errors"
	"fmt"
	"io/fs"
	"slices"
	"strings"

	"rollwright/exact"
	"rollwright/music/event"
	"rollwright/music/perform"
	"rollwright/music/piecefile"
	"rollwright/music/plan"
	"rollwright/paper/instrument"
	"rollwright/paper/lay"

	"rollwright/telling/onpage"
	"rollwright/text/source"
)

// Source is a piece as text with all that it needs.
type Source struct {
	Name string `json:"name"`
	Text string `json:"text"`
	// Files are the instruments that are not built in, by the paths under which they
	// are looked for.
	Files map[string]string `json:"files,omitempty"`
}

// Piece is a source that has been performed as it is written. What is asked of it
// does not change it; one goroutine asks at a time.
type Piece struct {
	file    *source.File
	files   map[string]string
	written *perform.Performance
	known   map[string]*instrument.Instrument // by the names that the piece has for them
}

// Open performs a source. Errors are source.Errors where the text is at fault.
func Open(s Source) (*Piece, error) {
	p := &Piece{file: &source.File{Name: s.Name, Text: []byte(s.Text)}, files: s.Files,
		known: map[string]*instrument.Instrument{}}
	var err error
	p.written, _, err = p.perform(p.file)
	return p, err
}

// perform performs a text and gives the instruments that play it.
func (p *Piece) perform(f *source.File) (*perform.Performance, []*instrument.Instrument, error) {
	parsed, err := piecefile.Parse(f)
	if err != nil {
		return nil, nil, err
	}
	var instruments []*instrument.Instrument
	for i, piano := range parsed.Pianos {
		in, err := p.load(piano.Instrument)
		if err == nil {
			in, err = lay.AtTempo(parsed, i, in)
		}
		if err != nil {
			return nil, nil, err
		}
		instruments = append(instruments, in)
	}
	performed, err := perform.New(parsed, lay.Limits(instruments))
	return performed, instruments, err
}

func (p *Piece) load(name string) (*instrument.Instrument, error) {
	if in := p.known[name]; in != nil {
		return in, nil
	}
	in, err := instrument.LoadWith(name, "", p.open)
	if err == nil {
		p.known[name] = in
	}
	return in, err
}

func (p *Piece) open(path string) ([]byte, error) {
	if text, ok := p.files[path]; ok {
		return []byte(text), nil
	}
	return nil, fmt.Errorf("%s: %w", path, fs.ErrNotExist)
}

// Pair are two voices by their places in the piece: the first is the one that is changed.
type Pair struct {
	Voice   int `json:"voice"`
	Against int `json:"against"`
}

// mostPairs is how many pairs are offered: a list that a hall can choose from.
const mostPairs = 12

// Pairs are the voices whose ratio to another one can be asked for, each with one other:
// the first of its canon, or else of the piece, that keeps one tempo. Those of canons come
// first, and in a canon the later voices before the first. Each has been tried.
func (p *Piece) Pairs() []Pair {
	voices := p.written.Piece.Voices
	var pairs []Pair
	for v := range voices {
		if against, ok := p.partner(v); ok {
			pairs = append(pairs, Pair{v, against})
		}
	}
	slices.SortStableFunc(pairs, func(a, b Pair) int {
		return cmp.Or(cmp.Compare(order(voices[b.Voice].Canon >= 0), order(voices[a.Voice].Canon >= 0)),
			cmp.Compare(order(a.Voice < a.Against), order(b.Voice < b.Against)))
	})
	return slices.DeleteFunc(pairs[:min(len(pairs), 4*mostPairs)], func(pair Pair) bool {
		_, _, _, err := p.changed(Question{pair, "8/7"})
		return err != nil
	})
}

func order(yes bool) int {
	if yes {
		return 1
	}
	return 0
}

// partner is the voice that another one is compared with.
func (p *Piece) partner(voice int) (int, bool) {
	if _, ok := p.unit(voice); !ok {
		return 0, false
	}
	voices, found := p.written.Piece.Voices, -1
	for other := range voices {
		if _, ok := p.unit(other); !ok || other == voice || p.written.Lines[other].Notes < fewestNotes {
			continue
		}
		if voices[voice].Canon >= 0 && voices[other].Canon == voices[voice].Canon {
			return other, true
		}
		if found < 0 {
			found = other
		}
	}
	return found, found >= 0 && voices[voice].Canon < 0
}

// fewestNotes is how many notes a voice has whose ratio to another one can be heard.
const fewestNotes = 5

// unit is how long a unit of the voice is, in seconds; false where that changes, or where
// the voice hardly plays.
func (p *Piece) unit(voice int) (exact.Real, bool) {
	line := p.written.Lines[voice]
	unit, ok := line.SecondsPerUnit()
	return unit, ok && line.Notes >= fewestNotes
}

// Question asks that the first voice of a pair plays so many units while the other plays
// one: "3/2", "sqrt(2)", "1.37".
type Question struct {
	Pair
	Ratio string `json:"ratio"`
}

// Answer is the piece as it would be.
type Answer struct {
	Set     string      `json:"set"` // what has been changed in the text, as piecefile.Assign takes it
	Ratio   string      `json:"ratio"`
	Decimal float64     `json:"decimal"`
	Whole   []int64     `json:"whole"`    // the ratio as two whole numbers; empty where it is none of such, or beyond mostWhole
	Length  float64     `json:"length_s"` // of the piece
	Pairs   []plan.Pair `json:"pairs"`    // of the voice that was changed: those with the other one first

	Onsets [][]int64       `json:"onsets"` // of each voice, in microseconds
	Events Events          `json:"events"`
	Papers []*onpage.Paper `json:"papers"` // one a piano
}

// MostMeetings is how many meetings of two voices are told one by one.
const MostMeetings = 1000

// mostWhole bounds the whole numbers of a ratio that are told.
const mostWhole = 9999

// Events are the notes as columns, in order of time.
type Events struct {
	At    []int64 `json:"at"`  // microseconds
	Len   []int64 `json:"len"` // microseconds for which the key is held
	Key   []int16 `json:"key"` // MIDI key
	Level []int16 `json:"level"`
	Voice []int32 `json:"voice"`
	Piano []int16 `json:"piano"`
}

// Ask changes the speed of a voice so that it goes in the asked ratio to another one. The
// error says what cannot be asked, or what is wrong with the piece as it would be.
func (p *Piece) Ask(q Question) (*Answer, error) {
	performed, instruments, a, err := p.changed(q)
	if err != nil {
		return nil, err
	}
	rolls, err := lay.Of(performed, instruments)
	if err != nil {
		return nil, err
	}
	for _, r := range rolls {
		a.Papers = append(a.Papers, onpage.PaperOf(r))
	}
	name, other := performed.Piece.Voices[q.Voice].Name, performed.Piece.Voices[q.Against].Name
	for _, pair := range plan.New(performed, plan.Options{List: MostMeetings}).Pairs {
		switch {
		case pair.A == name && pair.B == other || pair.A == other && pair.B == name:
			a.Pairs = slices.Insert(a.Pairs, 0, pair)
		case pair.A == name || pair.B == name:
			a.Pairs = append(a.Pairs, pair)
		}
	}
	a.Length = performed.EndSec
	a.sound(performed, instruments)
	return a, nil
}

// changed performs the changed piece, with the head of the answer.
func (p *Piece) changed(q Question) (*perform.Performance, []*instrument.Instrument, *Answer, error) {
	if n := len(p.written.Piece.Voices); q.Voice < 0 || q.Voice >= n || q.Against < 0 || q.Against >= n ||
		q.Voice == q.Against {
		return nil, nil, nil, errors.New("a ratio is that of two voices")
	}
	ratio, err := exact.Parse(strings.TrimSpace(q.Ratio))
	if err != nil {
		return nil, nil, nil, err
	}
	own, ok1 := p.unit(q.Voice)
	theirs, ok2 := p.unit(q.Against)
	if !ok1 || !ok2 {
		return nil, nil, nil, errors.New("a voice whose tempo changes is in no one ratio to another")
	}
	voice := &p.written.Piece.Voices[q.Voice]
	speed := voice.Speed.Mul(own).Mul(ratio).Quo(theirs)
	a := &Answer{Set: voice.Name + ".speed=" + speed.String(), Ratio: ratio.String(), Decimal: ratio.Float64(),
		Whole: []int64{}}
	if r, ok := ratio.Rat(); ok && r.Num().IsInt64() && r.Denom().IsInt64() &&
		max(r.Num().Int64(), r.Denom().Int64()) <= mostWhole {
		a.Whole = []int64{r.Num().Int64(), r.Denom().Int64()}
	}
	text, err := piecefile.Assign(p.file, a.Set)
	if err != nil {
		return nil, nil, nil, err
	}
	performed, instruments, err := p.perform(&source.File{Name: p.file.Name, Text: text})
	if err != nil {
		return nil, nil, nil, err
	}
	if !goes(performed, q.Pair, ratio) {
		return nil, nil, nil, errors.New("the speed of " + voice.Name + " does not settle this ratio")
	}
	return performed, instruments, a, nil
}

// goes reports whether two voices go in a ratio: where names stand for several things in a
// text, what was set may have been another one's.
func goes(p *perform.Performance, pair Pair, ratio exact.Real) bool {
	own, ok1 := p.Lines[pair.Voice].SecondsPerUnit()
	theirs, ok2 := p.Lines[pair.Against].SecondsPerUnit()
	return ok1 && ok2 && theirs.Quo(own).Equal(ratio) == exact.Yes
}

// sound fills in what is heard and when notes begin.
func (a *Answer) sound(p *perform.Performance, instruments []*instrument.Instrument) {
	a.Onsets = make([][]int64, len(p.Lines))
	for i, line := range p.Lines {
		a.Onsets[i] = []int64{}
		if p.Piece.Voices[line.Voice].Mute {
			continue
		}
		for item := range line.All() {
			if !item.Silent {
				a.Onsets[i] = append(a.Onsets[i], onpage.Micros(item.StartSec))
			}
		}
	}
	events := slices.Collect(event.Sustain(p.Events(), lay.Sustained(lay.Pedals(p))))
	slices.SortStableFunc(events, func(x, y event.Event) int { return cmp.Compare(x.StartSec, y.StartSec) })
	for i := range events {
		e := &events[i]
		sec := e.EndSec - e.StartSec
		if e.Single {
			sec = instruments[e.Piano].SingleSec()
		}
		a.Events.At = append(a.Events.At, onpage.Micros(e.StartSec))
		a.Events.Len = append(a.Events.Len, onpage.Micros(sec))
		a.Events.Key = append(a.Events.Key, e.Key)
		a.Events.Level = append(a.Events.Level, e.Level)
		a.Events.Voice = append(a.Events.Voice, e.Voice)
		a.Events.Piano = append(a.Events.Piano, e.Piano)
	}
}

// Written is the ratio of a pair in the piece as it is written.
func (p *Piece) Written(pair Pair) string {
	own, ok1 := p.unit(pair.Voice)
	theirs, ok2 := p.unit(pair.Against)
	if !ok1 || !ok2 {
		return ""
	}
	return theirs.Quo(own).String()
}
