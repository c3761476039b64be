package inspect

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"rollwright/exact"
	"rollwright/music/piece"
)

// Change is a remedy that can be written into the text of the piece: one
// attribute of a voice or of a piano, with its new value, or one gesture. It may
// still cost something elsewhere, so it has to be tried.
type Change struct {
	Voice int    // index into piece.Piece.Voices; -1: the attribute is the piano's
	Piano int    // index into piece.Piece.Pianos, when Voice is -1
	Attr  string // transpose, hold, speed or roll_tempo; empty: the value takes the place of Old
	Value string // as it has to stand in the file
	Old   piece.Written
	Item  int // of one item of a color or line: the byte of the text at which Old.Text stands, from 1; 0: Old.At says it

	way way
}

// way is how a change helps. Of several that help in the same way a person is told one.
type way int8

const (
	gestureRewritten way = iota
	itemHold
	itemOut
	itemOctave
	voiceHold
	voiceMoved
	voiceSlower
	otherPaper
)

// Way is a word for how the change helps: hold, out, octave, gesture, voice hold, voice
// octave, speed or paper.
func (c Change) Way() string {
	return [...]string{"gesture", "hold", "out", "octave", "voice hold", "voice octave", "speed", "paper"}[c.way]
}

// Text is the change as a line of the file, or what takes the place of a gesture.
func (c Change) Text() string {
	if c.Attr == "" {
		return c.Value
	}
	return c.Attr + " = " + c.Value
}

// Changes are what may help, the smallest musical change first: one item, then the
// voice, then the paper. They are reckoned from this finding alone. There are none
// where only a person can say what is to be done, or where the remedy is in the
// instrument's file.
func (f *Finding) Changes() []Change { return append(f.ofItem(), f.ofVoice()...) }

// ofVoice are the changes of a whole voice, of a gesture wherever it stands, and of the paper.
func (f *Finding) ofVoice() []Change {
	if f.gestures != nil && f.Note == f.OtherNote {
		return f.ofGesture()
	}
	switch f.Kind {
	case OutsideCompass:
		return f.intoCompass()
	case StrokeLost, Repetition:
		return slices.Concat(f.parted(f.roll.Instrument.Action.GapPaperMM), f.octaves(f.Voice, f.Other), f.slowerVoice())
	case ShortBridge:
		return append(f.holdBefore(), f.parted(f.Limit)...)
	case UnclearWeb:
		return append(f.holdBefore(), f.shorterHolds(f.earlier())...)
	case CutOff:
		return append(f.shorterHolds(f.Voice), f.octaves(f.Voice, f.Other)...)
	case OneKey:
		return f.octaves(f.Voice, f.Other)
	case TooShort, ShortSlot:
		return f.longEnough()
	case AtOnce, SideBySide, RowCutAway, OpenSlot:
		return f.shorterHolds(f.Voice)
	case Rate:
		return f.slowerVoice()
	case Length:
		return f.onSlowerPaper()
	case StepError:
		return f.onFasterPaper()
	case LeverRange:
		return f.rollTempo(f.inReach())
	}
	return nil
}

// ofGesture are a shorter hold, where that is the cause, and fewer strokes.
func (f *Finding) ofGesture() []Change {
	var out []Change
	if share, ok := f.gestureHold(); ok {
		out = append(out, f.holding(f.Voice, figure(share)))
	}
	if text, _ := f.instead(); text != "" && f.Width > 0 {
		out = append(out, Change{Voice: f.Voice, Value: text, Old: f.gestures.later.Gesture.AsWritten()})
	}
	return out
}

// slowerVoice is a voice as slow as the strokes on one key, or the notes in a second, need.
func (f *Finding) slowerVoice() []Change {
	v := f.of(f.Voice)
	if v == nil || f.Other >= 0 && f.Other != f.Voice {
		return nil
	}
	share := f.apart * f.roll.Instrument.FastestStrokes()
	if f.Kind == Rate {
		share = f.Limit / f.Value
	}
	share = math.Floor(100*share) / 100
	if share < slowestShare || share >= 1 {
		return nil
	}
	return []Change{{Voice: f.Voice, Attr: "speed", Value: figure(math.Floor(100*share*v.Speed.Float64()) / 100),
		way: voiceSlower}}
}

func (f *Finding) holding(voice int, value string) Change {
	return Change{Voice: voice, Attr: "hold", Value: value, way: voiceHold}
}

func (f *Finding) of(voice int) *piece.Voice {
	if voice < 0 || f.piece == nil || voice >= len(f.piece.Voices) {
		return nil
	}
	return &f.piece.Voices[voice]
}

func (f *Finding) transposed(voice, by int) []Change {
	v := f.of(voice)
	if v == nil || by == 0 {
		return nil
	}
	return []Change{{Voice: voice, Attr: "transpose", Value: fmt.Sprint(v.Transpose + by), way: voiceMoved}}
}

// intoCompass moves the voice by whole octaves, else by as little as brings the
// note in, where all its keys are in the compass then.
func (f *Finding) intoCompass() []Change {
	low, high := compass(&f.roll.Instrument.Bar)
	by := low - f.Key
	if f.Key > high {
		by = high - f.Key
	}
	octaves := 12 * int(math.Ceil(math.Abs(float64(by))/12))
	if by < 0 {
		octaves = -octaves
	}
	var out []Change
	for _, by := range []int{octaves, by} {
		if f.fits(f.Voice, by) && (len(out) == 0 || by != octaves) {
			out = append(out, f.transposed(f.Voice, by)...)
		}
	}
	return out
}

func (f *Finding) rollTempo(tempo float64) []Change {
	return []Change{{Voice: -1, Piano: f.Piano, Attr: "roll_tempo", Value: fmt.Sprintf("%.0f", tempo), way: otherPaper}}
}

// parted is faster paper, so that gapMM of it lie between two strokes.
func (f *Finding) parted(gapMM float64) []Change {
	if tempo, ok := needs(f.roll.Instrument, f.apart, gapMM); ok && tempo > f.roll.Instrument.Transport.LeverTempo() {
		return f.rollTempo(tempo)
	}
	return nil
}

func (f *Finding) onSlowerPaper() []Change {
	in := f.roll.Instrument
	ends := in.Paper.LeaderMM + in.Paper.TrailerMM
	if tempo := math.Floor(in.Transport.LeverTempo() * (f.Limit - ends) / (f.Value - ends)); tempo >= slowestOf(in) {
		return f.rollTempo(tempo)
	}
	return nil
}

func (f *Finding) onFasterPaper() []Change {
	in := f.roll.Instrument
	tempo := math.Ceil(in.Transport.LeverTempo() * in.StepMM / (2 * f.Limit / 1000 * in.Transport.SpeedMMPerSec()))
	if tempo <= fastestOf(in) {
		return f.rollTempo(tempo)
	}
	return nil
}

// earlier is the voice of the earlier of two strokes.
func (f *Finding) earlier() int {
	if f.Other >= 0 {
		return f.Other
	}
	return f.Voice
}

// holdBefore shortens the note before, so that the paper that is wanted stays
// between two strokes.
func (f *Finding) holdBefore() []Change {
	share, ok := f.bridgeHold()
	if !ok || f.of(f.earlier()) == nil {
		return nil
	}
	return []Change{f.holding(f.earlier(), figure(share))}
}

// shorterHolds are three quarters, a half and a quarter of what a voice has.
func (f *Finding) shorterHolds(voice int) []Change {
	v := f.of(voice)
	if v == nil {
		return nil
	}
	var out []Change
	for _, quarters := range []int64{3, 2, 1} {
		if hold, ok := scaledHold(v.Hold, exact.NewRat(quarters, 4)); ok {
			out = append(out, f.holding(voice, hold))
		}
	}
	return out
}

// scaledHold is a cycle of holds made shorter, as it is written; false when
// nothing in it can be.
func scaledHold(holds []piece.Hold, by exact.Rat) (string, bool) {
	var parts []string
	changed := false
	for _, h := range holds {
		switch h.Kind {
		case piece.HoldShare:
			parts = append(parts, figure(math.Floor(100*h.Share.Float64()*by.Float64())/100))
			changed = true
		case piece.HoldTime:
			parts = append(parts, fmt.Sprintf("%.0f ms", math.Floor(1000*h.Sec.Float64()*by.Float64())))
			changed = true
		default:
			parts = append(parts, "single")
		}
		if strings.HasPrefix(parts[len(parts)-1], "0 ") || parts[len(parts)-1] == "0" {
			return "", false
		}
	}
	if len(parts) == 1 && holds[0].Kind == piece.HoldShare {
		return parts[0], changed
	}
	return `"` + strings.Join(parts, " ") + `"`, changed
}

// longEnough holds every note of the voice for as long as its port must be
// open, or lets the paper go slower.
func (f *Finding) longEnough() []Change {
	in := f.roll.Instrument
	sec := in.Action.ShortestSec
	out := []Change{}
	if ms := f.longMS(); f.of(f.Voice) != nil {
		out = append(out, f.holding(f.Voice, `"`+ms+`"`))
	}
	open := in.OpenMM(in.Die.DiameterMM)
	if f.Kind == TooShort {
		slowest := math.Floor(in.Transport.LeverTempo() * open / sec / in.Transport.SpeedAt(f.StartSec))
		if slowest >= slowestOf(in) && slowest < in.Transport.LeverTempo() {
			out = append(out, f.rollTempo(slowest)...)
		}
	}
	return out
}

// longMS is the hold for which a port must be open, as it is written.
func (f *Finding) longMS() string {
	sec := f.roll.Instrument.Action.ShortestSec
	if f.Kind == ShortSlot {
		sec = f.Limit / f.roll.Instrument.Transport.SpeedAt(f.StartSec)
	}
	return fmt.Sprintf("%.0f ms", math.Ceil(1000*sec))
}

// number is the value of a roll tempo.
func (c Change) number() float64 {
	x, _ := strconv.ParseFloat(c.Value, 64)
	return x
}
