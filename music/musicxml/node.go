package musicxml

import (
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"

	"rollwright/exact"
)

// node is an element with everything in it.
type node struct {
	name string
	attr map[string]string
	text string
	kids []*node
}

// deepest is how far elements may be nested.
const deepest = 40

// tree reads an element to its end.
func tree(d *xml.Decoder, start xml.StartElement, depth int) (*node, error) {
	if depth > deepest {
		return nil, errors.New("elements nested too deep")
	}
	n := &node{name: start.Name.Local}
	for _, a := range start.Attr {
		if n.attr == nil {
			n.attr = map[string]string{}
		}
		n.attr[a.Name.Local] = a.Value
	}
	for {
		t, err := d.Token()
		if err != nil {
			return nil, err
		}
		switch t := t.(type) {
		case xml.EndElement:
			n.text = strings.TrimSpace(n.text)
			return n, nil
		case xml.CharData:
			if len(n.kids) == 0 {
				n.text += string(t)
			}
		case xml.StartElement:
			kid, err := tree(d, t, depth+1)
			if err != nil {
				return nil, err
			}
			n.kids = append(n.kids, kid)
		case xml.Directive:
			if err := refuseEntities(t); err != nil {
				return nil, err
			}
		}
	}
}

// refuseEntities refuses a document type that defines entities. The type itself is
// passed over: nothing is fetched.
func refuseEntities(d xml.Directive) error {
	if bytes.Contains(d, []byte("<!ENTITY")) {
		return errors.New("it defines entities of its own, which are not read")
	}
	return nil
}

// get is the first child of a name, an empty one when there is none.
func (n *node) get(name string) *node {
	for _, k := range n.kids {
		if k.name == name {
			return k
		}
	}
	return &node{}
}

func (n *node) has(name string) bool { return n.get(name).name != "" }

func (n *node) all(name string, each func(*node)) {
	for _, k := range n.kids {
		if k.name == name {
			each(k)
		}
	}
}

// fraction is a number as an exact fraction, of bounded size.
func fraction(text, what string) (exact.Rat, error) {
	text = strings.TrimSpace(text)
	x, err := exact.ParseRat(strings.TrimPrefix(text, "+"))
	if err != nil || len(text) > 18 || x.Sign() < 0 || x.Cmp(exact.Int(1_000_000_000)) > 0 {
		return exact.Rat{}, fmt.Errorf("%s %q: want a number", what, text)
	}
	return x, nil
}

func integer(text string) int {
	n, err := strconv.Atoi(strings.TrimSpace(strings.TrimPrefix(text, "+")))
	if err != nil || n > 1000 || n < -1000 {
		return 0
	}
	return n
}

// latin reads the encodings of one byte a character that older files name.
func latin(label string, in io.Reader) (io.Reader, error) {
	switch strings.ToLower(label) {
	case "iso-8859-1", "us-ascii", "windows-1252":
		raw, err := io.ReadAll(io.LimitReader(in, maxBytes))
		runes := make([]rune, len(raw))
		for i, b := range raw {
			runes[i] = rune(b)
		}
		return strings.NewReader(string(runes)), err
	}
	return nil, fmt.Errorf("it is written in %s; save it in UTF-8", label)
}
