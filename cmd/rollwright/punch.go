package main

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"time"

	"golang.org/x/term"

	"rollwright/making/bench"
	"rollwright/making/journal"
	"rollwright/making/punching"
	"rollwright/paper/edition"
	"rollwright/text/say"
	"rollwright/workshop"
)

// punchCommand is the companion at the bench.
type punchCommand struct {
	pieceArg
	Piano   string        `placeholder:"NAME" help:"The piano whose roll is punched."`
	Journal string        `placeholder:"FILE" help:"Where progress is kept (beside the piece)."`
	Also    string        `placeholder:"FOLDER" help:"Keep a second copy of the journal in this folder, at every row."`
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
	if (c.Status || c.Changes) && c.Journal == "" && c.Spool == 0 {
		return c.standing(t, job, &m)
	}
	work, err := c.work(job, &m)
	if err != nil {
		return err
	}
	notes := slices.Concat(work.doubts(), c.parted(job, &m, work), work.otherBench())
	for _, note := range notes {
		fmt.Fprintln(t.err, note)
	}
	switch {
	case c.Status:
		return work.status(t.out)
	case c.Changes:
		return changes(t, work)
	}
	if work.state == nil {
		if err := forewarn(t.err, job, &m); err != nil {
			return err
		}
		sayLosses(t.err, "", work.plan)
	}
	return c.punch(ctx, t, work, notes)
}

// otherBench says how to go on at a bench other than the one where the roll was
// begun: what its counter has to show with the last row under the die.
func (w *work) otherBench() []string {
	if w.state == nil {
		return nil
	}
	head, p := w.state.Head, w.plan.Profile
	same := head.TurnMM == p.Crank.TurnMM && head.Parts == p.Crank.Parts
	if same && !punching.Elsewhere(w.plan, w.state) {
		return nil
	}
	name := strconv.Quote(filepath.Base(p.Name))
	text := fmt.Sprintf("this roll was begun at %s (%s); ", head.Bench,
		bench.Crank{TurnMM: head.TurnMM, Parts: head.Parts}.Describe())
	if filepath.Base(head.Bench) == filepath.Base(p.Name) {
		text = fmt.Sprintf("the crank of %s has changed since this roll was begun (%s); ", head.Bench,
			bench.Crank{TurnMM: head.TurnMM, Parts: head.Parts}.Describe())
	}
	if same {
		text = "the row that was cut last was cut at another bench; "
	}
	last, any := w.state.Last()
	if !any {
		return []string{text + fmt.Sprintf("at %s set the counter to 0 at the zero line", name)}
	}
	at := p.Crank.Counter(w.plan.Reading(w.plan.Profile.Crank.Nearest(last.AlongMM)))
	return []string{text + fmt.Sprintf("at %s (%s) bring the last row that is cut, %s from zero, under the die and set the counter to %s",
		name, p.Crank.Describe(), p.Lengths.With(last.AlongMM-w.plan.AlongMM(w.plan.Start)), at)}
}

// parted says that rolls of the piece have been begun that were parted into
// spools in another way than is asked for now.
func (c *punchCommand) parted(job *workshop.Job, m *workshop.Making, w *work) []string {
	if w.state != nil {
		return c.kept(job, m, w)
	}
	if c.File == "-" {
		return nil
	}
	paths, err := journal.Beside(c.File)
	if err != nil {
		return nil // a folder that cannot be listed holds nothing to warn of
	}
	var out []string
	for _, path := range paths {
		state, err := journal.Read(path)
		if err != nil || path == w.path || state.Head.Piano != w.head.Piano {
			continue
		}
		h := state.Head
		if (h.TrialMM > 0) != (w.head.TrialMM > 0) {
			continue
		}
		if !punching.Apart(&h, &w.head) {
			continue
		}
		out = append(out, fmt.Sprintf("mind: %s has begun this piece on other spools (%s, %s); this begins a roll anew in %s, and nothing of that one counts; to go on with it: rollwright punch %s%s",
			path, punching.Part(&h), tallied(state), w.path, c.File, choose(&h)))
	}
	return out
}

// kept says that the spools of a journal stay as they are although others are
// asked for.
func (c *punchCommand) kept(job *workshop.Job, m *workshop.Making, w *work) []string {
	if m.Spools.None() {
		return nil
	}
	asked, err := job.ToPunch(c.Piano, m)
	h := w.state.Head
	for _, s := range asked {
		one := journal.Head{Spool: s.Number, Spools: s.Of, FromSec: s.FromSec, ToSec: s.ToSec}
		if err == nil && s.Number == h.Spool && !punching.Apart(&h, &one) {
			return nil
		}
	}
	return []string{fmt.Sprintf("mind: %s was begun as %s, and stays so; the spools asked for are others", w.path,
		punching.Part(&h))}
}

func tallied(s *journal.State) string {
	return say.Count(s.Punched(), "hole") + " cut"
}

// choose are the options that go on with a journal.
func choose(h *journal.Head) string {
	text := ""
	if h.Piano != "" {
		text += " --piano " + strconv.Quote(h.Piano)
	}
	if h.TrialMM > 0 {
		text += fmt.Sprintf(" --trial %gmm", h.TrialMM)
	}
	if h.Spools > 1 {
		text += fmt.Sprintf(" --spool %d", h.Spool)
	}
	return text
}

// work is the roll to punch and where its journal is.
type work struct {
	path  string
	head  journal.Head
	spool *edition.Roll
	plan  *bench.Plan
	state *journal.State // nil: not begun
}

// source is what the journal is named after: the trial strip of a piece has one of
// its own.
func (c *punchCommand) source() string {
	if c.Trial > 0 {
		return c.File + ".trial"
	}
	return c.File
}

// work finds the one roll that is meant: that of a journal which has begun, or
// a new one.
func (c *punchCommand) work(job *workshop.Job, m *workshop.Making) (*work, error) {
	if c.Journal != "" {
		if w, err := begun(job, c.Journal, m); w != nil || err != nil {
			return w, err
		}
	} else if c.Spool > 0 || m.Spools.None() {
		path := journal.Path(c.source(), c.Piano, c.Spool, c.Spool+1) // of any number of spools
		if c.Spool == 0 {
			path = journal.Path(c.source(), c.Piano, 0, 0)
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
	path := c.Journal
	if path == "" {
		path = journal.Path(c.source(), s.Name, s.Number, s.Of)
		if w, err := begun(job, path, m); w != nil || err != nil {
			return w, err
		}
	}
	return fresh(job, path, s, m)
}

// fresh is the work on a roll whose journal, if there is one, does not say of
// what roll it is.
func fresh(job *workshop.Job, path string, s *edition.Roll, m *workshop.Making) (*work, error) {
	plan, err := job.BenchPlan(s, m)
	if err != nil {
		return nil, err
	}
	w := &work{path: path, head: job.Head(s, plan, m), spool: s, plan: plan}
	if state, err := journal.Read(path); errors.Is(err, journal.ErrFirstLine) {
		w.state = state
		return w, w.guessRows(job, m)
	}
	return w, nil
}

// guessRows finds whether chains had their punches on common rows, where the
// journal no longer says so: whichever leaves less to do on the paper that is
// there.
func (w *work) guessRows(job *workshop.Job, m *workshop.Making) error {
	least := -1
	for _, shared := range []bool{false, true} {
		state := *w.state
		state.Head = w.head
		state.Head.Shared = shared
		spool, plan, err := job.Begun(&state, m)
		if err != nil {
			return err
		}
		c := punching.Compare(plan, &state)
		if left := len(c.Patch) + len(c.Add); least < 0 || left < least {
			least, w.spool, w.plan = left, spool, plan
			w.state.Head = state.Head
		}
	}
	w.head.Shared = w.state.Head.Shared
	return nil
}

// doubts are what is not known of a roll because its journal came to harm.
func (w *work) doubts() []string {
	switch _, err := os.Stat(w.path); {
	case w.state == nil && err == nil:
		return []string{fmt.Sprintf("mind: %s is there but holds nothing: rows that were punched before are not known, and the roll begins anew; if there are any, bring back a copy of the journal", w.path)}
	case w.state != nil && w.state.Headless:
		return []string{fmt.Sprintf("mind: the first line of %s is damaged: its rows count, but not at what bench and on what paper they were punched; taken is %s with %s; compare the place of the last row with the paper",
			w.path, strconv.Quote(filepath.Base(w.plan.Profile.Name)), punching.Part(&w.head))}
	}
	return nil
}

// begun is the work of a journal, nil where there is none yet, or where it does
// not say of what roll.
func begun(job *workshop.Job, path string, m *workshop.Making) (*work, error) {
	state, err := journal.Read(path)
	if errors.Is(err, fs.ErrNotExist) || errors.Is(err, journal.ErrFirstLine) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	spool, plan, err := job.Begun(state, m)
	if err != nil {
		return nil, err
	}
	return &work{path, state.Head, spool, plan, state}, nil
}

// chooser names the options that tell rolls apart.
func chooser(choice []*edition.Roll) string {
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
	return strings.Join(append([]string{w.head.Title}, w.which()...), " · ")
}

// which are piano and spool, where there are several.
func (w *work) which() []string {
	var out []string
	if w.spool.Name != "" {
		out = append(out, w.spool.Name)
	}
	if w.spool.Of > 1 {
		out = append(out, fmt.Sprintf("spool %d of %d", w.spool.Number, w.spool.Of))
	}
	return out
}

// compare is what lies between paper and plan.
func (w *work) compare() *punching.Changes {
	if w.state == nil {
		return &punching.Changes{}
	}
	return punching.Compare(w.plan, w.state)
}

// punch opens the journal and leads through the rows.
func (c *punchCommand) punch(ctx context.Context, t terminal, w *work, notes []string) error {
	j, err := journal.Open(w.path, w.head, time.Now)
	if err != nil {
		return err
	}
	if c.Also != "" {
		if err := j.Also(c.Also); err != nil {
			j.Close()
			return err
		}
	}
	if n := len(j.Damaged); n > 0 {
		fmt.Fprintf(t.err, "%s: %s could not be read, the first is line %d; those rows come again\n", w.path,
			say.Count(n, "line"), j.Damaged[0])
	}
	s, err := punching.New(w.plan, j, time.Now)
	if err != nil {
		j.Close()
		return err
	}
	if proved := s.Proved(); proved != "" {
		notes = append([]string{proved}, notes...)
	}
	if last := s.LastCut(); last != "" {
		notes = append([]string{last}, notes...)
	}
	in, inOK := t.in.(*os.File)
	if out, screen := screenOf(t.out); !c.Plain && inOK && screen && term.IsTerminal(int(in.Fd())) && large(out) {
		err = c.fullScreen(ctx, in, out, s, w.title(), notes)
	} else {
		err = plainly(ctx, t, s)
	}
	v := s.View()
	if closing := s.Close(); err == nil {
		err = closing
	}
	if !errors.Is(err, journal.ErrLost) { // else what it says is where the rows are
		fmt.Fprintf(t.err, "%s; %s remembers\n", v.Tally(), w.path)
	}
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
	if last := s.LastCut(); last != "" {
		fmt.Fprintln(t.out, last)
	}
	if proved := s.Proved(); proved != "" {
		fmt.Fprintln(t.out, proved)
	}
	if begin := begins(s); begin != "" {
		fmt.Fprintln(t.out, begin)
	}
	fmt.Fprintln(t.out, lineHelp)
	mode := &lineMode{out: t.out, s: s}
	var told punching.View
	for {
		if !mode.asking { // a row between a question and its answer would part them
			told = tellNew(t.out, s.View(), told)
		}
		select {
		case <-ctx.Done():
			return ctx.Err()
		case line, ok := <-lines:
			if !ok {
				return nil
			}
			leave, err := mode.obey(line)
			if leave || err != nil {
				return err
			}
		}
	}
}

// tellNew tells a view, unless it is the row that was told before: a movement that
// is told twice would be made twice.
func tellNew(out io.Writer, v, before punching.View) punching.View {
	same := v.Row == before.Row && v.Looking == before.Looking && v.Done == before.Done && v.Finished == before.Finished &&
		slices.Equal(v.Moves, before.Moves)
	if !same || v.Paused || v.Finished {
		tell(out, v)
	} else {
		fmt.Fprintf(out, "still row %d, %s\n", v.Row, v.Where())
	}
	if v.Paused {
		return before
	}
	return v
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
	if v.Mind != "" {
		fmt.Fprintln(out, "mind:", v.Mind)
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
	if v.Cut > 0 {
		fmt.Fprintf(out, " (%d of this row are cut)", v.Cut)
	}
	fmt.Fprintf(out, " [%s] %s, %s from zero", strings.Join(names, ", "), v.Where(), v.Place)
	if v.Measure != "" {
		fmt.Fprint(out, ", measure after it")
	}
	fmt.Fprintln(out)
}

const notPunched = "this row is not punched yet; b shows the one before"

// patches are the list of holes to patch, then those to add.
func patches(s *punching.Session) []string {
	c := s.Changes()
	var out []string
	for _, p := range c.Patch {
		why := "the piece no longer has it"
		switch {
		case p.Torn:
			why = "came out bad, to be punched again"
		case p.Slip:
			why = "slip"
		}
		out = append(out, fmt.Sprintf("patch %d: %s (%s)", p.Number, s.Describe(p), why))
	}
	if len(out) == 0 {
		out = append(out, "nothing to patch")
	}
	if n := len(c.Add); n > 0 {
		out = append(out, fmt.Sprintf("%s to add in the part already done; they come first", say.Count(n, "hole")))
	}
	return out
}

// closePatch takes a patch from the list by its number, and says so. The error is
// the journal's.
func closePatch(s *punching.Session, number string) (said string, err error) {
	n, err := strconv.Atoi(strings.TrimSpace(number))
	p, known := s.PatchNumbered(n)
	if err != nil || !known {
		return fmt.Sprintf("there is no patch %s", strings.TrimSpace(number)), nil
	}
	if err := s.Patched(p); err != nil {
		return "", err
	}
	return fmt.Sprintf("patch %d is closed", n), nil
}
