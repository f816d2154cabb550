package handbook

import (
	"fmt"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"

	"daytank/planner"
	"daytank/planner/engine"
	"daytank/planner/hydraulics"
	"daytank/planner/quantity"
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

// examples compute, with the code that plans and compares, what comes out of
// the amounts that an example is given.
var examples = map[string]func(t *testing.T, in []any) []any{
	"hose": func(t *testing.T, in []any) []any {
		set := []string{to("rig.supply_hose.bore", in[0]), to("rig.supply_hose.length", in[1]), to("engine.return_temperature_max", in[2])}
		p := plan(t, set...)
		if p.Heat.Peak.High >= in[2].(quantity.Temperature) {
			t.Errorf("the fluid does not stay cooler: %.0f °C", p.Heat.Peak.High.Celsius())
		}
		j := job(t, set...)
		return []any{hydraulics.Contents(j.Rig.SupplyHose.Bore, j.Rig.SupplyHose.Length), p.Return.Required}
	},
}

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
