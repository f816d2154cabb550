package page

import (
	"fmt"
	"io"
	"strings"

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
}

// sheetShown is a sheet as its template sees it.
type sheetShown struct {
	Sheet
	Title    string
	Stop     string
	Peak     string
	Phases   []sheetPhase
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

type sheetLevel struct {
	At, Level, Band, MM, Mark, Temperature string
}

type sheetMark struct {
	Mark   int
	ML, MM string
}

// Write writes the sheet as HTML.
func (s Sheet) Write(w io.Writer) error {
	out := sheetShown{Sheet: s, Title: report.Plain(strings.TrimSpace(s.Asset + "  " + s.List.Title)), Stop: "not reached", Peak: "-", Cautions: report.Cautions()}
	if e := s.Plan.RunDry.ReserveReached.Earliest; e != nil {
		out.Stop = fmt.Sprintf("%.0f min", *e)
	}
	out.Peak = optional("%.0f °C", s.Plan.Temperature.PeakC.Expected)
	for _, f := range s.Plan.Findings {
		if f.Severity != "note" {
			out.Findings = append(out.Findings, strings.ToUpper(f.Severity)+" "+f.Message)
		}
	}
	out.Phases = s.phases()
	run := s.List.Run
	for _, l := range s.Plan.Levels {
		ul := int64(l.ExpectedML * 1000)
		row := sheetLevel{
			At: fmt.Sprintf("%.1f", l.AtMin), Level: fmt.Sprintf("%.0f", l.ExpectedML), Band: fmt.Sprintf("%.0f to %.0f", l.LowML, l.HighML),
			Temperature: fmt.Sprintf("%.0f", l.TemperatureC), MM: "-",
			Mark: strings.TrimPrefix(run.InUnit(ul, "mark"), "mark "),
		}
		if run.ULPerMM > 0 {
			row.MM = strings.TrimSuffix(run.InUnit(ul, "mm"), " mm")
		}
		out.Levels = append(out.Levels, row)
	}
	if run.FullUL > run.StopUL {
		for n := 1; n <= checklist.Marks; n++ {
			m := sheetMark{Mark: n, ML: fmt.Sprint(run.Mark(float64(n)) / 1000), MM: "-"}
			if run.ULPerMM > 0 {
				m.MM = strings.TrimSuffix(run.InUnit(run.Mark(float64(n)), "mm"), " mm")
			}
			out.Marks = append(out.Marks, m)
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
			one.For = "seen"
		case procedures.Value:
			one.For = "value"
			if v := step.Value; v != nil && v.Unit != "" && v.Unit != "none" && v.Unit != "count" {
				one.For = strings.Replace(v.Unit, "degC", "°C", 1)
			}
		case procedures.Choice:
			one.For = "which"
		case procedures.Timer, procedures.Run:
			one.For = "from, to"
		case procedures.Test:
			one.For = "values overleaf"
		}
		all[len(all)-1].Steps = append(all[len(all)-1].Steps, one)
	}
	return all
}
