package web

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"math"
	"net/http"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"rollwright/music/event"
	"rollwright/paper/instrument"
	"rollwright/paper/roll"
	"rollwright/paper/table"
	"rollwright/scan/crop"
	"rollwright/scan/proof"
	"rollwright/scan/read"
)

// lightRoutes are those of the light table: a picture of paper under the planned
// holes.
func lightRoutes(s *Server) map[string]http.HandlerFunc {
	return map[string]http.HandlerFunc{
		"POST /api/light":          post(s.startLight),
		"GET /api/light/{id}/all":  packedAnswer(s, func(a *lit) []byte { return a.packed }),
		"GET /api/light/{id}/tile": s.lightTile,
		"GET /api/light/{id}/crop": s.lightCrop,
		"POST /api/light/say":      post(s.saySlot),
		"POST /api/light/keep":     post(s.keepReading),
		"POST /api/light/proof":    post(s.startProof),
		"POST /api/light/record":   post(s.recordProof),
	}
}

// lighting asks for pictures of paper to be read and held against what is open.
type lighting struct {
	subject
	Piano    int      `json:"piano"`
	Pictures []string `json:"pictures"` // consecutive stretches of one roll, in order
	First    string   `json:"first"`    // edge of the picture where the music begins; empty: by its shape
	Bass     string   `json:"bass"`
	Reader   string   `json:"reader"` // instrument that the paper is read for; empty: that of the plan
}

// mostPictures bounds the pictures of one roll.
const mostPictures = 200

// lit is what lies on the light table.
type lit struct {
	asked   asked // what it is laid under
	piano   int
	reading *read.Reading
	pages   []*copies // of each picture
	doubts  []read.Slot
	crops   [][]byte // of doubts; nil where there is none
	packed  []byte
	dir     string // of the pages' files
}

// light is what was read and how it differs; its arrays have a number a slot that was
// read, by leading edge:
//
//	scan_port i32, scan_lead, scan_trail, scan_sure f64: in millimetres of the plan
//
// and one an event that the scan plays, as in an analysis: sc_start ...
type light struct {
	Work        string        `json:"work"` // id of the analysis that it is laid under
	Piano       int           `json:"piano"`
	Pictures    []litPicture  `json:"pictures"`
	Said        []string      `json:"said"`   // of the reading
	Unlike      string        `json:"unlike"` // why it was not compared; empty: it was
	Summary     string        `json:"summary"`
	Remarks     []string      `json:"remarks"`
	Differences []difference  `json:"differences"`
	More        int           `json:"more"` // differences beyond those listed
	Doubts      []doubt       `json:"doubts"`
	MoreDoubts  int           `json:"moreDoubts"`
	Table       string        `json:"table"` // a name for what was read
	Arrays      []packedArray `json:"arrays"`
}

// litPicture is a picture with its smaller copies and where it lies.
type litPicture struct {
	Name   string  `json:"name"`
	Width  int     `json:"width"` // pixels
	Height int     `json:"height"`
	Levels []level `json:"levels"`
	Tall   bool    `json:"tall"` // its pixels run along the roll from row to row
	Cell   float64 `json:"cell"` // pixels along the roll that each of Planes is for
	Planes []plane `json:"planes"`
}

// difference is one place where plan and paper differ.
type difference struct {
	Kind      string   `json:"kind"`
	Says      string   `json:"says"`
	Port      int      `json:"port"`
	Along     float64  `json:"along"`
	End       float64  `json:"end"`
	Plan      []int    `json:"plan"` // slots as they are counted in the analysis
	FoundLead *float64 `json:"foundLead"`
	FoundEnd  *float64 `json:"foundEnd"`
}

// doubt is a slot that was read and is not sure.
type doubt struct {
	Port   int     `json:"port"`
	Name   string  `json:"name"`
	Lead   float64 `json:"lead"` // on the plan
	Trail  float64 `json:"trail"`
	Sure   float64 `json:"sure"`
	Reason string  `json:"reason"`
	Crop   bool    `json:"crop"`
}

// The bounds of what is listed, and how much paper a crop shows around its slot.
const (
	mostDifferences = 2000
	mostDoubts      = 300
	cropAlongMM     = 8
	cropAcrossMM    = 9
	longestCropMM   = 90
)

func (s *Server) startLight(_ context.Context, in lighting) (idOnly, error) {
	if err := in.check(); err != nil {
		return idOnly{}, err
	}
	if len(in.Pictures) == 0 || len(in.Pictures) > mostPictures {
		return idOnly{}, &refusal{http.StatusBadRequest, fmt.Sprintf("name 1 to %d pictures", mostPictures)}
	}
	stamps := ""
	for _, name := range in.Pictures {
		if kindOfName(name) != pictureKind {
			return idOnly{}, &refusal{http.StatusBadRequest, fmt.Sprintf("%q is no picture that is read here", name)}
		}
		file, err := s.folder.regular(name)
		if err != nil {
			return idOnly{}, err
		}
		file.Close()
		stamps += s.folder.stamp(name)
	}
	stamps += s.folder.stamp(read.AnswersName(in.Pictures[0]))
	for _, side := range []string{in.First, in.Bass} {
		if _, err := read.ParseSide(side); err != nil {
			return idOnly{}, &refusal{http.StatusBadRequest, err.Error()}
		}
	}
	work := s.desk.sheet(in.asked()).id
	return s.jobs.start(order{
		name: in.Pictures[0], of: shareSteps,
		key: fmt.Sprintln("light", work, in.Piano, in.First, in.Bass, in.Reader, stamps),
		do: func(ctx context.Context, one *job) (outcome, error) {
			answer, err := s.light(ctx, one, in, work)
			return outcome{answer: answer}, err
		},
	})
}

// What share of the work each step is, about.
const (
	readShare = 0.6
	copyShare = 0.95
)

// light reads pictures and lays them under what is open.
func (s *Server) light(ctx context.Context, one *job, in lighting, work string) (*lit, error) {
	job, err := s.desk.job(ctx, in.asked())
	if err != nil {
		return nil, unreadable(err)
	}
	planned, base, err := rollOf(job, in.Piano)
	if err != nil {
		return nil, err
	}
	readers, err := s.readers(in, planned)
	if err != nil {
		return nil, err
	}
	first, _ := read.ParseSide(in.First) // checked before the job began
	bass, _ := read.ParseSide(in.Bass)
	count := float64(len(in.Pictures))
	r, err := read.Read(ctx, in.Pictures, read.Options{
		Instruments: readers, First: first, Bass: bass, Open: s.folder.regularOrGone,
		Progress: func(picture int, share float64) {
			s.jobs.share(one, "paper", readShare*(float64(picture)+share)/count)
		},
	})
	if err != nil {
		return nil, err
	}
	out := &lit{asked: in.asked(), piano: in.Piano, reading: r}
	answer := &light{Work: work, Piano: in.Piano, Said: summaryOf(r), Remarks: []string{}, Differences: []difference{},
		Doubts: []doubt{}, Table: strings.TrimSuffix(in.Pictures[0], filepath.Ext(in.Pictures[0])) + ".csv"}
	s.jobs.share(one, "comparing", readShare)
	onto := func(mm float64) float64 { return mm }
	result, err := proof.Compare(planned, r.Roll(), proof.Options{})
	var unlike *proof.UnlikeError
	switch {
	case errors.As(err, &unlike):
		answer.Unlike = unlike.Error()
	case err != nil:
		return nil, err
	default:
		onto = result.Map.ToPlan
		answer.compared(result, base)
	}
	if err := out.copy(ctx, s, one, answer, onto); err != nil {
		return nil, err
	}
	s.jobs.share(one, "doubts", copyShare)
	if err := out.doubt(answer, onto); err != nil {
		return nil, err
	}
	var p packed
	packScan(&p, r, onto)
	answer.Arrays = p.list
	out.packed, err = p.assemble(answer)
	s.jobs.retire(one, func(answer any) bool { _, is := answer.(*lit); return is })
	return out, err
}

// regularOrGone opens a file for a reader that wants to know when there is none.
func (f *folder) regularOrGone(name string) (*os.File, error) {
	if !f.exists(filepath.FromSlash(name)) {
		return nil, fmt.Errorf("%s: %w", name, os.ErrNotExist)
	}
	return f.regular(name)
}

// readers are the instruments that the paper may be for.
func (s *Server) readers(in lighting, planned *roll.Roll) ([]*instrument.Instrument, error) {
	switch in.Reader {
	case "":
		return []*instrument.Instrument{planned.Instrument}, nil
	case "auto":
		var out []*instrument.Instrument
		for _, l := range instrument.List() {
			one, err := s.folder.instrumentOf(l.Name, in.Pictures[0])
			if err != nil {
				return nil, err
			}
			out = append(out, one)
		}
		return out, nil
	}
	one, err := s.folder.instrumentOf(in.Reader, in.Pictures[0])
	return []*instrument.Instrument{one}, err
}

func summaryOf(r *read.Reading) []string {
	var b bytes.Buffer
	if err := r.WriteSummary(&b); err != nil {
		panic(err) // a buffer takes all
	}
	return strings.Split(strings.TrimRight(b.String(), "\n"), "\n")
}

// compared takes in what differs. base is how many slots of the analysis come before
// those of the roll.
func (a *light) compared(r *proof.Result, base int) {
	a.Summary = r.Summary()
	a.Remarks = append(a.Remarks, r.Remarks()...)
	a.More = max(len(r.Differences)-mostDifferences, 0)
	for i := range r.Differences[:len(r.Differences)-a.More] {
		d := &r.Differences[i]
		one := difference{Kind: d.Kind.String(), Says: r.Says(d), Port: int(d.Port), Along: d.AtMM(), End: d.EndMM(),
			Plan: []int{}}
		for _, slot := range d.Plan {
			one.Plan = append(one.Plan, base+int(slot))
		}
		if len(d.Found) > 0 {
			one.FoundLead, one.FoundEnd = &d.FoundLeadMM, &d.FoundTrailMM
		}
		a.Differences = append(a.Differences, one)
	}
}

// copy makes the smaller copies of the pictures and says where each lies.
func (l *lit) copy(ctx context.Context, s *Server, one *job, answer *light, onto func(float64) float64) error {
	dir, err := s.jobs.folder(one)
	if err != nil {
		return err
	}
	l.dir = dir
	n := float64(len(l.reading.Pictures))
	for i, picture := range l.reading.Pictures {
		in, err := l.reading.Open(i)
		if err != nil {
			return err
		}
		pg, err := newCopies(ctx, in, picture.AlongMM, filepath.Join(dir, strconv.Itoa(i)), func(share float64) {
			s.jobs.share(one, "copying", readShare+(copyShare-readShare)*(float64(i)+share)/n)
		})
		in.Close()
		if err != nil {
			return err
		}
		l.pages = append(l.pages, pg)
		shown := litPicture{Name: picture.Name, Width: picture.Width, Height: picture.Height, Levels: pg.levels}
		shown.Tall, shown.Cell, shown.Planes = planesOf(l.reading, i, onto)
		answer.Pictures = append(answer.Pictures, shown)
	}
	return nil
}

// doubt lists the slots that are not sure, with crops.
func (l *lit) doubt(answer *light, onto func(float64) float64) error {
	l.doubts = l.reading.Doubtful()
	answer.MoreDoubts = max(len(l.doubts)-mostDoubts, 0)
	l.doubts = l.doubts[:len(l.doubts)-answer.MoreDoubts]
	windows := make([]crop.Window, len(l.doubts))
	ports := l.reading.Instrument.Bar.Ports
	for i, slot := range l.doubts {
		windows[i] = crop.Window{
			FromMM: slot.LeadMM - cropAlongMM, ToMM: min(slot.TrailMM, slot.LeadMM+longestCropMM) + cropAlongMM,
			AcrossFromMM: ports[slot.Port].AcrossMM - cropAcrossMM, AcrossToMM: ports[slot.Port].AcrossMM + cropAcrossMM,
		}
	}
	var err error
	if l.crops, err = crop.Cut(l.reading, windows); err != nil {
		return err
	}
	for i, slot := range l.doubts {
		answer.Doubts = append(answer.Doubts, doubt{
			Port: slot.Port, Name: read.PortName(l.reading.Instrument, slot.Port), Lead: onto(slot.LeadMM),
			Trail: onto(slot.TrailMM), Sure: slot.Certainty, Reason: slot.Reason, Crop: l.crops[i] != nil,
		})
	}
	return nil
}

// packScan packs the slots that were read, on the plan, and what they play there.
func packScan(p *packed, r *read.Reading, onto func(float64) float64) {
	slots := slices.Clone(r.Slots)
	for i := range slots {
		slots[i].LeadMM, slots[i].TrailMM = onto(slots[i].LeadMM), onto(slots[i].TrailMM)
	}
	slices.SortStableFunc(slots, func(a, b read.Slot) int {
		if a.LeadMM < b.LeadMM {
			return -1
		}
		return 1
	})
	n := len(slots)
	p.floats("scan_lead", n, func(i int) float64 { return slots[i].LeadMM })
	p.floats("scan_trail", n, func(i int) float64 { return slots[i].TrailMM })
	p.floats("scan_sure", n, func(i int) float64 { return slots[i].Certainty })
	p.ints("scan_port", n, func(i int) int32 { return int32(slots[i].Port) })
	laid := *r.Roll()
	laid.Slots = slices.Clone(laid.Slots)
	for i := range laid.Slots {
		old := &laid.Slots[i]
		laid.Slots[i] = roll.SlotOf(r.Instrument, old.Port, onto(old.LeadMM), math.Max(onto(old.TrailMM), onto(old.LeadMM)))
	}
	laid.Sort()
	var events []event.Event
	for e := range roll.Play(&laid) {
		events = append(events, e)
	}
	packEvents(p, "sc_", events)
}

// lightTile sends a tile of a picture's smaller copy as JPEG.
func (s *Server) lightTile(w http.ResponseWriter, r *http.Request) {
	l, err := answerOf[*lit](s.jobs, r.PathValue("id"))
	if err != nil {
		fail(w, err)
		return
	}
	var at [4]int
	for i, name := range []string{"picture", "level", "x", "y"} {
		if at[i], err = strconv.Atoi(r.URL.Query().Get(name)); err != nil || at[i] < 0 {
			fail(w, &refusal{http.StatusBadRequest, "a tile has a picture, a level, x and y"})
			return
		}
	}
	if at[0] >= len(l.pages) {
		fail(w, &refusal{http.StatusNotFound, "there is no such picture"})
		return
	}
	tile, err := l.pages[at[0]].tile(at[1], at[2], at[3])
	if err != nil {
		fail(w, err)
		return
	}
	w.Header().Set("Content-Type", "image/jpeg")
	w.Write(tile)
}

// lightCrop sends what was seen around a doubtful slot, as PNG.
func (s *Server) lightCrop(w http.ResponseWriter, r *http.Request) {
	l, err := answerOf[*lit](s.jobs, r.PathValue("id"))
	if err != nil {
		fail(w, err)
		return
	}
	n, err := strconv.Atoi(r.URL.Query().Get("n"))
	if err != nil || n < 0 || n >= len(l.crops) || l.crops[n] == nil {
		fail(w, &refusal{http.StatusNotFound, "there is no such crop"})
		return
	}
	w.Header().Set("Content-Type", "image/png")
	w.Write(l.crops[n])
}

// sayingSlot is what a person says of a doubtful slot.
type sayingSlot struct {
	ID     string `json:"id"`
	Doubt  int    `json:"doubt"`  // as they are listed
	Answer string `json:"answer"` // is, none; empty: neither
}

// saySlot keeps what a person says of a doubtful slot beside the first picture, where
// the next reading finds it.
func (s *Server) saySlot(_ context.Context, in sayingSlot) (nameOnly, error) {
	l, err := answerOf[*lit](s.jobs, in.ID)
	if err != nil {
		return nameOnly{}, err
	}
	if in.Doubt < 0 || in.Doubt >= len(l.doubts) || !slices.Contains([]string{"", "is", "none"}, in.Answer) {
		return nameOnly{}, &refusal{http.StatusBadRequest, "a slot is one, or none"}
	}
	name := read.AnswersName(l.reading.Pictures[0].Name)
	s.folder.lock.Lock()
	defer s.folder.lock.Unlock()
	had := []byte{}
	if s.folder.exists(name) {
		if had, err = s.folder.bytes(name, mostText); err != nil {
			return nameOnly{}, err
		}
	}
	text, err := read.Answered(string(had), &l.doubts[in.Doubt], in.Answer)
	if err != nil {
		return nameOnly{}, &refusal{http.StatusUnprocessableEntity, fmt.Sprintf("%s: %v", name, err)}
	}
	return nameOnly{name}, s.folder.write(name, []byte(text))
}

// keeping asks for what was read as a table of holes in the folder.
type keeping struct {
	ID string `json:"id"`
	To string `json:"to"`
}

func (s *Server) keepReading(_ context.Context, in keeping) (nameOnly, error) {
	l, err := answerOf[*lit](s.jobs, in.ID)
	if err != nil {
		return nameOnly{}, err
	}
	if !strings.HasSuffix(in.To, ".csv") {
		in.To += ".csv"
	}
	if !plainName(in.To) {
		return nameOnly{}, &refusal{http.StatusBadRequest, fmt.Sprintf("%q cannot be the name of a table in this folder", in.To)}
	}
	var b bytes.Buffer
	if err := table.WriteHoles(&b, table.CSV, []*roll.Roll{l.reading.Roll()}); err != nil {
		return nameOnly{}, err
	}
	s.folder.lock.Lock()
	defer s.folder.lock.Unlock()
	if s.folder.exists(in.To) {
		return nameOnly{}, &refusal{http.StatusConflict, in.To + " is there already and stays as it is; choose another name"}
	}
	return nameOnly{in.To}, s.folder.write(in.To, b.Bytes())
}
