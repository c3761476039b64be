package midi

import (
	"encoding/binary"
	"fmt"
	"io"
)

// Limits bound what Decode takes. A zero field means its default.
type Limits struct {
	MaxBytes  int // of the whole file; default 64 MiB
	MaxEvents int // of all tracks; default 10,000,000, which take 480 MB

	// Tolerant takes what other programs write against the standard where its
	// meaning is plain: another number of tracks than the header says, a track
	// without its end or with bytes after it, a running status that goes on over
	// a Meta message, a few stray bytes at the end of the file.
	Tolerant bool
}

func (l Limits) orDefault() Limits {
	if l.MaxBytes == 0 {
		l.MaxBytes = 64 << 20
	}
	if l.MaxEvents == 0 {
		l.MaxEvents = 10_000_000
	}
	return l
}

// Decode reads a Standard MIDI File under the default Limits. It returns a
// FormatError when the bytes are broken, an UnsupportedError when they are too
// many; what r itself reports is wrapped. Chunks of unknown types, and header
// bytes beyond the sixth, are skipped, as the standard asks.
func Decode(r io.Reader) (*File, error) { return DecodeWithin(r, Limits{}) }

// DecodeWithin is Decode under limits of the caller's.
func DecodeWithin(r io.Reader, l Limits) (*File, error) {
	l = l.orDefault()
	text, err := io.ReadAll(io.LimitReader(r, int64(l.MaxBytes)+1))
	if err != nil {
		return nil, fmt.Errorf("midi: %w", err)
	}
	if len(text) > l.MaxBytes {
		return nil, UnsupportedError(fmt.Sprintf("the file is longer than %d bytes", l.MaxBytes))
	}
	d := decoder{text: text, eventsLeft: l.MaxEvents, tolerant: l.Tolerant}
	f := &File{}
	err = d.chunks(f, func(body []byte, offset int) error {
		track, err := d.track(body, offset)
		f.Tracks = append(f.Tracks, track)
		return err
	})
	if err != nil {
		return nil, err
	}
	return f, nil
}

type decoder struct {
	text       []byte
	at         int
	eventsLeft int
	tolerant   bool
}

func (d *decoder) broken(offset int, format string, args ...any) error {
	return FormatError{Offset: offset, Reason: fmt.Sprintf(format, args...)}
}

// chunk takes the next chunk: its type, its content, the content's offset.
func (d *decoder) chunk() (kind string, body []byte, offset int, err error) {
	rest := d.text[d.at:]
	if len(rest) < 8 {
		return "", nil, 0, d.broken(d.at, "%d bytes where a chunk of at least 8 should stand", len(rest))
	}
	size := binary.BigEndian.Uint32(rest[4:])
	if uint64(size) > uint64(len(rest)-8) {
		return "", nil, 0, d.broken(d.at, "a chunk of %d bytes, but %d are left", size, len(rest)-8)
	}
	offset = d.at + 8
	d.at = offset + int(size)
	return string(rest[:4]), d.text[offset:d.at], offset, nil
}

// chunks reads the header into f and hands the content of each track to each.
func (d *decoder) chunks(f *File, each func(body []byte, offset int) error) error {
	tracks, err := d.header(f)
	if err != nil {
		return err
	}
	found := 0
	for d.at < len(d.text) && !d.strays(found) {
		kind, body, offset, err := d.chunk()
		switch {
		case err != nil:
			return err
		case kind == "MThd":
			return d.broken(offset-8, "a second header")
		case kind != "MTrk":
			continue
		case found == tracks && !d.tolerant:
			return d.broken(offset-8, "one track more than the %d of the header", tracks)
		}
		if err := each(body, offset); err != nil {
			return err
		}
		found++
	}
	if found < tracks && (!d.tolerant || found == 0) {
		return d.broken(len(d.text), "%d tracks, but the header says %d", found, tracks)
	}
	return nil
}

// strays reports whether what is left are bytes too few for a chunk, which a
// tolerant reader leaves alone once there is a track.
func (d *decoder) strays(tracks int) bool {
	return d.tolerant && tracks > 0 && len(d.text)-d.at < 8
}

func (d *decoder) header(f *File) (tracks int, err error) {
	if len(d.text) < 4 || string(d.text[:4]) != "MThd" {
		return 0, d.broken(0, "does not begin with MThd: no Standard MIDI File")
	}
	_, body, offset, err := d.chunk()
	if err != nil {
		return 0, err
	}
	if len(body) < 6 {
		return 0, d.broken(offset, "a header of %d bytes, want 6", len(body))
	}
	f.Format = int(binary.BigEndian.Uint16(body))
	f.Division = Division(binary.BigEndian.Uint16(body[4:]))
	tracks = int(binary.BigEndian.Uint16(body[2:]))
	switch {
	case f.Format > 2:
		return 0, d.broken(offset, "format %d, want 0, 1 or 2", f.Format)
	case f.Format == 0 && tracks != 1 && !d.tolerant:
		return 0, d.broken(offset+2, "format 0 with %d tracks, want 1", tracks)
	case !f.Division.valid():
		return 0, d.broken(offset+4, "division %#04x means nothing", uint16(f.Division))
	}
	return tracks, nil
}

// track reads a track twice: once to check and count, then, the memory known,
// to keep.
func (d *decoder) track(body []byte, offset int) (Track, error) {
	count := 0
	end, err := d.messages(body, offset, func(Event) { count++ })
	if err != nil {
		return Track{}, err
	}
	if d.eventsLeft -= count; d.eventsLeft < 0 {
		return Track{}, UnsupportedError("the file has more messages than the limit allows")
	}
	t := Track{EndTick: end}
	if count > 0 {
		t.Events = make([]Event, 0, count)
	}
	_, err = d.messages(body, offset, func(e Event) { t.Events = append(t.Events, e) })
	return t, err
}

// messages hands every message of a track to each, and returns the tick of its
// end.
func (d *decoder) messages(body []byte, offset int, each func(Event)) (end uint64, err error) {
	p := parser{body: body, offset: offset, tolerant: d.tolerant}
	for {
		if d.tolerant && p.at == len(body) {
			return p.tick, nil
		}
		e, err := p.next()
		if err != nil {
			return 0, err
		}
		if e.Status == Meta && e.A == EndOfTrack {
			if !d.tolerant && (len(e.Data) > 0 || p.at < len(body)) {
				return 0, p.broken("bytes after the end of the track")
			}
			return e.Tick, nil
		}
		each(e)
	}
}

// parser reads the messages of one track.
type parser struct {
	body    []byte
	offset  int // of body in the file
	at      int
	tick    uint64
	running byte

	tolerant bool
}

func (p *parser) broken(format string, args ...any) error {
	return FormatError{Offset: p.offset + p.at, Reason: fmt.Sprintf(format, args...)}
}

func (p *parser) quantity(what string) (uint32, error) {
	v, n := quantity(p.body[p.at:])
	if n == 0 {
		if len(p.body)-p.at >= 4 {
			return 0, p.broken("%s of more than four bytes", what)
		}
		return 0, p.broken("the track ends within %s", what)
	}
	p.at += n
	return v, nil
}

func (p *parser) next() (Event, error) {
	delta, err := p.quantity("a delta time")
	if err != nil {
		return Event{}, err
	}
	if p.tick += uint64(delta); p.tick > maxTicks {
		return Event{}, UnsupportedError(fmt.Sprintf("a track longer than %d ticks", uint64(maxTicks)))
	}
	if p.at == len(p.body) {
		return Event{}, p.broken("the track stops without its end-of-track message")
	}
	status := p.body[p.at]
	switch {
	case status < NoteOff && p.running == 0:
		return Event{}, p.broken("data %#02x where a status should stand", status)
	case status < NoteOff:
		return p.channel(p.running)
	case status < SysEx:
		p.at++
		p.running = status
		return p.channel(status)
	case status == SysEx, status == Escape, status == Meta:
		p.at++
		if !p.tolerant {
			p.running = 0
		}
		return p.long(status)
	}
	return Event{}, p.broken("status %#02x has no place in a file", status)
}

// channel reads the data of a channel message.
func (p *parser) channel(status byte) (Event, error) {
	e := Event{Tick: p.tick, Status: status}
	for _, data := range []*byte{&e.A, &e.B}[:dataBytes(status)] {
		if p.at == len(p.body) {
			return Event{}, p.broken("the track ends within a message")
		}
		if *data = p.body[p.at]; *data > maxData {
			return Event{}, p.broken("status %#02x where data should stand", *data)
		}
		p.at++
	}
	return e, nil
}

// long reads a system exclusive or Meta message, whose length is written.
func (p *parser) long(status byte) (Event, error) {
	e := Event{Tick: p.tick, Status: status}
	if status == Meta {
		if p.at == len(p.body) {
			return Event{}, p.broken("the track ends within a message")
		}
		if e.A = p.body[p.at]; e.A > maxData {
			return Event{}, p.broken("meta type %#02x, want at most %#02x", e.A, maxData)
		}
		p.at++
	}
	size, err := p.quantity("a length")
	if err != nil {
		return Event{}, err
	}
	if uint64(size) > uint64(len(p.body)-p.at) {
		return Event{}, p.broken("%d bytes of data, but the track has %d left", size, len(p.body)-p.at)
	}
	if size > 0 {
		e.Data = p.body[p.at : p.at+int(size) : p.at+int(size)]
	}
	p.at += int(size)
	return e, nil
}
