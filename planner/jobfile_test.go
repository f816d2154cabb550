package planner

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"daytank/planner/quantity"
)

// least is a job file with nothing in it that could be left out.
const least = `job: 1
engine:
  layout: rail-pumped
  cylinders: 4
  displacement: 2.1 L
  idle_speed: 800 rpm
fluid:
  flash_point: 67 °C
  pack: 600 mL
rig:
  container: {capacity: 3 L}
  supply_hose: {bore: 8 mm, length: 1.5 m}
  return_hose: {bore: 8 mm, length: 1.5 m}
run:
  - {speed: idle, for: 10 min}
site: {ambient: 18 °C, place: outdoors}
`

// problems gives what is wrong with a job file, a line each.
func problems(t testing.TB, text string, set ...string) []string {
	t.Helper()
	_, err := ReadJobWith("f", []byte(text), set, shippedLibrary(t), today)
	if err == nil {
		return nil
	}
	return strings.Split(err.Error(), "\n")
}

func TestSixMistakesAreSixProblems(t *testing.T) {
	text := string(jobText(t, "six-mistakes.yaml"))
	want := []string{
		"f:9:18: last_clean.on: the last clean, on 2026-03-15, is after this job, on 2026-03-14",
		`f:11:11: engine.layout: layout "rail-pumpt" is not one of inline, rail-heavy, rail-pumped, rail-recirculating, rail-suction, rotary, unit-injector, unit-injector-heavy`,
		`f:13:17: engine.displacement: volume "2.1": a unit is missing; accepted: L, mL, dL, cL, uL, m3, cm3, mm3, gal, qt, pt, floz, impgal, impqt, imppt, impfloz`,
		"f:16:3: fluid.flashpoint: this key is not known here; did you mean flash_point?",
		"f:21:37: rig.supply_hose.length: 1500 m is outside 10 mm to 100 m",
		"f:22:16: rig.return_hose.length: is missing",
	}
	if diff := cmp.Diff(want, problems(t, text)); diff != "" {
		t.Errorf("-want +got:\n%s", diff)
	}
}

func TestLeastJob(t *testing.T) {
	j, err := ReadJob("f", []byte(least), shippedLibrary(t), today)
	if err != nil {
		t.Fatal(err)
	}
	got := map[string]any{
		"asset": j.Asset, "date": j.Date.String(), "pick-up height": j.Rig.Container.PickupHeight, "pick-up bore": j.Rig.Container.PickupBore,
		"feed": j.Rig.Feed, "watch": j.Rig.WatchTime, "flush": j.Rig.FirstFlush, "waste": j.Rig.ToWaste, "coil": j.Rig.Coil == nil,
		"people": j.Site.People, "alone": j.Site.Alone(), "fastened": j.Rig.Fastened(), "closed": j.Rig.Container.IsClosed(),
		"old fuel": j.OldFuelFlash, "lift": j.Rig.Lift,
	}
	want := map[string]any{
		"asset": "UNNAMED", "date": "2026-03-14", "pick-up height": quantity.Millimetres(10), "pick-up bore": quantity.Millimetres(8),
		"feed": "engine", "watch": quantity.Seconds(30), "flush": FirstFlush{Auto: true}, "waste": false, "coil": true,
		"people": 1, "alone": true, "fastened": false, "closed": false,
		"old fuel": quantity.Celsius(55), "lift": quantity.Metres(0),
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("-want +got:\n%s", diff)
	}
	assumed := []string{
		"engine.return_flow", "engine.line_volume", "engine.filter_volume", "engine.primer", "engine.return_heat",
		"fluid.density", "fluid.viscosity_40", "fluid.viscosity_100",
	}
	if diff := cmp.Diff(assumed, j.Assumed); diff != "" {
		t.Errorf("assumed (-want +got):\n%s", diff)
	}
	unanswered := []string{
		"condition.symptom", "condition.stored_faults", "condition.fuel_sample", "condition.leaks", "condition.oil_level", "condition.seals",
		"condition.soot_lamp", "condition.worst_correction", "engine.aftertreatment", "engine.stop_device", "engine.extra_returns",
		"fluid.hazards", "rig.return_fastened", "rig.container.closed", "rig.supply_hose.fuel_rated", "rig.return_hose.fuel_rated",
	}
	if diff := cmp.Diff(unanswered, j.Unanswered); diff != "" {
		t.Errorf("unanswered (-want +got):\n%s", diff)
	}
}

func TestVanHasOneAssumptionAndNoOpenQuestion(t *testing.T) {
	j := van(t)
	if diff := cmp.Diff([]string{"engine.return_heat"}, j.Assumed); diff != "" {
		t.Errorf("assumed (-want +got):\n%s", diff)
	}
	if j.Unanswered != nil {
		t.Errorf("unanswered %v", j.Unanswered)
	}
}

// TestQuestionsThatDoNotArise: no soot lamp without a filter, no correction of
// mechanical injectors.
func TestQuestionsThatDoNotArise(t *testing.T) {
	tests := []struct {
		set  []string
		want []string
	}{
		{[]string{"condition.soot_lamp="}, nil},
		{[]string{"condition.soot_lamp=", "engine.aftertreatment=particulate-filter"}, []string{"condition.soot_lamp"}},
		{[]string{"condition.worst_correction="}, []string{"condition.worst_correction"}},
		{[]string{"condition.worst_correction=", "engine.injectors=mechanical"}, nil},
		{[]string{"engine.aftertreatment=", "condition.soot_lamp=off"}, []string{"engine.aftertreatment"}},
	}
	for _, tt := range tests {
		if diff := cmp.Diff(tt.want, van(t, tt.set...).Unanswered); diff != "" {
			t.Errorf("%v (-want +got):\n%s", tt.set, diff)
		}
	}
}

func TestEachRequiredKey(t *testing.T) {
	keys := map[string]string{
		"job":                    "f:1:1",
		"engine":                 "f:1:1",
		"engine.layout":          "f:3:3",
		"engine.cylinders":       "f:3:3",
		"engine.displacement":    "f:3:3",
		"engine.idle_speed":      "f:3:3",
		"fluid":                  "f:1:1",
		"fluid.flash_point":      "f:8:3",
		"fluid.pack":             "f:8:3",
		"rig":                    "f:1:1",
		"rig.container":          "f:11:3",
		"rig.container.capacity": "f:11:14",
		"rig.supply_hose":        "f:11:3",
		"rig.supply_hose.bore":   "f:12:16",
		"rig.supply_hose.length": "f:12:16",
		"rig.return_hose":        "f:11:3",
		"rig.return_hose.bore":   "f:13:16",
		"rig.return_hose.length": "f:13:16",
		"run":                    "f:1:1",
		"run.0.for":              "f:15:5",
		"site":                   "f:1:1",
		"site.ambient":           "f:16:7",
		"site.place":             "f:16:7",
	}
	for key, place := range keys {
		want := []string{place + ": " + key + ": is missing"}
		if diff := cmp.Diff(want, problems(t, least, key+"=")); diff != "" {
			t.Errorf("%s (-want +got):\n%s", key, diff)
		}
	}
	if got := problems(t, least, "run.0.speed="); len(got) != 1 {
		t.Errorf("a stage of a time alone: %v", got)
	}
}

func TestEachWordOfAChoice(t *testing.T) {
	choices := map[string][]string{
		"engine.cycle":               {"2", "4"},
		"engine.combustion":          {"direct", "indirect"},
		"engine.injectors":           {"solenoid", "piezo", "mechanical"},
		"engine.own_feed_pump":       {"true", "false"},
		"engine.aftertreatment":      {"none", "particulate-filter"},
		"engine.stop_device":         {"key", "proved", "unproved"},
		"engine.extra_returns":       {"none", "accounted", "open"},
		"rig.container.closed":       {"true", "false"},
		"rig.supply_hose.material":   {"rubber", "clear-pvc", "metal"},
		"rig.return_hose.material":   {"rubber", "clear-pvc", "metal"},
		"rig.return_fastened":        {"true", "false"},
		"rig.taps":                   {"true", "false"},
		"rig.non_return_valve":       {"true", "false"},
		"rig.filter_in_loop":         {"true", "false"},
		"rig.return_to":              {"container", "waste"},
		"site.place":                 {"outdoors", "extraction", "indoors"},
		"site.at_risk.0":             {"pregnant", "under-18", "asthma"},
		"condition.stored_faults":    {"none", "electrical", "other"},
		"condition.fuel_sample":      {"clean", "water", "petrol", "metal"},
		"condition.leaks":            {"none", "weeping", "leaking"},
		"condition.oil_level":        {"normal", "high"},
		"condition.seals":            {"sound", "hardened"},
		"condition.soot_lamp":        {"off", "on", "regenerating"},
		"rig.return_cooler":          {"none"},
		"rig.return_cooler.material": {"metal", "rubber"},
		"rig.feed":                   {"engine", "pump"},
		"engine.primer.kind":         {"hand", "electric"},
	}
	// What must stand beside a choice so that it is one.
	beside := map[string][]string{
		"site.at_risk.0":              {"site.at_risk=[asthma]"},
		"rig.return_cooler.material":  {"rig.return_cooler={length: 3 m, water: 10 L}"},
		"rig.feed=pump":               {"rig.feed_pump={pressure: 400 kPa, flow: 60 L/h}"},
		"engine.primer.kind=hand":     {"engine.primer={stroke_volume: 6 mL}"},
		"engine.primer.kind=electric": {"engine.primer={flow: 90 L/h, run_per_key_on: 20 s}"},
	}
	for key, words := range choices {
		set := func(word string) []string {
			return slices.Concat(beside[key], beside[key+"="+word], []string{key + "=" + word})
		}
		want := fmt.Sprintf("f: %s: %q is not one of %s", key, "Nonsense", strings.Join(words, ", "))
		if diff := cmp.Diff([]string{want}, problems(t, least, set("Nonsense")...)); diff != "" {
			t.Errorf("%s (-want +got):\n%s", key, diff)
		}
		for _, word := range words {
			if got := problems(t, least, set(word)...); got != nil {
				t.Errorf("%s=%s: %v", key, word, got)
			}
		}
	}
}

func TestJobFilesAreRefused(t *testing.T) {
	tests := []struct {
		name, old, new string // in [least]
		want           []string
	}{
		{"another version", "job: 1", "job: 2", []string{"f:1:6: job: 2 is outside 1 to 1"}},
		{"burn and injection", "idle_speed: 800 rpm", "idle_speed: 800 rpm\n  idle_burn: 0.7 L/h\n  idle_injection: 7 mm3/stroke", []string{"f:8:19: engine.idle_injection: idle_burn is given as well: give one of the two"}},
		{"an impossible day, and no more than that", "job: 1", "job: 1\ndate: 2026-02-29\nlast_clean: {on: 2025-03-02}", []string{"f:2:7: date: there is no day 2026-02-29"}},
		{"a day written otherwise", "job: 1", "job: 1\ndate: 14.03.2026", []string{`f:2:7: date: date "14.03.2026" is not written as year-month-day, 2026-03-14`}},
		{"a last clean after today", "job: 1", "job: 1\nlast_clean: {on: 2026-03-15}", []string{"f:2:18: last_clean.on: the last clean, on 2026-03-15, is after this job, on 2026-03-14"}},
		{"more driven at the last clean", "job: 1", "job: 1\nodometer: 131000 km\nlast_clean: {on: 2025-03-02, odometer: 131001 km}", []string{"f:3:40: last_clean.odometer: 131001 km at the last clean is more than there is now"}},
		{"more hours at the last clean", "job: 1", "job: 1\nengine_hours: 3120 h\nlast_clean: {on: 2025-03-02, engine_hours: 3121 h}", []string{"f:3:44: last_clean.engine_hours: 3121 h at the last clean is more than there is now"}},
		{"an odometer that does not read, and no more than that", "job: 1", "job: 1\nodometer: many km\nlast_clean: {on: 2025-03-02, odometer: 131001 km}", []string{`f:2:11: odometer: distance "many km": it does not begin with a number`}},
		{"no day of the last clean", "job: 1", "job: 1\nlast_clean: {odometer: 131000 km}", []string{"f:2:13: last_clean.on: is missing"}},
		{"a long name", "job: 1", "job: 1\nasset: the van of the harbour", []string{`f:2:8: asset: "the van of the harbour" is not a short name of letters, digits, dots and hyphens such as VAN-07`}},

		{"no stages", "  - {speed: idle, for: 10 min}", "  []", []string{"f:15:3: run: at least one stage is wanted"}},
		{"a mapping of stages", "  - {speed: idle, for: 10 min}", "  {speed: idle}", []string{"f:15:3: run: a list is wanted here"}},
		{"a word for stages", "  - {speed: idle, for: 10 min}", "  idle", []string{"f:15:3: run: a list is wanted here"}},
		{"a word for a stage", "{speed: idle, for: 10 min}", "idle", []string{"f:15:5: run.0: a mapping (key: value) is wanted here"}},
		{"an empty stage", "{speed: idle, for: 10 min}", "{}", []string{"f:15:5: run.0: a stage is {speed: ..., for: ...}, {soak: ...} or {soak_until: ...}"}},
		{"a stage of a time alone", "{speed: idle, for: 10 min}", "{for: 10 min}", []string{"f:15:5: run.0: a stage is {speed: ..., for: ...}, {soak: ...} or {soak_until: ...}"}},
		{"a stage that runs and soaks", "for: 10 min", "for: 10 min, soak: 5 min", []string{"f:15:5: run.0: a stage is one of {speed: ..., for: ...}, {soak: ...} and {soak_until: ...}, not several at once"}},
		{"a soak with two ends", "{speed: idle, for: 10 min}", "{soak: 5 min, soak_until: 35 °C}", []string{"f:15:5: run.0: a stage is one of {speed: ..., for: ...}, {soak: ...} and {soak_until: ...}, not several at once"}},
		{"a soak with two times", "{speed: idle, for: 10 min}", "{soak: 5 min, for: 10 min}", []string{"f:15:24: run.0.for: a soak has its time or its temperature already"}},
		{"a speed that is nothing, and no more than that", "speed: idle", "speed: ", []string{"f:15:13: run.0.speed: nothing is given"}},
		{"a speed that is a list, and no more than that", "speed: idle", "speed: [idle]", []string{"f:15:13: run.0.speed: one value is wanted here, not a list"}},
		{"a speed below idle", "speed: idle", "speed: 799 rpm", []string{"f:15:13: run.0.speed: 799 rpm is below the idle speed of 800 rpm"}},
		{"a speed no engine runs at", "speed: idle", "speed: 6001 rpm", []string{"f:15:13: run.0.speed: 6001 rpm is outside 200 rpm to 6000 rpm"}},
		{"a stage over 12 h", "for: 10 min", "for: 12.1 h", []string{"f:15:24: run.0.for: 12.1 h is outside 1 s to 12 h 00 min"}},
		{"stages over a day", "{speed: idle, for: 10 min}", "{speed: idle, for: 12 h}\n  - {soak: 12 h}\n  - {soak: 1 s}", []string{"f:15:3: run: the stages take 24.0 h together, more than the 24 h that a run may have"}},
		{"more stages than anybody walks", "  - {speed: idle, for: 10 min}", strings.TrimSuffix(strings.Repeat("  - {soak: 1 min}\n", 101), "\n"), []string{"f:15:3: run: 101 stages are more than the 100 that a run may have"}},

		{"a soak until below the ambient", "for: 10 min}", "for: 10 min}\n  - {soak_until: 17 °C}", []string{"f:17:17: site.ambient: run.1 soaks until 17 °C, which is not at least 2 K above the ambient: it would hardly ever end"}},
		{"a soak until hardly above the ambient", "for: 10 min}", "for: 10 min}\n  - {soak_until: 19.9 °C}", []string{"f:17:17: site.ambient: run.1 soaks until 20 °C, which is not at least 2 K above the ambient: it would hardly ever end"}},
		{"an ambient that does not read, and no more than that", "{speed: idle, for: 10 min}\nsite: {ambient: 18 °C,", "{soak_until: 1 °C}\nsite: {ambient: mild,", []string{`f:16:17: site.ambient: temperature "mild": it does not begin with a number`}},

		{"a pump without its figures", "rig:", "rig:\n  feed: pump", []string{"f:11:9: rig.feed: with a pump, feed_pump: {pressure: ..., flow: ...} is wanted beside it"}},
		{"figures without the pump", "rig:", "rig:\n  feed_pump: {pressure: 400 kPa, flow: 60 L/h}", []string{"f:11:14: rig.feed_pump: is given, but feed is not pump"}},
		{"an unknown feed beside figures, and no more than that", "rig:", "rig:\n  feed: gravity\n  feed_pump: {pressure: 400 kPa, flow: 60 L/h}", []string{`f:11:9: rig.feed: "gravity" is not one of engine, pump`}},
		{"a cooler that is a word", "rig:", "rig:\n  return_cooler: bucket", []string{`f:11:18: rig.return_cooler: "bucket" is not one of none`}},
		{"half a cooler", "rig:", "rig:\n  return_cooler: {material: metal}", []string{"f:11:18: rig.return_cooler.length: is missing", "f:11:18: rig.return_cooler.water: is missing"}},
		{"a flush that is a list, and no more than that", "rig:", "rig:\n  first_flush: [auto]", []string{"f:11:16: rig.first_flush: one value is wanted here, not a list"}},
		{"a flush without a unit", "rig:", "rig:\n  first_flush: 300", []string{`f:11:16: rig.first_flush: volume "300": a unit is missing; accepted: L, mL, dL, cL, uL, m3, cm3, mm3, gal, qt, pt, floz, impgal, impqt, imppt, impfloz`}},
		{"nobody there", "place: outdoors", "place: outdoors, people: 0", []string{"f:16:49: site.people: 0 is outside 1 to 20"}},
		{"hose that is a wire", "supply_hose: {bore: 8 mm", "supply_hose: {bore: 0.9 mm", []string{"f:12:23: rig.supply_hose.bore: 0.9 mm is outside 1 mm to 60 mm"}},

		{"a dose that falls", "run:", "tank_dose: {ratio: {min: 5 mL/L, max: 2 mL/L}, tanks: []}\nrun:", []string{"f:14:20: tank_dose.ratio: the largest dose is below the smallest"}},
		{"a dose that does not read, and no more than that", "run:", "tank_dose: {ratio: {min: 5 mL/L, max: 2 mL}, tanks: []}\nrun:", []string{`f:14:39: tank_dose.ratio.max: "2 mL" is a volume, a dose is wanted; accepted: mL/L, L/m3, %, floz/gal`}},
		{"more fuel than the tank holds", "run:", "tank_dose: {ratio: {min: 2 mL/L, max: 5 mL/L}, tanks: [{name: main, capacity: 74 L, fuel: 75 L}]}\nrun:", []string{"f:14:56: tank_dose.tanks.0: tank main holds more fuel than its capacity"}},
		{"a tank whose capacity does not read, and no more than that", "run:", "tank_dose: {ratio: {min: 2 mL/L, max: 5 mL/L}, tanks: [{name: main, capacity: large, fuel: 41 L}]}\nrun:", []string{`f:14:79: tank_dose.tanks.0.capacity: volume "large": it does not begin with a number`}},
		{"an old fuel of petrol", "run:", "fuel_flash_point: -40 °C\nrun:", []string{"f:14:19: fuel_flash_point: -40 °C is outside 20 °C to 120 °C"}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			text := strings.Replace(least, tt.old, tt.new, 1)
			if text == least {
				t.Fatal("nothing was changed")
			}
			if diff := cmp.Diff(tt.want, problems(t, text)); diff != "" {
				t.Errorf("-want +got:\n%s", diff)
			}
		})
	}
}

// TestBoundariesAreAccepted has what is just allowed.
func TestBoundariesAreAccepted(t *testing.T) {
	for _, set := range [][]string{
		{"last_clean={on: 2026-03-14, odometer: 148200 km}", "odometer=148200 km"},
		{"run.1={soak_until: 20 °C}"},
		{"run=[{speed: idle, for: 12 h}, {soak: 12 h}]"},
		{"run=[" + strings.Repeat("{soak: 1 min}, ", 99) + "{soak: 1 min}]"},
		{"run.0.speed=800 rpm"},
		{"rig.supply_hose.rating=-40 °C", "rig.return_hose.rating=400 °C"},
		{"engine.crank={for: 30 s, rest: 5 s, attempts: 7}"},
		{"tank_dose={ratio: {min: 2 mL/L, max: 2 mL/L}, tanks: [{name: main, capacity: 74 L, fuel: 74 L}]}"},
	} {
		if got := problems(t, least, set...); got != nil {
			t.Errorf("%v: %v", set, got)
		}
	}
	j, err := ReadJobWith("f", []byte(least), []string{"run.0.speed=800 rpm"}, shippedLibrary(t), today)
	if err != nil || !j.Run[0].Idle {
		t.Errorf("the idle speed in numbers is not idle: %+v, %v", j.Run, err)
	}
}

// TestDays: the Gregorian calendar; 146097 days are 400 years.
func TestDays(t *testing.T) {
	tests := []struct {
		from, to string
		days     int
	}{
		{"2026-03-14", "2026-03-14", 0},
		{"2026-02-28", "2026-03-01", 1},
		{"2024-02-28", "2024-03-01", 2},
		{"2000-02-28", "2000-03-01", 2},
		{"2100-02-28", "2100-03-01", 1},
		{"2025-12-31", "2026-01-01", 1},
		{"2025-03-14", "2026-03-14", 365},
		{"1999-07-01", "2399-07-01", 146097},
	}
	for _, tt := range tests {
		from, err1 := ParseDate(tt.from)
		to, err2 := ParseDate(tt.to)
		if err1 != nil || err2 != nil {
			t.Fatal(err1, err2)
		}
		if got := to.DaysSince(from); got != tt.days {
			t.Errorf("%s to %s are %d days, want %d", tt.from, tt.to, got, tt.days)
		}
		if from.Before(to) != (tt.days > 0) || to.Before(from) {
			t.Errorf("%s and %s are in the wrong order", tt.from, tt.to)
		}
	}
	// A year of four hundred has its leap day, one of a hundred has none.
	for _, text := range []string{"1950-01-01", "2000-02-29", "2024-02-29", "2026-02-28", "2100-02-28"} {
		if d, err := ParseDate(text); err != nil || d.String() != text {
			t.Errorf("%s is read as %v, %v", text, d, err)
		}
	}
	for _, text := range []string{"", "1900-02-29", "2100-02-29", "2200-02-29", "2026-3-14", "2026-02-29", "2026-13-01", "2026-00-10", "2026-04-31", "1949-12-31", "2026-03-14 ", "20260314", "２026-03-14"} {
		if d, err := ParseDate(text); err == nil {
			t.Errorf("%q is read as %v", text, d)
		}
	}
}
