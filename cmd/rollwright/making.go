package main

import (
	"fmt"
	"io"
	"path/filepath"
	"strconv"
	"strings"

	"rollwright/making/bench"
	"rollwright/making/labels"
	"rollwright/paper/instrument"
	"rollwright/paper/spools"
	"rollwright/text/say"
	"rollwright/workshop"
)

// making are the options about the bench, the spools, the paper.
type making struct {
	Bench string `placeholder:"NAME|FILE" help:"The bench: a built-in one (see rollwright benches) or a .bench file."`

	Trial lengthFlag `placeholder:"1m" help:"In place of the roll a trial strip of at most so much paper: the worst place of each kind of doubt."`

	SpoolLength lengthFlag `placeholder:"20m" help:"Part the piece into spools of at most so much music, at rests."`
	Split       []clock    `placeholder:"1:20,3:05" sep:"," help:"End a spool at each of these times."`
	Spool       int        `placeholder:"N" help:"Only this spool."`

	Cues    lengthFlag `placeholder:"2m" help:"Mark cues so far apart, at the same instants on the rolls of all pianos."`
	Speeds  string     `placeholder:"1%" help:"By how much the pianos' speeds may differ (1%)."`
	TwoHear float64    `name:"two-attacks" placeholder:"MS" help:"When the ear hears two attacks, in ms (30)."`

	PaperAcross float64 `placeholder:"FACTOR" help:"The paper's size across at the bench over that at the instrument, 0.97 to 1.03."`
	PaperAlong  float64 `placeholder:"FACTOR" help:"The same along the roll."`
	PaperAbout  string  `enum:"centre,bass,treble" default:"centre" help:"What the instrument keeps in place: the paper's centre, or its bass or treble edge."`
}

// lengthFlag is a length in millimetres, written with its unit.
type lengthFlag float64

// UnmarshalText reads a length such as "20m", "1500 mm", "60 ft".
func (l *lengthFlag) UnmarshalText(text []byte) error {
	mm, ok := bench.ParseLength(string(text))
	if !ok || mm <= 0 {
		return fmt.Errorf("%q is no length: write a number with mm, m, in or ft, such as 20m", text)
	}
	*l = lengthFlag(mm)
	return nil
}

// The factors of paper that can be meant: paper that grows by more has been
// soaked.
const leastFactor, mostFactor = 0.97, 1.03

// making is what the options ask of the workshop. Mistakes are usage errors.
func (m *making) making() (workshop.Making, error) {
	out := workshop.Making{Bench: m.Bench, Spool: m.Spool}
	if strings.HasSuffix(m.Bench, bench.Extension) || strings.ContainsAny(m.Bench, `/\`) {
		path, err := filepath.Abs(m.Bench) // paths of a command count from where it runs
		if err != nil {
			return out, err
		}
		out.Bench = path
	}
	out.TrialMM = float64(m.Trial)
	out.Spools.LongestMM = float64(m.SpoolLength)
	for _, at := range m.Split {
		out.Spools.AtSec = append(out.Spools.AtSec, float64(at))
	}
	share, err := percent(m.Speeds)
	if err != nil {
		return out, usageError{err.Error()}
	}
	out.Pair = spools.Pair{CueMM: float64(m.Cues), SpeedShare: share, HeardSec: m.TwoHear / 1000}
	if !(m.TwoHear >= 0 && m.TwoHear <= 1000) {
		return out, usageError{"--two-attacks runs from 0 to 1000 ms"}
	}
	for _, f := range []float64{m.PaperAcross, m.PaperAlong} {
		if f != 0 && !(f >= leastFactor && f <= mostFactor) {
			return out, usageError{fmt.Sprintf("paper factors run from %g to %g: size at the bench over size at the instrument",
				leastFactor, mostFactor)}
		}
	}
	out.Stretch = instrument.Stretch{Along: m.PaperAlong, Across: m.PaperAcross, About: about(m.PaperAbout)}
	return out, nil
}

func about(word string) instrument.Anchor {
	return map[string]instrument.Anchor{"bass": instrument.BassEdge, "treble": instrument.TrebleEdge}[word]
}

// percent reads "1%" or "1 %" as a share.
func percent(text string) (float64, error) {
	if text == "" {
		return 0, nil
	}
	number, ok := strings.CutSuffix(strings.TrimSpace(text), "%")
	x, err := strconv.ParseFloat(strings.TrimSpace(number), 64)
	if !ok || err != nil || !(x >= 0 && x <= 50) {
		return 0, fmt.Errorf("%q is no share: write 1%%, at most 50%%", text)
	}
	return x / 100, nil
}

// hand are the options of what is made for a person at a bench.
type hand struct {
	Worksheet bool `xor:"hand" help:"PDF, CSV: rows to punch by hand, with the turns of the crank, in place of the roll."`
	Labels    bool `xor:"hand" help:"PDF: labels for rolls and boxes, cues, the tab of the leader, in place of the roll."`

	Date string `placeholder:"2026-11-30" help:"Labels: when the rolls were punched; without it there is room to write it."`
}

// set puts what bench, spools, paper are into o.
func (h *hand) set(o *workshop.Options, m making) error {
	out, err := m.making()
	if err != nil {
		return err
	}
	out.Worksheet, out.Labels, out.Date = h.Worksheet, h.Labels, h.Date
	if err := workshop.CheckDate(h.Date); err != nil {
		return usageError{worded(err)}
	}
	o.Making = out
	return nil
}

// forewarn says where spools end, and warns of paper that changes too much.
func forewarn(w io.Writer, job *workshop.Job, m *workshop.Making) error {
	for i, in := range job.Instruments {
		beside := m.Stretch.MostBesideMM(in)
		if beside <= labels.BesideMM {
			continue
		}
		name := ""
		if job.Pianos[i].Name != "" {
			name = job.Pianos[i].Name + ": "
		}
		fmt.Fprintf(w, "%spaper that changes so much would put the outer holes %.2f mm beside their ports; more than %.1f mm: keep the paper in the room where it plays for a day or two before punching, rather than trust in factors\n", name, beside, labels.BesideMM)
		break
	}
	cuts, err := job.Cuts(m)
	if err != nil {
		return err
	}
	for i, c := range cuts {
		how := fmt.Sprintf("in a rest of %.1f s", c.RestSec)
		switch {
		case c.Crossing > 0:
			how = fmt.Sprintf("cutting short %s that would sound across it", say.Count(c.Crossing, "note"))
		case c.RestSec == 0:
			how = "between two notes"
		}
		fmt.Fprintf(w, "spool %d ends at %.3f s, %s\n", i+1, c.AtSec, how)
	}
	return nil
}
