package overhear

import (
	"fmt"
	"io"
	"math"
	"slices"
	"strings"

	"rollwright/text/say"
)

// names of the regions, as sentences have them.
var names = [regions]string{"bass", "middle", "treble"}

// String is the region's name.
func (r Region) String() string { return names[r] }

// WriteReport says in sentences what was heard.
func (r *Result) WriteReport(w io.Writer) error {
	_, err := io.WriteString(w, strings.Join(r.Sentences(), "\n")+"\n")
	return err
}

// Sentences are what a person is told, a line each.
func (r *Result) Sentences() []string {
	out := []string{r.sayCounts(), r.sayBegin()}
	out = append(out, r.sayUnheard()...)
	out = append(out, r.saySpeed(), r.saySlowing())
	out = append(out, r.sayDelays()...)
	out = append(out, fmt.Sprintf("strokes scatter by %.1f ms around that", r.RMSMS()))
	out = append(out, r.sayKeys()...)
	return append(out, r.sayTuning()...)
}

func (r *Result) sayCounts() string {
	c := r.Counts()
	return fmt.Sprintf("%s: %d sounded, %d silent, %d unsure", say.Count(c.Strokes, "stroke"), c.Sounded, c.Silent,
		c.Unsure)
}

// sayBegin says where the first note lies in the take.
func (r *Result) sayBegin() string {
	first := slices.MinFunc(r.list, func(a, b stroke) int { return int(math.Copysign(1, a.rowMM-b.rowMM)) })
	if first.near >= 0 {
		return fmt.Sprintf("the take begins %.1f s before the first note", first.near)
	}
	return fmt.Sprintf("the take begins %.1f s after the first note", -first.near)
}

// sayUnheard says what the take does not reach.
func (r *Result) sayUnheard() []string {
	c := r.Counts()
	var out []string
	if c.Before > 0 {
		out = append(out, fmt.Sprintf("%s before it %s not heard", say.Count(c.Before, "stroke"), was(c.Before)))
	}
	if c.After > 0 {
		out = append(out, fmt.Sprintf("the take breaks off at %.1f s, before the roll does: the last %s %s not heard",
			r.TakeSec, say.Count(c.After, "stroke"), was(c.After)))
	}
	return out
}

func was(n int) string {
	if n == 1 {
		return "is"
	}
	return "are"
}

func (r *Result) saySpeed() string {
	v := r.SpeedMMPerSec()
	share := 100 * (v.Value/r.Roll.Instrument.Transport.SpeedMMPerSec() - 1)
	text := "as planned"
	switch {
	case share >= 0.005:
		text = fmt.Sprintf("%.2f %% faster than planned", share)
	case share <= -0.005:
		text = fmt.Sprintf("%.2f %% slower than planned", -share)
	}
	return fmt.Sprintf("the paper runs at %.3f mm/s at row 0 (%.3f to %.3f), %s", v.Value, v.Low, v.High, text)
}

func (r *Result) saySlowing() string {
	v := r.SlowingPercent()
	switch {
	case v.Low > 0:
		return fmt.Sprintf("the paper slows by %.2f %% over the roll (%.2f to %.2f)", v.Value, v.Low, v.High)
	case v.High < 0:
		return fmt.Sprintf("the paper gains %.2f %% over the roll (%.2f to %.2f), besides the plan's build-up", -v.Value,
			-v.High, -v.Low)
	}
	return fmt.Sprintf("no slowing is to be told over the roll (%.2f to %.2f %%)", v.Low, v.High)
}

// sayDelays compares the outermost regions that were heard, and says nothing of a
// difference that may be none.
func (r *Result) sayDelays() []string {
	d := r.Delays()
	if len(d) < 2 {
		return nil
	}
	var out []string
	say := func(a, b Region) {
		v, _ := r.Late(a, b)
		switch {
		case v.Low > 0:
			out = append(out, fmt.Sprintf("the %s speaks %.0f ms later than the %s (%.0f to %.0f)", a, v.Value, b, v.Low,
				v.High))
		case v.High < 0:
			out = append(out, fmt.Sprintf("the %s speaks %.0f ms later than the %s (%.0f to %.0f)", b, -v.Value, a, -v.High,
				-v.Low))
		default:
			out = append(out, fmt.Sprintf("%s and %s speak together, as far as can be told (within %.0f ms)", a, b,
				max(v.High, -v.Low)))
		}
	}
	say(d[0].Region, d[len(d)-1].Region)
	if len(d) == 3 {
		say(Middle, Treble)
	}
	return out
}

// mostKeys is of how many keys that are not dead strokes are named.
const mostKeys = 12

// sayKeys names dead keys, and then the other strokes that were silent.
func (r *Result) sayKeys() []string {
	var out []string
	rest := 0
	for _, k := range r.SilentKeys() {
		if !k.Dead {
			if rest++; rest > mostKeys {
				continue
			}
		}
		out = append(out, k.String())
	}
	if rest > mostKeys {
		out = append(out, fmt.Sprintf("and %d more keys; the table of strokes has them all", rest-mostKeys))
	}
	return out
}

// sayTuning says how the piano is tuned, where that is far off.
func (r *Result) sayTuning() []string {
	if math.Abs(r.Cents) < 20 {
		return nil
	}
	way := "above"
	if r.Cents < 0 {
		way = "below"
	}
	return []string{fmt.Sprintf("the piano is tuned about %.0f cents %s A4 = 440 Hz", math.Abs(r.Cents), way)}
}
