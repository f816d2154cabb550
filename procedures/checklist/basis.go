package checklist

import (
	"encoding/json"
	"fmt"

	"daytank/planner"
	"daytank/planner/quantity"
	"daytank/procedures"
	"daytank/procedures/record"
	"daytank/safety"
)

// Basis is what a checklist rests on, so that an answer that changes the job
// can be followed by a new plan.
type Basis struct {
	Procedure       procedures.Procedure
	Job             planner.Job
	Printer         quantity.Printer
	EmergencyNumber string
	Walks           []Times // of this shop, the latest first, for planned durations
}

// Planned is a checklist with the job, plan and assessment it came from, as
// they are kept with the record.
type Planned struct {
	Basis      Basis
	Plan       planner.Plan
	Assessment safety.Assessment
	List       Checklist
}

// Make plans the job, judges the plan and composes the checklist.
func (b Basis) Make() (Planned, error) {
	p := Planned{Basis: b, Plan: planner.Compute(b.Job)}
	p.Assessment = safety.Assess(b.Job, p.Plan)
	list, err := Compose(b.Procedure, Context{b.Job, p.Plan, p.Assessment, b.Printer, b.EmergencyNumber, b.Walks})
	p.List = list
	return p, err
}

// With gives the basis with one value of the job changed. A text is taken as it
// is; anything else is written as in a job file.
func (b Basis) With(path, value string, text bool) (Basis, error) {
	change := b.Job.With
	if text {
		change = b.Job.WithText
	}
	job, err := change(path, value)
	b.Job = job
	return b, err
}

// Blobs gives what the record keeps of the plan by content: job, plan,
// assessment and checklist, in this order.
func (p Planned) Blobs() [4]record.Blob {
	return [4]record.Blob{
		p.Basis.Job.File(),
		mustJSON(p.Plan),
		mustJSON(struct {
			Ready    bool            `json:"ready"`
			Findings []safety.Worded `json:"findings"`
		}{p.Assessment.Ready, p.Assessment.Worded(p.Basis.Printer)}),
		p.List.Encode(),
	}
}

// Created gives the first event of a record with this plan.
func (p Planned) Created(number int64, program string, demo bool) record.Created {
	blobs := p.Blobs()
	return record.Created{
		Asset: p.Basis.Job.Asset, Number: number, Title: p.Basis.Job.Title,
		Procedure: p.List.Procedure, Layout: p.Basis.Job.Engine.Layout.ID, Program: program, Demo: demo, Own: p.List.Own,
		Job: blobs[0].Digest(), Plan: blobs[1].Digest(), Assessment: blobs[2].Digest(), Checklist: blobs[3].Digest(),
	}
}

// replanned gives the event of a changed plan.
func (p Planned) replanned(step, path, value string) record.Replanned {
	blobs := p.Blobs()
	return record.Replanned{
		Step: step, Path: path, Value: value,
		Job: blobs[0].Digest(), Plan: blobs[1].Digest(), Assessment: blobs[2].Digest(), Checklist: blobs[3].Digest(),
	}
}

func mustJSON(v any) []byte {
	text, err := json.Marshal(v)
	if err != nil {
		panic(fmt.Sprintf("checklist: %T cannot be written: %v", v, err))
	}
	return text
}
