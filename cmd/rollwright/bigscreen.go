package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"
	"time"
	"unicode/utf8"

	"golang.org/x/term"

	"rollwright/making/journal"
	"rollwright/making/punching"
	"rollwright/text/say"
	"rollwright/text/source"
)

// What is written to a terminal (ECMA-48, and the private modes of the DEC VT
// series that every emulator knows).
const (
	enterScreen = "\x1b[?1049h\x1b[?25l" // the other screen, no cursor
	leaveScreen = "\x1b[?25h\x1b[?1049l"
	home        = "\x1b[H"
	clearLine   = "\x1b[K"
	clearRest   = "\x1b[J"
)

var styles = map[punching.Style]string{
	punching.Normal: "",
	punching.Strong: "\x1b[1m",
	punching.Quiet:  "\x1b[2m",
	punching.Alarm:  "\x1b[7m",
}

// fullScreen leads through the rows in large letters. The terminal is as it was
// when it returns, whatever happens.
func (c *punchCommand) fullScreen(ctx context.Context, in, out *os.File, s *punching.Session, title string,
	notes []string) error {
	old, err := term.MakeRaw(int(in.Fd()))
	if err != nil {
		return fmt.Errorf("the terminal does not do what is asked: %w; try --plain", err)
	}
	defer term.Restore(int(in.Fd()), old)
	fmt.Fprint(out, enterScreen)
	defer fmt.Fprint(out, leaveScreen)
	face := &bigScreen{out: out, session: s, settle: c.Settle}
	face.Head, face.Blocks = title, !c.ASCII && speaksUTF8()
	if begin := begins(s); begin != "" {
		notes = append(notes, begin)
	}
	face.Message = strings.Join(notes, " · ")
	return face.run(ctx, keysOf(ctx, in))
}

// large reports whether a terminal shows large letters: on a small one, plain
// lines lead through the rows.
func large(out *os.File) bool {
	columns, rows, err := term.GetSize(int(out.Fd()))
	return term.IsTerminal(int(out.Fd())) && (err != nil || columns == 0 || !punching.Small(columns, rows))
}

// begins is what to know before the first row.
func begins(s *punching.Session) string {
	c := s.Changes()
	switch {
	case len(c.Patch) > 0 && len(c.Add) > 0:
		return fmt.Sprintf("the piece has changed: %d to patch, %d to add; l lists them", len(c.Patch), len(c.Add))
	case len(c.Patch) > 0:
		return fmt.Sprintf("%s to patch; l lists them", say.Count(len(c.Patch), "hole"))
	case len(c.Add) > 0:
		return fmt.Sprintf("%s to add in the part already done; they come first", say.Count(len(c.Add), "hole"))
	}
	return ""
}

// speaksUTF8 reports whether the environment says that the terminal shows
// UTF-8 (POSIX.1-2017, 8.2: the first of these that is set counts).
func speaksUTF8() bool {
	for _, name := range []string{"LC_ALL", "LC_CTYPE", "LANG"} {
		if v := strings.ToUpper(os.Getenv(name)); v != "" {
			return strings.Contains(v, "UTF-8") || strings.Contains(v, "UTF8")
		}
	}
	return os.PathSeparator == '\\' // Windows terminals do, and set none of them
}

// key is a key of the keyboard or the foot switch.
type key int

const (
	keyNone key = iota
	keyNext
	keyBack
	keyEnter
	keyErase
	keyEscape
	keyLeave
)

// press is a key with the character that it types, if any.
type press struct {
	key  key
	char rune
}

// sequences are what keys send (ECMA-48, and the function keys of the DEC VT
// series).
var sequences = []struct {
	bytes string
	press press
}{
	{"\x1b[C", press{key: keyNext}}, {"\x1b[B", press{key: keyNext}}, {"\x1b[6~", press{key: keyNext}},
	{"\x1bOC", press{key: keyNext}}, {"\x1bOB", press{key: keyNext}},
	{"\x1b[D", press{key: keyBack}}, {"\x1b[A", press{key: keyBack}}, {"\x1b[5~", press{key: keyBack}},
	{"\x1bOD", press{key: keyBack}}, {"\x1bOA", press{key: keyBack}},
	{"\r", press{key: keyEnter}}, {"\n", press{key: keyEnter}},
	{"\x7f", press{key: keyErase}}, {"\b", press{key: keyErase}},
	{"\x03", press{key: keyLeave}}, {"\x04", press{key: keyLeave}},
}

// presses are the keys in what one read has brought. A sequence that nobody
// knows is left out.
func presses(chunk []byte) []press {
	var out []press
next:
	for len(chunk) > 0 {
		for _, s := range sequences {
			if bytes.HasPrefix(chunk, []byte(s.bytes)) {
				out = append(out, s.press)
				chunk = chunk[len(s.bytes):]
				continue next
			}
		}
		if chunk[0] == '\x1b' {
			if len(chunk) == 1 {
				return append(out, press{key: keyEscape})
			}
			chunk = chunk[unknown(chunk):]
			continue
		}
		r, n := utf8.DecodeRune(chunk)
		if r >= ' ' && r != utf8.RuneError {
			out = append(out, press{char: r})
		}
		chunk = chunk[n:]
	}
	return out
}

// unknown is the length of an escape sequence that begins the chunk: up to its
// final byte, 0x40 to 0x7e (ECMA-48, 5.4).
func unknown(chunk []byte) int {
	if chunk[1] != '[' && chunk[1] != 'O' {
		return 2
	}
	for i := 2; i < len(chunk); i++ {
		if chunk[i] >= 0x40 && chunk[i] <= 0x7e {
			return i + 1
		}
	}
	return len(chunk)
}

// keysOf reads keys until in ends. The reader stays behind when the command
// leaves: a read of a terminal cannot be called off.
func keysOf(ctx context.Context, in io.Reader) <-chan press {
	out := make(chan press)
	go func() {
		defer close(out)
		chunk := make([]byte, 256)
		for {
			n, err := in.Read(chunk)
			for _, p := range presses(chunk[:n]) {
				select {
				case out <- p:
				case <-ctx.Done():
					return
				}
			}
			if err != nil {
				return
			}
		}
	}()
	return out
}

// bigScreen is the companion on a terminal.
type bigScreen struct {
	punching.Screen
	out     *os.File
	session *punching.Session
	settle  time.Duration
	shown   string    // what the terminal shows
	parts   int       // of the row shown
	pressed time.Time // when a row was last said to be punched, or was tried to
	closed  time.Time // when a prompt or the list was closed, or what was typed was answered
	typing  bool      // a slip, a missed hole, a row is being typed
	asked   string    // which of them: a word for punching.Session.Note; empty: a slip
	typed   string
}

func (b *bigScreen) run(ctx context.Context, keys <-chan press) error {
	tick := time.NewTicker(time.Second) // for the size of the window, and for the clock
	defer tick.Stop()
	for {
		b.draw()
		select {
		case <-ctx.Done():
			return ctx.Err()
		case <-tick.C:
		case p, ok := <-keys:
			if !ok {
				return nil
			}
			leave, err := b.key(p)
			if leave || err != nil {
				return err
			}
		}
	}
}

// draw brings the terminal up to date, writing only when something changed.
func (b *bigScreen) draw() {
	b.Columns, b.Rows = 80, 24
	if w, h, err := term.GetSize(int(b.out.Fd())); err == nil && w > 0 && h > 0 {
		b.Columns, b.Rows = w, h
	}
	b.Prompt = ""
	if b.typing {
		b.Prompt = prompts[b.asked] + b.typed + "_"
	} else if b.List != nil && b.typed != "" {
		b.Prompt = "closed: patch " + b.typed + "_"
	}
	var lines []punching.Line
	lines, b.parts = b.Draw(b.session.View())
	var text strings.Builder
	text.WriteString(home)
	for i, l := range lines {
		if i > 0 {
			text.WriteString("\r\n")
		}
		style := styles[l.Style]
		text.WriteString(style + source.Printable(l.Text))
		if style != "" {
			text.WriteString("\x1b[m")
		}
		text.WriteString(clearLine)
	}
	text.WriteString(clearRest)
	if now := text.String(); now != b.shown {
		io.WriteString(b.out, now)
		b.shown = now
	}
}

// key does what a key asks. Errors are the journal's: after one nothing can be
// trusted to be kept, and the work ends.
func (b *bigScreen) key(p press) (leave bool, err error) {
	before := b.Message
	b.Message = ""
	switch {
	case p.key == keyLeave:
		return true, nil
	case b.typing:
		return false, b.slip(p, before)
	case b.List != nil:
		return false, b.list(p, before)
	case p.char == 'q':
		return true, nil
	case b.session.View().Paused:
		return false, b.session.Resume()
	case p.key == keyNext, p.key == keyEnter, p.char == ' ', p.char == 'n':
		return false, b.next()
	case p.key == keyBack, p.key == keyErase, p.char == 'b':
		b.Part = 0
		b.session.Back()
	case p.char == 'g':
		b.Part = 0
		b.session.Go()
	case p.char == 'u':
		undone, err := b.session.Undo()
		if !undone && err == nil {
			b.Message = notPunched
		}
		return false, err
	case p.char == 's':
		b.typing, b.asked, b.typed = true, "", ""
	case p.char == 'm':
		b.typing, b.asked, b.typed = true, "missed ", ""
	case p.char == 't':
		b.typing, b.asked, b.typed = true, "row ", ""
	case p.char == 'l':
		b.List, b.typed, b.Part = patches(b.session), "", 0
	case p.char == 'p':
		return false, b.session.Pause()
	}
	return false, nil
}

// next shows the next part of the row, or says that it is punched. A foot
// switch bounces, a key that is held repeats: what comes too soon after the row
// before is taken for that, for nobody cranks and punches so fast.
//
// Return ends a prompt, too: pressed once more by habit it is no row.
func (b *bigScreen) next() error {
	if time.Since(b.closed) < b.settle {
		return nil
	}
	if !b.session.View().Done {
		since := time.Since(b.pressed)
		b.pressed = time.Now()
		if since < b.settle {
			return nil
		}
	}
	if b.Part+1 < b.parts {
		b.Part++
		return nil
	}
	b.Part = 0
	if err := b.session.Next(); err != nil {
		return err
	}
	b.Message = b.session.View().Waits
	return nil
}

// prompts are what is asked for.
var prompts = map[string]string{
	"":        "wrong hole: number or key, then @ and its length from zero if it is elsewhere: ",
	"missed ": "hole that is missing although its row counts as punched: number or key, then @ and its length from zero if it is not in this row: ",
	"row ":    "which row: its number, @ a length from zero, or a time of the music such as 1:20.5: ",
}

// slip takes the typing of a wrong hole, below what was said of it.
func (b *bigScreen) slip(p press, said string) error {
	switch {
	case p.key == keyEscape:
		b.typing, b.closed = false, time.Now()
		b.Message = "nothing is noted"
	case p.key == keyEnter && time.Since(b.closed) < b.settle:
		b.Message = said // pressed twice where once was meant: it must not answer a question that nobody has read
	case p.key == keyEnter:
		b.closed = time.Now()
		text, err := b.session.Note(b.asked + b.typed)
		if errors.Is(err, journal.ErrNotKept) {
			return err
		}
		if err != nil {
			b.Message = err.Error() // the prompt stays, with what was typed
			return nil
		}
		b.typing, b.Message, b.Part = false, text, 0
	default:
		b.edit(p)
	}
	return nil
}

// list takes the number of a patch that is closed, or shows another part. It stays
// until it is left: a wrong number, or return pressed twice, must not count as a row.
// A key that does nothing leaves what was said before it.
func (b *bigScreen) list(p press, said string) error {
	digit := p.char >= '0' && p.char <= '9'
	switch {
	case p.key == keyEnter && b.typed != "":
		closed, err := closePatch(b.session, b.typed)
		if err != nil {
			return err
		}
		b.Message = closed
		b.List, b.typed = patches(b.session), ""
	case digit, p.key == keyErase && b.typed != "":
		b.edit(p)
	case p.key == keyEscape, p.char == 'l':
		b.List, b.typed, b.closed, b.Part = nil, "", time.Now(), 0
	case p.char == ' ', p.key == keyNext:
		b.Part, b.Message = min(b.Part, b.parts-1), said
		b.Part = (b.Part + 1) % max(b.parts, 1)
	case p.char == 'b', p.key == keyBack:
		b.Part, b.Message = max(min(b.Part, b.parts-1)-1, 0), said
	default:
		b.Message = said
	}
	return nil
}

// edit adds a character to what is typed, or takes the last one away.
func (b *bigScreen) edit(p press) {
	const most = 40
	switch {
	case p.key == keyErase && b.typed != "":
		_, n := utf8.DecodeLastRuneInString(b.typed)
		b.typed = b.typed[:len(b.typed)-n]
	case p.char != 0 && len(b.typed) < most:
		b.typed += string(p.char)
	}
}
