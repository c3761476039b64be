package read

import (
	"context"
	"errors"
	"fmt"
	"io"
	"runtime"
	"sync"
)

// swept is what one pass over a picture leaves: shapes of backing that shows, and
// where the paper's edges lie.
type swept struct {
	light   *light
	width   int
	height  int
	shapes  []shape
	edges   [2][]point // left and right (upright), top and bottom, in pixels: along the paper, across
	dropped int
}

// point is a place in pixels: upright, along is y and across is x; else the other
// way round.
type point struct{ along, across float64 }

// errCrowded says that no paper has so many holes.
var errCrowded = errors.New("it is full of specks, more than any paper has holes: noise, or a picture of something else")

// sweep reads the picture once. die is the diameter of a hole in pixels along x
// and y.
func sweep(ctx context.Context, rows *kept, l *light, die [2]float64, progress func(share float64)) (*swept,
	error) {
	p := rows.p
	var in source = rows
	if l.colour {
		in = &values{in: rows, width: p.Width, l: l}
	}
	if contrast := l.paper - (l.back[0]+l.back[1])/2; l.noise > 0.06*contrast {
		in = newSmooth(in, p.Width)
	}
	s := &swept{light: l, width: p.Width, height: p.Height}
	k := newLabeller(p.Width, l.upright)
	k.flip = l.flip
	k.speck = max(0.04*die[0]*die[1], 2.5)
	k.plain = plainTest(k, die)
	k.closed = func(x shape) { s.shapes = append(s.shapes, x) }
	e := newEdges(s, p.Width, p.Height, die)
	ctx, stop := context.WithCancel(ctx)
	all := bands(ctx, in, l, p.Width)
	defer func() {
		stop()
		for range all { // until nobody reads the picture any more
		}
	}()
	read := 0
	for b := range all {
		<-b.done
		if b.err != nil {
			return nil, b.err
		}
		k.level = func(x int) (uint8, byte) { return b.levels[x/blockPixels], b.backs[x/blockPixels] }
		k.paper = func(x int) byte { return b.papers[x/blockPixels] }
		from := int32(0)
		for y := range b.rows {
			runs, pixels := b.runs[from:b.ends[y]], b.pixels[y*p.Width:(y+1)*p.Width]
			from = b.ends[y]
			k.row(runs, pixels)
			e.row(runs)
		}
		k.keep()
		read += b.rows
		if k.tooMany || len(s.shapes) > 3_000_000 || read >= 128 && k.dropped > read*p.Width/400 {
			return nil, errCrowded
		}
		b.recycle()
		if progress != nil {
			progress(float64(read) / float64(p.Height))
		}
	}
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	k.end()
	e.end()
	s.dropped = k.dropped
	if read < p.Height {
		return nil, fmt.Errorf("it breaks off after row %d of %d", read, p.Height)
	}
	return s, nil
}

// recycle puts a band back for the reader.
func (b *band) recycle() { b.free <- b }

// bands reads the picture, follows its light and finds runs on all cores; the bands
// come in order, each done when its channel is closed. They take turns at reading, and
// each is parted where it was read, while its pixels are near at hand. The channel is
// closed once nothing reads any more.
func bands(ctx context.Context, in source, l *light, width int) <-chan *band {
	workers := max(runtime.GOMAXPROCS(0), 1)
	rows := min(max(bandBytes/width, 16), 128)
	free, out := make(chan *band, workers+3), make(chan *band, workers+3)
	for range cap(free) {
		free <- &band{free: free}
	}
	r := &reader{in: in, levels: newLevels(l, width)}
	var all sync.WaitGroup
	for range workers {
		all.Go(func() {
			for {
				select {
				case b := <-free:
					if b.pixels == nil {
						b.pixels = make([]byte, rows*width)
					}
					if !r.read(b, out) {
						return
					}
					b.part(width, l.flip)
					close(b.done)
				case <-ctx.Done():
					return
				}
			}
		})
	}
	go func() {
		all.Wait()
		close(out)
	}()
	return out
}

// reader fills bands one after the other.
type reader struct {
	turn   sync.Mutex
	in     source
	levels *levels
	ended  bool
}

// read fills a band and hands it on, and reports whether it did.
func (r *reader) read(b *band, out chan<- *band) bool {
	r.turn.Lock()
	defer r.turn.Unlock()
	if r.ended {
		return false
	}
	b.done = make(chan struct{})
	rows, err := r.in.Read(b.pixels)
	r.ended = err != nil || rows == 0
	if errors.Is(err, io.EOF) {
		err = nil
	}
	switch b.rows, b.err = rows, err; {
	case err != nil:
		b.rows = 0
	case rows == 0:
		return false
	default:
		r.levels.follow(b)
	}
	out <- b
	return true
}

// part finds the runs of a band.
func (b *band) part(width int, flip byte) {
	b.runs, b.ends = b.runs[:0], b.ends[:0]
	for y := range b.rows {
		b.runs = appendRuns(b.runs, b.pixels[y*width:(y+1)*width], b.levels, flip)
		b.ends = append(b.ends, int32(len(b.runs)))
	}
}

// plainTest tells holes as they should be from everything that has to be looked
// at closely.
func plainTest(k *labeller, die [2]float64) func(p *part) bool {
	if k.upright {
		return func(p *part) bool { return k.plainColumn(p, die[0], die[1]) }
	}
	return func(p *part) bool { return k.plainRow(p, die[0], die[1]) }
}

// plainColumn: one run a row, nowhere wider than a hole, nowhere narrow but at the
// ends, and straight. The first or last row may show the end of a hole in two.
func (k *labeller) plainColumn(p *part, dieX, dieY float64) bool {
	rows := int32(p.lastY) - int32(p.y0+0.5) + 1
	if p.count > rows+1 || p.x1-p.x0 > 1.4*dieX+0.05*float64(rows) {
		return false
	}
	last, mid := int32(-1), 0.0
	for i := p.head; i >= 0; i = k.nodes[i].next {
		n := &k.nodes[i]
		w, m := n.right()-n.left(), (n.left()+n.right())/2
		if w > 1.35*dieX {
			return false
		}
		inner := float64(n.y)-p.y0 > 0.2*dieY+1 && float64(p.lastY)-float64(n.y) > 0.2*dieY+1
		if inner && (n.y == last || w < 0.62*dieX || mid != 0 && abs(m-mid) > max(0.22*dieX, 1.2)) {
			return false
		}
		last = n.y
		if inner {
			mid = m
		}
	}
	return p.area > 0.62*0.785*dieX*dieY
}

// plainRow is the same for a roll on its side: as long as its area says, one run in
// each row about the middle, and ends as round as the die's.
func (k *labeller) plainRow(p *part, dieX, dieY float64) bool {
	w, l := p.y1Of()-p.y0, p.x1-p.x0
	if w > 1.35*dieY || w < 0.7*dieY || l < 0.7*dieX {
		return false
	}
	full := w * (l - dieX*0.215)
	if p.area < 0.78*full {
		return false
	}
	if float64(p.runs) <= w+2.5 {
		return true
	}
	return k.scalloped(p, dieX, dieY)
}

// scalloped reports whether a part is punches that overlap: within a quarter of the
// die from its middle a row is one run, whose ends lie at most 0.067 of the die (1/2 -
// sqrt(1/4 - 1/16)) and what unevenness there is behind the outermost.
func (k *labeller) scalloped(p *part, dieX, dieY float64) bool {
	mid, reach := (p.y0+p.y1Of())/2, 0.25*dieY
	slack := 0.2*dieX + 1.5
	rows := 0
	for i := p.head; i >= 0; i = k.nodes[i].next {
		n := &k.nodes[i]
		if abs(float64(n.y)+0.5-mid) > reach {
			continue
		}
		if rows++; n.left() > p.x0+slack || n.right() < p.x1-slack {
			return false
		}
	}
	return float64(rows) > 2*reach-1
}

// y1Of is the lower end of the part so far.
func (p *part) y1Of() float64 { return float64(p.lastY) + 1 }

func abs(v float64) float64 { return max(v, -v) }
