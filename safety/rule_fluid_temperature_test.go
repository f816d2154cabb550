package safety

import (
	"testing"

	"github.com/google/go-cmp/cmp"

	"daytank/planner"
	"daytank/planner/quantity"
)

const (
	noCoil    = "rig.return_cooler=none"
	firstCoil = "rig.return_cooler={material: metal, length: 3 m, water: 10 L}"
	largeCoil = "rig.return_cooler={material: metal, length: 5 m, water: 20 L}"
	// With a measured heat the high case stays near the expected one.
	measured = "engine.return_heat=150 W"
)

func TestFluidTemperature(t *testing.T) {
	warns := func(reaches, warm, hot string, set ...string) []found {
		return []found{{
			"caution", "the fluid may reach " + reaches + "; from " + warm + " on it counts as warm, at " + hot +
				" the engine must be off: a closed, vented and bonded metal container, and readings every 2 min", set,
		}}
	}
	idling := func(minutes string) []string {
		return []string{"fluid.flash_point=56 °C", "run=[{speed: idle, for: " + minutes + " min}]"}
	}
	judge(t, fluidTemperature, []row{
		{"the coil keeps it at 33 °C", nil, nil},
		{
			"without it 73 °C are expected, and 60 °C are hot at any flash point",
			[]string{noCoil},
			[]found{{"stop", "the fluid is expected to reach 73 °C, and 60 °C is hot: the engine must be off before that", []string{firstCoil}}},
		},
		{
			"the high case, 57.7 °C, gets hot",
			[]string{"fluid.flash_point=62 °C"},
			warns("58 °C (expected 33 °C)", "45 °C", "57 °C", largeCoil),
		},
		{"an open container, and the high case gets warm", []string{"rig.container.closed=false"}, warns("58 °C (expected 33 °C)", "50 °C", "60 °C", "rig.container.closed=true")},
		{"nobody said whether it is closed", []string{"rig.container.closed="}, warns("58 °C (expected 33 °C)", "50 °C", "60 °C", "rig.container.closed=true")},
		{"an open container that stays cool", []string{"rig.container.closed=false", measured}, nil},
		{
			"where neither coil nor fluid is enough, the longest run that does not get warm",
			idling("120"),
			warns("72 °C (expected 42 °C)", "39 °C", "51 °C", "run.0.for=18.5 min"),
		},
		{"that run", idling("18.5"), nil},
		{"half a minute more", idling("19"), warns("51 °C (expected 30 °C)", "39 °C", "51 °C", largeCoil)},
		{"return to waste brings no heat", []string{noCoil, "rig.return_to=waste"}, nil},
	})
}

// The fluid stands just on and just beside each limit: hot is 5 K below the
// flash point (common practice, no source), warm 16.7 K (29 CFR 1910.106).
func TestFluidTemperatureLimits(t *testing.T) {
	wide, near := planner.Compute(van(t)).Heat.Peak, planner.Compute(van(t, measured)).Heat.Peak
	flash := func(peak quantity.Temperature, below, beside float64) string {
		return flashAt(peak.Plus(quantity.Kelvins(below + beside)))
	}
	const open = "rig.container.closed=false"
	for _, r := range []struct {
		because string
		set     []string
		want    []string
	}{
		{"expected peak just below hot", []string{flash(wide.Expected, 5, hair)}, []string{"caution"}},
		{"expected peak just hot", []string{flash(wide.Expected, 5, -hair)}, []string{"stop"}},
		{"high case just below hot", []string{flash(wide.High, 5, hair)}, nil},
		{"high case just hot", []string{flash(wide.High, 5, -hair)}, []string{"caution"}},
		{"expected peak just below warm", []string{measured, flash(near.Expected, 16.7, hair)}, nil},
		{"expected peak just above warm", []string{measured, flash(near.Expected, 16.7, -hair)}, []string{"caution"}},
		{"open, high case just below warm", []string{measured, open, flash(near.High, 16.7, hair)}, nil},
		{"open, high case just above warm", []string{measured, open, flash(near.High, 16.7, -hair)}, []string{"caution"}},
		{"closed, high case just above warm", []string{measured, flash(near.High, 16.7, -hair)}, nil},
	} {
		var got []string
		for _, w := range assessed(t, r.set...).worded(fluidTemperature.ID) {
			got = append(got, w.Severity)
		}
		if diff := cmp.Diff(r.want, got); diff != "" {
			t.Errorf("%s, %v (-want +got):\n%s", r.because, r.set, diff)
		}
	}
}

// A liquid heated to within 30 °F (16.7 K) of its flash point is handled as the
// next worse class: 29 CFR 1910.106(a)(19). With a flash point of 56 °C that is
// from 39.3 °C on, with 62 °C from 45.3 °C on.
func TestHeatingRule(t *testing.T) {
	for _, r := range []struct {
		flash, ambient string
		warm           bool
	}{
		{"56 °C", "20 °C", false},
		{"56 °C", "39 °C", false},
		{"56 °C", "39.29 °C", false},
		{"56 °C", "39.31 °C", true},
		{"56 °C", "40 °C", true},
		{"62 °C", "20 °C", false},
		{"62 °C", "45 °C", false},
		{"62 °C", "45.29 °C", false},
		{"62 °C", "45.31 °C", true},
		{"62 °C", "46 °C", true},
	} {
		const about = "at %v the air itself is at or above the %v from which this fluid counts as warm"
		warm := false
		for _, f := range assessed(t, "fluid.flash_point="+r.flash, "site.ambient="+r.ambient).Of(Stop) {
			warm = warm || f.Rule == fluidTemperature.ID && f.Message.Format == about
		}
		if warm != r.warm {
			t.Errorf("flash point %s at %s: warm %v, want %v (29 CFR 1910.106)", r.flash, r.ambient, warm, r.warm)
		}
	}
}

// The old fuel counts unless enough of it is flushed out: 55 °C of EN 590 make
// 38.3 °C warm whatever the new fluid's flash point is.
func TestOldFuelCounts(t *testing.T) {
	got := assessed(t, "rig.first_flush=none", "site.ambient=39 °C").worded(fluidTemperature.ID)
	want := []Worded{{
		Rule: "fluid-temperature", Severity: "stop",
		Message: "at 39 °C the air itself is at or above the 38 °C from which this fluid counts as warm",
		Lift:    "another fluid with a higher flash point, or a cooler day",
		Set:     []string{}, Source: fluidTemperature.Source,
	}}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("unflushed, 39 °C (-want +got):\n%s", diff)
	}
}
