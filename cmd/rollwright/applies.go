package main

import (
	"fmt"
	"math/bits"
	"path/filepath"
	"strings"

	"github.com/alecthomas/kong"
)

// kind is one kind of output of write, or a set of them.
type kind uint

// The kinds of output.
const (
	tiles kind = 1 << iota
	longPDF
	drawnSVG
	drawnDXF
	picture
	program // and the drawings of a machine's beds
	figurePage
	figurePNG
	scorePage
	scorePNG
	worksheetFile
	labelSheet
	tableFile
	midiFile
	notationFile
	lecturePage
	soundFile

	drawn     = tiles | longPDF | drawnSVG | drawnDXF
	rolls     = drawn | picture | program | worksheetFile | labelSheet | tableFile
	figures   = figurePage | figurePNG
	scores    = scorePage | scorePNG
	explained = figures | scores
)

// kindNames are the kinds in words, in the order of their bits.
var kindNames = []string{
	"a roll in tiles", "a long PDF", "an SVG of the roll", "a DXF of the roll", "a picture", "a machine program",
	"a figure as PDF or SVG", "a figure as PNG", "a score as PDF or SVG", "a score as PNG",
	"a worksheet", "labels", "a table", "a MIDI file", "notation", "a lecture page", "sound",
}

// applies says for which outputs each flag of write does something. Flags that
// are not here do something for all.
var applies = map[string]kind{
	"from": picture | explained | soundFile,
	"to":   picture | explained | soundFile,

	"figure":   figures,
	"score":    scores,
	"pair":     figures,
	"size":     figures | scorePNG,
	"ink":      explained,
	"plain":    explained,
	"language": explained | notationFile,

	"piano":        rolls | figures,
	"paper":        tiles | scores | worksheetFile | labelSheet,
	"margin":       tiles,
	"overlap":      tiles,
	"scale-along":  drawn,
	"scale-across": drawn,
	"names":        drawn,
	"back":         drawn | picture | program,
	"leader":       longPDF | drawnSVG | drawnDXF,
	"long":         longPDF,
	"long-plain":   longPDF,
	"outlines":     drawnSVG,
	"punches":      tableFile,
	"width":        picture | figurePNG | scorePNG,
	"bar":          picture,
	"dark":         picture,

	"voice":       explained | notationFile | soundFile,
	"without":     soundFile,
	"only":        soundFile,
	"roll":        soundFile,
	"rate":        soundFile,
	"hammers":     soundFile,
	"dry":         soundFile,
	"mono":        soundFile,
	"lufs":        soundFile,
	"as-is":       soundFile,
	"sample-rate": soundFile,
	"bits":        soundFile,

	"worksheet": worksheetFile,
	"labels":    labelSheet,

	"bench":        rolls, // its die is that of the holes
	"spool-length": rolls,
	"split":        rolls,
	"spool":        rolls,
	"cues":         drawn | worksheetFile | labelSheet,
	"speeds":       labelSheet,
	"two-attacks":  labelSheet,
	"paper-across": rolls,
	"paper-along":  rolls,
	"paper-about":  rolls,

	"machine": program,
	"copies":  program,
}

// kindOf is the kind of the output named path, decided in the order in which the
// workshop decides.
func (c *writeCommand) kindOf(path string) kind {
	extension := strings.ToLower(filepath.Ext(path))
	picked := func(png, other kind) kind {
		if extension == ".png" {
			return png
		}
		return other
	}
	switch {
	case isSound(path):
		return soundFile
	case extension == ".musicxml":
		return notationFile
	case c.Figure != "":
		return picked(figurePNG, figurePage)
	case c.Score:
		return picked(scorePNG, scorePage)
	case c.Labels:
		return labelSheet
	case c.Worksheet:
		return worksheetFile
	case extension == ".pdf" && (c.Long || c.LongPlain):
		return longPDF
	case extension == ".nc", c.Machine != "" && (extension == ".svg" || extension == ".dxf"):
		return program
	}
	return map[string]kind{".pdf": tiles, ".svg": drawnSVG, ".dxf": drawnDXF, ".png": picture, ".csv": tableFile, ".mid": midiFile, ".html": lecturePage}[extension]
}

// applied refuses a flag that does nothing for any of the outputs: whoever gave
// it meant something by it.
func (c *writeCommand) applied(line *kong.Context) error {
	var all kind
	for _, path := range c.Out {
		all |= c.kindOf(path)
	}
	for _, flag := range given(line) {
		if to, ok := applies[flag]; ok && to&all == 0 {
			return usageError{fmt.Sprintf("--%s does nothing for %s; it is for %s", flag, all, to)}
		}
	}
	return nil
}

// given are the flags on the command line.
func given(line *kong.Context) []string {
	var names []string
	for _, p := range line.Path {
		if p.Flag != nil {
			names = append(names, p.Flag.Name)
		}
	}
	return names
}

// String lists the kinds of a set.
func (k kind) String() string {
	var names []string
	for ; k != 0; k &= k - 1 {
		names = append(names, kindNames[bits.TrailingZeros(uint(k))])
	}
	if n := len(names); n > 1 {
		return strings.Join(names[:n-1], ", ") + " or " + names[n-1]
	}
	return strings.Join(names, "")
}
