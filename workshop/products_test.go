package workshop

import (
	"context"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"rollwright/text/say"
	"rollwright/text/source"
)

// Names are each one product's, whatever can be asked for heeds the option that
// asks for it, and every extension means something alone but that of programs.
func TestProductsAreATable(t *testing.T) {
	seen := map[string]bool{}
	for _, p := range products {
		if seen[p.Name] || p.Called == "" || p.About == "" || p.write == nil {
			t.Errorf("%s: %+v", p.Name, p)
		}
		seen[p.Name] = true
		if (p.By == "") != (p.asked == nil) || p.By != "" && !slices.Contains(p.Heeds, p.By) {
			t.Errorf("%s is asked for by %q and heeds %v", p.Name, p.By, p.Heeds)
		}
		if len(p.Extensions) == 0 && p.Built == "" {
			t.Errorf("%s is never made", p.Name)
		}
		if p.Built != "" && len(p.Extensions) > 0 && !slices.Contains(p.Extensions, filepath.Ext(p.Built)) {
			t.Errorf("%s is built as %s", p.Name, p.Built)
		}
	}
	for _, extension := range Extensions() {
		if (Known(extension)[0].By == "") != (extension != ".nc" && extension != ".plt") {
			t.Errorf("%s means %s", extension, Known(extension)[0].Name)
		}
	}
}

// What a file holds follows from its extension and what is asked for; what cannot
// be is said before anything is written.
func TestProductOf(t *testing.T) {
	laser := Options{Machining: Machining{Machine: "laser"}}
	grid := Options{Explaining: Explaining{Figure: "grid"}}
	rows := Options{Making: Making{Worksheet: true}}
	long := Options{Long: LongUnit}
	longRows := Options{Long: LongUnit, Making: Making{Worksheet: true}}
	both := Options{Explaining: Explaining{Figure: "grid", Score: true}}
	for _, c := range []struct {
		path string
		o    *Options
		want string // the product's name, or its error
	}{
		{"x.pdf", &Options{}, "tiles"}, {"x.PDF", &long, "long"}, {"x.svg", &long, "svg"}, {"x.pdf", &longRows, "worksheet"},
		{"x.svg", &laser, "program"}, {"x.pdf", &laser, "program"}, {"x.nc", &laser, "program"}, {"x.svg", &grid, "figure"}, {"x.csv", &rows, "worksheet"},
		{"x.csv", &Options{}, "table"}, {"x.wav", &grid, "sound"}, {"x.flac", &laser, "sound"},
		{"x.nc", &Options{}, "a program is for one machine: name it with machine; built in are laser, punch-table, punch-feed, knife"},
		{"x.mid", &grid, "x.mid: a figure is written as .pdf, .svg or .png"},
		{"x.png", &laser, "x.png: a machine program is written as .nc, .plt, .svg, .dxf or .pdf"},
		{"x.svg", &rows, "x.svg: a worksheet is written as .pdf or .csv"},
		{"x.pdf", &both, "a file holds one thing: a figure or a score, figure or score"},
	} {
		p, err := ProductOf(c.path, c.o)
		got := ""
		if err != nil {
			got = err.Error()
		} else {
			got = p.Name
		}
		if got != c.want {
			t.Errorf("%s: %s, want %s", c.path, got, c.want)
		}
	}
}

// TestAddingAFormat: a row in the table is all that a new format takes: it is
// written, built, listed and known by its extension.
func TestAddingAFormat(t *testing.T) {
	defer func(before []*Product) { products = before }(products)
	products = append(slices.Clone(products), &Product{
		Name: "count", Extensions: []string{".count"}, Called: "a count of slots", About: "how many slots there are",
		Built: "slots.count", Heeds: heeds(ofRolls),
		write: eachRoll(func(w io.Writer, f *out) error {
			_, err := io.WriteString(w, say.Count(len(f.roll.Slots), "slot"))
			return err
		}),
	})
	const text = "voice \"v\" {\n  talea = \"1 1\"\n  color = \"C4 E4\"\n}\n"
	j, err := New(context.Background(), &source.File{Name: "x.piece", Text: []byte(text)}, ".")
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "x.count")
	if _, err := j.Write(context.Background(), path, Options{}); err != nil {
		t.Fatal(err)
	}
	got, err := os.ReadFile(path)
	if err != nil || string(got) != "2 slots" {
		t.Errorf("%q, %v", got, err)
	}
	if !strings.Contains(strings.Join(Extensions(), " "), ".count") || len(built()) == 0 ||
		built()[len(built())-1].Name != "count" {
		t.Error("the format is not listed or not built")
	}
	if err := Heeded([]string{"dry"}, Known(".count")); err == nil ||
		err.Error() != "dry does nothing for a count of slots; it is for sound or a film" {
		t.Errorf("%v", err)
	}
}
