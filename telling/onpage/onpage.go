// Package onpage is a roll as the script of a page draws it moving: columns of whole
// numbers, which are short as text and the same on every machine. The lecture's page
// and the engine that answers in it speak of paper in these words.
package onpage

import (
	"math"

	"rollwright/paper/roll"
)

// Micros is a time in whole microseconds, to nearest: all that a page needs.
func Micros(sec float64) int64 { return int64(math.Round(sec * 1e6)) }

// Hundredths is a length in whole hundredths of a millimetre, to nearest.
func Hundredths(mm float64) int64 { return int64(math.Round(mm * 100)) }

// Paper is the roll of one piano.
type Paper struct {
	Name      string    `json:"name"`
	Width     float64   `json:"width"` // millimetres
	Ports     []float64 `json:"ports"` // across, millimetres
	Bar       float64   `json:"bar"`   // height of the ports, millimetres
	Die       float64   `json:"die"`
	Speed     float64   `json:"speed"`             // mm/s at time 0
	Radius    float64   `json:"radius"`            // of a spool; 0: constant speed
	Thickness float64   `json:"thickness"`         // growth of the radius a turn
	Slowing   float64   `json:"slowing,omitempty"` // of the motor, a millimetre of paper
	Up        bool      `json:"up"`
	BassRight bool      `json:"bassRight"`
	Slots     Slots     `json:"slots"`
}

// Slots are columns, in order of their leading edge; places in hundredths of a
// millimetre.
type Slots struct {
	Port    []int     `json:"port"`
	Voice   []int     `json:"voice"` // -1: none
	Open    [][]int64 `json:"open"`  // centres of first and last punch of each opening
	Longest int64     `json:"longest"`
}

// PaperOf is a roll for a page.
func PaperOf(r *roll.Roll) *Paper {
	in := r.Instrument
	p := &Paper{
		Name: r.Name, Width: in.Paper.WidthMM, Bar: in.Bar.HeightMM, Die: in.Die.DiameterMM,
		Speed: in.Transport.SpeedMMPerSec(),
		Up:    in.Paper.TravelsUp, BassRight: in.Paper.Bass != 0,
	}
	if in.Transport.Spool {
		p.Radius, p.Thickness = in.Transport.RadiusMM, in.Transport.ThicknessMM
	}
	p.Slowing = in.Transport.SlowingPerMM
	for _, port := range in.Bar.Ports {
		p.Ports = append(p.Ports, math.Round(port.AcrossMM*1000)/1000)
	}
	for i := range r.Slots {
		s := &r.Slots[i]
		var open []int64
		for o := range r.Openings(s) {
			open = append(open, Hundredths(o.FirstMM), Hundredths(o.LastMM))
		}
		voice := -1
		if s.Causes.First.Note > 0 {
			voice = int(s.Causes.First.Voice)
		}
		p.Slots.Port = append(p.Slots.Port, int(s.Port))
		p.Slots.Voice = append(p.Slots.Voice, voice)
		p.Slots.Open = append(p.Slots.Open, open)
		p.Slots.Longest = max(p.Slots.Longest, Hundredths(s.TrailMM-s.LeadMM))
	}
	return p
}
