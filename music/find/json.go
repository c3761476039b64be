package find

import (
	"encoding/json"
	"io"
	"math"
	"strings"

	"rollwright/music/pitch"
)

type (
	jsonDesign struct {
		Voices      []jsonVoice `json:"voices"`
		Canons      []jsonCanon `json:"canons"`
		Notes       int         `json:"notes"`
		Unexplained int         `json:"unexplained"`
	}
	jsonVoice struct {
		Name     string     `json:"name"`
		Notes    int        `json:"notes"`
		StartSec float64    `json:"start_s"`
		UnitSec  *float64   `json:"unit_s"`
		Tempo    jsonTempo  `json:"tempo"`
		Talea    *jsonTalea `json:"talea"`
		Color    *jsonColor `json:"color"`
	}
	jsonTempo struct {
		Shape *string  `json:"shape"`
		From  *float64 `json:"from"`
		To    *float64 `json:"to"`
	}
	jsonTalea struct {
		Durations  []string `json:"durations"`
		Length     int      `json:"length"`
		Statements float64  `json:"statements"`
		Stretch    string   `json:"stretch"`
		Explained  float64  `json:"explained"`
		Chance     float64  `json:"chance"`
	}
	jsonColor struct {
		Pitches    []string `json:"pitches"`
		Length     int      `json:"length"`
		Statements float64  `json:"statements"`
		Transpose  int      `json:"transpose"`
		Explained  float64  `json:"explained"`
		Chance     float64  `json:"chance"`
	}
	jsonCanon struct {
		Leader    string   `json:"leader"`
		Follower  string   `json:"follower"`
		Speed     float64  `json:"speed"`
		Low       float64  `json:"low"`
		High      float64  `json:"high"`
		Near      []string `json:"near"`
		Transpose int      `json:"transpose"`
		Inverted  bool     `json:"inverted"`
		Backward  bool     `json:"backward"`
		Changes   bool     `json:"changes"`
		Notes     int      `json:"notes"`
		Explained float64  `json:"explained"`
		Chance    float64  `json:"chance"`
		MeetSec   *float64 `json:"meet_s"`
	}
)

// WriteJSON writes a design as JSON, two blanks a level, the same bytes for the
// same design: talea, color, unit_s and meet_s are null where there are none.
// Times have nine decimals at most, speeds ten, shares six; chances two digits.
// An error is that of w.
func WriteJSON(w io.Writer, d *Design) error {
	out := jsonDesign{Voices: []jsonVoice{}, Canons: []jsonCanon{}, Notes: d.Count, Unexplained: d.Unexplained}
	for i := range d.Voices {
		out.Voices = append(out.Voices, jsonOfVoice(&d.Voices[i]))
	}
	for i := range d.Canons {
		out.Canons = append(out.Canons, jsonOfCanon(d, &d.Canons[i]))
	}
	e := json.NewEncoder(w)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	return e.Encode(out)
}

func jsonOfVoice(v *Voice) jsonVoice {
	out := jsonVoice{Name: v.Name, Notes: v.Notes, StartSec: rounded(v.StartSec, 9)}
	if v.Talea != nil {
		unit, shape := rounded(v.UnitSec, 9), string(v.Tempo.Shape)
		from, to := rounded(v.Tempo.From, 7), rounded(v.Tempo.To, 7)
		out.UnitSec, out.Tempo = &unit, jsonTempo{&shape, &from, &to}
		t := v.Talea
		out.Talea = &jsonTalea{Length: len(t.Durations), Statements: rounded(t.Statements, 6), Stretch: t.Stretch.String(),
			Explained: rounded(t.Explained, 6), Chance: twoDigits(t.Chance)}
		for _, x := range t.Durations {
			out.Talea.Durations = append(out.Talea.Durations, x.String())
		}
	}
	if c := v.Color; c != nil {
		out.Color = &jsonColor{Length: len(c.Pitches), Statements: rounded(c.Statements, 6), Transpose: c.Transpose,
			Explained: rounded(c.Explained, 6), Chance: twoDigits(c.Chance)}
		for _, keys := range c.Pitches {
			out.Color.Pitches = append(out.Color.Pitches, chordName(keys))
		}
	}
	return out
}

func jsonOfCanon(d *Design, c *Canon) jsonCanon {
	out := jsonCanon{Leader: d.Voices[c.Leader].Name, Follower: d.Voices[c.Follower].Name, Speed: rounded(c.Speed, 10),
		Low: c.Low, High: c.High, Near: []string{}, Transpose: c.Transpose, Inverted: c.Inverted, Backward: c.Backward,
		Changes: c.Changes, Notes: c.Notes, Explained: rounded(c.Explained, 6), Chance: twoDigits(c.Chance)}
	for _, x := range c.Near {
		out.Near = append(out.Near, x.String())
	}
	if c.Meets {
		at := rounded(c.MeetSec, 9)
		out.MeetSec = &at
	}
	return out
}

// chordName names keys from the lowest, joined by +, spelled with sharps.
func chordName(keys []int) string {
	names := make([]string, len(keys))
	for i, k := range keys {
		names[i] = pitch.Name(k)
	}
	return strings.Join(names, "+")
}

// rounded rounds to decimals, half away from 0, and never to -0.
func rounded(x float64, decimals int) float64 {
	scale := math.Pow(10, float64(decimals))
	return math.Round(x*scale)/scale + 0
}

// twoDigits rounds a chance to two significant digits; what is below 1e-99 is 0.
func twoDigits(x float64) float64 {
	if x < 1e-99 {
		return 0
	}
	scale := math.Pow(10, 1-math.Floor(math.Log10(x)))
	return math.Round(x*scale) / scale
}
