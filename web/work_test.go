package web

import (
	"context"
	"math"
	"net/http"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"unicode/utf16"

	"pgregory.net/rapid"

	"rollwright/examples"
	"rollwright/music/piece"
	"rollwright/music/plan"
	"rollwright/text/source"
	"rollwright/workshop"
)

// TestWork works out a piece by hand. Unit 1/16 at 120 quarter notes a minute is
// 125 ms; talea 3 2 (1) 2 is 8 units, 1 s, with 3 notes; color of 2, so
// complete after 2 taleae, 6 notes, 2 s. Paper at roll tempo 80: 40.64 mm/s.
func TestWork(t *testing.T) {
	b := serve(t, nil)
	u := b.work("a.piece", small)
	if !u.OK || u.Title != "Small" || u.DurationSec != 2 || len(u.Voices) != 1 || len(u.Pianos) != 1 {
		t.Fatalf("got %+v", u.head)
	}
	v := u.Voices[0]
	if v.Name != "low" || v.Line != 3 || v.Notes != 6 || *v.SecPerUnit != 0.125 || v.Unit != "1/16" || v.Units != 16 ||
		v.Items != (stretch{0, 8}) {
		t.Errorf("the voice is %+v", v)
	}
	if *v.Complete != (complete{Notes: 6, Colores: 3, Taleae: 2}) || v.Colores != 3 || v.Taleae != 2 {
		t.Errorf("its cycles are %v, %d colores, %d taleae", *v.Complete, v.Colores, v.Taleae)
	}
	if !slices.Equal(v.Color, []string{"C2", "G2"}) || !slices.Equal(v.Talea, []string{"3", "2", "(1)", "2"}) {
		t.Errorf("its cycles are %v %v", v.Color, v.Talea)
	}
	if got := small[v.From:v.To]; !strings.HasPrefix(got, `voice "low" {`) || !strings.HasSuffix(got, "}") {
		t.Errorf("its block is %q", got)
	}
	if f := v.Fields["talea"]; f.Text != `"3 2 (1) 2"` || f.Show != "3 2 (1) 2" || small[f.From:f.To] != f.Text ||
		f.Line != 4 {
		t.Errorf("its talea is %+v", f)
	}
	for name, want := range handWorked(t) { // C2 is key 36, as C4 is 60; level 80 is mf
		if got := u.numbers[name]; !slices.Equal(got, want) {
			t.Errorf("%s is %v, want %v", name, got, want)
		}
	}
	p := u.Pianos[0]
	if p.Transport != (transport{false, 40.64, 0, 0, 0}) || p.Die != 1.7272 || p.Slots != (stretch{0, 6}) ||
		p.Hammers != "metal" {
		t.Errorf("the piano is %+v", p)
	}
	// The leading edge of the third note, 0.75 s: 0.75 * 40.64 = 30.48 mm.
	if lead, first := u.numbers["slot_lead"][2], u.numbers["slot_first"][2]; math.Abs(lead-30.48) > 1e-9 ||
		math.Abs(first-lead-1.7272/2) > 1e-9 {
		t.Errorf("the third slot begins at %v, its first centre is %v", lead, first)
	}
	port := p.Ports[int(u.numbers["slot_port"][2])]
	if port.Pitch != "C2" || port.Key != 36 || port.Role != "note" {
		t.Errorf("its port is %v", port)
	}
	if again := b.work("a.piece", small); again.ID != u.ID {
		t.Error("the same text has another id")
	}
	if other := b.work("a.piece", small+"\n"); other.ID == u.ID {
		t.Error("another text has the same id")
	}
}

// TestWorkOfExamples holds what the page gets against what the command writes,
// for all examples.
func TestWorkOfExamples(t *testing.T) {
	b := serve(t, nil)
	for _, e := range examples.List() {
		text := string(must(examples.Source(e.Name)))
		u := b.work(e.Name+".piece", text)
		if !u.OK {
			t.Errorf("%s: %v", e.Name, u.Errors)
			continue
		}
		job := must(workshop.New(context.Background(), &source.File{Name: e.Name, Text: []byte(text)}, "."))
		rolls := must(job.Rolls())
		i := 0
		for _, r := range rolls {
			for n := range r.Slots {
				s := &r.Slots[n]
				for name, want := range map[string]float64{"lead": s.LeadMM, "trail": s.TrailMM, "first": s.FirstMM,
					"last": s.LastMM,
					"port": float64(s.Port), "punches": float64(s.Punches), "voice": float64(s.Causes.First.Voice),
					"note": float64(s.Causes.First.Note)} {
					if got := u.numbers["slot_"+name][i]; got != want {
						t.Fatalf("%s: slot %d has %s %v, want %v", e.Name, i, name, got, want)
					}
				}
				i++
			}
		}
		if i != len(u.numbers["slot_lead"]) || len(u.numbers["ev_start"]) != job.Performance.Count {
			t.Errorf("%s: %d slots and %d events, want %d and %d", e.Name, len(u.numbers["slot_lead"]),
				len(u.numbers["ev_start"]), i, job.Performance.Count)
		}
		if !slices.IsSorted(u.numbers["re_start"]) || !slices.IsSorted(u.numbers["ev_start"]) {
			t.Errorf("%s: events are not in order", e.Name)
		}
		for i, v := range u.Voices {
			if v.Name != job.Piece.Voices[i].Name || len(v.Path) == 0 || v.To <= v.From {
				t.Errorf("%s: voice %d is %+v", e.Name, i, v)
			}
		}
		count := 0
		for _, f := range u.Findings {
			count += f.Count
			if len(f.Places) == 0 || f.Message == "" || f.Title == "" {
				t.Errorf("%s: finding %+v", e.Name, f)
			}
			for _, p := range f.Places {
				if p.From < 0 || p.To < p.From || p.To > len(text) {
					t.Errorf("%s: the place of %s in the text is %d to %d", e.Name, f.Title, p.From, p.To)
				}
			}
		}
		report := must(job.Findings())
		if want := report.Counts[0] + report.Counts[1] + report.Counts[2]; count != want || u.Summary != report.Summary() {
			t.Errorf("%s: %d findings, want %d", e.Name, count, want)
		}
	}
}

// TestPlan asks for the pairs of a canon at 3 : 5 : 7 : 9: a note of the first
// two falls together every 3*0.26 = 0.78 s of the grid, and at the meeting
// point, note 64, all do.
func TestPlan(t *testing.T) {
	b := serve(t, nil)
	u := b.work("a.piece", string(must(examples.Source("four-looms"))))
	p := ask[plans](b, "/api/plan", m{"id": u.ID})
	if len(p.Pairs) != 6 || len(p.Canons) != 1 || len(p.Tempo) != 4 || len(p.Density.Counts) == 0 {
		t.Fatalf("the plan is %+v", p)
	}
	first := p.Pairs[0]
	if first.A != "I" || first.B != "II" || *first.Ratio != "5/3" || first.Commensurable != "yes" ||
		first.Count != len(first.Meets) {
		t.Errorf("the first pair is %+v", first)
	}
	for _, pair := range p.Pairs {
		if !slices.ContainsFunc(pair.Meets, func(m meeting) bool { return m.NoteA == 64 && m.NoteB == 64 }) {
			t.Errorf("%s and %s do not meet at note 64: %v", pair.A, pair.B, pair.Meets)
		}
	}
	if points := p.Tempo[0].Points; len(points) != 2 || points[1][0] != 78 || points[0][1] != points[1][1] {
		t.Errorf("the tempo of I is %v", points)
	}
	u = b.work("a.piece", string(must(examples.Source("two-sheds"))))
	p = ask[plans](b, "/api/plan", m{"id": u.ID})
	if points := p.Tempo[0].Points; len(points) != tempoPoints+1 || points[0][1] >= points[len(points)-1][1] {
		t.Errorf("a tempo that grows is drawn from %v to %v in %d points", points[0], points[len(points)-1], len(points))
	}
	if status, data := b.send("POST", "/api/plan", m{"id": "none"}); status != 404 {
		t.Errorf("the plan of nothing: %d %s", status, data)
	}
}

func TestWorkWithMistakes(t *testing.T) {
	b := serve(t, map[string]string{"bad.instrument": "die = 1\n"})
	text := "title = \"𝄞 ä\"\nvoice \"low\" {\n  talea = \"3 𝄞 2\"\n  color = \"H2\"\n}\n"
	u := b.work("a.piece", text)
	if u.OK || len(u.Errors) != 2 || len(u.Outline) != 1 || u.Outline[0].Name != "low" {
		t.Fatalf("got %+v", u.head)
	}
	units := utf16.Encode([]rune(text))
	for i, want := range []string{"𝄞", "H2"} {
		e := u.Errors[i]
		if got := string(utf16.Decode(units[e.From:e.To])); got != want || e.Line != 3+i {
			t.Errorf("mistake %d marks %q in line %d: %v", i, got, e.Line, e)
		}
	}
	u = b.work("a.piece", "instrument = \"bad.instrument\"\n"+small)
	if u.OK || len(u.Errors) == 0 || filepath.Base(u.Errors[0].File) != "bad.instrument" || u.Errors[0].From != 0 {
		t.Errorf("the mistake of an instrument is told as %+v", u.Errors)
	}
	u = b.work("", small)
	if !u.OK {
		t.Errorf("a text without a file: %v", u.Errors)
	}
	many := strings.Replace(small, "}", "  extent = \"1200000 notes\"\n}", 1)
	if u = b.work("a.piece", many); u.OK || !strings.Contains(u.Errors[0].Problem, "1200000 notes") {
		t.Errorf("a piece too large for the page: %v %v", u.OK, u.Errors)
	}
}

// TestInstrumentChanges: an instrument of the folder that changes makes another
// answer of the same text.
func TestInstrumentChanges(t *testing.T) {
	b := serve(t, map[string]string{"own.instrument": "like = \"88-note\"\n"})
	text := "instrument = \"own.instrument\"\n" + small
	before := b.work("a.piece", text)
	b.put("own.instrument", "like = \"88-note\"\ntransport {\n  roll_tempo = 100\n}\n")
	after := b.work("a.piece", text)
	if before.ID == after.ID || after.Pianos[0].RollTempo != 100 {
		t.Errorf("the roll tempo is %v, then %v", before.Pianos[0].RollTempo, after.Pianos[0].RollTempo)
	}
}

func TestPunches(t *testing.T) {
	b := serve(t, nil)
	text := string(must(examples.Source("two-sheds")))
	u := b.work("a.piece", text)
	job := must(workshop.New(context.Background(), &source.File{Name: "a.piece", Text: []byte(text)}, "."))
	rolls := must(job.Rolls())
	status, data := b.send("POST", "/api/punches", m{"id": u.ID, "piano": 1, "from": 400, "to": 800})
	if status != 200 {
		t.Fatalf("%d %s", status, data)
	}
	got := unpack(t, data)
	i := 0
	for n := range rolls[1].Slots {
		s := &rolls[1].Slots[n]
		if s.LeadMM < 400 || s.LeadMM >= 800 {
			continue
		}
		for at := range rolls[1].Punches(s) {
			if slot := len(rolls[0].Slots) + n; got.numbers["punch_slot"][i] != float64(slot) ||
				got.numbers["punch_at"][i] != at {
				t.Fatalf("punch %d is of slot %v at %v, want %d at %v", i, got.numbers["punch_slot"][i], got.numbers["punch_at"][i],
					slot, at)
			}
			i++
		}
	}
	if i == 0 || i != len(got.numbers["punch_at"]) {
		t.Errorf("%d punches, want %d", len(got.numbers["punch_at"]), i)
	}
	for _, body := range []m{{"id": "none", "piano": 0, "from": 0, "to": 1}, {"id": u.ID, "piano": 2, "from": 0, "to": 1},
		{"id": u.ID, "piano": -1, "from": 0, "to": 1}} {
		if status, data := b.send("POST", "/api/punches", body); status < 400 {
			t.Errorf("%v: %d %s", body, status, data)
		}
	}
}

// TestOffsets holds places against the standard library's UTF-16.
func TestOffsets(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		runes := rapid.SliceOfN(rapid.SampledFrom([]rune("ab\n äあ𝄞")), 0, 3000).Draw(t, "text")
		text := string(runes)
		o := newOffsets(text)
		n := rapid.IntRange(0, len(runes)).Draw(t, "n")
		before := string(runes[:n])
		if got, want := o.at(len(before)), len(utf16.Encode(runes[:n])); got != want {
			t.Fatalf("byte %d is at %d, want %d", len(before), got, want)
		}
		pos := (&source.File{Text: []byte(text)}).PosAt(len(before))
		if got := o.byteOf(pos); got != len(before) {
			t.Fatalf("line %d column %d is byte %d, want %d", pos.Line, pos.Column, got, len(before))
		}
	})
}

// FuzzOutline: whatever is typed, every place of the outline lies in the text,
// and what a field shows is what stands there.
func FuzzOutline(f *testing.F) {
	f.Add(small)
	for _, e := range examples.List() {
		f.Add(string(must(examples.Source(e.Name))))
	}
	f.Add("voice \"a\" { meet { at = \"1 s\" } }\nvoice {\n")
	f.Add("tempo_path {\n leg {\n from = 1\n}\n leg {}\n}")
	f.Fuzz(func(t *testing.T, text string) {
		if len(text) > 10_000 {
			return
		}
		tree := newOutline(text, newOffsets(text))
		units := utf16.Encode([]rune(text))
		valid := string(utf16.Decode(units)) == text
		check := func(what string, from, to int, want string) {
			if from < 0 || to < from || to > len(units) {
				t.Fatalf("%s from %d to %d of %d", what, from, to, len(units))
			}
			if got := string(utf16.Decode(units[from:to])); want != "" && valid && got != want {
				t.Fatalf("%s is %q in the text and %q in the outline", what, got, want)
			}
		}
		for name, v := range tree.top {
			check(name, v.From, v.To, v.Text)
		}
		for _, b := range tree.list {
			check(b.Type, b.From, b.To, "")
			for name, v := range b.Fields {
				check(name, v.From, v.To, v.Text)
			}
		}
	})
}

// TestPitchTexts: every gesture has a text of its own.
func TestPitchTexts(t *testing.T) {
	b := serve(t, nil)
	u := b.work("a.piece", "voice \"a\" {\n  line = \"C4+E4:1 gliss(C3 C4 white):4 trill(C5 D5 8/s):4 repeat(C4 9/s):4 cluster(C3 E3 white):1 spread(C2+G2 30ms):2 grace(B3 C4 40ms):2 (1)\"\n}\n")
	want := []string{"C4+E4", "gliss C3 to C4", "trill C5 D5", "repeat C4", "cluster C3 to E3", "spread C2+G2",
		"grace B3 before C4"}
	if !u.OK || !slices.Equal(u.Voices[0].Color, want) {
		t.Errorf("the color is %v, want %v; %v", u.Voices[0].Color, want, u.Errors)
	}
	if got := plan.PitchName(piece.Pitch{}, &piece.Voice{}); got != "-" {
		t.Errorf("no keys are named %q", got)
	}
	u = b.work("a.piece", "voice \"a\" {\n  talea = \"1\"\n  color = \"Bb3 C4+E4\"\n  invert = \"C4\"\n  transpose = 12\n}\n")
	// Mirrored at C4 (60) and an octave up, low first: 120-58+12 = 74, D5; 120-64+12 = 68, Ab4 (E mirrored), with 72, C5.
	if want := []string{"D5", "Ab4+C5"}; !u.OK || !slices.Equal(u.Voices[0].Color, want) {
		t.Errorf("the color is %v, want %v; %v", u.Voices[0].Color, want, u.Errors)
	}
}

// TestPanicIsAnError: a fault in one analysis does not end the workbench.
func TestPanicIsAnError(t *testing.T) {
	err := together(func() error { return nil }, func() error { panic("fault") })
	if err == nil || !strings.Contains(err.Error(), "fault") {
		t.Errorf("the error is %v", err)
	}
}

// The parts that a lean answer leaves out are those of the full one.
func TestPartsMakeTheWhole(t *testing.T) {
	b := serve(t, nil)
	text := small + "\nvoice \"high\" {\n  talea = \"1 2\"\n  color = \"C5 D5 E5\"\n}\n"
	_, data := b.send("POST", "/api/work", m{"text": text})
	full := unpack(t, data)
	_, data = b.send("POST", "/api/work", m{"text": text, "lean": true})
	lean := unpack(t, data)
	if lean.ID != full.ID || len(lean.numbers["slot_lead"]) != len(full.numbers["slot_lead"]) ||
		lean.numbers["ev_start"] != nil || lean.numbers["item_at"] != nil {
		t.Errorf("the lean answer has %d slots, %d events, %d items", len(lean.numbers["slot_lead"]),
			len(lean.numbers["ev_start"]), len(lean.numbers["item_at"]))
	}
	_, data = b.send("POST", "/api/part", m{"id": full.ID, "score": true})
	if got := unpack(t, data).numbers["ev_start"]; !slices.Equal(got, full.numbers["ev_start"]) {
		t.Errorf("the score has %v, want %v", got, full.numbers["ev_start"])
	}
	v := full.Voices[1].Items
	_, data = b.send("POST", "/api/part", m{"id": full.ID, "voice": 1})
	if got, want := unpack(t, data).numbers["item_at"], full.numbers["item_at"][v.From:v.From+v.Count]; !slices.Equal(got,
		want) {
		t.Errorf("the items of high are at %v, want %v", got, want)
	}
	if status, _ := b.send("POST", "/api/part", m{"id": full.ID, "voice": 2}); status != http.StatusBadRequest {
		t.Errorf("a voice that is not there: %d", status)
	}
}

// TestCanonSpeeds: a voice takes over its own member of the canon's proportion;
// one without is as before.
func TestCanonSpeeds(t *testing.T) {
	b := serve(t, nil)
	u := b.work("a.piece", "voice \"low\" {\n  talea = \"3 2\"\n  color = \"C2 G2\"\n  speed = 2\n}\ncanon \"two\" {\n  subject = \"low\"\n  speeds  = \"1 : sqrt(2) :4/3\"\n  voice \"I\" {}\n  voice \"II\" {\n    transpose = 7\n  }\n  voice \"III\" {}\n}\n")
	if !u.OK || len(u.Voices) != 4 {
		t.Fatalf("%+v", u.Errors)
	}
	for i, want := range []string{"", "1", "sqrt(2)", "4/3"} {
		if got := u.Voices[i].Inherited["speed"]; got != want {
			t.Errorf("%s takes over the speed %q, want %q", u.Voices[i].Name, got, want)
		}
	}
}
