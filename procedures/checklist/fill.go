package checklist

import (
	"fmt"
	"maps"
	"math"
	"strings"

	"daytank/planner"
	"daytank/planner/engine"
	"daytank/planner/hydraulics"
	"daytank/planner/quantity"
	"daytank/procedures"
)

// factsOf gives what the conditions of steps look at.
func factsOf(j planner.Job, p planner.Plan) map[string]string {
	facts := map[string]string{
		"place":           j.Site.Place,
		"people":          either(j.Site.Alone(), "alone", "together"),
		"coil":            procedures.YesNo(j.Rig.Coil != nil),
		"filter_in_loop":  procedures.YesNo(j.Rig.FilterInLoop),
		"taps":            procedures.YesNo(j.Rig.Taps),
		"feed":            j.Rig.Feed,
		"soak":            procedures.YesNo(hasSoak(p)),
		"aftertreatment":  either(j.Engine.Aftertreatment == "none", "none", "particulate-filter"),
		"injectors":       j.Engine.Injectors,
		"return_to":       either(j.Rig.ToWaste, "waste", "container"),
		"primer":          j.Engine.Primer.Kind,
		"flush":           procedures.YesNo(p.Fluid.Flush > 0),
		"container_above": procedures.YesNo(j.Rig.Lift < 0),
		"metal_needed":    procedures.YesNo(p.Heat.Peak.High > p.Heat.Warm),
		"dose":            procedures.YesNo(j.TankDose != nil),
	}
	maps.Copy(facts, procedures.LayoutFacts(j.Engine.Layout))
	return facts
}

func hasSoak(p planner.Plan) bool {
	for _, s := range p.Stages {
		if s.Soak {
			return true
		}
	}
	return false
}

func either(yes bool, a, b string) string {
	if yes {
		return a
	}
	return b
}

// pressureWait is how long the engine stands before a fuel line is opened,
// unless its maker says otherwise (common practice, no source).
const pressureWait = quantity.Duration(10 * 60)

// valuesOf gives the plan values that texts name.
func valuesOf(c Context) map[string]string {
	j, p, show := c.Job, c.Plan, c.Printer
	contents := j.Engine.LineVolume + j.Engine.FilterVolume
	v := map[string]string{
		"charge":           show.Volume(p.Fluid.Charge),
		"packs":            fmt.Sprint(p.Fluid.Packs),
		"needed":           show.Volume(p.Fluid.Needed),
		"flush":            show.Volume(p.Fluid.Flush),
		"flush_time":       show.Duration(p.Fluid.FlushTime),
		"stop_level":       show.VolumeFine(p.RunDry.StopLevel),
		"stop_level_mm":    "the height marked for it",
		"planned_end":      show.Duration(p.Run),
		"earliest_stop":    "not reached",
		"return_off":       show.DurationFine(p.RunDry.AtEnd),
		"peak":             show.Temperature(p.Heat.Peak.High),
		"warm":             show.Temperature(p.Heat.Warm),
		"hot":              show.Temperature(p.Heat.Hot),
		"ambient":          show.Temperature(j.Site.Ambient),
		"pressure_wait":    show.Duration(pressureWait),
		"prime_volume":     show.Volume(p.Priming.Volume),
		"prime_count":      primeCount(p.Priming, 1),
		"prime_limit":      primeCount(p.Priming, 2),
		"crank":            show.Duration(p.Priming.Crank.For),
		"crank_rest":       show.Duration(p.Priming.Crank.Rest),
		"crank_attempts":   fmt.Sprint(p.Priming.Crank.Attempts),
		"circulate":        show.Volume(5 * contents),
		"coil":             "no coil",
		"water":            "no water",
		"supply_hose":      hoseWords(show, j.Rig.SupplyHose, p.Supply),
		"return_hose":      hoseWords(show, j.Rig.ReturnHose, p.Return),
		"leftover":         show.Volume(p.Fluid.Leftover),
		"run_list":         runWords(show, j, p),
		"emergency_number": c.EmergencyNumber,
		"last_clean":       "never, as far as known",
		"cylinders":        fmt.Sprint(j.Engine.Cylinders),
		"dose":             doseWords(show, j, p),
	}
	for _, key := range []string{"supply_break", "return_break", "stop_engine", "disable_pump", "proof_of_pump"} {
		v[key] = j.Engine.Layout.Words[key].Say
	}
	if h := p.RunDry.StopLevelHeight; h != nil {
		v["stop_level_mm"] = show.Length(*h)
	}
	if e := p.RunDry.Earliest; e != nil {
		v["earliest_stop"] = show.Duration(*e)
	}
	if coil := j.Rig.Coil; coil != nil {
		v["coil"] = show.Length(coil.Length) + " of " + coil.Material + " coil"
		v["water"] = show.Volume(coil.Water)
	}
	if j.LastClean != nil {
		v["last_clean"] = j.LastClean.On.String()
	}
	return v
}

// doseWords gives the dose of the tank additive for each tank: 160 mL for 41 L in
// main, 4 measures of 40 mL.
func doseWords(show quantity.Printer, j planner.Job, p planner.Plan) string {
	var parts []string
	for _, d := range p.Doses {
		if d.OfFluid || d.Amount <= 0 {
			continue
		}
		words := fmt.Sprintf("%s for %s in %s", show.VolumeFine(d.Amount), show.Volume(d.Fuel), d.Tank)
		if d.Measures > 0 {
			words += fmt.Sprintf(", %d × %s", d.Measures, show.Volume(j.TankDose.Measure))
		}
		parts = append(parts, words)
	}
	if len(parts) == 0 {
		return "by its label, for the fuel in the tank"
	}
	return strings.Join(parts, "; ")
}

func hoseWords(show quantity.Printer, h planner.Hose, need planner.HoseNeed) string {
	return fmt.Sprintf("%s bore, %s long, rated to %s or more", show.Length(h.Bore), show.Length(h.Length), show.Temperature(need.Required))
}

func primeCount(p planner.Priming, times int) string {
	if p.Method == "hand" {
		return fmt.Sprintf("%d strokes", times*p.Strokes)
	}
	return fmt.Sprintf("%d key cycles", times*p.KeyCycles)
}

// runWords gives the stages in words: 10 min idle, 2 min 1500 rpm, 15 min soak.
func runWords(show quantity.Printer, j planner.Job, p planner.Plan) string {
	var parts []string
	for _, s := range p.Stages {
		parts = append(parts, show.Duration(s.For)+" "+stageWord(show, j, s))
	}
	return strings.Join(parts, ", ")
}

func stageWord(show quantity.Printer, j planner.Job, s planner.PlannedStage) string {
	switch {
	case s.Soak:
		return "soak"
	case s.Speed == j.Engine.IdleSpeed:
		return "idle"
	}
	return show.Speed(s.Speed)
}

// runOf gives what the live run needs of the plan.
func runOf(c Context) Run {
	p := c.Plan
	r := Run{
		StopUL: microlitres(p.RunDry.StopLevel), ChargeUL: microlitres(p.Fluid.Charge),
		WarmMK: millikelvin(p.Heat.Warm), HotMK: millikelvin(p.Heat.Hot),
	}
	cool, warm := quantity.Celsius(15), quantity.Celsius(45)
	r.ExpansionPPM = int64(math.Round((float64(c.Job.Fluid.Density(cool)/c.Job.Fluid.Density(warm)) - 1) / 30 * 1e6))
	if e := p.RunDry.Earliest; e != nil {
		ms := milliseconds(*e)
		r.EarliestMS = &ms
	}
	if !c.Job.Rig.ToWaste {
		perMinute := func(f quantity.Flow) int64 { return microlitres(f.Over(quantity.Minutes(1))) }
		r.Idle = &Estimate{perMinute(p.IdleBurn.Low), perMinute(p.IdleBurn.Expected), perMinute(p.IdleBurn.High)}
		if p.BurnSource == engine.BurnEstimated {
			r.Burn = r.Idle
		}
	}
	r.CapacityUL = microlitres(c.Job.Rig.Container.Capacity)
	r.ULPerMM = int64(math.Round(hydraulics.Area(c.Job.Rig.Container.Diameter) * 1e6)) // 0 where that is not known
	r.MGPerML = int64(math.Round(c.Job.Fluid.Density(cool).KilogramsPerCubicMetre()))
	if len(p.Levels) > 0 {
		r.FullUL = microlitres(p.Levels[0].Volume.Expected)
	}
	for i, s := range p.Stages {
		drawn := s.Rate.High
		if c.Job.Rig.ToWaste {
			drawn += s.Return.High
		}
		stage := Stage{
			What: stageWord(c.Printer, c.Job, s), Soak: s.Soak, LengthMS: milliseconds(s.For),
			DrawnHighULMin: microlitres(drawn.Over(quantity.Minutes(1))),
			FactorPPM:      int64(math.Round(float64(s.Rate.Expected/p.IdleBurn.Expected) * 1e6)),
		}
		if until := c.Job.Run[i].SoakUntil; until != nil {
			stage.UntilMK = millikelvin(*until)
		}
		r.Stages = append(r.Stages, stage)
	}
	for _, l := range p.Levels {
		r.Marks = append(r.Marks, Mark{
			AtMS: milliseconds(l.At), LowUL: microlitres(l.Volume.Low), ExpUL: microlitres(l.Volume.Expected),
			HiUL: microlitres(l.Volume.High), MK: millikelvin(l.Temperature),
		})
	}
	return r
}
