package piecefile

import (
	"os"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"rollwright/exact"
	"rollwright/music/piece"
	"rollwright/text/source"
)

// FuzzParse states what Parse promises: it does not panic; it gives a piece or
// errors that have places in the text; a piece respects the bounds and what
// package piece says of its fields.
func FuzzParse(f *testing.F) {
	for _, pattern := range []string{"testdata/valid/*.piece", "testdata/invalid/*.piece"} {
		for _, path := range corpus(f, pattern) {
			text, err := os.ReadFile(path)
			if err != nil {
				f.Fatal(err)
			}
			f.Add(text)
		}
	}
	f.Fuzz(func(t *testing.T, text []byte) {
		file := &source.File{Name: "x.piece", Text: text}
		p, err := Parse(file)
		if err == nil {
			checkPiece(t, p)
			checkPrinted(t, p)
			return
		}
		if p != nil {
			t.Fatal("a piece and an error")
		}
		checkErrors(t, file, err.(source.Errors))
	})
}

// checkPrinted prints a piece and reads it again: it is the same piece, unless it is
// too long or the language has no words for a gesture that was moved.
func checkPrinted(t *testing.T, p *piece.Piece) {
	if _, err := Print(p); err != nil {
		return
	}
	again, text := printed(t, "x.piece", p)
	if diff := cmp.Diff(p, again, samePiece, cmpopts.IgnoreFields(piece.Pitch{}, "Letters")); diff != "" {
		t.Fatalf("printed it is another piece:\n%s\n%s", text, diff)
	}
}

func checkErrors(t *testing.T, file *source.File, errs source.Errors) {
	if len(errs) == 0 || len(errs) > maxErrors {
		t.Fatalf("%d errors", len(errs))
	}
	lines := strings.Count(string(file.Text), "\n") + 1
	for _, e := range errs {
		if e.At.Known() && (e.At.Line > lines || e.At.Column > len([]rune(file.Line(e.At.Line)))+2) {
			t.Errorf("an error at %v, beyond the text: %s", e.At, e.Problem)
		}
		if e.Problem == "" || strings.ContainsAny(e.Problem, "\n\r\t\x00") {
			t.Errorf("problem %q", e.Problem)
		}
		_ = e.Error()
	}
}

// checkPiece holds a piece against the doc comments of package piece.
func checkPiece(t *testing.T, p *piece.Piece) {
	must := func(ok bool, what string) {
		if !ok {
			t.Fatal(what)
		}
	}
	refOK := func(r piece.Ref) bool {
		return r.Voice >= 0 && r.Voice < len(p.Voices) || r.Voice == -1 && r.Canon >= 0 && r.Canon < len(p.Canons)
	}
	must(len(p.Pianos) > 0 && len(p.Pianos) <= maxPianos, "pianos")
	must(len(p.Voices) > 0 && len(p.Voices) <= maxVoices, "voices")
	for i := range p.Voices {
		v := &p.Voices[i]
		must(v.Piano >= 0 && v.Piano < len(p.Pianos), "piano of a voice")
		must(v.Section >= -1 && v.Section < len(p.Sections), "section of a voice")
		must(v.Canon >= -1 && v.Canon < len(p.Canons), "canon of a voice")
		must((v.Canon >= 0) == (v.Place.Kind == piece.InCanon), "place of a canon voice")
		must(len(v.Talea) > 0 && len(v.Talea) <= maxMembers && !silent(v.Talea), "talea")
		must(len(v.Color) > 0 && len(v.Color) <= maxMembers && len(v.Dynamics) > 0 && len(v.Hold) > 0, "cycles")
		for _, d := range v.Talea {
			must(d.Units.Sign() > 0, "a duration")
		}
		for _, pitch := range v.Color {
			must(len(pitch.Keys) > 0 && pitch.Level >= 0 && pitch.Level <= 127, "a pitch")
			for j, key := range pitch.Keys {
				must(key >= 0 && key <= 127, "a key")
				must(j == 0 || pitch.Gesture.Manner() != piece.Plain || key > pitch.Keys[j-1], "the order of keys")
			}
		}
		for _, d := range v.Dynamics {
			must(d.Level >= 1 && d.Level <= 127 && d.Over >= 0 && (d.Over == 0 || d.To >= 1 && d.To <= 127), "a level")
		}
		for _, h := range v.Hold {
			must(h.Kind != piece.HoldTime || h.Sec.Sign() > 0, "a hold")
		}
		must(v.Unit.Sign() > 0 && v.Unit.Cmp(exact.Int(1000)) <= 0, "the unit")
		must(v.Extent.Kind != piece.Until || refOK(v.Extent.Ref), "until")
		must(v.Place.Kind != piece.After || refOK(v.Place.Ref), "after")
		must(v.Place.Kind != piece.MeetWith || v.Place.Ref.Voice >= 0 && refOK(v.Place.Ref), "meet")
		must(!v.Lasts.Set || v.Lasts.Sec.Sign() > 0 || refOK(v.Lasts.As), "lasts")
		must(v.Places.Of("").Known() && v.Places.Of("talea").Known(), "places")
	}
	for i, c := range p.Canons {
		must(len(c.Voices) > 0, "a canon without voices")
		for _, voice := range c.Voices {
			must(p.Voices[voice].Canon == i && p.Voices[voice].Section == c.Section, "a canon's voices")
		}
	}
}
