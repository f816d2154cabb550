package report

import (
	"fmt"
	"time"

	"daytank/planner/quantity"
	"daytank/procedures/checklist"
)

// Ran is how long the engine ran on the fluid, by the record.
type Ran struct {
	EngineMin float64 `json:"engine_min"`
	SoakMin   float64 `json:"soak_min"` // engine off between the stages
	From      string  `json:"from"`     // day, as the next
	To        string  `json:"to"`
	Ended     bool    `json:"ended"`
}

// ofRan gives it of a walk, nil where the engine has not run. What was entered from a
// sheet was done on the day that stands there.
func ofRan(state checklist.State, paper *Paper, zone *time.Location) *Ran {
	r, ok := state.Ran()
	if !ok {
		return nil
	}
	out := Ran{
		EngineMin: round(float64(r.EngineMS)/60000, 2), SoakMin: round(float64(r.SoakMS)/60000, 2), Ended: r.Ended,
		From: r.From.In(zone).Format(time.DateOnly), To: r.To.In(zone).Format(time.DateOnly),
	}
	if r.Paper && paper != nil {
		out.From, out.To = paper.Done, paper.Done
	}
	return &out
}

// days says on which day it ran.
func (r Ran) days() string {
	if r.From == r.To {
		return "on " + Plain(r.From)
	}
	return "from " + Plain(r.From) + " to " + Plain(r.To)
}

// Planned gives how long the engine is to run in the stages, and how long they soak.
func (p Plan) Planned() (engine, soak float64) {
	for _, s := range p.Stages {
		if s.Kind == "soak" {
			soak += s.Minutes
		} else {
			engine += s.Minutes
		}
	}
	return engine, soak
}

// Minutes writes a time to the minute, in words.
func (a Amounts) Minutes(x float64) string {
	switch n := round(x, 0); {
	case n == 0 && x > 0:
		return "less than a minute"
	case n == 1:
		return "1 minute"
	default:
		return a.Sprintf("%.0f minutes", n)
	}
}

// engine says how long the engine runs, with the soak beside it where there is one.
func (a Amounts) engine(engine, soak float64) string {
	text := a.Minutes(engine)
	if soak > 0 {
		text += ", and " + a.Minutes(soak) + " of soak with the engine off"
	}
	return text
}

// Done says in a sentence what was done, with the times of the run as it went.
func (j Job) Done(show quantity.Printer) string {
	asset, a := Plain(j.Asset), Amounts{show}
	fluid := "cleaning fluid"
	if j.Plan != nil {
		fluid = a.ML(j.Plan.Fluid.ChargeML) + " of cleaning fluid"
	}
	if j.Ran == nil {
		planned := ""
		if j.Plan != nil {
			planned = fmt.Sprintf(" with the engine running on %s for %s", fluid, a.engine(j.Plan.Planned()))
		}
		return fmt.Sprintf("A concentrate clean of %s was planned%s; no run of the engine on it is recorded. The record is %s.", asset, planned, j.State)
	}
	by, ran := Plain(j.Operator), a.engine(j.Ran.EngineMin, j.Ran.SoakMin)
	if j.Paper != nil {
		by = Plain(j.Paper.Who) + " and entered from paper by " + by
	}
	if !j.Ran.Ended {
		return fmt.Sprintf("The cleaning of the fuel injection system of %s was begun %s by %s: by its last entry the engine had run on %s for %s; no end of the run is recorded. The record is %s.",
			asset, j.Ran.days(), by, fluid, ran, j.State)
	}
	return fmt.Sprintf("The fuel injection system of %s was cleaned %s by %s: the engine ran on %s for %s. The record is %s.",
		asset, j.Ran.days(), by, fluid, ran, j.State)
}
