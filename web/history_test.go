package web

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

func TestSnapshots(t *testing.T) {
	b := serve(t, map[string]string{"a.piece": "one\n"})
	first := ask[snapshot](b, "/api/snapshot", m{"name": "a.piece", "label": "  the first\nof all "})
	if first.Label != "the first of all" || first.Bytes != 4 {
		t.Errorf("the snapshot is %v", first)
	}
	v := ask[saved](b, "/api/save", m{"name": "a.piece", "text": "two\n", "base": version([]byte("one\n")), "tab": ""})
	again := ask[snapshot](b, "/api/snapshot", m{"name": "a.piece", "label": ""})
	if twice := ask[snapshot](b, "/api/snapshot", m{"name": "a.piece", "label": ""}); twice.ID != again.ID {
		t.Error("the same text was kept twice")
	}
	ask[saved](b, "/api/save", m{"name": "a.piece", "text": "three\n", "base": v.Version, "tab": ""})
	list := ask[[]snapshot](b, "/api/history", m{"name": "a.piece"})
	if len(list) != 2 || list[0].ID != again.ID || list[1].ID != first.ID {
		t.Fatalf("the history is %v", list)
	}
	if got := ask[textOnly](b, "/api/restore", m{"name": "a.piece", "id": first.ID}); got.Text != "one\n" {
		t.Errorf("restored is %q", got.Text)
	}
	if b.disk("a.piece") != "three\n" {
		t.Error("restore has written the file, which is the page's to do")
	}
	// What was on the disk is kept before it is replaced.
	if list := ask[[]snapshot](b, "/api/history", m{"name": "a.piece"}); len(list) != 3 {
		t.Errorf("the history is %v", list)
	}
	got := ask[hunks](b, "/api/diff", m{"name": "a.piece", "id": first.ID, "text": "one\ntwo\n"})
	if fmt.Sprint(got) != "{[{same [one]} {add [two]}]}" {
		t.Errorf("the difference is %v", got)
	}
	got = ask[hunks](b, "/api/diff", m{"name": "a.piece", "id": "disk", "text": ""})
	if fmt.Sprint(got) != "{[{del [three]}]}" {
		t.Errorf("the difference from the disk is %v", got)
	}
	for _, id := range []string{"", "../../a", "20261104T161500.123Z-00000000", "20261104T161500.123Z-../../a", first.ID +
		"x"} {
		if status, data := b.send("POST", "/api/restore", m{"name": "a.piece", "id": id}); status < 400 {
			t.Errorf("restore of %q: %d %s", id, status, data)
		}
	}
}

// TestSavingKeepsWhatWas: the text before the first change of a minute stays.
func TestSavingKeepsWhatWas(t *testing.T) {
	b := serve(t, map[string]string{"a.piece": "0\n"})
	v := version([]byte("0\n"))
	for i := range 5 {
		v = ask[saved](b, "/api/save", m{"name": "a.piece", "text": fmt.Sprintln(i + 1), "base": v, "tab": ""}).Version
	}
	list := ask[[]snapshot](b, "/api/history", m{"name": "a.piece"})
	if len(list) != 1 {
		t.Fatalf("the history is %v", list)
	}
	if got := ask[textOnly](b, "/api/restore", m{"name": "a.piece", "id": list[0].ID}); got.Text != "0\n" {
		t.Errorf("kept is %q", got.Text)
	}
}

// TestThin keeps a year of work, a snapshot every ten minutes of some hours a
// day, and looks at what is left: no more than the bound, the newest all, the
// labelled all, and the rest the denser the newer.
func TestThin(t *testing.T) {
	f, err := openFolder(t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	defer f.close()
	h := &history{f}
	now := time.Date(2026, 1, 1, 9, 0, 0, 0, time.UTC)
	labels := 0
	for i := range 300 {
		label := ""
		if i%60 == 30 {
			label, labels = fmt.Sprint("label ", i), labels+1
		}
		if _, err := h.keep("a.piece", fmt.Appendf(nil, "%d\n", i), label, now); err != nil {
			t.Fatal(err)
		}
		if now = now.Add(10 * time.Minute); i%20 == 19 {
			now = now.Add(20 * time.Hour)
		}
	}
	list := h.list("a.piece")
	if len(list) != mostSnapshots {
		t.Fatalf("%d snapshots are left, want %d", len(list), mostSnapshots)
	}
	newest := 0
	for i := range keptSnapshots {
		text, err := h.text("a.piece", list[i].ID)
		if err != nil {
			t.Fatal(err)
		}
		if string(text) == fmt.Sprintln(299-i) {
			newest++
		}
	}
	if newest != keptSnapshots {
		t.Errorf("%d of the newest %d are left", newest, keptSnapshots)
	}
	for _, s := range list {
		if s.Label != "" {
			labels--
		}
	}
	if labels != 0 {
		t.Errorf("%d labelled snapshots are gone", labels)
	}
	middle := now.Add(-now.Sub(list[len(list)-1].When) / 2)
	old := 0
	for _, s := range list {
		if s.When.Before(middle) {
			old++
		}
	}
	if old == 0 || old > len(list)/2 {
		t.Errorf("%d of %d are from the older half", old, len(list))
	}
	entries := must(os.ReadDir(filepath.Join(f.path, h.dir("a.piece"))))
	if len(entries) != mostSnapshots+5 {
		t.Errorf("%d files are in the history", len(entries))
	}
}

func TestHistoryIsBoundedInBytes(t *testing.T) {
	f, err := openFolder(t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	defer f.close()
	h := &history{f}
	now := time.Date(2026, 1, 1, 9, 0, 0, 0, time.UTC)
	for i := range 80 {
		text := fmt.Sprintf("%d\n", i) + strings.Repeat("#", mostText-10)
		if _, err := h.keep("a.piece", []byte(text), "", now.Add(time.Duration(i)*time.Hour)); err != nil {
			t.Fatal(err)
		}
	}
	if list := h.list("a.piece"); bytesOf(list) > mostHistory || len(list) < keptSnapshots {
		t.Errorf("%d snapshots of %d bytes are kept", len(list), bytesOf(list))
	}
}
