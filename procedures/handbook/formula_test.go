package handbook

import (
	"errors"
	"fmt"
	"math"
	"os"
	"reflect"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"daytank/planner"
	"daytank/planner/engine"
	"daytank/planner/quantity"
	"daytank/planner/strict"
	"daytank/safety"
)

// job gives the van of the harbour workshop with changes PATH=VALUE.
func job(t testing.TB, set ...string) planner.Job {
	t.Helper()
	j, err := readJob(t, set...)
	if err != nil {
		t.Fatalf("%v: %v", set, err)
	}
	return j
}

func readJob(t testing.TB, set ...string) (planner.Job, error) {
	t.Helper()
	text, err := os.ReadFile("../../testdata/jobs/van.yaml")
	if err != nil {
		t.Fatal(err)
	}
	library, err := engine.Shipped()
	if err != nil {
		t.Fatal(err)
	}
	return planner.ReadJobWith("van.yaml", text, set, library, planner.Date{Year: 2026, Month: 3, Day: 14})
}

func plan(t testing.TB, set ...string) planner.Plan {
	t.Helper()
	return planner.Compute(job(t, set...))
}

// to writes a change of the job as a reader of the example would: with what is
// shown.
func to(path string, amount any) string { return path + "=" + quantity.Printer{}.Any(amount) }

func all(t testing.TB) []Formula {
	t.Helper()
	formulas, err := Formulas()
	if err != nil || len(formulas) == 0 {
		t.Fatalf("%d formulas, %v", len(formulas), err)
	}
	return formulas
}

// Every example comes out as it is written, in either system of units.
func TestExamples(t *testing.T) {
	for _, f := range all(t) {
		compute, ok := examples[f.ID]
		if !ok || len(f.Gives.Args) == 0 {
			t.Errorf("%s: nothing computes its example, or it gives nothing", f.ID)
			continue
		}
		t.Run(f.ID, func(t *testing.T) {
			got := compute(t, f.Given.Args)
			if len(got) != len(f.Gives.Args) {
				t.Fatalf("%d amounts come out, and %d are written", len(got), len(f.Gives.Args))
			}
			for i, want := range f.Gives.Args {
				for _, show := range []quantity.Printer{{}, {System: quantity.USCustomary}} {
					if w, g := show.Any(want), written(show, got[i], want); w != g {
						t.Errorf("amount %d is written %s and comes out as %s (%v)", i+1, w, g, got[i])
					}
				}
			}
		})
	}
	for id := range examples {
		if _, ok, _ := FormulaByID(id); !ok {
			t.Errorf("%s is computed and is no formula", id)
		}
	}
}

// written gives an amount as shown, a plain number with the digits of another.
func written(show quantity.Printer, amount, like any) string {
	x, plain := amount.(float64)
	y, both := like.(float64)
	switch {
	case plain && both:
		_, digits, _ := strings.Cut(strconv.FormatFloat(y, 'f', -1, 64), ".")
		scale := math.Pow(10, float64(len(digits)))
		return show.Any(math.Round(x*scale) / scale)
	case fmt.Sprintf("%T", amount) != fmt.Sprintf("%T", like):
		return fmt.Sprintf("a %T", amount)
	}
	return show.Any(amount)
}

// Every formula is named after its file, says where each symbol comes from by
// keys that a job file has, and stands on a source.
func TestFormulas(t *testing.T) {
	for _, f := range all(t) {
		if len(f.Lines) == 0 || len(f.Symbols) == 0 || f.Title == "" || f.Source == "" {
			t.Errorf("%s lacks something: %+v", f.ID, f)
		}
		for _, s := range f.Symbols {
			if said := s.in(quantity.Printer{}); strings.Contains(said, "%!") {
				t.Errorf("%s: a symbol reads %q", f.ID, said)
			}
			if s.Key == "" {
				continue
			}
			// What is no amount is refused by its place, and so is a key that is not known.
			if _, err := readJob(t, s.Key+"=no value"); err == nil || strings.Contains(err.Error(), "not known") {
				t.Errorf("%s: %s is no key of a job file: %v", f.ID, s.Key, err)
			}
		}
	}
	if _, err := readJob(t, "rig.supply_hose.bor=no value"); err == nil || !strings.Contains(err.Error(), "not known") {
		t.Errorf("a key that is not known is not refused as such: %v", err)
	}
}

// Formulas that a page names are there, and each has its place in an appendix.
func TestFormulasAreNamed(t *testing.T) {
	named := map[string]bool{}
	for _, r := range safety.Rules() {
		for _, id := range r.Formulas {
			named[id] = true
		}
	}
	reference := regexp.MustCompile(`\bformula ([a-z]+(?:-[a-z]+)*)`)
	for _, f := range all(t) {
		for _, part := range OfFormula(f, quantity.Printer{}).Parts {
			for _, text := range append(part.List, part.Text) {
				for _, m := range reference.FindAllStringSubmatch(text, -1) {
					named[m[1]] = true
				}
			}
		}
	}
	var placed []string
	for _, o := range order {
		placed = append(placed, o.id)
	}
	slices.Sort(placed)
	for i, f := range all(t) {
		if i >= len(placed) || placed[i] != f.ID {
			t.Fatalf("%s has no place in an appendix, or two: %v", f.ID, placed)
		}
	}
	if len(placed) != len(all(t)) {
		t.Errorf("an appendix has places for %v", placed)
	}
	for id := range named {
		if _, ok, _ := FormulaByID(id); !ok {
			t.Errorf("formula %s is named, and there is none", id)
		}
	}
}

// What does not read is refused with its place.
func TestReadFormulaRefuses(t *testing.T) {
	const sound = `formula: 1
id: x
title: {en: "x"}
for: It is for {8 mm}.
lines: ["a = b"]
symbols: [{symbol: a, is: "{5 K}", job: rig.lift}]
example: {given: "{1}", gives: "{2 mL}"}
source: nobody
`
	f, err := ReadFormula("x.yaml", []byte(sound))
	if err != nil {
		t.Fatal(err)
	}
	if got := (quantity.Printer{System: quantity.USCustomary}).Phrase(f.For); got != "It is for 0.31 in." {
		t.Errorf("it reads %q", got)
	}
	for _, c := range []struct{ of, put, want string }{
		{"{8 mm}", "{8 wheels}", "x.yaml:4:6: for: {8 wheels} is no amount"},
		{"{8 mm}", "{8 mm", "x.yaml:4:6: for: a brace is not closed"},
		{`["a = b"]`, "[]", "x.yaml:5:8: lines: at least one is wanted"},
		{"source: nobody\n", "", "source: is missing"},
		{"job: rig.lift", "jobs: rig.lift", "this key is not known here"},
		{"formula: 1", "formula: 2", "formula: "},
	} {
		_, err := ReadFormula("x.yaml", []byte(strings.Replace(sound, c.of, c.put, 1)))
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%q for %q: %v, want %q", c.put, c.of, err, c.want)
		}
	}
}

// What stands in where a job says nothing is what the page says: without the
// key the plan is that with the amount of the page, and not that with another.
func TestDefaults(t *testing.T) {
	others := map[string]string{
		"rig.watch_time": "50 s", "rig.container.pickup_height": "25 mm", "fluid.density": "790 kg/m3",
		"fuel_flash_point": "40 °C", "engine.correction_limit": "4 mm3/stroke",
	}
	type planned struct {
		planner.Plan
		limit quantity.PerStroke
	}
	with := func(set ...string) planned {
		j := job(t, append(set, "rig.first_flush=none")...)
		return planned{planner.Compute(j), j.Engine.CorrectionLimit}
	}
	held := map[string]bool{}
	var together []string // a job gives both viscosities or neither
	for _, f := range all(t) {
		for _, s := range f.Symbols {
			if s.Key == "" || !strings.HasPrefix(s.From.Format, "otherwise %v") {
				continue
			}
			if strings.HasPrefix(s.Key, "fluid.viscosity_") {
				together = append(together, to(s.Key, s.From.Args[0]))
				continue
			}
			held[s.Key] = true
			without := with(s.Key + "=")
			if !reflect.DeepEqual(without, with(to(s.Key, s.From.Args[0]))) {
				t.Errorf("%s: without %s the plan is not that with %v", f.ID, s.Key, s.From.Args[0])
			}
			if other := others[s.Key]; other == "" || reflect.DeepEqual(without, with(s.Key+"="+other)) {
				t.Errorf("%s: whether %s is %q makes no difference", f.ID, s.Key, other)
			}
		}
	}
	without := with("fluid.viscosity_40=", "fluid.viscosity_100=")
	if len(together) != 2 || !reflect.DeepEqual(without, with(together...)) || reflect.DeepEqual(without, with()) {
		t.Errorf("without viscosities the plan is not that with %v", together)
	}
	if len(held) != len(others) {
		t.Errorf("defaults of %v are held, of %d that the pages should name", held, len(others))
	}
}

// Whatever bytes a file has, it is a formula that can be shown or a list of
// problems.
func FuzzReadFormula(f *testing.F) {
	entries, err := data.ReadDir("formulas")
	if err != nil || len(entries) == 0 {
		f.Fatal("no seeds: ", err)
	}
	for _, e := range entries {
		text, err := data.ReadFile("formulas/" + e.Name())
		if err != nil {
			f.Fatal(err)
		}
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text []byte) {
		formula, err := ReadFormula("f.yaml", text)
		var problems strict.Problems
		switch {
		case err == nil:
			if p := OfFormula(formula, quantity.Printer{}); p.ID == "" || p.Title == "" {
				t.Errorf("a formula without a name or a title: %+v", p)
			}
		case !errors.As(err, &problems) || len(problems) == 0:
			t.Errorf("%v is no list of problems", err)
		}
	})
}
