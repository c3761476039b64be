package piecefile

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"rollwright/exact"
	"rollwright/music/piece"
	"rollwright/text/blocks"
	"rollwright/text/source"
)

// Options say what a piece may reach beyond its own text.
type Options struct {
	// Notes gives the notes that a tune or voice takes from another file. An
	// error is put at the attribute that asks for them; an *ExcerptError says at which.
	// Nil: the piece stands alone, and asking is an error.
	Notes func(Excerpt) ([]piece.Duration, []piece.Pitch, error)
}

// Excerpt is what a tune or voice takes from another file.
type Excerpt struct {
	File   string    // as written: its path counts from the folder of the piece
	Part   string    // name or number of a track, part, tune or voice; empty: the only one
	Strand int       // which line of the part, from 1; 0: the first
	Take   Take      // which stretch of it
	Unit   exact.Rat // what durations are counted in, as a fraction of a whole note
}

// TakeKind says how a stretch is measured.
type TakeKind int8

// The kinds of stretch.
const (
	TakeAll   TakeKind = iota
	TakeBars           // from bar From to bar To, both included
	TakeNotes          // from note From to note To, both included, counted from 1
	TakeUnits          // what begins from From on and before To
)

// Take is a stretch of a line. From is not beyond To; bars and notes are whole
// numbers.
type Take struct {
	Kind     TakeKind
	From, To exact.Rat
}

// ExcerptError says what of an Excerpt is not there.
type ExcerptError struct {
	Attr    string // "from", "part", "take" or "strand"
	Problem string
	Hint    string
}

func (e *ExcerptError) Error() string { return strings.TrimSuffix(e.Problem+"; "+e.Hint, "; ") }

// ParseWith is Parse for a piece that may take notes from other files.
func ParseWith(f *source.File, o Options) (*piece.Piece, error) {
	r, errs := parseWith(f, &o)
	if len(errs) > 0 {
		r.tryHints()
		return nil, errs.Err()
	}
	return r.piece, nil
}

// fromWords are the attributes of a tune or voice that takes its notes from another
// file.
var fromWords = []string{"from", "part", "take", "strand"}

// readFrom gives a tune or voice the line that it takes from another file. Like a line
// it is durations and pitches together; a talea, color or dynamics beside it stand in
// the place of its own.
func (r *reader) readFrom(body *blocks.Body, s *settings) {
	from := body.Get("from")
	if from == nil {
		for _, name := range fromWords[1:] {
			if a := body.Get(name); a != nil {
				r.add(a.NameError(name+" needs from", `it says what to take from another file: from = "chant.mid"`))
			}
		}
		return
	}
	if l := s[aLine]; l != nil {
		r.add(l.Error("line and from exclude each other", "both give pitches and durations: delete one of the two"))
		return
	}
	ask, ok := r.excerpt(body, from)
	if !ok {
		return
	}
	talea, color, err := r.notes(ask)
	if err != nil {
		r.unfound = err
		r.add(misplaced(body, err))
		return
	}
	if !r.charge(len(talea), from.Value) || !r.charge(len(color), from.Value) {
		return
	}
	r.take(from, s, talea, color)
}

// take puts what was read where talea and color, or a line, stand.
func (r *reader) take(from *blocks.Attr, s *settings, talea []piece.Duration, color []piece.Pitch) {
	if s[aDynamics] != nil {
		plain := make([]piece.Pitch, len(color))
		for i, p := range color {
			p.Level = 0
			plain[i] = p
		}
		color = plain
	}
	setting := func(meaning any) *setting { return &setting{at: from.At, value: from.Value, meaning: meaning} }
	if s[aTalea] == nil && s[aColor] == nil && len(color) == sounding(talea) {
		s[aLine] = setting(&material{talea: talea, color: color, said: aLine})
		return
	}
	if s[aTalea] == nil {
		s[aTalea] = setting(&material{talea: talea, said: aTalea})
	}
	if s[aColor] == nil {
		s[aColor] = setting(&material{color: color, said: aColor})
	}
}

func sounding(talea []piece.Duration) int {
	n := 0
	for _, d := range talea {
		if !d.Silent {
			n++
		}
	}
	return n
}

// notes asks for the notes of another file.
func (r *reader) notes(ask Excerpt) ([]piece.Duration, []piece.Pitch, error) {
	if r.options.Notes == nil {
		return nil, nil, errors.New("this piece takes notes from another file, and here there is none")
	}
	return r.options.Notes(ask)
}

// misplaced puts an error of another file at the attribute that it is about.
func misplaced(body *blocks.Body, err error) *source.Error {
	var excerpt *ExcerptError
	problem, hint, at := err.Error(), "", body.Get("from")
	if errors.As(err, &excerpt) {
		problem, hint = excerpt.Problem, excerpt.Hint
		if a := body.Get(excerpt.Attr); a != nil {
			at = a
		}
	}
	return at.Error(problem, hint)
}

// excerpt reads what is asked for.
func (r *reader) excerpt(body *blocks.Body, from *blocks.Attr) (ask Excerpt, ok bool) {
	ask.File, ok = r.words(from.Value)
	if ok && ask.File == "" {
		ok = r.add(from.Error("from names no file", `write: from = "chant.mid"`))
	}
	if a := body.Get("part"); a != nil {
		s, fine := r.written(a.Value)
		if fine {
			ask.Part = s.String()
		}
		ok = ok && fine
	}
	if a := body.Get("strand"); a != nil {
		var fine bool
		ask.Strand, fine = r.integer(a.Value, 1, 1000)
		ok = ok && fine
	}
	if a := body.Get("take"); a != nil {
		var fine bool
		ask.Take, fine = r.stretch(a.Value)
		ok = ok && fine
	}
	ask.Unit = defaultUnit
	for _, b := range []*blocks.Body{r.body, body} {
		if a := b.Get("unit"); a != nil {
			ask.Unit = value(r.settingOnce(a), ask.Unit)
		}
	}
	return ask, ok
}

// settingOnce reads a unit whose mistakes are complained about where it is read for
// itself.
func (r *reader) settingOnce(a *blocks.Attr) *setting {
	quiet := *r
	quiet.errs, quiet.known, quiet.said = nil, map[*source.Error]bool{}, piece.Mistakes{}
	return &setting{meaning: readUnit(&quiet, a.Value)}
}

const takeHint = `write "bar 3 to bar 10", "note 1 to note 40" (both ends included)
or "units 0 to 90" (what begins from the one and before the other)`

// stretch reads bar 3 to bar 10, note 1 to note 40, units 0 to 90.
func (r *reader) stretch(v *blocks.Value) (Take, bool) {
	s, ok := r.written(v)
	if !ok {
		return Take{}, false
	}
	fields := strings.Fields(s.String())
	if len(fields) == 5 && fields[2] == "to" && singular(fields[0]) == singular(fields[3]) {
		fields = append(fields[:3:3], fields[4]) // bar 3 to bar 10
	}
	if len(fields) != 4 || fields[2] != "to" {
		return Take{}, r.add(s.Error(fmt.Sprintf("%q is no stretch", source.Printable(s.String())), takeHint))
	}
	t := Take{Kind: map[string]TakeKind{"bar": TakeBars, "note": TakeNotes, "unit": TakeUnits}[singular(fields[0])]}
	var err1, err2 error
	t.From, err1 = exact.ParseRat(fields[1])
	t.To, err2 = exact.ParseRat(fields[3])
	whole := t.From.IsInt() && t.To.IsInt() || t.Kind == TakeUnits
	most := exact.Int(1_000_000_000)
	switch {
	case t.Kind == TakeAll || err1 != nil || err2 != nil || !whole || t.From.Sign() < 0 || t.To.Cmp(most) > 0 ||
		t.From.Cmp(most) > 0:
		return Take{}, r.add(s.Error(fmt.Sprintf("%q is no stretch", source.Printable(s.String())), takeHint))
	case t.To.Cmp(t.From) < 0 || t.Kind == TakeUnits && t.To == t.From:
		return Take{}, r.add(s.Error("this stretch ends before it begins", takeHint))
	case t.Kind == TakeNotes && t.From.Sign() == 0:
		return Take{}, r.add(s.Error("notes count from 1", takeHint))
	}
	return t, true
}

func singular(word string) string { return strings.TrimSuffix(word, "s") }

// Material is the talea and color of a tune or voice as they are written in f, after
// like, lets and functions, each rotated as there; or, of a stretch of notes or units,
// both written out side by side. It is what another piece takes of this one: ask is its
// question, of which File counts for nothing.
func Material(f *source.File, o Options, ask Excerpt) ([]piece.Duration, []piece.Pitch, error) {
	r, errs := parseWith(f, &o)
	if len(errs) > 0 {
		var beyond *ExcerptError
		if errors.As(r.unfound, &beyond) && beyond.Attr == "from" { // it says itself which file
			return nil, nil, beyond
		}
		first := errs.Err().(source.Errors)[0]
		return nil, nil, fmt.Errorf("%s, line %d: %s", f.Name, first.At.Line, first.Problem)
	}
	n, err := r.nodeAsked(ask, f.Name)
	if err != nil {
		return nil, nil, err
	}
	v := r.voiceOf(n)
	if len(v.Talea) == 0 || len(v.Color) == 0 {
		return nil, nil, &ExcerptError{"part", fmt.Sprintf("%q of %s has not both, a talea and a color", n.name, f.Name),
			"name another tune or voice"}
	}
	talea, ok := inUnit(rotated(v.Talea, v.RotateTalea), v.Unit, ask.Unit)
	if !ok {
		return nil, nil, &ExcerptError{"from", fmt.Sprintf("the durations of %s cannot be counted in this unit", f.Name), ""}
	}
	return stretchOf(talea, rotated(v.Color, v.RotateColor), ask, f.Name)
}

// inUnit are durations counted in another unit.
func inUnit(talea []piece.Duration, from, to exact.Rat) ([]piece.Duration, bool) {
	factor, ok := from.Quo(to)
	if !ok || from == to {
		return talea, ok
	}
	out := make([]piece.Duration, len(talea))
	for i, d := range talea {
		if d.Units, ok = d.Units.Mul(factor); !ok {
			return nil, false
		}
		out[i] = d
	}
	return out, true
}

// nodeAsked is the tune or voice of a name, or the only one.
func (r *reader) nodeAsked(ask Excerpt, file string) (*node, error) {
	var names []string
	for _, n := range r.nodes {
		if n.name == ask.Part || ask.Part == "" && len(r.nodes) == 1 {
			if ask.Strand > 1 {
				return nil, &ExcerptError{"strand", fmt.Sprintf("%q of %s has one line", n.name, file), "delete strand"}
			}
			return n, nil
		}
		names = append(names, n.name)
	}
	problem := fmt.Sprintf("there is no tune or voice %q in %s", source.Printable(ask.Part), file)
	if ask.Part == "" {
		problem = fmt.Sprintf("%s has several tunes and voices; which one?", file)
	}
	return nil, &ExcerptError{"part", problem, "write part = and the name; " + nearest(ask.Part, names, "")}
}

// stretchOf writes out what is asked of two cycles side by side.
func stretchOf(talea []piece.Duration, color []piece.Pitch, ask Excerpt, file string) ([]piece.Duration, []piece.Pitch,
	error) {
	t := ask.Take
	switch t.Kind {
	case TakeAll:
		return talea, color, nil
	case TakeBars:
		return nil, nil, &ExcerptError{"take", "the bars of " + file + " are not known",
			`take notes or units: "note 1 to note 40", "units 0 to 90"`}
	}
	var outT []piece.Duration
	var outC []piece.Pitch
	at, notes := exact.Rat{}, 0
	for i := 0; len(outT) <= maxMembers; i++ {
		d := talea[i%len(talea)]
		if !d.Silent {
			notes++
		}
		n := exact.Int(int64(notes))
		begun := t.Kind == TakeUnits && at.Cmp(t.From) >= 0 || t.Kind == TakeNotes &&
			(n.Cmp(t.From) >= 0 && (len(outT) > 0 || !d.Silent))
		if t.Kind == TakeUnits && at.Cmp(t.To) >= 0 || t.Kind == TakeNotes && len(outC) > 0 &&
			(n.Cmp(t.To) > 0 || n == t.To && d.Silent) {
			break
		}
		if begun {
			if lead, _ := at.Sub(t.From); t.Kind == TakeUnits && len(outT) == 0 && lead.Sign() > 0 {
				outT = append(outT, piece.Duration{Units: lead, Silent: true})
			}
			outT = append(outT, d)
			if !d.Silent {
				outC = append(outC, color[(notes-1)%len(color)])
			}
		}
		var ok bool
		if at, ok = at.Add(d.Units); !ok {
			return nil, nil, &ExcerptError{"take", "this stretch is too far out", ""}
		}
		if i > 100*maxMembers {
			break
		}
	}
	if len(outC) == 0 {
		return nil, nil, &ExcerptError{"take", "no note of " + file + " begins there", ""}
	}
	return outT, outC, nil
}

// TakenFrom are the files that the text of a piece takes notes from, as it writes
// them, each once. What cannot be read is left out.
func TakenFrom(f *source.File) []string {
	body, _ := blocks.Parse(f, blocks.Options{})
	var names []string
	collectFrom(body, &names)
	return names
}

func collectFrom(body *blocks.Body, names *[]string) {
	for _, b := range body.Blocks {
		if a := b.Body.Get("from"); a != nil && (b.Type == "tune" || b.Type == "voice") {
			if name, err := a.Str(); err == nil && !slices.Contains(*names, name) {
				*names = append(*names, name)
			}
		}
		collectFrom(b.Body, names)
	}
}
