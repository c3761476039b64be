package inspect

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"rollwright/music/piece"
	"rollwright/paper/instrument"
)

// The roll tempos that a remedy may propose: slower or faster rolls than these
// are hardly made (common practice, no source).
const (
	slowestTempo = 40
	fastestTempo = 140
)

// slowestOf and fastestOf are those of an instrument, whose lever may go less far.
func slowestOf(in *instrument.Instrument) float64 { return max(slowestTempo, in.Transport.Slowest) }

func fastestOf(in *instrument.Instrument) float64 {
	if in.Transport.Fastest > 0 {
		return min(fastestTempo, in.Transport.Fastest)
	}
	return fastestTempo
}

// Remedy is a change that would help, or empty when there is none to name.
func (f *Finding) Remedy() string { return f.remedy(0) }

// remedy is Remedy where another finding wants a hold of that share of the voice;
// 0: none does.
func (f *Finding) remedy(hold float64) string {
	if f.piece == nil && f.Kind != UnclearWeb {
		return "" // holes that are there stay where they are
	}
	if f.trials.tries() {
		return f.tried(hold, true)
	}
	return f.untried(hold)
}

// untried is the remedy as it is reckoned from this finding alone.
func (f *Finding) untried(hold float64) string {
	in := f.roll.Instrument
	if remedy := f.gentler(); remedy != "" {
		return remedy
	}
	switch f.Kind {
	case OutsideCompass:
		return f.transpose()
	case StrokeLost, Repetition:
		return f.slower()
	case ShortBridge:
		return f.bridge(hold)
	case UnclearWeb:
		return fmt.Sprintf("a web of at most %s mm is a bridge, of at least %s mm a gap", figure(in.WebMaxMM()),
			figure(f.Limit))
	case TooShort:
		return f.longer()
	case ShortSlot:
		return fmt.Sprintf(`hold = "%.0f ms"%s`, math.Ceil(1000*f.Limit/in.Transport.SpeedAt(f.StartSec)), f.in(f.Voice))
	case CutOff:
		return either("a shorter hold"+f.in(f.Voice), f.octave())
	case OneKey:
		return cmp.Or(f.octave(), "another pitch for one of the two") + ", if both are to be heard"
	case AtOnce:
		return fmt.Sprintf("%s fewer notes, shorter holds, the chord broken (spread(C2+G2+E3 30ms)), or a second piano",
			figure(f.Value-f.Limit))
	case Rate:
		return either("a second piano", slowed(f.Limit/f.Value))
	case SideBySide:
		return either("shorter holds", f.octave())
	case RowCutAway:
		return "shorter holds, or a second piano"
	case OpenSlot:
		return f.bridged()
	}
	return f.wideRemedy(in)
}

// mostNamed is how many changes are named for one finding.
const mostNamed = 2

// tried names changes that were tried and help, else says in general what would. A hold
// that another finding wants of the same voice is tried in place of this one's. The
// change of a single item is named first where the finding is single and the item is one
// voice's alone, and else where no change of a voice helps.
func (f *Finding) tried(hold float64, single bool) string {
	wide := f.ofVoice()
	if f.Kind == ShortBridge && hold > 0 && len(wide) > 0 && wide[0].Attr == "hold" {
		wide = append([]Change{f.holding(f.earlier(), figure(hold))}, wide...)
	}
	narrow := f.ofItem()
	if single && (len(narrow) == 0 || f.sharing(narrow[0]) == 1) {
		return cmp.Or(f.firstNamed(append(narrow, wide...)), f.Advice())
	}
	return cmp.Or(f.firstNamed(wide), f.firstNamed(narrow), f.Advice())
}

// firstNamed are the first changes that help, each in a way of its own.
func (f *Finding) firstNamed(changes []Change) string {
	var parts []string
	var ways []way
	for _, c := range changes {
		if !slices.Contains(ways, c.way) && f.trials.helps(c, f.Severity) {
			ways = append(ways, c.way)
			if parts = append(parts, f.inWords(c)); len(parts) == mostNamed {
				break
			}
		}
	}
	return strings.Join(parts, ", or ")
}

// inWords is a change with where it is written.
func (f *Finding) inWords(c Change) string {
	switch {
	case c.Item > 0:
		return f.inPlace(c)
	case c.Attr == "":
		return "write " + c.Value
	case c.Attr == "roll_tempo":
		return f.tempoText(c.number())
	case c.way == voiceMoved && f.Kind != OutsideCompass:
		return "another octave: " + c.Text() + f.in(c.Voice)
	}
	return c.Text() + f.in(c.Voice)
}

// Advice says in general what would help, without a value that would have to be tried;
// empty where that is in the changes alone.
func (f *Finding) Advice() string {
	in := f.roll.Instrument
	if f.piece == nil && f.Kind != UnclearWeb {
		return ""
	}
	if f.gestures != nil {
		return f.gentlerAdvice()
	}
	switch f.Kind {
	case OutsideCompass:
		return "other keys for single notes, or another octave"
	case StrokeLost, Repetition:
		return fmt.Sprintf("at most %s strokes a second on one key: octaves in turn, a slower voice, or faster paper",
			figure(in.FastestStrokes()))
	case ShortBridge:
		return fmt.Sprintf("at most %s strokes a second leave %s mm", figure(in.StrokesASecond(in.Die.DiameterMM, f.Limit)),
			figure(f.Limit))
	case TooShort, ShortSlot:
		return "a longer hold, or slower paper"
	case CutOff:
		return "a shorter hold" + f.in(f.Voice)
	case OneKey:
		return "another pitch for one of the two, if both are to be heard"
	case Rate:
		return "fewer notes, a slower voice, or a second piano"
	case Length:
		return "slower paper, or several spools"
	case StepError:
		return "a finer step, or faster paper"
	case LeverRange:
		return "a roll tempo in reach of the lever, or another end of it in the transport of the instrument's file"
	case SideBySide:
		return "shorter holds, or another octave"
	case OpenSlot:
		return "shorter holds, or bridges in the chain of the instrument's file"
	}
	return f.untried(0)
}

func (f *Finding) gentlerAdvice() string {
	if f.Note != f.OtherNote {
		return fmt.Sprintf("other keys where %s meets %s", f.named(f.gestures.earlier), f.named(f.gestures.later))
	}
	return "fewer strokes a second, or a shorter hold"
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
	case LeverRange:
		end := "fastest"
		if f.Value < f.Limit {
			end = "slowest"
		}
		whose := "its lever goes"
		if f.roll.Instrument.Transport.Crank {
			whose = "your hand goes"
		}
		return fmt.Sprintf("%s, or %s = %s in the transport of the instrument's file, if %s there",
			f.tempoText(f.inReach()), end, thousandths(f.Value), whose)
	case PedalBeyond:
		if f.stretch.Outside() {
			return fmt.Sprintf("leave this span out, or write units from 0 to %s%s", thousandths(f.stretch.Of), f.in(f.Voice))
		}
		return fmt.Sprintf("let it end at %s%s, unless it is to ring on", thousandths(f.stretch.Of), f.in(f.Voice))
	}
	return ""
}

// transpose brings the key into the compass, if all others of the voice are in
// it then.
func (f *Finding) transpose() string {
	changes := f.intoCompass()
	if len(changes) == 0 {
		return "other keys for single notes: the voice reaches too far for one transposition"
	}
	text := changes[len(changes)-1].Text() + f.in(f.Voice) + " brings it in"
	if len(changes) > 1 {
		text += ", " + changes[0].Text() + " by whole octaves"
	}
	return text
}

// either joins two remedies; an empty one is none.
func either(a, b string) string {
	if a == "" || b == "" {
		return a + b
	}
	return a + ", or " + b
}

// slowed proposes a lower speed of the music, as long as it stays the same music.
func slowed(share float64) string {
	share = math.Floor(100*share) / 100
	if share < slowestShare {
		return ""
	}
	return fmt.Sprintf("a speed of %s of what it is", figure(share))
}

// slowestShare is the least speed that a remedy proposes: slower, a piece is
// another piece.
const slowestShare = 0.5

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
	return tempo, tempo <= fastestOf(in) && open/speed >= in.Action.ShortestSec
}

// slower parts strokes that are too close.
func (f *Finding) slower() string {
	in := f.roll.Instrument
	if tempo, ok := needs(in, f.apart, in.Action.GapPaperMM); ok {
		return either(f.tempoText(tempo)+" would part them", f.octave())
	}
	if octave := f.octave(); octave != "" {
		return octave
	}
	most := in.FastestStrokes()
	return fmt.Sprintf("at most %s strokes a second on one key: ", figure(most)) + either(slowed(f.apart*most),
		"octaves in turn")
}

// bridgeHold is the share of a note that leaves the standard's paper after it,
// and false where no punch would be left of the note.
func (f *Finding) bridgeHold() (share float64, ok bool) {
	in := f.roll.Instrument
	room := f.apart * in.Transport.SpeedAt(f.StartSec)
	share = math.Floor(100*(room-f.Limit-in.StepMM)/room) / 100
	if f.gestures != nil && f.gestures.earlier.Gesture.Manner() != piece.Plain {
		return 0, false // its strokes are held for a share of their own
	}
	return share, f.Kind == ShortBridge && share > 0 && share*room >= in.Die.DiameterMM
}

// bridge leaves the standard's paper between two strokes: by a shorter hold
// where there is room for a punch, else by faster paper. A hold that another
// finding wants of the same voice is proposed instead when it is shorter; 0 is
// none.
func (f *Finding) bridge(shortest float64) string {
	in, voice := f.roll.Instrument, f.in(f.earlier())
	if share, ok := f.bridgeHold(); ok {
		if shortest > 0 {
			share = min(share, shortest)
		}
		return fmt.Sprintf("hold = %s%s would leave %s mm", figure(share), voice, figure(f.Limit))
	}
	if tempo, ok := needs(in, f.apart, f.Limit); ok {
		return fmt.Sprintf(`hold = "single"%s and %s would leave %s mm`, voice, f.tempoText(tempo), figure(f.Limit))
	}
	return fmt.Sprintf("at most %s strokes a second leave %s mm", figure(in.StrokesASecond(in.Die.DiameterMM, f.Limit)),
		figure(f.Limit))
}

// longer keeps the port open long enough.
func (f *Finding) longer() string {
	in := f.roll.Instrument
	single := in.OpenMM(in.Die.DiameterMM)
	slowest := math.Floor(in.Transport.LeverTempo() * single / in.Action.ShortestSec / in.Transport.SpeedAt(f.StartSec))
	hold := fmt.Sprintf(`hold = "%.0f ms"%s`, math.Ceil(1000*in.Action.ShortestSec), f.in(f.Voice))
	if slowest >= slowestOf(in) {
		return either(hold, f.tempoText(slowest))
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
	if tempo >= slowestOf(in) {
		return fmt.Sprintf("%s would make it %s", f.tempoText(tempo), paper(f.Limit))
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
	if tempo <= fastestOf(in) {
		text += ", and so would " + f.tempoText(tempo)
	}
	return text
}

// inReach is the whole roll tempo that the lever reaches next to the one asked for.
func (f *Finding) inReach() float64 {
	if f.Value > f.Limit {
		return math.Floor(f.Limit)
	}
	return math.Ceil(f.Limit)
}
