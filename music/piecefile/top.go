package piecefile

import (
	"fmt"
	"slices"
	"strings"
	"unicode/utf8"

	"rollwright/exact"
	"rollwright/music/piece"
	"rollwright/text/blocks"
	"rollwright/text/source"
)

// topWords are what a piece knows outside its blocks, and its blocks.
var topWords = []string{
	"title", "composer", "note", "instrument", "hammers", "tuning", "a4", "roll_tempo", "tempo", "unit", "hold", "dynamics",
	"mode", "bar", "upbeat", "tempo_path {", "loudness_path {",
	"let {", "tune {", "voice {", "canon {", "section {", "piano {", "show {",
}

// checkTop complains about what stands outside all blocks and is not known.
func (r *reader) checkTop() { r.unknown(r.body, topWords, "a piece") }

// readTop reads the attributes of the piece itself.
func (r *reader) readTop() {
	for name, to := range map[string]*string{"title": &r.piece.Title, "composer": &r.piece.Composer,
		"note": &r.piece.Note} {
		if a := r.body.Get(name); a != nil {
			*to, _ = r.words(a.Value)
		}
	}
	for _, a := range []attr{aTempo, aUnit, aHold, aDynamics, aMode, aBar, aUpbeat} {
		if written := r.body.Get(forms[a].name); written != nil {
			r.defaults[a] = r.setting(a, written)
		}
	}
	r.readTimes()
	for _, b := range r.body.Of("show") {
		r.piece.Show = append(r.piece.Show, piece.Block{At: b.At, Text: b.Text()})
	}
}

// readTimes reads what the piece says about its own time and loudness.
func (r *reader) readTimes() {
	p := r.piece
	p.Places = piece.Places{}
	p.Unit, p.Tempo = value(r.defaults[aUnit], defaultUnit), r.nominalTempo()
	if p.Bar = barsOf(&r.defaults); !p.Bar.Given() && r.defaults[aUpbeat] != nil {
		r.add(r.defaults[aUpbeat].Error("an upbeat without bars", "write how long a bar is: bar = 16"))
	}
	if s := r.readBlock(r.body, forms[aTempoPath]); s != nil {
		p.Path = value[[]piece.Leg](s, nil)
		p.Places[forms[aTempoPath].name] = s.at
	}
	if s := r.readBlock(r.body, forms[aLoudness]); s != nil {
		p.Loudness = value[[]piece.LoudLeg](s, nil)
		p.Places[forms[aLoudness].name] = s.at
	}
}

// unknown complains about what a body does not know. Whole parts of a piece
// inside one another are a brace that is missing.
func (r *reader) unknown(body *blocks.Body, known []string, what string) {
	rest := *body
	rest.Blocks = nil
	for _, b := range body.Blocks {
		if slices.Contains([]string{"voice", "tune", "canon", "section", "piano", "let", "show"}, b.Type) &&
			!slices.Contains(known, b.Type+" {") {
			r.add(b.Error(fmt.Sprintf("a block %s cannot stand in %s", b.Type, what),
				"look above for a closing } that is missing, or move it out"))
			continue
		}
		rest.Blocks = append(rest.Blocks, b)
	}
	r.addAll(unknownIn(&rest, what, known...))
}

// wordsOfTheTrade are names that musicians have for what the language calls
// otherwise.
var wordsOfTheTrade = map[string]struct{ attr, hint string }{
	"retrograde":   {"backward", "what runs from its end to its start is backward: backward = true"},
	"inversion":    {"invert", "what is mirrored about a pitch is inverted: invert = \"A4\""},
	"augmentation": {"stretch", "longer durations are a stretch above 1: stretch = 2"},
	"diminution":   {"stretch", "shorter durations are a stretch below 1: stretch = 1/2"},
}

// unknownIn is what a body does not know. What is likely meant by it is read on,
// so that all mistakes come together.
func unknownIn(body *blocks.Body, what string, known ...string) source.Errors {
	errs := body.Unknown(known, what)
	for _, a := range body.Attrs {
		word, ok := wordsOfTheTrade[a.Name]
		if !ok || !slices.Contains(known, word.attr) {
			continue
		}
		if i := slices.IndexFunc(errs, func(e *source.Error) bool { return e.At == a.At }); i >= 0 {
			errs[i].Hint = word.hint
		}
	}
	body.ReadAsMeant(known)
	return errs
}

// readPianos reads the instruments, of which there is at least one.
func (r *reader) readPianos() {
	base := piece.Piano{Instrument: defaultInstrument, Hammers: defaultHammers, Places: piece.Places{}}
	r.readPiano(r.body, &base)
	for _, b := range r.body.Of("piano") {
		r.unknown(b.Body, []string{"instrument", "hammers", "tuning", "a4", "roll_tempo"}, "a piano")
		p := base
		p.Places = piece.Places{"": b.At}
		for name, at := range base.Places {
			p.Places[name] = at
		}
		r.readPiano(b.Body, &p)
		p.Name = r.name(b, "piano", `piano "left" {`)
		if p.Name != "" && slices.ContainsFunc(r.piece.Pianos, func(q piece.Piano) bool { return q.Name == p.Name }) {
			r.add(b.Error(fmt.Sprintf("a second piano %q", p.Name), "each piano has a name of its own"))
		}
		if len(r.piece.Pianos) >= maxPianos {
			r.add(b.Error(fmt.Sprintf("more than %d pianos", maxPianos), ""))
			return
		}
		r.piece.Pianos = append(r.piece.Pianos, p)
	}
	if len(r.piece.Pianos) == 0 {
		r.piece.Pianos = []piece.Piano{base}
	}
}

// What a piano is where neither it nor the piece says so.
const (
	defaultInstrument = "88-note"
	defaultHammers    = "metal"
	defaultTuning     = "stretched"
)

// maxPianos bounds the instruments of a piece.
const maxPianos = 100

func (r *reader) readPiano(body *blocks.Body, p *piece.Piano) {
	if a := body.Get("instrument"); a != nil {
		var ok bool
		p.Instrument, ok = r.words(a.Value)
		p.Places["instrument"] = a.At
		if ok && p.Instrument == "" {
			r.add(a.Error("the name of the instrument is empty", `write: instrument = "88-note"`))
		}
	}
	if a := body.Get("hammers"); a != nil {
		p.Places["hammers"] = a.At
		s, ok := r.written(a.Value)
		if ok {
			p.Hammers = s.String()
		}
		if ok && !slices.Contains(hammers, p.Hammers) {
			r.add(a.Error(fmt.Sprintf("there are no hammers %q", source.Printable(p.Hammers)),
				"write felt, metal or tacks, in quotes"))
		}
	}
	if a := body.Get("tuning"); a != nil {
		p.Places["tuning"] = a.At
		s, ok := r.written(a.Value)
		if ok {
			p.Tuning = s.String()
		}
		if ok && !slices.Contains(tunings, p.Tuning) && !strings.HasSuffix(strings.ToLower(p.Tuning), ".csv") {
			r.add(a.Error(fmt.Sprintf("there is no tuning %q", source.Printable(p.Tuning)),
				"write "+strings.Join(tunings[:len(tunings)-1], ", ")+" or "+tunings[len(tunings)-1]+
					`, or the path of a table of cents, tuning = "mine.csv"`))
		}
	}
	if a := body.Get("a4"); a != nil {
		p.Places["a4"] = a.At
		if v := r.meant(a.Value); v != nil {
			var err *source.Error
			p.A4, err = r.ratOf(v)
			if err == nil && (p.A4.Cmp(exact.Int(lowestA4)) < 0 || p.A4.Cmp(exact.Int(highestA4)) > 0) {
				err = v.Error("an A4 of "+p.A4.String()+" Hz", fmt.Sprintf("it goes from %d to %d; write: a4 = 442", lowestA4,
					highestA4))
			}
			r.add(err)
		}
	}
	if a := body.Get("roll_tempo"); a != nil {
		p.Places["roll_tempo"] = a.At
		if v := r.meant(a.Value); v != nil {
			var err *source.Error
			p.RollTempo, err = r.ratOf(v)
			if err == nil && (p.RollTempo.Sign() <= 0 || p.RollTempo.Cmp(exact.Int(1000)) > 0 ||
				p.RollTempo.Cmp(exact.Int(1)) < 0) {
				err = v.Error("a roll tempo of "+p.RollTempo.String(), "the figure on the roll is ten times the feet a minute, such as 80; it goes from 1 to 1000")
			}
			r.add(err)
		}
	}
}

var hammers = []string{"felt", "metal", "tacks"}

// tunings are the names of tunings; a test beside their numbers keeps the two lists the same.
var tunings = []string{"stretched", "equal", "kirnberger-3", "quarter-comma", "vallotti", "werckmeister-3"}

// Bounds of A4, Hz: strings of another pitch would be others.
const lowestA4, highestA4 = 380, 480

// name is the one label of a block.
func (r *reader) name(b *blocks.Block, what, example string) string {
	name := b.Label(0)
	switch {
	case len(b.Labels) == 0:
		r.add(b.Error("this "+what+" has no name", "write: "+example))
	case len(b.Labels) > 1:
		r.add(b.Error("this "+what+" has more than one name", "a name of several words stands in one pair of quotes; write: "+
			example))
	case strings.TrimSpace(name) != name || name == "" || strings.ContainsAny(name, "\r\n\t"):
		r.add(b.Error("this name is empty, or has blanks at its ends or line ends in it", "write: "+example))
	case utf8.RuneCountInString(name) > maxNameSize:
		r.add(b.Error(fmt.Sprintf("this name has more than %d characters", maxNameSize), "shorten it"))
	default:
		return name
	}
	return ""
}
