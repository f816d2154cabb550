package cli

import (
	"bytes"
	"context"
	"image"
	"image/png"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"daytank/cmd/internal/demo"
	"daytank/procedures/checklist/rehearsal"
	"daytank/procedures/record"
	"daytank/procedures/report"
)

// clerk types what stands on a sheet where all went as planned, after some lines of its own.
type clerk struct {
	walker *walker
	lines  []string
	asked  []string
}

func (c *clerk) ReadFresh(ctx context.Context, question string, wake time.Duration, _ func() time.Duration) (string, error) {
	return c.Read(ctx, question, wake)
}

func (c *clerk) Read(_ context.Context, question string, _ time.Duration) (string, error) {
	c.asked = append(c.asked, question)
	if len(c.lines) > 0 {
		line := c.lines[0]
		c.lines = c.lines[1:]
		return line, nil
	}
	text, _ := rehearsal.Answer(c.walker.asked, c.walker.sitting.State().List())
	return text, nil
}

// pictureIn writes a picture that is none of a sheet, and gives its path.
func pictureIn(t *testing.T, folder string) string {
	t.Helper()
	var text bytes.Buffer
	if err := png.Encode(&text, image.NewGray(image.Rect(0, 0, 4, 4))); err != nil {
		t.Fatal(err)
	}
	file := filepath.Join(folder, "sheet.png")
	if err := os.WriteFile(file, text.Bytes(), 0o600); err != nil {
		t.Fatal(err)
	}
	return file
}

// What was done by a printed sheet is entered afterwards, with a photo of it: the record
// says so everywhere, holds no proof and no time, and comes first in the review.
func TestWalkFromPaper(t *testing.T) {
	w, _ := newJobOf(t, filepath.Join(root, "testdata", "jobs", "van.yaml"))
	var out bytes.Buffer
	w.app.env.Stdout = &out
	if err := w.photograph([]string{pictureIn(t, t.TempDir())}); err != nil {
		t.Fatal(err)
	}
	w.talk = &clerk{walker: w, lines: []string{"", "Tobi Fenn", "12 March", "2026-03-15", "2026-03-12", "the laptop was flat"}}
	sum := w.sitting.Summary
	if err := w.resume(t.Context(), sum); err != nil {
		t.Fatal(err)
	}
	if err := w.walk(t.Context()); err != nil {
		t.Fatalf("%v\n%s", err, out.String())
	}
	for _, want := range []string{
		"Not taken: a name is wanted.", `Not taken: date "12 March" is not written as year-month-day`, "Not taken: 2026-03-15 is still to come.",
		"at its foot. Where yours has another", "is to review.",
	} {
		if !strings.Contains(out.String(), want) {
			t.Errorf("nothing says %q in\n%s", want, out.String())
		}
	}
	for _, no := range []string{"KEY OFF", "DO:", "CALLED OUT", "HOLD"} {
		if strings.Contains(out.String(), no) {
			t.Errorf("it says %q", no)
		}
	}
	sum, err := w.store.Get(t.Context(), sum.Job)
	if err != nil || sum.State != record.StateToReview || sum.Weight.Worst() != record.RankTranscribed {
		t.Errorf("the job is %s, its worst %s; %v", sum.State, sum.Weight.Worst().Words(), err)
	}
	r := w.reported(t, sum)
	var page, customer, text bytes.Buffer
	if err := r.Write(&page); err != nil {
		t.Fatal(err)
	}
	if err := r.WriteCustomer(&customer); err != nil {
		t.Fatal(err)
	}
	report.JobText(&text, r.Job, false, r.Print)
	for name, got := range map[string]string{"report": page.String(), "customer's copy": customer.String(), "show": text.String()} {
		if !strings.Contains(got, "FROM PAPER: done by Tobi Fenn on 2026-03-12") {
			t.Errorf("the %s does not say that it is from paper", name)
		}
	}
	if r.Job.Taken != 0 || len(r.Job.Photos) != 1 || r.Job.Photos[0].File != "sheet.png" || r.Job.BurnRead != nil {
		t.Errorf("taken %g min, photos %v, burn %v", r.Job.Taken, r.Job.Photos, r.Job.BurnRead)
	}
	if len(r.Review.Items) == 0 || !strings.HasPrefix(r.Review.Items[0].Text, "entered from a sheet of paper, done by Tobi Fenn on 2026-03-12") {
		t.Errorf("the review begins with %+v", r.Review.Items)
	}
	if file, err := w.app.takePhoto(filepath.Join(root, "README.md")); err == nil {
		t.Errorf("a text is taken for a photo: %s", file.File)
	}
	if _, ok := w.talk.(*clerk); !ok || w.operator != demo.Operator {
		t.Error("somebody else entered it")
	}
}
