package web

import (
	"archive/zip"
	"bytes"
	"encoding/binary"
	"fmt"
	"io"
	"math"
	"net/http"
	"os"
	"slices"
	"strings"
	"testing"
	"time"

	"rollwright/examples"
	"rollwright/making/machine"
	"rollwright/sound"
	"rollwright/workshop"
)

// make asks for an output and waits until it is made, or not.
func (b *bench) make(body m) jobNote {
	b.Helper()
	id := ask[idOnly](b, "/api/jobs", body).ID
	for range 20_000 {
		if j := fetch[jobNote](b, "/api/jobs/"+id); j.State != queued && j.State != running {
			return j
		}
		time.Sleep(5 * time.Millisecond)
	}
	b.Fatal("the job does not end")
	return jobNote{}
}

// download is the result of a job.
func (b *bench) download(id, query string) (http.Header, []byte) {
	b.Helper()
	r, err := b.client.Get(b.base + "/api/jobs/" + id + "/file" + query)
	if err != nil {
		b.Fatal(err)
	}
	defer r.Body.Close()
	data, err := io.ReadAll(r.Body)
	if err != nil || r.StatusCode != http.StatusOK {
		b.Fatalf("%s %v %s", r.Status, err, data)
	}
	return r.Header, data
}

// TestEveryFormat makes all that the page offers and looks at the first bytes,
// which the formats' standards fix.
func TestEveryFormat(t *testing.T) {
	b := serve(t, nil)
	l := b.listen("")
	magic := map[string]string{
		"pdf": "%PDF-", "svg": "<?xml", "dxf": "", "png": "\x89PNG\r\n\x1a\n", "csv": "piano,port,", "mid": "MThd",
		"zip": "PK\x03\x04", "plt": "IN;", "vtt": "WEBVTT", "tar": "00001.png", "webm": "\x1aE\xdf\xa3",
		"musicxml": "<?xml", "html": "<!DOCTYPE html>", "wav": "RIFF", "flac": "fLaC", "nc": "",
	}
	for _, f := range fetch[[]format](b, "/api/formats") {
		if racing && (strings.Contains("wav flac", f.Format) || f.Format == build || f.Format == "html") {
			continue
		}
		options := m{}
		if len(f.Machines) > 0 {
			options["machine"] = f.Machines[0].Name
		}
		if strings.Contains(f.About, "--") || f.About == "" {
			t.Errorf("%s is said to be %q", f.Format, f.About)
		}
		j := b.make(m{"name": "sub/my piece.piece", "text": small, "format": f.Format, "options": options})
		if j.State != done || j.Done != j.Of || j.File == "" {
			t.Errorf("%s: %+v", f.Format, j)
			continue
		}
		head, data := b.download(j.ID, "")
		if want := magic[f.Format]; len(data) == 0 || !strings.HasPrefix(string(data), want) {
			t.Errorf("%s begins with %.20q", f.Format, data)
		}
		if got := head.Get("Content-Disposition"); !strings.HasPrefix(got, `attachment; filename="my piece`) {
			t.Errorf("%s is sent as %s", f.Format, got)
		}
	}
	var states []string
	for {
		e := <-l.events
		if j := decoded[jobNote](t, []byte(e.data)); j.ID == "1" {
			if states = append(states, j.State); j.State == done {
				break
			}
		}
	}
	if !slices.Equal(slices.Compact(states), []string{running, done}) {
		t.Errorf("tabs are told %v", states)
	}
}

// TestByHandAndFigures makes what stands in place of the roll: each under a name
// of its own, so that two of one format can lie side by side.
func TestByHandAndFigures(t *testing.T) {
	b := serve(t, nil)
	offer := ask[offer](b, "/api/offer", m{"name": "a.piece"})
	if len(offer.Benches) == 0 || len(offer.Figures) == 0 {
		t.Fatalf("offered are %+v", offer)
	}
	bench := offer.Benches[0].Name
	for _, c := range []struct {
		format  string
		options m
		file    string
		begins  string
	}{
		{"pdf", m{"worksheet": true, "bench": bench}, "a-worksheet.pdf", "%PDF-"},
		{"csv", m{"worksheet": true, "bench": bench, "cueMM": 500}, "a-worksheet.csv", "piano,spool,row,"},
		{"pdf", m{"labels": true, "spoolMM": 2000}, "a-labels.pdf", "%PDF-"},
		{"pdf", m{"spoolMM": 2000, "cueMM": 100}, "a.pdf", "%PDF-"},
		{"svg", m{"score": true}, "a-score.svg", "<?xml"},
		{"svg", m{"figure": "grid", "voices": []string{"low"}}, "a-grid.svg", "<?xml"},
		{"png", m{"figure": "tempo"}, "a-tempo.png", "\x89PNG"},
	} {
		j := b.make(m{"name": "a.piece", "text": small, "format": c.format, "options": c.options})
		if j.State != done || j.File != c.file {
			t.Errorf("%v: %+v, want %s", c.options, j, c.file)
			continue
		}
		if _, data := b.download(j.ID, ""); !strings.HasPrefix(string(data), c.begins) {
			t.Errorf("%s begins with %.30q", c.file, data)
		}
	}
	for _, wrong := range []struct {
		format  string
		options m
	}{
		{"svg", m{"worksheet": true}}, {"csv", m{"labels": true}}, {"csv", m{"score": true}}, {"pdf", m{"figure": "grid", "labels": true}},
		{"pdf", m{"spoolMM": 1}}, {"pdf", m{"cueMM": -5}}, {"pdf", m{"worksheet": true, "bench": "../other.bench"}},
		{"pdf", m{"worksheet": true, "bench": "absent.bench"}},
	} {
		if code, _ := b.send("POST", "/api/jobs", m{"name": "a.piece", "text": small, "format": wrong.format,
			"options": wrong.options}); code < 400 || code >= 500 {
			t.Errorf("%v as %s: status %d", wrong.options, wrong.format, code)
		}
	}
}

func TestInline(t *testing.T) {
	b := serve(t, nil)
	j := b.make(m{"name": "a.piece", "text": small, "format": "pdf",
		"options": m{"letter": true, "names": true, "piano": ""}})
	head, _ := b.download(j.ID, "?inline=1")
	if head.Get("Content-Type") != "application/pdf" || !strings.HasPrefix(head.Get("Content-Disposition"), "inline;") {
		t.Errorf("the sheets are sent as %s %s", head.Get("Content-Type"), head.Get("Content-Disposition"))
	}
	j = b.make(m{"name": "a.piece", "text": small, "format": "svg", "options": m{}})
	if head, _ := b.download(j.ID, "?inline=1"); head.Get("Content-Type") != "application/octet-stream" {
		t.Errorf("a drawing that could hold scripts is sent as %s", head.Get("Content-Type"))
	}
}

// TestArchive: everything about a piece for two pianos, in one archive that
// holds what the command builds.
func TestArchive(t *testing.T) {
	if racing {
		t.Skip("the archive holds sound, which takes minutes under the race detector")
	}
	b := serve(t, nil)
	text := "piano \"left\" {\n}\npiano \"right\" {\n}\n" + line(`talea = "1"; color = "C4 E4"; piano = "left"`) +
		strings.Replace(line(`talea = "2"; color = "C5"; piano = "right"`), `"a"`, `"b"`, 1)
	j := b.make(m{"name": "two.piece", "text": text, "format": "zip", "options": m{}})
	if j.State != done || j.Of != workshop.BuildSteps+2+len(machine.List()) {
		t.Fatalf("%+v", j)
	}
	_, data := b.download(j.ID, "")
	z, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		t.Fatal(err)
	}
	var names []string
	for _, f := range z.File {
		names = append(names, f.Name)
		if age := time.Since(f.Modified); age < -time.Minute || age > time.Hour {
			t.Errorf("%s is of %v", f.Name, f.Modified)
		}
	}
	for _, want := range []string{"two/worksheet-left.pdf", "two/labels.pdf", "two/program-laser-left.nc",
		"two/program-knife-right.plt", "two/roll-left.pdf", "two/roll-right.pdf", "two/report.html", "two/score.mid",
		"two/two.piece"} {
		if !slices.Contains(names, want) {
			t.Errorf("the archive lacks %s: %v", want, names)
		}
	}
	if in, err := z.Open("two/two.piece"); err != nil || string(must(io.ReadAll(in))) != text {
		t.Error("the piece in the archive is not the piece")
	}
	// A roll for each piano is an archive too.
	j = b.make(m{"name": "two.piece", "text": text, "format": "svg", "options": m{}})
	if j.File != "two.zip" {
		t.Errorf("two drawings are %+v", j)
	}
	j = b.make(m{"name": "two.piece", "text": text, "format": "svg", "options": m{"piano": "left"}})
	if j.State != done || strings.HasSuffix(j.File, ".zip") {
		t.Errorf("one drawing is %+v", j)
	}
}

func TestJobsFailAndCancel(t *testing.T) {
	b := serve(t, nil)
	if j := b.make(m{"name": "a.piece", "text": "voice {", "format": "pdf", "options": m{}}); j.State != failed ||
		!strings.Contains(j.Error, "line 1") {
		t.Errorf("a text with mistakes: %+v", j)
	}
	if j := b.make(m{"name": "a.piece", "text": small, "format": "pdf",
		"options": m{"piano": "none"}}); j.State != failed || j.Error == "" {
		t.Errorf("a piano that is not there: %+v", j)
	}
	for _, options := range []m{{"machine": "/etc/passwd"}, {"machine": "../x.machine"}, {"machine": "none"},
		{"bench": "x"}, {"long": "x"}, {"widthPX": 1e6}, {"copies": -1}} {
		if status, data := b.send("POST", "/api/jobs", m{"name": "a.piece", "text": small, "format": "nc",
			"options": options}); status < 400 {
			t.Errorf("%v: %d %s", options, status, data)
		}
	}
	for _, body := range []m{{"name": "a.piece", "text": small, "format": "nc", "options": m{}},
		{"name": "a.piece", "text": small, "format": "exe", "options": m{}},
		{"name": "../a.piece", "text": small, "format": "pdf", "options": m{}},
		{"name": "a.piece", "text": small, "format": "pdf", "options": m{"none": 1}}} {
		if status, data := b.send("POST", "/api/jobs", body); status != http.StatusBadRequest {
			t.Errorf("%v: %d %s", body, status, data)
		}
	}
	long := strings.Replace(small, "}", "  extent = \"300000 notes\"\n}", 1)
	id := ask[idOnly](b, "/api/jobs", m{"name": "a.piece", "text": long, "format": "dxf", "options": m{}}).ID
	next := ask[idOnly](b, "/api/jobs", m{"name": "a.piece", "text": small, "format": "mid", "options": m{}}).ID
	if status, _ := b.send("GET", "/api/jobs/"+id+"/file", nil); status != http.StatusNotFound {
		t.Errorf("a file that is not made yet: %d", status)
	}
	ask[struct{}](b, "/api/jobs/cancel", m{"id": id})
	for range 2000 {
		if fetch[jobNote](b, "/api/jobs/"+next).State == done {
			break
		}
		time.Sleep(5 * time.Millisecond)
	}
	if j := fetch[jobNote](b, "/api/jobs/"+id); j.State != canceled {
		t.Errorf("a cancelled job is %+v", j)
	}
	if j := fetch[jobNote](b, "/api/jobs/"+next); j.State != done {
		t.Errorf("the job after it is %+v", j)
	}
	if status, _ := b.send("POST", "/api/jobs/cancel", m{"id": "99"}); status != http.StatusNotFound {
		t.Errorf("cancelling nothing: %d", status)
	}
}

// TestJobsAreBounded: only so many wait, only so many results are kept, and
// nothing is left when the workbench ends.
func TestJobsAreBounded(t *testing.T) {
	b := serve(t, nil)
	b.server.jobs.line <- struct{}{} // as if a long one ran
	for range mostWaitingJobs {
		ask[idOnly](b, "/api/jobs", m{"name": "a.piece", "text": small, "format": "mid", "options": m{}})
	}
	if status, _ := b.send("POST", "/api/jobs", m{"name": "a.piece", "text": small, "format": "mid",
		"options": m{}}); status != http.StatusTooManyRequests {
		t.Errorf("one job too many: %d", status)
	}
	<-b.server.jobs.line
	for i := range mostWaitingJobs {
		for fetch[jobNote](b, fmt.Sprintf("/api/jobs/%d", i+1)).State != done {
			time.Sleep(5 * time.Millisecond)
		}
	}
	for i := range 2 * (mostKeptJobs + mostWaitingJobs) {
		if j := b.make(m{"name": "a.piece", "text": small, "format": "mid", "options": m{}}); j.State != done {
			t.Fatalf("job %d is %+v", i, j)
		}
	}
	dir := b.server.jobs.dir
	if entries := must(os.ReadDir(dir)); len(entries) > mostKeptJobs+mostWaitingJobs {
		t.Errorf("%d results are kept", len(entries))
	}
	b.server.jobs.close()
	if _, err := os.Stat(dir); err == nil {
		t.Error("the results are left")
	}
}

// TestNote asks for A4 and listens to it: it is at 440 Hz (ISO 16).
func TestNote(t *testing.T) {
	b := serve(t, nil)
	r, err := b.client.Get(b.base + "/api/note?key=69&level=80&hammers=felt&sec=0.5&v=1")
	if err != nil {
		t.Fatal(err)
	}
	defer r.Body.Close()
	data := must(io.ReadAll(r.Body))
	if len(data) != 8*noteRate/2 || !strings.Contains(r.Header.Get("Cache-Control"), "immutable") {
		t.Fatalf("%s, %d bytes, %s", r.Status, len(data), r.Header.Get("Cache-Control"))
	}
	course := must(sound.CourseOf(69))
	if got := r.Header.Get("X-Release-Sec"); got != fmt.Sprint(course.DamperT60Sec) {
		t.Errorf("the damper takes %s", got)
	}
	at := func(i int) float64 { return float64(math.Float32frombits(binary.LittleEndian.Uint32(data[8*i:]))) }
	// The energy at f in 250 ms from 200 ms on, through a window of Hann's, whose
	// main lobe is 16 Hz wide: less than a semitone.
	energy := func(f float64) float64 {
		var re, im float64
		const n = noteRate / 4
		for i := range n {
			x := at(noteRate/5+i) * (1 - math.Cos(2*math.Pi*float64(i)/n))
			re += x * math.Cos(2*math.Pi*f*float64(i)/noteRate)
			im += x * math.Sin(2*math.Pi*f*float64(i)/noteRate)
		}
		return re*re + im*im
	}
	if energy(440) < 100*energy(415.3) || energy(440) < 100*energy(466.2) || energy(440) == 0 {
		t.Errorf("A4 has %g at 440 Hz, %g and %g at its neighbours", energy(440), energy(415.3), energy(466.2))
	}
	for _, query := range []string{"key=20", "key=109", "key=x", "key=NaN", "level=0", "level=128", "hammers=rubber",
		"dry=2", "dry=-1", "sec=0", "sec=1e9", "seat=2"} {
		if status, _ := b.send("GET", "/api/note?"+query, nil); status != http.StatusBadRequest {
			t.Errorf("%s: %d", query, status)
		}
	}
}

// TestPage: the page that is built in comes with its nonce, and what it loads
// with the right types.
func TestPage(t *testing.T) {
	b := serve(t, nil)
	status, data := b.send("GET", "/", nil)
	if status != http.StatusOK || strings.Contains(string(data), nonceMark) ||
		!strings.Contains(string(data), b.server.nonce) {
		t.Errorf("%d %.300s", status, data)
	}
	for name, kind := range map[string]string{"app.js": "text/javascript", "style.css": "text/css",
		"worklet.js": "text/javascript"} {
		r, err := b.client.Get(b.base + "/" + name)
		if err != nil {
			t.Fatal(err)
		}
		r.Body.Close()
		if !strings.HasPrefix(r.Header.Get("Content-Type"), kind) || r.Header.Get("ETag") == "" {
			t.Errorf("%s: %s, %v", name, r.Status, r.Header)
		}
		again := must(http.NewRequest("GET", b.base+"/"+name, nil))
		again.Header.Set("If-None-Match", r.Header.Get("ETag"))
		if r := must(b.client.Do(again)); r.StatusCode != http.StatusNotModified {
			t.Errorf("%s again: %s", name, r.Status)
		}
	}
	for _, path := range []string{"/none", "/../web.go", "/words/../../server.go", "/dist/index.html", "/.git",
		"/api/none"} {
		// Paths with dots are led to where they point, which is outside the key's folder.
		if status, _ := b.send("GET", path, nil); status != http.StatusNotFound && status != http.StatusUnauthorized {
			t.Errorf("%s: %d", path, status)
		}
	}
	for _, lang := range []string{"en", "xx", "../../etc/passwd", ""} {
		if words := fetch[map[string]string](b, "/api/words?lang="+lang); len(words) == 0 {
			t.Errorf("there are no words for %q", lang)
		}
	}
	if list := fetch[[]example](b, "/api/examples"); len(list) != len(examples.List()) {
		t.Errorf("the examples are %v", list)
	}
	if got := ask[textOnly](b, "/api/example", m{"name": "twill"}); got.Text != string(must(examples.Source("twill"))) {
		t.Error("an example is not itself")
	}
	b.put("own.instrument", "like = \"88-note\"\ntitle = \"My own\"\n")
	if list := fetch[[]instrumentName](b, "/api/instruments"); !slices.Contains(list,
		instrumentName{"own.instrument", "My own"}) || !slices.ContainsFunc(list,
		func(i instrumentName) bool { return i.Name == "88-note" }) {
		t.Errorf("the instruments are %v", list)
	}
}
