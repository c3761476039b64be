package main

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"

	"rollwright/sound"
	"rollwright/sound/player"
	"rollwright/text/say"
	"rollwright/text/source"
	"rollwright/workshop"
)

// hearCommand plays a piece, or writes its sound.
type hearCommand struct {
	pieceArg
	Out   []string `arg:"" optional:"" help:"Files to write, .wav or .flac, or .mp3 or .opus by ffmpeg; without one, the system's player plays."`
	Stems string   `placeholder:"FOLDER" help:"Write a file of each voice into this folder, all of one length and one gain, without limiter: together they are the mix."`
	stretch
	listening
}

// Help is added to hear --help.
func (hearCommand) Help() string {
	return `Begin softly. A hard-hammered piano has sharp attacks; long listening at high level harms hearing,
through headphones above all. Follow your local rules on noise at work and in the hall.`
}

// listening are the options of what is heard.
type listening struct {
	Voice      []string `sep:"none" placeholder:"NAME" help:"Only this voice; may be repeated."`
	Without    []string `sep:"none" placeholder:"NAME" help:"Not this voice; may be repeated."`
	Only       string   `placeholder:"rhythm|knock|melody" help:"Only the durations, on one key (rhythm) or without strings (knock); or only the pitches of a voice, in equal notes (melody)."`
	Roll       bool     `help:"What the punched roll would play, in place of the score."`
	Rate       float64  `default:"1" help:"0.25 to 4 times as fast, at the same pitch."`
	Hammers    string   `placeholder:"felt|metal|tacks" help:"In place of the piece's hammers."`
	Dry        *float64 `placeholder:"0..1" help:"How much of the ring is taken away (0.5)."`
	Tuning     string   `placeholder:"NAME" help:"In place of the piece's tuning: stretched, equal, kirnberger-3, quarter-comma, vallotti or werckmeister-3."`
	Compare    []string `placeholder:"ONE,OTHER" help:"Two hammers, or two tunings, one after the other at one loudness: felt,tacks or equal,stretched."`
	Times      int      `placeholder:"N" help:"So many times through the stretch, without a break."`
	Apart      bool     `help:"The voices from hard left to hard right, in the order of the file; of several pianos, these."`
	Mono       bool     `help:"One channel."`
	LUFS       *float64 `name:"lufs" placeholder:"LUFS" help:"Loudness to bring the sound to, with a limiter; without this -23, as far as peaks below -1 dBTP allow."`
	AsIs       bool     `help:"At its own loudness."`
	SampleRate int      `enum:"48000,44100" default:"48000" help:"Frames a second: 48000 or 44100."`
	Bits       string   `enum:"16,24,float" default:"24" help:"Of a sample: 16 (with dither), 24, or float (wav alone)."`
}

// stretch is the part of the piece that is heard or shown.
type stretch struct {
	From place `placeholder:"TIME" help:"Where the stretch heard or shown begins: 12.5, 1:20, or a note, \"note 80 of low\"."`
	To   clock `placeholder:"TIME" help:"Where it ends."`
}

func (s *stretch) check() error {
	if s.To > 0 && s.To <= s.From.clock && s.From.note == 0 {
		return usageError{fmt.Sprintf("--from %v is not before --to %v", s.From.clock, s.To)}
	}
	return nil
}

// within finds the time of a note where the stretch begins at one, and refuses a stretch
// that begins where the piece has ended.
func (s *stretch) within(job *workshop.Job) error {
	if s.From.note > 0 {
		sec, err := job.NoteSec(s.From.voice, s.From.note)
		if err != nil {
			return usageError{"--from: " + err.Error()}
		}
		s.From = place{clock: clock(sec)}
		if err := s.check(); err != nil {
			return err
		}
	}
	if end := job.EndSec; s.From.clock > 0 && float64(s.From.clock) >= end {
		return usageError{fmt.Sprintf("--from %v: the piece ends at %v", s.From.clock, clock(end))}
	}
	return nil
}

// onlyWords and hammerWords are what --only and --hammers take.
var onlyWords, hammerWords = []string{"rhythm", "knock", "melody"}, []string{"felt", "metal", "tacks"}

// oneOf refuses a word that is not among the known ones; none is none.
func oneOf(flag, word string, known []string) error {
	if word == "" || slices.Contains(known, word) {
		return nil
	}
	problem := fmt.Sprintf("%s cannot be %q: it is %s or %s", flag, word, strings.Join(known[:len(known)-1], ", "),
		known[len(known)-1])
	if near, ok := source.Nearest(word, known); ok {
		problem += "; did you mean " + near + "?"
	}
	return usageError{problem}
}

// mostTimes is the most that a stretch is heard in a row.
const mostTimes = 99

func isHammers(word string) bool { return slices.Contains(hammerWords, word) }

// check refuses what cannot be meant, paths being the files to write.
func (l *listening) check(paths []string) error {
	if err := cmp.Or(oneOf("--only", l.Only, onlyWords), oneOf("--hammers", l.Hammers, hammerWords),
		oneOf("--tuning", l.Tuning, sound.TuningNames())); err != nil {
		return err
	}
	isFLAC := func(path string) bool { return strings.EqualFold(filepath.Ext(path), ".flac") }
	switch {
	case l.AsIs && l.LUFS != nil:
		return usageError{"--as-is leaves the loudness as it is, --lufs changes it: give one of them"}
	case len(l.Compare) != 0 && len(l.Compare) != 2:
		return usageError{"--compare takes two hammers or two tunings: --compare felt,tacks"}
	case len(l.Compare) == 2 && workshop.Comparable([2]string(l.Compare)) != nil:
		return usageError{"--compare: " + workshop.Comparable([2]string(l.Compare)).Error()}
	case len(l.Compare) > 0 && (l.Hammers != "" && isHammers(l.Compare[0]) || l.Tuning != "" && !isHammers(l.Compare[0])):
		return usageError{"--compare says which hammers or tunings are heard: leave the other option away"}
	case l.Times < 0 || l.Times > mostTimes:
		return usageError{fmt.Sprintf("--times goes from 1 to %d", mostTimes)}
	case l.Apart && l.Mono:
		return usageError{"--apart is for two channels: leave --mono away"}
	case l.Bits == "float" && slices.ContainsFunc(paths, isFLAC):
		return usageError{"--bits float is for .wav alone: FLAC has whole numbers, --bits 24"}
	case l.Rate < 0.25 || l.Rate > 4:
		return usageError{"--rate goes from 0.25 to 4"}
	case l.Dry != nil && (*l.Dry < 0 || *l.Dry > 1):
		return usageError{"--dry goes from 0 (all the ring) to 1"}
	case l.LUFS != nil && (*l.LUFS < -60 || *l.LUFS > -5):
		return usageError{"--lufs goes from -60 to -5"}
	}
	return nil
}

func (l *listening) options(s stretch, p *progress) workshop.Listening {
	out := workshop.Listening{
		Voices: l.Voice, Without: l.Without, Roll: l.Roll,
		Rhythm: l.Only == "rhythm" || l.Only == "knock", Knock: l.Only == "knock", Melody: l.Only == "melody",
		FromSec: float64(s.From.clock), ToSec: float64(s.To), Rate: l.Rate, Hammers: l.Hammers, Dry: l.Dry, Mono: l.Mono,
		Tuning: l.Tuning, Times: l.Times, Apart: l.Apart,
		LUFS: l.LUFS, AsIs: l.AsIs, SampleRate: l.SampleRate, Float: l.Bits == "float", Progress: p.share,
		Warn: func(err error) {
			p.say(fmt.Sprintf("notes are not kept for the next time, which will be slower: %v", err))
		},
	}
	copy(out.Compare[:], l.Compare)
	if l.Bits == "16" {
		out.Bits = 16
	}
	return out
}

// isSound reports whether path is a file of sound.
func isSound(path string) bool {
	p, err := workshop.ProductOf(path, &workshop.Options{})
	return err == nil && p.Name == "sound"
}

func (c *hearCommand) Run(ctx context.Context, t terminal) error {
	if err := cmp.Or(c.stretch.check(), c.listening.check(c.Out)); err != nil {
		return err
	}
	for _, path := range c.Out {
		if !isSound(path) && !workshop.IsConverted(path) {
			return usageError{path + ": hear writes .wav and .flac, and .mp3 and .opus where ffmpeg is installed; " +
				"rollwright write writes everything else"}
		}
	}
	job, err := c.open(ctx, t)
	if err != nil {
		return err
	}
	if err := c.stretch.within(job); err != nil {
		return err
	}
	sayOtherSound(t.err, job)
	if c.Stems != "" {
		return c.stems(ctx, t, job)
	}
	if len(c.Out) == 0 {
		return c.play(ctx, t, job)
	}
	var converted, own []string
	for _, path := range c.Out {
		if workshop.IsConverted(path) {
			converted = append(converted, path)
		} else {
			own = append(own, path)
		}
	}
	if len(converted) > 0 {
		if err := c.convert(ctx, t, job, converted); err != nil || len(own) == 0 {
			return err
		}
	}
	o := workshop.Options{FromSec: float64(c.From.clock), ToSec: float64(c.To), Voices: c.Voice}
	return writeSound(ctx, t.err, job, o, &c.listening, own)
}

// convert writes files by a program of the system.
func (c *hearCommand) convert(ctx context.Context, t terminal, job *workshop.Job, paths []string) error {
	progress := newProgress(t.err, shares)
	defer progress.close()
	heard, err := job.Hear(ctx, c.options(c.stretch, progress))
	if err != nil {
		return err
	}
	defer heard.Close()
	for _, path := range paths {
		if err := heard.Write(ctx, path); err != nil {
			return err
		}
		progress.say("wrote " + path)
	}
	progress.close()
	fmt.Fprintln(t.err, heard.Loudness())
	return nil
}

// sayOtherSound says whose sound is heard of an instrument that is no piano.
func sayOtherSound(w io.Writer, job *workshop.Job) {
	if others := job.OtherThanPianos(); len(others) > 0 {
		fmt.Fprintf(w, "the sound is a piano's, not that of a %s; stops and percussion are not in it\n",
			strings.Join(others, ", a "))
	}
}

// writeSound mixes once and writes every file from that.
func writeSound(ctx context.Context, out io.Writer, job *workshop.Job, o workshop.Options, l *listening,
	paths []string) error {
	progress := newProgress(out, shares)
	defer progress.close()
	o.Sound = l.options(stretch{}, progress)
	order := job.Order(o)
	defer order.Close()
	for _, path := range paths {
		if _, err := order.Write(ctx, path); err != nil {
			return err
		}
		progress.say("wrote " + path)
	}
	progress.close()
	fmt.Fprintln(out, order.Heard().Loudness())
	return nil
}

func (c *hearCommand) stems(ctx context.Context, t terminal, job *workshop.Job) error {
	extension := ".wav"
	switch {
	case len(c.Compare) > 0:
		return usageError{"--stems are of one sound: leave --compare away"}
	case c.Times > 1:
		return usageError{"--stems are once through: leave --times away"}
	case len(c.Out) > 0:
		return usageError{"--stems writes into its folder; leave the other files away, and write them by a call without --stems"}
	}
	progress := newProgress(t.err, shares)
	defer progress.close()
	how := c.options(c.stretch, progress)
	names, report, err := job.Stems(ctx, c.Stems, extension, how)
	if err != nil {
		return err
	}
	progress.close()
	fmt.Fprintf(t.err, "wrote %s to %s: %s\nall together, at one gain and without limiter: %s\n",
		say.Count(len(names), "file"), c.Stems, strings.Join(names, ", "), workshop.Loudness(report, how))
	for _, name := range earlierStems(c.Stems, extension, names) {
		fmt.Fprintf(t.err, "%s is from an earlier run, and fits these only if it was the same stretch, rate and loudness\n",
			name)
	}
	return nil
}

// earlierStems are the files of sound in a folder that are not among made.
func earlierStems(folder, extension string, made []string) []string {
	entries, err := os.ReadDir(folder)
	if err != nil {
		return nil // what cannot be listed cannot be warned of
	}
	var left []string
	for _, e := range entries {
		if e.Type().IsRegular() && filepath.Ext(e.Name()) == extension && !slices.Contains(made, e.Name()) {
			left = append(left, filepath.Join(folder, e.Name()))
		}
	}
	return left
}

// play hands the sound to the system's player.
func (c *hearCommand) play(ctx context.Context, t terminal, job *workshop.Job) error {
	with, err := player.Find(exec.LookPath)
	if err != nil {
		return c.instead(err)
	}
	progress := newProgress(t.err, shares)
	defer progress.close()
	heard, err := job.Hear(ctx, c.options(c.stretch, progress))
	if err != nil {
		return err
	}
	defer heard.Close()
	progress.close()
	fmt.Fprintf(t.err, "playing with %s: %s\n", with.Name, heard.Loudness())
	err = with.Play(ctx, func(w io.Writer) error { return heard.Encode(ctx, w, ".wav") })
	switch {
	case err == nil, errors.Is(err, context.Canceled):
		return nil
	}
	return c.instead(err)
}

// instead adds the way out when nothing here can play.
func (c *hearCommand) instead(err error) error {
	return fmt.Errorf("%w\n  to hear it elsewhere: rollwright hear %s sound.wav", err, c.File)
}
