// Package inspect reads rolls to findings: what paper, bar and action cannot
// do as written, each with its place, its measure and a remedy.
//
// All walks every roll once, from start to end, and keeps nothing but what is
// open; Check gathers what it yields into groups that a person can read.
// Lengths are millimetres, times seconds, both float64. Limits are met when
// they are reached: a bridge of exactly the standard's width is good. Lengths
// closer than a tenth of a nanometre count as equal.
package inspect

// Severity says how bad a finding is.
type Severity int8

// The severities.
const (
	Note    Severity = iota // good to know
	Risks                   // may fail
	Forbids                 // cannot play
)

// String is the word of a machine's table: forbids, risks, note.
func (s Severity) String() string { return [...]string{"note", "risks", "forbids"}[s] }

// Words say it to a person: cannot play, may fail, good to know.
func (s Severity) Words() string { return [...]string{"good to know", "may fail", "cannot play"}[s] }

// Kind is what a finding is about.
type Kind int8

// The kinds of finding.
const (
	OutsideCompass Kind = iota // a key without a port
	StrokeLost                 // two strokes on one port too close for two slots
	Repetition                 // two slots on one port too close for the action; not on a roll laid out here
	ShortBridge                // less paper between two strokes than the standard's bridge
	UnclearWeb                 // a web wider than a bridge and narrower than a gap: one note or two
	TooShort                   // the port is open for less time than the action needs
	ShortSlot                  // shorter than the standard allows
	CutOff                     // a held note ends for another stroke on its key
	OneKey                     // two strokes on one key at one time are one slot
	AtOnce                     // more notes at one time than the wind serves
	Rate                       // more strokes in a second than the wind serves
	SideBySide                 // neighbouring ports open in the same rows
	RowCutAway                 // a large share of a row is cut away
	WeakLine                   // little paper on a line from edge to edge
	OpenSlot                   // a long slot without a bridge
	OffPaper                   // a hole beyond the edge of the paper
	NearEdge                   // a hole too near to the edge
	BeforePaper                // a hole before the leader begins
	Length                     // a roll longer than is usual, or than the spool takes
	SmallDie                   // a punch smaller than the standard's smallest hole
	StepError                  // a voice falls beside its rows by more than the tolerance
	AccentLost                 // a note sounds at another level than its own would have given
	LevelsLost                 // more levels are written than the roll can tell apart
	PedalLost                  // two pedal strokes too close for two slots
	NoPedalPort                // pedalling for which the bar has no port
	PedalBeyond                // pedalling that goes on after the end of its voice
	EndsEarly                  // a port that rewinds or shuts off opens inside the music
	LeverRange                 // a roll tempo that the tempo lever does not reach
	kinds
)

var kindNames = [kinds]string{
	OutsideCompass: "outside the compass",
	StrokeLost:     "stroke lost",
	Repetition:     "repetition too fast",
	ShortBridge:    "short bridge",
	UnclearWeb:     "unclear web",
	TooShort:       "too short to sound",
	ShortSlot:      "short slot",
	CutOff:         "note cut off",
	OneKey:         "two on one key",
	AtOnce:         "notes at once",
	Rate:           "notes a second",
	SideBySide:     "side by side",
	RowCutAway:     "row cut away",
	WeakLine:       "weak line",
	OpenSlot:       "slot without bridge",
	OffPaper:       "off the paper",
	NearEdge:       "near the edge",
	BeforePaper:    "before the paper",
	Length:         "length of the roll",
	SmallDie:       "small punch",
	StepError:      "step error",
	AccentLost:     "accent lost",
	LevelsLost:     "levels lost",
	PedalLost:      "pedal stroke lost",
	NoPedalPort:    "no pedal port",
	PedalBeyond:    "pedal after the end",
	EndsEarly:      "ends early",
	LeverRange:     "roll tempo out of reach",
}

func (k Kind) String() string { return kindNames[k] }
