package cli

import (
	"bytes"
	"path/filepath"
	"testing"

	"daytank/procedures/record"
	"daytank/procedures/report/page"

	"github.com/google/go-cmp/cmp"
)

// What show says and what the report says are one model; the same record gives the same
// bytes, also when the asset has a later job.
func TestReportAndShowAgree(t *testing.T) {
	w, clock := newJobOf(t, filepath.Join(root, "testdata", "jobs", "van.yaml"))
	w.talk = &oddActor{actor: actor{walker: w, clock: clock}}
	if err := w.walk(t.Context()); err != nil {
		t.Fatal(err)
	}
	sum, err := w.store.Get(t.Context(), w.sitting.Summary.Job)
	if err != nil {
		t.Fatal(err)
	}
	written := func() string {
		r := w.reported(t, sum)
		shown, err := showSitting(t.Context(), w.bench, sum, w.app)
		if err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(shown, r.Job); diff != "" {
			t.Errorf("show and report differ (show -, report +):\n%s", diff)
		}
		var text bytes.Buffer
		if err := r.Write(&text); err != nil {
			t.Fatal(err)
		}
		if err := r.CSV(&text); err != nil {
			t.Fatal(err)
		}
		return text.String()
	}
	first := written()
	planned := w.sitting.State().Job()
	prepared, err := w.bench.Prepare(planned)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := w.bench.Begin(t.Context(), prepared); err != nil {
		t.Fatal(err)
	}
	if again := written(); again != first {
		t.Error("a later job of the asset changed the report of the earlier one")
	}
}

// reported gives what the report of a job shows.
func (w *walker) reported(t *testing.T, sum record.Summary) page.Report {
	t.Helper()
	p, err := w.app.press(w.store)
	if err != nil {
		t.Fatal(err)
	}
	before, err := p.soFar(t.Context(), sum)
	if err != nil {
		t.Fatal(err)
	}
	r, err := p.report(t.Context(), sum, before)
	if err != nil {
		t.Fatal(err)
	}
	return r
}
