package web

import (
	"cmp"
	"context"
	"fmt"
	"net/http"
	"path"
	"path/filepath"
	"slices"

	"rollwright/making/machine"
	"rollwright/telling/figure"
	"rollwright/text/choice"
	"rollwright/workshop"
)

// choices are the options of outputs that the page offers: those of the command
// but for what would lead to files outside the folder.
type choices struct {
	Piano string `json:"piano"` // only this piano's; empty: all

	// Of drawings and tiles.
	Letter      bool    `json:"letter"` // paper of the tiles, else A4
	MarginMM    float64 `json:"marginMM"`
	OverlapMM   float64 `json:"overlapMM"`
	ScaleAlong  float64 `json:"scaleAlong"` // 0: 1
	ScaleAcross float64 `json:"scaleAcross"`
	Names       bool    `json:"names"` // of the ports
	Back        bool    `json:"back"`
	Leader      bool    `json:"leader"`
	Long        string  `json:"long"` // of a PDF: empty for tiles, unit, or plain
	Outlines    bool    `json:"outlines"`
	Punches     bool    `json:"punches"`
	FromSec     float64 `json:"fromSec"` // of a picture or a sound; both 0: all
	ToSec       float64 `json:"toSec"`
	Bar         bool    `json:"bar"`
	Dark        bool    `json:"dark"`
	WidthPX     int     `json:"widthPX"`

	// By hand and by machine.
	Bench     string  `json:"bench"` // built-in, or a .bench file beside the piece; empty: the one that is assumed
	Worksheet bool    `json:"worksheet"`
	Labels    bool    `json:"labels"`
	SpoolMM   float64 `json:"spoolMM"` // of music on one spool, at most; 0: one spool
	CueMM     float64 `json:"cueMM"`   // from one cue to the next; 0: none
	Machine   string  `json:"machine"` // built-in, or a .machine file of the folder
	Copies    int     `json:"copies"`
	Date      string  `json:"date"` // of labels: 2026-11-30; empty: room to write it

	// Of what explains the piece.
	Figure string    `json:"figure"` // kind; empty: none
	Score  bool      `json:"score"`  // a score in time and space
	Pair   [2]string `json:"pair"`   // the voices that a figure compares
	Slide  bool      `json:"slide"`
	Black  bool      `json:"black"` // in black and greys alone

	// Of a sound; a figure shows the first of the voices.
	Voices  []string `json:"voices"`
	Without []string `json:"without"`
	Roll    bool     `json:"roll"` // what the roll plays, in place of the score
	Rate    float64  `json:"rate"`
	Hammers string   `json:"hammers"`
	Dry     *float64 `json:"dry"`
	Mono    bool     `json:"mono"`
}

// mostWidthPX bounds a picture: 30,000 pixels across the paper show a tenth of a
// punch.
const mostWidthPX = 30_000

// The bounds of spools and cues: a spool of less than half a metre is hardly
// more than leader and trailer, and cues closer than a hand are a ruler.
const (
	leastSpoolMM = 500
	leastCueMM   = 100
)

// options are the choices as the command knows them, for a piece in the folder
// dir.
func (c *choices) options(f *folder, dir string) (workshop.Options, error) {
	o := workshop.Options{
		Piano: c.Piano, Letter: c.Letter, MarginMM: c.MarginMM, OverlapMM: c.OverlapMM, ScaleAlong: c.ScaleAlong,
		ScaleAcross: c.ScaleAcross,
		Names:       c.Names, Back: c.Back, Leader: c.Leader, Outlines: c.Outlines, Punches: c.Punches,
		FromSec: c.FromSec, ToSec: c.ToSec, Bar: c.Bar, Dark: c.Dark, WidthPX: c.WidthPX,
	}
	o.Worksheet, o.Labels, o.Copies, o.Date = c.Worksheet, c.Labels, c.Copies, c.Date
	o.Bench, o.Making.Spools.LongestMM, o.Pair.CueMM = c.Bench, c.SpoolMM, c.CueMM
	o.Figure, o.Score, o.Compared, o.Slide, o.BlackInk = c.Figure, c.Score, c.Pair, c.Slide, c.Black
	o.Voices, o.Sound = c.Voices, c.listening()
	pages := map[string]workshop.LongPage{"": workshop.Tiled, "unit": workshop.LongUnit, "plain": workshop.LongPlain}
	long, known := pages[c.Long]
	switch {
	case !known:
		return o, &refusal{http.StatusBadRequest, fmt.Sprintf("a long page is unit or plain, not %q", c.Long)}
	case c.WidthPX < 0 || c.WidthPX > mostWidthPX:
		return o, &refusal{http.StatusBadRequest, fmt.Sprintf("a picture is at most %d pixels wide", mostWidthPX)}
	case c.Copies < 0 || c.Copies > 10_000:
		return o, &refusal{http.StatusBadRequest, "copies run from 1 to 10000"}
	case c.SpoolMM != 0 && !(c.SpoolMM >= leastSpoolMM):
		return o, &refusal{http.StatusBadRequest, fmt.Sprintf("a spool holds at least %g m of music", leastSpoolMM/1000.0)}
	case c.CueMM != 0 && !(c.CueMM >= leastCueMM):
		return o, &refusal{http.StatusBadRequest, fmt.Sprintf("cues are at least %d mm apart", leastCueMM)}
	}
	if err := workshop.CheckDate(c.Date); err != nil {
		return o, &refusal{http.StatusBadRequest, worded(err)}
	}
	o.Long = long
	if err := f.checkBench(dir, c.Bench); err != nil {
		return o, err
	}
	var err error
	o.Machine, err = f.machine(c.Machine)
	return o, err
}

// content is what the name of a file adds to the piece's, so that two of one
// format can lie side by side.
func (c *choices) content() string {
	switch {
	case c.Worksheet:
		return "-worksheet"
	case c.Labels:
		return "-labels"
	case c.Score:
		return "-score"
	case c.Figure != "":
		return "-" + c.Figure
	}
	return ""
}

// machine is the built-in machine of that name, or the path of a file of the
// folder.
func (f *folder) machine(name string) (string, error) {
	if name == "" || slices.ContainsFunc(machine.List(), func(l machine.Listed) bool { return l.Name == name }) {
		return name, nil
	}
	if !plainName(name) || path.Ext(name) != machine.Extension {
		return "", &refusal{http.StatusBadRequest, fmt.Sprintf("there is no machine %q in the folder", name)}
	}
	if _, err := f.bytes(name, mostText); err != nil {
		return "", err
	}
	return filepath.Join(f.path, filepath.FromSlash(name)), nil
}

// listening is how a sound of the piece is heard.
func (c *choices) listening() workshop.Listening {
	return workshop.Listening{
		Without: c.Without, Roll: c.Roll, Rate: c.Rate, Hammers: c.Hammers, Dry: c.Dry, Mono: c.Mono,
	}
}

// format is a kind of file that can be written.
type format struct {
	Format   string          `json:"format"` // its extension without the dot
	About    string          `json:"about"`
	PerRoll  bool            `json:"perRoll"`
	Machines []machineListed `json:"machines,omitempty"` // one of them has to be chosen
}

// machineListed is a machine that the page can offer.
type machineListed struct {
	Name  string `json:"name"`
	Title string `json:"title"`
}

func (s *Server) formats(context.Context) ([]format, error) {
	var out []format
	for _, extension := range workshop.Extensions() {
		p := workshop.Known(extension)[0]
		if p.Name == "form" {
			continue // of a trial strip, which the page does not make
		}
		one := format{Format: extension[1:], About: p.About, PerRoll: p.Parts&workshop.ByPiano != 0}
		if p.For == workshop.ForMachine {
			one.Machines = s.machines(extension)
		}
		out = append(out, one)
		for _, p := range workshop.Known(extension)[1:] {
			if p.For == workshop.ForMachine { // beside the plain drawing
				out = append(out, format{Format: extension[1:], About: "drawings of the beds of a machine, hues as it wants them",
					PerRoll: true, Machines: s.machines(extension)})
			}
		}
	}
	return append(out, format{Format: build, About: "everything about the piece, in one archive"}), nil
}

// offer is what can be chosen for files beside their format.
type offer struct {
	Figures []figureListed `json:"figures"`
	Benches []benchListed  `json:"benches"` // built-in ones and the files beside the piece
}

// figureListed is a kind of figure.
type figureListed struct {
	Kind  string `json:"kind"`
	About string `json:"about"`
}

func (s *Server) offer(_ context.Context, in nameOnly) (offer, error) {
	if err := checkName(orUnnamed(in.Name)); err != nil {
		return offer{}, err
	}
	out := offer{Benches: s.benches(path.Dir(orUnnamed(in.Name)))}
	for _, k := range figure.Kinds() {
		out.Figures = append(out.Figures, figureListed{k.Name, k.About})
	}
	return out, nil
}

// optionNames are what the page calls the options that an error names.
var optionNames = map[string]string{
	"pair": "the pair of voices", "voice": "the voice", "machine": "the machine", "figure": "figure", "score": "score",
	"worksheet": "worksheet", "labels": "labels", "spool-length": "the length of spools", "split": "where a spool ends",
	"again": "replacing", "from": "where the stretch begins", "to": "where it ends", "cues": "the distance of cues",
	"date": "the date",
}

// worded is an error's text with options as the page calls them.
func worded(err error) string {
	return choice.Say(err, func(option string) string { return cmp.Or(optionNames[option], option) })
}

// machines are the built-in ones that read an extension, and the files of the folder.
func (s *Server) machines(extension string) []machineListed {
	var out []machineListed
	for _, l := range machine.List() {
		if p, err := machine.Load(l.Name, ""); err == nil && workshop.MachineReads(p, extension) == nil {
			out = append(out, machineListed(l))
		}
	}
	for _, e := range s.folder.entries(".") {
		if path.Ext(e.Name()) == machine.Extension && plainName(e.Name()) {
			out = append(out, machineListed{Name: e.Name()})
		}
	}
	return out
}
