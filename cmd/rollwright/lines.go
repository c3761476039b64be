package main

import (
	"errors"
	"fmt"
	"io"
	"strings"

	"rollwright/making/journal"
	"rollwright/making/punching"
)

// lineWords are what a line of plain input may begin with: the keys of the large
// screen, and their names. An arrow key sends what sequences know.
var lineWords = map[string]string{
	"": "next", "n": "next", "next": "next", "space": "next", "return": "next", "enter": "next", "→": "next", "↓": "next",
	"right": "next", "down": "next", "page down": "next", "pagedown": "next",
	"b": "back", "back": "back", "←": "back", "↑": "back", "left": "back", "up": "back", "page up": "back",
	"pageup": "back", "backspace": "back",
	"g": "go", "go": "go",
	"u": "undo", "undo": "undo",
	"s": "slip", "slip": "slip",
	"m": "missed", "missed": "missed",
	"t": "to", "to": "to",
	"l": "list", "list": "list",
	"closed": "closed",
	"p":      "pause", "pause": "pause",
	"q": "leave", "quit": "leave", "leave": "leave",
	"?": "help", "help": "help",
}

// lineCommand is what a line asks, with what follows; empty where nobody knows.
func lineCommand(line string) (command, rest string) {
	line = strings.TrimSpace(line)
	if keys := presses([]byte(line)); strings.HasPrefix(line, "\x1b") && len(keys) == 1 {
		switch keys[0].key {
		case keyNext:
			return "next", ""
		case keyBack:
			return "back", ""
		}
	}
	if command, ok := lineWords[strings.ToLower(line)]; ok {
		return command, ""
	}
	word, rest, _ := strings.Cut(line, " ")
	switch command := lineWords[strings.ToLower(word)]; command {
	case "slip", "closed", "missed", "to":
		return command, strings.TrimSpace(rest)
	}
	return "", line
}

const lineHelp = "return or n: next · b: back · g: bring the paper to the row looked back at · u: not punched · s 32 or s D3 @ 117.5: slip · m 18: a hole of this row is missing · t 120, t @ 117.5, t 1:20: look at that row · l: patches · closed 1: patch 1 is closed · p: pause · q: leave · ?: these words"

// lineMode is the companion line by line.
type lineMode struct {
	out    io.Writer
	s      *punching.Session
	asking bool // which hole is wrong was asked: the next line says it
}

// obey does what a line asks. Only the journal's errors are errors; what a person
// mistyped is said to them.
func (l *lineMode) obey(line string) (leave bool, err error) {
	command, rest := lineCommand(line)
	switch {
	case command == "leave":
		return true, nil
	case l.s.View().Paused:
		return false, l.s.Resume()
	case l.asking:
		return false, l.answer(strings.TrimSpace(line))
	}
	switch command {
	case "next":
		err := l.s.Next()
		if waits := l.s.View().Waits; waits != "" && err == nil {
			l.say(waits)
		}
		return false, err
	case "back":
		l.s.Back()
	case "go":
		l.s.Go()
	case "undo":
		undone, err := l.s.Undo()
		if !undone && err == nil {
			l.say(notPunched)
		}
		return false, err
	case "slip":
		if l.asking = rest == ""; l.asking {
			l.say("which hole is wrong? its number or key, then @ and its length from zero if it is elsewhere; return alone: none")
			return false, nil
		}
		_, err := l.note(rest)
		return false, err
	case "missed":
		_, err := l.note("missed " + rest)
		return false, err
	case "to":
		_, err := l.note("row " + rest)
		return false, err
	case "list":
		for _, line := range patches(l.s) {
			l.say(line)
		}
	case "closed":
		said, err := closePatch(l.s, rest)
		if err != nil {
			return false, err
		}
		l.say(said)
	case "pause":
		return false, l.s.Pause()
	case "help":
		l.say(lineHelp)
	default:
		l.strange(rest)
	}
	return false, nil
}

func (l *lineMode) say(text string) { fmt.Fprintln(l.out, text) }

// answer takes the hole that was asked for; what cannot be read is asked for
// again.
func (l *lineMode) answer(text string) error {
	if text == "" {
		l.asking = false
		l.say("nothing is noted")
		return nil
	}
	noted, err := l.note(text)
	if l.asking = !noted && err == nil; l.asking {
		l.say("which hole is wrong? return alone: none")
	}
	return err
}

// note takes down a slip, and reports whether it could be read. The error is the
// journal's.
func (l *lineMode) note(text string) (noted bool, err error) {
	said, err := l.s.Note(text)
	if errors.Is(err, journal.ErrNotKept) {
		return false, err
	}
	if err != nil {
		said = err.Error()
	}
	l.say(said)
	return err == nil, nil
}

// strange answers a line that asks nothing known: one that names a hole may be a
// slip whose s was left out.
func (l *lineMode) strange(line string) {
	text := fmt.Sprintf("%q means nothing here; ? tells the words", line)
	if _, _, err := l.s.ParseSlip(line); err == nil {
		text = fmt.Sprintf("%q means nothing here; is that hole wrong? write s %s", line, line)
	}
	l.say(text)
}
