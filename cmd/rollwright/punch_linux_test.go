package main

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"golang.org/x/sys/unix"

	"rollwright/making/journal"
	"rollwright/making/punching"
)

// pty is a pseudo-terminal with a screen that understands what the companion
// writes: home, line ends, erasing, styles.
type pty struct {
	t       *testing.T
	master  *os.File
	columns int
	cells   [][]rune
	x, y    int
	rest    string // an escape sequence or character that has not ended
	other   bool   // the other screen is on
}

// openPTY makes a pseudo-terminal of the given size: pty(7), ioctl_tty(2).
func openPTY(t *testing.T, columns, rows int) (*pty, *os.File) {
	t.Helper()
	// Opened here and not asked for later: Fd would make it block, deadlines or not.
	fd, err := unix.Open("/dev/ptmx", unix.O_RDWR|unix.O_NOCTTY|unix.O_CLOEXEC|unix.O_NONBLOCK, 0)
	if err != nil {
		t.Skip("no pseudo-terminal here: ", err)
	}
	master := os.NewFile(uintptr(fd), "/dev/ptmx")
	t.Cleanup(func() { master.Close() })
	n, err := unix.IoctlGetInt(fd, unix.TIOCGPTN)
	if err == nil {
		err = unix.IoctlSetPointerInt(fd, unix.TIOCSPTLCK, 0)
	}
	if err == nil {
		err = unix.IoctlSetWinsize(fd, unix.TIOCSWINSZ, &unix.Winsize{Row: uint16(rows), Col: uint16(columns)})
	}
	if err != nil {
		t.Fatal(err)
	}
	slave, err := os.OpenFile(fmt.Sprintf("/dev/pts/%d", n), os.O_RDWR|syscall.O_NOCTTY, 0)
	if err != nil {
		t.Skip("no pseudo-terminal here: ", err)
	}
	p := &pty{t: t, master: master, columns: columns, cells: make([][]rune, rows)}
	for y := range p.cells {
		p.cells[y] = []rune(strings.Repeat(" ", columns))
	}
	return p, slave
}

// write takes what the program writes.
func (p *pty) write(text string) {
	text = p.rest + text
	p.rest = ""
	for len(text) > 0 {
		if text[0] == '\x1b' {
			end := strings.IndexAny(text[1:], "ABCDEFGHJKhlm")
			if end < 0 {
				p.rest = text
				return
			}
			p.escape(text[1 : end+2])
			text = text[end+2:]
			continue
		}
		r := []rune(text)[0]
		if r == '�' && len(text) < 4 {
			p.rest = text
			return
		}
		text = text[len(string(r)):]
		switch r {
		case '\r':
			p.x = 0
		case '\n':
			if p.y++; p.y >= len(p.cells) {
				p.y = len(p.cells) - 1
				p.cells = append(p.cells[1:], []rune(strings.Repeat(" ", p.columns)))
			}
		default:
			if p.x < p.columns {
				p.cells[p.y][p.x] = r
				p.x++
			}
		}
	}
}

func (p *pty) escape(seq string) {
	switch seq {
	case "[H":
		p.x, p.y = 0, 0
	case "[K":
		p.erase(p.y, p.x)
	case "[J":
		p.erase(p.y, p.x)
		for y := p.y + 1; y < len(p.cells); y++ {
			p.erase(y, 0)
		}
	case "[?1049h":
		p.other = true
	case "[?1049l":
		p.other = false
	}
}

func (p *pty) erase(y, x int) {
	for ; x < p.columns; x++ {
		p.cells[y][x] = ' '
	}
}

// text is the screen.
func (p *pty) text() string {
	var b strings.Builder
	for _, line := range p.cells {
		b.WriteString(strings.TrimRight(string(line), " ") + "\n")
	}
	return b.String()
}

// wait reads until the screen holds all of want.
func (p *pty) wait(want ...string) {
	p.t.Helper()
	buffer := make([]byte, 1<<16)
	deadline := time.Now().Add(20 * time.Second)
	for {
		missing := ""
		for _, w := range want {
			if !strings.Contains(p.text(), w) {
				missing = w
			}
		}
		if missing == "" {
			return
		}
		if time.Now().After(deadline) {
			p.t.Fatalf("the screen never showed %q; it shows:\n%s", missing, p.text())
		}
		p.master.SetReadDeadline(time.Now().Add(100 * time.Millisecond))
		n, err := p.master.Read(buffer)
		p.write(string(buffer[:n]))
		if err != nil && !os.IsTimeout(err) {
			p.t.Fatalf("the program went away (%v); the screen shows:\n%s", err, p.text())
		}
	}
}

func (p *pty) send(keys string) {
	p.t.Helper()
	if _, err := p.master.WriteString(keys); err != nil {
		p.t.Fatal(err)
	}
}

// large reports whether the screen shows text in large letters.
func (p *pty) large(text string, scale int) bool {
	want := punching.Large(text, scale, true)
	for y := 0; y+len(want) <= len(p.cells); y++ {
		for x := 0; x < p.columns; x++ {
			ok := true
			for dy, line := range want {
				r := []rune(line)
				ok = ok && x+len(r) <= p.columns && string(p.cells[y+dy][x:x+len(r)]) == line
			}
			if ok {
				return true
			}
		}
	}
	return false
}

// start runs the companion on a new pseudo-terminal.
func start(t *testing.T, columns, rows int, args ...string) (*pty, *exec.Cmd) {
	t.Helper()
	p, slave := openPTY(t, columns, rows)
	exe, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	link := filepath.Join(t.TempDir(), "rollwright") // testscript.Main runs the command under this name
	if err := os.Symlink(exe, link); err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(link, args...)
	cmd.Stdin, cmd.Stdout, cmd.Stderr = slave, slave, slave
	cmd.Env = append(os.Environ(), "LC_ALL=C.UTF-8")
	cmd.SysProcAttr = &syscall.SysProcAttr{Setsid: true, Setctty: true}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	slave.Close()
	t.Cleanup(func() { cmd.Process.Kill(); cmd.Wait() })
	return p, cmd
}

// twoNotes is three units of C2 together with G2, one of silence, and two of
// C3. Rows worked by hand at crank-2mm, 40.64 mm/s and 0.125 s a unit: the first
// punches stand at 0.8636 mm, 0.9 mm on a dial of tenths: 9 parts.
const twoNotes = `voice "low" {
  talea = "3 (1) 2"
  color = "C2+G2 C3"
}
`

func TestCompanionOnATerminal(t *testing.T) {
	dir := t.TempDir()
	piece := filepath.Join(dir, "two.piece")
	if err := os.WriteFile(piece, []byte(twoNotes), 0o644); err != nil {
		t.Fatal(err)
	}
	p, cmd := start(t, 100, 40, "punch", piece, "--settle", "0s")
	p.wait("row 1 of 17", "crank at 0 + 09 · 0.90 mm from zero", "C2 1/9", "2 punches, left to right →", "space next")
	if !p.other {
		t.Error("the companion works on the first screen and not on the other one")
	}
	for _, want := range []string{"0 + 09", "18", "25"} {
		if !p.large(want, 2) && !p.large(want, 4) {
			t.Errorf("%q is not in large letters:\n%s", want, p.text())
		}
	}
	t.Logf("the first screen:\n%s", p.text())
	p.send(" ")
	p.wait("row 2 of 17", "← right to left", "2 of 26 punches")
	p.send("\x1b[6~\r") // page down and return, as foot switches send
	p.wait("row 4 of 17", "6 of 26 punches")
	p.send("b")
	p.wait("row 3 of 17", "punched already")
	p.send("u")
	p.wait("4 of 26 punches")
	p.send("n")
	p.wait("row 4 of 17", "6 of 26 punches")
	p.send("bb") // looking back and forward again tells of no movement
	p.wait("row 2 of 17", "you are looking back, the crank stays", "g bring the paper here")
	p.send("  ")
	p.wait("row 4 of 17", "stay here", "the way here was told before you looked back", "crank 1 + 11")
	p.send("sZ9 @ 1.25")
	p.wait("return notes it · Esc drops it")
	p.send("\r") // what was typed stays, to be mended
	p.wait("there is no port Z9", "Z9 @ 1.25_")
	p.send(strings.Repeat("\x7f", len("Z9 @ 1.25")) + "32 @ 1.25\r")
	p.wait("noted: 32 D3, 1.25 mm from zero is to patch", "1 to patch", "space next")
	p.send("l")
	p.wait("patch 1: 32 D3, 1.25 mm from zero (slip)", "Esc or l goes back")
	p.send("7\r")
	p.wait("there is no patch 7")
	p.send("\r\rx ") // the list stays, and nothing is counted
	p.wait("patch 1: 32 D3", "6 of 26 punches")
	p.send("l")
	p.wait("space next")
	p.send("p")
	p.wait("any key goes on")
	p.send("z")
	p.wait("row 4 of 17")
	p.send("q")
	if err := cmd.Wait(); err != nil {
		t.Errorf("leaving: %v", err)
	}
	state, err := journal.Read(piece + ".journal")
	if err != nil {
		t.Fatal(err)
	}
	if got := len(state.Holes()); got != 7 {
		t.Errorf("the journal holds %d holes, want 6 and a slip", got)
	}
	again, leaving := start(t, 70, 18, "punch", piece, "--settle", "0s") // the foot goes before the row comes in parts
	again.wait("row 4 of 17", "last cut: row 3, C2 G2, 2.40 mm, crank 1 + 04", "← right to left")
	again.send("q")
	leaving.Wait()
	small, _ := start(t, 50, 14, "punch", piece, "--settle", "0s") // no room for large letters: plain lines
	small.wait("last cut: row 3", "row 4 of 17: Forward 7 parts")
	if small.other {
		t.Error("a small terminal is led on the other screen")
	}
}

// TestCompanionMindsBounce presses the key three times at once, as a foot
// switch may: one row is punched.
func TestCompanionMindsBounce(t *testing.T) {
	piece := filepath.Join(t.TempDir(), "two.piece")
	if err := os.WriteFile(piece, []byte(twoNotes), 0o644); err != nil {
		t.Fatal(err)
	}
	p, cmd := start(t, 80, 24, "punch", piece, "--settle", "1h")
	p.wait("row 1 of 17")
	p.send("   bq") // b shows that all three have been taken
	cmd.Wait()
	state, err := journal.Read(piece + ".journal")
	if err != nil {
		t.Fatal(err)
	}
	if got := len(state.Holes()); got != 2 {
		t.Errorf("%d holes are recorded, want the 2 of one row", got)
	}
}

// TestReturnAfterThePrompt presses return twice where once was meant: the second
// one is no row.
func TestReturnAfterThePrompt(t *testing.T) {
	piece := filepath.Join(t.TempDir(), "two.piece")
	if err := os.WriteFile(piece, []byte(twoNotes), 0o644); err != nil {
		t.Fatal(err)
	}
	p, cmd := start(t, 80, 24, "punch", piece, "--settle", "1h")
	p.wait("row 1 of 17")
	p.send("s32 @ 1.25\r\r\r")
	p.wait("1 to patch")
	p.send("l7\r\r")
	p.wait("there is no patch")
	p.send("l\r\rq")
	cmd.Wait()
	state, err := journal.Read(piece + ".journal")
	if err != nil {
		t.Fatal(err)
	}
	if got := len(state.Holes()); got != 1 {
		t.Errorf("%d holes are recorded, want the slip alone", got)
	}
}

// TestSlipFarAheadOnATerminal types a place beyond what is punched: it is asked
// for, and a return that bounces is no answer.
func TestSlipFarAheadOnATerminal(t *testing.T) {
	piece := filepath.Join(t.TempDir(), "two.piece")
	if err := os.WriteFile(piece, []byte(twoNotes), 0o644); err != nil {
		t.Fatal(err)
	}
	p, _ := start(t, 80, 24, "punch", piece, "--settle", "1s")
	p.wait("row 1 of 17")
	p.send("sD3 @ 400\r\r\r")
	p.wait("400.00 mm from zero lies 399.10 mm ahead of the work", "D3 @ 400_")
	time.Sleep(1100 * time.Millisecond)
	if strings.Contains(p.text(), "to patch") {
		t.Fatalf("a bounce has answered:\n%s", p.text())
	}
	p.send("\r")
	p.wait("noted: 32 D3, 400.00 mm from zero is to patch", "1 to patch")
}

// TestTornHoleOnATerminal punches on past a bad hole: it is said that its row
// waits.
func TestTornHoleOnATerminal(t *testing.T) {
	piece := filepath.Join(t.TempDir(), "two.piece")
	if err := os.WriteFile(piece, []byte(twoNotes), 0o644); err != nil {
		t.Fatal(err)
	}
	p, _ := start(t, 80, 24, "punch", piece, "--settle", "0s")
	p.wait("row 1 of 17")
	p.send("s18\r")
	p.wait("came out bad")
	p.send(" ")
	p.wait("row 2 of 17", "1 of 26 punches", "row 1 still waits for patch 1, and comes again")
	p.send(" ")
	p.wait("row 3 of 17")
	if strings.Contains(p.text(), "still waits") {
		t.Errorf("it is said for ever:\n%s", p.text())
	}
}

// TestLongListOnATerminal looks through more patches than the screen has lines.
func TestLongListOnATerminal(t *testing.T) {
	piece := filepath.Join(t.TempDir(), "two.piece")
	if err := os.WriteFile(piece, []byte(twoNotes), 0o644); err != nil {
		t.Fatal(err)
	}
	p, _ := start(t, 80, 18, "punch", piece, "--settle", "0s")
	p.wait("row 1 of 17")
	for i := range 20 {
		p.send(fmt.Sprintf("s32 @ %d.25\r", i+1))
		p.wait(fmt.Sprintf("noted: 32 D3, %d.25 mm from zero is to patch", i+1))
	}
	p.send("l")
	p.wait("part 1 of 2 of the list", "patch 1: 32 D3, 1.25 mm", "space more")
	p.send("  \x1b[6~") // round to the first, and page down
	p.wait("part 2 of 2 of the list", "patch 20: 32 D3, 20.25 mm")
	p.send("20\r")
	p.wait("patch 20 is closed", "part 2 of 2 of the list")
	p.send("b")
	p.wait("part 1 of 2 of the list", "patch 1: ")
	p.send("l")
	p.wait("row 1 of 17", "crank at 0 + 09")
}

// TestCompanionIsKilled ends the companion while rows are being told to it, as
// a power cut would: whatever it has shown as done is in the journal.
func TestCompanionIsKilled(t *testing.T) {
	dir := t.TempDir()
	piece := filepath.Join(dir, "long.piece")
	text := "voice \"a\" {\n  talea  = \"1\"\n  color  = \"C4 D4 E4\"\n  extent = \"600 notes\"\n}\n"
	if err := os.WriteFile(piece, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
	done := 0
	for range 3 {
		p, cmd := start(t, 80, 24, "punch", piece, "--settle", "0s")
		p.wait(fmt.Sprintf("%d of ", done))
		for range 5 {
			p.send(" ")
			done++
			p.wait(fmt.Sprintf("\n%d of 3", done))
		}
		if err := cmd.Process.Kill(); err != nil {
			t.Fatal(err)
		}
		cmd.Wait()
		state, err := journal.Read(piece + ".journal")
		if err != nil {
			t.Fatal(err)
		}
		if got := len(state.Holes()); got != done {
			t.Fatalf("the journal holds %d holes, the screen showed %d", got, done)
		}
	}
}

// TestCompanionGivesTheTerminalBack stops it by a signal.
func TestCompanionGivesTheTerminalBack(t *testing.T) {
	piece := filepath.Join(t.TempDir(), "two.piece")
	if err := os.WriteFile(piece, []byte(twoNotes), 0o644); err != nil {
		t.Fatal(err)
	}
	p, cmd := start(t, 80, 24, "punch", piece)
	before, err := unix.IoctlGetTermios(int(p.master.Fd()), unix.TCGETS)
	if err != nil {
		t.Fatal(err)
	}
	p.wait("row 1 of 17")
	if err := cmd.Process.Signal(syscall.SIGTERM); err != nil {
		t.Fatal(err)
	}
	p.wait("interrupted")
	if p.other {
		t.Error("the other screen is still on")
	}
	after, err := unix.IoctlGetTermios(int(p.master.Fd()), unix.TCGETS)
	if err != nil {
		t.Fatal(err)
	}
	if after.Lflag&unix.ICANON == 0 || after.Lflag&unix.ECHO == 0 {
		t.Errorf("the terminal is still raw: %x, was %x", after.Lflag, before.Lflag)
	}
}
