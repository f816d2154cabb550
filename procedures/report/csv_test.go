package report

import (
	"bytes"
	"encoding/csv"
	"strings"
	"testing"

	"daytank/planner/idletest"
)

// A text that a spreadsheet would compute is kept from it; a number is none. The signs are
// those that OWASP lists under CSV injection; tab and return are spaces by then.
func TestCell(t *testing.T) {
	for text, want := range map[string]string{
		"": "", "12": "12", "-0.5": "-0.5", "+3": "+3", "a=b": "a=b", "=1+1": "'=1+1", "-1+1": "'-1+1", "+A1": "'+A1", "@SUM(1)": "'@SUM(1)",
		"-": "'-", "-inf": "'-inf", "-0x10": "'-0x10", "-1e5": "'-1e5", "\t=1": "'=1", " =1": "'=1", "a\nb": "a b", "\u202e=1": "'=1", "\x1b[31m": "[31m",
	} {
		if got := Cell(text); got != want {
			t.Errorf("%q becomes %q, want %q", text, got, want)
		}
	}
}

// The facts are those of the model, one a row, and read back by any reader of RFC 4180.
func TestCSV(t *testing.T) {
	level, expected, heat, taken, change := 1220.0, 1231.5, 31.5, 61.5, -0.75
	r := Report{Head: strings.Repeat("ab", 32), Job: Job{
		Name: "VAN-07/3", Title: "=cmd", Plan: &Plan{Fluid: Fluid{ChargeML: 1800}, Levels: []Level{{AtMin: 2, LowML: 1, ExpectedML: 2, HighML: 3}}},
		Steps:    []Step{{Step: "oil", Kind: "value", Status: "done", PlannedS: 60, TakenS: &taken, Values: []Entry{{Seq: 7, Text: "4.5", Unit: "mm", Why: "misread, twice"}}}},
		Readings: []Reading{{Seq: 9, RunMin: 2.5, LevelML: &level, ExpectedML: &expected, Temperature: &heat}},
		Notes:    []Said{{Seq: 11, At: "10:00:00", Step: "oil", Text: "a \"note\"\nof two lines"}},
	}}
	r.Comparison.States = []idletest.Outcome{{State: idletest.Hot, Unit: idletest.CubicMillimetres, Verdict: idletest.Better, Cylinders: []idletest.Cylinder{{
		Cylinder: 1, Before: idletest.Side{Half: 0.25}, Change: change,
	}}}}
	var text bytes.Buffer
	if err := r.CSV(&text); err != nil {
		t.Fatal(err)
	}
	rows, err := csv.NewReader(&text).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	has := map[string]bool{}
	for _, row := range rows {
		has[strings.Join(row, "|")] = true
	}
	for _, want := range []string{
		"part|seq|at|step|name|value|unit|planned|low|high|remark",
		"job||||title|'=cmd|||||",
		"job||||head|" + r.Head + "|||||",
		"plan||||charge|1800|mL||||",
		"plan||2||level|2|mL||1|3|",
		"steps|||oil|value|61.5|s|60|||done",
		"values|7||oil||4.5|mm||||corrected: misread, twice",
		"readings|9|2.5||level|1220|mL|1231.5|||",
		"readings|9|2.5||temperature|31.5|°C||||",
		"comparison||||hot cylinder 1 before|0|mm3/stroke||-0.25|0.25|",
		"comparison||||hot cylinder 1 change|-0.75|mm3/stroke||||",
		"notes|11|10:00:00|oil||a \"note\" of two lines|||||",
	} {
		if !has[want] {
			t.Errorf("no row %q in\n%s", want, rows)
		}
	}
}
