package safety

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"daytank/planner"
)

// What is exactly enough is enough, whatever the last bit of a product says.
func TestExactlyEnoughIsEnough(t *testing.T) {
	text, library := vanText(t)
	stopped := func(rule string, set ...string) bool {
		t.Helper()
		j, err := planner.ReadJobWith("van.yaml", text, set, library, planner.Date{Year: 2026, Month: 3, Day: 14})
		if err != nil {
			t.Fatal(err)
		}
		s := subject{job: j, plan: planner.Compute(j), rules: rules, trying: true} // without what would lift it
		return slices.ContainsFunc(s.stops(), func(stop string) bool { return strings.HasPrefix(stop, rule+":") })
	}
	for tenths := 800; tenths <= 1100; tenths += 3 {
		hottest, rating := fmt.Sprintf("%d.%d °C", tenths/10, tenths%10), fmt.Sprintf("%d.%d °C", tenths/10+10, tenths%10)
		if stopped("hose-rating", "engine.return_temperature_max="+hottest, "rig.return_hose.rating="+rating, "rig.supply_hose.rating=130 °C") {
			t.Errorf("hose-rating: %s is refused for a return of %s", rating, hottest)
		}
	}
	for n := 10; n <= 300; n++ {
		charge, capacity := fmt.Sprintf("%d.%d L", n/10, n%10), fmt.Sprintf("%d.%02d L", n*11/100, n*11%100)
		// Waste keeps the charge as cold as the air, so nothing expands.
		if stopped("container-small", "rig.charge="+charge, "rig.container.capacity="+capacity, "rig.return_to=waste", "site.ambient=1 °C", "engine.idle_burn=0.7 L/h") {
			t.Errorf("container-small: %s does not hold %s and a tenth", capacity, charge)
		}
	}
	for kilopascals := 100; kilopascals <= 600; kilopascals += 7 {
		p := fmt.Sprintf("%d kPa", kilopascals)
		pump := fmt.Sprintf("rig.feed_pump={flow: 80 L/h, pressure: %s}", p)
		if stopped("hose-pressure", "rig.feed=pump", pump, "rig.supply_hose.working_pressure="+p) {
			t.Errorf("hose-pressure: %s is refused for as much", p)
		}
	}
	for _, c := range [][]string{
		{"run-speed", "run=[{speed: 2500 rpm, for: 1 min}, {speed: idle, for: 5 min}]"},
		{"flash-point", "fluid.flash_point=38 °C"},
		{"cold", "fluid.cloud_point=-10 °C", "site.ambient=-10 °C"},
		{"siphon", "rig.lift=-1 m", "rig.taps=false", "run=[{soak: 30 min}, {speed: idle, for: 5 min}]"},
	} {
		if stopped(c[0], c[1:]...) {
			t.Errorf("%v is refused at its boundary", c)
		}
	}
	// That what is not enough is refused shows that the stops above are looked for.
	for _, c := range [][]string{
		{"hose-rating", "engine.return_temperature_max=85 °C", "rig.return_hose.rating=94.9 °C"},
		{"container-small", "rig.charge=1.1 L", "rig.container.capacity=1.2 L"},
		{"hose-pressure", "rig.feed=pump", "rig.feed_pump={flow: 80 L/h, pressure: 101 kPa}", "rig.supply_hose.working_pressure=100 kPa"},
		{"run-speed", "run=[{speed: 2501 rpm, for: 1 min}, {speed: idle, for: 5 min}]"},
		{"flash-point", "fluid.flash_point=37.9 °C"},
		{"cold", "fluid.cloud_point=-10 °C", "site.ambient=-10.1 °C"},
		{"siphon", "rig.lift=-1 m", "rig.taps=false", "run=[{soak: 30.1 min}, {speed: idle, for: 5 min}]"},
	} {
		if !stopped(c[0], c[1:]...) {
			t.Errorf("%v is not refused", c)
		}
	}
}
