package table

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"iter"
	"math"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"rollwright/music/event"
	"rollwright/paper/instrument"
	"rollwright/paper/roll"
	"rollwright/text/cell"
)

// awkward is a name that both formats must quote.
const awkward = "a,\"b\"\r\nc <d>"

var awkwardVoices = []string{"low", awkward}

var fewEvents = []event.Event{
	{Voice: 0, Note: 1, Part: 1, Key: 36, Level: 80, StartSec: 0, EndSec: 0.375},
	{Voice: 1, Note: 12, Part: 3, Key: 127, Level: 127, StartSec: 1.0 / 3, EndSec: 1.0 / 3, Single: true},
	{Voice: 0, Note: 2, Part: 1, Key: 0, Level: 1, StartSec: 36000.0000000004, EndSec: 36000.25},
}

func TestWriteEvents(t *testing.T) {
	var out bytes.Buffer
	if err := WriteEvents(&out, CSV, awkwardVoices, slices.Values(fewEvents)); err != nil {
		t.Fatal(err)
	}
	want := "voice,note,key,pitch,start_s,end_s,level,part\n" +
		"low,1,36,C2,0.000000000,0.375000000,80,1\n" +
		"\"a,\"\"b\"\"\r\nc <d>\",12,127,G9,0.333333333,0.333333333,127,3\n" +
		"low,2,0,C-1,36000.000000000,36000.250000000,1,1\n"
	if diff := cmp.Diff(want, out.String()); diff != "" {
		t.Error(diff)
	}
}

func TestWriteEventsJSON(t *testing.T) {
	var out bytes.Buffer
	if err := WriteEvents(&out, JSON, awkwardVoices, slices.Values(fewEvents[:2])); err != nil {
		t.Fatal(err)
	}
	want := `[
{"voice":"low","note":1,"key":36,"pitch":"C2","start_s":0.000000000,"end_s":0.375000000,"level":80,"part":1},
{"voice":"a,\"b\"\r\nc <d>","note":12,"key":127,"pitch":"G9","start_s":0.333333333,"end_s":0.333333333,"level":127,"part":3}
]
`
	if diff := cmp.Diff(want, out.String()); diff != "" {
		t.Error(diff)
	}
	out.Reset()
	if err := WriteEvents(&out, JSON, awkwardVoices, slices.Values([]event.Event{})); err != nil ||
		out.String() != "[]\n" {
		t.Errorf("no events give %q, %v", out.String(), err)
	}
}

// fewHoles is a roll by hand: a control port, a chain, a slot of two causes.
func fewHoles() []*roll.Roll {
	in := &instrument.Instrument{
		Bar: instrument.Bar{Ports: []instrument.Port{
			{AcrossMM: 11.641, Role: instrument.Sustain},
			{AcrossMM: 20.10833333, Role: instrument.Note, Key: 21},
			{AcrossMM: 25, Role: instrument.ThemeBass},
		}},
		Die:   instrument.Die{DiameterMM: 1.7272},
		Chain: instrument.Chain{SlotSpacingMM: 1},
	}
	voices := []string{"low", "x,y"}
	return []*roll.Roll{{Name: "left", Voices: voices, Instrument: in, Slots: []roll.Slot{
		{LeadMM: -0.00004, TrailMM: 1.72716, FirstMM: 0.8636, LastMM: 0.8636, Punches: 1, Causes: roll.Causes{First: roll.Cause{Voice: 1, Note: 1}}},
		{Port: 1, LeadMM: -7.00005, TrailMM: -3.27285, FirstMM: -6.13645, LastMM: -4.13645, Punches: 3, Causes: roll.Causes{First: roll.Cause{Voice: 0, Note: 7}}},
		{Port: 1, LeadMM: 0.00005, TrailMM: 1.72725, FirstMM: 0.86365, LastMM: 0.86365, Punches: 1, Causes: roll.Causes{
			First: roll.Cause{Voice: 0, Note: 8}, More: []roll.Cause{{Voice: 1, Note: 9}}}},
		{Port: 2, LeadMM: 12345.67895, TrailMM: 12350, FirstMM: 12346.6, LastMM: 12346.6, Punches: 1, Causes: roll.Causes{First: roll.Cause{Voice: 0}}},
	}}}
}

func TestWriteHoles(t *testing.T) {
	rolls := fewHoles()
	var out bytes.Buffer
	if err := WriteHoles(&out, CSV, rolls); err != nil {
		t.Fatal(err)
	}
	// -0.00004 is 0.0000 without a sign. Halves go up: -7.00005, whose float64
	// lies a hair below, becomes -7.0001 or -7.0000; see roll.Printed.
	want := fmt.Sprintf(`piano,port,role,key,across_mm,lead_mm,trail_mm,punches,voice,note
left,1,sustain,,11.6410,0.0000,1.7272,1,,
left,2,note,21,20.1083,%s,-3.2728,3,low,7
left,2,note,21,20.1083,0.0001,1.7273,1,"low+x,y",8+9
left,3,theme_bass,,25.0000,12345.6790,12350.0000,1,,
`, roll.AppendMM(nil, -7.00005))
	if diff := cmp.Diff(want, out.String()); diff != "" {
		t.Error(diff)
	}
	out.Reset()
	if err := WriteHoles(&out, JSON, rolls); err != nil {
		t.Fatal(err)
	}
	for i, line := range []string{
		`{"piano":"left","port":1,"role":"sustain","key":null,"across_mm":11.6410,"lead_mm":0.0000,"trail_mm":1.7272,"punches":1,"voice":null,"note":null},`,
		``,
		`{"piano":"left","port":2,"role":"note","key":21,"across_mm":20.1083,"lead_mm":0.0001,"trail_mm":1.7273,"punches":1,"voice":"low+x,y","note":"8+9"},`,
	} {
		if got := strings.Split(out.String(), "\n")[i+1]; line != "" && got != line {
			t.Errorf("row %d is\n%s, want\n%s", i+1, got, line)
		}
	}
}

func TestWritePunches(t *testing.T) {
	rolls := fewHoles()
	rolls[0].Slots = rolls[0].Slots[1:2]
	var out bytes.Buffer
	if err := WritePunches(&out, CSV, rolls); err != nil {
		t.Fatal(err)
	}
	// Two millimetres between the outer centres, in steps of 1 mm.
	want := `piano,port,across_mm,along_mm
left,2,20.1083,-6.1364
left,2,20.1083,-5.1364
left,2,20.1083,-4.1364
`
	if diff := cmp.Diff(want, out.String()); diff != "" {
		t.Error(diff)
	}
}

// Every time prints as strconv prints it, but for halves, which strconv rounds
// to even.
func TestSecondsAgreeWithStrconv(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		sec := rapid.Float64Range(0, 1e6).Draw(t, "sec")
		want := strconv.FormatFloat(sec, 'f', 9, 64)
		r := newRows(io.Discard, CSV, "x")
		r.line = r.line[:0]
		r.seconds(sec)
		got, _ := strconv.ParseFloat(string(r.line), 64)
		if string(r.line) != want && math.Abs(got-sec) > 0.5e-9+sec*0x1p-51 {
			t.Fatalf("%v prints as %s, want %s", sec, r.line, want)
		}
	})
	for sec, want := range map[float64]string{
		0.0009765625: "0.000976563", // 2^-10: a half exactly, and up
		0.9999999999: "1.000000000",
		-1e-10:       "0.000000000",
		-1.25:        "-1.250000000",
	} {
		r := newRows(io.Discard, CSV, "x")
		r.line = r.line[:0]
		if r.seconds(sec); string(r.line) != want {
			t.Errorf("%v prints as %s, want %s", sec, r.line, want)
		}
	}
}

// The standard library's readers of both formats find the cells as they were,
// whatever the names, and the same cells in both.
func TestBothFormatsReadTheSame(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		voices := []string{rapid.String().Draw(t, "name")}
		events := []event.Event{{Note: rapid.Int32Min(1).Draw(t, "note"), Part: 1, Key: 60, Level: 80,
			StartSec: rapid.Float64Range(0, 1e5).Draw(t, "start"), EndSec: 1e5}}
		var asCSV, asJSON bytes.Buffer
		if err := errors.Join(WriteEvents(&asCSV, CSV, voices, slices.Values(events)),
			WriteEvents(&asJSON, JSON, voices, slices.Values(events))); err != nil {
			t.Fatal(err)
		}
		records, err := csv.NewReader(&asCSV).ReadAll()
		if err != nil {
			t.Fatal(err)
		}
		d := json.NewDecoder(&asJSON)
		d.UseNumber()
		var objects []map[string]any
		if err := d.Decode(&objects); err != nil {
			t.Fatal(err)
		}
		for i, name := range records[0] {
			// encoding/csv turns CR LF within quotes into LF.
			want := strings.ReplaceAll(fmt.Sprint(objects[0][name]), "\r\n", "\n")
			if got := cell.Read(records[1][i]); got != want {
				t.Fatalf("%s is %q in CSV and %q in JSON", name, got, want)
			}
		}
	})
}

type full struct{ err error }

func (f full) Write([]byte) (int, error) { return 0, f.err }

func TestWritersFail(t *testing.T) {
	failed := errors.New("the disk is full")
	pulled := 0
	endless := func(yield func(event.Event) bool) {
		for yield(fewEvents[0]) {
			pulled++
		}
	}
	if err := WriteEvents(full{failed}, CSV, awkwardVoices, endless); !errors.Is(err, failed) {
		t.Errorf("WriteEvents: %v", err)
	}
	if pulled > 10_000 {
		t.Errorf("%d events were taken after the disk was full", pulled)
	}
	rolls := fewHoles()
	if err := WriteHoles(full{failed}, CSV, rolls); !errors.Is(err, failed) {
		t.Errorf("WriteHoles: %v", err)
	}
	if err := WritePunches(full{failed}, JSON, rolls); !errors.Is(err, failed) {
		t.Errorf("WritePunches: %v", err)
	}
}

// many yields n events.
func many(n int) iter.Seq[event.Event] {
	return func(yield func(event.Event) bool) {
		for i := range n {
			at := float64(i) / 997
			if !yield(event.Event{Note: int32(i + 1), Part: 1, Key: int16(21 + i%88), Level: 80, StartSec: at,
				EndSec: at + 0.1}) {
				return
			}
		}
	}
}

func BenchmarkEvents5M(b *testing.B) {
	for _, f := range []Format{CSV, JSON} {
		b.Run([]string{"csv", "json"}[f], func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if err := WriteEvents(io.Discard, f, awkwardVoices, many(5_000_000)); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

func BenchmarkHoles1M(b *testing.B) {
	rolls := fewHoles()
	slots := make([]roll.Slot, 1_000_000)
	for i := range slots {
		slots[i] = rolls[0].Slots[1]
		slots[i].LeadMM, slots[i].TrailMM = float64(i), float64(i)+20.5
	}
	rolls[0].Slots = slots
	for b.Loop() {
		if err := WriteHoles(io.Discard, CSV, rolls); err != nil {
			b.Fatal(err)
		}
	}
}
