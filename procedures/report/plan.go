// Package report makes what people and other programs read: one model of a plan
// or a job, and renderers of it as text and JSON.
//
// The models are plain structs whose JSON keys carry their unit; numbers in
// them are rounded to what is sensible, and null is a time that is never
// reached. The same job gives the same bytes.
package report

import (
	"math"

	"daytank/planner"
	"daytank/planner/quantity"
	"daytank/procedures/checklist"
	"daytank/safety"
)

// Band is an uncertain number.
type Band struct {
	Low      float64 `json:"low"`
	Expected float64 `json:"expected"`
	High     float64 `json:"high"`
}

// Pair is a number in the expected and in the high case; null where it is
// never reached.
type Pair struct {
	Expected *float64 `json:"expected"`
	High     *float64 `json:"high"`
}

// Plan is the plan of a job with its findings, as `plan --json` prints it.
type Plan struct {
	Title       string          `json:"title"`
	Asset       string          `json:"asset"`
	Ready       bool            `json:"ready"`
	Burn        Burn            `json:"burn"`
	Stages      []Stage         `json:"stages"`
	Fluid       Fluid           `json:"fluid"`
	RunDry      RunDry          `json:"run_dry"`
	Levels      []Level         `json:"levels"`
	Temperature Temperature     `json:"temperature"`
	Hoses       []Hose          `json:"hoses"`
	Suction     *Suction        `json:"suction"` // null where an electric pump feeds the engine
	ReturnHead  float64         `json:"return_head_kpa"`
	Priming     Priming         `json:"priming"`
	Dose        []Dose          `json:"dose"`
	ReturnedML  float64         `json:"returned_ml"` // of the fluid, washed into the tank by the first start
	Waste       Waste           `json:"waste"`
	Needs       []Need          `json:"needs"`
	RunMin      float64         `json:"run_min"`
	WorkMin     *float64        `json:"work_min"` // null where the layout has no procedure yet
	Cost        *float64        `json:"cost"`
	Findings    []safety.Worded `json:"findings"`
	Cautions    []string        `json:"cautions"`
}

// Burn is what the engine burns at idle.
type Burn struct {
	Source string `json:"source"`
	Idle   Band   `json:"idle_l_per_h"`
}

// Stage is a stage of the run.
type Stage struct {
	Kind     string   `json:"kind"` // run | soak
	SpeedRPM *float64 `json:"speed_rpm"`
	Minutes  float64  `json:"minutes"`
	BurnML   Band     `json:"burn_ml"`
}

// Fluid is where the charge goes.
type Fluid struct {
	BurnML          Band    `json:"burn_ml"`
	FlushML         float64 `json:"flush_ml"`
	FlushS          float64 `json:"flush_s"`
	HoseML          float64 `json:"hose_ml"`
	ReserveML       float64 `json:"reserve_ml"`
	UnusableML      float64 `json:"unusable_ml"`
	NeededML        float64 `json:"needed_ml"`
	Packs           int     `json:"packs"`
	ChargeML        float64 `json:"charge_ml"`
	LeftoverML      float64 `json:"leftover_ml"`
	StrengthPercent float64 `json:"strength_percent"`
}

// RunDry is when to stop.
type RunDry struct {
	StopLevelML    float64  `json:"stop_level_ml"`
	StopLevelMM    *float64 `json:"stop_level_mm"`
	ReserveReached struct {
		Earliest *float64 `json:"earliest"`
		Expected *float64 `json:"expected"`
	} `json:"reserve_reached_min"`
	MarginMin *float64 `json:"margin_min"`
	ReturnOff struct {
		Start     float64  `json:"start"`
		End       float64  `json:"end"`
		StopLevel *float64 `json:"stop_level"`
	} `json:"return_off_s"`
}

// Level is a row of the level table.
type Level struct {
	AtMin        float64 `json:"at_min"`
	LowML        float64 `json:"low_ml"`
	ExpectedML   float64 `json:"expected_ml"`
	HighML       float64 `json:"high_ml"`
	TemperatureC float64 `json:"temperature_c"`
}

// Temperature is how warm the fluid gets.
type Temperature struct {
	WarmC       float64 `json:"warm_c"`
	HotC        float64 `json:"hot_c"`
	PeakC       Pair    `json:"peak_c"`
	WarmReached Pair    `json:"warm_reached_min"`
	HotReached  Pair    `json:"hot_reached_min"`
}

// Hose is what a hose must withstand.
type Hose struct {
	Line        string   `json:"line"`
	RequiredC   float64  `json:"required_c"`
	RatingC     *float64 `json:"rating_c"`
	VelocityM_S float64  `json:"velocity_m_s"`
}

// Priming is how line and filter are filled.
type Priming struct {
	VolumeML  float64 `json:"volume_ml"`
	Method    string  `json:"method"`
	Strokes   *int    `json:"strokes"`
	KeyCycles *int    `json:"key_cycles"`
	Crank     struct {
		Seconds     float64 `json:"seconds"`
		RestSeconds float64 `json:"rest_seconds"`
		Attempts    int     `json:"attempts"`
	} `json:"crank"`
}

// OfPlan gives the model of a plan. List is the checklist made from it, nil
// where the layout has no procedure.
func OfPlan(j planner.Job, p planner.Plan, a safety.Assessment, list *checklist.Checklist, show quantity.Printer) Plan {
	out := Plan{
		Title: j.Title, Asset: j.Asset, Ready: a.Ready,
		Burn:    Burn{Source: p.BurnSource, Idle: litresPerHour(p.IdleBurn)},
		Fluid:   ofFluid(p),
		RunDry:  ofRunDry(p.RunDry),
		Priming: ofPriming(p.Priming),
		RunMin:  round(p.Run.Minutes(), 1), Cost: p.Cost,
		Findings: a.Worded(show), Cautions: Cautions(),
	}
	for _, s := range p.Stages {
		stage := Stage{Kind: "run", Minutes: round(s.For.Minutes(), 2), BurnML: millilitres(s.Burn)}
		if s.Soak {
			stage.Kind = "soak"
		} else {
			stage.SpeedRPM = rounded(s.Speed.RPM(), 1)
		}
		out.Stages = append(out.Stages, stage)
	}
	for _, l := range p.Levels {
		out.Levels = append(out.Levels, Level{
			AtMin: round(l.At.Minutes(), 2), LowML: round(l.Volume.Low.Millilitres(), 1), ExpectedML: round(l.Volume.Expected.Millilitres(), 1),
			HighML: round(l.Volume.High.Millilitres(), 1), TemperatureC: round(l.Temperature.Celsius(), 1),
		})
	}
	out.Temperature = ofHeat(p.Heat)
	out.Suction, out.ReturnHead = ofSuction(p.Suction), round(p.ReturnHead.Kilopascals(), 3)
	out.Dose, out.ReturnedML = OfDoses(p.Doses), ml(p.Returned)
	out.Waste = Waste{LiquidML: ml(p.Waste.Liquid), ContainerML: ml(p.Waste.Container)}
	out.Needs = OfNeeds(j.Needs(p), show)
	out.Hoses = []Hose{ofHose("supply", j.Rig.SupplyHose, p.Supply), ofHose("return", j.Rig.ReturnHose, p.Return)}
	if list != nil {
		out.WorkMin = rounded(float64(list.PlannedMS())/60000, 0)
	}
	return out
}

// Cautions are said with every plan, checklist and report.
func Cautions() []string {
	return []string{
		"This is a planning aid. The vehicle maker's instructions, the fluid's data sheet, local fire, waste and exhaust rules, and licensed practice come first.",
		"In doubt, stop: key off, and ask someone who knows this engine.",
	}
}

func ofFluid(p planner.Plan) Fluid {
	f := p.Fluid
	return Fluid{
		BurnML: millilitres(p.Burn), FlushML: ml(f.Flush), FlushS: round(f.FlushTime.Seconds(), 1),
		HoseML: ml(f.Hoses), ReserveML: ml(f.Reserve), UnusableML: ml(f.Unusable), NeededML: ml(f.Needed),
		Packs: f.Packs, ChargeML: ml(f.Charge), LeftoverML: ml(f.Leftover), StrengthPercent: round(100*f.Strength, 1),
	}
}

func ofRunDry(d planner.RunDry) RunDry {
	out := RunDry{StopLevelML: ml(d.StopLevel), MarginMin: minutes(d.Margin)}
	if d.StopLevelHeight != nil {
		out.StopLevelMM = rounded(d.StopLevelHeight.Millimetres(), 1)
	}
	out.ReserveReached.Earliest, out.ReserveReached.Expected = minutes(d.Earliest), minutes(d.Expected)
	out.ReturnOff.Start, out.ReturnOff.End = round(d.AtStart.Seconds(), 1), round(d.AtEnd.Seconds(), 1)
	if d.AtStopLevel != nil {
		out.ReturnOff.StopLevel = rounded(d.AtStopLevel.Seconds(), 1)
	}
	return out
}

func ofHeat(h planner.Heat) Temperature {
	return Temperature{
		WarmC: round(h.Warm.Celsius(), 1), HotC: round(h.Hot.Celsius(), 1),
		PeakC:       Pair{rounded(h.Peak.Expected.Celsius(), 1), rounded(h.Peak.High.Celsius(), 1)},
		WarmReached: Pair{minutes(h.WarmExpected), minutes(h.WarmHigh)},
		HotReached:  Pair{minutes(h.HotExpected), minutes(h.HotHigh)},
	}
}

func ofHose(line string, h planner.Hose, need planner.HoseNeed) Hose {
	out := Hose{Line: line, RequiredC: round(need.Required.Celsius(), 1), VelocityM_S: round(need.Velocity, 3)}
	if h.Rating != nil {
		out.RatingC = rounded(h.Rating.Celsius(), 1)
	}
	return out
}

func ofPriming(p planner.Priming) Priming {
	out := Priming{VolumeML: ml(p.Volume), Method: p.Method}
	if p.Method == "hand" {
		out.Strokes = &p.Strokes
	} else {
		out.KeyCycles = &p.KeyCycles
	}
	out.Crank.Seconds, out.Crank.RestSeconds, out.Crank.Attempts = p.Crank.For.Seconds(), p.Crank.Rest.Seconds(), p.Crank.Attempts
	return out
}

func round(x float64, digits int) float64 {
	k := math.Pow(10, float64(digits))
	return math.Round(x*k)/k + 0 // no negative zero
}

func rounded(x float64, digits int) *float64 {
	y := round(x, digits)
	return &y
}

func ml(v quantity.Volume) float64 { return round(v.Millilitres(), 1) }

func minutes(d *quantity.Duration) *float64 {
	if d == nil {
		return nil
	}
	return rounded(d.Minutes(), 1)
}

func millilitres(b quantity.Band[quantity.Volume]) Band {
	return Band{ml(b.Low), ml(b.Expected), ml(b.High)}
}

func litresPerHour(b quantity.Band[quantity.Flow]) Band {
	return Band{round(b.Low.LitresPerHour(), 3), round(b.Expected.LitresPerHour(), 3), round(b.High.LitresPerHour(), 3)}
}
