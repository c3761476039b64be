package main

import (
	"bufio"
	"context"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"math"
	"os"
	"strconv"
	"strings"
	"time"

	"golang.org/x/term"

	"rollwright/bench"
	"rollwright/journal"
	"rollwright/punching"
	"rollwright/roll"
	"rollwright/spools"
	"rollwright/workshop"
)

// punchCommand is the companion at the bench.
type punchCommand struct {
	pieceArg
	Piano   string        `placeholder:"NAME" help:"The piano whose roll is punched."`
	Journal string        `placeholder:"FILE" help:"Where progress is kept (beside the piece)."`
	Status  bool          `xor:"show" help:"Say how far the work is, and end."`
	Changes bool          `xor:"show" help:"List as CSV what to patch and to add since the piece changed, and end."`
	Plain   bool          `help:"Line by line, without large letters; also when input is no terminal."`
	ASCII   bool          `help:"Large letters without block characters."`
	Settle  time.Duration `default:"700ms" hidden:"" help:"For so long after a row the key does nothing: foot switches bounce."`
	making  `group:"Bench, spools, paper"`
}

func (c *punchCommand) Run(ctx context.Context, t terminal) error {
	if c.File == "-" && c.Journal == "" {
		return usageError{"a piece from standard input has no place for a journal; name one with --journal, or give a file"}
	}
	m, err := c.making.making()
	if err != nil {
		return err
	}
	job, err := c.open(ctx, t)
	if err != nil {
		return err
	}
	work, err := c.work(job, &m)
	if err != nil {
		return err
	}
	switch {
	case c.Status:
		return work.status(t.out)
	case c.Changes:
		return work.changes(t)
	}
	if work.state == nil {
		if err := forewarn(t.err, job, &m); err != nil {
			return err
		}
	}
	return c.punch(ctx, t, work)
}

// work is the roll to punch and where its journal is.
type work struct {
	path  string
	head  journal.Head
	spool *spools.Spool
	plan  *bench.Plan
	state *journal.State // nil: not begun
}

// work finds the one roll that is meant: that of a journal which has begun, or
// a new one.
func (c *punchCommand) work(job *workshop.Job, m *workshop.Making) (*work, error) {
	if c.Journal != "" {
		if w, err := begun(job, c.Journal, m); w != nil || err != nil {
			return w, err
		}
	} else if c.Spool > 0 || m.Spools.None() {
		path := journal.Path(c.File, c.Piano, c.Spool, c.Spool+1) // of any number of spools
		if c.Spool == 0 {
			path = journal.Path(c.File, c.Piano, 0, 0)
		}
		if w, err := begun(job, path, m); w != nil || err != nil {
			return w, err
		}
	}
	choice, err := job.ToPunch(c.Piano, m)
	if err != nil {
		return nil, err
	}
	if len(choice) != 1 {
		return nil, usageError{fmt.Sprintf("the piece has %d rolls: say which with %s", len(choice), chooser(choice))}
	}
	s := choice[0]
	plan, err := job.BenchPlan(s, m)
	if err != nil {
		return nil, err
	}
	path := c.Journal
	if path == "" {
		path = journal.Path(c.File, s.Name, s.Number, s.Of)
		if w, err := begun(job, path, m); w != nil || err != nil {
			return w, err
		}
	}
	return &work{path: path, head: job.Head(s, plan, m), spool: s, plan: plan}, nil
}

// begun is the work of a journal, nil where there is none yet.
func begun(job *workshop.Job, path string, m *workshop.Making) (*work, error) {
	state, err := journal.Read(path)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	spool, plan, err := job.Begun(state.Head, m)
	if err != nil {
		return nil, err
	}
	return &work{path, state.Head, spool, plan, state}, nil
}

// chooser names the options that tell rolls apart.
func chooser(choice []*spools.Spool) string {
	var pianos []string
	for _, s := range choice {
		if s.Number == choice[0].Number && s.Name != "" {
			pianos = append(pianos, s.Name)
		}
	}
	var options []string
	if len(pianos) > 1 {
		options = append(options, "--piano "+strings.Join(pianos, "|"))
	}
	if n := choice[0].Of; n > 1 {
		options = append(options, fmt.Sprintf("--spool 1 to %d", n))
	}
	return strings.Join(options, " and ")
}

// title is what is being punched, in a line.
func (w *work) title() string {
	title := w.head.Title
	if w.spool.Name != "" {
		title += " · " + w.spool.Name
	}
	if w.spool.Of > 1 {
		title += fmt.Sprintf(" · spool %d of %d", w.spool.Number, w.spool.Of)
	}
	return title
}

// compare is what lies between paper and plan.
func (w *work) compare() *punching.Changes {
	if w.state == nil {
		return &punching.Changes{}
	}
	return punching.Compare(w.plan, w.state)
}

// status says how far the work is.
func (w *work) status(out io.Writer) error {
	pace := 0.0
	var b strings.Builder
	fmt.Fprintf(&b, "%s\n", w.title())
	if w.state == nil {
		fmt.Fprintf(&b, "not begun; %s will hold the journal\n", w.path)
	} else {
		pace = w.state.PunchesAnHour()
		fmt.Fprintf(&b, "journal: %s\n", w.path)
		b.WriteString(atBench(w.plan, w.spool, w.state, w.compare()))
		if worked, punches := w.state.Worked(); punches > 0 {
			fmt.Fprintf(&b, "worked: %s for %d punches\n", punching.Hours(worked.Seconds()), punches)
		}
	}
	e := w.plan.Estimate(pace)
	assumed := ""
	if e.Assumed {
		assumed = ", assumed"
	}
	lengths := w.plan.Profile.Lengths
	fmt.Fprintf(&b, "in all: %d punches in %d rows, %.0f turns of the crank\n", e.Punches, e.Rows, e.Turns)
	fmt.Fprintf(&b, "work: %s at %.0f punches an hour%s, %s\n", punching.Hours(e.WorkSec), e.PunchesAnHour, assumed, count(e.Sessions, "sitting"))
	fmt.Fprintf(&b, "paper: %s leader, %s music, %s trailer, %s in all; wound up %.0f turns, %.0f mm across\n",
		lengths.Long(e.LeaderMM), lengths.Long(e.MusicMM), lengths.Long(e.TrailerMM), lengths.Long(e.PaperMM), e.SpoolTurns, e.SpoolMM)
	if w.plan.WebTooWide() {
		fmt.Fprintf(&b, "mind: webs inside slots are up to %.2f mm wide and may shut a port, which bears %.2f mm; take a finer dial\n", w.plan.WebMM, w.plan.Roll.Instrument.WebMaxMM())
	}
	_, err := io.WriteString(out, b.String())
	return err
}

// atBench is what is cut of a roll, whether it belongs, what is still free.
func atBench(plan *bench.Plan, spool *spools.Spool, state *journal.State, c *punching.Changes) string {
	var b strings.Builder
	fmt.Fprintf(&b, "cut: %s of %d planned, up to %s from zero\n", count(c.Cut, "hole"), plan.Punches, plan.Profile.Lengths.With(c.CutMM-plan.AlongMM(plan.Start)))
	if math.IsInf(c.CutMM, -1) {
		b.Reset()
		b.WriteString("cut: nothing yet\n")
	}
	slips := 0
	for _, p := range c.Patch {
		if p.Slip {
			slips++
		}
	}
	if slips > 0 {
		fmt.Fprintf(&b, "to patch: %s\n", count(slips, "slip"))
	}
	if n := len(c.Patch) - slips; n > 0 {
		fmt.Fprintf(&b, "to patch: %s that the piece no longer has\n", count(n, "hole"))
	}
	if n := len(c.Add); n > 0 {
		fmt.Fprintf(&b, "to add: %s in the part already done\n", count(n, "hole"))
	}
	if !math.IsInf(c.CutMM, -1) {
		fmt.Fprintf(&b, "free: notes that begin after %.3f s of the piece may still change\n", spool.FromSec+max(c.FreeSec, 0))
	}
	if n := len(state.Damaged); n > 0 {
		fmt.Fprintf(&b, "damaged: %s of the journal could not be read, the first is line %d; those rows come again\n", count(n, "line"), state.Damaged[0])
	}
	return b.String()
}

// changes lists what to patch and to add.
func (w *work) changes(t terminal) error {
	c := w.compare()
	out := csv.NewWriter(t.out)
	_ = out.Write([]string{"what", "why", "row", "number", "name", "from_zero", "across_mm", "along_mm", "time_s"}) // the error is kept
	for _, p := range c.Patch {
		why := "no longer planned"
		if p.Slip {
			why = "slip"
		}
		w.change(out, "patch", why, p)
	}
	for _, p := range c.Add {
		w.change(out, "add", "not cut", p)
	}
	out.Flush()
	if err := out.Error(); err != nil {
		return err
	}
	if w.state == nil {
		fmt.Fprintln(t.err, "nothing is cut yet: everything may change")
		return nil
	}
	fmt.Fprint(t.err, atBench(w.plan, w.spool, w.state, c))
	return nil
}

func (w *work) change(out *csv.Writer, what, why string, p punching.Place) {
	row, port, name := "", "", ""
	if p.Row >= 0 {
		row = strconv.Itoa(p.Row + 1)
	}
	if p.Port >= 0 {
		port, name = strconv.Itoa(w.plan.Notch(p.Port)), w.plan.Roll.Instrument.Bar.Ports[p.Port].Name()
	}
	sec := w.plan.Roll.Instrument.Transport.Sec(p.AlongMM)
	_ = out.Write([]string{
		what, why, row, port, name, w.plan.Profile.Lengths.With(p.AlongMM - w.plan.AlongMM(w.plan.Start)),
		string(roll.AppendMM(nil, p.AcrossMM)), string(roll.AppendMM(nil, p.AlongMM)), strconv.FormatFloat(sec+0, 'f', 3, 64),
	})
}

// punch opens the journal and leads through the rows.
func (c *punchCommand) punch(ctx context.Context, t terminal, w *work) error {
	j, err := journal.Open(w.path, w.head, time.Now)
	if err != nil {
		return err
	}
	if n := len(j.Damaged); n > 0 {
		fmt.Fprintf(t.err, "%s: %s could not be read, the first is line %d; those rows come again\n", w.path, count(n, "line"), j.Damaged[0])
	}
	s, err := punching.New(w.plan, j, time.Now)
	if err != nil {
		j.Close()
		return err
	}
	in, inOK := t.in.(*os.File)
	out, outOK := t.out.(*os.File)
	if !c.Plain && inOK && outOK && term.IsTerminal(int(in.Fd())) && term.IsTerminal(int(out.Fd())) {
		err = c.fullScreen(ctx, in, out, s, w.title())
	} else {
		err = plainly(ctx, t, s)
	}
	v := s.View()
	if closing := s.Close(); err == nil {
		err = closing
	}
	fmt.Fprintf(t.err, "%d of %d punches are done; %s remembers\n", v.Punches, v.OfPunches, w.path)
	return err
}

// plainly leads line by line: for pipes, for readers of screens.
func plainly(ctx context.Context, t terminal, s *punching.Session) error {
	lines := make(chan string)
	go func() {
		defer close(lines)
		scanner := bufio.NewScanner(t.in)
		for scanner.Scan() {
			select {
			case lines <- scanner.Text():
			case <-ctx.Done():
				return
			}
		}
	}()
	fmt.Fprintln(t.out, "return: next · b: back · u: not punched · s 32 or s D3 @ 117.5: slip · l: patches · closed 1: patch 1 is closed · p: pause · q: leave")
	for {
		tell(t.out, s.View())
		select {
		case <-ctx.Done():
			return ctx.Err()
		case line, ok := <-lines:
			if !ok {
				return nil
			}
			leave, err := obey(t.out, s, line)
			if leave || err != nil {
				return err
			}
		}
	}
}

// tell prints a view in a few lines.
func tell(out io.Writer, v punching.View) {
	switch {
	case v.Paused:
		fmt.Fprintln(out, "paused; return goes on")
		return
	case v.Finished:
		fmt.Fprintln(out, v.Say)
		return
	}
	for _, line := range v.Lines {
		fmt.Fprintln(out, "on the way:", line)
	}
	done := ""
	if v.Done {
		done = " (punched already)"
	}
	fmt.Fprintf(out, "row %d of %d%s: %s", v.Row, v.Rows, done, v.Say)
	var names []string
	for _, s := range v.Strokes {
		names = append(names, strings.TrimSpace(fmt.Sprintf("%d %s %s", s.Number, s.Name, s.Chain())))
	}
	fmt.Fprintf(out, " [%s] crank at %s, %s from zero", strings.Join(names, ", "), v.Reading, v.Place)
	if v.Measure != "" {
		fmt.Fprint(out, ", measure after it")
	}
	fmt.Fprintln(out)
}

// obey does what a line of plain input asks. Only the journal's errors are
// errors; what a person mistyped is said to them.
func obey(out io.Writer, s *punching.Session, line string) (leave bool, err error) {
	word, rest, _ := strings.Cut(strings.TrimSpace(line), " ")
	if s.View().Paused && word != "q" {
		return false, s.Resume()
	}
	switch word {
	case "":
		return false, s.Next()
	case "b":
		s.Back()
	case "u":
		undone, err := s.Undo()
		if !undone && err == nil {
			fmt.Fprintln(out, notPunched)
		}
		return false, err
	case "s":
		port, mm, err := s.ParseSlip(rest)
		if err == nil {
			err = s.Slip(port, mm)
		}
		if err != nil {
			fmt.Fprintln(out, err)
		}
	case "l":
		for _, line := range patches(s) {
			fmt.Fprintln(out, line)
		}
	case "closed":
		fmt.Fprintln(out, closePatch(s, rest))
	case "p":
		return false, s.Pause()
	case "q":
		return true, nil
	default:
		fmt.Fprintf(out, "%q means nothing here\n", word)
	}
	return false, nil
}

const notPunched = "this row is not punched yet; b shows the one before"

// patches are the list of holes to patch, then those to add.
func patches(s *punching.Session) []string {
	c := s.Changes()
	var out []string
	for i, p := range c.Patch {
		why := "the piece no longer has it"
		if p.Slip {
			why = "slip"
		}
		out = append(out, fmt.Sprintf("patch %d: %s (%s)", i+1, s.Describe(p), why))
	}
	if len(out) == 0 {
		out = append(out, "nothing to patch")
	}
	if n := len(c.Add); n > 0 {
		out = append(out, fmt.Sprintf("%s to add in the part already done; they come first", count(n, "hole")))
	}
	return out
}

// closePatch takes a patch from the list by its number, and says so.
func closePatch(s *punching.Session, number string) string {
	list := s.Changes().Patch
	n, err := strconv.Atoi(strings.TrimSpace(number))
	if err != nil || n < 1 || n > len(list) {
		return fmt.Sprintf("there is no patch %s", strings.TrimSpace(number))
	}
	if err := s.Patched(list[n-1]); err != nil {
		return err.Error()
	}
	return fmt.Sprintf("patch %d is closed", n)
}
