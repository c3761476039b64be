package plan

import "slices"

// binLengths are the stretches of a density, in nanoseconds; the shortest that
// needs no more than densityBins of them is taken.
var binLengths = []int64{
	5e8, 1e9, 2e9, 5e9, 10e9, 15e9, 30e9, 60e9, 120e9, 300e9, 600e9, 1200e9, 1800e9, 3600e9,
}

const densityBins = 60

// density counts onsets, given voice by voice in nanoseconds.
func density(voices [][]int64, lengthSec float64) Density {
	all := slices.Concat(voices...)
	slices.Sort(all)
	length := max(nanoseconds(lengthSec), 1)
	if n := len(all); n > 0 {
		length = max(length, all[n-1]+1)
	}
	bin := binLengths[len(binLengths)-1]
	for _, b := range binLengths {
		if ceilDiv(length, b) <= densityBins {
			bin = b
			break
		}
	}
	d := Density{Bin: Seconds(float64(bin) / 1e9), Counts: make([]int, ceilDiv(length, bin))}
	for _, ns := range all {
		d.Counts[max(ns, 0)/bin]++
	}
	for i, n := range d.Counts {
		if n > d.Counts[d.PeakBin] {
			d.PeakBin = i
		}
	}
	d.PeakRate = float64(d.Counts[d.PeakBin]) / float64(d.Bin)
	d.Mean = float64(len(all)) * 1e9 / float64(length)
	d.Busiest, d.From = busiest(all)
	return d
}

// busiest is the most onsets within any stretch of one second, its end not
// included, and where the first such stretch begins.
func busiest(all []int64) (most int, from Seconds) {
	first := 0
	for i, ns := range all {
		for all[first] <= ns-1e9 {
			first++
		}
		if i-first+1 > most {
			most, from = i-first+1, Seconds(float64(all[first])/1e9)
		}
	}
	return most, from
}
