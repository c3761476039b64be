package calibrate

import (
	"bytes"
	"math"
	"strings"
	"testing"

	"rollwright/paper/instrument"
	"rollwright/text/source"
)

// TestTemplate: what is handed out to fill in reads as nothing read, and names
// every mark.
func TestTemplate(t *testing.T) {
	for _, l := range instrument.List() {
		in := load(t, l.Name)
		if in.Transport.Crank {
			continue // has no test roll
		}
		test, err := NewTest(in, Options{})
		if err != nil {
			t.Fatal(err)
		}
		var b bytes.Buffer
		if err := WriteReadings(&b, test, l.Name); err != nil {
			t.Fatal(err)
		}
		r := read(t, b.String())
		if len(r.list) != 0 || r.Instrument != l.Name || r.Slots != [3]int{} || r.Two != 0 {
			t.Errorf("%s: %+v", l.Name, r)
		}
		if n := strings.Count(b.String(), "mark \""); n != len(test.MarkMM) {
			t.Errorf("%s: %d marks of %d", l.Name, n, len(test.MarkMM))
		}
		if _, err := Calibrate(load(t, l.Name), r); err == nil || !strings.Contains(err.Error(), "do not tell anything") {
			t.Errorf("%v", err)
		}
	}
}

func TestMessages(t *testing.T) {
	for _, tt := range []struct{ text, want string }{
		{"lever = 80\n", "the readings do not name the instrument"},
		{"instrument = \"88-note\"\nmark \"far\" { heard = \"1\" }\n", "this mark does not say which"},
		{"instrument = \"88-note\"\nmark \"1 m\" { heard = \"1 x\" }\n", `"x" is no time`},
		{"instrument = \"88-note\"\nmark \"1 m\" { herd = \"1\" }\n", "did you mean heard?"},
		{"instrument = \"88-note\"\nslots { bass = 11 }\n", "there is no number 11"},
		{"instrument = \"88-note\"\nturn \"3\" { around = \"wide\" }\n", "a length is wanted here"},
	} {
		_, err := Read(&source.File{Name: "test.readings", Text: []byte(tt.text)})
		if err == nil || !strings.Contains(err.Error(), tt.want) {
			t.Errorf("%q: %v, want %q", tt.text, err, tt.want)
		}
	}
	r := read(t, "instrument = \"88-note\"\nmark \"0 m\" { heard = \"0 1:02.5 -\" }\nmark \"1 m\" { heard = \"24 - 30\" }\n")
	if len(r.list) != 4 || r.list[1].value != 62.5 || r.list[3].run != 2 || r.runs != 3 {
		t.Errorf("%+v", r.list)
	}
}

// However many readings have a decimal comma, that is one thing to mend, with
// the places of all.
func TestCommas(t *testing.T) {
	text := "instrument = \"88-note\"\nlever = \"84,5\"\nmark \"0 mm\" {\n  heard = \"0 0,1\"\n  turns = \"2,5\"\n  around = \"133,4 mm\"\n}\nmark \"1000,5 mm\" {\n  heard = \"24\"\n}\nturn \"41\" { around = \"150,2 mm\" }\n"
	_, err := Read(&source.File{Name: "x.readings", Text: []byte(text)})
	want := "x.readings:2:9: decimals are written with a point: 84.5\n    lever = \"84,5\"\n            ^^^^^^\n  commas stand also in lines 4, 5, 6, 8, 11"
	if err == nil || err.Error() != want {
		t.Errorf("%v, want\n%s", err, want)
	}
	text = "instrument = \"88-note\"\n" + strings.Repeat("mark \"1 m\" { heard = \"24,6 1:04,2\" }\n", 13)
	_, err = Read(&source.File{Name: "x.readings", Text: []byte(text)})
	if err == nil || strings.Count(err.Error(), "\n") != 3 || !strings.Contains(err.Error(), "point: 24.6 1:04.2\n") ||
		!strings.HasSuffix(err.Error(), "lines 3, 4, 5, 6, 7, 8, 9, 10 and 4 more") {
		t.Errorf("%v", err)
	}
}

// FuzzRead: whatever is read is an error, or readings that Calibrate takes or
// refuses without failing, with finite numbers.
func FuzzRead(f *testing.F) {
	f.Add([]byte("instrument = \"88-note\"\nmark \"0 m\" { heard = \"0\" }\nmark \"1 m\" { heard = \"24\" }\nmark \"2 m\" { heard = \"48\" }\n"))
	f.Add([]byte("instrument = \"88-note\"\nturn \"0\" { around = \"5 in\" }\nturn \"41\" { around = \"6 in\" }\n"))
	in, err := instrument.Load("88-note-spool", "")
	if err != nil {
		f.Fatal(err)
	}
	f.Fuzz(func(t *testing.T, text []byte) {
		r, err := Read(&source.File{Name: "fuzz.readings", Text: text})
		if err != nil {
			return
		}
		result, err := Calibrate(in, r)
		if err != nil {
			return
		}
		for _, v := range []float64{result.Fit.Speed.Value, result.Fit.Radius.Value, result.Fit.Thickness.Value,
			result.Fit.Speed.Half} {
			if math.IsNaN(v) || math.IsInf(v, 0) {
				t.Errorf("%+v", result.Fit)
			}
		}
	})
}
