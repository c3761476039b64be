package workshop

import (
	"context"
	"errors"
	"io"
	"slices"

	"rollwright/draw"
	"rollwright/draw/pdf"
	"rollwright/music/event"
	"rollwright/sound"
	"rollwright/telling/show"
	"rollwright/text/outfile"
	"rollwright/text/source"
)

// Lecture is the piece explained step by step.
func (j *Job) Lecture(ctx context.Context, o show.Options) (*show.Lecture, error) {
	if err := j.fits(); err != nil {
		return nil, err
	}
	heard, err := j.soundOptions(Listening{})
	if err != nil {
		return nil, err
	}
	return show.New(ctx, &show.Input{
		Title: j.Title(), Folder: j.Folder, Performance: j.Performance, Instruments: j.Instruments, Plan: j.Plan,
		Rolls:  j.Rolls,
		Events: j.stepEvents, Pianos: heard.Pianos, Cache: heard.Cache,
		Source: j.whatIf(),
	}, o)
}

// CheckLecture is what is wrong with the show blocks of the piece, and what in
// them may not be meant so. It makes no lecture.
func (j *Job) CheckLecture() (wrong, doubts source.Errors) {
	if j.Piece == nil || len(j.Piece.Show) == 0 {
		return nil, nil
	}
	return show.Check(&show.Input{Folder: j.Folder, Performance: j.Performance, Plan: j.Plan})
}

// stepListening is how a step is heard.
func (j *Job) stepListening(hear show.Hear, voices []int) Listening {
	l := Listening{
		Roll: hear == show.Punched, Rhythm: hear == show.Rhythm || hear == show.Knock,
		Knock:  hear == show.Knock || hear == show.Pulses || hear == show.Claps,
		Melody: hear == show.Melody,
	}
	for _, v := range voices {
		l.Voices = append(l.Voices, j.Piece.Voices[v].Name)
	}
	return l
}

// stepEvents are the notes of a step; of all voices when none is named.
func (j *Job) stepEvents(hear show.Hear, voices []int) ([]event.Event, error) {
	events, err := j.heardEvents(j.stepListening(hear, voices))
	if err != nil {
		return nil, err
	}
	return slices.Collect(events), nil
}

// WriteLecture writes the lecture page.
func (j *Job) WriteLecture(ctx context.Context, path string, o show.Options) error {
	l, err := j.Lecture(ctx, o)
	if err != nil {
		return err
	}
	return outfile.Write(ctx, path, func(w io.Writer) error { return l.WritePage(ctx, w) })
}

func writeLecture(ctx context.Context, f *out) ([]string, error) {
	if err := f.job.WriteLecture(ctx, f.path, show.Options{}); err != nil {
		return nil, err
	}
	return []string{f.path}, nil
}

// Slides are how a lecture is written for a talk that has slides of its own.
type Slides struct {
	show.Options
	Sound string                          // extension of the sounds: ".wav" or ".flac"
	Next  func(name string, done, of int) // told before each file; may be nil
}

// WriteSlides writes every step of the lecture into folder, its files with its
// number: a sound, a picture of 1920 by 1080 pixels, the same as SVG; all slides as
// one PDF; and a text of what to say. It returns the names of the files.
func (j *Job) WriteSlides(ctx context.Context, folder string, s Slides) ([]string, error) {
	l, err := j.Lecture(ctx, s.Options)
	if err != nil {
		return nil, err
	}
	stage, err := outfile.NewStage(folder)
	if err != nil {
		return nil, err
	}
	defer stage.Discard()
	if err := j.writeSteps(ctx, stage, l, s); err != nil {
		return nil, err
	}
	err = outfile.Write(ctx, stage.Path("talk.txt"), func(w io.Writer) error { return l.WriteTalk(w, s.Sound) })
	if err != nil {
		return nil, err
	}
	return stage.Commit(ctx)
}

// writeSteps writes pictures and sounds at the same time: neither keeps all cores
// busy alone. The first mistake ends both.
func (j *Job) writeSteps(ctx context.Context, stage *outfile.Stage, l *show.Lecture, s Slides) error {
	ctx, stop := context.WithCancelCause(ctx)
	defer stop(nil)
	drawn := make(chan struct{})
	go func() {
		defer close(drawn)
		if err := writePictures(ctx, stage, l); err != nil {
			stop(err)
		}
	}()
	for i, step := range l.Steps {
		if s.Next != nil {
			s.Next(step.FileName(), i, len(l.Steps))
		}
		if err := j.writeStepSound(ctx, stage, l, step, s.Sound); err != nil {
			stop(err)
			break
		}
	}
	<-drawn
	return context.Cause(ctx)
}

// writePictures writes the slide of every step as a picture and as SVG, and all as one PDF.
func writePictures(ctx context.Context, stage *outfile.Stage, l *show.Lecture) error {
	var pages []*draw.Drawing
	for _, step := range l.Steps {
		slide, err := l.Slide(step)
		if err != nil {
			return err
		}
		if err := outfile.Write(ctx, stage.Path(step.FileName()+".png"), slide.WritePNG); err != nil {
			return err
		}
		if err := outfile.Write(ctx, stage.Path(step.FileName()+".svg"), slide.WriteSVG); err != nil {
			return err
		}
		pages = append(pages, slide.Drawing)
	}
	return outfile.Write(ctx, stage.Path("slides.pdf"), func(w io.Writer) error { return pdf.Encode(w, pages, nil) })
}

func (j *Job) writeStepSound(ctx context.Context, stage *outfile.Stage, l *show.Lecture, step *show.Step,
	extension string) error {
	if step.Hear == show.Nothing {
		return nil
	}
	how := j.stepListening(step.Hear, step.Voices)
	how.Events = step.Events()
	how.FromSec, how.ToSec, how.Rate, how.Mono = step.FromSec, step.ToSec, step.Rate, l.Mono
	heard, err := j.Hear(ctx, how)
	if errors.Is(err, sound.ErrNothing) {
		return nil // voices that are silent there
	}
	if err != nil {
		return err
	}
	defer heard.Close()
	return heard.Write(ctx, stage.Path(step.FileName()+extension))
}
