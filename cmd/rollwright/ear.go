package main

import (
	"encoding/json"
	"os"

	"rollwright/music/ear"
	"rollwright/text/source"
	"rollwright/workshop"
)

// ear says what a listener can follow of the notes.
func (c *planCommand) ear(t terminal, job *workshop.Job) error {
	thresholds := ear.Published()
	if c.Thresholds != "" {
		text, err := os.ReadFile(c.Thresholds)
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
