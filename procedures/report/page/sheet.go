package page

import (
	"fmt"
	"io"
	"strings"

	"daytank/planner/quantity"
	"daytank/procedures"
	"daytank/procedures/checklist"
	"daytank/procedures/report"
)

// Sheet is a plan as it is printed for a bay without a laptop.
type Sheet struct {
	List      checklist.Checklist
	Plan      report.Plan
	Asset     string
	Emergency string // as it stands in a sentence after "call"
	Shop      string
	Print     quantity.Printer
	Mark      string // by which the sheet is known to be of this plan
}

// sheetShown is a sheet as its template sees it.
type sheetShown struct {
	Sheet
	report.Amounts
	Title    string
	Numbers  []headNumber
	Phases   []sheetPhase
	Tests    []sheetTest
	Columns  []string // of the idle tests
	Levels   []sheetLevel
	Marks    []sheetMark
	Findings []string
	Cautions []string
}

type sheetPhase struct {
	Title string
	Steps []sheetStep
}

type sheetStep struct {
	Number   int
	Say, For string // for: what is written down
	Hold     bool
}

// sheetTest is an idle test whose values are written down.
type sheetTest struct {
	Step, What string
}

type sheetLevel struct {
	At, Level, Band, Height, Mark, Temperature string
}

type sheetMark struct {
	Mark           int
	Volume, Height string
}

// Write writes the sheet as HTML.
func (s Sheet) Write(w io.Writer) error {
	a := report.Amounts{Printer: s.Print}
	out := sheetShown{
		Sheet: s, Amounts: a, Title: report.Plain(strings.TrimSpace(s.Asset + "  " + s.List.Title)), Cautions: report.Cautions(), Numbers: numbers(&s.Plan, a),
	}
	for _, f := range s.Plan.Findings {
		if f.Severity != "note" {
			out.Findings = append(out.Findings, strings.ToUpper(f.Severity)+" "+f.Message)
		}
	}
	out.Phases = s.phases()
	out.Tests, out.Columns = s.tests()
	run := s.List.Run
	height := func(ul int64) string {
		if run.ULPerMM == 0 {
			return "-"
		}
		return a.Length(quantity.Millimetres(float64(ul) / float64(run.ULPerMM)))
	}
	marks := run.FullUL > run.StopUL
	for _, l := range s.Plan.Levels {
		ul := int64(l.ExpectedML * 1000)
		row := sheetLevel{
			At: a.Tenths(l.AtMin), Level: a.ML(l.ExpectedML), Band: a.ML(l.LowML) + " to " + a.ML(l.HighML),
			Temperature: a.Celsius(l.TemperatureC), Height: height(ul), Mark: "-",
		}
		if marks {
			row.Mark = a.Tenths(run.MarkAt(ul))
		}
		out.Levels = append(out.Levels, row)
	}
	if marks {
		for n := 1; n <= checklist.Marks; n++ {
			ul := run.Mark(float64(n))
			out.Marks = append(out.Marks, sheetMark{Mark: n, Volume: a.ML(float64(ul) / 1000), Height: height(ul)})
		}
	}
	return render(w, "sheet.html", out)
}

func (s Sheet) phases() []sheetPhase {
	var all []sheetPhase
	n := 0
	for _, step := range s.List.Sitting() {
		if len(all) == 0 || all[len(all)-1].Title != s.List.PhaseTitle(step.Phase) {
			all = append(all, sheetPhase{Title: s.List.PhaseTitle(step.Phase)})
		}
		n++
		one := sheetStep{Number: n, Say: report.Plain(step.Say), Hold: step.Hold != nil}
		switch step.Kind {
		case procedures.Confirm:
			one.For = proven(step)
		case procedures.Value:
			one.For = "value"
			switch v := step.Value; {
			case v != nil && v.Text:
				one.For = "words"
			case v != nil:
				one.For = unitOr(v.Unit, "value")
			}
		case procedures.Choice:
			var keys []string
			for _, o := range step.Options {
				keys = append(keys, o.Key)
			}
			one.For = strings.Join(keys, " / ")
		case procedures.Timer, procedures.Run:
			one.For = "from, to"
		case procedures.Test:
			one.For = "values overleaf"
		}
		all[len(all)-1].Steps = append(all[len(all)-1].Steps, one)
	}
	return all
}

// proven says what is written down where something is to be proved: what its demand takes,
// the word, the number with its unit, or either.
func proven(step checklist.Step) string {
	d := step.Demand
	if d == nil {
		return "seen"
	}
	var takes []string
	if d.Word != "" {
		takes = append(takes, `"`+d.Word+`"`)
	}
	if n := d.Number; n != nil {
		unit := unitOr(n.Unit, "number")
		if long := map[string]string{"s": "seconds", "min": "minutes"}[unit]; long != "" {
			unit = long
		}
		takes = append(takes, unit)
	}
	return report.Plain(strings.Join(takes, " or "))
}

// unitOr gives a unit as it is printed; where there is none, what stands for it.
func unitOr(unit, none string) string {
	switch unit {
	case "", "none", "count":
		return none
	case "degC":
		return "°C"
	}
	return unit
}

// tests gives the idle tests of the sitting, then those that follow later, with the values
// that are noted of each.
func (s Sheet) tests() (all []sheetTest, columns []string) {
	var later []sheetTest
	for i, step := range s.List.Sitting() {
		if step.Test != nil {
			all = append(all, sheetTest{fmt.Sprint(i + 1), step.Test.Phase + ", " + step.Test.State})
			later = append(later, sheetTest{"later", "after, " + step.Test.State})
		}
	}
	columns = []string{"coolant °C", "idle rpm"}
	for c := range s.List.Cylinders {
		columns = append(columns, fmt.Sprint("cylinder ", c+1))
	}
	return append(all, later...), columns
}
