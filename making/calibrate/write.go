package calibrate

import (
	"cmp"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"rollwright/paper/roll"
	"rollwright/text/say"
	"rollwright/text/source"
)

// WriteInstrument writes an .instrument file that is like the named one but for
// what was fitted. Readings is the name of the file of readings.
func (r *Result) WriteInstrument(w io.Writer, like, readings string) error {
	var b strings.Builder
	f, in := r.Fit, r.Before
	fmt.Fprintf(&b, "# Calibrated with the test roll for %s from %s.\n# %s after a plus-minus sign are 95 %% ranges: of %d readings, %d more than were needed.\n\n",
		source.Printable(in.Name), source.Printable(readings), "Numbers", f.Readings, f.Freedom)
	fmt.Fprintf(&b, "title = %s\nlike  = %s\n", strconv.Quote(cmp.Or(in.Title, in.Name)+", calibrated"),
		strconv.Quote(like))
	r.writeTransport(&b)
	r.writeAction(&b)
	_, err := io.WriteString(w, b.String())
	return err
}

func (r *Result) writeTransport(b *strings.Builder) {
	f := r.Fit
	b.WriteString("\ntransport {\n")
	kind := "constant"
	if f.Thickness.Value > 0 {
		kind = "spool"
	}
	line(b, "kind", strconv.Quote(kind), "")
	line(b, "roll_tempo", number(tempoOf(f.Speed.Value), tempoOf(f.Speed.Half)),
		ranged(tempoOf(f.Speed.Half), "", f.Speed.Fitted, "taken over")+
			fmt.Sprintf(": %s mm/s at time 0", number(f.Speed.Value, f.Speed.Half)))
	line(b, "lever", number(r.Before.Transport.LeverTempo(), 0), "what the tempo lever stood at")
	if kind == "spool" {
		line(b, "radius", number(f.Radius.Value, f.Radius.Half), ranged(f.Radius.Half, "mm", f.Radius.Fitted,
			"taken over: times tell thickness for this radius"))
		line(b, "thickness", number(f.Thickness.Value, f.Thickness.Half),
			ranged(f.Thickness.Half, "mm", f.Thickness.Fitted, "taken over"))
	}
	if f.Slowing.Fitted {
		line(b, "slowing", number(1e5*f.Slowing.Value, 1e5*f.Slowing.Half), ranged(1e5*f.Slowing.Half, "% a metre", true, ""))
	}
	b.WriteString("}\n")
}

func (r *Result) writeAction(b *strings.Builder) {
	var lines [][3]string
	if d := r.Fit.Delay; d.Fitted {
		lines = append(lines, [3]string{"delay", fmt.Sprintf("%q", fmt.Sprintf("%.1f ms", 1000*max(d.Value, 0))),
			ranged(1000*d.Half, "ms", true, "")})
	}
	for _, l := range r.Limits {
		switch l.What {
		case Shortest:
			lines = append(lines, [3]string{"shortest", milliseconds(l.Value), l.between(1000, "ms")})
		case GapTime:
			lines = append(lines, [3]string{"gap_time", milliseconds(l.Value), l.between(1000, "ms")})
		case GapPaper:
			least := math.Ceil(100*max(l.Value, r.Before.WebMaxMM())) / 100
			lines = append(lines, [3]string{"gap_paper", number(least, 0), l.between(1, "mm")})
		case NotesAtOnce:
			lines = append(lines, [3]string{"notes_at_once", number(l.Value, 0), l.between(1, "notes")})
		}
	}
	if len(lines) == 0 {
		return
	}
	b.WriteString("\naction {\n")
	for _, l := range lines {
		line(b, l[0], l[1], l[2])
	}
	b.WriteString("}\n")
}

func line(b *strings.Builder, name, value, remark string) {
	text := fmt.Sprintf("  %-13s = %s", name, value)
	if remark != "" {
		text = fmt.Sprintf("%-28s # %s", text, remark)
	}
	b.WriteString(text + "\n")
}

// number has as many decimals as its range is worth and two more, or as many as
// it needs where there is none.
func number(x, half float64) string {
	if half <= 0 {
		return strconv.FormatFloat(math.Round(x*1e6)/1e6, 'f', -1, 64)
	}
	decimals := max(int(math.Ceil(-math.Log10(half)))+2, 0)
	return strconv.FormatFloat(x, 'f', min(decimals, 9), 64)
}

// ranged is half a range as a remark.
func ranged(half float64, unit string, fitted bool, otherwise string) string {
	if !fitted {
		return otherwise
	}
	return strings.TrimSpace("\u00b1 " + strconv.FormatFloat(half, 'g', 2, 64) + " " + unit)
}

// milliseconds is a time rounded up to whole milliseconds, quoted.
func milliseconds(sec float64) string {
	return fmt.Sprintf("\"%.0f ms\"", math.Ceil(1000*sec-1e-6))
}

// between says where a limit lies.
func (l Limit) between(scale float64, unit string) string {
	value := strconv.FormatFloat(scale*l.Value, 'f', decimalsOf(unit), 64)
	if l.Open {
		return fmt.Sprintf("%s %s did, and no try failed", value, unit)
	}
	return fmt.Sprintf("%s %s did, %s %s did not", value, unit,
		strconv.FormatFloat(scale*l.Beyond, 'f', decimalsOf(unit), 64), unit)
}

func decimalsOf(unit string) int {
	return map[string]int{"ms": 1, "mm": 2}[unit]
}

// WriteReport says in plain lines what was found.
func (r *Result) WriteReport(w io.Writer) error {
	var b strings.Builder
	f, lever := r.Fit, r.Before.Transport.LeverTempo()
	fmt.Fprintf(&b, "%d readings, %d more than the numbers fitted to them\n", f.Readings, f.Freedom)
	nominal := speedOf(lever)
	fmt.Fprintf(&b, "paper at time 0    %s mm/s%s: roll tempo %s, %s with the lever at %s\n",
		number(f.Speed.Value, f.Speed.Half),
		plusMinus(f.Speed, 1, ""), number(tempoOf(f.Speed.Value), tempoOf(f.Speed.Half)), slower(f.Speed.Value/nominal),
		number(lever, 0))
	r.writeBuildUp(&b)
	r.writeSlowing(&b)
	if f.Delay.Fitted {
		fmt.Fprintf(&b, "delay              %.1f ms%s\n", 1000*f.Delay.Value, plusMinus(f.Delay, 1000, " ms"))
	}
	names := [...]string{
		Shortest: "shortest note", GapTime: "between strokes", GapPaper: "parts two notes", NotesAtOnce: "notes at once",
		Bridge: "bridges hold",
	}
	units := [...]string{Shortest: "ms", GapTime: "ms", GapPaper: "mm", NotesAtOnce: "notes", Bridge: "mm"}
	for _, l := range r.Limits {
		scale := 1.0
		if units[l.What] == "ms" {
			scale = 1000
		}
		fmt.Fprintf(&b, "%-18s %s\n", names[l.What], l.between(scale, units[l.What]))
	}
	if f.Worst != nil {
		fmt.Fprintf(&b, "farthest off       %s: %s\n", f.Worst.Reading, f.Worst.text())
	}
	for _, warning := range r.Warnings() {
		fmt.Fprintf(&b, "look: %s\n", warning)
	}
	_, err := io.WriteString(w, b.String())
	return err
}

func (r *Result) writeBuildUp(b *strings.Builder) {
	f := r.Fit
	end := r.Test.MarkMM[len(r.Test.MarkMM)-1]
	switch {
	case f.Thickness.Value > 0:
		t := f.Transport(0)
		fmt.Fprintf(b, "build-up           %s mm a turn%s on a radius of %s mm%s: %.1f %% faster after %.1f m\n",
			number(f.Thickness.Value, f.Thickness.Half), plusMinus(f.Thickness, 1, ""), number(f.Radius.Value, f.Radius.Half),
			plusMinus(f.Radius, 1, ""),
			100*(t.RadiusAt(t.Sec(end))/t.RadiusMM-1), end/1000)
	default:
		fmt.Fprintf(b, "build-up           none that the readings show over %.1f m: constant speed\n", end/1000)
	}
}

// writeSlowing says what the motor loses, or that nobody can tell it.
func (r *Result) writeSlowing(b *strings.Builder) {
	f, end := r.Fit, r.Test.MarkMM[len(r.Test.MarkMM)-1]
	switch {
	case f.Slowing.Fitted:
		fmt.Fprintf(b, "the motor slows    %s %% a metre%s: %.1f %% after %.1f m\n",
			number(1e5*f.Slowing.Value, 1e5*f.Slowing.Half), plusMinus(f.Slowing, 1e5, ""), 100*f.Slowing.Value*end, end/1000)
	case f.Together:
		b.WriteString("                   from times alone: build-up less what the motor slows; turns or girth would part the two\n")
	}
}

func plusMinus(v Value, scale float64, unit string) string {
	if !v.Fitted {
		return " (taken over)"
	}
	return " \u00b1 " + strconv.FormatFloat(scale*v.Half, 'g', 2, 64) + unit
}

func slower(share float64) string {
	switch by := 100 * (share - 1); {
	case by > 0.005:
		return fmt.Sprintf("%.2f %% fast", by)
	case by < -0.005:
		return fmt.Sprintf("%.2f %% slow", -by)
	}
	return "as it should be"
}

// WriteTiming says what the calibration is worth for rolls laid out before it.
func (r *Result) WriteTiming(w io.Writer, what string, rolls []*roll.Roll) error {
	without, with := r.Without(rolls), r.With(rolls)
	_, err := fmt.Fprintf(w, "%s: largest timing error without calibration %.3g s (%s at %s); with it at most %.2g s (95 %%)\n",
		what, math.Abs(without.LargestSec), map[bool]string{true: "late", false: "early"}[without.LargestSec > 0],
		say.Clock(without.AtSec, 1), with.RangeSec)
	return err
}
