package workshop

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"iter"
	"math"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"

	"rollwright/music/event"
	"rollwright/paper/lay"
	"rollwright/paper/roll"
	"rollwright/sound"
	"rollwright/sound/flac"
	"rollwright/sound/player"
	"rollwright/sound/wav"
	"rollwright/text/outfile"
	"rollwright/text/say"
	"rollwright/text/source"
)

// Listening says what of a piece is heard, and how. The zero value is the whole
// score at its own speed, on the pianos that the piece asks for, at 48 kHz.
type Listening struct {
	Voices  []string // only these; none: all
	Without []string // but these
	Roll    bool     // what the punched roll would play, in place of the score
	Rhythm  bool     // the durations of the voices alone, on one key each
	Knock   bool     // with Rhythm: a dry knock in place of a key
	Melody  bool     // the pitches of one voice alone, in equal notes

	Events []event.Event // these in place of the piece's, in order of start; nil: the piece's

	FromSec, ToSec float64 // of the piece; ToSec 0: to the end
	Rate           float64 // 0: 1; 0.25 to 4, time and not pitch
	Hammers        string  // in place of the piece's: felt, metal or tacks
	Dry            *float64
	Tuning         string // in place of the piece's: a name that sound.ParseTuning knows
	Mono           bool
	Apart          bool // voices from hard left to hard right; where there are several pianos, these
	Times          int  // so many times through the stretch, one after the other; 0: once
	// Compare are two hammers or two tunings: the sound with the one, a second of silence, and with
	// the other, both as loud as the softer. Empty: no comparison.
	Compare    [2]string
	LUFS       *float64 // loudness to bring the sound to, with a limiter; nil: -23, without
	AsIs       bool     // at its own loudness
	SampleRate int      // 48000 or 44100; 0: 48000
	Bits       int      // 16 or 24; 0: 24
	Float      bool     // wav: float32

	CacheDir string // of notes; empty: the user's own
	Progress func(stage string, done float64)
	Warn     func(error) // told what went wrong with the cache, which changes no sound; may be nil
}

// warn says that something failed which nothing depends on.
func (l *Listening) warn(err error) {
	if err != nil && l.Warn != nil {
		l.Warn(err)
	}
}

// Heard is a sound of the piece, mixed and measured. Close it.
type Heard struct {
	*sound.Sound
	job  *Job
	how  Listening
	then *sound.Sound // heard after it, to be compared; nil: nothing
}

// Hear mixes what l asks for.
func (j *Job) Hear(ctx context.Context, l Listening) (*Heard, error) {
	if l.Compare != [2]string{} {
		return j.compared(ctx, l)
	}
	events, err := j.heardEvents(l)
	if err != nil {
		return nil, err
	}
	options, err := j.soundOptions(l)
	if err != nil {
		return nil, err
	}
	if l.Times > 1 {
		events = j.again(events, &options, l.Times)
	}
	mixed, err := sound.Mix(ctx, events, options)
	if err != nil {
		return nil, j.silent(err, l)
	}
	l.warn(options.Cache.Err())
	return &Heard{Sound: mixed, job: j, how: l}, nil
}

// silent says in the words of the piece why nothing can be heard.
func (j *Job) silent(err error, l Listening) error {
	if errors.Is(err, sound.ErrNothing) {
		return j.nothing(l)
	}
	var key *sound.KeyError
	if !errors.As(err, &key) || key.Event.Voice < 0 {
		return err
	}
	if j.Piece == nil {
		return err
	}
	v := j.Piece.Voices[key.Event.Voice]
	return source.Errors{{File: j.File, At: v.Places.Of("color"), Problem: err.Error(),
		Hint: fmt.Sprintf("it is note %d of %s; transpose = 12, or -12, moves the voice", key.Event.Note, v.Name)}}
}

// nothing says when there would be something to hear of what l chooses.
func (j *Job) nothing(l Listening) error {
	keep, err := j.kept(l)
	if err != nil {
		return err
	}
	first, last := math.Inf(1), 0.0
	for e := range j.Events() {
		if keep(e.Voice) {
			first, last = min(first, e.StartSec), max(last, e.EndSec)
		}
	}
	if math.IsInf(first, 1) {
		return errors.New("nothing to hear: what is chosen has no notes")
	}
	return fmt.Errorf("nothing sounds in that stretch: what is chosen goes from %s to %s", say.Clock(first, 1),
		say.Clock(last, 1))
}

// heardEvents are the events that l chooses, as the score or the roll has them.
func (j *Job) heardEvents(l Listening) (iter.Seq[event.Event], error) {
	if l.Events != nil {
		return slices.Values(l.Events), nil
	}
	keep, err := j.kept(l)
	if err != nil {
		return nil, err
	}
	events := j.Events()
	if l.Roll {
		rolls, err := j.Rolls()
		if err != nil {
			return nil, err
		}
		events = playAll(rolls)
	}
	events = sound.OfVoices(event.Sustain(events, lay.Sustained(j.Pedals)), keep)
	switch {
	case l.Rhythm && l.Melody:
		return nil, errors.New("rhythm and melody: only one of them can be heard alone")
	case l.Rhythm:
		return slices.Values(onOwnKeys(sound.OnlyRhythm(slices.Collect(events), rhythmKey))), nil
	case l.Melody:
		return j.melody(slices.Collect(events))
	}
	return events, nil
}

// rhythmKey is the key on which a rhythm is heard alone, C5: chosen by ear, high
// enough to be short and low enough to be told from a click.
const rhythmKey = 72

// rhythmKeys are the keys on which the rhythms of several voices are heard, in their order:
// apart by more than a third, chosen by ear.
var rhythmKeys = []int16{rhythmKey, 60, 79, 67, 84, 55, 91, 48}

// onOwnKeys gives each voice's rhythm a key of its own.
func onOwnKeys(events []event.Event) []event.Event {
	keys := map[int32]int16{}
	var voices []int32
	for i := range events {
		voices = append(voices, events[i].Voice)
	}
	slices.Sort(voices)
	for i, v := range slices.Compact(voices) {
		keys[v] = rhythmKeys[i%len(rhythmKeys)]
	}
	for i := range events {
		events[i].Key = keys[events[i].Voice]
	}
	return events
}

// NoteSec is when a note of a voice begins, counted from 1. Errors name what there is.
func (j *Job) NoteSec(voice string, note int) (float64, error) {
	v := slices.Index(j.Voices, voice)
	if v < 0 {
		return 0, fmt.Errorf("the piece has no voice %q; its voices: %s", voice, strings.Join(j.Voices, ", "))
	}
	last := int32(0)
	for e := range j.Events() {
		if int(e.Voice) != v {
			continue
		}
		if int(e.Note) == note {
			return e.StartSec, nil
		}
		last = max(last, e.Note)
	}
	return 0, fmt.Errorf("%s has %s, no note %d", voice, say.Count(int(last), "note"), note)
}

// melody is the color of one voice in equal notes.
func (j *Job) melody(events []event.Event) (iter.Seq[event.Event], error) {
	for _, e := range events {
		if e.Voice != events[0].Voice {
			return nil, fmt.Errorf("the melody alone is that of one voice; name it: one of %s", strings.Join(j.Voices, ", "))
		}
	}
	return slices.Values(sound.OnlyMelody(events, 0)), nil
}

// kept says which voices are heard. Its error names the nearest voice.
func (j *Job) kept(l Listening) (func(int32) bool, error) {
	names := j.Voices
	chosen := make([]bool, len(names))
	mark := func(list []string, value bool) error {
		for _, name := range list {
			i := slices.Index(names, name)
			if i < 0 {
				hint := "its voices: " + strings.Join(names, ", ")
				if near, ok := source.Nearest(name, names); ok {
					hint = "did you mean " + near + "? " + hint
				}
				return fmt.Errorf("the piece has no voice %q; %s", name, hint)
			}
			chosen[i] = value
		}
		return nil
	}
	for i := range chosen {
		chosen[i] = len(l.Voices) == 0
	}
	if err := errors.Join(mark(l.Voices, true), mark(l.Without, false)); err != nil {
		return nil, err
	}
	if len(names) > 0 && !slices.Contains(chosen, true) {
		return nil, fmt.Errorf("no voice is left to hear of %s", strings.Join(names, ", "))
	}
	return func(v int32) bool { return v < 0 || chosen[v] }, nil
}

// playAll are the events that all rolls sound, in order of start.
func playAll(rolls []*roll.Roll) iter.Seq[event.Event] {
	if len(rolls) == 1 {
		return roll.Play(rolls[0])
	}
	var all []event.Event
	for _, r := range rolls {
		all = slices.AppendSeq(all, roll.Play(r))
	}
	slices.SortStableFunc(all, func(a, b event.Event) int {
		return cmp.Or(cmp.Compare(event.Nanoseconds(a.StartSec), event.Nanoseconds(b.StartSec)),
			cmp.Compare(a.Voice, b.Voice), cmp.Compare(a.Key, b.Key))
	})
	return slices.Values(all)
}

func (j *Job) soundOptions(l Listening) (sound.Options, error) {
	var hammers []sound.Hammers
	for _, piano := range j.Pianos {
		name := piano.Hammers
		if l.Hammers != "" {
			name = l.Hammers
		}
		h, err := sound.ParseHammers(name)
		if err != nil {
			return sound.Options{}, err
		}
		hammers = append(hammers, h)
	}
	o := sound.DefaultOptions(hammers...)
	o.Rate, o.FromSec, o.ToSec, o.Mono, o.Knock = l.Rate, l.FromSec, l.ToSec, l.Mono, l.Knock
	o.SampleRate = l.SampleRate
	if l.Apart {
		j.setApart(&o)
	}
	if l.Events == nil { // others are what a score says, and have the pedals in them
		o.Soft = lay.Softened(j.Pedals)
	}
	for i := range o.Pianos {
		tuning, err := j.heardTuning(i, l)
		if err != nil {
			return o, err
		}
		o.Pianos[i].Tuning = tuning
	}
	for i, in := range j.Instruments {
		o.Pianos[i].SingleSec = in.SingleSec()
		if l.Dry != nil {
			o.Pianos[i].Dry = *l.Dry
		}
	}
	switch {
	case l.AsIs:
		o.TargetLUFS = nil
	case l.LUFS != nil:
		o.TargetLUFS, o.LimitDB = l.LUFS, sound.MostLimitDB
	}
	if l.Progress != nil {
		o.Progress = func(stage sound.Stage, done float64) { l.Progress(string(stage), done) }
	}
	o.Cache = l.noteCache()
	return o, nil
}

// heardTuning is the tuning of piano i: its own, unless l names another, which keeps the
// piece's A4.
func (j *Job) heardTuning(i int, l Listening) (sound.Tuning, error) {
	if l.Tuning == "" {
		return j.Pianos[i].Tuning, nil
	}
	return sound.ParseTuning(l.Tuning, j.Pianos[i].Tuning.A4Hz())
}

// noteCache is the cache of notes, or none where the system has no place for it:
// a cache saves time and is no reason to fail.
func (l *Listening) noteCache() *sound.Cache {
	dir := l.CacheDir
	if dir == "" {
		var err error
		if dir, err = sound.DefaultCacheDir(); err != nil {
			return nil
		}
	}
	cache, err := sound.OpenCache(dir, sound.DefaultCacheBytes)
	if err != nil {
		l.warn(err)
		return nil
	}
	return cache
}

// frames takes sound as it comes.
type frames interface {
	Write(left, right []float32) error
	Close() error
}

// encoder is the writer of the format that extension names.
func (h *Heard) encoder(extension string, w io.Writer) (frames, error) {
	report := h.Report()
	bits := h.how.Bits
	if bits == 0 {
		bits = 24
	}
	comment := levels(report)
	if extension == ".flac" {
		return flac.NewWriter(w, flac.Format{Rate: report.SampleRate, Channels: report.Channels, Bits: bits,
			Frames: report.Frames,
			Title:  h.job.Title(), Artist: h.job.Composer(), Comment: comment})
	}
	if h.how.Float {
		bits = 32
	}
	return wav.NewWriter(w, wav.Format{Rate: report.SampleRate, Channels: report.Channels, Bits: bits, Float: h.how.Float,
		Frames: report.Frames, Title: h.job.Title(), Artist: h.job.Composer(), Comment: comment})
}

// levels are what is measured of a sound, for a file's comment.
func levels(r sound.Report) string {
	switch {
	case math.IsInf(r.TruePeakDB, -1):
		return "silent"
	case math.IsInf(r.LUFS, -1):
		return fmt.Sprintf("%.1f dBTP", r.TruePeakDB)
	}
	return fmt.Sprintf("%.1f LUFS, %.1f dBTP", r.LUFS, r.TruePeakDB)
}

// Encode writes the sound to w as the extension says: ".wav" or ".flac".
func (h *Heard) Encode(ctx context.Context, w io.Writer, extension string) error {
	out, err := h.encoder(extension, w)
	if err != nil {
		return err
	}
	if err := h.Play(ctx, out.Write); err != nil {
		return err
	}
	return out.Close()
}

// Write writes the sound to the file named path.
func (h *Heard) Write(ctx context.Context, path string) error {
	extension := strings.ToLower(filepath.Ext(path))
	if IsConverted(path) {
		with, err := player.FindConverter(exec.LookPath)
		if err != nil {
			return err
		}
		return outfile.Write(ctx, path, func(w io.Writer) error {
			return with.Convert(ctx, w, extension, func(w io.Writer) error { return h.Encode(ctx, w, ".wav") })
		})
	}
	return outfile.Write(ctx, path, func(w io.Writer) error { return h.Encode(ctx, w, extension) })
}

// IsConverted reports whether a program of the system is needed to write such a file of
// sound.
func IsConverted(path string) bool {
	return slices.Contains(player.Conversions(), strings.ToLower(filepath.Ext(path)))
}

// Stems writes a file of each voice that l chooses into folder, as extension
// says, and returns their names and what is known of all together. Length and gain
// are those of all voices of the piece together, so that a voice written alone
// fits those written before; a melody alone has no other voices. A voice that is
// silent in the stretch is a file of silence.
func (j *Job) Stems(ctx context.Context, folder, extension string, l Listening) ([]string, sound.Report, error) {
	written, err := j.kept(l)
	if err != nil {
		return nil, sound.Report{}, err
	}
	mixed := l
	if !l.Melody {
		mixed.Voices, mixed.Without = nil, nil
	}
	events, err := j.heardEvents(mixed)
	if err != nil {
		return nil, sound.Report{}, err
	}
	options, err := j.soundOptions(l)
	if err != nil {
		return nil, sound.Report{}, err
	}
	stage, err := outfile.NewStage(folder)
	if err != nil {
		return nil, sound.Report{}, err
	}
	defer stage.Discard()
	report, err := sound.Stems(ctx, slices.Collect(events), options, func(voice int32, s *sound.Sound) error {
		if !written(voice) {
			return nil
		}
		h := &Heard{Sound: s, job: j, how: l}
		return h.Write(ctx, stage.Path(j.stemName(voice)+extension))
	})
	if err != nil {
		return nil, report, j.silent(err, l)
	}
	l.warn(options.Cache.Err())
	names, err := stage.Commit(ctx)
	return names, report, err
}

// stemName is the voice's number in the piece and its name, so that stems sort
// as the voices stand in the file.
func (j *Job) stemName(voice int32) string {
	if voice < 0 {
		return "00"
	}
	return fmt.Sprintf("%02d-%s", voice+1, fileName(j.Voices[voice]))
}

// writeSound writes a file of sound; all files of an order have one mix.
func writeSound(ctx context.Context, f *out) ([]string, error) {
	if f.order.heard == nil {
		heard, err := f.job.Hear(ctx, f.o.listening())
		if err != nil {
			return nil, err
		}
		f.order.heard = heard
	}
	return []string{f.path}, f.order.heard.Write(ctx, f.path)
}

// Loudness is what a person is told of the sound.
func (h *Heard) Loudness() string {
	text := Loudness(h.Report(), h.how)
	if h.then != nil {
		text += fmt.Sprintf("; %s, a second of silence, %s", h.how.Compare[0], h.how.Compare[1])
	}
	return text
}

// Loudness is what a person is told of a sound that l asked for.
func Loudness(r sound.Report, l Listening) string {
	text := fmt.Sprintf("%s, %.1f LUFS, true peak %.1f dBTP", say.Clock(r.Seconds(), 1), r.LUFS, r.TruePeakDB)
	if math.IsInf(r.LUFS, -1) {
		text = fmt.Sprintf("%s, too short or too soft for a loudness, true peak %.1f dBTP", say.Clock(r.Seconds(), 1),
			r.TruePeakDB)
	}
	if r.LimitDB >= missedLU/2 {
		text += fmt.Sprintf(", peaks held back by up to %.1f dB", r.LimitDB)
	}
	target := sound.DefaultLUFS
	if l.LUFS != nil {
		target = *l.LUFS
	}
	if !l.AsIs && r.LUFS < target-missedLU && !math.IsInf(r.LUFS, -1) {
		text += fmt.Sprintf("; quieter than asked (%g): its peaks allow no more", target)
	}
	return text
}

// missedLU is how far a loudness, in LU, or a peak, in dB, may be beside the one
// asked for before it is worth a word: as much as is shown.
const missedLU = 0.1

// OtherThanPianos are what the instruments are that are no pianos, each once: the
// sound of all is a piano's.
func (j *Job) OtherThanPianos() []string {
	var out []string
	for _, in := range j.Instruments {
		if in.Plays != "piano" && in.Plays != "" && !slices.Contains(out, source.Printable(in.Plays)) {
			out = append(out, source.Printable(in.Plays))
		}
	}
	return out
}
