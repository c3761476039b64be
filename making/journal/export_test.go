package journal

// Rows are the lines of so many holes, in rows of so many, for benchmarks: writing
// each to the disk as Cut does takes an hour.
func Rows(holes, row int) []byte {
	var out []byte
	for i := 0; i < holes; i += row {
		r := record{kind: kindCut, ms: int64(1_700_000_000_000 + i)}
		for k := range row {
			r.holes = append(r.holes, Hole{AcrossMM: 10 + float64(k)*2.54, AlongMM: float64(i/row) * 0.35})
		}
		out = append(out, sealed(r.text())...)
	}
	return out
}
