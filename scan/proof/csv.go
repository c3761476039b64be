package proof

import (
	names "rollwright/text/cell"

	"bufio"
	"io"
	"strconv"
	"strings"

	"rollwright/paper/instrument"
	"rollwright/paper/roll"
)

// WriteCSV lists the differences, a row each, in their order. Columns:
//
//	kind            missing, extra, shifted, short, long, joined or split
//	port            from the bass edge, from 1
//	key             that the port sounds; empty for a control port
//	lead_mm         planned, in millimetres of the plan; of several the first
//	trail_mm        planned; of several the last
//	found_lead_mm   found, on the plan
//	found_trail_mm  found, on the plan
//	voice           that the planned slots have for causes, several joined by +
//	note            of that voice, several joined by +
//
// Edges are empty where there is no slot. Comma, LF, quotes only where needed
// (RFC 4180). Only the writer fails.
func (r *Result) WriteCSV(w io.Writer) error {
	b := bufio.NewWriterSize(w, 1<<16)
	const heads = "kind,port,key,lead_mm,trail_mm,found_lead_mm,found_trail_mm,voice,note\n"
	_, _ = b.WriteString(heads) // Flush says what fails
	var line []byte
	for i := range r.Differences {
		line = r.row(line[:0], &r.Differences[i])
		_, _ = b.Write(line)
	}
	return b.Flush()
}

func (r *Result) row(line []byte, d *Difference) []byte {
	line = append(append(line, d.Kind.String()...), ',')
	line = append(strconv.AppendInt(line, int64(d.Port)+1, 10), ',')
	if p := r.Plan.Instrument.Bar.Ports[d.Port]; p.Role == instrument.Note {
		line = strconv.AppendInt(line, int64(p.Key), 10)
	}
	line = edges(line, len(d.Plan) > 0, d.LeadMM, d.TrailMM)
	line = edges(line, len(d.Found) > 0, d.FoundLeadMM, d.FoundTrailMM)
	voices, notes := r.Causes(d)
	line = append(append(line, ','), cell(names.Name(strings.Join(voices, "+")))...)
	line = append(append(line, ','), strings.Join(notes, "+")...)
	return append(line, '\n')
}

func edges(line []byte, there bool, lead, trail float64) []byte {
	if !there {
		return append(line, ",,"...)
	}
	line = roll.AppendMM(append(line, ','), lead)
	return roll.AppendMM(append(line, ','), trail)
}

// Causes are the voices and the notes of a difference's planned slots.
func (r *Result) Causes(d *Difference) (voices, notes []string) {
	if r.Plan.Instrument.Bar.Ports[d.Port].Role != instrument.Note {
		return nil, nil
	}
	for _, i := range d.Plan {
		for cause := range r.Plan.Slots[i].Causes.All() {
			voices = append(voices, r.Plan.Voices[cause.Voice])
			notes = append(notes, strconv.Itoa(int(cause.Note)))
		}
	}
	return voices, notes
}

// cell is a text as a cell.
func cell(text string) string {
	if strings.ContainsAny(text, ",\"\r\n") {
		return `"` + strings.ReplaceAll(text, `"`, `""`) + `"`
	}
	return text
}
