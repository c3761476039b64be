package show

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"rollwright/draw"
	"rollwright/exact"
	"rollwright/music/piece"
	"rollwright/music/plan"
	"rollwright/telling/figure"
	"rollwright/text/say"
	"rollwright/text/words"
)

func itoa(n int) string { return strconv.Itoa(n) }

// tell gives every step its words and its figure, in the order of the lecture,
// so that terms are explained where the audience meets them first.
func (l *Lecture) tell(ctx context.Context, script *Script) error {
	t := &teller{l: l, talk: l.Book.Begin(), captions: l.Book.Begin(), book: l.Book}
	for _, s := range l.Steps {
		if err := ctx.Err(); err != nil {
			return err
		}
		t.step(s)
		if c := script.find(s.Name); c != nil {
			t.replace(s, c)
		}
		if err := t.draw(s); err != nil {
			return err
		}
	}
	return nil
}

// teller finds the words.
type teller struct {
	l        *Lecture
	talk     *words.Talk // what the audience reads on the page
	captions *words.Talk // what stands in and under figures, which not every page shows
	book     *words.Book // what only the speaker reads
}

// step gives a step the words that follow from the piece.
func (t *teller) step(s *Step) {
	switch s.Kind {
	case Title:
		t.title(s)
	case RhythmAlone:
		t.rhythm(s)
	case MelodyAlone:
		t.melody(s)
	case Idea:
		t.idea(s)
	case Together:
		t.together(s)
	case Against:
		t.against(s)
	case Voice:
		t.voice(s)
	case All:
		t.all(s)
	case Meeting:
		t.meeting(s)
	case Interval:
		t.interval(s)
	case Hall:
		t.hall(s)
	case Own:
		s.Title = s.Name
		s.Text = []string{t.talk.Say("lecture.own.text", words.Args{"voices": len(s.Voices),
			"length": t.length(s.ToSec - s.FromSec)})}
	case Text:
		s.Title = s.Name
	}
	switch {
	case s.Hear == Nothing || s.Rate == 1:
	case s.Rate < 1:
		s.Say = append(s.Say, t.book.Say("lecture.slow", words.Args{"rate": t.decimal(s.Rate)}))
	default:
		s.Say = append(s.Say, t.book.Say("lecture.fast", words.Args{"rate": t.decimal(s.Rate)}))
	}
}

// replace puts the piece's own words in place of those.
func (t *teller) replace(s *Step, c *custom) {
	if c.title != nil {
		s.Title = *c.title
	}
	if c.text != nil {
		s.Text = paragraphs(*c.text)
	}
	if c.say != nil {
		s.Say = paragraphs(*c.say)
	}
}

// paragraphs cuts a text at its empty lines; single ends of lines are blanks.
func paragraphs(text string) []string {
	var all []string
	for _, p := range strings.Split(strings.ReplaceAll(text, "\r\n", "\n"), "\n\n") {
		if p = strings.Join(strings.Fields(p), " "); p != "" {
			all = append(all, p)
		}
	}
	return all
}

func (t *teller) voiceOf(i int) *piece.Voice { return &t.l.in.piece().Voices[i] }

func (t *teller) notes(i int) int { return t.l.in.Performance.Lines[i].Notes }

func (t *teller) title(s *Step) {
	s.Title = t.l.Title
	if by := t.l.Composer; by != "" {
		s.Text = append(s.Text, t.talk.Say("lecture.title.by", words.Args{"composer": by}))
	}
	if note := t.l.in.piece().Note; note != "" {
		s.Text = append(s.Text, paragraphs(note)...)
	}
	s.Text = append(s.Text, t.talk.Say("lecture.title.text", t.whole()))
	s.Say = []string{t.book.Say("lecture.title.say", nil)}
}

// whole are the numbers of the whole piece.
func (t *teller) whole() words.Args {
	notes := 0
	for _, line := range t.l.in.Performance.Lines {
		notes += line.Notes
	}
	return words.Args{"voices": len(t.l.in.piece().Voices), "notes": notes, "length": t.length(t.l.in.Performance.EndSec)}
}

// series are the numbers of a voice's color and talea.
func (t *teller) series(i int) words.Args {
	v := t.voiceOf(i)
	strokes := 0
	units := exact.Int(0)
	for _, d := range v.Talea {
		if !d.Silent {
			strokes++
		}
		units, _ = units.Add(d.Units)
	}
	return words.Args{"voice": v.Name, "strokes": strokes, "pitches": len(v.Color), "units": units.String(),
		"notes": t.notes(i)}
}

func (t *teller) rhythm(s *Step) {
	v, args := t.voiceOf(s.lead), t.series(s.lead)
	s.Title = t.talk.Say("lecture.rhythm.title", nil)
	key := "lecture.rhythm.text"
	switch {
	case v.FromLine:
		key = "lecture.rhythm.text-line"
	case len(v.Talea) == 1:
		key = "lecture.rhythm.text-one"
	}
	s.Text = []string{t.talk.Say(key, args) + t.bars(s.lead)}
	times := 0
	for item := range t.l.in.Performance.Lines[s.lead].All() {
		if item.StartSec >= s.ToSec {
			break
		}
		if item.N%len(v.Talea) == 0 {
			times++
		}
	}
	s.Say = []string{t.book.Say("lecture.rhythm.say", words.Args{"times": times})}
	if n := len(v.Talea); n > 1 && n <= 40 {
		key := "lecture.rhythm.series"
		if !slices.ContainsFunc(v.Talea, func(d piece.Duration) bool { return d.Silent }) {
			key = "lecture.rhythm.series-all"
		}
		s.Say = append(s.Say, t.book.Say(key, words.Args{"series": strings.Join(taleaLabels(v), " ")}))
	}
}

// longestBars is how many lengths of bars in turn are told.
const longestBars = 12

// bars says how a voice is counted, with a blank ahead; nothing where it has no bars, or its
// cycle of them is too long to be told.
func (t *teller) bars(voice int) string {
	b := t.l.in.Plan().Voices[voice].Bars
	if b == nil || len(b.Units) > longestBars {
		return ""
	}
	key := "lecture.bars"
	turn, upbeat := len(b.Units) > 1, b.Upbeat != "0"
	switch {
	case turn && upbeat:
		key += ".turn-upbeat"
	case turn:
		key += ".turn"
	case upbeat:
		key += ".upbeat"
	}
	return " " + t.talk.Say(key, words.Args{"voice": t.voiceOf(voice).Name, "units": strings.Join(b.Units, " "),
		"upbeat": b.Upbeat, "bars": b.Count})
}

func (t *teller) melody(s *Step) {
	v, args := t.voiceOf(s.lead), t.series(s.lead)
	s.Title = t.talk.Say("lecture.melody.title", nil)
	key := "lecture.melody.text"
	if v.FromLine {
		key = "lecture.melody.text-line"
	}
	s.Text = []string{t.talk.Say(key, args)}
	s.Say = []string{t.book.Say("lecture.melody.say", nil)}
	if n := len(v.Color); n > 1 && n <= 40 {
		s.Say = append(s.Say, t.book.Say("lecture.melody.series", words.Args{"series": strings.Join(colorLabels(t.book, t.l.in,
			s.lead), " ")}))
	}
}

func (t *teller) together(s *Step) {
	c, args := s.cycle, t.series(s.lead)
	s.Title = t.talk.Say("lecture.together.title", nil)
	key, say := "lecture.together.text", "lecture.together.say"
	switch {
	case !c.reached:
		key, say = "lecture.together.text-less", "lecture.together.say-less"
	case c.notes == args["strokes"] && c.notes == args["pitches"]:
		key = "lecture.together.text-even"
	}
	args["notes"], args["colores"], args["taleae"], args["played"] = c.notes, c.colores, c.taleae, t.notes(s.lead)
	s.Text = []string{t.talk.Say(key, args)}
	s.Say = []string{t.book.Say(say, nil)}
}

func (t *teller) against(s *Step) {
	names := words.Args{"a": t.voiceOf(s.lead).Name, "b": t.voiceOf(s.other).Name}
	s.Title = t.talk.Say("lecture.against.title", names)
	pair := pairOf(t.l.in, s.lead, s.other)
	if pair == nil || pair.Ratio == nil {
		s.Text = []string{t.talk.Say("lecture.against.text-tempo", names)}
	} else {
		names["ratio"] = t.ratio(pair.Ratio, s.lead > s.other)
		s.Text = []string{t.talk.Say("lecture.against.text", names)}
	}
	if said := t.meets(s, pair); said != "" {
		s.Text = append(s.Text, said)
	}
	s.Say = []string{t.book.Say("lecture.against.say", nil)}
	if pair != nil && pair.Sound != "" {
		s.Say = append(s.Say, t.book.Say("lecture.against.sound", words.Args{"meet": pair.Sound}))
	}
}

// ratio is how many units B of a pair plays while A plays one, or the other way
// round.
func (t *teller) ratio(n *plan.Number, inverse bool) string {
	if !inverse {
		return t.number(n)
	}
	if x, err := exact.Parse(n.Exact); n.Exact != "" && err == nil {
		return t.number(&plan.Number{Exact: x.Inv().String(), Decimal: x.Inv().Float64()})
	}
	return t.decimal(1 / n.Decimal)
}

func (t *teller) voice(s *Step) {
	v := t.voiceOf(s.lead)
	s.Title = t.talk.Say("lecture.voice.title", words.Args{"voice": v.Name})
	key := "lecture.voice.text"
	if v.FromLine {
		key = "lecture.voice.text-line"
	}
	start := t.l.in.Performance.Lines[s.lead].StartSec
	text := t.talk.Say(key, t.series(s.lead)) + t.bars(s.lead)
	if start > 0 {
		text += " " + t.talk.Say("lecture.voice.enters", words.Args{"at": t.clock(start)})
	}
	s.Text = []string{text + " " + t.playing(s)}
	say := "lecture.voice.say"
	if start-s.FromSec < leastSec {
		say = "lecture.voice.say-first"
	}
	s.Say = []string{t.book.Say(say, words.Args{"voice": v.Name, "lead": t.length(max(0, start-s.FromSec) / s.Rate)})}
}

// playing says how many voices are heard once the step's voice has entered.
func (t *teller) playing(s *Step) string {
	line := t.l.in.Performance.Lines[s.lead]
	now := sounding(t.l.in, s.Voices, max(s.FromSec, line.StartSec), s.ToSec)
	switch {
	case len(now) != 1 || now[0] != s.lead:
		return t.talk.Say("lecture.voice.plays", words.Args{"voices": len(now)})
	case last(t.l.in, s.lead):
		return t.talk.Say("lecture.voice.after", nil)
	}
	return t.talk.Say("lecture.voice.alone", nil)
}

func (t *teller) all(s *Step) {
	s.Title = t.talk.Say("lecture.all.title", nil)
	s.Text = []string{t.talk.Say("lecture.all.text", t.whole())}
	s.Say = []string{t.book.Say("lecture.all.say", words.Args{"length": t.length(s.Seconds())})}
	if few := t.withoutStep(s); len(few) > 0 {
		s.Say = append(s.Say, t.book.Say("lecture.all.few", words.Args{"voices": t.list(few), "count": len(few)}))
	}
}

// withoutStep are the voices of the step that have too few notes for a step of
// their own, and are in none that the lecture has made by itself.
func (t *teller) withoutStep(s *Step) []string {
	var names []string
	for _, v := range s.Voices {
		in := func(other *Step) bool { return other.Kind != All && other.Kind != Own && other.heard(v) }
		if t.notes(v) < fewNotes && !slices.ContainsFunc(t.l.Steps, in) {
			names = append(names, t.voiceOf(v).Name)
		}
	}
	return names
}

// clock is an instant as minutes, seconds and tenths: 1:23.4.
func (t *teller) clock(sec float64) string { return clock(t.book, sec) }

func clock(b *words.Book, sec float64) string {
	return b.Decimal(say.Clock(sec, 1))
}

// length is how long something lasts: 12 s, or minutes and seconds.
func (t *teller) length(sec float64) string { return length(t.book, sec) }

func length(b *words.Book, sec float64) string {
	if math.Round(sec) >= 60 {
		return say.Clock(sec, 0)
	}
	return b.Say("lecture.seconds", words.Args{"sec": b.Decimal(strconv.FormatFloat(math.Round(sec*10)/10, 'f', -1, 64))})
}

// decimal is a number with at most four decimals.
func (t *teller) decimal(x float64) string {
	return t.book.Decimal(strconv.FormatFloat(math.Round(x*1e4)/1e4, 'f', -1, 64))
}

// draw gives a step its figure: the one that was asked for, or the first of
// those that suit the step which the piece has.
func (t *teller) draw(s *Step) error {
	if s.wanted == noFigure || s.Kind == Text && s.wanted == "" {
		return nil
	}
	in := t.l.in.figureInput()
	if s.wanted != "" {
		f, err := figure.Draw(s.wanted, in, t.figureOptions(s, s.wanted))
		if err != nil {
			return fmt.Errorf("the figure of step %q: %w", s.Name, err)
		}
		s.Figure = f
		return nil
	}
	if s.Kind == Together || s.Kind == Voice {
		s.Notation, _ = figure.Draw("notation", in, t.figureOptions(s, "notation"))
	}
	kinds := figuresFor[s.Kind]
	if s.idea != nil {
		kinds = []string{s.idea.figure, "lines"}
	}
	for _, kind := range kinds {
		if kind == "meeting" && !t.crossing(s) {
			continue
		}
		f, err := figure.Draw(kind, in, t.figureOptions(s, kind))
		if err != nil {
			continue // this piece has no such figure
		}
		switch s.Kind {
		case RhythmAlone:
			keep(f, "talea")
		case MelodyAlone:
			keep(f, "color")
		}
		s.Figure = f
		return nil
	}
	return nil
}

// keep keeps one layer of a figure.
func keep(f *figure.Figure, id string) {
	d := f.Drawing
	d.Layers = slices.DeleteFunc(d.Layers, func(l *draw.Layer) bool { return l.ID != id })
}

// crossing reports whether the lines of the step's voices cross when drawn as
// units against time; those of equal speeds lie on or beside each other.
func (t *teller) crossing(s *Step) bool {
	if s.lead < 0 || s.other < 0 {
		return false
	}
	for _, v := range s.Place {
		if differ(t.l.in, s.lead, v) {
			return true
		}
	}
	return differ(t.l.in, s.lead, s.other)
}

// figureOptions are what a figure of the kind shows of the step.
func (t *teller) figureOptions(s *Step, kind string) figure.Options {
	o := figure.Options{Size: figure.Slide, Bare: true, Heard: true, Talk: t.captions, FromSec: s.FromSec, ToSec: s.ToSec}
	switch kind {
	case "meeting":
		o.FromSec, o.ToSec = 0, 0
		if len(s.Place) > 2 { // all lines of the canon
			o.Voice = t.voiceOf(s.lead).Name
			return o
		}
	case "lines":
		if s.Kind == Title {
			o.FromSec, o.ToSec = 0, 0
		}
		if s.other < 0 {
			t.only(&o, s)
			return o
		}
	case "contour":
		if s.other < 0 {
			t.only(&o, s)
			return o
		}
	case "tempo":
		o.FromSec, o.ToSec = 0, 0
		if s.Kind == Idea {
			t.only(&o, s)
			return o
		}
	case "lag":
		o.FromSec, o.ToSec = 0, 0
	case "paper":
		o.ToSec = min(o.ToSec, o.FromSec+paperSec)
		if s.lead >= 0 {
			o.Voice = t.voiceOf(s.lead).Name
		}
		return o
	default:
		if s.lead >= 0 {
			o.Voice = t.voiceOf(s.lead).Name
		}
		return o
	}
	if s.other >= 0 {
		o.Pair = [2]string{t.voiceOf(s.lead).Name, t.voiceOf(s.other).Name}
	}
	return o
}

// paperSec is how much paper has room in a figure.
const paperSec = 5

// only keeps rows of a figure for the voices of the step.
func (t *teller) only(o *figure.Options, s *Step) {
	for _, v := range s.Voices {
		o.Voices = append(o.Voices, t.voiceOf(v).Name)
	}
}

// figuresFor are the kinds of figure that suit each kind of step, best first.
var figuresFor = map[Kind][]string{
	Title:       {"lines"},
	RhythmAlone: {"notation"},
	MelodyAlone: {"notation"},
	Together:    {"wheels", "grid"},
	Against:     {"meeting", "lines"},
	Voice:       {"lines"},
	All:         {"lines"},
	Meeting:     {"meeting", "lines"},
	Own:         {"lines"},
}
