package report

import (
	"bytes"
	"strings"
	"testing"

	"daytank/planner/quantity"
)

// The timeline has the day of its first entry and of each that begins another; what was
// said stands with its day, in the text as in the CSV.
func TestDays(t *testing.T) {
	j := walked(t)
	n := int64(len(j.Timeline))
	j.Timeline = append(j.Timeline,
		Line{Seq: n + 1, Day: "2026-11-20", At: "21:15:25", By: "Ines Holm", Kind: "signed", Text: "work: fit"},
		Line{Seq: n + 2, Day: "2026-11-20", At: "21:16:00", By: "Ines Holm", Kind: "note"})
	j.Notes = append(j.Notes, Said{Seq: n + 2, Day: "2026-11-20", At: "21:16:00", Step: "gloves-on", Text: "later"})
	j.Alarms = append(j.Alarms, Said{Seq: 3, Day: "2026-03-14", At: "09:10:00", Text: "EMERGENCY was called"})
	var text, rows bytes.Buffer
	JobText(&text, j, true, quantity.Printer{})
	_, timeline, _ := strings.Cut(text.String(), "\ntimeline\n")
	if !strings.HasPrefix(timeline, "  2026-03-14\n     1  09:00:00  created ") {
		t.Errorf("the timeline begins %.60q", timeline)
	}
	if want := "\n  2026-11-20\n"; strings.Count(timeline, want) != 1 || strings.Count(timeline, "2026-03-14\n") != 1 || !strings.Contains(timeline, "  21:15:25  signed ") {
		t.Errorf("the timeline has not each day once:\n%s", timeline)
	}
	if err := (Report{Job: j}).CSV(&rows); err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"  2026-11-20 21:16:00 gloves-on: later\n", "  2026-03-14 09:10:00 EMERGENCY was called\n"} {
		if !strings.Contains(text.String(), want) {
			t.Errorf("the text does not say %q", want)
		}
	}
	for _, want := range []string{",2026-11-20 21:15:25,,signed,", ",2026-11-20 21:16:00,gloves-on,,later,"} {
		if !strings.Contains(rows.String(), want) {
			t.Errorf("the CSV has no %q", want)
		}
	}
}
