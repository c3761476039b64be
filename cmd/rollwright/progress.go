package main

import (
	"fmt"
	"io"
	"sync"
	"time"

	"rollwright/text/source"

	"github.com/vbauerster/mpb/v8"
	"github.com/vbauerster/mpb/v8/decor"
)

// barAfter is how long a command may take before a bar shows.
const barAfter = time.Second

// progress shows, on a terminal alone, how far a command with several outputs
// has come. It appears only when the command takes longer than a moment.
type progress struct {
	out   io.Writer
	steps int
	timer *time.Timer // nil where nothing is to be shown

	lock sync.Mutex // held over all below
	done int
	name string
	bars *mpb.Progress
	bar  *mpb.Bar
}

func newProgress(out io.Writer, steps int) *progress {
	p := &progress{out: out, steps: steps, done: -1}
	if file, screen := screenOf(out); screen {
		p.out = file // the bar moves on it; names are made harmless here
		p.timer = time.AfterFunc(barAfter, p.show)
	}
	return p
}

// show puts the bar on the screen.
func (p *progress) show() {
	p.lock.Lock()
	if p.timer == nil {
		p.lock.Unlock()
		return
	}
	p.bars = mpb.New(mpb.WithOutput(p.out), mpb.WithWidth(40))
	p.bar = p.bars.AddBar(int64(p.steps), mpb.PrependDecorators(decor.Any(p.label)))
	bar, done := p.bar, max(p.done, 0)
	p.lock.Unlock()
	bar.SetCurrent(int64(done)) // not under the lock: the bar may be asking for its label
}

// label is what stands before the bar; the bar's own goroutine asks for it.
func (p *progress) label(decor.Statistics) string {
	p.lock.Lock()
	defer p.lock.Unlock()
	return p.name + " "
}

// next begins the step called name.
func (p *progress) next(name string) {
	p.lock.Lock()
	p.done, p.name = p.done+1, source.Printable(name)
	bar, done := p.bar, p.done
	p.lock.Unlock()
	if bar != nil {
		bar.SetCurrent(int64(done))
	}
}

// shares is how finely a share of work is shown.
const shares = 1000

// share shows how much of the work called name is done, 0 to 1, for progress
// with shares steps.
func (p *progress) share(name string, done float64) {
	p.lock.Lock()
	p.done, p.name = int(done*shares), source.Printable(name)
	bar, now := p.bar, p.done
	p.lock.Unlock()
	if bar != nil {
		bar.SetCurrent(int64(now))
	}
}

// say prints a line that stays.
func (p *progress) say(line string) {
	line = source.Printable(line) // names of files may hold what a terminal acts on
	p.lock.Lock()
	bars := p.bars
	p.lock.Unlock()
	if bars != nil {
		fmt.Fprintln(bars, line)
		return
	}
	fmt.Fprintln(p.out, line)
}

// close takes the bar away. It may be called again.
func (p *progress) close() {
	p.lock.Lock()
	bar, bars := p.bar, p.bars
	if p.timer != nil {
		p.timer.Stop()
	}
	p.timer, p.bar, p.bars = nil, nil, nil
	p.lock.Unlock()
	if bar != nil {
		bar.Abort(true)
		bars.Wait()
	}
}
