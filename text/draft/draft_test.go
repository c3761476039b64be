package draft

import (
	"fmt"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"rollwright/text/blocks"
	"rollwright/text/source"
)

func Example() {
	d := Draft{
		Head: "Ladder\n\nMade of steps.",
		Entries: []Entry{
			Attr("title", Quoted(`The "Ladder"`)),
			Attr("unit", Bare("1/8")).Behind("an eighth"),
			Block("voice", "up",
				Attr("talea", Series("3", "1", "(2)")),
				Attr("color", Series("C4", "D4")),
				Attr("hold", Bare("0.8")).Above("Dry."),
				Block("leg", "", Attr("over", Bare("64"))),
			).Above("One step after the other."),
			Block("voice", "down", Attr("color", Call("transpose", Series("C4"), Bare("-2")))),
			Raw("show {\n  minutes = 8\n}"),
		},
	}
	fmt.Print(string(d.Bytes()))
	// Output:
	// # Ladder
	// #
	// # Made of steps.
	//
	// title = "The \"Ladder\""
	// unit  = 1/8 # an eighth
	//
	// # One step after the other.
	// voice "up" {
	//   talea = "3 1 (2)"
	//   color = "C4 D4"
	//
	//   # Dry.
	//   hold = 0.8
	//   leg {
	//     over = 64
	//   }
	// }
	//
	// voice "down" {
	//   color = transpose("C4", -2)
	// }
	//
	// show {
	//   minutes = 8
	// }
}

// A series that does not fit a line is a heredoc, its lines as full as they can be
// within 84 columns, or up to a bar line if that is more than half of the words.
func TestLongSeries(t *testing.T) {
	words := strings.Fields(strings.Repeat("C4:2 D4:2 E4:4 G4:4 | ", 7))
	d := Draft{Entries: []Entry{Block("voice", "v", Attr("line", Series(words...)), Attr("hold", Bare("1")))}}
	const want = `voice "v" {
  line = <<-END
    C4:2 D4:2 E4:4 G4:4 | C4:2 D4:2 E4:4 G4:4 | C4:2 D4:2 E4:4 G4:4 |
    C4:2 D4:2 E4:4 G4:4 | C4:2 D4:2 E4:4 G4:4 | C4:2 D4:2 E4:4 G4:4 |
    C4:2 D4:2 E4:4 G4:4 |
  END
  hold = 1
}
`
	if got := string(d.Bytes()); got != want {
		t.Errorf("got\n%s", got)
	}
}

// The series within a call that does not fit a line become several arguments of it.
func TestLongCall(t *testing.T) {
	long := strings.Fields(strings.Repeat("C4 D4 E4 F4 ", 10))
	d := Draft{Entries: []Entry{Attr("color", Call("join", Series(long...),
		Call("transpose", Series("C4", "E4"), Bare("1"))))}}
	const want = `color = join(
  "C4 D4 E4 F4 C4 D4 E4 F4 C4 D4 E4 F4 C4 D4 E4 F4 C4 D4 E4 F4 C4 D4 E4 F4 C4 D4",
  "E4 F4 C4 D4 E4 F4 C4 D4 E4 F4 C4 D4 E4 F4",
  transpose("C4 E4", 1)
)
`
	if got := string(d.Bytes()); got != want {
		t.Errorf("got\n%s", got)
	}
}

func TestFind(t *testing.T) {
	d := Draft{Entries: []Entry{Attr("voice", Bare("1")), Block("section", "A", Block("voice", "low"))}}
	d.Find("voice", "low").Remark = "found"
	if got := d.Entries[1].Inside[0].Remark; got != "found" || d.Find("voice", "high") != nil {
		t.Errorf("remark %q", got)
	}
}

// Any text in quotes, in a label, in a remark, and any series is read by package
// blocks as what it was.
func TestReadBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.String().Draw(t, "text")
		clean := strings.Map(func(r rune) rune {
			if r < ' ' && !strings.ContainsRune("\n\r\t", r) || r == 0x7f {
				return '\uFFFD'
			}
			return r
		}, text)
		words := rapid.SliceOfN(rapid.StringMatching(`[A-G]#?[0-9]:[0-9]/[0-9]|\|`), 1, 60).Draw(t, "words")
		d := Draft{Head: text, Entries: []Entry{
			Block("voice", "name", Attr("line", Series(words...)), Attr("text", Quoted(text)).Above(text),
				Attr("b", Bare("1")).Behind(text)),
		}}
		body, errs := blocks.Parse(&source.File{Name: "x", Text: d.Bytes()}, blocks.Options{})
		if len(errs) > 0 {
			t.Fatalf("%v\n%s", errs, d.Bytes())
		}
		voice := body.Blocks[0]
		if got, err := voice.Body.Get("text").Str(); err != nil || got != clean {
			t.Fatalf("%q, want %q: %v", got, clean, err)
		}
		if got, _ := voice.Body.Get("line").Str(); strings.Join(strings.Fields(got), " ") != strings.Join(words, " ") {
			t.Fatalf("%q, want %q", got, words)
		}
		if voice.Label(0) != "name" || len(voice.Body.Attrs) != 3 {
			t.Fatalf("%s", d.Bytes())
		}
	})
}
