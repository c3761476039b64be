package workshop

import (
	"flag"
	"fmt"
	"os"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

var update = flag.Bool("update", false, "write the expected outputs anew")

// docs/files.md lists what the table of products holds.
func TestFilesAreDocumented(t *testing.T) {
	const path = "../docs/files.md"
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	head, _, ok := strings.Cut(string(text), "| what |")
	if !ok {
		t.Fatal("the document has no table")
	}
	want := head + productTable()
	if *update {
		if err := os.WriteFile(path, []byte(want), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	if diff := cmp.Diff(want, string(text)); diff != "" && !*update {
		t.Errorf("the table is not that of the products; -update writes it anew\n%s", diff)
	}
}

func productTable() string {
	var b strings.Builder
	fmt.Fprint(&b, "| what | extension | asked for by | made from | in a built folder | options that it heeds |\n|---|---|---|---|---|---|\n")
	for _, p := range products {
		by := ""
		if p.By != "" {
			by = "`--" + string(p.By) + "`"
		}
		var options []string
		for _, o := range p.Heeds {
			options = append(options, string(o))
		}
		fmt.Fprintf(&b, "| %s: %s | %s | %s | %s | %s | %s |\n", p.Called, p.About, strings.Join(p.Extensions, " "), by,
			madeFrom(p), p.Built, strings.Join(options, " "))
	}
	return b.String()
}

func madeFrom(p *Product) string {
	from := [...]string{"rolls", "notes", "a piece"}[p.Needs]
	return from + [...]string{"", ", for a bench", ", for a machine"}[p.For]
}
