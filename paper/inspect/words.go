package inspect

import (
	"fmt"
	"strconv"

	"rollwright/music/pitch"
	"rollwright/paper/instrument"
	"rollwright/text/say"
	"rollwright/text/source"
)

// Message says what is wrong, in lower case and without a full stop, the
// place apart.
func (f *Finding) Message() string {
	if f.refused {
		return f.message() + "; a trial strip says that this cannot be played here"
	}
	return f.message()
}

func (f *Finding) message() string {
	value, limit := figure(f.Value), figure(f.Limit)
	switch f.Kind {
	case OutsideCompass:
		return fmt.Sprintf("%s is outside the compass, which %s", f.key(), f.compass())
	case StrokeLost:
		what := "so one stroke is lost"
		if f.Severity != Forbids {
			what = "so one stroke of the key sounds for both"
		}
		return fmt.Sprintf("%s is struck again %s ms after %s: that takes %s ms, %s", f.key(), value,
			f.partner("the stroke before"), limit, what)
	case Repetition:
		return fmt.Sprintf("the action needs %s %s between two strokes of %s, and has %s", limit, f.Unit, f.port(), value)
	case ShortBridge:
		return fmt.Sprintf("%s mm of paper between two strokes of %s; the standard's bridge is %s mm", value, f.port(), limit)
	case UnclearWeb:
		return fmt.Sprintf("a web of %s mm on %s: wider than a bridge, narrower than the %s mm of a gap, so it may be one note or two", value, f.port(), limit)
	case TooShort:
		return fmt.Sprintf("the port of %s is open for %s ms; the action needs %s ms", f.port(), value, limit)
	case ShortSlot:
		return fmt.Sprintf("a slot of %s mm on %s; the standard's shortest is %s mm", value, f.port(), limit)
	case CutOff:
		return fmt.Sprintf("a held %s ends %s s early for a stroke of %s on the same key", f.port(), value,
			f.partner("another"))
	case OneKey:
		return fmt.Sprintf("%s strikes %s at the same time: one slot sounds both", f.partner("another note"), f.port())
	case AtOnce:
		return fmt.Sprintf("%s notes at once; %s serves %s", value, f.roll.Instrument.Server(), limit)
	case Rate:
		return fmt.Sprintf("%s notes in a second; %s serves %s", value, f.roll.Instrument.Server(), limit)
	case SideBySide:
		return fmt.Sprintf("%s and %s are open side by side for %s mm, with %s mm of paper between", f.port(),
			f.portName(f.beside), value, limit)
	case RowCutAway:
		return fmt.Sprintf("%s %% of a row is cut away; beyond %s %% the paper is weak", value, limit)
	case WeakLine:
		return fmt.Sprintf("%s mm of paper are left on a line from edge to edge, %s %% of the width (%s at the bass edge, %s at the treble edge); below %s mm the paper is weak",
			value, figure(100*f.Value/f.roll.Instrument.Paper.WidthMM), paper(f.ends.bassMM), paper(f.ends.trebleMM), limit)
	case OpenSlot:
		return fmt.Sprintf("a slot of %s mm on %s without a bridge; over %s mm the paper is weak", value, f.port(), limit)
	}
	return f.wide(value, limit)
}

// wide is the message of what concerns a port, a voice or the whole roll.
func (f *Finding) wide(value, limit string) string {
	switch f.Kind {
	case OffPaper:
		return fmt.Sprintf("the holes of %s reach %s mm beyond the edge of the paper", f.port(), value)
	case NearEdge:
		return fmt.Sprintf("the holes of %s come within %s mm of the edge; %s mm are wanted", f.port(), value, limit)
	case BeforePaper:
		return fmt.Sprintf("a hole %s before the first row; the leader has %s", paper(f.Value), paper(f.Limit))
	case Length:
		if f.Severity == Risks {
			return fmt.Sprintf("the roll is %s long; a spool takes about %s", paper(f.Value), paper(f.Limit))
		}
		return fmt.Sprintf("the roll is %s long; over %s is more than most", paper(f.Value), paper(f.Limit))
	case SmallDie:
		return fmt.Sprintf("the punch is %s mm; the standard's smallest hole is %s mm", value, limit)
	case StepError:
		return fmt.Sprintf("%s falls beside its time by up to %s ms (root mean square %s ms) on steps of %s mm; %s ms are wanted",
			source.Printable(f.VoiceName), value, figure(f.fine), figure(f.roll.Instrument.StepMM), limit)
	case AccentLost:
		return f.lostAccent(value, limit)
	case LevelsLost:
		return fmt.Sprintf("%s has %s levels of loudness; the roll plays %s, off by %s at most, by %s in the root mean square",
			f.whose(), value, say.Count(int(f.Limit), "level"), figure(f.apart), figure(f.fine))
	case PedalLost:
		return fmt.Sprintf("%s is struck again after %s ms, too soon to be let go", f.port(), value)
	case NoPedalPort:
		if f.stop {
			return fmt.Sprintf("the bar has no port for the stop %s that %s asks for", source.Printable(f.pedal), f.whose())
		}
		return fmt.Sprintf("the bar has no port for the %s pedal that %s asks for", f.Unit, f.whose())
	case EndsEarly:
		return fmt.Sprintf("the port %s opens %s s before the music ends", f.portName(f.Port), value)
	case PedalBeyond:
		return f.beyond()
	case LeverRange:
		return f.lever()
	}
	return f.Kind.String()
}

// lever says how far the tempo lever goes.
func (f *Finding) lever() string {
	value, limit := thousandths(f.Value), thousandths(f.Limit)
	what := "the tempo lever goes"
	if f.roll.Instrument.Transport.Crank {
		what = "a hand at the crank goes"
	}
	if f.Value > f.Limit {
		return fmt.Sprintf("a roll tempo of %s; %s up to %s", value, what, limit)
	}
	return fmt.Sprintf("a roll tempo of %s; %s down to %s", value, what, limit)
}

// beyond says where a span of a pedal lies and where its voice ends, both in units.
func (f *Finding) beyond() string {
	what := "goes on after"
	if f.stretch.Outside() {
		what = "lies wholly after"
	}
	if f.stop {
		return fmt.Sprintf("the stop %s of units %s-%s %s the end of %s at unit %s, and is cut all the same",
			source.Printable(f.pedal), thousandths(f.stretch.From), thousandths(f.stretch.To), what, f.whose(),
			thousandths(f.stretch.Of))
	}
	return fmt.Sprintf("the %s pedal of units %s-%s %s the end of %s at unit %s, and is cut all the same",
		f.pedal, thousandths(f.stretch.From), thousandths(f.stretch.To), what, f.whose(), thousandths(f.stretch.Of))
}

// thousandths is a number for reading, with at most three decimals.
func thousandths(u float64) string { return strconv.FormatFloat(decimals(u, 3), 'f', -1, 64) }

func (f *Finding) whose() string {
	if f.Voice >= 0 {
		return source.Printable(f.VoiceName)
	}
	return "the piece"
}

// partner names the other stroke of a pair.
func (f *Finding) partner(same string) string {
	if f.Other >= 0 && f.Other != f.Voice {
		return source.Printable(f.OtherName)
	}
	return same
}

// port names the port by its key or its task.
func (f *Finding) port() string {
	if f.Key >= 0 {
		return f.key()
	}
	return f.portName(f.Port)
}

// key is the name of the finding's key, as the composer spells it.
func (f *Finding) key() string { return f.keyName(f.Key) }

// keyName is the name of a key that the finding's note sounds; other keys have sharps.
func (f *Finding) keyName(key int) string {
	if f.piece == nil || f.Voice < 0 || f.Note < 1 {
		return pitch.Name(key)
	}
	v, n := &f.piece.Voices[f.Voice], f.Note
	if v.Backward && f.reach == nil {
		return pitch.Name(key)
	} else if v.Backward {
		n = f.reach.last(f.Voice) + 1 - n
	}
	return v.NameOf(n, key)
}

// portName names the port of that number, from 1, by its key or its task.
func (f *Finding) portName(port int) string {
	if port > 0 {
		switch p := f.roll.Instrument.Bar.Ports[port-1]; p.Role {
		case instrument.Note:
			return f.keyName(p.Key)
		case instrument.Sustain:
			return "the sustaining pedal"
		case instrument.Soft:
			return "the soft pedal"
		case instrument.ThemeBass, instrument.ThemeTreble:
			return "a theme port"
		case instrument.Register, instrument.Percussion, instrument.Rewind, instrument.Play, instrument.ShutOff:
			return source.Printable(p.Name())
		}
	}
	return fmt.Sprintf("port %d", port)
}

func (f *Finding) compass() string {
	low, high := compass(&f.roll.Instrument.Bar)
	return fmt.Sprintf("runs from %s to %s", pitch.Name(low), pitch.Name(high))
}

// compass is the lowest and highest key of the bar.
func compass(b *instrument.Bar) (low, high int) {
	low, high = 127, 0
	for _, p := range b.Ports {
		if p.Role == instrument.Note {
			low, high = min(low, p.Key), max(high, p.Key)
		}
	}
	return low, high
}
