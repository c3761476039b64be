// Command rollwright takes a piece for the pneumatic player piano from its
// text to a paper roll.
//
// Rules of its terminal interface: results go to standard output, everything
// said about them to standard error; "-" is standard input. Exit status 0 is
// done, 1 an input error or (for check alone, or with --strict) a finding that
// forbids, 2 wrong usage, 130 interrupted. An output appears whole or not at
// all. Progress is shown only on a terminal.
package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"reflect"
	"strings"
	"syscall"
	"time"

	"github.com/alecthomas/kong"

	"rollwright/notices"
	"rollwright/text/outfile"
	"rollwright/text/source"
	"rollwright/workshop"
)

// The exit statuses.
const (
	exitDone        = 0
	exitFailed      = 1
	exitUsage       = 2
	exitInterrupted = 130 // 128 + SIGINT, as shells have it (POSIX.1-2017, 2.8.2)
)

// terminal is where a run reads and writes.
type terminal struct {
	in       io.Reader
	out, err io.Writer
}

// grammar is the whole command line.
type grammar struct {
	New         newCommand         `cmd:"" help:"Write a piece that already plays, to change."`
	Solve       solveCommand       `cmd:"" help:"Find the numbers that a piece asks for: speed = \"?\"."`
	Survey      surveyCommand      `cmd:"" help:"Try every simple number in one place of a piece: how often voices meet, what forbids."`
	Plan        planCommand        `cmd:"" help:"Say how the cycles of a piece run: statements, meetings, lengths."`
	Events      eventsCommand      `cmd:"" help:"Print every note."`
	Holes       holesCommand       `cmd:"" help:"Print every slot of the roll."`
	Find        findCommand        `cmd:"" help:"Say what design is in notes: series, canons, speeds, meetings."`
	Check       checkCommand       `cmd:"" help:"Say what paper or instrument cannot do."`
	Hear        hearCommand        `cmd:"" help:"Play a piece, or write its sound."`
	Write       writeCommand       `cmd:"" help:"Write files; their extensions choose the formats."`
	Build       buildCommand       `cmd:"" help:"Write everything about a piece into a folder."`
	Show        showCommand        `cmd:"" help:"Write the lecture page: the piece explained step by step, to see and to hear."`
	Read        readCommand        `cmd:"" help:"Read pictures of a roll back into holes."`
	Open        openCommand        `cmd:"" help:"Open the workbench in the browser: write, see, hear and check."`
	Punch       punchCommand       `cmd:"" help:"Lead through punching by hand, row after row, and remember what is cut."`
	Proof       proofCommand       `cmd:"" help:"Hold a punched roll against its plan: what is missing, extra, beside its place."`
	Instruments instrumentsCommand `cmd:"" help:"List, show or copy the built-in instruments."`
	Benches     benchesCommand     `cmd:"" help:"List, show or copy the built-in benches for punching by hand."`
	Calibrate   calibrateCommand   `cmd:"" help:"Make a test roll, and fit the instrument to what it did."`
	Overhear    overhearCommand    `cmd:"" help:"Hold a recording against its roll: speed, delays, strokes that did not sound."`
	Machines    machinesCommand    `cmd:"" help:"List, show or copy the built-in machines that cut rolls."`
}

// elsewhere says of words that people try as commands how the thing is done.
var elsewhere = map[string]string{
	"worksheet": "rows to punch by hand: rollwright write x.piece rows.pdf --worksheet",
	"estimate":  "how long punching takes stands at the head of the worksheet: rollwright write x.piece rows.pdf --worksheet; at a machine: rollwright write x.piece x.nc --machine laser",
	"labels":    "labels for rolls and boxes: rollwright write x.piece labels.pdf --labels",
	"spools":    "a piece on several spools: rollwright write x.piece roll.pdf --spool-length 20m",
	"figure":    "figures: rollwright write x.piece figure.pdf --figure grid; --figure list names the kinds",
	"figures":   "figures: rollwright write x.piece figure.pdf --figure grid; --figure list names the kinds",
	"score":     "the notes on staves: rollwright write x.piece score.pdf --score",
	"midi":      "the score as MIDI: rollwright write x.piece score.mid",
	"play":      "to hear a piece: rollwright hear x.piece",
	"lecture":   "the lecture page: rollwright show x.piece lecture.html",
}

const welcome = `rollwright takes a piece for the pneumatic player piano from its text to a paper roll.
Begin with a piece that already plays:      rollwright new first.piece
How its cycles run and where they meet:     rollwright plan first.piece
What paper or instrument cannot do:         rollwright check first.piece
Everything, in a folder to look at:         rollwright build first.piece first/
All commands:                               rollwright --help
`

func main() {
	stops := []os.Signal{os.Interrupt, syscall.SIGTERM}
	if !signal.Ignored(syscall.SIGHUP) { // nohup stays nohup
		stops = append(stops, syscall.SIGHUP)
	}
	ctx, stop := signal.NotifyContext(context.Background(), stops...)
	status := run(ctx, os.Args[1:], terminal{os.Stdin, os.Stdout, os.Stderr})
	stop()
	os.Exit(status)
}

// patience is how long an interrupted command may take to stop by itself.
const patience = 2 * time.Second

// run does one command and returns the exit status. An interrupted command
// that does not stop in time is left behind; its unfinished outputs are
// removed either way.
func run(ctx context.Context, args []string, t terminal) int {
	t = guarded(t)
	switch {
	case len(args) == 0:
		fmt.Fprint(t.out, welcome)
		return exitDone
	case args[0] == "--version" || args[0] == "version":
		fmt.Fprintln(t.out, "rollwright", workshop.Version())
		return exitDone
	case args[0] == "--licences" || args[0] == "licences":
		if err := notices.Write(t.out); err != nil {
			fmt.Fprintln(t.err, "rollwright:", err)
			return exitFailed
		}
		return exitDone
	case args[0] == "help": // as people type it: help, help write
		args = append(args[1:len(args):len(args)], "--help")
	}
	status := make(chan int, 1)
	go func() { status <- dispatch(ctx, args, t) }()
	select {
	case s := <-status:
		return s
	case <-ctx.Done():
	}
	select {
	case s := <-status:
		if s == exitDone {
			return s
		}
	case <-time.After(patience):
	}
	outfile.Abandon()
	fmt.Fprintln(t.err, "rollwright: interrupted; nothing half written was left")
	return exitInterrupted
}

// helped carries the status of kong's call of os.Exit, made after --help, out
// of the parser.
type helped struct{ status int }

func dispatch(ctx context.Context, args []string, t terminal) (status int) {
	defer func() {
		switch r := recover().(type) {
		case nil:
		case helped:
			status = r.status
		default:
			panic(r)
		}
	}()
	if hint, ok := elsewhere[args[0]]; ok {
		fmt.Fprintf(t.err, "rollwright: there is no command %s; %s\n", args[0], hint)
		return exitUsage
	}
	parser, err := newParser(ctx, t)
	if err != nil {
		panic(err) // the grammar itself is wrong
	}
	command, err := parser.Parse(args)
	if err != nil {
		return misused(t, err)
	}
	return report(t, command.Run())
}

// words takes what stands on the command line as it is: kong's own way of reading
// a text turns the bytes of a file's name that are no UTF-8 into other ones.
var words = kong.KindMapper(reflect.String, kong.MapperFunc(func(ctx *kong.DecodeContext, target reflect.Value) error {
	word, err := ctx.Scan.PopValue("string")
	if err != nil {
		return err
	}
	target.SetString(word.String())
	return nil
}))

func newParser(ctx context.Context, t terminal) (*kong.Kong, error) {
	return kong.New(&grammar{},
		kong.Name("rollwright"), words,
		kong.Description("From a piece for the pneumatic player piano to a paper roll."),
		kong.Writers(t.out, t.err),
		kong.Exit(func(status int) { panic(helped{status}) }),
		kong.Help(printHelp),
		kong.ConfigureHelp(kong.HelpOptions{Compact: true, NoExpandSubcommands: true}),
		kong.Vars{"formats": extensions()},
		kong.KindMapper(reflect.Float64, kong.MapperFunc(decimalMapper)),
		kong.BindTo(ctx, (*context.Context)(nil)),
		kong.Bind(t),
		kong.WithHyphenPrefixedParameters(true), // --lufs -14
		kong.PostBuild(func(k *kong.Kong) error {
			k.Model.HelpFlag.Help = "Say what the words of this command mean."
			return nil
		}),
	)
}

// extensions lists what write knows.
func extensions() string { return strings.Join(workshop.Extensions(), " ") }

// misused says in two lines what is wrong with the words of a command, and where
// its words are explained.
func misused(t terminal, err error) int {
	command := ""
	var wrong *kong.ParseError
	if errors.As(err, &wrong) && wrong.Context != nil {
		for node := wrong.Context.Selected(); node != nil && node.Parent != nil; node = node.Parent {
			command = " " + node.Name + command
		}
	}
	fmt.Fprintf(t.err, "rollwright: %v\nrollwright%s --help explains its words\n", err, command)
	return exitUsage
}

// errFindings ends a command whose own output has said everything already.
var errFindings = errors.New("findings that forbid")

// usageError is a misuse that only shows once a command runs.
type usageError struct{ problem string }

func (e usageError) Error() string { return e.problem }

// report says what went wrong, if anything, and gives the exit status.
func report(t terminal, err error) int {
	var usage usageError
	switch {
	case err == nil:
		return exitDone
	case errors.Is(err, errFindings):
		return exitFailed
	case errors.Is(err, syscall.EPIPE), errors.Is(err, context.Canceled):
		return exitFailed // there is nobody to tell, or run will tell
	case errors.As(err, &usage):
		fmt.Fprintln(t.err, "rollwright:", printable(err.Error()))
		return exitUsage
	}
	fmt.Fprintln(t.err, printable(errorText(err)))
	return exitFailed
}

// printable is a text of several lines without what a terminal acts on.
func printable(text string) string {
	lines := strings.Split(text, "\n")
	for i, line := range lines {
		lines[i] = source.Printable(line)
	}
	return strings.Join(lines, "\n")
}
