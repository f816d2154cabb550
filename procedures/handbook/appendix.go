package handbook

import (
	"slices"

	"daytank/planner/engine"
	"daytank/planner/quantity"
	"daytank/safety"
)

// Matter is what an appendix is about.
type Matter struct {
	Rules   []string // that found something in the plan
	Hazards []string // of the steps
	Layout  engine.Layout
	Pulled  bool // the engine's own pump draws the fluid
	Dosed   bool // something goes into a tank
	Tested  bool // idle tests were compared
}

// order is that of the formulas in an appendix: as a plan is made, then as
// tests are compared. Those of a plan are in every one.
var order = []struct {
	id   string
	main func(Matter) bool
}{
	{"idle-burn", always},
	{"first-flush", always},
	{"fluid-needed", always},
	{"hose", always},
	{"stop-level", always},
	{"return-slip", always},
	{"level-reading", always},
	{"container-heat", always},
	{"warm-and-hot", always},
	{"viscosity", pulled},
	{"suction-pressure", pulled},
	{"return-pressure", always},
	{"priming", always},
	{"tank-dose", func(m Matter) bool { return m.Dosed }},
	{"waste-can", always},
	{"test-scatter", tested},
	{"test-change", tested},
	{"test-same", tested},
	{"test-spread", tested},
	{"test-trend", tested},
}

func always(Matter) bool   { return true }
func pulled(m Matter) bool { return m.Pulled }
func tested(m Matter) bool { return m.Tested }

// Appendix gives the pages that a plan, its checklist and its tests rest on:
// rules in their order, hazards as they come in the steps, the layout, then the
// formulas that those rules name and the main ones. The error is a fault of a
// shipped file.
func Appendix(m Matter, show quantity.Printer) ([]Page, error) {
	var pages []Page
	var named []string
	for _, r := range safety.Rules() {
		if slices.Contains(m.Rules, r.ID) {
			pages = append(pages, OfRule(r, show))
			named = append(named, r.Formulas...)
		}
	}
	var seen []string
	for _, id := range m.Hazards {
		if h, ok := safety.HazardByID(id); ok && !slices.Contains(seen, id) {
			pages, seen = append(pages, OfHazard(h)), append(seen, id)
		}
	}
	if m.Layout.ID != "" {
		pages = append(pages, OfLayout(m.Layout, show))
	}
	for _, o := range order {
		if !o.main(m) && !slices.Contains(named, o.id) {
			continue
		}
		f, ok, err := FormulaByID(o.id)
		if err != nil {
			return pages, err
		}
		if ok {
			pages = append(pages, OfFormula(f, show))
		}
	}
	return pages, nil
}
