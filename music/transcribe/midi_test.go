package transcribe

import (
	"bytes"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"rollwright/exact"
	"rollwright/internal/judge"
	"rollwright/music/event"
	"rollwright/music/perform"
	"rollwright/music/piece"
	"rollwright/music/piecefile"
	"rollwright/text/draft"
	"rollwright/text/source"
)

// played are the events of a piece.
func played(t testing.TB, p *piece.Piece) ([]event.Event, []string) {
	t.Helper()
	perf, err := perform.New(p, perform.Options{})
	if err != nil {
		t.Fatal(err)
	}
	return slices.Collect(perf.Events()), p.VoiceNames()
}

// told is events as lines that can be compared: nanoseconds, key, level, voice.
func told(events []event.Event, voices []string) string {
	var b strings.Builder
	for _, e := range events {
		fmt.Fprintf(&b, "%d %d %d %d %s\n", event.Nanoseconds(e.StartSec), event.Nanoseconds(e.EndSec), e.Key, e.Level,
			voices[e.Voice])
	}
	return b.String()
}

// sameAsText prints the piece of a file, reads it and compares what both play.
func sameAsText(t testing.TB, f *File) []event.Event {
	t.Helper()
	p, err := f.Piece()
	if err != nil {
		t.Fatal(err)
	}
	events, voices := played(t, p)
	text, err := f.Text(p)
	if err != nil {
		t.Fatal(err)
	}
	again, err := piecefile.Parse(&source.File{Name: "x.piece", Text: text})
	if err != nil {
		t.Fatalf("%v\n%s", err, text)
	}
	want, got := told(events, voices), told(played(t, again))
	if want != got {
		t.Fatalf("the text plays otherwise:\n%s\nwant\n%s\nof\n%s", got, want, text)
	}
	return events
}

// A file that mido writes, with running status off and on, many tempos, three tracks,
// chords and overlaps.
const midoScript = `
import mido, sys, random
random.seed(7)
m = mido.MidiFile(type=int(sys.argv[2]), ticks_per_beat=480)
tempos = [(0, 500000)] + [(t*333, 300000 + 7919*t) for t in range(1, 60)]
msgs = [[(t, mido.MetaMessage('set_tempo', tempo=v)) for t, v in tempos]]
for track in range(2):
    out = [(0, mido.MetaMessage('track_name', name='T%d' % track))]
    t = 0
    for i in range(300):
        t += random.choice([0, 60, 97, 240])
        d = random.choice([30, 60, 200, 480])
        k = 40 + random.randrange(40)
        out.append((t, mido.Message('note_on', channel=track, note=k, velocity=70)))
        out.append((t + d, mido.Message('note_on', channel=track, note=k, velocity=0)))
    msgs.append(out)
if sys.argv[2] == '0':
    msgs = [sum(msgs, [])]
for list in msgs:
    track = mido.MidiTrack(); m.tracks.append(track)
    now = 0
    for t, msg in sorted(list, key=lambda x: (x[0], getattr(x[1], 'velocity', 1) > 0)):
        track.append(msg.copy(time=t - now)); now = t
m.save(sys.argv[1])
`

func TestMIDIFromMido(t *testing.T) {
	for _, format := range []string{"0", "1"} {
		path := filepath.Join(t.TempDir(), "x.mid")
		judge.Script(t, "mido", midoScript, path, format)
		// The file read by mido, its times reckoned in fractions and rounded half up to nanoseconds once.
		out := judge.Script(t, "mido", `
import mido, sys
from fractions import Fraction
m = mido.MidiFile(sys.argv[1])
tempos, notes = [], []
for track in m.tracks:
    t, on = 0, {}
    for msg in track:
        t += msg.time
        if msg.type == 'set_tempo': tempos.append((t, msg.tempo))
        if msg.type == 'note_on':
            q = on.setdefault((msg.channel, msg.note), [])
            if msg.velocity: q.append(t)
            elif q: notes.append((q.pop(0), t, msg.note))
def sec(tick):
    s, at, tempo = Fraction(0), 0, 500000
    for t, v in sorted(tempos, key=lambda x: x[0]):
        if t >= tick: break
        s += Fraction((t - at) * tempo, 480 * 1000000); at, tempo = t, v
    return s + Fraction((tick - at) * tempo, 480 * 1000000)
def ns(tick): return int((sec(tick) * 10**9 + Fraction(1, 2)) // 1)
for row in sorted({(ns(a), ns(b), k) for a, b, k in notes}): print(*row)
`, path)
		raw, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		f, err := Read("x.mid", raw)
		if err != nil {
			t.Fatal(err)
		}
		events := sameAsText(t, f)
		want := strings.Split(strings.TrimSpace(string(out)), "\n") // a note that is there twice is one stroke
		var got []string
		for _, e := range events {
			got = append(got, fmt.Sprintf("%d %d %d", event.Nanoseconds(e.StartSec), event.Nanoseconds(e.EndSec), e.Key))
		}
		slices.Sort(want)
		slices.Sort(got)
		if diff := cmp.Diff(want, got); diff != "" {
			t.Errorf("format %s (-mido +got):\n%s", format, diff)
		}
	}
}

// flat is a value as it stands behind its equals sign.
func flat(v draft.Value) string {
	d := draft.Draft{Entries: []draft.Entry{draft.Attr("x", v)}}
	return strings.TrimSpace(strings.TrimPrefix(string(d.Bytes()), "x = "))
}

// bytesOf is a file of tracks at that division, each with its end of track.
func bytesOf(format, division int, tracks ...string) []byte {
	var b bytes.Buffer
	fmt.Fprintf(&b, "MThd\x00\x00\x00\x06%s%s%s", two(format), two(len(tracks)), two(division))
	for _, track := range tracks {
		body := track + "\x00\xff\x2f\x00"
		fmt.Fprintf(&b, "MTrk\x00\x00%s%s", two(len(body)), body)
	}
	return b.Bytes()
}

func two(n int) string { return string([]byte{byte(n >> 8), byte(n)}) }

// Files as others write them, by hand: what is heard of each, in seconds and keys.
func TestMIDIByHand(t *testing.T) {
	for _, c := range []struct {
		name string
		file []byte
		want string
	}{
		// 96 ticks a quarter of 0.5 s: 48 ticks are 0.25 s.
		{"running status, an end by velocity 0", bytesOf(0, 96, "\x00\x90\x3c\x40\x30\x3c\x00\x00\x3e\x40\x30\x3e\x00"),
			"0-0.25 60 64, 0.25-0.5 62 64"},
		{"a running status over a meta message", bytesOf(0, 96, "\x00\x90\x3c\x40\x30\x3c\x00\x00\xff\x01\x01x\x00\x3e\x40\x30\x3e\x00"),
			"0-0.25 60 64, 0.25-0.5 62 64"},
		{"a key struck again while it sounds: ends in the order of starts", bytesOf(0, 96, "\x00\x90\x3c\x40\x18\x3c\x41\x18\x3c\x00\x18\x3c\x00"),
			"0-0.25 60 64, 0.125-0.375 60 65"},
		{"a note without end lasts as long as its track", bytesOf(0, 96, "\x00\x90\x3c\x40\x30\x3e\x40\x30\x3e\x00\x60\x80\x00\x00"),
			"0-1 60 64, 0.25-0.5 62 64"},
		// 25 frames of 40 ticks: a tick is a millisecond.
		{"SMPTE time", bytesOf(0, 0xE728, "\x00\x90\x3c\x40\x83\x74\x3c\x00"), "0-0.5 60 64"},
		// 30 drop-frame: 30000/1001 frames a second of 80 ticks: 80 ticks are 1001/30000 s.
		{"SMPTE time, drop frame", bytesOf(0, 0xE350, "\x50\x90\x3c\x40\x50\x3c\x00"), "0.033366667-0.066733333 60 64"},
		{"a note of no length lasts a tick", bytesOf(0, 96, "\x00\x90\x3c\x40\x00\x3c\x00"), "0-0.005208333 60 64"},
		{"drums are left out", bytesOf(0, 96, "\x00\x99\x24\x40\x00\x90\x3c\x40\x30\x3c\x00\x00\x99\x24\x00"), "0-0.25 60 64"},
		{"no end of the track, stray bytes at the end", append(bytes.Replace(bytesOf(0, 96, "\x00\x90\x3c\x40\x30\x3c\x00"), []byte("\x00\x0b\x00\x90\x3c\x40\x30\x3c\x00\x00\xff\x2f\x00"), []byte("\x00\x07\x00\x90\x3c\x40\x30\x3c\x00"), 1), 0, 0),
			"0-0.25 60 64"},
		{"a note after two thousand days", bytesOf(0, 1, "\xff\xff\xff\x7f\xff\x01\x00"+strings.Repeat("\xff\xff\xff\x7f\xff\x01\x00", 20)+"\x00\x90\x3c\x40\x01\x3c\x00"), ""},
		{"the header says other tracks", bytesOf(1, 96, "\x00\x90\x3c\x40\x30\x3c\x00")[:10:10], ""},
		// The second tempo, 1 s a quarter, from tick 48 on.
		{"tempos in another track", bytesOf(1, 96, "\x30\xff\x51\x03\x0f\x42\x40", "\x00\x90\x3c\x40\x60\x3c\x00"), "0-0.75 60 64"},
	} {
		f, err := Read("x.mid", c.file)
		if err == nil && c.want == "" {
			_, err = f.Piece()
		}
		if c.want == "" {
			if err == nil {
				t.Errorf("%s: no error", c.name)
			}
			continue
		}
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		var got []string
		for _, e := range sameAsText(t, f) {
			got = append(got, fmt.Sprintf("%v-%v %d %d", sec(e.StartSec), sec(e.EndSec), e.Key, e.Level))
		}
		if strings.Join(got, ", ") != c.want {
			t.Errorf("%s: %s, want %s", c.name, strings.Join(got, ", "), c.want)
		}
	}
}

func sec(s float64) float64 { return float64(event.Nanoseconds(s)) / 1e9 }

// The lines of four notes: a chord of two, a note above that begins with it and lasts
// longer, a note that begins when the chord has ended.
func TestLines(t *testing.T) {
	notes := []Note{
		{From: 0, To: 10, Key: 60}, {From: 0, To: 10, Key: 64}, {From: 0, To: 30, Key: 72}, {From: 10, To: 20, Key: 50}, {From: 15, To: 20, Key: 40},
	}
	l, err := newLines(notes)
	if err != nil {
		t.Fatal(err)
	}
	var got []string
	for i := range l.heads {
		var line []string
		l.line(i, func(c *chord) bool {
			var keys []string
			for _, n := range l.notes[c.first:c.last] {
				keys = append(keys, fmt.Sprint(n.Key))
			}
			line = append(line, fmt.Sprintf("%d-%d:%s", c.from, c.to, strings.Join(keys, "+")))
			return true
		})
		got = append(got, strings.Join(line, " "))
	}
	want := []string{"0-30:72", "0-10:60+64 10-20:50", "15-20:40"}
	if !slices.Equal(got, want) {
		t.Errorf("%q, want %q", got, want)
	}
}

// Excerpts of the notes C4 D4 E4 F4 of 4 units each after a silence of 4, in bars of 8.
func TestExcerpt(t *testing.T) {
	f := &File{Name: "x.mid", Tick: exact.NewRat(1, 16), Parts: []Part{
		{Number: 1, Name: "empty"},
		{Number: 2, Name: "tune", FirstBar: 1, Bars: []int64{0, 8, 16, 24}, Notes: []Note{
			{From: 4, To: 8, Key: 60, Level: 80}, {From: 8, To: 12, Key: 62, Level: 64}, {From: 12, To: 16, Key: 64}, {From: 16, To: 20, Key: 65, Level: 80}}},
	}}
	rat := func(n int64) exact.Rat { return exact.Int(n) }
	for _, c := range []struct {
		ask  piecefile.Excerpt
		want string
	}{
		{piecefile.Excerpt{}, `"(4) C4:4!mf D4:4!mp E4:4 F4:4!mf"`},
		{piecefile.Excerpt{Part: "tune"}, `"(4) C4:4!mf D4:4!mp E4:4 F4:4!mf"`},
		{piecefile.Excerpt{Part: "2", Unit: exact.NewRat(1, 8)}, `"(2) C4:2!mf D4:2!mp E4:2 F4:2!mf"`},
		{piecefile.Excerpt{Take: piecefile.Take{Kind: piecefile.TakeBars, From: rat(1), To: rat(1)}}, `"(4) C4:4!mf"`},
		{piecefile.Excerpt{Take: piecefile.Take{Kind: piecefile.TakeBars, From: rat(2), To: rat(3)}}, `"D4:4!mp E4:4 F4:4!mf (4)"`},
		{piecefile.Excerpt{Take: piecefile.Take{Kind: piecefile.TakeNotes, From: rat(2), To: rat(3)}}, `"D4:4!mp E4:4"`},
		{piecefile.Excerpt{Take: piecefile.Take{Kind: piecefile.TakeUnits, From: rat(2), To: exact.NewRat(25, 2)}}, `"(2) C4:4!mf D4:4!mp E4:4"`},
		{piecefile.Excerpt{Take: piecefile.Take{Kind: piecefile.TakeUnits, From: rat(2), To: rat(12)}}, `"(2) C4:4!mf D4:4!mp"`},
		{piecefile.Excerpt{Part: "empty"}, `there is no part "empty" with notes in x.mid; write part = with one of them: "tune" or 2`},
		{piecefile.Excerpt{Strand: 2}, `tune of x.mid has no line 2; it has one`},
		{piecefile.Excerpt{Take: piecefile.Take{Kind: piecefile.TakeBars, From: rat(2), To: rat(4)}}, `x.mid has no such bar; its bars go from 1 to 3`},
		{piecefile.Excerpt{Take: piecefile.Take{Kind: piecefile.TakeNotes, From: rat(2), To: rat(5)}}, `there is no note 5 in this line of x.mid; it has 4 notes; a chord is one`},
		{piecefile.Excerpt{Take: piecefile.Take{Kind: piecefile.TakeUnits, From: rat(30), To: rat(40)}}, `no note of tune of x.mid begins there; line 1 has 4 notes`},
	} {
		if c.ask.Unit.Sign() == 0 {
			c.ask.Unit = unit
		}
		talea, color, err := f.Excerpt(c.ask)
		got := fmt.Sprint(err)
		if err == nil {
			v, err := piecefile.LineValue(talea, color)
			if err != nil {
				t.Fatal(err)
			}
			got = flat(v)
		}
		if got != c.want {
			t.Errorf("%+v: %s, want %s", c.ask, got, c.want)
		}
	}
}

// Random files of strands, with tempos at random ticks, play from their text what they
// play themselves.
func TestRoundTrips(t *testing.T) {
	for seed := range uint64(30) {
		rng := rand.New(rand.NewPCG(seed, 1))
		division := []int{96, 480, 1000, 7}[rng.IntN(4)]
		f := &File{Name: "r.mid", Tick: exact.NewRat(1, 4*int64(division)), Tempos: []Tempo{{0, exact.Frac(120, 1)}}}
		for at := int64(0); len(f.Tempos) < 1+rng.IntN(40); {
			at += rng.Int64N(2000)
			f.Tempos = append(f.Tempos, Tempo{at, tempoOf(uint32(200_000 + rng.IntN(900_000)))})
		}
		for part := range 2 {
			p := Part{Number: part + 1}
			at := int64(0)
			for range 100 {
				at += rng.Int64N(300)
				p.Notes = append(p.Notes, Note{From: at, To: at + 1 + rng.Int64N(700), Key: uint8(20 + rng.IntN(80)),
					Level: uint8(1 + rng.IntN(127))})
			}
			p.Pedal = []Span{{10, 300}, {400, at + 5000}}
			f.Parts = append(f.Parts, p)
		}
		if events := sameAsText(t, f); len(events) < 190 {
			t.Errorf("%d events", len(events))
		}
	}
}

// FuzzMIDI: whatever the bytes, there is a file that plays and whose text plays the
// same, or an error; in bounded time and memory.
func FuzzMIDI(f *testing.F) {
	f.Add(bytesOf(0, 96, "\x00\x90\x3c\x40\x30\x3c\x00\x00\x3e\x40\x30\x3e\x00"))
	f.Add(bytesOf(1, 0xE728, "\x00\xff\x51\x03\x0f\x42\x40", "\x00\x90\x3c\x40\x60\x3c\x00\x00\xb0\x40\x7f"))
	f.Fuzz(func(t *testing.T, raw []byte) {
		if len(raw) > 1<<14 {
			return
		}
		file, err := Read("x.mid", raw)
		if err != nil {
			return
		}
		p, err := file.Piece()
		if err != nil {
			return
		}
		perf, err := perform.New(p, perform.Options{MaxEvents: 100_000})
		if err != nil {
			t.Fatalf("a piece that cannot be performed: %v", err)
		}
		if perf.Count > len(raw) {
			t.Fatalf("%d events of %d bytes", perf.Count, len(raw))
		}
		text, err := file.Text(p)
		if err != nil {
			return
		}
		if _, err := piecefile.Parse(&source.File{Name: "x.piece", Text: text}); err != nil {
			t.Fatalf("%v\n%s", err, text)
		}
	})
}

// A million notes read and performed: issue's number is 1 s of CPU and 400 MB.
func BenchmarkMillionNotes(b *testing.B) {
	raw := million(1_000_000)
	b.SetBytes(int64(len(raw)))
	b.ReportAllocs()
	for b.Loop() {
		f, err := Read("x.mid", raw)
		if err != nil {
			b.Fatal(err)
		}
		p, err := f.Piece()
		if err != nil {
			b.Fatal(err)
		}
		perf, err := perform.New(p, perform.Options{})
		if err != nil {
			b.Fatal(err)
		}
		n := 0
		for range perf.Events() {
			n++
		}
		if n != 1_000_000 {
			b.Fatal(n)
		}
	}
}

// million is a file of so many notes in four lines.
func million(n int) []byte {
	var track bytes.Buffer
	quantity := func(v int) {
		if v >= 128 {
			track.WriteByte(byte(v>>7) | 0x80)
		}
		track.WriteByte(byte(v & 0x7f))
	}
	track.WriteString("\x00\x90")
	for i := range n {
		if i > 0 {
			quantity(30)
		} else {
			track.Truncate(track.Len() - 2)
			track.WriteString("\x00\x90")
		}
		track.WriteByte(byte(30 + i*7%70))
		track.WriteByte(80)
		if i >= 3 {
			quantity(2)
			track.WriteByte(byte(30 + (i-3)*7%70))
			track.WriteByte(0)
		}
	}
	track.WriteString("\x10\xff\x2f\x00")
	var b bytes.Buffer
	fmt.Fprintf(&b, "MThd\x00\x00\x00\x06%s%s%sMTrk", two(0), two(1), two(96))
	size := track.Len()
	b.Write([]byte{byte(size >> 24), byte(size >> 16), byte(size >> 8), byte(size)})
	b.Write(track.Bytes())
	return b.Bytes()
}
