package page

import (
	"bytes"
	"embed"
	"html/template"
	"io"
	"sync"

	"daytank/planner/quantity"
	"daytank/procedures/proof"
	"daytank/procedures/report"
)

//go:embed pages
var files embed.FS

// Report is a report as a page.
type Report struct {
	report.Report
	Print quantity.Printer
	Stamp string // by which it is known again, see [Stamp]; hexadecimal digits
}

// templates reads the pages once, when the first is written.
var templates = sync.OnceValue(func() *template.Template {
	return template.Must(template.New("").Funcs(template.FuncMap{
		"plain": report.Plain,
	}).ParseFS(files, "pages/*.html"))
})

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
	report.Amounts
	Title    string
	Run      []picture
	Times    []picture
	Results  []picture
	Over     []picture // the jobs of the engine
	Cautions []string
	Numbers  []headNumber
}

func (r Report) shown() shown {
	j, draw := r.Job, artist{report.Amounts{Printer: r.Print}}
	return shown{
		Report: r, Amounts: draw.Amounts, Title: report.Plain(j.Name + "  " + j.Title), Cautions: report.Cautions(),
		Run: draw.run(j), Times: draw.times(j), Results: draw.tests(r.Comparison), Over: draw.trend(r.Trend), Numbers: numbers(j.Plan, draw.Amounts),
	}
}

// Done says what was done.
func (s shown) Done() string { return s.Job.Done(s.Print) }

// span is a time of the run.
type span struct {
	What    string
	Minutes float64
}

// Spans gives how long the engine ran and the fluid soaked; where no run is recorded, what
// was planned.
func (s shown) Spans() []span {
	if s.Job.Plan == nil {
		return nil
	}
	engine, soak := s.Job.Plan.Planned()
	as := ", as planned"
	if r := s.Job.Ran; r != nil {
		engine, soak, as = r.EngineMin, r.SoakMin, ""
	}
	all := []span{{"engine running on it" + as, engine}}
	if soak > 0 {
		all = append(all, span{"soak, engine off" + as, soak})
	}
	return all
}

// LifeAt writes a place in the life of the engine.
func (s shown) LifeAt(p proof.Point) string { return report.LifeAt(*s.Trend, p.At, p.On, s.Print) }

// Write writes the report as HTML.
func (r Report) Write(w io.Writer) error {
	return render(w, "report.html", r.shown())
}

// WriteCustomer writes the copy for the customer: one page, what was done, what came of it,
// what to look after.
func (r Report) WriteCustomer(w io.Writer) error {
	return render(w, "customer.html", r.shown())
}
