package report

import (
	"bytes"
	"encoding/json"
	"strings"
	"testing"

	"daytank/planner/quantity"
)

// Done is the time that the engine ran, with the soak beside it: of the van 10, 2 and 15
// minutes are planned, and 15 of soak.
func TestDone(t *testing.T) {
	j := walked(t)
	if r := j.Ran; r == nil || r.EngineMin < 27 || r.EngineMin > 28 || r.SoakMin < 15 || r.SoakMin > 16 || !r.Ended || r.From != "2026-03-14" || r.To != "2026-03-14" {
		t.Fatalf("ran %+v", j.Ran)
	}
	ran := *j.Ran
	end := " The record is to review."
	for name, c := range map[string]struct {
		change func(j *Job)
		want   string
	}{
		"as run":        {func(*Job) {}, "The fuel injection system of VAN-07 was cleaned on 2026-03-14 by Tobi Fenn: the engine ran on 1800 mL of cleaning fluid for 23 minutes, and 10 minutes of soak with the engine off."},
		"no soak":       {func(j *Job) { j.Ran.SoakMin, j.Ran.EngineMin = 0, 1.2 }, "The fuel injection system of VAN-07 was cleaned on 2026-03-14 by Tobi Fenn: the engine ran on 1800 mL of cleaning fluid for 1 minute."},
		"over midnight": {func(j *Job) { j.Ran.To, j.Ran.EngineMin, j.Ran.SoakMin = "2026-03-15", 0.3, 0 }, "The fuel injection system of VAN-07 was cleaned from 2026-03-14 to 2026-03-15 by Tobi Fenn: the engine ran on 1800 mL of cleaning fluid for less than a minute."},
		"not ended":     {func(j *Job) { j.Ran.Ended = false }, "The cleaning of the fuel injection system of VAN-07 was begun on 2026-03-14 by Tobi Fenn: by its last entry the engine had run on 1800 mL of cleaning fluid for 23 minutes, and 10 minutes of soak with the engine off; no end of the run is recorded."},
		"no run":        {func(j *Job) { j.Ran = nil }, "A concentrate clean of VAN-07 was planned with the engine running on 1800 mL of cleaning fluid for 27 minutes, and 15 minutes of soak with the engine off; no run of the engine on it is recorded."},
		"paper":         {func(j *Job) { j.Paper = &Paper{Who: "Ines Holm"} }, "The fuel injection system of VAN-07 was cleaned on 2026-03-14 by Ines Holm and entered from paper by Tobi Fenn: the engine ran on 1800 mL of cleaning fluid for 23 minutes, and 10 minutes of soak with the engine off."},
		"no plan":       {func(j *Job) { j.Plan, j.Ran = nil, nil }, "A concentrate clean of VAN-07 was planned; no run of the engine on it is recorded."},
	} {
		run, changed := ran, j
		run.EngineMin, run.SoakMin = 22.67, 10
		changed.Ran = &run
		c.change(&changed)
		if got := changed.Done(quantity.Printer{}); got != c.want+end {
			t.Errorf("%s: %s", name, got)
		}
	}
}

// The text, JSON and CSV of a report say the same sentence.
func TestDoneInEveryForm(t *testing.T) {
	r := Report{Job: walked(t)}
	want := r.Job.Done(quantity.Printer{})
	var text, rows bytes.Buffer
	r.Text(&text, quantity.Printer{})
	if err := r.CSV(&rows); err != nil {
		t.Fatal(err)
	}
	written, err := json.Marshal(r)
	if err != nil {
		t.Fatal(err)
	}
	for name, got := range map[string]string{"text": strings.Join(strings.Fields(text.String()), " "), "JSON": string(written), "CSV": rows.String()} {
		if !strings.Contains(got, want) {
			t.Errorf("the %s does not say %q", name, want)
		}
	}
}
