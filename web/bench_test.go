package web

import (
	"context"
	"fmt"
	"testing"
	"time"

	"rollwright/sound"
)

// BenchmarkWork is what the server does between a key press and the answer:
// a text that it has not seen is read, performed, laid out, inspected and packed.
func BenchmarkWork(b *testing.B) {
	for _, notes := range []int{10_000, 200_000} {
		for _, lean := range []bool{true, false} {
			b.Run(fmt.Sprintf("%d/lean=%v", notes, lean), func(b *testing.B) {
				s, text := benchServer(b), manyNotes(notes)
				bytes, n := 0, 0
				for b.Loop() {
					n++
					answer, err := s.workOf(context.Background(), working{subject: subject{Name: "a.piece", Text: fmt.Sprintf("%s# %d\n", text, n)},
						Lean: lean})
					if err != nil {
						b.Fatal(err)
					}
					bytes = len(answer)
				}
				b.ReportMetric(float64(bytes)/1e6, "MB")
			})
		}
	}
}

func benchServer(b *testing.B) *Server {
	s, err := New(Options{Folder: b.TempDir()})
	if err != nil {
		b.Fatal(err)
	}
	b.Cleanup(s.folder.close)
	return s
}

// BenchmarkSave is one saving of 10 kB to the disk, synced, with a history of
// the most snapshots.
func BenchmarkSave(b *testing.B) {
	s := benchServer(b)
	now := time.Now()
	for i := range mostSnapshots {
		s.history.keep("a.piece", fmt.Appendf(nil, "%d", i), "", now.Add(-time.Duration(mostSnapshots-i)*time.Hour))
	}
	text := manyNotes(1000)
	base, n := "", 0
	for b.Loop() {
		n++
		out, err := s.save(context.Background(), saving{Name: "a.piece", Text: fmt.Sprintf("%s# %d\n", text, n), Base: base})
		if err != nil {
			b.Fatal(err)
		}
		base = out.Version
	}
}

// BenchmarkSet is one attribute of 40 voices, changed in a field.
func BenchmarkSet(b *testing.B) {
	s, text := benchServer(b), manyNotes(10_000)
	value := "C4 D4 E4"
	for b.Loop() {
		if _, err := s.set(context.Background(), setting{Text: text, Path: []string{"voice v20"}, Attr: "color",
			Value: &value}); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkNote is half a second of a note, computed before and now read from
// the cache.
func BenchmarkNote(b *testing.B) {
	n := newNotes()
	a := noteAsked{key: 60, level: 80, hammers: sound.Metal, dry: sound.DefaultDry, sec: 0.5}
	for b.Loop() {
		if _, err := n.render(context.Background(), a); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkMove is one place of a voice that is carried along the paper: what is written,
// and the roll of it.
func BenchmarkMove(b *testing.B) {
	s, text := benchServer(b), manyNotes(10_000)
	n := 0
	for b.Loop() {
		n++
		got, err := s.move(context.Background(), moving{Name: "a.piece", Text: text, Voice: 0, Grip: "start v0",
			By: float64(n%200) * 0.05, Loose: true})
		if err != nil || got.Splice.Problem != "" {
			b.Fatal(err, got.Splice.Problem)
		}
		if _, err := s.workOf(context.Background(), working{subject: subject{Name: "a.piece", Text: got.Splice.Text},
			Lean: true}); err != nil {
			b.Fatal(err)
		}
	}
}
