package page

import (
	"bytes"
	"html"
	"strings"
	"testing"

	"daytank/procedures/report"
)

// The report and the sheet head with the three numbers of the plan's text: how much, until
// when, with the stop level beside it, how hot.
func TestThreeNumbers(t *testing.T) {
	s := sheetOfVan(t)
	var sheet bytes.Buffer
	if err := s.Write(&sheet); err != nil {
		t.Fatal(err)
	}
	for name, got := range map[string]string{"sheet": sheet.String(), "report": pages(t, walked(t))["report"]} {
		for _, want := range []string{
			"<li><b>1800 mL</b>how much: 3 packs; 300 mL of it to the waste can first</li>",
			"<li><b>42 min</b>until when, or when 614 mL, 64.6 mm, are left, whichever is first (at the earliest after 71 min)</li>",
			"<li><b>33 °C</b>how hot: expected, 58 °C at worst; warm from 50 °C, off at 60 °C</li>",
		} {
			if !strings.Contains(html.UnescapeString(got), want) {
				t.Errorf("the %s does not head with %q", name, want)
			}
		}
	}
	var a report.Amounts
	p := s.Plan
	p.RunDry.ReserveReached.Earliest, p.RunDry.StopLevelMM = nil, nil
	if got := numbers(&p, a)[1].Text; got != "until when, or when 614 mL are left, whichever is first (the stop level is not reached)" {
		t.Errorf("never reached: %s", got)
	}
	p.Levels = nil
	if got := numbers(&p, a)[1].Text; !strings.HasSuffix(got, "(the stop level is not kept at all)") {
		t.Errorf("not kept: %s", got)
	}
}

// What is to be proved says on paper what its demand takes: the word, the number with its
// unit, or either of them.
func TestProofsOnPaper(t *testing.T) {
	s := sheetOfVan(t)
	got := map[string]string{}
	for _, step := range s.List.Sitting() {
		if step.Demand != nil {
			got[step.ID] = proven(step)
		}
	}
	var sheet bytes.Buffer
	if err := s.Write(&sheet); err != nil {
		t.Fatal(err)
	}
	for step, want := range map[string]string{
		"ventilation": `"outside" or ppm`, "extinguisher": `"green" or kg`, "pressure-released": `"zero" or minutes`, "pump-dead": `"dead" or number`,
		"engine-stop": "seconds", "ends-capped": "number", "leak-check": `"dry"`, "stop-level": "mL",
	} {
		if got[step] != want {
			t.Errorf("%s has %q, want %q", step, got[step], want)
		}
		if line := `<span class="faint">` + want + `</span> <span class="line">`; !strings.Contains(html.UnescapeString(sheet.String()), line) {
			t.Errorf("the sheet has no %s", line)
		}
	}
}
