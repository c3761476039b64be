package main

import (
	"context"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/alecthomas/kong"

	"rollwright/telling/show"
	"rollwright/text/say"
	"rollwright/text/source"
	language "rollwright/text/words"
	"rollwright/workshop"
)

// showCommand writes the lecture of a piece.
type showCommand struct {
	pieceArg
	Out      string  `arg:"" help:"The page, lecture.html; or a folder, which gets a sound, a picture, an SVG for every step, with a text of what to say."`
	Name     string  `placeholder:"NAME" help:"Which show block of the piece; by default the one without a name."`
	Language string  `placeholder:"TAG|FILE" help:"Language of all words, in place of the show block's: en, de, es, fr, or a language file."`
	Notes    string  `enum:",letters,syllables,german" default:"" placeholder:"letters|syllables|german" help:"How notes are called: letters, do re mi, or H and B; in place of the show block's."`
	Plain    bool    `help:"Say pitch series and rhythm series for color and talea throughout."`
	Rate     float64 `placeholder:"FACTOR" help:"Play all steps so many times as fast, 0.25 to 4, in place of what the show block says."`
	Mono     bool    `help:"One channel, for halls with loudspeakers far apart."`
	Sound    string  `enum:"wav,flac" default:"flac" help:"In a folder: wav or flac."`
	Hammers  string  `group:"Sources" placeholder:"felt|metal|tacks" help:"The hammers of a source that is no piece (metal)."`
}

// Help is added to show --help.
func (showCommand) Help() string {
	return `The page needs no network and opens in any current browser. K in it lists its keys; N opens the notes for
the speaker in a second window. Begin softly: hard-hammered pianos have sharp attacks.`
}

func (c *showCommand) Run(ctx context.Context, t terminal, line *kong.Context) error {
	if c.Rate != 0 && (c.Rate < 0.25 || c.Rate > 4) {
		return usageError{"--rate goes from 0.25 to 4"}
	}
	if c.Language != "" && !slices.Contains(language.Languages(), c.Language) {
		// A path counts from where the command is given.
		path, err := filepath.Abs(c.Language)
		if err != nil {
			return err
		}
		c.Language = path
	}
	folder, err := c.folder()
	if err != nil {
		return err
	}
	if !folder && slices.Contains(given(line), "sound") {
		return usageError{"--sound does nothing for a page, which holds its sound; it is for a folder"}
	}
	job, err := c.openOn(ctx, t, c.Hammers)
	if err == nil {
		err = job.NeedsPiece("a lecture")
	}
	if err != nil {
		return err
	}
	o := show.Options{Show: c.Name, Language: c.Language, Notes: c.Notes, Plain: c.Plain, Rate: c.Rate, Mono: c.Mono}
	o.Doubt = func(d *source.Error) { fmt.Fprintln(t.err, d) }
	if folder {
		return c.slides(ctx, t, job, o)
	}
	if err := job.WriteLecture(ctx, c.Out, o); err != nil {
		return err
	}
	fmt.Fprintf(t.err, "wrote %s; open it in a browser\n", c.Out)
	return nil
}

// folder reports whether Out is a folder: it is one, or its name ends like one.
func (c *showCommand) folder() (bool, error) {
	if info, err := os.Stat(c.Out); err == nil && info.IsDir() || strings.HasSuffix(c.Out, "/") ||
		strings.HasSuffix(c.Out, string(filepath.Separator)) {
		return true, nil
	}
	switch strings.ToLower(filepath.Ext(c.Out)) {
	case ".html", ".htm":
		return false, nil
	case "":
		return true, nil
	}
	return false, usageError{c.Out + ": show writes a page, lecture.html, or into a folder, lecture/"}
}

func (c *showCommand) slides(ctx context.Context, t terminal, job *workshop.Job, o show.Options) error {
	progress := newProgress(t.err, shares)
	defer progress.close()
	names, err := job.WriteSlides(ctx, c.Out, workshop.Slides{Options: o, Sound: "." + c.Sound,
		Next: func(name string, done, of int) {
			progress.share(name, float64(done)/float64(of))
		}})
	if err != nil {
		return err
	}
	progress.close()
	fmt.Fprintf(t.err, "wrote %s to %s; talk.txt says what to say\n", say.Count(len(names), "file"), c.Out)
	if left := workshop.SlideLeftovers(c.Out, names); len(left) > 0 {
		fmt.Fprintln(t.err, earlier(left))
	}
	return nil
}

// warnOfLecture says what the lecture of the piece would stumble over, for
// commands that go on without it.
func warnOfLecture(job *workshop.Job, w io.Writer) {
	wrong, doubts := job.CheckLecture()
	if len(wrong) > 0 {
		fmt.Fprintf(w, "rollwright show would stop at %s:\n%v\n", say.Count(len(wrong), "error"), wrong)
	}
	if len(doubts) > 0 {
		fmt.Fprintln(w, doubts)
	}
}
