package worksheet

import (
	"fmt"
	"math"
	"strconv"

	"rollwright/draw"
	"rollwright/draw/typeface"
	"rollwright/making/bench"
)

// guide is the first page: how the paper lies, how to work, what it will take.
func (s *sheet) guide() *draw.Drawing {
	d := s.drawing()
	l := d.Layer("guide", "Guide")
	y := s.top - headMM + 9
	l.Add(draw.Serif(s.left, y, 9, typeface.Serif.Fit(s.o.title(), 9, s.right-s.left), draw.Start))
	y += 7
	if s.o.Composer != "" {
		t := draw.Second(draw.Serif(s.left, y, 4.6, typeface.Serif.Fit(typeface.Clean(s.o.Composer), 4.6, s.right-s.left),
			draw.Start))
		t.Face = typeface.SerifItalic
		l.Add(t)
		y += 6.4
	}
	line := "Worksheet for punching by hand"
	if s.o.Repair != nil {
		line = "Worksheet for repair"
	}
	if name := s.o.name(); name != "" {
		line += " · " + name
	}
	l.Add(draw.Second(draw.Label(s.left, y, textMM, typeface.Sans.Fit(typeface.Clean(line+" · "+
		s.plan.Roll.Instrument.Title), textMM, s.right-s.left), draw.Start)))
	l.Add(draw.Second(draw.Label(s.left, y+4.6, textMM, s.fits(), draw.Start)))
	y += 12
	column := s.left + 112
	s.sketch(l, column+8, y, s.right)
	s.costs(l, column+8, y+77)
	for i, step := range s.steps() {
		l.Add(draw.Bold(s.left, y, 4, strconv.Itoa(i+1), draw.Start), draw.Bold(s.left+7, y, 4, step.what, draw.Start))
		y += 5.4
		for _, line := range typeface.Serif.Wrap(step.how, 3.5, column-s.left-9) {
			l.Add(draw.Serif(s.left+7, y, 3.5, line, draw.Start))
			y += 4.6
		}
		y += 3
	}
	s.ruler(l, s.left+7, s.h-edgeMM-8)
	return d
}

type step struct{ what, how string }

// when explains the small figures under a length.
func (s *sheet) when() string {
	if s.o.When == nil {
		return ""
	}
	if s.columns == 1 {
		return " Behind the strokes stands the row's time in the piece."
	}
	return " Above each column stands the time in the piece at which it begins."
}

func (s *sheet) steps() []step {
	p, lengths := s.plan.Profile, s.plan.Profile.Lengths
	up, bass, start, moves := "front (the side that the player sees)", "left", "towards you", "towards you"
	if p.BackUp {
		up = "back (the side that lies on the tracker bar)"
	}
	if p.BassRight {
		bass = "right"
	}
	if !p.StartNear(s.plan.Roll.Instrument) {
		start, moves = "away from you", "away from you"
	}
	one, advance := "one part of the dial", "Each row says how far to turn on: "+
		fmt.Sprintf("“%s” is two turns and %s of the dial", p.Crank.Text(2, int64(p.Crank.Parts)/3),
			noun(p.Crank.Parts/3, "part"))
	advance += fmt.Sprintf(". A screw has backlash. To reach a place behind, turn back %s beyond it and come forward again.", turnsBeyond(p.Crank))
	crank := "cranking forward"
	if p.Crank.Clicks() {
		one, crank = "one click", "clicking forward"
		advance = fmt.Sprintf("Each row says how many clicks to go on: “37” is 37 clicks. To reach a place behind, let the paper back %s beyond it and come forward again.", turnsBeyond(p.Crank))
	}
	out := []step{
		{"Lay the paper", fmt.Sprintf("The %s is up, the bass edge at your %s, the beginning of the roll %s: the paper moves %s as you work. A mirrored roll is a ruined roll: compare with the picture.", up, bass, start, moves)},
		{"Draw the zero line", fmt.Sprintf("Square across, %s from the beginning of the paper. Bring it under the die by %s, and set the counter to 0. %s", lengths.With(s.plan.LeaderMM()), crank, s.timeZero())},
		{"Only forward", advance},
		{"Punch from side to side", fmt.Sprintf("An arrow says which way the row goes. A stroke shows its %s in bold, then the key. Nothing more: a single stroke. “3/9” is the third punch of a chain of nine, so a chain that breaks off shows at once. Tick the row before you go on.%s%s", s.numbered(), s.shortened(), s.when())},
		{"Measure on the way", s.measuring()},
		{"A wrong hole", "Note it on the last page with its row and " + s.numbered() +
			". Patch it from behind before the roll plays: thin paper, thin paste, grain along the roll."},
		{"Mind your hands and eyes", "Punches pinch and dies are sharp: keep fingers clear of the lever, wear eye protection, clear chips with a brush. Follow the maker's instructions and your local rules."},
	}
	if s.o.Repair != nil {
		out = s.repairing(out, crank)
	}
	if s.plan.LargestMM > 0.0005 || s.plan.Merged > 0 {
		ms := s.plan.LargestMM / s.plan.Roll.Instrument.Transport.SpeedMMPerSec() * 1000
		how := fmt.Sprintf("Every hole stands on %s; the furthest is %.3f mm (%.1f ms) beside its place. Errors do not add up.", one, s.plan.LargestMM, ms)
		finer := "a finer dial"
		if p.Crank.Clicks() {
			finer = "a roll laid out for these clicks (the instrument's step)"
		}
		if s.plan.Merged > 0 {
			how += fmt.Sprintf(" %s fell on their neighbours and are left out: %s would part them.",
				noun(s.plan.Merged, "stroke"), finer)
		}
		if s.plan.WebTooWide() {
			how += fmt.Sprintf(" Webs inside slots are up to %.2f mm wide and may shut a port, which bears %.2f mm: %s would not.", s.plan.WebMM, s.plan.Roll.Instrument.WebMaxMM(), finer)
		}
		out = append(out, step{"How exact this is", how})
	}
	return out
}

// repairing are the steps where a roll is there already and lacks some rows.
func (s *sheet) repairing(steps []step, crank string) []step {
	lengths := s.plan.Profile.Lengths
	steps[1] = step{"Find the zero line", fmt.Sprintf("It lies square across, %s from the beginning of the paper. Bring it under the die by %s, and set the counter to 0. %s",
		lengths.With(s.plan.LeaderMM()), crank, s.timeZero())}
	steps[4] = step{"Patch first, punch after", "Go along the roll once and close what is to be patched, from behind: thin paper, thin paste, grain along the roll. Let it dry flat under a weight. " +
		"Then go along again and punch the rows. A patch that reaches over a wanted hole is punched with the row that names it."}
	steps[5].how = "Note it on the last page with its row and " + s.numbered() + ", and prove the roll again."
	return append([]step{{"What was found", s.o.Repair.Says}}, steps...)
}

// timeZero says where the row of time 0 lies, from which labels and cues count,
// and the lines before it.
func (s *sheet) timeZero() string {
	if s.plan.Start == 0 {
		return "It is the row of time 0, from which labels and cues count, too."
	}
	lengths := s.plan.Profile.Lengths
	text := fmt.Sprintf("Lengths here count from it; the row of time 0, from which labels and cues count, lies %s farther on and has a line of its own.", lengths.With(s.plan.ZeroMM()))
	for _, stop := range s.plan.Stops {
		if stop.Dial < 0 && stop.Do == "" {
			text += fmt.Sprintf(" The %s is %s before the row of time 0.", stop.Name, lengths.With(-stop.AlongMM))
		}
	}
	return text
}

func (s *sheet) measuring() string {
	p := s.plan.Profile
	if p.CheckMM <= 0 {
		return "This bench asks for no measuring. Compare the paper from the zero line with the column all the same, now and then."
	}
	return fmt.Sprintf("About every %s a line asks for the length from the zero line to a row. Lay a steel rule along the paper without pulling it. Found %s too little or too much is no more than the rule shows; more, and growing: stop, and look for a slipping feed or for paper that has taken up damp.",
		p.Lengths.With(p.CheckMM), p.Lengths.With(ruleMM(p.Lengths)))
}

// ruleMM is what a steel rule tells apart over a length of paper: half a
// millimetre, or a 32nd of an inch (common practice, no source).
func ruleMM(l bench.Lengths) float64 {
	if l == bench.Millimetres {
		return 0.5
	}
	return 25.4 / 32
}

func turnsBeyond(c bench.Crank) string {
	switch {
	case c.Clicks():
		return noun(c.BeyondTurns, "click")
	case c.BeyondTurns == 1:
		return "a full turn"
	}
	return noun(c.BeyondTurns, "full turn")
}

// sketch is the bench from above: the person is below.
func (s *sheet) sketch(l *draw.Layer, left, top, right float64) {
	p := s.plan.Profile
	mid := (left + right) / 2
	paper := draw.Box(left+6, top, right-6, top+56)
	die := top + 28.0
	bassSide, trebleSide := "BASS", "TREBLE"
	if p.BassRight {
		bassSide, trebleSide = trebleSide, bassSide
	}
	l.Add((&draw.Path{Fill: draw.Paper, Stroke: draw.Hair(draw.InkDark)}).Rect(paper))
	near := p.StartNear(s.plan.Roll.Instrument)
	startY, tail, tip := paper.Max.Y-8, die-14, die-5.0
	holes := 1.0 // from the die towards the beginning
	if !near {
		startY, tail, tip, holes = paper.Min.Y+8, die+14, die+5, -1
	}
	l.Add((&draw.Path{Stroke: draw.Main(draw.InkDark)}).Line(paper.Min.X, startY, paper.Max.X, startY))
	l.Add(draw.Bold(mid, startY+5, 3.4, "START", draw.Middle), draw.Second(draw.Label(mid, startY-1.4, smallMM,
		"zero line", draw.Middle)))
	dots := &draw.Slots{Ink: draw.InkDark, WidthMM: 1.3}
	for i, x := range []float64{10, 18, 22, 34, 14, 30, 41, 18, 26, 38} {
		y := die + holes*(3+3.1*float64(i%4))
		dots.Segments = append(dots.Segments, draw.Segment{X1: paper.Min.X + x, Y1: y, X2: paper.Min.X + x, Y2: y})
	}
	l.Add(dots)
	l.Add((&draw.Path{Fill: draw.Brass}).Rect(draw.Box(left, die-1.2, right, die+1.2)))
	l.Add(draw.Label(left, die-2.6, smallMM, "die", draw.Start))
	l.Add(draw.Arrow(mid, tail, mid, tip, 3))
	l.Add(draw.Second(draw.Label(mid+3, (tail+tip)/2+1, smallMM, "paper moves", draw.Start)))
	for _, t := range []*draw.Text{draw.Bold(paper.Min.X+3.6, paper.Min.Y+14, 3.2, bassSide, draw.Middle),
		draw.Bold(paper.Max.X-1.6, paper.Min.Y+14, 3.2, trebleSide, draw.Middle)} {
		t.TurnDeg = -90
		l.Add(t)
	}
	side := "FRONT of the paper is up"
	if p.BackUp {
		side = "BACK of the paper is up"
	}
	l.Add(draw.Bold(mid, paper.Max.Y+6, 3.4, side, draw.Middle),
		draw.Second(draw.Label(mid, paper.Max.Y+11, smallMM+0.2, "you sit here", draw.Middle)))
}

// costs is the estimate.
func (s *sheet) costs(l *draw.Layer, x, y float64) {
	e, lengths := s.plan.Estimate(s.o.Pace), s.plan.Profile.Lengths
	pace := "at your own pace"
	if e.Assumed {
		pace = "assumed, until your own is known"
	}
	l.Add(draw.Bold(x, y, 4, "What it will take", draw.Start))
	y += 6
	for _, line := range [][2]string{
		{"punches", count(e.Punches)},
		{"rows", count(e.Rows)},
		{map[bool]string{true: "clicks", false: "turns of the crank"}[s.plan.Profile.Crank.Clicks()],
			s.plan.Profile.Crank.Whole(e.Turns)},
		{"a stroke, a row", e.Pace.Stroke() + ", " + e.Pace.Row()},
		{"", pace},
		{"hours", fmt.Sprintf("%.1f", e.WorkSec/3600)},
		{fmt.Sprintf("sittings of %.3g h", s.plan.Profile.Pace.SessionSec/3600), count(e.Sessions)},
		{"leader", lengths.Long(e.LeaderMM)},
		{"music", lengths.Long(e.MusicMM)},
		{"trailer", lengths.Long(e.TrailerMM)},
		{"paper in all", lengths.Long(e.PaperMM)},
		{"wound up", noun(int(math.Round(e.SpoolTurns)), "turn") + ", " + lengths.Across(e.SpoolMM) + " across"},
	} {
		if line[0] == "" {
			l.Add(draw.Second(draw.Label(s.right, y-0.6, smallMM, line[1], draw.End)))
			y += 4
			continue
		}
		l.Add(draw.Label(x, y, textMM, line[0], draw.Start), draw.Bold(s.right, y, textMM, line[1], draw.End))
		y += 5
	}
}

// ruler proves the printer.
func (s *sheet) ruler(l *draw.Layer, x, y float64) {
	l.Add(draw.Ruler(x, y, 1, 0, 100, 1), draw.Second(draw.Label(x+103, y+2.4, smallMM,
		"100 mm, if you want to know your printer; nothing here needs it", draw.Start)))
}

// slips is the last page: wrong holes to patch.
func (s *sheet) slips() *draw.Drawing {
	d := s.drawing()
	l := d.Layer("slips", "Slips")
	s.head(l, "wrong holes")
	l.Add((&draw.Path{Stroke: draw.Main(draw.InkDark)}).Line(s.left, s.top, s.right, s.top))
	xs := []float64{0, 8, 34, 60, 104}
	for i, name := range []string{"", "row", s.numbered(), s.plan.Profile.Lengths.Unit() + " from zero", "what happened"} {
		l.Add(draw.Second(draw.Label(s.left+xs[i]+0.6, s.top-1.6, smallMM, name, draw.Start)))
	}
	l.Add(draw.Second(draw.Label(s.right, s.top-1.6, smallMM, "patched", draw.End)))
	rules := &draw.Path{Stroke: draw.Stroke{Ink: draw.InkFaint, WidthMM: 0.15}}
	boxes := &draw.Path{Stroke: draw.Hair(draw.InkDark)}
	for y := s.top; y+8 <= s.bottom; y += 8 {
		rules.Line(s.left, y+8, s.right, y+8)
		boxes.Rect(draw.Box(s.right-boxMM-4, y+2.4, s.right-4, y+2.4+boxMM))
	}
	l.Add(rules, boxes)
	return d
}
