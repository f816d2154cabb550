package planner

import (
	"fmt"
	"math"
	"reflect"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"daytank/planner/engine"
	"daytank/planner/quantity"
)

// drawJob gives the van changed in the figures that a plan rests on.
func drawJob(t *rapid.T, text []byte, library *engine.Library, run string) Job {
	number := func(name, unit string, low, high float64) string {
		return fmt.Sprintf("%s=%.4f %s", name, rapid.Float64Range(low, high).Draw(t, name), unit)
	}
	word := func(name string, words ...string) string {
		return name + "=" + rapid.SampledFrom(words).Draw(t, name)
	}
	set := []string{
		word("engine.layout", "rail-pumped", "rotary", "inline", "unit-injector", "unit-injector-heavy"),
		number("engine.displacement", "L", 0.2, 16),
		number("engine.filter_volume", "mL", 0, 2000),
		number("engine.line_volume", "mL", 0, 1000),
		number("fluid.flash_point", "°C", 30, 100),
		number("fluid.density", "kg/m3", 700, 900),
		number("fluid.pack", "mL", 100, 5000),
		number("rig.container.diameter", "mm", 50, 400),
		number("rig.supply_hose.bore", "mm", 4, 20),
		number("rig.return_hose.length", "m", 0.1, 20),
		number("rig.watch_time", "s", 1, 120),
		number("rig.lift", "m", -2, 2),
		number("rig.return_lift", "m", -2, 2),
		number("site.ambient", "°C", -25, 45),
		word("rig.return_to", "container", "waste"),
		word("rig.filter_in_loop", "true", "false"),
		word("rig.first_flush", "auto", "none", "200 mL"),
		word("rig.return_cooler", "none", "{material: metal, length: 3 m, water: 10 L}", "{material: rubber, length: 10 m, water: 1 L}"),
		"run=" + run,
	}
	if rapid.Bool().Draw(t, "estimated") {
		set = append(set, "engine.idle_burn=")
	} else {
		set = append(set, number("engine.idle_burn", "L/h", 0.05, 6))
	}
	if rapid.Bool().Draw(t, "return of the layout") {
		set = append(set, "engine.return_flow=")
	} else {
		set = append(set, number("engine.return_flow", "L/h", 0, 300))
	}
	if rapid.Bool().Draw(t, "pump") {
		set = append(set, "rig.feed=pump", "rig.feed_pump={pressure: 400 kPa, flow: 90 L/h}")
	}
	if rapid.Bool().Draw(t, "charge given") {
		set = append(set, number("rig.charge", "L", 0.05, 10))
	}
	j, err := ReadJobWith("van.yaml", text, set, library, today)
	if err != nil {
		t.Fatal(err)
	}
	return j
}

// drawRun gives a run of up to five stages as YAML.
func drawRun(t *rapid.T) string {
	stages := rapid.SliceOfN(rapid.Custom(func(t *rapid.T) string {
		minutes := rapid.Float64Range(0.1, 40).Draw(t, "minutes")
		switch rapid.IntRange(0, 3).Draw(t, "kind") {
		case 0:
			return fmt.Sprintf("{soak: %.3f min}", minutes)
		case 1:
			return "{soak_until: 50 °C}"
		case 2:
			return fmt.Sprintf("{speed: %.0f rpm, for: %.3f min}", rapid.Float64Range(800, 2500).Draw(t, "rpm"), minutes)
		}
		return fmt.Sprintf("{speed: idle, for: %.3f min}", minutes)
	}), 1, 5).Draw(t, "run")
	return "[" + strings.Join(stages, ", ") + "]"
}

// TestPlanIsInOrder: every figure is finite, no volume or time is below
// nothing, every band has its ends in order, and no level rises but by warming.
func TestPlanIsInOrder(t *testing.T) {
	text, library := jobText(t, "van.yaml"), shippedLibrary(t)
	rapid.Check(t, func(t *rapid.T) {
		j := drawJob(t, text, library, drawRun(t))
		checkPlan(t, j, Compute(j))
	})
}

// fataler is a test of any kind.
type fataler interface {
	Helper()
	Fatalf(format string, args ...any)
}

func checkPlan(t fataler, j Job, p Plan) {
	t.Helper()
	eachFigure(reflect.ValueOf(p), "plan", func(path string, x float64, signed bool) {
		if math.IsNaN(x) || math.IsInf(x, 0) || (x < 0 && !signed) {
			t.Fatalf("%s is %v\n%s", path, x, j.File())
		}
	})
	if p.Heat.Peak.Expected > p.Heat.Peak.High+1e-6 || p.Heat.Peak.Expected < j.Site.Ambient-1e-6 {
		t.Fatalf("peak %v\n%s", p.Heat.Peak, j.File())
	}
	for _, times := range [][2]*quantity.Duration{
		{p.Heat.WarmHigh, p.Heat.WarmExpected},
		{p.Heat.HotHigh, p.Heat.HotExpected},
		{p.Heat.WarmHigh, p.Heat.HotHigh},
		{p.RunDry.Earliest, p.RunDry.Expected},
	} {
		if times[1] != nil && (times[0] == nil || *times[0] > *times[1]+1e-6) {
			t.Fatalf("times %v, %v are in the wrong order\n%s", times[0], times[1], j.File())
		}
	}
	if p.RunDry.AtEnd > p.RunDry.AtStart || p.Fluid.Unusable > p.Fluid.Reserve || p.Fluid.Strength > 1 {
		t.Fatalf("run dry %+v, fluid %+v\n%s", p.RunDry, p.Fluid, j.File())
	}
	checkLevels(t, j, p)
}

// checkLevels holds that the mass of every row is that of the row before or
// less.
func checkLevels(t fataler, j Job, p Plan) {
	t.Helper()
	for i := 1; i < len(p.Levels); i++ {
		was, is := p.Levels[i-1], p.Levels[i]
		if is.At <= was.At {
			t.Fatalf("row %d at %v after %v", i, is.At, was.At)
		}
		mass := func(v quantity.Volume, l Level) float64 { return float64(v) * float64(j.Fluid.Density(l.Temperature)) }
		for _, pair := range [][2]float64{
			{mass(was.Volume.Low, was), mass(is.Volume.Low, is)},
			{mass(was.Volume.Expected, was), mass(is.Volume.Expected, is)},
			{mass(was.Volume.High, was), mass(is.Volume.High, is)},
		} {
			if pair[1] > pair[0]*(1+1e-9) {
				t.Fatalf("level %d rises from %v to %v kg\n%s", i, pair[0], pair[1], j.File())
			}
		}
	}
}

// eachFigure calls see with every number of a plan; signed are temperatures,
// pressures, which a container or a return below the engine turns round, and the
// margin, which may be below nothing. It holds that every band is in order.
func eachFigure(v reflect.Value, path string, see func(path string, x float64, signed bool)) {
	switch v.Kind() {
	case reflect.Float64:
		_, temperature := v.Interface().(quantity.Temperature)
		_, pressure := v.Interface().(quantity.Pressure)
		see(path, v.Float(), temperature || pressure || strings.HasSuffix(path, ".Margin"))
	case reflect.Int:
		see(path, float64(v.Int()), false)
	case reflect.Pointer:
		if !v.IsNil() {
			eachFigure(v.Elem(), path, see)
		}
	case reflect.Slice:
		for i := range v.Len() {
			eachFigure(v.Index(i), fmt.Sprintf("%s.%d", path, i), see)
		}
	case reflect.Struct:
		if low, high := v.FieldByName("Low"), v.FieldByName("High"); low.IsValid() && high.IsValid() {
			middle := v.FieldByName("Expected").Float()
			see(path+", low to expected", middle-low.Float(), false)
			see(path+", expected to high", high.Float()-middle, false)
		}
		for i := range v.NumField() {
			if field := v.Type().Field(i); field.IsExported() {
				eachFigure(v.Field(i), path+"."+field.Name, see)
			}
		}
	}
}

// TestMoreMinutesNeverNeedLessFluid, nor does more of a run leave the container
// any earlier.
func TestMoreMinutesNeverNeedLessFluid(t *testing.T) {
	text, library := jobText(t, "van.yaml"), shippedLibrary(t)
	rapid.Check(t, func(t *rapid.T) {
		j := drawJob(t, text, library, drawRun(t))
		at := rapid.IntRange(0, len(j.Run)-1).Draw(t, "stage")
		if j.Run[at].SoakUntil != nil {
			return
		}
		path := fmt.Sprintf("run.%d.for", at)
		if j.Run[at].Soak {
			path = fmt.Sprintf("run.%d.soak", at)
		}
		longer := j.Run[at].For.Minutes() + rapid.Float64Range(0, 60).Draw(t, "more")
		k, err := j.With(path, fmt.Sprintf("%.6f min", longer))
		if err != nil {
			t.Fatal(err)
		}
		short, long := Compute(j), Compute(k)
		if long.Fluid.Needed < short.Fluid.Needed-1e-12 || long.Fluid.Packs < short.Fluid.Packs || long.Burn.Expected < short.Burn.Expected-1e-12 {
			t.Fatalf("%s=%v min: needed %v, then %v", path, longer, short.Fluid.Needed, long.Fluid.Needed)
		}
		if j.Rig.Charge != nil && long.RunDry.AtEnd > short.RunDry.AtEnd+1e-9 {
			t.Fatalf("%s=%v min: %v s to switch off, then %v", path, longer, short.RunDry.AtEnd, long.RunDry.AtEnd)
		}
	})
}

// TestMoreChargeNeverGetsHotter while the engine runs on at the same speed or a
// faster one. It need not hold after a rest: more fluid keeps its warmth longer.
func TestMoreChargeNeverGetsHotter(t *testing.T) {
	text, library := jobText(t, "van.yaml"), shippedLibrary(t)
	rapid.Check(t, func(t *rapid.T) {
		var stages []string
		rpm := 800.0
		for range rapid.IntRange(1, 3).Draw(t, "stages") {
			stages = append(stages, fmt.Sprintf("{speed: %.0f rpm, for: %.3f min}", rpm, rapid.Float64Range(0.1, 60).Draw(t, "minutes")))
			rpm += math.Floor(rapid.Float64Range(0, 600).Draw(t, "faster"))
		}
		j := drawJob(t, text, library, "["+strings.Join(stages, ", ")+"]")
		least := rapid.Float64Range(0.3, 5).Draw(t, "charge")
		more := least * (1 + rapid.Float64Range(0, 2).Draw(t, "more"))
		var peaks [2]struct{ Expected, High quantity.Temperature }
		for i, litres := range []float64{least, more} {
			k, err := j.With("rig.charge", fmt.Sprintf("%.6f L", litres))
			if err != nil {
				t.Fatal(err)
			}
			peaks[i] = Compute(k).Heat.Peak
		}
		if peaks[1].Expected > peaks[0].Expected+1e-3 || peaks[1].High > peaks[0].High+1e-3 {
			t.Fatalf("%.3f L peaks at %v, %.3f L at %v\n%s", least, peaks[0], more, peaks[1], j.File())
		}
	})
}

// TestACoilNeverMakesItHotter, nor does more water in its bucket.
func TestACoilNeverMakesItHotter(t *testing.T) {
	text, library := jobText(t, "van.yaml"), shippedLibrary(t)
	rapid.Check(t, func(t *rapid.T) {
		j := drawJob(t, text, library, "[{speed: idle, for: 40 min}]")
		var peaks []quantity.Temperature
		for _, cooler := range []string{"none", "{material: metal, length: 3 m, water: 5 L}", "{material: metal, length: 3 m, water: 20 L}"} {
			k, err := j.With("rig.return_cooler", cooler)
			if err != nil {
				t.Fatal(err)
			}
			peaks = append(peaks, Compute(k).Heat.Peak.High)
		}
		if peaks[1] > peaks[0]+1e-6 || peaks[2] > peaks[1]+1e-6 {
			t.Fatalf("without, with 5 L, with 20 L: %v\n%s", peaks, j.File())
		}
	})
}

// TestAbsurdJobs: what a job file may say though nobody means it is planned in
// sane time, and stays finite.
func TestAbsurdJobs(t *testing.T) {
	tests := []struct {
		name string
		set  []string
	}{
		{"a lawnmower", []string{"engine.displacement=0.2 L", "engine.cylinders=1", "engine.stroke=", "engine.idle_burn="}},
		{"a lorry's sixteen litres", []string{"engine.displacement=16 L", "engine.layout=unit-injector-heavy", "engine.stroke=", "engine.idle_burn=", "engine.return_flow="}},
		{"a ship's two hundred litres", []string{"engine.displacement=200 L", "engine.cylinders=24", "engine.stroke=", "engine.idle_burn=", "engine.return_flow=2000 L/h"}},
		{"arctic", []string{"site.ambient=-25 °C"}},
		{"colder", []string{"site.ambient=-40 °C"}},
		{"tropic", []string{"site.ambient=45 °C"}},
		{"twenty metres of hose", []string{"rig.supply_hose.length=20 m", "rig.return_hose.length=20 m"}},
		{"a hundred metres of drain pipe", []string{"rig.supply_hose={bore: 60 mm, length: 100 m}", "rig.return_hose={bore: 60 mm, length: 100 m}"}},
		{"a pack of a thimble", []string{"fluid.pack=10 mL"}},
		{"nothing but a soak", []string{"run=[{soak: 12 h}]"}},
		{"nothing but a soak that ends at once", []string{"run=[{soak_until: 35 °C}]"}},
		{"twelve hours", []string{"run=[{speed: idle, for: 12 h}]"}},
		{"a day at full speed with a drop in the container", []string{"run=[{speed: 6000 rpm, for: 12 h}, {speed: 6000 rpm, for: 12 h}]", "rig.charge=1 mL", "engine.return_flow=2000 L/h", "engine.idle_speed=200 rpm", "engine.return_heat=20 kW"}},
		{"the same with a coil in a cup", []string{"run=[{speed: 6000 rpm, for: 12 h}]", "rig.charge=1 mL", "engine.return_flow=2000 L/h", "engine.idle_speed=200 rpm", "rig.return_cooler={material: metal, length: 50 m, water: 0.5 L}"}},
		{"no return at all", []string{"engine.return_flow=0 L/h", "engine.return_heat=0 W"}},
		{"no return, and a rise of it", []string{"engine.return_flow=0 L/h", "engine.return_heat=", "engine.return_rise=100 K"}},
		{"a thousand litres", []string{"rig.charge=1000 L", "rig.container={capacity: 1000 L, diameter: 3 m}"}},
		{"a plate for a container", []string{"rig.charge=1 mL", "rig.container={capacity: 1 L, diameter: 3 m, pickup_height: 1 m}", "site.ambient=-40 °C"}},
		{"a hundred soaks", []string{"run=[{speed: idle, for: 12 h}" + strings.Repeat(", {soak_until: 20 °C}", 99) + "]"}},
		{"a hundred runs that cool for hours", []string{"rig.charge=1000 L", "rig.container={capacity: 1000 L}", "run=[{speed: idle, for: 12 h}" + strings.Repeat(", {soak_until: 20 °C}, {speed: idle, for: 10 min}", 49) + "]"}},
		{"filters and lines of a ship", []string{"engine.filter_volume=50 L", "engine.line_volume=50 L", "rig.filter_in_loop=true"}},
		{"water for fluid", []string{"fluid.density=1100 kg/m3", "fluid.flash_point=400 °C"}},
		{"ether for fluid", []string{"fluid.density=600 kg/m3", "fluid.flash_point=-60 °C"}},
		{"all to waste through a pump", []string{"rig.return_to=waste", "rig.feed=pump", "rig.feed_pump={pressure: 2000 kPa, flow: 3000 L/h}"}},
		{"a container on the roof, a return into the pit", []string{"rig.lift=-3 m", "rig.return_lift=-3 m"}},
		{"hose like a needle", []string{"rig.supply_hose={bore: 2 mm, length: 20 m}", "rig.return_hose={bore: 2 mm, length: 20 m}", "site.ambient=-40 °C"}},
		{"watched from a mile off", []string{"rig.watch_time=30 min"}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			j := van(t, tt.set...)
			begun := time.Now()
			p := Compute(j)
			if took := time.Since(begun); took > 20*time.Second {
				t.Errorf("took %v", took)
			}
			checkPlan(t, j, p)
		})
	}
}
