package show

import (
	"cmp"
	"slices"
	"strings"

	"rollwright/music/event"
	"rollwright/music/perform"
	"rollwright/music/piece"
	"rollwright/music/pitch"
	"rollwright/telling/onpage"
	"rollwright/text/words"
)

// taleaLabels are the durations of a voice in units, in the order in which the
// voice begins with them, silences in parentheses.
func taleaLabels(v *piece.Voice) []string {
	labels := make([]string, len(v.Talea))
	for i := range labels {
		d := v.Talea[turned(i, v.RotateTalea, len(v.Talea))]
		labels[i] = d.Units.String()
		if d.Silent {
			labels[i] = "(" + labels[i] + ")"
		}
	}
	return labels
}

// colorLabels are the pitches of a voice, in the order in which it begins with
// them, as they sound the first time.
func colorLabels(book *words.Book, in *Input, voice int) []string {
	v, line := &in.piece().Voices[voice], in.Performance.Lines[voice]
	labels := make([]string, len(v.Color))
	left := len(labels)
	var names []pitch.Named
	for item := range line.All() {
		if item.Silent {
			continue
		}
		at := shown(item.ColorPlace, v.RotateColor, len(v.Color))
		if labels[at] == "" {
			names = line.Named(item, names[:0])
			labels[at] = keyNames(book, names, v.Color[item.ColorPlace].Gesture.Manner())
			left--
		}
		if left == 0 {
			break
		}
	}
	for i := range labels { // members that the voice never comes to
		if labels[i] == "" {
			p := &v.Color[turned(i, v.RotateColor, len(v.Color))]
			names = names[:0]
			for k, key := range p.Keys {
				names = append(names, pitch.Named{Key: key, Spelling: p.Spelling(k).For(key)})
			}
			labels[i] = keyNames(book, names, p.Gesture.Manner())
		}
	}
	return labels
}

// keyNames are the names of the keys of a chord, from the lowest; of a gesture those of its
// first and its last stroke, of a large chord the lowest and the highest.
func keyNames(b *words.Book, keys []pitch.Named, g piece.GestureKind) string {
	if len(keys) == 0 {
		return "–"
	}
	if g == piece.Plain || g == piece.Repeat || g == piece.Cluster {
		slices.SortStableFunc(keys, func(a, b pitch.Named) int { return cmp.Compare(a.Key, b.Key) })
		keys = slices.CompactFunc(keys, func(a, b pitch.Named) bool { return a.Key == b.Key })
	}
	if n := len(keys); g != piece.Plain && g != piece.Repeat && n > 1 || n > 4 {
		return b.Note(keys[0].String()) + "…" + b.Note(keys[n-1].String())
	}
	names := make([]string, len(keys))
	for i, k := range keys {
		names[i] = b.Note(k.String())
	}
	return strings.Join(names, "+")
}

// turned is the member of a rotated cycle of n that comes i-th.
func turned(i, by, n int) int { return ((i+by)%n + n) % n }

// shown is where a member of a rotated cycle of n stands in it.
func shown(member, by, n int) int { return turned(member, -by, n) }

// lineData is a voice for the page's counters: its items one after the other.
type lineData struct {
	Name   string    `json:"name"`
	Hue    string    `json:"hue"`
	Dash   []float64 `json:"dash"` // of its rim, in widths of the line
	Notes  int       `json:"notes"`
	Talea  []string  `json:"talea"`
	Color  []string  `json:"color"`
	Units  []float64 `json:"units"`  // of the talea's members
	Talea1 int       `json:"taleae"` // statements of the talea, the last one perhaps not whole
	Color1 int       `json:"colores"`
	Items  itemData  `json:"items"`
}

// itemData are columns: one entry an item.
type itemData struct {
	At     []int64 `json:"at"`     // when it begins, in microseconds of the piece
	End    int64   `json:"end"`    // when the last one ends
	Note   []int   `json:"note"`   // from 1; 0: silent
	Talea  []int   `json:"talea"`  // place, from 0
	Color  []int   `json:"color"`  // place, from 0; that of the note before for a silence, -1 before the first
	TaleaN []int   `json:"taleaN"` // time through, from 1
	ColorN []int   `json:"colorN"` // time through, from 1; 0 before the first note
}

// lineOf is the data of a voice.
func lineOf(book *words.Book, in *Input, voice int) *lineData {
	v, line := &in.piece().Voices[voice], in.Performance.Lines[voice]
	d := &lineData{Name: v.Name, Notes: line.Notes, Talea: taleaLabels(v), Color: colorLabels(book, in, voice),
		Talea1: line.Taleae.Begun, Color1: line.Colores.Begun}
	d.Hue, d.Dash = rim(voice)
	for i := range v.Talea {
		d.Units = append(d.Units, v.Talea[turned(i, v.RotateTalea, len(v.Talea))].Units.Float64())
	}
	var c counting
	for item := range line.All() {
		d.Items.add(item, &c, v)
	}
	d.Items.End = onpage.Micros(line.EndSec)
	return d
}

// counting counts times through in the order in which they sound, backward
// voices included.
type counting struct {
	talea, color   int // statement that is on, as written
	taleaN, colorN int
	place          int // of the color
	begun          bool
}

func (d *itemData) add(item perform.Item, c *counting, v *piece.Voice) {
	if !c.begun {
		c.begun, c.talea, c.color, c.place = true, item.Talea, -1, -1
		c.taleaN = 1
	}
	if item.Talea != c.talea {
		c.talea = item.Talea
		c.taleaN++
	}
	if !item.Silent {
		if item.Color != c.color {
			c.color = item.Color
			c.colorN++
		}
		c.place = shown(item.ColorPlace, v.RotateColor, len(v.Color))
	}
	d.At = append(d.At, onpage.Micros(item.StartSec))
	d.Note = append(d.Note, item.Note)
	d.Talea = append(d.Talea, shown(item.TaleaPlace, v.RotateTalea, len(v.Talea)))
	d.Color = append(d.Color, c.place)
	d.TaleaN = append(d.TaleaN, c.taleaN)
	d.ColorN = append(d.ColorN, c.colorN)
}

// melodyItems are the items of a melody alone: its notes, at the times of the
// events.
func melodyItems(in *Input, voice int, events []event.Event) itemData {
	at := map[int32]float64{}
	var end float64
	for _, e := range events {
		if sec, ok := at[e.Note]; !ok || e.StartSec < sec {
			at[e.Note] = e.StartSec
		}
		end = max(end, e.EndSec)
	}
	v := &in.piece().Voices[voice]
	var d itemData
	var c counting
	for item := range in.Performance.Lines[voice].All() {
		if sec, ok := at[int32(item.Note)]; ok && !item.Silent {
			item.StartSec = sec
			d.add(item, &c, v)
		}
	}
	d.End = onpage.Micros(end)
	return d
}
