package midi

import (
	"bytes"
	"encoding/hex"
	"errors"
	"io"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// The table of variable-length quantities in Standard MIDI Files 1.0.
var quantities = []struct {
	value uint32
	bytes string
}{
	{0x00000000, "00"},
	{0x00000040, "40"},
	{0x0000007F, "7f"},
	{0x00000080, "8100"},
	{0x00002000, "c000"},
	{0x00003FFF, "ff7f"},
	{0x00004000, "818000"},
	{0x00100000, "c08000"},
	{0x001FFFFF, "ffff7f"},
	{0x00200000, "81808000"},
	{0x08000000, "c0808000"},
	{0x0FFFFFFF, "ffffff7f"},
}

func TestQuantities(t *testing.T) {
	for _, q := range quantities {
		b := appendQuantity(nil, q.value)
		if hex.EncodeToString(b) != q.bytes {
			t.Errorf("%#x is written %x, want %s", q.value, b, q.bytes)
		}
		if v, n := quantity(append(b, 0x55)); v != q.value || n != len(b) {
			t.Errorf("%s reads %#x from %d bytes, want %#x from %d", q.bytes, v, n, q.value, len(b))
		}
		if _, n := quantity(b[:len(b)-1]); n != 0 {
			t.Errorf("%x, cut short, reads as a quantity", b[:len(b)-1])
		}
	}
	if _, n := quantity([]byte{0x81, 0x80, 0x80, 0x80, 0x00}); n != 0 {
		t.Error("a quantity of five bytes was read")
	}
}

// The example of a format 0 file in Standard MIDI Files 1.0 (bytes from memory; the
// length 0x3B agrees with them). Most of its messages run on a status.
const exampleTrack = "00ff580404021808 00ff510307a120 00c005 00c12e 00c246" +
	"00923060 003c60 60914340 60904c20 8140823040 003c40 00814340 00804c40 00ff2f00"

const exampleHeader = "4d546864 00000006 0000 0001 0060 4d54726b 0000003b"

func unhex(t testing.TB, s string) []byte {
	t.Helper()
	b, err := hex.DecodeString(strings.ReplaceAll(s, " ", ""))
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func TestDecodeExampleOfTheStandard(t *testing.T) {
	f, err := Decode(bytes.NewReader(unhex(t, exampleHeader+exampleTrack)))
	if err != nil {
		t.Fatal(err)
	}
	// Delta times: 0 60 60 81 40, that is 0, 96, 96, 192 at 96 ticks a quarter.
	want := &File{Format: 0, Division: 96, Tracks: []Track{{
		EndTick: 384,
		Events: []Event{
			{Status: Meta, A: TimeSignature, Data: []byte{4, 2, 24, 8}},
			{Status: Meta, A: Tempo, Data: []byte{0x07, 0xA1, 0x20}},
			{Status: Program, A: 5},
			{Status: Program | 1, A: 46},
			{Status: Program | 2, A: 70},
			{Status: NoteOn | 2, A: 48, B: 96},
			{Status: NoteOn | 2, A: 60, B: 96},
			{Tick: 96, Status: NoteOn | 1, A: 67, B: 64},
			{Tick: 192, Status: NoteOn, A: 76, B: 32},
			{Tick: 384, Status: NoteOff | 2, A: 48, B: 64},
			{Tick: 384, Status: NoteOff | 2, A: 60, B: 64},
			{Tick: 384, Status: NoteOff | 1, A: 67, B: 64},
			{Tick: 384, Status: NoteOff, A: 76, B: 64},
		},
	}}}
	if diff := cmp.Diff(want, f); diff != "" {
		t.Fatal(diff)
	}
	var out bytes.Buffer
	if err := encode(&out, f); err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(unhex(t, exampleHeader+exampleTrack), out.Bytes()); diff != "" {
		t.Errorf("written again, the example differs: %s", diff)
	}
}

func TestDecodeSkipsWhatItDoesNotKnow(t *testing.T) {
	// A header of eight bytes, an alien chunk before the track and one after it.
	f, err := Decode(bytes.NewReader(unhex(t, "4d546864 00000008 0001 0001 e250 beef"+
		"58464948 00000003 010203"+"4d54726b 00000004 00ff2f00"+"58464948 00000000")))
	if err != nil {
		t.Fatal(err)
	}
	// 0xE250: -30 frames a second, 80 ticks a frame.
	if num, den, ok := f.Division.TimeCode(); num != 2400 || den != 1 || !ok {
		t.Errorf("division %#x is %d/%d ticks a second, want 2400", uint16(f.Division), num, den)
	}
	if len(f.Tracks) != 1 || f.Tracks[0].Events != nil {
		t.Errorf("%d tracks, want one without messages", len(f.Tracks))
	}
}

func TestDecodeRefuses(t *testing.T) {
	head := "4d546864 00000006 0000 0001 0060 "
	track := func(size, body string) string { return head + "4d54726b 000000" + size + body }
	tests := []struct{ name, bytes, want string }{
		{"nothing", "", "midi: byte 0: does not begin with MThd: no Standard MIDI File"},
		{"another file", "89504e470d0a1a0a", "midi: byte 0: does not begin with MThd: no Standard MIDI File"},
		{"half a header", "4d546864 00000006 0000", "midi: byte 0: a chunk of 6 bytes, but 2 are left"},
		{"a short header", "4d546864 00000004 0000 0001", "midi: byte 8: a header of 4 bytes, want 6"},
		{"format", "4d546864 00000006 0003 0001 0060", "midi: byte 8: format 3, want 0, 1 or 2"},
		{"format 0, two tracks", "4d546864 00000006 0000 0002 0060", "midi: byte 10: format 0 with 2 tracks, want 1"},
		{"division 0", "4d546864 00000006 0000 0001 0000", "midi: byte 12: division 0x0000 means nothing"},
		{"division of no time code", "4d546864 00000006 0000 0001 e050", "midi: byte 12: division 0xe050 means nothing"},
		{"no track", head, "midi: byte 14: 0 tracks, but the header says 1"},
		{"a track too many", head + "4d54726b 00000004 00ff2f00 4d54726b 00000004 00ff2f00",
			"midi: byte 26: one track more than the 1 of the header"},
		{"a second header", head + "4d546864 00000006 0000 0001 0060", "midi: byte 14: a second header"},
		{"junk at the end", head + "4d54726b 00000004 00ff2f00 4d", "midi: byte 26: 1 bytes where a chunk of at least 8 should stand"},
		{"a length past the file", track("05", "00ff2f00"), "midi: byte 14: a chunk of 5 bytes, but 4 are left"},
		{"a huge length", head + "4d54726b ffffffff 00", "midi: byte 14: a chunk of 4294967295 bytes, but 1 are left"},
		{"running status before any", track("07", "003c40 00ff2f00"), "midi: byte 23: data 0x3c where a status should stand"},
		{"running status after meta", track("0e", "00903c40 00ff0100 3c00 00ff2f00"), "midi: byte 31: data 0x00 where a status should stand"},
		{"five bytes of delta", track("09", "8180808000 ff2f00 00"), "midi: byte 22: a delta time of more than four bytes"},
		{"five bytes of length", track("08", "00ff01 8180808000"), "midi: byte 25: a length of more than four bytes"},
		{"delta cut short", track("01", "81"), "midi: byte 22: the track ends within a delta time"},
		{"text past the chunk", track("08", "00ff0105 00ff2f00"), "midi: byte 26: 5 bytes of data, but the track has 4 left"},
		{"exclusive past the chunk", track("03", "00f07f"), "midi: byte 25: 127 bytes of data, but the track has 0 left"},
		{"no end of track", track("04", "00903c40"), "midi: byte 26: the track ends within a delta time"},
		{"stops after a delta", track("01", "00"), "midi: byte 23: the track stops without its end-of-track message"},
		{"bytes after the end", track("08", "00ff2f00 00ff2f00"), "midi: byte 26: bytes after the end of the track"},
		{"an end with data", track("05", "00ff2f01 00"), "midi: byte 27: bytes after the end of the track"},
		{"a status for data", track("08", "00903c90 00ff2f00"), "midi: byte 25: status 0x90 where data should stand"},
		{"half a message", track("03", "00903c"), "midi: byte 25: the track ends within a message"},
		{"half a meta", track("02", "00ff"), "midi: byte 24: the track ends within a message"},
		{"a meta type over 127", track("08", "00ff8000 00ff2f00"), "midi: byte 24: meta type 0x80, want at most 0x7f"},
		{"a system message", track("06", "00f8 00ff2f00"), "midi: byte 23: status 0xf8 has no place in a file"},
	}
	for _, test := range tests {
		_, err := Decode(bytes.NewReader(unhex(t, test.bytes)))
		var broken FormatError
		if !errors.As(err, &broken) || err.Error() != test.want {
			t.Errorf("%s:\n got %v\nwant %s", test.name, err, test.want)
		}
	}
}

func TestDecodeLimits(t *testing.T) {
	example := unhex(t, exampleHeader+exampleTrack)
	var limit UnsupportedError
	if _, err := DecodeWithin(bytes.NewReader(example), Limits{MaxBytes: len(example) - 1}); !errors.As(err, &limit) {
		t.Errorf("over MaxBytes: %v", err)
	}
	if _, err := DecodeWithin(bytes.NewReader(example), Limits{MaxEvents: 12}); !errors.As(err, &limit) {
		t.Errorf("over MaxEvents: %v", err)
	}
	if _, err := DecodeWithin(bytes.NewReader(example), Limits{MaxBytes: len(example), MaxEvents: 13}); err != nil {
		t.Errorf("at both limits: %v", err)
	}
	// 4096 deltas of 2^28-1 stay below 2^40 ticks; one more and a few do not.
	long := "4d546864 00000006 0000 0001 0060 4d54726b 00007008" +
		strings.Repeat("ffffff7fff0100", 4096) + "a0807fff" + "2f00 0000"
	if _, err := Decode(bytes.NewReader(unhex(t, long))); !errors.As(err, &limit) {
		t.Errorf("2^40 ticks: %v", err)
	}
	failed := errors.New("the disk is gone")
	if _, err := Decode(io.MultiReader(bytes.NewReader(example[:20]), failing{failed})); !errors.Is(err, failed) {
		t.Errorf("a reader that fails: %v", err)
	}
}

type failing struct{ err error }

func (f failing) Read([]byte) (int, error)  { return 0, f.err }
func (f failing) Write([]byte) (int, error) { return 0, f.err }

func TestEncodeRefuses(t *testing.T) {
	one := func(e ...Event) *File {
		return &File{Division: 96, Tracks: []Track{{Events: e, EndTick: 9}}}
	}
	tests := []struct {
		file *File
		want string
	}{
		{&File{Format: 3}, "midi: format is 3, want 0, 1 or 2"},
		{&File{Format: 0, Division: 96}, "midi: format 0 has one track, not 0"},
		{&File{Format: 1}, "midi: division 0x0000 means nothing"},
		{&File{Format: 1, Division: 1, Tracks: make([]Track, 70000)}, "midi: 70000 tracks, want at most 65535"},
		{one(Event{Tick: 5, Status: NoteOn}, Event{Tick: 4, Status: NoteOn}), "midi: track 1: message 2 at tick 4 stands after tick 5"},
		{one(Event{Tick: 10, Status: NoteOn}), "midi: track 1: ends at tick 9, want 10 to 1099511627775"},
		{one(Event{Status: 0x7F}), "midi: track 1: message 1: status 0x7f has no place in a file"},
		{one(Event{Status: 0xF8}), "midi: track 1: message 1: status 0xf8 has no place in a file"},
		{one(Event{Status: NoteOn, A: 128}), "midi: track 1: message 1: data 128 0, want 0 to 127"},
		{one(Event{Status: Program, B: 1}), "midi: track 1: message 1: status 0xc0 with data it does not take"},
		{one(Event{Status: NoteOn, Data: []byte{1}}), "midi: track 1: message 1: status 0x90 with data it does not take"},
		{one(Event{Status: SysEx, A: 1}), "midi: track 1: message 1: status 0xf0 with data it does not take"},
		{one(Event{Status: Meta, A: EndOfTrack}), "midi: track 1: message 1: an end of track among the messages"},
	}
	for _, test := range tests {
		var out bytes.Buffer
		if err := encode(&out, test.file); err == nil || err.Error() != test.want {
			t.Errorf(" got %v\nwant %s", err, test.want)
		}
		if out.Len() > 0 {
			t.Errorf("%s: bytes were written first", test.want)
		}
	}
	failed := errors.New("the disk is full")
	if err := encode(failing{failed}, one()); !errors.Is(err, failed) {
		t.Errorf("a writer that fails: %v", err)
	}
}

// A gap of 3*maxQuantity+5 ticks takes three empty texts; after each the
// status must be said again.
func TestEncodeBridgesLongGaps(t *testing.T) {
	const gap = 3*maxQuantity + 5
	f := &File{Division: 96, Tracks: []Track{{EndTick: gap, Events: []Event{
		{Tick: 0, Status: NoteOn, A: 60, B: 1},
		{Tick: gap, Status: NoteOn, A: 60, B: 0},
	}}}}
	var out bytes.Buffer
	if err := encode(&out, f); err != nil {
		t.Fatal(err)
	}
	bridge := "ffffff7f ff0100"
	want := unhex(t, "00903c01"+bridge+bridge+bridge+"05903c00 00ff2f00")
	if got := out.Bytes()[22:]; !bytes.Equal(got, want) {
		t.Errorf("track is\n%x, want\n%x", got, want)
	}
	back, err := Decode(&out)
	if err != nil {
		t.Fatal(err)
	}
	if notes := back.Notes(); len(notes) != 1 || notes[0].EndTick != gap {
		t.Errorf("notes read back: %v", notes)
	}
}

// FuzzDecode holds that no bytes make Decode panic, that it keeps no more
// messages than bytes could say, and that what it reads it writes so that it
// reads the same again.
func FuzzDecode(f *testing.F) {
	for _, seed := range []string{
		exampleHeader + exampleTrack,
		"4d546864 00000006 0001 0001 e250 4d54726b 0000000d 00f003010203 00ff0100 00ff2f00",
		"4d546864 00000006 0001 0001 0060 4d54726b 00000012 00903c40 816080 3c00 60 c005 00f70143 00ff2f00",
	} {
		f.Add(unhex(f, seed))
	}
	f.Fuzz(func(t *testing.T, text []byte) {
		file, err := Decode(bytes.NewReader(text))
		if err != nil {
			return
		}
		count := 0
		for _, track := range file.Tracks {
			count += len(track.Events)
		}
		if 2*count > len(text) {
			t.Fatalf("%d messages from %d bytes", count, len(text))
		}
		file.Notes()
		var out bytes.Buffer
		if err := encode(&out, file); err != nil {
			t.Fatalf("what was read cannot be written: %v", err)
		}
		again, err := Decode(&out)
		if err != nil {
			t.Fatalf("what was written cannot be read: %v", err)
		}
		if diff := cmp.Diff(file, again); diff != "" {
			t.Fatal(diff)
		}
	})
}
