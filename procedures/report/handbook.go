package report

import (
	"encoding/json"
	"fmt"
	"io"
	"strings"

	"daytank/planner/engine"
	"daytank/planner/idletest"
	"daytank/planner/quantity"
	"daytank/procedures/checklist"
	"daytank/procedures/handbook"
)

// Appendix is what a report rests on, as pages of the handbook. In JSON they are
// named only: `library show ID --json` has them.
type Appendix []handbook.Page

// MarshalJSON names the pages by kind and id.
func (a Appendix) MarshalJSON() ([]byte, error) {
	type name struct {
		Kind string `json:"kind"`
		ID   string `json:"id"`
	}
	names := make([]name, len(a))
	for i, p := range a {
		names[i] = name{p.Kind, p.ID}
	}
	return json.Marshal(names)
}

// RestsOn gives the pages of what the plan of a record found, the hazards of its steps, its
// layout, and the formulas behind them. The error is a fault of a shipped file.
func RestsOn(j Job, list checklist.Checklist, layout engine.Layout, c idletest.Comparison, show quantity.Printer) (Appendix, error) {
	if j.Plan == nil {
		return nil, nil
	}
	m := handbook.Matter{Layout: layout, Pulled: j.Plan.Suction != nil, Dosed: len(j.Plan.Dose) > 0}
	for _, f := range j.Plan.Findings {
		m.Rules = append(m.Rules, f.Rule)
	}
	for _, s := range list.Steps {
		if s.Hazard != "" {
			m.Hazards = append(m.Hazards, s.Hazard)
		}
	}
	for _, o := range c.States {
		m.Tested = m.Tested || len(o.Cylinders) > 0
	}
	pages, err := handbook.Appendix(m, show)
	return pages, err
}

// text writes the pages as `library show` does, one below the other.
func (a Appendix) text(w io.Writer) {
	if len(a) == 0 {
		return
	}
	fmt.Fprint(w, "\nwhat it rests on\n")
	for _, p := range a {
		fmt.Fprintln(w)
		PageText(w, p)
	}
}

// PageText writes a page of the handbook for a person.
func PageText(w io.Writer, p handbook.Page) {
	fmt.Fprintf(w, "%s %s: %s\n\n", Plain(p.Kind), Plain(p.ID), Plain(p.Title))
	for _, part := range p.Parts {
		if len(part.List) == 0 {
			fmt.Fprintln(w, wrapped(part.Label+": "+part.Text, "  "))
			continue
		}
		fmt.Fprintln(w, wrapped(part.Label+":", "  "))
		for _, item := range part.List {
			const under = "      "
			fmt.Fprintln(w, "    - "+strings.TrimPrefix(wrapped(item, under), under))
		}
	}
}
