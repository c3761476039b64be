package instrument

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"rollwright/text/fields"
	"rollwright/text/source"
)

// noiseMM is a length that only arithmetic can have made.
const noiseMM = 1e-7

// check refuses what no perforator or bar can be.
// checkLever looks how far the tempo lever goes.
func (r *reader) checkLever() {
	if t := r.in.Transport; t.Slowest > 0 && t.Fastest > 0 && t.Slowest >= t.Fastest {
		r.blame("the tempo lever goes from "+fields.Figure(t.Slowest)+" to "+fields.Figure(t.Fastest),
			"slowest is less than fastest", "transport.fastest", "transport.slowest")
	}
}

func (r *reader) check() {
	r.checkGiven()
	if len(r.errs) > 0 {
		return
	}
	r.checkHoles()
	r.checkPorts()
	r.checkLevels()
	r.checkLever()
}

// required are the attributes without which nothing can be laid out.
var required = []string{
	"paper.width", "bar.port_height", "bar.open_share", "perforator.die",
	"chain.kind", "chain.slot_spacing", "transport.kind", "transport.roll_tempo",
}

// checkGiven asks for what is missing, once the whole text is known.
func (r *reader) checkGiven() {
	names := required
	if r.in.Chain.Bridged {
		names = append(names[:len(names):len(names)], "chain.bridge_spacing", "chain.web_min")
	}
	if r.in.Transport.Spool {
		names = append(names[:len(names):len(names)], "transport.radius", "transport.thickness")
	}
	var missing []string
	for _, name := range names {
		if r.given[name] == nil {
			missing = append(missing, strings.Replace(name, ".", " { ", 1)+" }")
		}
	}
	if len(missing) > 0 {
		r.fail(&source.Error{File: r.in.File, Problem: "the instrument does not say " + missing[0],
			Hint: "begin with like = \"88-note\" and write only what differs, or write:\n" + strings.Join(missing, "\n")})
	}
	if r.in.Plays == "" {
		r.in.Plays = "piano"
	}
	if r.in.Action.NotesAtOnce == 0 {
		r.in.Action.NotesAtOnce = 128
	}
}

// blame is a complaint at the first of the named attributes that the
// instrument's own file gives, else at the first that a file of the user's
// gives, else about the file as a whole.
func (r *reader) blame(problem, hint string, names ...string) {
	var found *source.Error
	for _, name := range names {
		v := r.given[name]
		if v == nil {
			continue
		}
		e := v.Error(problem, hint)
		if e.File == r.in.File {
			found = e
			break
		}
		if found == nil && !isBuiltin(e.File.Name) {
			found = e
		}
	}
	if found == nil {
		found = &source.Error{File: r.in.File, Problem: problem, Hint: hint}
	}
	r.fail(found)
}

// checkHoles refuses spacings that cut no slot, or webs that tear or shut the
// port.
func (r *reader) checkHoles() {
	in := r.in
	d, p, f, q := in.Die.DiameterMM, in.Bar.HeightMM, in.Bar.OpenShare, in.StepMM
	if d <= f*p {
		r.blame(fmt.Sprintf("a hole of %s mm never opens a port of %s mm by a share of %s", fields.Figure(d),
			fields.Figure(p), fields.Figure(f)),
			"a larger die, or a smaller open_share", "perforator.die", "bar.open_share", "bar.port_height")
	}
	if slot := in.Chain.SlotSpacingMM; slot >= d {
		r.blame(fmt.Sprintf("slot_spacing of %s mm is not less than the die's %s mm", fields.Figure(slot), fields.Figure(d)),
			"holes of a slot must overlap: two thirds of the die is usual", "chain.slot_spacing", "perforator.die")
	}
	if q > 0 && (q >= d || q < 0.001) {
		r.blame(fmt.Sprintf("a step of %s mm cannot cut slots with a die of %s mm", fields.Figure(q), fields.Figure(d)),
			"the step is smaller than the die; 0 is continuous", "perforator.step", "perforator.die")
	}
	if gap := in.Action.GapPaperMM; gap < in.WebMaxMM() {
		r.blame(fmt.Sprintf("gap_paper of %s mm does not shut a port: that takes %.4g mm", fields.Figure(gap), in.WebMaxMM()),
			"at least port_height * (1 - open_share)", "action.gap_paper", "bar.port_height", "bar.open_share")
	}
	if in.Chain.Bridged {
		r.checkWeb()
	}
}

// checkWeb refuses webs, as the step lets them be cut, that tear or shut the
// port.
func (r *reader) checkWeb() {
	in := r.in
	web := in.BridgeMM() - in.Die.DiameterMM
	cut := "bridge_spacing"
	if in.StepMM > 0 {
		cut = "bridge_spacing in whole steps"
	}
	blamed := []string{"chain.bridge_spacing", "perforator.step", "perforator.die", "chain.web_min"}
	if web <= 0 {
		r.blame(fmt.Sprintf("%s puts centres %.4g mm apart, and the die is %s mm: no web stays", cut, in.BridgeMM(),
			fields.Figure(in.Die.DiameterMM)),
			fmt.Sprintf("%.4g mm or more between centres", in.Die.DiameterMM+in.Chain.WebMinMM), blamed...)
	} else if web < in.Chain.WebMinMM-noiseMM {
		r.blame(fmt.Sprintf("the web that %s leaves is %.4g mm, thinner than web_min of %s mm", cut, web,
			fields.Figure(in.Chain.WebMinMM)),
			fmt.Sprintf("%.4g mm or more between centres", in.Die.DiameterMM+in.Chain.WebMinMM), blamed...)
	}
	if web > in.WebMaxMM()+noiseMM {
		r.blame(fmt.Sprintf("the web that %s leaves is %.4g mm: it would shut the port", cut, web),
			fmt.Sprintf("at most port_height * (1 - open_share) = %.4g mm", in.WebMaxMM()),
			append(blamed, "bar.port_height", "bar.open_share")...)
	}
}

// BridgeMM is the distance of two centres over a web as it is cut: whole
// steps, rounded down, at least one.
func (in *Instrument) BridgeMM() float64 {
	q := in.StepMM
	if q <= 0 {
		return in.Chain.BridgeSpacingMM
	}
	return max(math.Floor((in.Chain.BridgeSpacingMM+noiseMM)/q), 1) * q
}

// checkPorts refuses ports that overlap or that there may be only one of.
func (r *reader) checkPorts() {
	one := map[Role]string{Sustain: "sustain", Soft: "soft", ThemeBass: "theme_bass", ThemeTreble: "theme_treble"}
	seen := map[Role]bool{}
	for i, p := range r.in.Bar.Ports {
		if name := one[p.Role]; name != "" && seen[p.Role] {
			r.blame("there are two "+name+" ports", "one is enough; none = true in a port block takes it away")
		}
		seen[p.Role] = true
		if p.Role == Register && slices.ContainsFunc(r.in.Bar.Ports[:i], func(q Port) bool {
			return q.Role == Register && q.Stop == p.Stop && (q.Mode == p.Mode || q.Mode == Held || p.Mode == Held)
		}) {
			r.blame(fmt.Sprintf("two ports work stop %q in one way", source.Printable(p.Stop)),
				`a stop has one port with mode = "held", or one with "on" and one with "off"`)
		}
		if i == 0 {
			continue
		}
		if apart := p.AcrossMM - r.in.Bar.Ports[i-1].AcrossMM; apart <= r.in.Die.DiameterMM {
			r.blame(fmt.Sprintf("ports %d and %d lie %.4g mm apart, and the die is %s mm: their holes would run together", i,
				i+1, apart, fields.Figure(r.in.Die.DiameterMM)),
				"a smaller die, or ports further apart", "notes.spacing", "perforator.die", "notes.first")
			return
		}
	}
}

// checkLevels refuses ways of writing loudness that the ports cannot carry.
func (r *reader) checkLevels() {
	v, themes, digits := &r.in.Levels, 0, [3]int{}
	for _, p := range r.in.Bar.Ports {
		switch p.Role {
		case ThemeBass, ThemeTreble:
			themes++
		case Level:
			if digits[p.Half]&p.Weight != 0 {
				r.blame(fmt.Sprintf("two level ports of one half have weight %d", p.Weight), "every port is another binary digit")
			}
			digits[p.Half] |= p.Weight
		}
	}
	if v.PlainLevel == 0 {
		v.PlainLevel = 80
	}
	switch v.Kind {
	case Accents:
		r.checkAccents(themes)
	case Steps:
		numbers := 1 + max(digits[Bass]|digits[BothHalves], digits[Treble]|digits[BothHalves])
		if numbers == 1 || len(v.Steps) != numbers || numbers&(numbers-1) != 0 {
			r.blame(fmt.Sprintf("%d levels for level ports that can say %d numbers", len(v.Steps), numbers),
				"n ports with weights 1, 2, 4 ... say 2^n numbers; write a level for each in steps", "levels.steps", "levels.kind")
		}
	}
}

func (r *reader) checkAccents(themes int) {
	v := &r.in.Levels
	if themes == 0 {
		r.blame("there is no theme port to write accents on", `write port "theme_bass" {...} and port "theme_treble" {...}`,
			"levels.kind")
	}
	if v.AccentLevel <= v.PlainLevel {
		r.blame(fmt.Sprintf("an accent of %d is not louder than plain, %d", v.AccentLevel, v.PlainLevel), "", "levels.accent",
			"levels.plain", "levels.kind")
	}
	if v.AccentShiftSec > 0 && v.AccentShiftSec < 0.001 {
		r.blame("accent_shift is too small to part two notes", `0, or at least "1 ms"`, "levels.accent_shift")
	}
}
