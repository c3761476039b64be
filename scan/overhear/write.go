package overhear

import (
	"encoding/json"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"rollwright/text/source"
)

// WriteHeard lists every stroke of the roll, a row each, in the order of the
// table of holes. Columns: port, key, planned_s, heard_s, late_ms, sure, verdict;
// see Stroke. Only the writer fails.
func (r *Result) WriteHeard(w io.Writer) error {
	var b strings.Builder
	b.WriteString("port,key,planned_s,heard_s,late_ms,sure,verdict\n")
	for _, s := range r.Strokes() {
		fmt.Fprintf(&b, "%d,%d,%s,%s,%s,%s,%s\n", s.Port, s.Key, places(s.PlannedSec, 4), places(s.HeardSec, 4),
			places(s.LateMS, 1), places(s.Sure, 3), s.Verdict)
	}
	_, err := io.WriteString(w, b.String())
	return err
}

// places is x with so many decimals, without a sign where that is 0.
func places(x float64, decimals int) string {
	text := strconv.FormatFloat(x, 'f', decimals, 64)
	if strings.Trim(text, "-0.") == "" {
		return strings.TrimPrefix(text, "-")
	}
	return text
}

// number is a number of JSON with so many decimals.
func number(x float64, decimals int) json.Number { return json.Number(places(x, decimals)) }

type ranged struct {
	Value json.Number `json:"value"`
	Low   json.Number `json:"low"`
	High  json.Number `json:"high"`
}

// within rounds a range outward, but for what is a rounding of float64 itself.
func within(v Value, decimals int) ranged {
	scale := math.Pow10(decimals)
	return ranged{number(v.Value, decimals), number(math.Floor(v.Low*scale+1e-6)/scale, decimals),
		number(math.Ceil(v.High*scale-1e-6)/scale, decimals)}
}

type deadJSON struct {
	Key     int `json:"key"`
	Strokes int `json:"strokes"`
	Silent  int `json:"silent"`
}

type delayJSON struct {
	Region  string      `json:"region"`
	MS      json.Number `json:"ms"`
	Strokes int         `json:"strokes"`
}

type resultJSON struct {
	Strokes  int         `json:"strokes"`
	Sounded  int         `json:"sounded"`
	Silent   int         `json:"silent"`
	Unsure   int         `json:"unsure"`
	BeginSec json.Number `json:"begin_s"`
	RMS      json.Number `json:"rms_ms"`
	Speed    ranged      `json:"speed_mm_s"`
	Slowing  ranged      `json:"slowing_percent"`
	Dead     []deadJSON  `json:"dead_keys"`
	Unheard  int         `json:"unheard"`
	Delays   []delayJSON `json:"delays"`
	Late     *ranged     `json:"bass_late_ms"`
}

// WriteJSON writes the result as one object; bass_late_ms, by how much the bass
// speaks later than the treble, is null where one of them was not heard.
func (r *Result) WriteJSON(w io.Writer) error {
	c := r.Counts()
	out := resultJSON{
		Strokes: c.Strokes, Sounded: c.Sounded, Silent: c.Silent, Unsure: c.Unsure,
		BeginSec: number(r.BeginSec(), 3), RMS: number(r.RMSMS(), 1), Speed: within(r.SpeedMMPerSec(), 4),
		Slowing: within(r.SlowingPercent(), 3), Dead: []deadJSON{}, Unheard: c.Before + c.After, Delays: []delayJSON{},
	}
	for _, d := range r.DeadKeys() {
		out.Dead = append(out.Dead, deadJSON{d.Key, d.Strokes, len(d.Silent)})
	}
	for _, d := range r.Delays() {
		out.Delays = append(out.Delays, delayJSON{d.Region.String(), number(d.MS, 1), d.Strokes})
	}
	if v, ok := r.Late(Bass, Treble); ok {
		late := within(v, 1)
		out.Late = &late
	}
	return json.NewEncoder(w).Encode(out)
}

// WriteInstrument writes an .instrument file that is like the named one but for
// the transport, by the take.
func (r *Result) WriteInstrument(w io.Writer, like, title, takeName string) error {
	var b strings.Builder
	t, c := r.Transport(), r.Counts()
	speed, slowing := r.SpeedMMPerSec(), r.SlowingPercent()
	tempo := t.RollTempo / t.SpeedMMPerSec() // a mm/s
	fmt.Fprintf(&b, "# Fitted to the recording %s: %d of %d strokes heard.\n# Numbers after a plus-minus sign are 95 %% ranges.\n",
		source.Printable(takeName), c.Sounded, c.Strokes)
	for _, line := range r.sayDelays() {
		fmt.Fprintf(&b, "# %s.\n", line)
	}
	b.WriteString("# A delay that all keys share cannot be told by ear and is taken over.\n\n")
	fmt.Fprintf(&b, "title = %s\nlike  = %s\n\ntransport {\n", strconv.Quote(title+", as heard"), strconv.Quote(like))
	half := (speed.High - speed.Low) / 2
	line := func(name, value, remark string) {
		fmt.Fprintf(&b, "%-26s # %s\n", fmt.Sprintf("  %-10s = %s", name, value), remark)
	}
	line("roll_tempo", places(t.RollTempo, 4), fmt.Sprintf("\u00b1 %.2g: %s mm/s at time 0", half*tempo,
		places(speed.Value, 4)))
	line("lever", places(t.Lever, 3), "what the tempo lever is taken to have stood at")
	if perMetre := 1e5 * t.SlowingPerMM; perMetre > 0 {
		share := (slowing.High - slowing.Low) / 2 / slowing.Value
		line("slowing", places(perMetre, 5), fmt.Sprintf("\u00b1 %.2g per cent a metre: %s %% over the roll", share*perMetre,
			places(slowing.Value, 2)))
	} else if r.Roll.Instrument.Transport.SlowingPerMM > 0 {
		line("slowing", "0", "none that the recording shows")
	}
	b.WriteString("}\n")
	_, err := io.WriteString(w, b.String())
	return err
}
