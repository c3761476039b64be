package piecefile_test

import (
	"fmt"

	"rollwright/exact"
	"rollwright/music/piece"
	"rollwright/music/piecefile"
	"rollwright/music/pitch"
	"rollwright/text/source"
)

const tidewheel = `title = "Tidewheel"
tempo = 96

tune "wheel" {
  talea = "3 2 2 (1) 2 2 1"
  color = "C3 G3 D4 Bb3 F4"
}

canon "tides" {
  subject = "wheel"
  meet    = "2/3"
  speeds  = "4 : 5 : sqrt(31)"
  voice "ebb" {}
  voice "flood" { transpose = 7 }
  voice "slack" { transpose = 14 }
}
`

func ExampleParse() {
	p, err := piecefile.Parse(&source.File{Name: "tidewheel.piece", Text: []byte(tidewheel)})
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, v := range p.Voices {
		fmt.Printf("%-5s speed %-8v", v.Name, v.Speed)
		for _, p := range v.Color {
			fmt.Print(" ", pitch.Name(p.Keys[0]+v.Transpose))
		}
		fmt.Println()
	}
	// Output:
	// ebb   speed 4        C3 G3 D4 A#3 F4
	// flood speed 5        G3 D4 A4 F4 C5
	// slack speed sqrt(31) D4 A4 E5 C5 G5
}

// All mistakes come together, each with its place and how to write it right.
func ExampleParse_errors() {
	_, err := piecefile.Parse(&source.File{Name: "tidewheel.piece", Text: []byte(`voice "low" {
  talea = "3 2 0"
  color = C2 F#2
  meet { at = "3 s" mine = "end" }
}
`)})
	fmt.Println(err)
	// Output:
	// tidewheel.piece:2:16: a duration of 0
	//       talea = "3 2 0"
	//                    ^
	//   a duration is more than 0; to strike notes together join their pitches: C4+E4
	// tidewheel.piece:3:11: a value of several words stands in quotes
	//       color = C2 F#2
	//               ^^^^^^
	//   write: color = "C2 F#2"
	//   outside quotes # begins a remark, so a sharp has to stand in quotes
	// tidewheel.piece:4:3: only a block with a single attribute may stand on one line
	//       meet { at = "3 s" mine = "end" }
	//       ^^^^
	//   write it over several lines, one attribute a line:
	//   meet {
	//     at   = "3 s"
	//     mine = "end"
	//   }
}

func ExampleSet() {
	f := &source.File{Name: "low.piece", Text: []byte("voice \"low\" {\n  talea = \"3 2\"   # long, short\n  color = \"C2 G2\"\n}\n")}
	text, err := piecefile.Set(f, "low", "talea", `"2 1"`)
	if err == nil {
		text, err = piecefile.Set(&source.File{Text: text}, "low", "speed", "3/2")
	}
	fmt.Printf("%s%v\n", text, err)
	// Output:
	// voice "low" {
	//   talea = "2 1"   # long, short
	//   color = "C2 G2"
	//   speed = 3/2
	// }
	// <nil>
}

// A program builds a piece and prints it; remarks are added to the draft.
func ExamplePrint() {
	units := func(n int64) piece.Duration { return piece.Duration{Units: exact.Int(n)} }
	p := &piece.Piece{
		Title:  "Rungs",
		Pianos: []piece.Piano{{}},
		Voices: []piece.Voice{{
			Name: "up", Section: -1, Canon: -1, Tempo: exact.Frac(90, 1),
			Talea: []piece.Duration{units(3), units(1), {Units: exact.Int(2), Silent: true}},
			Color: []piece.Pitch{{Keys: []int{60}}, {Keys: []int{63, 67}, Letters: "EG"}},
		}},
	}
	d, err := piecefile.DraftOf(p)
	if err != nil {
		fmt.Println(err)
		return
	}
	d.Head = "Made by a program."
	d.Find("voice", "up").Remark = "Two pitches on three durations."
	text, err := piecefile.DraftText(d)
	fmt.Print(string(text), err)
	// Output:
	// # Made by a program.
	//
	// title = "Rungs"
	// tempo = 90
	//
	// # Two pitches on three durations.
	// voice "up" {
	//   talea = "3 1 (2)"
	//   color = "C4 Eb4+G4"
	// }
	// <nil>
}
