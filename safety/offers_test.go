package safety

import (
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"daytank/planner"
	"daytank/planner/quantity"
)

// looking is the van with changes, as the rules see it.
func looking(t *testing.T, set ...string) subject {
	t.Helper()
	job := van(t, set...)
	return subject{job: job, plan: planner.Compute(job), rules: rules}
}

// setsOf gives what proposals set, in their order.
func setsOf(proposals []proposal) [][]string {
	var all [][]string
	for _, p := range proposals {
		all = append(all, p.set)
	}
	return all
}

// What is proposed leaves out what the rig has already, and what makes no sense
// on it.
func TestWhatIsProposed(t *testing.T) {
	set := func(changes ...string) []string { return changes }
	easierPull := func(s subject) []proposal { return s.easierPull() }
	easierReturn := func(s subject) []proposal { return s.easierReturn() }
	wider := func(s subject) []proposal { return s.widerContainer() }
	narrower := func(s subject) []proposal { return []proposal{s.narrowerContainer()} }
	soak := func(s subject) []proposal { return s.soakBetween() }
	container := func(mm string) []string {
		return set("rig.container={capacity: 3 L, diameter: " + mm + " mm, pickup_height: 10 mm, pickup_bore: 8 mm, closed: true}")
	}
	run := func(stages string, more ...string) []string { return append(more, "run=["+stages+"]") }
	const fast, idle = "{speed: 1500 rpm, for: 2 min}", "{speed: idle, for: 10 min}"
	for _, r := range []struct {
		because string
		of      func(subject) []proposal
		set     []string
		want    [][]string
	}{
		// Bores of ISO 1307.
		{"the next two bores, level with the pump, a wider container", easierPull, nil, [][]string{set("rig.supply_hose.bore=10 mm"), set("rig.supply_hose.bore=12.5 mm"), set("rig.lift=0 m"), set("rig.container.diameter=170 mm")}},
		{"level with the pump already", easierPull, set("rig.lift=0 m"), [][]string{set("rig.supply_hose.bore=10 mm"), set("rig.supply_hose.bore=12.5 mm"), set("rig.container.diameter=170 mm")}},
		{"neither lift nor filter in the return", easierReturn, nil, [][]string{set("rig.return_hose.bore=10 mm"), set("rig.return_hose.bore=12.5 mm")}},
		{"both", easierReturn, set("rig.return_lift=0.5 m", "rig.return_filter_drop=1 kPa"), [][]string{set("rig.return_hose.bore=10 mm"), set("rig.return_hose.bore=12.5 mm"), set("rig.return_lift=0 m"), set("rig.return_filter_drop=0 kPa")}},

		// Half as wide again, to the next whole centimetre (our own choice).
		{"100 mm are to be 160 mm", wider, container("100"), [][]string{set("rig.container.diameter=160 mm")}},
		{"a container of unknown width", wider, set("rig.container={capacity: 3 L, unusable: 300 mL, closed: true}"), nil},

		// Seven tenths as wide, in whole centimetres and no less than 5 cm (our own choice).
		{"110 mm are to be 70 mm", narrower, nil, [][]string{set("rig.container.diameter=70 mm")}},
		{"80 mm are to be 50 mm", narrower, container("80"), [][]string{set("rig.container.diameter=50 mm")}},
		{"70 mm would be 40 mm", narrower, container("70"), [][]string{nil}},
		{"a rest that was measured does not come of the width", narrower, set("rig.container={capacity: 3 L, diameter: 110 mm, unusable: 300 mL, closed: true}"), [][]string{nil}},

		// A soak until 35 °C, or 5 K above the air, but not above 60 °C (our own choice).
		{"a soak between two stages", soak, run(fast + ", " + idle), [][]string{run(fast + ", {soak_until: 35 °C}, " + idle)}},
		{"before the last that runs", soak, run(fast + ", " + idle + ", {soak: 5 min}"), [][]string{run(fast + ", {soak_until: 35 °C}, " + idle + ", {soak: 5 min}")}},
		{
			"the figures of the other stages stay",
			soak,
			run("{soak: 7.75 min}, {soak_until: 36.25 °C}, {speed: 1500.5 rpm, for: 1.25 min}, {speed: idle, for: 0.75 min}"),
			[][]string{run("{soak: 7.75 min}, {soak_until: 36.25 °C}, {speed: 1500.5 rpm, for: 1.25 min}, {soak_until: 35 °C}, {speed: idle, for: 0.75 min}")},
		},
		{"on a warm day", soak, run(fast+", "+idle, "site.ambient=33.4 °C"), [][]string{run(fast + ", {soak_until: 39 °C}, " + idle)}},
		{"at 55 °C it is 60 °C", soak, run(fast+", "+idle, "site.ambient=55 °C"), [][]string{run(fast + ", {soak_until: 60 °C}, " + idle)}},
		{"above that it would be more", soak, run(fast+", "+idle, "site.ambient=55.1 °C"), nil},
		{"there is one already", soak, nil, nil},
		{"one stage has nothing before it", soak, run(idle), nil},
		{"nothing runs", soak, run("{soak: 5 min}, {soak: 5 min}"), nil},
	} {
		if diff := cmp.Diff(r.want, setsOf(r.of(looking(t, r.set...))), cmpopts.EquateEmpty()); diff != "" {
			t.Errorf("%s, %v (-want +got):\n%s", r.because, r.set, diff)
		}
	}
}

// Stages are counted from 1 where they are spoken of, from 0 in a change.
func TestRunOf(t *testing.T) {
	const want = "stage 1 for 6.5 min, stage 4 for 0.5 min"
	if got := runOf([]string{"run.0.for=6.5 min", "run.3.for=0.5 min"}); got != want {
		t.Errorf("%q, want %q", got, want)
	}
}

// What whole packs hold is poured in without one more, and a container that has
// just room for it stays.
func TestPouring(t *testing.T) {
	for _, r := range []struct{ pack, want string }{
		{"600 mL", "rig.charge=2400 mL"},
		{"473.176 mL", "rig.charge=2365.8 mL"}, // a US pint; five of them
	} {
		s := looking(t, "fluid.pack="+r.pack)
		s.job.Rig.Container.Capacity = s.job.ContainerNeeded(s.plan) * 2 // room in plenty
		if diff := cmp.Diff([]string{r.want}, s.pouringMore(s.job.Fluid.Pack).set); diff != "" {
			t.Errorf("a pack of %s more (-want +got):\n%s", r.pack, diff)
		}
	}
	s := looking(t)
	charge := 4 * s.job.Fluid.Pack
	s.job.Rig.Container.Capacity = s.job.ContainerNeeded(s.plan) * charge / s.plan.Fluid.Charge
	if diff := cmp.Diff([]string{"rig.charge=2400 mL"}, s.pouring(charge).set); diff != "" {
		t.Errorf("just room for it (-want +got):\n%s", diff)
	}
	s.job.Rig.Container.Capacity -= quantity.Millilitres(hair)
	if diff := cmp.Diff([]string{"rig.charge=2400 mL", "rig.container.capacity=3 L"}, s.pouring(charge).set); diff != "" {
		t.Errorf("just no room for it (-want +got):\n%s", diff)
	}
}
