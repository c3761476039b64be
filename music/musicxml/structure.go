package musicxml

import (
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"regexp"
	"slices"
	"strconv"
	"strings"
)

// particle is one place in the sequence of an element's children: any of the
// names, so many times together.
type particle struct {
	names []string
	least int
	most  int // -1: any number
}

func one(names ...string) particle   { return particle{names: names, least: 1, most: 1} }
func maybe(names ...string) particle { return particle{names: names, most: 1} }
func anyOf(names ...string) particle { return particle{names: names, most: -1} }
func some(names ...string) particle  { return particle{names: names, least: 1, most: -1} }

// upTo is a child that may stand so many times.
func upTo(n int, name string) particle { return particle{names: []string{name}, most: n} }

// element is what the standard says of an element.
type element struct {
	children []particle
	text     *regexp.Regexp            // of an element with text
	attrs    map[string]*regexp.Regexp // those that must be there
	may      map[string]*regexp.Regexp // those that may be
}

func pattern(p string) *regexp.Regexp { return regexp.MustCompile(`^(?:` + p + `)$`) }

// Types of the standard, as patterns.
var (
	anyText     = pattern(`(?s).*`)
	nonEmpty    = pattern(`(?s).+`)
	whole       = pattern(`[+-]?[0-9]+`)
	count       = pattern(`[0-9]+`)
	positive    = pattern(`[0-9]*[1-9][0-9]*(?:\.[0-9]+)?|0*\.[0-9]*[1-9][0-9]*`)
	tempoType   = pattern(`[0-9]+(?:\.[0-9]+)?`)
	startStop   = pattern(`start|stop`)
	pedalType   = pattern(`start|stop|sostenuto|change|continue|discontinue|resume`)
	tiedType    = pattern(`start|stop|continue|let-ring`)
	yesNo       = pattern(`yes|no`)
	aboveBelow  = pattern(`above|below`)
	noteType    = pattern(`1024th|512th|256th|128th|64th|32nd|16th|eighth|quarter|half|whole|breve|long|maxima`)
	accidental  = pattern(`sharp|natural|flat|double-sharp|sharp-sharp|flat-flat|natural-sharp|natural-flat`)
	clefSign    = pattern(`G|F|C|percussion|TAB|jianpu|none`)
	barStyle    = pattern(`regular|dotted|dashed|heavy|light-light|light-heavy|heavy-light|heavy-heavy|tick|short|none`)
	rightLeft   = pattern(`left|right|middle`)
	tremoloType = pattern(`start|stop|single|unmeasured`)
)

// structure is the part of MusicXML 4.0 that this package writes: the order,
// number and types of elements and attributes as its reference prints them
// (w3.org/2021/06/musicxml40, from memory; names that are not written are left
// out where they may be absent).
var structure = map[string]element{
	"score-partwise": {children: []particle{maybe("work"), maybe("movement-number"), maybe("movement-title"),
		maybe("identification"), maybe("defaults"), anyOf("credit"), one("part-list"), some("part")},
		may: map[string]*regexp.Regexp{"version": pattern(`4\.0`)}},
	"work":       {children: []particle{maybe("work-number"), maybe("work-title"), maybe("opus")}},
	"work-title": {text: anyText},
	"identification": {children: []particle{anyOf("creator"), anyOf("rights"), maybe("encoding"), maybe("source"),
		anyOf("relation"), maybe("miscellaneous")}},
	"creator": {text: anyText, may: map[string]*regexp.Regexp{"type": nonEmpty}},
	"encoding": {children: []particle{anyOf("encoding-date", "encoder", "software", "encoding-description",
		"supports")}},
	"software":  {text: anyText},
	"supports":  {attrs: map[string]*regexp.Regexp{"type": yesNo, "element": nonEmpty}},
	"part-list": {children: []particle{anyOf("part-group"), one("score-part"), anyOf("part-group", "score-part")}},
	"score-part": {children: []particle{maybe("identification"), anyOf("part-link"), one("part-name"),
		maybe("part-name-display"), maybe("part-abbreviation"), maybe("part-abbreviation-display"), anyOf("group"),
		anyOf("score-instrument"), anyOf("player"), anyOf("midi-device", "midi-instrument")},
		attrs: map[string]*regexp.Regexp{"id": pattern(`[A-Za-z_][\w.-]*`)}},
	"part-name": {text: anyText},
	"score-instrument": {children: []particle{one("instrument-name"), maybe("instrument-abbreviation"),
		maybe("instrument-sound"), maybe("solo", "ensemble"), maybe("virtual-instrument")},
		attrs: map[string]*regexp.Regexp{"id": pattern(`[A-Za-z_][\w.-]*`)}},
	"instrument-name":  {text: anyText},
	"instrument-sound": {text: anyText},
	"midi-instrument": {children: []particle{maybe("midi-channel"), maybe("midi-name"), maybe("midi-bank"),
		maybe("midi-program"), maybe("midi-unpitched"), maybe("volume"), maybe("pan"), maybe("elevation")},
		attrs: map[string]*regexp.Regexp{"id": pattern(`[A-Za-z_][\w.-]*`)}},
	"midi-channel": {text: pattern(`[1-9]|1[0-6]`)},
	"midi-program": {text: pattern(`[1-9]|[1-9][0-9]|1[01][0-9]|12[0-8]`)},
	"part": {children: []particle{some("measure")},
		attrs: map[string]*regexp.Regexp{"id": pattern(`[A-Za-z_][\w.-]*`)}},
	"measure": {
		children: []particle{anyOf("note", "backup", "forward", "direction", "attributes", "harmony", "figured-bass", "print",
			"sound", "listening", "barline", "grouping", "link", "bookmark")},
		attrs: map[string]*regexp.Regexp{"number": nonEmpty},
		may:   map[string]*regexp.Regexp{"implicit": yesNo, "non-controlling": yesNo},
	},
	"attributes": {children: []particle{maybe("footnote"), maybe("level"), maybe("divisions"), anyOf("key"),
		anyOf("time"), maybe("staves"), maybe("part-symbol"), maybe("instruments"), anyOf("clef"), anyOf("staff-details"),
		anyOf("transpose"), anyOf("directive"), anyOf("measure-style")}},
	"divisions":    {text: positive},
	"key":          {children: []particle{maybe("cancel"), one("fifths"), maybe("mode")}},
	"fifths":       {text: whole},
	"time":         {children: []particle{maybe("beats", "senza-misura"), maybe("beat-type")}},
	"beats":        {text: nonEmpty},
	"beat-type":    {text: nonEmpty},
	"senza-misura": {text: anyText},
	"staves":       {text: count},
	"clef": {children: []particle{one("sign"), maybe("line"), maybe("clef-octave-change")},
		may: map[string]*regexp.Regexp{"number": positive}},
	"sign":               {text: clefSign},
	"line":               {text: whole},
	"clef-octave-change": {text: whole},
	"direction": {children: []particle{some("direction-type"), maybe("offset"), maybe("footnote"), maybe("level"),
		maybe("voice"), maybe("staff"), maybe("sound"), maybe("listening")},
		may: map[string]*regexp.Regexp{"placement": aboveBelow}},
	"direction-type": {children: []particle{some("words", "dynamics", "metronome", "pedal")}},
	"words":          {text: anyText},
	"pedal": {attrs: map[string]*regexp.Regexp{"type": pedalType},
		may: map[string]*regexp.Regexp{"line": yesNo, "sign": yesNo}},
	"offset":   {text: pattern(`-?[0-9]+(?:\.[0-9]+)?`), may: map[string]*regexp.Regexp{"sound": yesNo}},
	"dynamics": {children: []particle{anyOf("p", "pp", "ppp", "f", "ff", "fff", "mp", "mf")}},
	"p":        {}, "pp": {}, "ppp": {}, "f": {}, "ff": {}, "fff": {}, "mp": {}, "mf": {},
	"metronome":     {children: []particle{one("beat-unit"), anyOf("beat-unit-dot"), one("per-minute")}},
	"beat-unit":     {text: noteType},
	"beat-unit-dot": {},
	"per-minute":    {text: nonEmpty},
	"sound":         {may: map[string]*regexp.Regexp{"tempo": tempoType}},
	"note": {children: []particle{maybe("grace"), maybe("chord"), one("pitch", "unpitched", "rest"),
		maybe("duration"), upTo(2, "tie"), anyOf("instrument"), maybe("footnote"), maybe("level"), maybe("voice"),
		maybe("type"), anyOf("dot"), maybe("accidental"), maybe("time-modification"), maybe("stem"), maybe("notehead"),
		maybe("notehead-text"), maybe("staff"), upTo(8, "beam"), anyOf("notations"), anyOf("lyric"), maybe("play"),
		maybe("listen")}},
	"grace": {may: map[string]*regexp.Regexp{"slash": yesNo}},
	"chord": {},
	"rest": {children: []particle{maybe("display-step"), maybe("display-octave")},
		may: map[string]*regexp.Regexp{"measure": yesNo}},
	"pitch":      {children: []particle{one("step"), maybe("alter"), one("octave")}},
	"step":       {text: pattern(`[A-G]`)},
	"alter":      {text: pattern(`[+-]?[0-9]+(?:\.[0-9]+)?`)},
	"octave":     {text: pattern(`[0-9]`)},
	"duration":   {text: positive},
	"tie":        {attrs: map[string]*regexp.Regexp{"type": startStop}},
	"voice":      {text: nonEmpty},
	"type":       {text: noteType},
	"dot":        {},
	"accidental": {text: accidental},
	"time-modification": {children: []particle{one("actual-notes"), one("normal-notes"), maybe("normal-type"),
		anyOf("normal-dot")}},
	"actual-notes": {text: count},
	"normal-notes": {text: count},
	"staff":        {text: count},
	"beam": {text: pattern(`begin|continue|end|forward hook|backward hook`),
		may: map[string]*regexp.Regexp{"number": pattern(`[1-8]`)}},
	"notations": {children: []particle{maybe("footnote"), maybe("level"),
		anyOf("tied", "slur", "tuplet", "glissando", "slide", "ornaments", "technical", "articulations", "dynamics",
			"fermata", "arpeggiate", "non-arpeggiate", "accidental-mark", "other-notation")}},
	"tied": {attrs: map[string]*regexp.Regexp{"type": tiedType}},
	"tuplet": {attrs: map[string]*regexp.Regexp{"type": startStop},
		may: map[string]*regexp.Regexp{"bracket": yesNo}},
	"ornaments":  {children: []particle{anyOf("trill-mark", "turn", "mordent", "tremolo")}},
	"trill-mark": {},
	"tremolo":    {text: pattern(`[0-8]`), may: map[string]*regexp.Regexp{"type": tremoloType}},
	"arpeggiate": {may: map[string]*regexp.Regexp{"direction": regexp.MustCompile(`^(up|down)$`)}},
	"barline": {children: []particle{maybe("bar-style"), maybe("editorial"), maybe("wavy-line"), maybe("segno"),
		maybe("coda"), upTo(2, "fermata"), anyOf("ending"), maybe("repeat")},
		may: map[string]*regexp.Regexp{"location": rightLeft}},
	"bar-style": {text: barStyle},
}

// maxDepth bounds nested elements.
const maxDepth = 64

// seen is an element while its end has not come.
type seen struct {
	name     string
	line     int
	children []string
	text     strings.Builder
}

// Check holds a MusicXML file against the structure of the standard, as far as
// this package writes it, and returns everything that is wrong: elements that
// are not known, out of order, missing or too many, values of the wrong type,
// parts that are not in the list.
func Check(r io.Reader) error {
	d := xml.NewDecoder(r)
	c := &checker{}
	for {
		t, err := d.Token()
		if err == io.EOF {
			break
		}
		if err != nil {
			return fmt.Errorf("musicxml: %w", err)
		}
		line, _ := d.InputPos()
		switch t := t.(type) {
		case xml.StartElement:
			if len(c.stack) == maxDepth {
				return fmt.Errorf("musicxml: elements nested deeper than %d", maxDepth)
			}
			c.start(t, line)
		case xml.CharData:
			if n := len(c.stack); n > 0 {
				c.stack[n-1].text.Write(t)
			}
		case xml.EndElement:
			c.end()
		}
		if len(c.wrong) > 20 {
			break
		}
	}
	if !c.root {
		c.say(1, "there is no element")
	}
	for _, id := range c.parts {
		if !slices.Contains(c.listed, id) {
			c.say(1, "part %q is not in the part-list", id)
		}
	}
	return errors.Join(c.wrong...)
}

type checker struct {
	stack         []*seen
	wrong         []error
	root          bool
	listed, parts []string
}

func (c *checker) say(line int, format string, args ...any) {
	c.wrong = append(c.wrong, fmt.Errorf("musicxml: line "+strconv.Itoa(line)+": "+format, args...))
}

func (c *checker) start(t xml.StartElement, line int) {
	name := t.Name.Local
	if n := len(c.stack); n > 0 {
		c.stack[n-1].children = append(c.stack[n-1].children, name)
	} else if c.root = true; name != "score-partwise" {
		c.say(line, "the root is %s, want score-partwise", name)
	}
	c.stack = append(c.stack, &seen{name: name, line: line})
	e, ok := structure[name]
	if !ok {
		c.say(line, "element %s is not known", name)
		return
	}
	has := map[string]bool{}
	for _, a := range t.Attr {
		key := a.Name.Local
		has[key] = true
		p := e.attrs[key]
		if p == nil {
			p = e.may[key]
		}
		switch {
		case p == nil:
			c.say(line, "%s has no attribute %s", name, key)
		case !p.MatchString(a.Value):
			c.say(line, "%s %s=%q: want %s", name, key, a.Value, p)
		}
		if key == "id" && name == "score-part" {
			c.listed = append(c.listed, a.Value)
		}
		if key == "id" && name == "part" {
			c.parts = append(c.parts, a.Value)
		}
	}
	for _, key := range sortedKeys(e.attrs) {
		if !has[key] {
			c.say(line, "%s lacks its attribute %s", name, key)
		}
	}
}

func sortedKeys(m map[string]*regexp.Regexp) []string {
	var keys []string
	for k := range m {
		keys = append(keys, k)
	}
	slices.Sort(keys)
	return keys
}

func (c *checker) end() {
	s := c.stack[len(c.stack)-1]
	c.stack = c.stack[:len(c.stack)-1]
	e, ok := structure[s.name]
	if !ok {
		return
	}
	text := strings.TrimSpace(s.text.String())
	switch {
	case e.text != nil && !e.text.MatchString(text):
		c.say(s.line, "%s is %q: want %s", s.name, text, e.text)
	case e.text == nil && text != "":
		c.say(s.line, "%s holds the text %q and should hold none", s.name, text)
	}
	c.order(s, e)
	if s.name == "note" && slices.Contains(s.children, "duration") == slices.Contains(s.children, "grace") {
		c.say(s.line, "a note has a duration, or is a grace note")
	}
	if s.name == "time" && slices.Contains(s.children, "beats") != slices.Contains(s.children, "beat-type") {
		c.say(s.line, "time has beats and beat-type together")
	}
}

// order compares the children of an element with its particles.
func (c *checker) order(s *seen, e element) {
	rest := s.children
	for _, p := range e.children {
		n := 0
		for len(rest) > 0 && slices.Contains(p.names, rest[0]) && (p.most < 0 || n < p.most) {
			rest = rest[1:]
			n++
		}
		if n < p.least {
			found := "its end"
			if len(rest) > 0 {
				found = rest[0]
			}
			c.say(s.line, "%s: found %s where %s must stand", s.name, found, strings.Join(p.names, " or "))
			return
		}
	}
	if len(rest) > 0 {
		c.say(s.line, "%s: %s may not stand there", s.name, rest[0])
	}
}
