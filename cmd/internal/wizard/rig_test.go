package wizard

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"daytank/cmd/internal/prompt"
	"daytank/planner"
	"daytank/planner/quantity"
	"daytank/procedures"
	"daytank/procedures/checklist"
	"daytank/safety"
)

// desk is what a wizard of these tests works with, and what came of it.
type desk struct {
	t      *testing.T
	config Config
	saved  []checklist.Planned
	by     string
	names  int
}

var morning = time.Date(2026, 3, 14, 9, 0, 0, 0, time.UTC)

func newDesk(t *testing.T) *desk {
	t.Helper()
	d, err := deskWith(filepath.Join(t.TempDir(), "drafts"))
	if err != nil {
		t.Fatal(err)
	}
	d.t = t
	return d
}

// deskWith is a desk whose drafts are kept in a folder.
func deskWith(drafts string) (*desk, error) {
	library, err := procedures.Shipped()
	if err != nil {
		return nil, err
	}
	d := &desk{}
	d.config = Config{
		Engines: library.Engines(), Printer: quantity.Printer{}, Drafts: drafts,
		Now:      func() time.Time { return morning },
		NewName:  func() (string, error) { d.names++; return fmt.Sprintf("draft-%d", d.names), nil },
		Operator: "Tobi Fenn", CanWalk: true,
		Prepare: func(job planner.Job) (checklist.Planned, bool, error) {
			p, known := library.For(job.Engine.Layout.ID)
			if !known {
				plan := planner.Compute(job)
				return checklist.Planned{Basis: checklist.Basis{Job: job}, Plan: plan, Assessment: safety.Assess(job, plan)}, false, nil
			}
			made, err := checklist.Basis{Procedure: p, Job: job}.Make()
			return made, true, err
		},
		Save: func(_ context.Context, planned checklist.Planned, operator string) (string, error) {
			d.saved, d.by = append(d.saved, planned), operator
			return fmt.Sprintf("%s/%d", planned.Basis.Job.Asset, len(d.saved)), nil
		},
	}
	return d, nil
}

// script is what somebody answers: by the path of the question, with the pages
// that are asked in full. What is not among them is answered with Enter alone.
type script struct {
	answers map[string]string
	full    []string
	plan    []string // what is done at the plan
}

// theVan is the harbour workshop's van, as its job file has it.
var theVan = script{
	full: []string{"vehicle", "engine", "fluid", "rig", "site", "condition", "tank"},
	answers: map[string]string{
		"asset": "VAN-07", "title": "Van 7, spring service", "date": "2026-03-14", "odometer": "148200 km",
		"last_clean.on": "2025-03-02", "last_clean.odometer": "131000 km",
		"engine.layout": "rail-pumped", "engine.cylinders": "4", "engine.displacement": "2.1 L", "engine.stroke": "92 mm",
		"engine.idle_speed": "800 rpm", "engine.idle_burn": "0.70 L/h", "engine.return_flow": "32 L/h", "engine.return_temperature_max": "85 degC",
		"engine.own_feed_pump": "yes", "engine.filter_volume": "350 mL", "engine.line_volume": "150 mL",
		"engine.primer.kind": "electric", "engine.primer.flow": "90 L/h", "engine.primer.run_per_key_on": "20 s",
		"engine.crank.for": "10 s", "engine.crank.rest": "60 s", "engine.crank.attempts": "3",
		"engine.aftertreatment": "none", "engine.stop_device": "key", "engine.extra_returns": "none", "engine.injectors": "solenoid",
		"fluid.name": "cleaner A", "fluid.flash_point": "67 °C", "fluid.density": "808 kg/m3", "fluid.viscosity_40": "2.4 mm2/s",
		"fluid.viscosity_100": "1.0 mm2/s", "fluid.hazards": "H304, H315", "fluid.pack": "600 mL", "fluid.price": "14.00",
		"rig.container.capacity": "3 L", "rig.container.diameter": "110 mm", "rig.container.pickup_height": "10 mm",
		"rig.container.pickup_bore": "8 mm", "rig.container.closed": "yes",
		"rig.supply_hose.bore": "8 mm x 1.5 m", "rig.return_hose.bore": "8 mm x 1.5 m",
		"rig.supply_hose.rating": "100 °C", "rig.supply_hose.fuel_rated": "yes", "rig.return_hose.rating": "125 °C", "rig.return_hose.fuel_rated": "yes",
		"rig.return_fastened": "yes", "rig.lift": "0.4 m", "rig.inline_filter_drop": "2 kPa",
		"rig.return_cooler.material": "metal", "rig.return_cooler.length": "3 m", "rig.return_cooler.water": "10 L", "rig.watch_time": "30 s",
		"run":          "idle 10 min, 1500 rpm 2 min, soak 15 min, idle 15 min",
		"site.ambient": "18 °C", "site.place": "outdoors", "site.people": "2",
		"condition.symptom": "uneven idle when warm", "condition.stored_faults": "none", "condition.fuel_sample": "clean", "condition.leaks": "none",
		"condition.oil_level": "normal", "condition.seals": "sound", "condition.worst_correction": "2.1 mm3/stroke",
		"tank_dose.ratio.min": "2 mL/L", "tank_dose.ratio.max": "5 mL/L", "tank_dose.measure": "40 mL",
		"tank_dose.tanks": "main 41 L of 74 L; reserve 0 L of 31 L",
	},
	plan: []string{"s"},
}

// theirOwn is an engine of one's own, of which nothing was measured: the short
// path, and not known wherever that is an answer.
var theirOwn = script{
	answers: map[string]string{
		"asset": "LAUNCH-3", "engine.layout": "rail-pumped", "engine.cylinders": "4", "engine.displacement": "2.8 L",
		"engine.idle_speed": "780 rpm", "engine.own_feed_pump": "yes", "fluid.flash_point": "70 °C", "fluid.pack": "1 L",
		"rig.container.capacity": "6 L", "rig.supply_hose.bore": "8 mm x 1.2 m", "rig.return_hose.bore": "8 mm x 1.2 m",
		"run": "idle 15 min", "site.ambient": "12 °C", "site.place": "outdoors", "site.people": "2",
	},
}

// withAStop is the van's rig without a coil and with one person: two stops, which
// are lifted one after the other.
var withAStop = script{
	answers: map[string]string{
		"asset": "VAN-07", "engine.layout": "van-2-1", "fluid.flash_point": "67 °C", "fluid.pack": "600 mL",
		"rig.container.capacity": "3 L", "rig.supply_hose.bore": "8 mm x 1.5 m", "rig.return_hose.bore": "8 mm x 1.5 m",
		"run": "usual", "site.ambient": "18 °C", "site.place": "outdoors", "site.people": "1",
	},
	plan: []string{"1", "1", "s"},
}

// lines gives what is typed, in the order in which it is asked.
func (d *desk) lines(p script) []string {
	d.t.Helper()
	c := d.config
	c.Drafts = d.t.TempDir()
	s, err := Begin(c)
	if err != nil {
		d.t.Fatal(err)
	}
	var lines []string
	at := s.start()
	for range 300 {
		q, ok := at.of()
		if !ok {
			page, lacking := p.notYetInFull(s)
			if !lacking {
				return append(lines, p.plan...)
			}
			lines = append(lines, "+ "+page)
			if at, err = s.obey(more, page, at); err != nil {
				d.t.Fatal(err)
			}
			continue
		}
		line := p.line(s, q)
		lines = append(lines, line)
		if at, err = d.obeyed(s, q, at, line); err != nil {
			d.t.Fatalf("%s: %q: %v", q.Path, line, err)
		}
	}
	d.t.Fatal("the questions never end")
	return nil
}

// notYetInFull gives a page of which everything should be asked and was not.
func (p script) notYetInFull(s *Session) (string, bool) {
	for _, page := range p.full {
		if !s.InFull(page) {
			return page, true
		}
	}
	return "", false
}

func (p script) line(s *Session, q Question) string {
	if slices.Contains(p.full, q.Page) && !s.InFull(q.Page) {
		return "+"
	}
	return p.answers[q.Path]
}

// obeyed gives a line to a session as a face does.
func (d *desk) obeyed(s *Session, q Question, at place, line string) (place, error) {
	switch c, arg := commandOf(line, q); {
	case c != noCommand:
		return s.obey(c, arg, at)
	case line == "":
		return s.goOn(at, s.Skip(q))
	}
	return s.goOn(at, s.Give(d.t.Context(), q, line))
}

// inLines runs the face of plain lines over what is typed, and gives what it wrote.
func (d *desk) inLines(lines []string) (Result, string, error) {
	var out strings.Builder
	c := d.config
	c.Out = &out
	c.Talk = prompt.New(strings.NewReader(strings.Join(lines, "\n")+"\n"), &out, func(context.Context, time.Duration) {})
	r, err := RunLine(d.t.Context(), c)
	return r, out.String(), err
}

// drafts gives the drafts that are kept.
func (d *desk) drafts() []kept {
	d.t.Helper()
	all, err := (shelf{d.config.Drafts}).open()
	if err != nil {
		d.t.Fatal(err)
	}
	return all
}

// vanJob is the job of the van's file, but for the lamp of a filter that it has
// not got: the wizard does not ask for it.
func (d *desk) vanJob() planner.Job {
	d.t.Helper()
	text, err := os.ReadFile("../../../testdata/jobs/van.yaml")
	if err != nil {
		d.t.Fatal(err)
	}
	job, err := planner.ReadJob("van.yaml", text, d.config.Engines, planner.Date{Year: 2026, Month: 3, Day: 14})
	if err == nil {
		job, err = job.With("condition.soot_lamp", "")
	}
	if err != nil {
		d.t.Fatal(err)
	}
	return job
}
