package find

import (
	"fmt"
	"io"
	"slices"
	"strings"

	"rollwright/music/piecefile"
	"rollwright/text/draft"
	"rollwright/text/say"
)

// Item is a line of what is said about a voice or a canon, without the label of the
// line before where it goes on.
type Item struct{ Label, Says string }

// items are what write would write, unbroken.
func (d *Design) items(write func(t *text)) []Item {
	var out []Item
	t := &text{d: d, said: map[string]bool{}}
	t.each = func(label, said string) { out = append(out, Item{label, said}) }
	write(t)
	return out
}

// Summary says in a sentence or two how many notes there are and how many of them
// are explained.
func (d *Design) Summary() string {
	var t text
	t.d = d
	return t.summary()
}

// VoiceItems are what WriteText says of a voice, by its index.
func (d *Design) VoiceItems(voice int) []Item {
	return d.items(func(t *text) { t.voice(&d.Voices[voice]) })
}

// CanonItems are what WriteText says of a canon, by its index.
func (d *Design) CanonItems(canon int) []Item {
	return d.items(func(t *text) { t.canon(&d.Canons[canon]) })
}

// Begin is where a statement of a series begins.
type Begin struct {
	Statement int // from 1
	Row       int // index into Notes: of the first note of the statement that is there, the lowest of a chord
}

// TaleaBegins are the beginnings of the statements of a voice's talea; nil without
// one.
func (v *Voice) TaleaBegins() []Begin {
	if v.Talea == nil || v.rhythm == nil {
		return nil
	}
	return v.begins(v.rhythm.places, len(v.Talea.Durations))
}

// ColorBegins are those of its color.
func (v *Voice) ColorBegins() []Begin {
	if v.Color == nil || v.melody == nil {
		return nil
	}
	return v.begins(v.melody.places, len(v.Color.Pitches))
}

func (v *Voice) begins(places []int, members int) []Begin {
	var out []Begin
	for k, place := range places {
		if place == absent || place < 0 {
			continue
		}
		n := place/members + 1
		if len(out) == 0 || out[len(out)-1].Statement < n {
			out = append(out, Begin{n, v.steps[k].rows[0]})
		}
	}
	return out
}

// Partners are the notes of leader and follower that are one note of the line, as
// indices into Notes, the lowest of a chord.
func (d *Design) Partners(c *Canon) [][2]int {
	leader, follower := d.Voices[c.Leader].steps, d.Voices[c.Follower].steps
	out := make([][2]int, len(c.pairs))
	for i, p := range c.pairs {
		out[i] = [2]int{leader[p[0]].rows[0], follower[p[1]].rows[0]}
	}
	return out
}

// WriteDraftOf is WriteDraft for some of the voices alone, by their indices.
func WriteDraftOf(w io.Writer, d *Design, name string, voices []int) error {
	t := &drafting{d: d, taken: map[string]bool{}}
	var names []string
	for i := range d.Voices {
		if slices.Contains(voices, i) {
			names = append(names, d.Voices[i].Name)
		} else {
			t.done = append(t.done, i)
		}
	}
	count := "the voice "
	if len(names) > 1 {
		count = "the voices "
	}
	head := fmt.Sprintf("What was found in %s: %s%s, of %s.", name, count, strings.Join(names, ", "),
		say.Count(len(d.Voices), "voice"))
	title := strings.TrimSuffix(name, ".csv") + ", " + strings.Join(names, " and ")
	t.entries = append(t.entries, draft.Attr("title", draft.Quoted(title)))
	for i := range d.Voices {
		t.voice(i)
	}
	if len(t.left) > 0 {
		slices.Sort(t.left)
		t.lines("rest", "Notes that no series explains, at the times of the table, a unit a second.", t.left)
	}
	text, err := piecefile.DraftText(&draft.Draft{Head: head, Entries: t.entries})
	if err != nil {
		return err
	}
	_, err = w.Write(text)
	return err
}
