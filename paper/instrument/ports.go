package instrument

import (
	"cmp"
	"fmt"
	"math/big"
	"slices"
	"strings"

	"rollwright/exact"
	"rollwright/music/pitch"
	"rollwright/text/blocks"
	"rollwright/text/source"
)

// noteRow is the note ports: keys first to last at equal spacing, centred on
// the paper or with the first at a place.
type noteRow struct {
	first, last int
	keys        []int // with gaps, from the bass; nil: all from first to last
	spacing     exact.Rat
	at          *exact.Rat // nil: centred
}

// portPlan is a control port as written: at a place, or so many note spacings
// beyond the last note of one end.
type portPlan struct {
	block  *blocks.Block
	name   string
	port   Port
	at     *exact.Rat
	beyond string // "bass" or "treble"
	places exact.Rat
	none   bool

	notes   bool      // ports of notes, or of percussion: keys, spacing apart
	keys    []int     // from the bass; of anything else one that does not count
	spacing exact.Rat // between the ports of several keys
}

// roles are the names of control ports' roles; the role of a port that does
// not say is its label.
var roles = map[string]Role{
	"sustain": Sustain, "soft": Soft, "theme_bass": ThemeBass, "theme_treble": ThemeTreble, "level": Level,
	"note": Note, "register": Register, "percussion": Percussion, "rewind": Rewind, "play": Play, "shut_off": ShutOff,
}

var halves = map[string]Half{"both": BothHalves, "bass": Bass, "treble": Treble}

// roleNames are those names in the order of a sentence.
const roleNames = "note, percussion, sustain, soft, theme_bass, theme_treble, level, register, play, rewind or shut_off"

var modes = map[string]Mode{"held": Held, "on": On, "off": Off}

// noteBlock reads the row of note ports.
func (r *reader) noteBlock(b *blocks.Block) {
	r.head = b
	r.key(b, "first", &r.notes.first)
	r.key(b, "last", &r.notes.last)
	if a := b.Body.Get("first"); a != nil {
		r.notes.keys = nil // of an instrument that this one is like
	}
	if a := b.Body.Get("keys"); a != nil {
		r.notes.keys = r.keyList(a)
	}
	if a := b.Body.Get("spacing"); a != nil {
		x, err := a.Rat()
		if err == nil && (x.Float64() < 0.1 || x.Float64() > 50) {
			err = a.Error("spacing is out of range", "it runs from 0.1 to 50 mm: 25.4/9 is nine to the inch")
		}
		r.fail(err)
		r.notes.spacing = x
	}
	if a := b.Body.Get("at"); a != nil {
		r.notes.at = nil
		if word, err := a.Str(); a.IsText() && err == nil && word == "centred" {
			return
		}
		r.notes.at = r.across(a)
	}
}

// across reads a place from the bass edge.
func (r *reader) across(a *blocks.Attr) *exact.Rat {
	x, err := a.Rat()
	if err == nil && (x.Float64() < -50 || x.Float64() > 1050) {
		err = a.Error(a.Name+" is out of range", "millimetres from the bass edge of the paper to the middle of the port")
	}
	r.fail(err)
	return &x
}

// key reads a pitch such as "A0" or a key's number.
func (r *reader) key(b *blocks.Block, name string, to *int) {
	a := b.Body.Get(name)
	if a == nil {
		return
	}
	key, ok := 0, false
	if a.IsText() {
		s, err := a.Str()
		if err != nil {
			r.fail(err)
			return
		}
		pitch, e := pitch.Parse(s)
		key, ok = pitch, e == nil
	} else if n, err := a.Int(); err == nil {
		key, ok = n, n >= 0 && n <= 127
	}
	if !ok {
		r.fail(a.Error("a key is wanted", `write a letter, # or b if wanted, and the octave, "A0", or a number from 0 to 127; C4 is 60`))
		return
	}
	*to = key
}

// keyList reads keys in the order of their ports, from the bass: "C3 D3 G3".
func (r *reader) keyList(a *blocks.Attr) []int {
	const hint = `write the pitches from the bass edge on: "C3 D3 G3 A3 B3 C4"`
	s, err := a.Str()
	if err != nil {
		r.fail(err)
		return nil
	}
	var out []int
	for _, word := range strings.Fields(s) {
		key, e := pitch.Parse(word)
		if e != nil || key < 0 || key > 127 {
			r.fail(a.Error(fmt.Sprintf("%s is no key", source.Printable(word)), hint))
			return nil
		}
		out = append(out, key)
	}
	if len(out) == 0 || len(out) > mostKeys {
		r.fail(a.Error("no keys, or too many", hint))
		return nil
	}
	return out
}

// mostKeys is more than any bar has.
const mostKeys = 500

// struck reads what a port, or a run of ports, of notes or percussion says of keys.
func (r *reader) struck(p *portPlan, body *blocks.Body) {
	p.notes = true
	if body.Get("key") != nil {
		key := -1
		if r.key(p.block, "key", &key); key >= 0 {
			p.keys = []int{key}
		}
	}
	if a := body.Get("keys"); a != nil {
		p.keys = r.keyList(a)
	}
	if a := body.Get("spacing"); a != nil {
		x, err := a.Rat()
		if err == nil && (x.Float64() < 0.1 || x.Float64() > 50) {
			err = a.Error("spacing is out of range", "it runs from 0.1 to 50 mm")
		}
		r.fail(err)
		p.spacing = x
	}
	switch {
	case len(p.keys) == 0 && len(r.errs) == 0:
		r.fail(p.block.Error("this port has no key", `write key = "C4", or keys = "C3 D3 G3" for a run of ports`))
	case len(p.keys) > 1 && p.spacing.Sign() == 0:
		r.fail(p.block.Error("this run of ports has no spacing", "write spacing = 3.85, millimetres from port to port"))
	}
}

// port reads a control port over one of the same name that a base gave.
func (r *reader) port(b *blocks.Block) {
	name := b.Label(0)
	i, known := r.named[name]
	if !known {
		i = len(r.ports)
		r.named[name] = i
		r.ports = append(r.ports, portPlan{name: name, port: Port{Role: roles[name], Weight: 1}})
	}
	p := &r.ports[i]
	p.block = b
	body := b.Body
	if a := body.Get("role"); a != nil {
		p.port.Role = word(r, a, roles, roleNames)
	} else if p.port.Role == Note && !p.notes {
		r.fail(b.Error("this port does nothing", `write port "sustain" {...}, or role = "..." in it: `+roleNames))
	}
	if a := body.Get("stop"); a != nil {
		s, err := a.Str()
		r.fail(err)
		p.port.Stop = s
	} else if p.port.Role == Register && p.port.Stop == "" {
		p.port.Stop = name
	}
	if a := body.Get("mode"); a != nil {
		p.port.Mode = word(r, a, modes, "held, on or off")
	}
	if p.port.Struck() && (body.Get("role") != nil || p.notes) {
		r.struck(p, body)
	}
	if a := body.Get("half"); a != nil {
		p.port.Half = word(r, a, halves, "bass, treble or both")
	}
	if a := body.Get("weight"); a != nil {
		n, err := a.Int()
		if err == nil && (n < 1 || n > 32 || n&(n-1) != 0) {
			err = a.Error("a weight is a binary digit", "write 1, 2, 4, 8, 16 or 32")
		}
		r.fail(err)
		p.port.Weight = n
	}
	if a := body.Get("none"); a != nil {
		none, err := a.Bool()
		r.fail(err)
		p.none = none
	}
	r.portPlace(p, body)
}

func (r *reader) portPlace(p *portPlan, body *blocks.Body) {
	if a := body.Get("at"); a != nil {
		p.at, p.beyond = r.across(a), ""
	}
	if a := body.Get("beyond"); a != nil {
		p.beyond = word(r, a, map[string]string{"bass": "bass", "treble": "treble"}, "bass or treble")
		p.at = nil
	}
	if a := body.Get("place"); a != nil {
		n, err := a.Rat()
		if err == nil && (n.Float64() < 0.1 || n.Float64() > 100) {
			err = a.Error("place is out of range", "it counts note spacings outwards from the last note: 3 is the third place")
		}
		r.fail(err)
		p.places = n
	}
	if p.at == nil && (p.beyond == "" || p.places.Sign() == 0) && !p.none {
		r.fail(p.block.Error("this port has no place", "write beyond = \"bass\" and place = 3 (the third place outwards from the last note),\nor at = 11.6 (millimetres from the bass edge)"))
	}
}

// word reads one of the words that names lists.
func word[T any](r *reader, a *blocks.Attr, names map[string]T, list string) T {
	s, err := a.Str()
	x, ok := names[s]
	if err == nil && !ok {
		err = a.Error(fmt.Sprintf("%s cannot be %q", a.Name, source.Printable(s)), "write "+list)
	}
	r.fail(err)
	return x
}

// place computes the ports from exact fractions, rounding each once.
func (r *reader) place() {
	n := &r.notes
	if (r.head == nil || n.spacing.Sign() == 0 || n.last < n.first) && !r.anyNotes() {
		r.fail(&source.Error{File: r.in.File, Problem: "the instrument has no notes",
			Hint: "write\nnotes {\n  first   = \"A0\"\n  last    = \"C8\"\n  spacing = 25.4/9\n}"})
		return
	}
	spacing := n.spacing.Big()
	keys := n.all(r.head != nil)
	span := new(big.Rat).Mul(spacing, big.NewRat(int64(max(len(keys)-1, 0)), 1))
	low := new(big.Rat)
	if n.at != nil {
		low = n.at.Big()
	} else {
		width := new(big.Rat).SetFloat64(r.in.Paper.WidthMM)
		if v := r.given["paper.width"]; v != nil {
			if x, err := v.Rat(); err == nil {
				width = x.Big()
			}
		}
		low.Mul(new(big.Rat).Sub(width, span), big.NewRat(1, 2))
	}
	for i, key := range keys {
		at := new(big.Rat).Mul(spacing, big.NewRat(int64(i), 1))
		r.add(at.Add(at, low), Port{Role: Note, Key: key})
	}
	for _, p := range r.ports {
		if p.none {
			continue
		}
		at := p.position(low, span, spacing)
		if !p.notes {
			r.add(at, p.port)
			continue
		}
		for i, key := range p.keys {
			one := p.port
			one.Key = key
			off := new(big.Rat).Mul(p.spacing.Big(), big.NewRat(int64(i), 1))
			r.add(off.Add(off, at), one)
		}
	}
	slices.SortStableFunc(r.in.Bar.Ports, func(a, b Port) int { return cmp.Compare(a.AcrossMM, b.AcrossMM) })
	if r.given["bar.split"] == nil {
		low, high := 127, 0
		for _, p := range r.in.Bar.Ports {
			if p.Role == Note {
				low, high = min(low, p.Key), max(high, p.Key)
			}
		}
		r.in.Bar.SplitKey = (low + high + 1) / 2
	}
}

// all are the keys of the row, from the bass; none where there is no row.
func (n *noteRow) all(given bool) []int {
	if !given || n.keys != nil {
		return n.keys
	}
	var out []int
	for key := n.first; key <= n.last; key++ {
		out = append(out, key)
	}
	return out
}

// anyNotes reports whether ports of notes stand by themselves.
func (r *reader) anyNotes() bool {
	return r.notes.keys != nil && r.notes.spacing.Sign() > 0 ||
		slices.ContainsFunc(r.ports, func(p portPlan) bool { return p.notes && !p.none && p.port.Role == Note })
}

func (r *reader) add(at *big.Rat, p Port) {
	p.AcrossMM, _ = at.Float64()
	r.in.Bar.Ports = append(r.in.Bar.Ports, p)
}

// position is where a control port lies, given the first note, the span from
// first to last note and their spacing.
func (p *portPlan) position(low, span, spacing *big.Rat) *big.Rat {
	if p.at != nil {
		return p.at.Big()
	}
	out := new(big.Rat).Mul(spacing, p.places.Big())
	if p.beyond == "bass" {
		return out.Sub(low, out)
	}
	return out.Add(new(big.Rat).Add(low, span), out)
}
