package main

import (
	"encoding/json"

	"rollwright/music/ear"
	"rollwright/text/infile"
	"rollwright/text/source"
	"rollwright/workshop"
)

// mostThresholds bounds a file of thresholds, in bytes.
const mostThresholds = 1 << 20

// ear says what a listener can follow of the notes.
func (c *planCommand) ear(t terminal, job *workshop.Job) error {
	thresholds := ear.Published()
	if c.Thresholds != "" {
		text, err := infile.Read(c.Thresholds, mostThresholds)
		if err != nil {
			return err
		}
		if thresholds, err = ear.Read(&source.File{Name: c.Thresholds, Text: text}); err != nil {
			return err
		}
	}
	report := job.Ear(thresholds)
	near := job.NearSpeeds(thresholds)
	if c.JSON {
		out := json.NewEncoder(t.out)
		out.SetIndent("", "  ")
		return out.Encode(struct {
			*ear.Report
			Near []ear.Near `json:"near"`
		}{report, near})
	}
	return report.WriteText(t.out, near)
}
