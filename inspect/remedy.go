package inspect

import (
	"fmt"
	"math"

	"rollwright/instrument"
	"rollwright/source"
)

// The roll tempos that a remedy may propose: slower or faster rolls than these
// are hardly made (common practice, no source).
const (
	slowestTempo = 40
	fastestTempo = 160
)

// Remedy is a change that would help, or empty when there is none to name.
func (f *Finding) Remedy() string {
	in := f.roll.Instrument
	switch f.Kind {
	case OutsideCompass:
		return f.transpose()
	case StrokeLost, Repetition:
		return f.slower()
	case ShortBridge:
		return f.bridge()
	case UnclearWeb:
		return fmt.Sprintf("a web of at most %s mm is a bridge, of at least %s mm a gap", figure(in.WebMaxMM()), figure(f.Limit))
	case TooShort:
		return f.longer()
	case ShortSlot:
		return fmt.Sprintf("a hold of at least %s ms", figure(math.Ceil(1000*f.Limit/in.Transport.SpeedAt(f.StartSec))))
	case CutOff:
		return "a shorter hold, or another octave for one of the two (transpose = 12)"
	case OneKey:
		return "another octave for one of the two (transpose = 12), if both are to be heard"
	case AtOnce:
		return fmt.Sprintf("%s fewer notes, shorter holds, the chord broken (spread(C2+G2+E3 30ms)), or a second piano", figure(f.Value-f.Limit))
	case Rate:
		return fmt.Sprintf("a second piano, or a speed of %s of what it is", share(f.Limit/f.Value))
	case SideBySide:
		return "shorter holds, or another octave for one of the two"
	case RowCutAway:
		return "shorter holds, or a second piano"
	case OpenSlot:
		return f.bridged()
	}
	return f.wideRemedy(in)
}

func (f *Finding) wideRemedy(in *instrument.Instrument) string {
	switch f.Kind {
	case OffPaper, NearEdge:
		return "wider paper, or other ports in the instrument's file"
	case BeforePaper:
		return fmt.Sprintf("leader = %.0f in the instrument's file, or a later start", math.Ceil(f.Value/10)*10)
	case Length:
		return f.shorter()
	case SmallDie:
		return fmt.Sprintf("a punch of at least %s mm", figure(f.Limit))
	case StepError:
		return f.finer()
	case AccentLost:
		return f.parting()
	case LevelsLost:
		return "loudness by the number of notes: chords and octaves for what is loud"
	case PedalLost:
		return fmt.Sprintf("at least %.0f ms between two spans of the pedal", math.Ceil(1000/in.FastestStrokes()))
	case NoPedalPort:
		return fmt.Sprintf("work it by hand, or give the instrument's file a port %q", f.Unit)
	}
	return ""
}

// transpose brings the key into the compass.
func (f *Finding) transpose() string {
	low, high := compass(&f.roll.Instrument.Bar)
	by := low - f.Key
	if f.Key > high {
		by = high - f.Key
	}
	octaves := 12 * int(math.Ceil(math.Abs(float64(by))/12))
	if by < 0 {
		octaves = -octaves
	}
	if octaves == by {
		return fmt.Sprintf("%s brings it in", transposed(by))
	}
	return fmt.Sprintf("%s brings it in, %s by whole octaves", transposed(by), transposed(octaves))
}

func transposed(by int) string { return fmt.Sprintf("transpose = %d", by) }

// needs is the roll tempo, rounded up, at which strokes so many seconds apart
// are two slots with gapMM of paper between, and false when no tempo in reach
// does it.
func needs(in *instrument.Instrument, apartSec, gapMM float64) (tempo float64, ok bool) {
	d, open := in.Die.DiameterMM, in.OpenMM(in.Die.DiameterMM)
	if apartSec < in.Action.GapSec+in.Action.ShortestSec {
		return 0, false
	}
	speed := max((d+gapMM+in.StepMM)/apartSec, (open+in.StepMM)/(apartSec-in.Action.GapSec))
	tempo = math.Ceil(speed/in.Transport.SpeedMMPerSec()*in.Transport.LeverTempo() - 1e-9)
	return tempo, tempo <= fastestTempo && open/speed >= in.Action.ShortestSec
}

// slower parts strokes that are too close.
func (f *Finding) slower() string {
	in := f.roll.Instrument
	other := ""
	if f.Other >= 0 && f.Other != f.Voice {
		other = ", or another octave for one of the two (transpose = 12)"
	}
	if tempo, ok := needs(in, f.apart, in.Action.GapPaperMM); ok {
		return fmt.Sprintf("roll_tempo = %.0f would part them%s", tempo, other)
	}
	if other != "" {
		return other[len(", or "):]
	}
	most := in.FastestStrokes()
	return fmt.Sprintf("at most %s strokes a second on one key: a speed of %s of what it is, or octaves in turn", figure(most), share(f.apart*most))
}

// bridge leaves the standard's paper between two strokes: by a shorter hold
// where there is room for a punch, else by faster paper.
func (f *Finding) bridge() string {
	in := f.roll.Instrument
	room := f.apart * in.Transport.SpeedAt(f.StartSec)
	if length := room - f.Limit - in.StepMM; length >= in.Die.DiameterMM {
		hold := math.Floor(100*length/room) / 100
		if hold > 0 && hold*room >= in.Die.DiameterMM {
			return fmt.Sprintf("hold = %s%s would leave %s mm", figure(hold), f.inOther(), figure(f.Limit))
		}
	}
	if tempo, ok := needs(in, f.apart, f.Limit); ok {
		return fmt.Sprintf(`hold = "single"%s and roll_tempo = %.0f would leave %s mm`, f.inOther(), tempo, figure(f.Limit))
	}
	return fmt.Sprintf("at most %s strokes a second leave %s mm", figure(in.StrokesASecond(in.Die.DiameterMM, f.Limit)), figure(f.Limit))
}

// inOther names the voice of the stroke before, when it is another.
func (f *Finding) inOther() string {
	if f.Other < 0 || f.Other == f.Voice {
		return ""
	}
	return " in " + source.Printable(f.OtherName)
}

// longer keeps the port open long enough.
func (f *Finding) longer() string {
	in := f.roll.Instrument
	single := in.OpenMM(in.Die.DiameterMM)
	slowest := math.Floor(in.Transport.LeverTempo() * single / in.Action.ShortestSec / in.Transport.SpeedAt(f.StartSec))
	hold := fmt.Sprintf(`hold = "%.0f ms"`, math.Ceil(1000*in.Action.ShortestSec))
	if slowest >= slowestTempo {
		return fmt.Sprintf("%s, or roll_tempo = %.0f", hold, slowest)
	}
	return hold
}

func (f *Finding) bridged() string {
	if f.roll.Instrument.Chain.Bridged {
		return "a shorter open_first in the chain of the instrument's file"
	}
	return `kind = "bridged" in the chain of the instrument's file, or shorter holds`
}

// shorter makes the roll fit by slower paper.
func (f *Finding) shorter() string {
	in := f.roll.Instrument
	ends := in.Paper.LeaderMM + in.Paper.TrailerMM
	tempo := math.Floor(in.Transport.LeverTempo() * (f.Limit - ends) / (f.Value - ends))
	if tempo >= slowestTempo {
		return fmt.Sprintf("roll_tempo = %.0f would make it %s", tempo, paper(f.Limit))
	}
	return fmt.Sprintf("%.0f spools", math.Ceil((f.Value-ends)/(f.Limit-ends)))
}

// finer is the step that meets the tolerance: an error of half a step at the
// slowest speed, that at time 0.
func (f *Finding) finer() string {
	in := f.roll.Instrument
	step := 2 * f.Limit / 1000 * in.Transport.SpeedMMPerSec()
	nice := math.Pow10(int(math.Floor(math.Log10(step))))
	step = math.Floor(step/nice+1e-9) * nice
	tempo := math.Ceil(in.Transport.LeverTempo() * in.StepMM / (2 * f.Limit / 1000 * in.Transport.SpeedMMPerSec()))
	text := fmt.Sprintf("a step of %s mm would meet %s ms", figure(step), figure(f.Limit))
	if tempo <= fastestTempo {
		text += fmt.Sprintf(", and so would roll_tempo = %.0f", tempo)
	}
	return text
}

// share is a factor below 1, rounded down to a hundredth.
func share(x float64) string {
	return figure(max(math.Floor(100*x)/100, 0.01))
}
