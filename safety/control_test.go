package safety

import (
	"fmt"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"

	"daytank/planner/engine"
)

var (
	tankPumped = engine.Layout{ID: "rail-pumped", NeedsFeedPressure: true}
	drawing    = engine.Layout{ID: "rail-suction"}
)

// provided gives one sound step for each control of a layout.
func provided(l engine.Layout) []Controlled {
	var steps []Controlled
	for _, c := range Controls(l) {
		steps = append(steps, Controlled{
			Step: "step-" + c.ID, Control: c.ID, Confirms: true, Demand: Demand{Ask: "what is seen", Word: "seen"}, Hold: c.Hold,
		})
	}
	return steps
}

// with gives the steps with the one of a control changed.
func with(steps []Controlled, control string, change func(*Controlled)) []Controlled {
	steps = slices.Clone(steps)
	for i := range steps {
		if steps[i].Control == control {
			change(&steps[i])
		}
	}
	return steps
}

func TestControls(t *testing.T) {
	names := func(l engine.Layout) (all, holds []string) {
		for _, c := range Controls(l) {
			if c.Why == "" {
				t.Errorf("control %s does not say why", c.ID)
			}
			all = append(all, c.ID)
			if c.Hold {
				holds = append(holds, c.ID)
			}
		}
		return all, holds
	}
	all, holds := names(tankPumped)
	want := []string{
		"ventilation", "extinguisher", "engine-stop", "pressure-released", "ends-capped", "stop-level",
		"return-fastened", "rig-tight", "watcher", "parts-counted", "leak-check", "pump-dead",
	}
	if diff := cmp.Diff(want, all); diff != "" {
		t.Errorf("tank pump (-want +got):\n%s", diff)
	}
	if diff := cmp.Diff([]string{"rig-tight", "parts-counted"}, holds); diff != "" {
		t.Errorf("hold points (-want +got):\n%s", diff)
	}
	all, _ = names(drawing)
	want[len(want)-1] = "tank-shut"
	if diff := cmp.Diff(want, all); diff != "" {
		t.Errorf("without a tank pump (-want +got):\n%s", diff)
	}
	if len(want) > MostConfirmations {
		t.Errorf("%d controls do not fit into %d confirmations", len(want), MostConfirmations)
	}
}

func TestNoWeakness(t *testing.T) {
	library, err := engine.Shipped()
	if err != nil {
		t.Fatal(err)
	}
	for _, l := range library.Layouts() {
		if got := Weaknesses(l, provided(l)); got != nil {
			t.Errorf("%s: %q, want nothing lacking", l.ID, got)
		}
	}
}

func TestMissingControl(t *testing.T) {
	for _, l := range []engine.Layout{tankPumped, drawing} {
		for _, c := range Controls(l) {
			steps := slices.DeleteFunc(provided(l), func(s Controlled) bool { return s.Control == c.ID })
			want := []string{fmt.Sprintf("control %s is missing: %s", c.ID, c.Why)}
			if diff := cmp.Diff(want, Weaknesses(l, steps)); diff != "" {
				t.Errorf("%s without %s (-want +got):\n%s", l.ID, c.ID, diff)
			}
		}
		if got := len(Weaknesses(l, nil)); got != len(Controls(l)) {
			t.Errorf("%s: %d weaknesses of a procedure without steps, want one for each of %d controls", l.ID, got, len(Controls(l)))
		}
	}
}

func TestWeaknesses(t *testing.T) {
	sound := provided(tankPumped)
	more := func(s Controlled) []Controlled { return append(slices.Clone(sound), s) }
	hazards, err := Hazards()
	if err != nil {
		t.Fatal(err)
	}
	known := hazards[0].ID
	for _, r := range []struct {
		because string
		steps   []Controlled
		want    []string
	}{
		{
			"a control that demands nothing",
			with(sound, "watcher", func(s *Controlled) { s.Demand = Demand{Ask: "is somebody there"} }),
			[]string{"step step-watcher: the confirmation demands nothing"},
		},
		{
			"a control that is only ticked",
			with(sound, "watcher", func(s *Controlled) { s.Confirms = false }),
			[]string{"step step-watcher: control watcher needs a typed confirmation"},
		},
		{
			"a control without its hold point",
			with(sound, "rig-tight", func(s *Controlled) { s.Hold = false }),
			[]string{"step step-rig-tight: control rig-tight needs a hold point"},
		},
		{
			"a hold point too many is no weakness",
			with(sound, "watcher", func(s *Controlled) { s.Hold = true }),
			nil,
		},
		{
			"a word that a hand types without looking",
			with(sound, "leak-check", func(s *Controlled) { s.Demand.Word = "Yes" }),
			[]string{`step step-leak-check: "Yes" is typed without looking; take a word for what is seen`},
		},
		{
			"too easy a word, even beside a number",
			with(sound, "leak-check", func(s *Controlled) { s.Demand.Word, s.Demand.Number = "ok", &Number{Max: 9} }),
			[]string{`step step-leak-check: "ok" is typed without looking; take a word for what is seen`},
		},
		{
			"a number alone is enough",
			with(sound, "stop-level", func(s *Controlled) { s.Demand = Demand{Ask: "mL", Number: &Number{Min: 1, Max: 2}} }),
			nil,
		},
		{
			"a hazard that is known",
			with(sound, "watcher", func(s *Controlled) { s.Hazard = known }),
			nil,
		},
		{
			"a hazard that is not",
			with(sound, "watcher", func(s *Controlled) { s.Hazard = "dragons" }),
			[]string{`step step-watcher: hazard "dragons" is not known`},
		},
		{
			"too easy a word and an unknown hazard, both named",
			with(sound, "watcher", func(s *Controlled) { s.Hazard, s.Demand.Word = "dragons", "y" }),
			[]string{
				`step step-watcher: "y" is typed without looking; take a word for what is seen`,
				`step step-watcher: hazard "dragons" is not known`,
			},
		},
		{
			"one confirmation too many",
			more(Controlled{Step: "radio-off", Confirms: true, Demand: Demand{Ask: "what is heard", Word: "silent"}}),
			[]string{"13 typed confirmations, more than 12: keep them for what can hurt or wreck"},
		},
		{"a tick more is none", more(Controlled{Step: "radio-off"}), nil},
		{
			"a tick that names a control beside the step that proves it, after it",
			more(Controlled{Step: "caps-ready", Control: "ends-capped"}),
			nil,
		},
		{
			"and before it",
			append([]Controlled{{Step: "caps-ready", Control: "ends-capped"}}, sound...),
			nil,
		},
	} {
		if diff := cmp.Diff(r.want, Weaknesses(tankPumped, r.steps)); diff != "" {
			t.Errorf("%s (-want +got):\n%s", r.because, diff)
		}
	}
}
