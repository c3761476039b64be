package blocks_test

import (
	"fmt"

	"rollwright/text/blocks"
	"rollwright/text/source"
)

func ExampleParse() {
	body, errs := blocks.Parse(&source.File{Name: "reed.instrument", Text: []byte(`
name = "reed roll"
die {
  diameter = 25.4/16 # millimetres
  round    = true
}
port "pedal" { across = 11.641 }
`)}, blocks.Options{})
	for _, a := range body.Attrs {
		name, err := a.Str()
		fmt.Println(a.At, a.Name, name, err)
	}
	for _, b := range body.Blocks {
		for _, a := range b.Body.Attrs {
			fmt.Println(a.At, b.Type, b.Labels, a.Name, a.Raw())
		}
	}
	d, err := body.Of("die")[0].Body.Get("diameter").Float()
	fmt.Println(d, err, errs.Err())
	fmt.Println(body.Unknown([]string{"nane", "die {", "port {"}, "an instrument"))
	// Output:
	// 2:1 name reed roll <nil>
	// 4:3 die [] diameter 25.4/16
	// 5:3 die [] round true
	// 7:16 port [pedal] across 11.641
	// 1.5875 <nil> <nil>
	// reed.instrument:2:1: there is no "name" in an instrument
	//     name = "reed roll"
	//     ^^^^
	//   did you mean nane?
}

func ExampleSet() {
	text := []byte("piano \"left\" {\n  hammers = \"metal\" # dry\n}\n")
	text, err := blocks.Set(text, []string{"piano left"}, "hammers", `"tacks"`)
	fmt.Printf("%s%v\n", text, err)
	// Output:
	// piano "left" {
	//   hammers = "tacks" # dry
	// }
	// <nil>
}
