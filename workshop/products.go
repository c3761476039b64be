package workshop

import (
	"context"
	"errors"
	"fmt"
	"path/filepath"
	"slices"
	"strings"

	"rollwright/making/machine"
	"rollwright/music/musicxml"
	"rollwright/paper/strip"
	"rollwright/sound"
	"rollwright/telling/engrave"
	"rollwright/text/choice"
	"rollwright/text/source"
)

// Need is what a product is made from. A source that has a piece has events, and
// one that has events has rolls.
type Need int8

// The needs.
const (
	NeedsRolls  Need = iota // slots on paper
	NeedsEvents             // notes with their times
	NeedsPiece              // voices with their series, speeds and places
)

// Tool is what a product is made for, beside paper.
type Tool int8

// The tools.
const (
	NoTool     Tool = iota
	ForBench        // a bench for punching by hand
	ForMachine      // a machine, which Options must name
)

// Parts says over which files a product may be spread; they are named
// "path-piano-spool-1-bed-01.ext".
type Parts int8

// The parts, to be added up.
const (
	ByPiano Parts = 1 << iota
	BySpool
	ByBed
	ByPage
)

// Product is one kind of thing that is made. The table of products is the one
// place where it is decided what can be written, under which extension, from
// what, heeding which options; command, page, built folders, test rolls and
// documents follow from it.
type Product struct {
	Name       string   // one word, no other product's
	By         Option   // asks for it in place of what the extension means alone; empty: it is what that means
	Extensions []string // with their dots; none: it is made for built folders alone
	Called     string   // what a person calls it: "a roll in tiles"
	About      string   // what it is for, in a line
	Built      string   // its file in a built folder; empty: none
	Needs      Need
	For        Tool
	Parts      Parts
	Heeds      []Option

	asked  func(*Options) bool // whether the options do ask for it; nil with By
	write  func(ctx context.Context, f *out) ([]string, error)
	spared func(error) bool // whether a built folder does without it on this error; nil: never
}

// Option is the name of a choice that Options hold: the command's flag without
// its dashes.
type Option string

// The options of whole families of products.
const (
	ofRolls  = "piano bench trial spool-length split spool paper-across paper-along paper-about"
	ofSheets = "scale-across scale-along names back cues"
	ofFilm   = "from to roll rate hammers dry tuning mono lufs as-is"
	ofSound  = "from to voice without only roll rate hammers dry tuning mono lufs as-is sample-rate bits"
)

// heeds are the options of several lists of words.
func heeds(lists ...string) []Option {
	var all []Option
	for _, word := range strings.Fields(strings.Join(lists, " ")) {
		all = append(all, Option(word))
	}
	return all
}

// products is the table, in the order in which products are listed and built. Of
// two that an extension may mean, the one that the options ask for is meant.
var products = []*Product{
	{
		Name: "tiles", Extensions: []string{".pdf"}, Called: "a roll in tiles",
		About: "the roll 1:1, to print, join and punch through", Built: "roll.pdf",
		Parts: ByPiano | BySpool, Heeds: heeds(ofRolls, ofSheets, "paper margin overlap"), write: eachRoll(writeTiles),
	},
	{
		Name: "long", By: "long", Extensions: []string{".pdf"}, Called: "a long PDF", About: "the roll 1:1 on one long page",
		Parts: ByPiano | BySpool, Heeds: heeds(ofRolls, ofSheets, "leader long long-plain"),
		asked: func(o *Options) bool { return o.Long != Tiled }, write: eachRoll(writeLongPDF),
	},
	{
		Name: "svg", Extensions: []string{".svg"}, Called: "an SVG of the roll",
		About: "the roll 1:1 as one drawing", Built: "roll.svg",
		Parts: ByPiano | BySpool, Heeds: heeds(ofRolls, ofSheets, "leader outlines"), write: eachRoll(writeSVG),
	},
	{
		Name: "dxf", Extensions: []string{".dxf"}, Called: "a DXF of the roll",
		About: "the roll for cutters and plotters, in millimetres", Built: "roll.dxf",
		Parts: ByPiano | BySpool, Heeds: heeds(ofRolls, ofSheets, "leader"), write: eachRoll(writeDXF),
	},
	{
		Name: "picture", Extensions: []string{".png"}, Called: "a picture", About: "a picture of the paper",
		Built: "roll.png",
		Parts: ByPiano | BySpool, Heeds: heeds(ofRolls, "from to back width bar dark"), write: eachRoll(writePicture),
	},
	{
		Name: "program", By: "machine", Extensions: []string{".nc", ".plt", ".svg", ".dxf", ".pdf"}, Called: "a machine program",
		About: "programs for a laser, a punching head or a knife, a bed each", For: ForMachine,
		Parts: ByPiano | BySpool | ByBed, Heeds: heeds(ofRolls, "back cues machine copies"),
		asked: func(o *Options) bool { return o.Machine != "" }, write: writeBeds,
	},
	{
		Name: "figure", By: "figure", Extensions: []string{".pdf", ".svg", ".png"}, Called: "a figure",
		About: "a figure that explains the piece", Needs: NeedsPiece,
		Heeds: heeds("from to figure pair size ink plain language piano width voice"),
		asked: func(o *Options) bool { return o.Figure != "" }, write: writeFigure,
	},
	{
		Name: "worksheet", By: "worksheet", Extensions: []string{".pdf", ".csv"}, Called: "a worksheet",
		About: "the rows to punch by hand, with the turns of the crank", For: ForBench,
		Parts: ByPiano | BySpool, Heeds: heeds(ofRolls, "worksheet paper cues"),
		asked: func(o *Options) bool { return o.Worksheet }, write: writeWorksheet,
	},
	{
		Name: "labels", By: "labels", Extensions: []string{".pdf"}, Called: "labels",
		About: "labels for rolls and boxes, cues, the tab of the leader", Needs: NeedsEvents, For: ForBench,
		Heeds: heeds(ofRolls, "labels paper cues speeds two-attacks date copies"),
		asked: func(o *Options) bool { return o.Labels }, write: writeLabels,
	},
	{
		Name: "form", Extensions: []string{strip.Extension}, Called: "a form for a trial strip",
		About: "the questions that a trial strip puts, to fill in", For: ForBench,
		Heeds: heeds(ofRolls), write: one(writeForm),
	},
	{
		Name: "table", Extensions: []string{".csv"}, Called: "a table",
		About: "every slot with its place in millimetres", Built: "holes.csv",
		Parts: BySpool, Heeds: heeds(ofRolls, "punches"), write: eachSpool(writeTable),
	},
	{
		Name: "events", Called: "a table of notes", About: "every note with its time", Built: "events.csv",
		Needs: NeedsEvents, write: one(writeEvents),
	},
	{
		Name: "midi", Extensions: []string{".mid"}, Called: "a MIDI file",
		About: "the notes for any MIDI program", Built: "score.mid", Needs: NeedsEvents, write: one(writeMIDI),
	},
	{
		Name: "notation", Extensions: []string{".musicxml"}, Called: "notation",
		About: "the notes in notation, for any engraving program", Built: "score.musicxml",
		Needs: NeedsPiece, Heeds: heeds("voice language one-tempo"), write: one(writeMusicXML),
		spared: func(err error) bool { return errors.Is(err, musicxml.ErrTooLow) },
	},
	{
		Name: "score", By: "score", Extensions: []string{".pdf", ".svg", ".png"}, Called: "a score",
		About: "the notes on staves, placed by time: to follow while the roll plays", Built: "score.pdf",
		Needs: NeedsPiece, Parts: ByPage, Heeds: heeds("from to score ink plain language paper width size voice"),
		asked: func(o *Options) bool { return o.Score }, write: writeScore,
		spared: func(err error) bool { var large engrave.TooLarge; return errors.As(err, &large) },
	},
	{
		Name: "kit", By: "kit", Extensions: []string{".pdf"}, Called: "a kit",
		About: "sheets to cut out: color and talea as wheels and strips, two tempos as strips", Needs: NeedsPiece,
		Heeds: heeds("kit ink plain language paper pair voice"),
		asked: func(o *Options) bool { return o.Kit }, write: one(writeKit),
	},
	{
		Name: "sound", Extensions: []string{".flac", ".wav"}, Called: "sound", About: "the sound of the piece",
		Built: "sound.flac",
		Heeds: heeds(ofSound), write: writeSound, spared: unheard,
	},
	{
		Name: "lecture", Extensions: []string{".html"}, Called: "a lecture page",
		About: "the piece explained step by step, to see and to hear", Built: "lecture.html",
		Needs: NeedsPiece, write: writeLecture,
	},
	{
		Name: "film", Extensions: []string{".mp4", ".webm", ".tar"}, Called: "a film",
		About: "the paper moving over its bar, with sound; .tar: its pictures and its sound, for other programs",
		Heeds: heeds(ofFilm, "square dark frame-rate piano figure pair plain language"), write: writeFilm,
	},
	{
		Name: "subtitles", Extensions: []string{".vtt"}, Called: "subtitles",
		About: "the words of the talk for a film, each at its place", Needs: NeedsPiece,
		Heeds: heeds("from to rate language plain"), write: writeSubtitles,
	},
	{
		Name: "plan", Called: "the plan", About: "how the cycles run: statements, meetings, lengths", Built: "plan.txt",
		Needs: NeedsPiece, write: one(writePlan),
	},
	{
		Name: "findings", Called: "the findings", About: "what paper or instrument cannot do", Built: "findings.txt",
		write: one(writeFindings),
	},
}

// unheard reports whether a piece has no notes that strings can sound; check says
// why.
func unheard(err error) bool {
	var complaints source.Errors
	return errors.Is(err, sound.ErrNothing) || errors.As(err, &complaints)
}

// Products are all products, in their order. They must not be changed.
func Products() []*Product { return products }

// Extensions are the extensions that outputs may have, each once, in the order of
// the products.
func Extensions() []string {
	var all []string
	for _, p := range products {
		for _, e := range p.Extensions {
			if !slices.Contains(all, e) {
				all = append(all, e)
			}
		}
	}
	return all
}

// Known are the products that files of an extension may hold, first the one that
// it means alone.
func Known(extension string) []*Product {
	var plain, asked []*Product
	for _, p := range products {
		switch {
		case !slices.Contains(p.Extensions, extension):
		case p.By == "":
			plain = append(plain, p)
		default:
			asked = append(asked, p)
		}
	}
	return append(plain, asked...)
}

// ProductOf is what a file named path will hold: what o asks for in place of the
// roll, else what its extension means. Its error says what can be written.
func ProductOf(path string, o *Options) (*Product, error) {
	extension := strings.ToLower(filepath.Ext(path))
	known := Known(extension)
	if len(known) == 0 {
		return nil, unknownExtension(path, extension)
	}
	asked, err := askedFor(o)
	if err != nil {
		return nil, err
	}
	plain := slices.IndexFunc(known, func(p *Product) bool { return p.asked == nil })
	special := slices.IndexFunc(known, func(p *Product) bool { return p == asked })
	switch {
	case asked != nil && special >= 0:
		return asked, nil
	case asked != nil && (plain < 0 || asked.replaces(known[plain])):
		return nil, fmt.Errorf("%s: %s is written as %s", path, asked.Called, listed(asked.Extensions, "or"))
	case plain < 0:
		return nil, errNoMachine
	}
	return known[plain], nil
}

// replaces reports whether a product that is asked for stands in the place of q,
// so that a file which would hold q is a mistake. A long page is a way of writing
// PDF, a sound may be written beside anything, and a film takes a figure in.
func (p *Product) replaces(q *Product) bool {
	return p.Name != "long" && q.Name != "sound" && q.Name != "subtitles" && (q.Name != "film" || p.Name != "figure")
}

// askedFor is the product that the options ask for by name; nil: none. A long
// page gives way to any other.
func askedFor(o *Options) (*Product, error) {
	var found *Product
	for _, p := range products {
		switch {
		case p.asked == nil || !p.asked(o):
		case found == nil || found.Name == "long":
			found = p
		default:
			return nil, choice.Errorf("a file holds one thing: %s or %s, {%s} or {%s}", found.Called, p.Called, found.By, p.By)
		}
	}
	return found, nil
}

func unknownExtension(path, extension string) error {
	known := Extensions()
	hint := "end the name in one of " + strings.Join(known, " ")
	if near, ok := source.Nearest(extension, known); ok {
		hint = "did you mean " + near + "? Or " + hint
	}
	return fmt.Errorf("%s: the extension chooses the format; %s", path, hint)
}

// errNoMachine asks for the machine that a program is for.
var errNoMachine = choice.Errorf("a program is for one machine: name it with {machine}; built in are %s",
	strings.Join(machine.Names(), ", "))

// listed is words as a list: "a, b or c".
func listed(words []string, last string) string {
	if n := len(words); n > 1 {
		return strings.Join(words[:n-1], ", ") + " " + last + " " + words[n-1]
	}
	return strings.Join(words, "")
}

// called lists products, each once, in the order of the table.
func called(list []*Product) string {
	var names []string
	for _, p := range products {
		if slices.Contains(list, p) {
			names = append(names, p.Called)
		}
	}
	return listed(names, "or")
}

// Heeded is an error for the first of the options that some product
// takes note of, but none of these: whoever gave it meant something by it.
func Heeded(options []string, these []*Product) error {
	for _, name := range options {
		var heeding []*Product
		for _, p := range products {
			if slices.Contains(p.Heeds, Option(name)) {
				heeding = append(heeding, p)
			}
		}
		mine := func(p *Product) bool { return slices.Contains(these, p) }
		if len(heeding) > 0 && !slices.ContainsFunc(heeding, mine) {
			return choice.Errorf("{%s} does nothing for %s; it is for %s", name, called(these), called(heeding))
		}
	}
	return nil
}
