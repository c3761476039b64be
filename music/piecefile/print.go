package piecefile

import (
	"fmt"

	"rollwright/exact"
	"rollwright/music/piece"
	"rollwright/text/draft"
)

// MaxBytes is the longest text that Parse reads.
const MaxBytes = 1_000_000

// TooLargeError says that a piece was too long to be written as text.
type TooLargeError struct{ Bytes int }

func (e *TooLargeError) Error() string {
	return fmt.Sprintf("the text of this piece would have %d bytes; %d are the most that a piece file may have", e.Bytes,
		MaxBytes)
}

// Print is the text of a piece, laid out for a person to go on with. Parse reads it
// to a piece with the same events, to the nanosecond; a piece that Parse has made
// comes back as it was, apart from places in the text.
//
// What the voices of canons have in common is written once, as a tune that
// their subject; a voice that plays what an earlier one does says that it is like it.
// Lets, functions and tunes of no canon are not known to a piece and do not come
// back: their cycles stand written out, shortened with "times". For remarks, and for
// what else a piece does not hold, change what DraftOf gives.
//
// The error names what the language has no words for: names that are empty or used
// twice, voices of a canon or section that do not stand together, glissandos over
// keys that are no set. It is a *TooLargeError when Parse would refuse the length.
func Print(p *piece.Piece) ([]byte, error) {
	d, err := DraftOf(p)
	if err != nil {
		return nil, err
	}
	return DraftText(d)
}

// DraftText is the text of a draft. The error is a *TooLargeError when it is longer
// than Parse reads. Whether the draft is a piece, Parse has to say.
func DraftText(d *draft.Draft) ([]byte, error) {
	text := d.Bytes()
	if len(text) > MaxBytes {
		return nil, &TooLargeError{len(text)}
	}
	return text, nil
}

// DraftOf is the text that Print writes, before it is laid out: attributes, pianos,
// then tunes, voices, canons and sections as entries, to be found by their type and
// name, added to, or given remarks. The error is that of Print.
func DraftOf(p *piece.Piece) (*draft.Draft, error) {
	w := &printer{piece: p, names: map[string]bool{}, tunes: map[string]tune{}, paths: map[string]tune{},
		tempo: pieceTempo(p)}
	if err := w.checkNames(); err != nil {
		return nil, err
	}
	for i := range p.Voices {
		slots, err := w.slotsOf(&p.Voices[i])
		if err != nil {
			return nil, err
		}
		w.voices = append(w.voices, slots)
	}
	w.defaults = w.commonDefaults()
	d := &draft.Draft{Entries: w.top()}
	d.Entries = append(d.Entries, w.parts()...)
	for _, show := range p.Show {
		d.Entries = append(d.Entries, draft.Raw(show.Text))
	}
	return d, nil
}

// printer is the state of DraftOf.
type printer struct {
	piece    *piece.Piece
	names    map[string]bool // of voices, canons and the tunes written so far
	voices   [][]slot        // of each voice, in the order of slotNames
	defaults []slot          // what holds where a voice says nothing
	tunes    map[string]tune // those written, by the canons' names for them
	paths    map[string]tune // those with nothing but a tempo path, by its text
	tempo    exact.Real      // that of the piece
}

// tune is the name and the slots of a tune.
type tune struct {
	name  string
	slots []slot
}

// top is the attributes of the piece itself, and its pianos.
func (w *printer) top() []draft.Entry {
	p := w.piece
	var out []draft.Entry
	for _, a := range []struct{ name, text string }{{"title", p.Title}, {"composer", p.Composer}, {"note", p.Note}} {
		if a.text != "" {
			out = append(out, draft.Attr(a.name, draft.Quoted(a.text)))
		}
	}
	if len(p.Pianos) == 1 && p.Pianos[0].Name == "" {
		out = append(out, pianoWords(&p.Pianos[0])...)
	}
	for i := range w.defaults {
		if s := &w.defaults[i]; s.byPiece && s.text != languageDefault(s.name) {
			out = append(out, s.entries...)
		}
	}
	out = append(out, barEntries(p.Bar)...)
	if len(p.Path) > 0 {
		out = append(out, draft.Block("tempo_path", "", w.pathEntries(p.Path, w.tempo, piece.Unknown{})...))
	}
	if len(p.Loudness) > 0 {
		out = append(out, draft.Block("loudness_path", "", loudnessEntries(p.Loudness)...))
	}
	if len(p.Pianos) > 1 || len(p.Pianos) == 1 && p.Pianos[0].Name != "" {
		for i := range p.Pianos {
			out = append(out, draft.Block("piano", p.Pianos[i].Name, pianoWords(&p.Pianos[i])...))
		}
	}
	return out
}

// pianoWords is what a piano says that is not the default.
func pianoWords(p *piece.Piano) []draft.Entry {
	var out []draft.Entry
	if p.Instrument != "" && p.Instrument != defaultInstrument {
		out = append(out, draft.Attr("instrument", draft.Quoted(p.Instrument)))
	}
	if p.Hammers != "" && p.Hammers != defaultHammers {
		out = append(out, draft.Attr("hammers", draft.Quoted(p.Hammers)))
	}
	if p.Tuning != "" && p.Tuning != defaultTuning {
		out = append(out, draft.Attr("tuning", draft.Quoted(p.Tuning)))
	}
	if p.A4.Sign() > 0 {
		out = append(out, draft.Attr("a4", numberValue(ratText(p.A4))))
	}
	if p.RollTempo.Sign() > 0 {
		out = append(out, draft.Attr("roll_tempo", numberValue(ratText(p.RollTempo))))
	}
	return out
}
