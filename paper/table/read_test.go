package table

import (
	"bytes"
	"encoding/csv"
	"errors"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"rollwright/music/event"
	"rollwright/paper/instrument"
	"rollwright/paper/roll"
	"rollwright/text/source"
)

func text(s string) *source.File { return &source.File{Name: "t.csv", Text: []byte(s)} }

func TestKindOf(t *testing.T) {
	for head, want := range map[string]Kind{
		"voice,note,key,pitch,start_s,end_s,level,part\n": Events,
		"key,start_s,end_s":           Events,
		"\ufeffend_s,key,start_s\r\n": Events,
		`"key","start_s","end_s"`:     Events,
		"piano,port,role,key,across_mm,lead_mm,trail_mm,punches,voice,note\n": Holes,
		"key,lead_mm,trail_mm":                      Holes,
		"Trail_mm, Lead_mm ,Port\n":                 Holes,
		"key,start_s,end_s,port,lead_mm,trail_mm\n": Holes,
		"": Neither, "port,key,planned_s,heard_s": Neither, "key;start_s;end_s": Neither, "title = \"x\"": Neither,
		"kind,port,key,lead_mm,trail_mm,found_lead_mm,found_trail_mm,voice,note\n": Neither,
	} {
		got, err := KindOf(text(head))
		if got != want || (err != nil) != (want == Neither) {
			t.Errorf("%q is %v, %v; want %v", head, got, err, want)
		}
	}
}

func TestReadEvents(t *testing.T) {
	got, err := ReadEvents(text("\ufeffend_s,start_s,part,level,key,note,extra,voice\r\n" +
		"0.375,0,1,80,36,1,x,\"lo\"\"w\"\"\"\r\n" +
		"\r\n" +
		"1e-1,-0.25,,,60.0,,,\r\n" +
		",,,,,,,\r\n" +
		"0.5,0.5,3,127,127,12,,'=high\r\n"))
	if err != nil {
		t.Fatal(err)
	}
	want := &Notes{Voices: []string{`lo"w"`, "=high"}, Events: []event.Event{
		{Voice: 0, Note: 1, Part: 1, Key: 36, Level: 80, EndSec: 0.375},
		{Voice: Unlabelled, Part: 1, Key: 60, Level: 80, StartSec: -0.25, EndSec: 0.1},
		{Voice: 1, Note: 12, Part: 3, Key: 127, Level: 127, StartSec: 0.5, EndSec: 0.5, Single: true},
	}}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
}

func TestErrorsOfTables(t *testing.T) {
	in := builtin(t, "88-note")
	const head = "port,key,lead_mm,trail_mm,voice,note\n"
	for _, tt := range []struct{ name, text, want string }{
		{"nothing", "", "t.csv: the table is empty\n  its first row holds the names of its columns"},
		{"two bytes a letter", "k\x00e\x00y\x00", "t.csv: this is no table in text\n  save it as CSV in UTF-8, with commas"},
		{"semicolons", "key;start_s;end_s\n", `t.csv:1:1: the columns are not separated by commas
    key;start_s;end_s
    ^
  save the table as CSV with commas between the cells and points in the numbers`},
		{"a column is missing", "key,start,end_s\n", `t.csv:1:1: there is no column start_s
    key,start,end_s
    ^
  is "start" meant to be start_s?
  a table of notes has at least key, start_s and end_s; see what events prints`},
		{"twice", "key,start_s,end_s,key\n", `t.csv:1:19: the column "key" stands here a second time
    key,start_s,end_s,key
                      ^^^
  leave one of the two out`},
		{"several at once", "key,start_s,end_s\n60,é,1\n128,0,\n60,1,0.5\n", `t.csv:2:4: start_s cannot be "é"
    60,é,1
       ^
  write a number such as 1.25
t.csv:3:1: key 128 is out of range
    128,0,
    ^^^
  it runs from 0 to 127
t.csv:3:7: end_s is empty
    128,0,
          ^
  every row needs one`},
		{"backwards", "key,start_s,end_s\n60,1,0.5\n", `t.csv:2:6: the note ends before it starts
    60,1,0.5
         ^^^
  it starts at 1 s`},
		{"a comma in a number", "key,start_s,end_s\n60,\"0,5\",1\n", `t.csv:2:4: start_s cannot be "0,5"
    60,"0,5",1
       ^^^
  write the number with a point: 1.5`},
		{"endless", "key,start_s,end_s\n60,0,1e7\n", `t.csv:2:6: end_s 1e7 is out of range
    60,0,1e7
         ^^^
  it runs from -1000000 to 1000000`},
		{"cells", "key,start_s,end_s\n60,1\n", `t.csv:2:1: this row has not 3 cells, as the first one has
    60,1
    ^
  write a comma for an empty cell, and quotes around a name that has a comma in it`},
		{"quotes", "key,start_s,end_s,voice\n60,1,2,a \"b\"\n", `t.csv:2:1: a quotation mark stands in the middle of a cell
    60,1,2,a "b"
    ^
  put the whole name in quotes and write this one twice: "the ""low"" one"`},
		{"open quotes", "key,start_s,end_s,voice\n60,1,2,\"b\n61,1,2,c\n", `t.csv:2:1: a quotation mark does not close the cell that one opens
    60,1,2,"b
    ^
  write a quotation mark within a name twice: "the ""low"" one"`},
		{"another letter code", "key,start_s,end_s,voice\n60,1,2,\xfcber\n", "t.csv:2:8: voice is not in UTF-8\n    60,1,2,\ufffdber\n           ^^^^\n  save the table as CSV in UTF-8"},
		{"no such port", head + "98,,0,1,,\n", `t.csv:2:1: port 98 is out of range
    98,,0,1,,
    ^^
  it runs from 1 to 92`},
		{"another instrument", head + "54,74,0,1,,\n", `t.csv:2:4: port 54 of 88-note is C5, not key 74
    54,74,0,1,,
       ^^
  this table was made for another instrument: say which`},
		{"no length", head + "54,72,3,3.0,,\n", `t.csv:2:9: the slot ends before it begins
    54,72,3,3.0,,
            ^^^
  trail_mm lies beyond lead_mm: 3`},
		{"on top of each other", head + "54,72,10,20,,\n55,73,0,9,,\n54,72,5,11,,\n", `t.csv:2:1: on port 54 this slot begins before the one of line 4 ends
    54,72,10,20,,
    ^
  that one ends at 11.0000 mm, this one begins at 10.0000 mm; leave one out or make one of both`},
		{"notes", head + "54,72,0,9,a+b,1+x\n", `t.csv:2:15: note cannot be "1+x"
    54,72,0,9,a+b,1+x
                  ^^^
  write whole numbers joined by +`},
		{"voices and notes", head + "54,72,0,9,a+b,1+2+3\n", `t.csv:2:11: "a+b" does not name 3 voices
    54,72,0,9,a+b,1+2+3
              ^
  write as many voices as notes, both joined by +`},
	} {
		t.Run(tt.name, func(t *testing.T) {
			var err error
			if strings.HasPrefix(tt.text, head) {
				_, err = ReadHoles(text(tt.text), in)
			} else {
				_, err = ReadEvents(text(tt.text))
			}
			if err == nil {
				t.Fatal("no error")
			}
			if diff := cmp.Diff(tt.want, err.Error()); diff != "" {
				t.Error(diff)
			}
		})
	}
}

func TestManyErrorsStop(t *testing.T) {
	_, err := ReadEvents(text("key,start_s,end_s\n" + strings.Repeat("x,0,1\n", 1000)))
	var all source.Errors
	if !errors.As(err, &all) || len(all) != maxErrors {
		t.Errorf("%d complaints, want %d", len(all), maxErrors)
	}
}

// The first row of a table that is about holes but lacks one of its columns.
func TestKindOfSaysWhatIsMissing(t *testing.T) {
	_, err := KindOf(text("port,lead_mm,trail_m\n1,2,3\n"))
	want := `t.csv:1:1: there is no column trail_mm
    port,lead_mm,trail_m
    ^
  is "trail_m" meant to be trail_mm?
  a table of notes has the columns key, start_s and end_s; a table of holes port, lead_mm and
  trail_mm; their names stand in the first row, separated by commas`
	if err == nil || err.Error() != want {
		t.Errorf("%v", err)
	}
}

// The reference tables, which somebody else has reckoned, read to rolls that
// list the same edges, punches and causes; and what is listed reads back to
// itself, byte for byte.
func TestHolesReadBack(t *testing.T) {
	files, err := filepath.Glob("../lay/testdata/cases/*.88-*.csv")
	if err != nil || len(files) < 9 {
		t.Fatal("the tables are not where they were: ", err)
	}
	for _, name := range files {
		in := builtin(t, strings.Split(filepath.Base(name), ".")[1])
		want, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		first := relisted(t, &source.File{Name: name, Text: want}, in)
		if diff := cmp.Diff(columns(t, want), columns(t, first)); diff != "" {
			t.Errorf("%s: %s", name, diff)
		}
		if again := relisted(t, &source.File{Name: name, Text: first}, in); !bytes.Equal(first, again) {
			t.Errorf("%s: %s", name, cmp.Diff(string(first), string(again)))
		}
	}
}

// relisted is the table of the rolls that a table reads to.
func relisted(t *testing.T, f *source.File, in *instrument.Instrument) []byte {
	t.Helper()
	rolls, err := ReadHoles(f, in)
	if err != nil {
		t.Fatal(err)
	}
	var out bytes.Buffer
	if err := WriteHoles(&out, CSV, rolls); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

// columns are those that the reference tables have.
func columns(t *testing.T, table []byte) []string {
	t.Helper()
	records, err := csv.NewReader(bytes.NewReader(table)).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var out []string
	for _, row := range records {
		line := ""
		for _, name := range []string{"key", "lead_mm", "trail_mm", "punches", "voice", "note"} {
			line += row[slices.Index(records[0], name)] + " "
		}
		out = append(out, line)
	}
	return out
}

func TestReadHoles(t *testing.T) {
	in := builtin(t, "88-note")
	// The names a+b and c stand alone, so "a+b+c" with two notes is those two.
	rolls, err := ReadHoles(text("trail_mm,port,lead_mm,piano,voice,note\n"+
		"30,54,10,right,a+b,7\n9,54,5.00004,left,c,1\n4,56,2,left,a+b+c,2+3\n1.5,1,-0.5,left,x,\n"), in)
	if err != nil {
		t.Fatal(err)
	}
	if len(rolls) != 2 || rolls[0].Name != "right" || rolls[1].Name != "left" || rolls[1].Piano != 1 {
		t.Fatalf("rolls %v", rolls)
	}
	if want := []string{"a+b", "c"}; !slices.Equal(rolls[1].Voices, want) {
		t.Errorf("voices %q, want %q", rolls[1].Voices, want)
	}
	s := rolls[1].Slots
	// A slot that is two millimetres long, then the one that a hole alone makes.
	if len(s) != 3 || s[0].Port != 0 || s[0].Causes.First.Note != 0 || s[1].Port != 55 || s[2].LeadMM != 5.00004 {
		t.Errorf("slots %+v", s)
	}
	level := int16(in.Levels.PlainLevel)
	want := roll.Causes{First: roll.Cause{Voice: 0, Note: 2, Level: level},
		More: []roll.Cause{{Voice: 1, Note: 3, Level: level}}}
	if diff := cmp.Diff(want, s[1].Causes); diff != "" {
		t.Error(diff)
	}
	// The longer roll's port shuts at 30 mm - 1.143 mm * (0.5 - 0.5), at 40.64 mm/s: 0.7382 s.
	if end := rolls[0].EndSec; end < 0.73818 || end > 0.73820 {
		t.Errorf("the roll ends at %v s", end)
	}
}

// TestEdgesStand: a tired roll has narrower holes, off the rows; its edges stay,
// and the die is set to the nearest rows. By hand: rows of 25.4/45 mm; the first
// centre 10.8 is nearest to row 19 (10.7244).
func TestEdgesStand(t *testing.T) {
	rolls, err := ReadHoles(text("port,lead_mm,trail_mm\n5,9.9364,11.5\n"), builtin(t, "88-note-45"))
	if err != nil {
		t.Fatal(err)
	}
	s := rolls[0].Slots[0]
	if s.LeadMM != 9.9364 || s.TrailMM != 11.5 || s.Punches != 1 || roll.Printed(s.FirstMM) != 107244 {
		t.Errorf("%+v", s)
	}
}

// TestEventsReadBack: whatever the events, a table of them reads back to the
// same table.
func TestEventsReadBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		voices := rapid.SliceOfNDistinct(rapid.StringMatching(`[a-z ,"'=+é-]*[a-z]`), 1, 4, rapid.ID[string]).Draw(t,
			"voices")
		for i := range voices {
			voices[i] = "v" + voices[i]
		}
		events := rapid.SliceOf(rapid.Custom(func(t *rapid.T) event.Event {
			start := rapid.Float64Range(-100, 1e5).Draw(t, "start")
			return event.Event{
				Voice: int32(rapid.IntRange(0, len(voices)-1).Draw(t, "voice")), Note: rapid.Int32Range(1, 1e6).Draw(t, "note"),
				Part: 1,
				Key:  int16(rapid.IntRange(0, 127).Draw(t, "key")), Level: int16(rapid.IntRange(1, 127).Draw(t, "level")),
				StartSec: start, EndSec: start + rapid.Float64Range(0, 10).Draw(t, "length"),
			}
		})).Draw(t, "events")
		first, second := rewritten(t, voices, events)
		if first != second {
			t.Fatalf("%s\nbecomes\n%s", first, second)
		}
	})
}

type failer interface {
	Fatal(...any)
}

// rewritten is the table of the events, and the table of what that one reads to.
func rewritten(t failer, voices []string, events []event.Event) (first, second string) {
	var a, b bytes.Buffer
	if err := WriteEvents(&a, CSV, voices, slices.Values(events)); err != nil {
		t.Fatal(err)
	}
	notes, err := ReadEvents(text(a.String()))
	if err != nil {
		t.Fatal(err)
	}
	if err := WriteEvents(&b, CSV, notes.Voices, slices.Values(notes.Events)); err != nil {
		t.Fatal(err)
	}
	return a.String(), b.String()
}

// FuzzReadEvents: what is read lies within the bounds, and is written and read
// again as the same table.
func FuzzReadEvents(f *testing.F) {
	f.Add("voice,note,key,pitch,start_s,end_s,level,part\nlow,1,36,C2,0.000000000,0.375000000,80,1\n")
	f.Add("\ufeffend_s,key,start_s,voice\r\n1,60,0,\"a,\"\"b\"\"\"\r\n")
	f.Add("key,start_s,end_s\n60,1e308,NaN\n")
	f.Fuzz(func(t *testing.T, table string) {
		notes, err := ReadEvents(text(table))
		if err != nil {
			var all source.Errors
			if !errors.As(err, &all) {
				t.Fatalf("not a complaint about the text: %v", err)
			}
			return
		}
		for i, e := range notes.Events {
			if e.Voice < Unlabelled || int(e.Voice) >= len(notes.Voices) || e.Key < 0 || e.Key > 127 || e.EndSec < e.StartSec {
				t.Fatalf("event %d is %+v", i, e)
			}
			if e.Voice == Unlabelled || e.Note == 0 || strings.ContainsRune(notes.Voices[e.Voice], '\r') {
				return // nothing that the writer is asked to list
			}
		}
		if slices.ContainsFunc(notes.Voices, func(v string) bool { return strings.TrimSpace(v) == "" }) {
			return // written as they stand
		}
		if first, second := rewritten(t, notes.Voices, notes.Events); first != second {
			t.Fatalf("%s\nbecomes\n%s", first, second)
		}
	})
}

// FuzzReadHoles: what is read has its slots in order and apart, and is written
// and read again as the same table.
func FuzzReadHoles(f *testing.F) {
	in := builtin(f, "88-note-45")
	f.Add("piano,port,role,key,across_mm,lead_mm,trail_mm,punches,voice,note\n,54,note,72,1,0.0000,21.7352,8,a+b,1+2\n")
	f.Add("port,lead_mm,trail_mm\n5,-3,2e7\n5,-9,-4\n")
	f.Fuzz(func(t *testing.T, table string) {
		rolls, err := ReadHoles(text(table), in)
		if err != nil {
			return
		}
		for _, r := range rolls {
			last := map[int32]int64{}
			for i := range r.Slots {
				s := &r.Slots[i]
				if s.Punches < 1 || s.TrailMM <= s.LeadMM || i > 0 && roll.CompareSlots(&r.Slots[i-1], s) > 0 {
					t.Fatalf("slot %d is %+v", i, s)
				}
				if before, ok := last[s.Port]; ok && before > roll.Printed(s.LeadMM) {
					t.Fatalf("slot %d overlaps", i)
				}
				last[s.Port] = roll.Printed(s.TrailMM)
			}
		}
		var a, b bytes.Buffer
		if err := WriteHoles(&a, CSV, rolls); err != nil {
			t.Fatal(err)
		}
		again, err := ReadHoles(text(a.String()), in)
		if err != nil {
			return // a slot that only rounds to some length, or names that a writer would have guarded
		}
		if err := WriteHoles(&b, CSV, again); err != nil {
			t.Fatal(err)
		}
		if len(rolls) == len(again) && a.String() != b.String() && !strings.ContainsAny(table, "+'\r") {
			t.Fatalf("%s\nbecomes\n%s", a.String(), b.String())
		}
	})
}

func builtin(t testing.TB, name string) *instrument.Instrument {
	t.Helper()
	in, err := instrument.Load(name, "")
	if err != nil {
		t.Fatal(err)
	}
	return in
}

func BenchmarkReadEvents1M(b *testing.B) {
	var out bytes.Buffer
	if err := WriteEvents(&out, CSV, awkwardVoices, many(1_000_000)); err != nil {
		b.Fatal(err)
	}
	f := &source.File{Name: "t.csv", Text: out.Bytes()}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := ReadEvents(f); err != nil {
			b.Fatal(err)
		}
	}
}
