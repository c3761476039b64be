package blocks

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/hashicorp/hcl/v2"
	"github.com/hashicorp/hcl/v2/hclsyntax"

	"rollwright/text/source"
)

func parse(text string) (*Body, source.Errors) {
	return Parse(&source.File{Name: "x", Text: []byte(text)}, Options{})
}

// outline is a tree as text: names, labels, and the bytes of every value.
func (b *Body) outline(into *strings.Builder) {
	for _, a := range b.Attrs {
		fmt.Fprintf(into, "%d %s = %s\n", a.Start, a.Name, a.Raw())
	}
	for _, block := range b.Blocks {
		fmt.Fprintf(into, "%d-%d %s %q {\n", block.Start, block.End, block.Type, block.Labels)
		block.Body.outline(into)
		into.WriteString("}\n")
	}
}

// hclOutline is the same of the library's tree.
func hclOutline(b *hclsyntax.Body, src []byte, into *strings.Builder) {
	attrs := make([]*hclsyntax.Attribute, 0, len(b.Attributes))
	for _, a := range b.Attributes {
		i := len(attrs)
		attrs = append(attrs, a)
		for ; i > 0 && attrs[i-1].SrcRange.Start.Byte > a.SrcRange.Start.Byte; i-- {
			attrs[i] = attrs[i-1]
		}
		attrs[i] = a
	}
	for _, a := range attrs {
		value := src[a.EqualsRange.End.Byte:a.SrcRange.End.Byte]
		fmt.Fprintf(into, "%d %s = %s\n", a.NameRange.Start.Byte, a.Name, value)
	}
	for _, block := range b.Blocks {
		fmt.Fprintf(into, "%d-%d %s %q {\n", block.TypeRange.Start.Byte, block.CloseBraceRange.End.Byte, block.Type,
			block.Labels)
		hclOutline(block.Body, src, into)
		into.WriteString("}\n")
	}
}

// compare holds our reading against the library's: what we accept, it accepts,
// with the same tree. The library's value begins after the = and may have a
// remark before it; blanks are not compared.
func compare(t *testing.T, src []byte) {
	t.Helper()
	body, errs := Parse(&source.File{Text: src}, Options{})
	if len(errs) > 0 {
		return
	}
	file, diags := hclsyntax.ParseConfig(src, "x", hcl.InitialPos)
	if diags.HasErrors() {
		t.Fatalf("accepted, and refused by hclsyntax: %v\n%q", diags, src)
	}
	var ours, theirs strings.Builder
	body.outline(&ours)
	hclOutline(file.Body.(*hclsyntax.Body), src, &theirs)
	if a, b := squeeze(ours.String()), squeeze(theirs.String()); a != b && !strings.Contains(b, "/*") {
		t.Fatalf("%q\nours:\n%s\nhclsyntax:\n%s", src, a, b)
	}
}

// squeeze takes all blanks out.
func squeeze(s string) string { return strings.Join(strings.Fields(s), "") }

func TestAgainstHCL(t *testing.T) {
	for _, text := range refused {
		if body, errs := parse(text); len(errs) == 0 {
			t.Errorf("%q is accepted: %v", text, body)
		}
		if file, diags := hclsyntax.ParseConfig([]byte(text), "x", hcl.InitialPos); !diags.HasErrors() {
			t.Errorf("%q is accepted by hclsyntax: %v", text, file)
		}
	}
	for _, text := range judged {
		if _, errs := parse(text); len(errs) > 0 {
			t.Errorf("%q: %v", text, errs)
		}
		compare(t, []byte(text))
	}
	files, err := filepath.Glob("../../music/piecefile/testdata/*/*.piece")
	if err != nil || len(files) == 0 {
		t.Fatalf("no pieces: %v", err)
	}
	for _, path := range files {
		src, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		compare(t, src)
	}
}

// judged are texts that both readers have to accept.
var judged = []string{
	"", "\n", "# only a remark", "a = 1", "a = 1\n", "\ufeffa = 1\n", "a=1#b\n", "a = 1 // b\n", "a = /* b */ 1\n",
	"a = -3/7*sqrt(2)\n", "a = (\n  1 # one\n  * 2)\n", "a = [1, \"x\",\n\n 2,\n]\n", "a = []\n", "a = f(1, [2], \"3\")\n",
	"a = f()\n",
	"a = \"\\\"\\\\\\n\\u00e9\"\n", "a = \"$${x} %%{y} $ % $5\"\n", "a = <<END\n x\n  END\n",
	"a = <<-END\n  x\n   y\n  END\nb = 1\n",
	"a = [<<X\n1\nX\n]\n", "b {}\n", "b { }\n", "b {\n}\n", "b { a = 1 }\n", "b { # c\n}\n",
	"b \"x\" y {\n  a = 1\n  c {\n  }\n}\n",
	"a = 1\r\nb {\r\n  c = <<X\r\n1\r\n X\r\n}\r\n", "é = 1\n", "a-b = true\n", "a = 1.50\n", "a = b + 1 - c % 2\n",
	"b { a = [1,\n2] }\n",
	"a = -(1)\n", "a = - - 1\n", "a = /* x\n y */ 1\n", "a = 1 /* x */\n", "a = \"\u00a0\"\n",
}

// refused are texts that neither may accept.
var refused = []string{
	",", "a = 1,", "a = 1;\n", "a = \"\\0\"", "a = <<D\nD", "a = \"\r\"", "a = b\u0488\n", "a = 1 b = 2\n",
	"b { a = 1 c = 2 }\n", "b {\n a = 1 }\n",
	"b { a = 1\n}\n", "b\n{\n}\n", "b = {\n", "a\n", "a 1\n", "a = \n", "a = \"b\n\"\n", "a = (1\n", "a = [1 2]\n",
	"a = 1\na = 2\n", "}\n", "b {\n", "b {} c {}\n",
	"a = “b”\n", "a = 'b'\n", "a = 1.2.3\n", "a = /* b\n", "a = <<END\nb\n", "a = 1 +\n",
}

func FuzzAgainstHCL(f *testing.F) {
	for _, text := range slices.Concat(judged, refused) {
		f.Add([]byte(text))
	}
	f.Fuzz(func(t *testing.T, src []byte) { compare(t, src) })
}

// FuzzSet states what an edit may do: setting an attribute to its own text is
// the identity, and setting it to another changes those bytes alone.
func FuzzSet(f *testing.F) {
	f.Add([]byte("a = 1\nb \"x\" {\n  c = \"d\" # e\n  f { g = [1] }\n}\r\n"), "2")
	f.Add([]byte("a = <<X\n1\nX\n"), "\"y\"")
	files, _ := filepath.Glob("../../music/piecefile/testdata/valid/*.piece")
	for _, path := range files {
		src, err := os.ReadFile(path)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(src, "3/7")
	}
	f.Fuzz(func(t *testing.T, src []byte, value string) {
		body, errs := Parse(&source.File{Text: src}, Options{})
		if len(errs) > 0 {
			return
		}
		setEach(t, src, body, nil, value)
	})
}

func setEach(t *testing.T, src []byte, body *Body, path []string, value string) {
	for _, a := range body.Attrs {
		same, err := Set(src, path, a.Name, a.Raw())
		if err != nil || string(same) != string(src) {
			t.Fatalf("setting %v %s to itself: %v\n%q\n%q", path, a.Name, err, src, same)
		}
		other, err := Set(src, path, a.Name, value)
		if err == nil && string(other) != string(src[:a.Value.Start])+value+string(src[a.Value.End:]) {
			t.Fatalf("setting %v %s to %q:\n%q\n%q", path, a.Name, value, src, other)
		}
		if gone, err := Remove(src, path, a.Name); err == nil && len(gone) >= len(src) {
			t.Fatalf("removing %v %s:\n%q\n%q", path, a.Name, src, gone)
		}
	}
	const fresh = "an_attribute_of_our_own"
	if added, err := Set(src, path, fresh, "1"); err == nil {
		back, err := Remove(added, path, fresh)
		if err != nil || squeeze(string(back)) != squeeze(string(src)) {
			t.Fatalf("adding and removing: %v\n%q\n%q\n%q", err, src, added, back)
		}
	} else if body.Get(fresh) == nil {
		t.Fatalf("adding to %v: %v\n%q", path, err, src)
	}
	count := map[string]int{}
	for _, b := range body.Blocks {
		name := strings.Join(append([]string{b.Type}, b.Labels...), " ")
		count[name]++
		setEach(t, src, b.Body, append(path[:len(path):len(path)], fmt.Sprintf("%s[%d]", name, count[name])), value)
	}
}

// TestParseMM, by hand: 25.4 mm to the inch, 12 inches to the foot.
func TestParseMM(t *testing.T) {
	for text, want := range map[string]float64{
		"3 mm": 3, "1.2m": 1200, "2.5 cm": 25, "1/8 in": 3.175, "4 5/8 in": 117.475, "-1/4 in": -6.35, "-1 1/2 in": -38.1,
		"24.8 ft": 7559.04,
	} {
		if got, ok := ParseMM(text); !ok || got != want {
			t.Errorf("%q is %v, %v, want %v", text, got, ok, want)
		}
	}
	for _, text := range []string{"", "3", "mm", "x mm", "1 2 in", "1.5 1/2 in", "1 -1/2 in", "1 2 3 mm", "3 km"} {
		if got, ok := ParseMM(text); ok {
			t.Errorf("%q is %v", text, got)
		}
	}
}
