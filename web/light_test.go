package web

import (
	"bytes"
	"fmt"
	"image"
	"image/jpeg"
	"image/png"
	"math"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"rollwright/internal/scancase"
	"rollwright/paper/roll"
	"rollwright/workshop"
)

// punchWalk draws the roll of strolling as a scanner would see it, one slot left out
// and one put in, into scan.png of a folder. Chad hangs in three holes, one of which is
// so far filled that the reading doubts it.
func punchWalk(t testing.TB, dir string) (missing, extra scancase.Slot) {
	t.Helper()
	name := filepath.Join(dir, "walk.piece")
	if err := os.WriteFile(name, []byte(strolling), 0o644); err != nil {
		t.Fatal(err)
	}
	job, err := workshop.Open(t.Context(), name, nil)
	if err != nil {
		t.Fatal(err)
	}
	rolls, err := job.Rolls()
	if err != nil {
		t.Fatal(err)
	}
	picture, missing, extra := scanOf(t, rolls[0])
	if err := os.WriteFile(filepath.Join(dir, "scan.png"), picture, 0o644); err != nil {
		t.Fatal(err)
	}
	return missing, extra
}

// drawn is the one scan of these tests, which takes a second to draw.
var drawn struct {
	once           sync.Once
	picture        []byte
	missing, extra scancase.Slot
}

// scanOf draws a roll as a scanner would see it, with one slot left out, one put in.
func scanOf(t testing.TB, r *roll.Roll) (picture []byte, missing, extra scancase.Slot) {
	t.Helper()
	drawn.once.Do(func() { drawn.picture, drawn.missing, drawn.extra = drawScan(t, r) })
	return drawn.picture, drawn.missing, drawn.extra
}

func drawScan(t testing.TB, r *roll.Roll) (picture []byte, missing, extra scancase.Slot) {
	t.Helper()
	c := scancase.Case{Seed: 6, DPIAlong: 100, DPIAcross: 100, From: -15, To: r.MusicMM() + 15, Margin: [2]float64{6, 6},
		First: "bottom", Skew: 0.4, Along: 0.003, Noise: 2, Chads: 3}
	c.Paper.R, c.Paper.G, c.Paper.B, c.Paper.A = 225, 215, 190, 255
	c.Behind.R, c.Behind.G, c.Behind.B, c.Behind.A = 40, 38, 35, 255
	for i := range r.Slots {
		s := &r.Slots[i]
		one := scancase.Slot{Port: int(s.Port), Lead: s.LeadMM, Trail: s.TrailMM}
		for at := range r.Punches(s) {
			one.Punches = append(one.Punches, at)
		}
		if i == len(r.Slots)/2 {
			missing = one
			continue
		}
		c.Slots = append(c.Slots, one)
	}
	extra = scancase.Slot{Port: 20, Lead: 200, Trail: 200 + scancase.Die, Punches: []float64{200 + scancase.Die/2}}
	c.Slots = append(c.Slots, extra)
	var b bytes.Buffer
	if err := (&png.Encoder{CompressionLevel: png.BestSpeed}).Encode(&b, c.Draw()); err != nil {
		t.Fatal(err)
	}
	return b.Bytes(), missing, extra
}

func (b *bench) light(body m) (string, light, map[string][]float64) {
	b.Helper()
	id := ask[idOnly](b, "/api/light", body).ID
	if note := b.await(id); note.State != done {
		b.Fatalf("%+v", note)
	}
	status, data := b.send("GET", "/api/light/"+id+"/all", nil)
	if status != http.StatusOK {
		b.Fatalf("%d %s", status, data)
	}
	var l light
	words(b, data, &l)
	return id, l, unpack(b, data).numbers
}

// TestLightTable: the picture is read and held against the plan; what was left out and
// put in comes back, and the tiles show the holes where the planes say.
func TestLightTable(t *testing.T) {
	dir := t.TempDir()
	missing, extra := punchWalk(t, dir)
	b := serveFolder(t, dir)
	question := m{"name": "walk.piece", "text": strolling, "pictures": []string{"scan.png"}}
	id, l, numbers := b.light(question)
	if l.Unlike != "" || len(l.Pictures) != 1 || len(l.Said) == 0 {
		t.Fatalf("%+v", l)
	}
	kinds := map[string]difference{}
	for _, d := range l.Differences {
		kinds[d.Kind] = d
	}
	if d := kinds["missing"]; len(l.Differences) != 2 || d.Port != missing.Port || math.Abs(d.Along-missing.Lead) > 0.01 ||
		len(d.Plan) != 1 {
		t.Errorf("missing: %+v", l.Differences)
	}
	if d := kinds["extra"]; d.Port != extra.Port || d.FoundLead == nil || math.Abs(*d.FoundLead-extra.Lead) > 0.5 {
		t.Errorf("extra: %+v", d)
	}
	if n := len(numbers["scan_lead"]); n != 90 || len(numbers["sc_start"]) != 90 {
		t.Errorf("%d slots were read", n)
	}
	again := ask[idOnly](b, "/api/light", question).ID
	if again != id {
		t.Errorf("the same question is job %s, then %s", id, again)
	}
	b.holesLieWhere(id, &l, numbers)
	if status, _ := b.send("GET", "/api/light/"+id+"/tile?picture=0&level=0&x=99&y=0", nil); status != 404 {
		t.Errorf("a tile beyond the picture is answered with %d", status)
	}
	if status, _ := b.send("GET", "/api/light/"+id+"/tile?picture=0&level=0&x=-1&y=0", nil); status != 400 {
		t.Errorf("a tile before the picture is answered with %d", status)
	}
}

// holesLieWhere looks at the finest tiles: where a plane puts the middle of a hole it is
// dark, and a pitch and a half beside it there is paper.
func (b *bench) holesLieWhere(id string, l *light, numbers map[string][]float64) {
	b.Helper()
	p := &l.Pictures[0]
	tiles := map[[2]int]image.Image{}
	grey := func(x, y float64) uint32 {
		x, y = x/p.Levels[0].Shrink, y/p.Levels[0].Shrink
		at := [2]int{int(x) / tileSide, int(y) / tileSide}
		if tiles[at] == nil {
			status, data := b.send("GET", fmt.Sprintf("/api/light/%s/tile?picture=0&level=0&x=%d&y=%d", id, at[0], at[1]), nil)
			if status != http.StatusOK {
				b.Fatalf("tile %v: %d %s", at, status, data)
			}
			img, err := jpeg.Decode(bytes.NewReader(data))
			if err != nil {
				b.Fatal(err)
			}
			tiles[at] = img
		}
		v, _, _, _ := tiles[at].At(int(x)%tileSide, int(y)%tileSide).RGBA()
		return v >> 8
	}
	if !p.Tall {
		b.Fatal("the picture lies")
	}
	wrong := 0
	for i, lead := range numbers["scan_lead"] {
		across := scancase.Across(int(numbers["scan_port"][i]))
		for _, c := range []struct {
			across float64
			dark   bool
		}{{across, true}, {across + 1.5*scancase.Pitch/3, false}} {
			// The plane that is for the place, found by trying each.
			for k := range p.Planes {
				q := &p.Planes[k]
				det := q.Along[1]*q.Across[2] - q.Along[2]*q.Across[1]
				a, u := lead+scancase.Die/2-q.Along[0], c.across-q.Across[0]
				x, y := (a*q.Across[2]-u*q.Along[2])/det, (u*q.Along[1]-a*q.Across[1])/det
				if int(y/p.Cell) != k || y < 0 {
					continue
				}
				if (grey(x, y) < 120) != c.dark {
					wrong++
				}
			}
		}
	}
	if wrong > 0 {
		b.Errorf("%d of %d looks at holes and beside them see something else", wrong, 2*len(numbers["scan_lead"]))
	}
}

// TestLightOfAnotherRoll: what is not the open roll is read all the same, kept as a
// table, and then lies under itself.
func TestLightOfAnotherRoll(t *testing.T) {
	dir := t.TempDir()
	punchWalk(t, dir)
	b := serveFolder(t, dir)
	b.put("small.piece", small)
	id, l, _ := b.light(m{"name": "small.piece", "text": small, "pictures": []string{"scan.png"}})
	if l.Unlike == "" || len(l.Differences) != 0 || l.Table != "scan.csv" {
		t.Fatalf("%+v", l)
	}
	made := ask[nameOnly](b, "/api/light/keep", m{"id": id, "to": "scan"})
	if made.Name != "scan.csv" {
		t.Errorf("kept as %s", made.Name)
	}
	if status, _ := b.send("POST", "/api/light/keep", m{"id": id, "to": "scan"}); status != http.StatusConflict {
		t.Errorf("kept again with %d", status)
	}
	if _, own, _ := b.light(m{"name": "scan.csv", "text": "", "pictures": []string{"scan.png"}}); own.Unlike != "" ||
		len(own.Differences) != 0 {
		t.Errorf("under itself: %+v", own)
	}
}

// TestLightAnswersAreKept: what a person says of the slot that chad fills lies beside the
// picture, and the next reading goes by it. Its crop shows the hole: dark in the middle,
// paper at the rim.
func TestLightAnswersAreKept(t *testing.T) {
	dir := t.TempDir()
	punchWalk(t, dir)
	b := serveFolder(t, dir)
	question := m{"name": "walk.piece", "text": strolling, "pictures": []string{"scan.png"}}
	id, l, _ := b.light(question)
	if len(l.Doubts) != 1 || l.Doubts[0].Reason != "partly filled" || l.Doubts[0].Sure >= 0.9 || !l.Doubts[0].Crop {
		t.Fatalf("doubtful is %+v", l.Doubts)
	}
	status, data := b.send("GET", "/api/light/"+id+"/crop?n=0", nil)
	crop, err := png.Decode(bytes.NewReader(data))
	if status != http.StatusOK || err != nil {
		t.Fatalf("its crop: %d %v", status, err)
	}
	dark := 0
	size := crop.Bounds()
	for y := size.Min.Y; y < size.Max.Y; y++ {
		for x := size.Min.X; x < size.Max.X; x++ {
			if v, _, _, _ := crop.At(x, y).RGBA(); v>>8 < 90 {
				dark++
			}
		}
	}
	if rim, _, _, _ := crop.At(size.Min.X, size.Min.Y).RGBA(); dark < 50 || dark > size.Dx()*size.Dy()/2 || rim>>8 < 150 {
		t.Errorf("of its crop of %v, %d pixels are dark, and its corner is %d", size, dark, rim>>8)
	}
	ask[nameOnly](b, "/api/light/say", m{"id": id, "doubt": 0, "answer": "is"})
	ask[nameOnly](b, "/api/light/say", m{"id": id, "doubt": 0, "answer": "none"})
	if text := b.disk("scan.answers.csv"); strings.Count(text, "\n") != 2 || !strings.HasSuffix(text, ",none\n") {
		t.Errorf("kept is\n%s", text)
	}
	again, _, numbers := b.light(question)
	if again == id || len(numbers["scan_lead"]) != 89 {
		t.Errorf("after that %d slots are read", len(numbers["scan_lead"]))
	}
	if status, _ := b.send("POST", "/api/light/say", m{"id": id, "doubt": 1, "answer": "is"}); status != 400 {
		t.Errorf("no doubt is answered with %d", status)
	}
}

func TestLightIsBounded(t *testing.T) {
	b := serve(t, map[string]string{"small.piece": small, "words.png": "no picture"})
	for name, want := range map[string]int{"../x.png": 400, "gone.png": 404, "small.piece": 400} {
		status, data := b.send("POST", "/api/light", m{"name": "small.piece", "text": small, "pictures": []string{name}})
		if status != want {
			t.Errorf("%s: %d %s", name, status, data)
		}
	}
	id := ask[idOnly](b, "/api/light", m{"name": "small.piece", "text": small, "pictures": []string{"words.png"}}).ID
	if note := b.await(id); note.State != failed || note.Error == "" {
		t.Errorf("%+v", note)
	}
}
