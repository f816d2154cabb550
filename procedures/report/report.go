package report

import (
	"fmt"
	"io"

	"daytank/planner/idletest"
	"daytank/planner/quantity"
	"daytank/procedures/proof"
)

// Report is what is kept of a job: its record, what a reviewer sees of it, what its tests
// say, and how the engine went over its jobs so far.
type Report struct {
	Job        Job                 `json:"job"`
	Review     ReviewSheet         `json:"review"`
	Comparison idletest.Comparison `json:"comparison"`
	Trend      *proof.Life         `json:"trend"` // null where there is no test
	Head       string              `json:"head"`  // of the record, whole
	RestsOn    Appendix            `json:"rests_on"`
	Shop       string              `json:"shop,omitempty"`
}

// Text writes a report for a person: where it stands, the verdict and what is to be looked
// at, what was done, then the record as `show` has it, the tests and the trend.
func (r Report) Text(w io.Writer, show quantity.Printer) {
	if r.Shop != "" {
		fmt.Fprintln(w, wrapped(Plain(r.Shop), ""))
	}
	SheetText(w, r.Review, 79)
	fmt.Fprintf(w, "\n%s\n\n", wrapped(r.Job.Done(show), ""))
	recordText(w, r.Job, true, show)
	if r.Review.Verdict != "" {
		fmt.Fprintln(w)
		ComparisonText(w, r.Comparison, false, show)
	}
	if r.Trend != nil && len(r.Trend.States) > 0 {
		fmt.Fprintln(w)
		LifeText(w, *r.Trend, show)
	}
	fmt.Fprintln(w)
	cautionsText(w)
	r.RestsOn.text(w)
	fmt.Fprintf(w, "\n%s, made %s, head %s\n", Plain(r.Job.Name), r.Job.Created, r.Head)
}
