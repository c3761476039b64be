package web

import (
	"fmt"
	"slices"
	"strings"

	"rollwright/music/piece"
	"rollwright/text/blocks"
	"rollwright/text/source"
)

// outline is the blocks and attributes of a text, as far as it can be read, with
// their places as the page counts them. It is there even when the text has
// mistakes.
type outline struct {
	list []outlined
	top  fields
	o    *offsets
	at   map[source.Pos]written // attributes and blocks by the place of their first character
}

// outlined is a voice, tune, canon, section or piano, the show or names of values.
type outlined struct {
	Type   string   `json:"type"`
	Name   string   `json:"name"`
	Path   []string `json:"path"` // as /api/set wants it
	Line   int      `json:"line"`
	From   int      `json:"from"`
	To     int      `json:"to"`
	Fields fields   `json:"fields"`
}

// fields are attributes by name; those of inner blocks as "meet.with", and a
// whole inner block as "meet". What is not written is not there.
type fields map[string]field

// field is the value of an attribute as written, or a block.
type field struct {
	Text string `json:"text"`
	Show string `json:"show"` // without quotes, where it is plain text in them
	From int    `json:"from"`
	To   int    `json:"to"`
	Line int    `json:"line"`
}

// written is an attribute or block with its bytes.
type written struct {
	text       string
	start, end int
}

func newOutline(text string, o *offsets) *outline {
	body, _ := blocks.Parse(&source.File{Text: []byte(text)}, blocks.Options{})
	t := &outline{list: []outlined{}, o: o, at: map[source.Pos]written{}}
	t.top = fields{}
	t.attrs(body, "", t.top)
	t.walk(body, nil)
	return t
}

// parts are the blocks that the page shows as a whole.
var parts = map[string]bool{"voice": true, "tune": true, "canon": true, "section": true, "piano": true, "show": true, "let": true}

// walk lists the parts in a body.
func (t *outline) walk(body *blocks.Body, path []string) {
	count := map[string]int{}
	for _, b := range body.Blocks {
		head := strings.Join(append([]string{b.Type}, b.Labels...), " ")
		count[head]++
		t.at[b.At] = written{b.Text(), b.Start, b.End}
		if !parts[b.Type] {
			continue
		}
		one := outlined{Type: b.Type, Name: b.Label(0), Line: b.At.Line, From: t.o.at(b.Start), To: t.o.at(b.End),
			Fields: fields{}}
		one.Path = append(append([]string{}, path...), stepOf(head, count[head]))
		t.attrs(b.Body, "", one.Fields)
		t.list = append(t.list, one)
		t.walk(b.Body, one.Path)
	}
}

// attrs adds the attributes of a body and of its inner blocks to f.
func (t *outline) attrs(body *blocks.Body, prefix string, f fields) {
	for _, a := range body.Attrs {
		t.at[a.At] = written{a.Raw(), a.Start, a.End}
		f[prefix+a.Name] = t.field(a)
	}
	count := map[string]int{}
	for _, b := range body.Blocks {
		if parts[b.Type] {
			continue
		}
		t.at[b.At] = written{b.Text(), b.Start, b.End}
		if len(b.Labels) > 0 {
			continue
		}
		name := prefix + b.Type
		if count[b.Type]++; count[b.Type] > 1 {
			name = prefix + stepOf(b.Type, count[b.Type]) // a second leg
		}
		f[name] = field{Text: b.Text(), Show: b.Text(), From: t.o.at(b.Start), To: t.o.at(b.End), Line: b.At.Line}
		t.attrs(b.Body, name+".", f)
	}
}

func (t *outline) field(a *blocks.Attr) field {
	f := field{Text: a.Raw(), From: t.o.at(a.Value.Start), To: t.o.at(a.Value.End), Line: a.ValueAt.Line}
	f.Show = f.Text
	if a.Kind() == blocks.Quoted {
		if s, err := a.Str(); err == nil && quoted(s) == f.Text {
			f.Show = s
		}
	}
	return f
}

// named is the voice, tune or canon of that name, or nil.
func (t *outline) named(name string) *outlined {
	for i := range t.list {
		if b := &t.list[i]; b.Name == name && (b.Type == "voice" || b.Type == "tune" || b.Type == "canon") {
			return b
		}
	}
	return nil
}

// inherited are the attributes that a voice has and its own block does not say,
// as they are written elsewhere.
func (t *outline) inherited(places piece.Places, own *outlined) map[string]string {
	out := map[string]string{}
	for name, at := range places {
		if _, said := own.Fields[name]; said || name == "" {
			continue
		}
		if w, ok := t.at[at]; ok && (w.start < t.at[places.Of("")].start || w.start >= t.at[places.Of("")].end) {
			out[name] = w.text
			if name == "speed" {
				out[name] = t.share(own, w.text)
			}
		}
	}
	return out
}

// share is what a voice has of the speeds that its canon writes for all of its
// voices, parted by colons and in their order; any other speed is as it is.
func (t *outline) share(own *outlined, speed string) string {
	outer := own.Path[:len(own.Path)-1]
	number := 0
	var speeds field
	for _, b := range t.list {
		switch {
		case b.Type == "canon" && slices.Equal(b.Path, outer):
			speeds = b.Fields["speeds"]
		case slices.Equal(b.Path, own.Path):
			if all := strings.Split(speeds.Show, ":"); speeds.Text == speed && number < len(all) {
				return strings.TrimSpace(all[number])
			}
			return speed
		case b.Type == "voice" && len(b.Path) == len(own.Path) && slices.Equal(b.Path[:len(outer)], outer):
			number++
		}
	}
	return speed
}

// stepOf is the step of a path to the n-th block with that type and labels.
func stepOf(head string, n int) string { return fmt.Sprintf("%s[%d]", head, n) }
