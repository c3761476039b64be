package web

import (
	"fmt"
	"net/http"
	"slices"
	"strings"
	"testing"
)

// roundTable is a canon as a table of notes without voices: three pitches on two
// durations, 3/4 s and 1/2 s, and the same a twelfth higher at speed 5/4.
func roundTable(labelled bool) string {
	out := "voice,key,start_s,end_s\n"
	for v, name := range []string{"low", "high"} {
		at, speed := 0.0, []float64{1, 1.25}[v]
		for i := range 36 {
			label := name
			if !labelled {
				label = ""
			}
			out += fmt.Sprintf("%s,%d,%g,%g\n", label, []int{48, 55, 50}[i%3]+19*v, at, at+0.3/speed)
			at += []float64{0.75, 0.5}[i%2] / speed
		}
	}
	return out
}

func TestDesignIsFound(t *testing.T) {
	for _, labelled := range []bool{true, false} {
		b := serve(t, map[string]string{"round.csv": roundTable(labelled)})
		id := ask[idOnly](b, "/api/design", m{"name": "round.csv", "text": ""}).ID
		if note := b.await(id); note.State != done {
			t.Fatalf("%+v", note)
		}
		status, data := b.send("GET", "/api/design/"+id+"/all", nil)
		if status != http.StatusOK {
			t.Fatalf("%d %s", status, data)
		}
		var d design
		words(t, data, &d)
		numbers := unpack(t, data).numbers
		if len(d.Voices) != 2 || len(d.Canons) != 1 || d.Count != 72 || len(numbers["note_start"]) != 72 {
			t.Fatalf("labelled %v: %+v", labelled, d)
		}
		for _, v := range d.Voices {
			if !v.Claims || len(v.Taleae) != 18 || len(v.Colors) != 12 {
				t.Errorf("%+v", v)
			}
		}
		if n := len(numbers["pair_canon"]); n < 30 || n != len(numbers["pair_leader"]) {
			t.Errorf("%d pairs", n)
		}
		for i := range numbers["pair_leader"] {
			a, f := int(numbers["pair_leader"][i]), int(numbers["pair_follower"][i])
			if d := numbers["note_key"][f] - numbers["note_key"][a]; d != 19 && d != -19 {
				t.Errorf("partners are %v semitones apart", d)
			}
		}
		made := ask[nameOnly](b, "/api/design/take", m{"id": id, "voices": []int{0}, "to": "one"})
		if text := b.disk(made.Name); strings.Count(text, "\nvoice ") != 1 || !strings.Contains(text, "talea") {
			t.Errorf("one voice is\n%s", text)
		}
		made = ask[nameOnly](b, "/api/design/take", m{"id": id, "voices": []int{}, "to": "both"})
		if text := b.disk(made.Name); !strings.Contains(text, "canon") {
			t.Errorf("both are\n%s", text)
		}
		if status, _ := b.send("POST", "/api/design/take", m{"id": id, "voices": []int{2}, "to": "none"}); status != 400 {
			t.Errorf("a third voice is answered with %d", status)
		}
		if status, _ := b.send("POST", "/api/design/take", m{"id": id, "voices": []int{0}, "to": "one"}); status != 409 {
			t.Errorf("the same name again is answered with %d", status)
		}
	}
}

// TestDesignOfNothing: notes without design are answered with a sentence, no claim.
func TestDesignOfNothing(t *testing.T) {
	table := "key,start_s,end_s\n"
	for i, key := range []int{60, 71, 55, 48, 66, 79, 52, 63, 70, 58} {
		at := float64(i*i)*0.137 + float64(i)*0.31
		table += fmt.Sprintf("%d,%g,%g\n", key, at, at+0.2)
	}
	b := serve(t, map[string]string{"none.csv": table})
	id := ask[idOnly](b, "/api/design", m{"name": "none.csv", "text": ""}).ID
	b.await(id)
	_, data := b.send("GET", "/api/design/"+id+"/all", nil)
	var d design
	words(t, data, &d)
	if slices.ContainsFunc(d.Voices, func(v foundVoice) bool { return v.Claims }) || len(d.Canons) > 0 ||
		!strings.Contains(d.Summary, "No design was found") {
		t.Errorf("%+v", d)
	}
}
