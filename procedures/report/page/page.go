package page

import (
	"bytes"
	"embed"
	"fmt"
	"html/template"
	"io"
	"strings"
	"sync"

	"daytank/planner/idletest"
	"daytank/planner/quantity"
	"daytank/procedures/report"
)

//go:embed pages
var files embed.FS

// Report is what a report shows: a record, what a reviewer sees of it, and what its tests
// say.
type Report struct {
	Job   report.Job
	Sheet report.ReviewSheet
	Tests idletest.Comparison
	Head  string // of the record, whole
	Shop  string // whose it is; empty: nobody's
	Print quantity.Printer
}

// templates reads the pages once, when the first is written.
var templates = sync.OnceValue(func() *template.Template {
	return template.Must(template.New("").Funcs(template.FuncMap{
		"plain": report.Plain,
		"num":   func(format string, x *float64) string { return optional(format, x) },
		"upper": strings.ToUpper,
		"inc":   func(i int) int { return i + 1 },
	}).ParseFS(files, "pages/*.html"))
})

func optional(format string, x *float64) string {
	if x == nil {
		return "-"
	}
	return fmt.Sprintf(format, *x)
}

// render writes a page. What it shows is escaped by the template; what cannot be seen and
// changes how the rest is read is left out, wherever it came from.
func render(w io.Writer, name string, model any) error {
	var text bytes.Buffer
	if err := templates().ExecuteTemplate(&text, name, model); err != nil {
		return err
	}
	for line := range bytes.Lines(text.Bytes()) {
		if _, err := io.WriteString(w, report.Plain(string(bytes.TrimRight(line, "\n")))+"\n"); err != nil {
			return err
		}
	}
	return nil
}

// shown is a report as its template sees it.
type shown struct {
	Report
	Title    string
	Done     string // one sentence of what was done
	Open     []string
	Run      []picture
	Times    []picture
	Results  []picture
	Cautions []string
	Stop     string
	Peak     string
}

func (r Report) shown() shown {
	j := r.Job
	s := shown{Report: r, Title: report.Plain(j.Name + "  " + j.Title), Open: append([]string{}, j.Open...), Cautions: report.Cautions()}
	s.Run, s.Times, s.Results = runPictures(j), timesPicture(j), testPictures(r.Tests)
	s.Done = done(j)
	if j.Plan != nil {
		s.Stop, s.Peak = "not reached", "-"
		if e := j.Plan.RunDry.ReserveReached.Earliest; e != nil {
			s.Stop = fmt.Sprintf("%.0f min", *e)
		}
		s.Peak = optional("%.0f °C", j.Plan.Temperature.PeakC.Expected)
	}
	return s
}

// done says in a sentence what was done.
func done(j report.Job) string {
	if j.Plan == nil {
		return fmt.Sprintf("The fuel injection system of %s was cleaned by %s; the record is %s.", j.Asset, j.Operator, j.State)
	}
	last := 0.0
	for _, r := range j.Readings {
		if !r.Struck {
			last = max(last, r.RunMin)
		}
	}
	if last == 0 {
		return fmt.Sprintf("A concentrate clean of %s was planned with %.0f mL of cleaning fluid; the engine has not run on it. The record is %s.", j.Asset, j.Plan.Fluid.ChargeML, j.State)
	}
	return fmt.Sprintf("The fuel injection system of %s was cleaned with the engine idling on %.0f mL of cleaning fluid, for %.0f minutes, by %s. The record is %s.",
		j.Asset, j.Plan.Fluid.ChargeML, last, j.Operator, j.State)
}

// Write writes the report as HTML.
func (r Report) Write(w io.Writer) error {
	return render(w, "report.html", r.shown())
}

// WriteCustomer writes the copy for the customer: one page, what was done, what came of it,
// what to look after.
func (r Report) WriteCustomer(w io.Writer) error {
	return render(w, "customer.html", r.shown())
}
