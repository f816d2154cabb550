package page

import (
	"fmt"

	"daytank/procedures/report"
)

// headNumber is one of the three that a plan comes down to.
type headNumber struct {
	Value, Text string
}

// numbers are the three of a plan as its text has them: how much, until when, how hot.
func numbers(p *report.Plan, a report.Amounts) []headNumber {
	if p == nil {
		return nil
	}
	stop, heat := a.ML(p.RunDry.StopLevelML), p.Temperature
	if p.RunDry.StopLevelMM != nil {
		stop += ", " + a.MM(p.RunDry.StopLevelMM) + ","
	}
	return []headNumber{
		{a.ML(p.Fluid.ChargeML), fmt.Sprintf("how much: %s; %s of it to the waste can first", report.Counted(p.Fluid.Packs, "pack"), a.ML(p.Fluid.FlushML))},
		{a.Min(p.RunMin), fmt.Sprintf("until when, or when %s are left, whichever is first (%s)", stop, earliest(p, a))},
		{a.CelsiusOr(heat.PeakC.Expected), fmt.Sprintf("how hot: expected, %s at worst; warm from %s, off at %s", a.CelsiusOr(heat.PeakC.High), a.Celsius(heat.WarmC), a.Celsius(heat.HotC))},
	}
}

// earliest says when the stop level may be reached.
func earliest(p *report.Plan, a report.Amounts) string {
	switch at := p.RunDry.ReserveReached.Earliest; {
	case at != nil:
		return "at the earliest after " + a.Min(*at)
	case len(p.Levels) > 0 && p.Levels[0].ExpectedML > p.RunDry.StopLevelML:
		return "the stop level is not reached"
	}
	return "the stop level is not kept at all"
}
