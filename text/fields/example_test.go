package fields_test

import (
	"fmt"

	"rollwright/text/blocks"
	"rollwright/text/fields"
	"rollwright/text/source"
)

func Example() {
	type reed struct{ widthMM float64 }
	table := fields.Table[reed]{
		What: "a reed",
		Fields: []fields.Field[reed]{fields.At("", "width", fields.Length(50, 3000,
			func(r *reed) *float64 { return &r.widthMM }))},
	}
	for _, text := range []string{"width = \"23 1/2 in\"\n", "width = 4\n"} {
		var r reed
		body, _ := blocks.Parse(&source.File{Name: "my.reed", Text: []byte(text)}, blocks.Options{})
		if err := table.Read(body, &r, fields.Given{}, nil).Err(); err != nil {
			fmt.Println(err)
			continue
		}
		fmt.Println(r.widthMM, "mm")
	}
	// Output:
	// 596.9 mm
	// my.reed:1:9: width is out of range
	//     width = 4
	//             ^
	//   it runs from 50 to 3000 mm
}
