package labels

import (
	"fmt"
	"math"
	"strings"

	"rollwright/draw"
	"rollwright/draw/typeface"
	"rollwright/paper/instrument"
	"rollwright/paper/spools"
	"rollwright/text/say"
)

// together are the sheets for players of several pianos about one spool; i is
// its last roll.
func (s *Set) together(i int) []*draw.Drawing {
	spool := s.Spools[i]
	p := s.page("together", "Playing together")
	p.head(s.title(), fmt.Sprintf("spool %d of %d", spool.Number, spool.Of))
	start := spools.Pair{CueMM: 0}.Cues(s.rolls(spool.Number))[0]
	p.paragraph("One start", fmt.Sprintf("Draw the start mark across each leader, %s before the row of time 0, and the word START MARK beside it. Bring each mark to the middle of %s, and %s together: the music begins %.3g s later. %s",
		s.lengths(before(start), s.names(spool.Number)), spool.Instrument.ReadAt(), letGo(spool.Instrument), -start.Sec,
		s.zero(spool.Number)))
	p.paragraph("How far they drift", s.drift(spool))
	p.paragraph("Where to meet again", s.gaps(spool))
	var cues []spools.Cue
	if i < len(s.Cues) {
		cues = s.Cues[i]
	}
	if len(cues) == 0 {
		p.paragraph("Cue marks", "None are drawn. With a distance of cues, each roll has marks at the same instants.")
		return []*draw.Drawing{p.Drawing}
	}
	p.paragraph("Cue marks", "Draw each across both margins. When a cue passes one bar it must pass the other: who sees it late plays late. Lengths count from the row of time 0.")
	return s.table(p, cues, s.names(spool.Number))
}

func (p *page) head(title, part string) {
	p.block(room{width: p.right - p.left - 46, size: 7, least: 4, lines: 1}.set(typeface.Serif, title), p.left, p.y+6,
		typeface.Serif, draw.Start)
	p.l.Add(draw.Bold(p.right, p.y+6, textMM, part, draw.End))
	p.l.Add((&draw.Path{Stroke: draw.Main(draw.InkDark)}).Line(p.left, p.y+9, p.right, p.y+9))
	p.y += 18
}

func before(c spools.Cue) []float64 {
	out := make([]float64, len(c.AlongMM))
	for i, mm := range c.AlongMM {
		out[i] = -mm
	}
	return out
}

// zero says where the lengths of the worksheets begin.
func (s *Set) zero(number int) string {
	if len(s.ZeroMM) < len(s.Spools) {
		return ""
	}
	var mm []float64
	most := 0.0
	for i, spool := range s.Spools {
		if spool.Number == number {
			mm = append(mm, s.ZeroMM[i])
			most = max(most, s.ZeroMM[i])
		}
	}
	if most == 0 {
		return "Worksheets count from the row of time 0, too: it is their zero line."
	}
	return "Worksheets count from a zero line " + s.lengths(mm, s.names(number)) + " before the row of time 0."
}

// lengths are lengths with the pianos they hold for, one when all are equal.
func (s *Set) lengths(mm []float64, names []string) string {
	var parts []string
	same := true
	for i, v := range mm {
		same = same && math.Abs(v-mm[0]) < 0.005
		parts = append(parts, s.Lengths.With(v)+" ("+names[i]+")")
	}
	if same {
		return s.Lengths.With(mm[0])
	}
	return strings.Join(parts, ", ")
}

func (s *Set) names(number int) []string {
	var out []string
	for _, spool := range s.Spools {
		if spool.Number == number {
			name := typeface.Clean(spool.Name)
			if name == "" {
				name = fmt.Sprintf("piano %d", spool.Piano+1)
			}
			out = append(out, name)
		}
	}
	return out
}

// letGo is what begins the music.
func letGo(in *instrument.Instrument) string {
	if in.Transport.Crank {
		return "begin to turn"
	}
	return "let go"
}

// drift says how soon two pianos part, and how far by the end of the spool.
func (s *Set) drift(spool *spools.Spool) string {
	pair := s.Pair
	if pair.SpeedShare == 0 {
		pair.SpeedShare = 0.01
	}
	sec := spool.ToSec - spool.FromSec
	even := "Calibrate both pianos, set both by the same length of paper in the same time, and listen at the first unison."
	if spool.Instrument.Transport.Crank {
		even = "No two hands turn alike: watch the cues and each other, and listen at the first unison."
	}
	return fmt.Sprintf("If their speeds differ by %.3g %%, they are %.2f s apart after %s, the end of this spool; after %.3g s already the ear hears two attacks (%.0f ms) where one is written. %s",
		100*math.Abs(pair.SpeedShare), math.Abs(pair.DriftSec(sec)), say.Clock(sec, 1), pair.HeardAfterSec(),
		1000*pair.HeardAfterSec()*math.Abs(pair.SpeedShare), even)
}

// gaps lists where players may wait for each other on a spool.
func (s *Set) gaps(spool *spools.Spool) string {
	pair := s.Pair
	if pair.SpeedShare == 0 {
		pair.SpeedShare = 0.01
	}
	var on []spools.Rest
	for _, r := range s.Rests {
		if r.FromSec >= spool.FromSec && r.ToSec <= spool.ToSec {
			on = append(on, spools.Rest{FromSec: r.FromSec - spool.FromSec, ToSec: r.ToSec - spool.FromSec})
		}
	}
	meetings := pair.Meetings(on)
	if len(meetings) == 0 {
		return "No rest of all pianos on this spool is long enough to hold their drift: they have to agree from beginning to end."
	}
	const most = 12
	var parts []string
	for i, m := range meetings {
		if i == most {
			parts = append(parts, fmt.Sprintf("and %d more", len(meetings)-most))
			break
		}
		parts = append(parts, fmt.Sprintf("%s to %s (drift by then %.2f s)", say.Clock(m.FromSec, 1), say.Clock(m.ToSec, 1),
			m.DriftSec))
	}
	return "All pianos rest long enough to hold the drift since the rest before: " + strings.Join(parts, "; ") +
		". The one that is ahead stops there and starts again with the other. Times count from the beginning of the spool."
}

// table lists cues in three columns, on more sheets where they do not fit.
func (s *Set) table(p *page, cues []spools.Cue, names []string) []*draw.Drawing {
	out := []*draw.Drawing{p.Drawing}
	const line, columns = 5.0, 2
	width := (p.right - p.left) / columns
	for len(cues) > 0 {
		rows := int((p.h - edgeMM - p.y - 6) / line)
		for c := 0; c < columns && len(cues) > 0; c++ {
			n := min(rows, len(cues))
			s.cues(p, p.left+float64(c)*width, width-8, cues[:n], names)
			cues = cues[n:]
		}
		if len(cues) > 0 {
			p = s.page("together", "Playing together")
			p.head(s.title(), "more cues")
			out = append(out, p.Drawing)
		}
	}
	return out
}

// cues is one column of the table.
func (s *Set) cues(p *page, x, width float64, cues []spools.Cue, names []string) {
	at := func(i int) float64 { return x + 44 + float64(i+1)*(width-44)/float64(len(names)) }
	p.l.Add(draw.Second(draw.Label(x, p.y, smallMM, "cue", draw.Start)),
		draw.Second(draw.Label(x+40, p.y, smallMM, "plays at", draw.End)))
	for i, name := range names {
		p.l.Add(draw.Second(draw.Label(at(i), p.y, smallMM, typeface.Sans.Fit(name, smallMM,
			(width-44)/float64(len(names))-9)+", "+s.Lengths.Unit(), draw.End)))
	}
	for k, cue := range cues {
		y := p.y + 5 + float64(k)*5
		p.l.Add(draw.Label(x, y, textMM, cue.Name, draw.Start), draw.Label(x+40, y, textMM, signedClock(cue.Sec), draw.End))
		for i, mm := range cue.AlongMM {
			p.l.Add(draw.Bold(at(i), y, textMM, signed(s.Lengths.Text(mm)), draw.End))
		}
	}
}

func signedClock(sec float64) string {
	if sec < 0 {
		return signed("-" + say.Clock(-sec, 1))
	}
	return say.Clock(sec, 1)
}

// signed is a number with the sign of print in place of a hyphen.
func signed(number string) string { return strings.Replace(number, "-", "\u2212", 1) }
