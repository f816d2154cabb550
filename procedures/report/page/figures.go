package page

import (
	"fmt"
	"html/template"
	"math"

	"daytank/planner/idletest"
	"daytank/procedures/report"
)

// picture is a figure with what stands below it.
type picture struct {
	SVG     template.HTML
	Caption string
}

// column takes one number out of each row.
func column[T any](rows []T, number func(T) float64) []float64 {
	all := make([]float64, 0, len(rows))
	for _, r := range rows {
		all = append(all, number(r))
	}
	return all
}

func orNaN(x *float64) float64 {
	if x == nil {
		return math.NaN()
	}
	return *x
}

// runPictures draws level and temperature, as planned and as read.
func runPictures(j report.Job) []picture {
	p := j.Plan
	if p == nil || len(p.Levels) < 2 {
		return nil
	}
	at := column(p.Levels, func(l report.Level) float64 { return l.AtMin })
	low := column(p.Levels, func(l report.Level) float64 { return l.LowML })
	expected := column(p.Levels, func(l report.Level) float64 { return l.ExpectedML })
	high := column(p.Levels, func(l report.Level) float64 { return l.HighML })
	planned := column(p.Levels, func(l report.Level) float64 { return l.TemperatureC })
	var when, level, heat []float64
	for _, r := range j.Readings {
		if !r.Struck {
			when, level, heat = append(when, r.RunMin), append(level, orNaN(r.LevelML)), append(heat, orNaN(r.Temperature))
		}
	}
	minutes := around("min", append(append([]float64{0}, at...), when...)...)
	minutes.from = 0
	f := newFigure("Level in the container", fmt.Sprintf("Planned from %.0f to %.0f mL with its band, %d readings, stop level %.0f mL.", expected[0], expected[len(expected)-1], len(when), p.RunDry.StopLevelML),
		640, 240, minutes, around("mL", append(append(append([]float64{p.RunDry.StopLevelML * 0.9}, low...), high...), level...)...))
	f.band(at, low, high)
	f.line("planned", at, expected)
	f.level("stop", p.RunDry.StopLevelML, fmt.Sprintf("stop level %.0f mL", p.RunDry.StopLevelML))
	f.dots("read", when, level)
	g := newFigure("Temperature of the fluid", fmt.Sprintf("Planned up to %.0f °C, %d readings; warm at %.0f, hot at %.0f °C.", maximum(planned), len(when), p.Temperature.WarmC, p.Temperature.HotC),
		640, 200, minutes, around("°C", append(append(planned, p.Temperature.HotC), heat...)...))
	g.line("planned", at, planned)
	g.level("warm", p.Temperature.WarmC, fmt.Sprintf("warm %.0f °C", p.Temperature.WarmC))
	g.level("stop", p.Temperature.HotC, fmt.Sprintf("hot %.0f °C", p.Temperature.HotC))
	g.dots("read", when, heat)
	return []picture{
		{f.svg("xy"), "Level: the line and its band are planned, dots were read."},
		{g.svg("xy"), "Temperature: the line is planned, dots were read."},
	}
}

func maximum(xs []float64) float64 {
	most := math.Inf(-1)
	for _, x := range xs {
		most = math.Max(most, x)
	}
	return most
}

// timesPicture draws how long each step was planned for and took.
func timesPicture(j report.Job) []picture {
	var steps []report.Step
	longest := 60.0
	for _, s := range j.Steps {
		if s.TakenS != nil && *s.TakenS > 0 {
			steps = append(steps, s)
			longest = math.Max(longest, math.Max(s.PlannedS, *s.TakenS))
		}
	}
	if len(steps) == 0 {
		return nil
	}
	const row = 14
	f := newFigure("Time of each step", fmt.Sprintf("%d steps, planned %.0f min, taken %.0f min.", len(steps), j.Planned, j.Taken),
		640, float64(len(steps))*row+edge+34, axis{0, longest / 60 * 1.05, "min"}, axis{0, 1, ""})
	f.left = 170
	for i, s := range steps {
		top := edge + float64(i)*row
		f.text("row", f.left-6, top+10, "end", s.Step)
		f.bar("plannedbar", 0, s.PlannedS/60, top+2, row-4)
		f.bar("takenbar", 0, *s.TakenS/60, top+5, row-10)
	}
	return []picture{{f.svg("x"), "Wide pale bars are planned, narrow dark ones were taken."}}
}

// testPictures draws the corrections of each state before and after, on one scale for all
// states, and how each test went.
func testPictures(c idletest.Comparison) []picture {
	reach := 0.0
	for _, o := range c.States {
		for _, x := range o.Cylinders {
			for _, s := range []idletest.Side{x.Before, x.After} {
				reach = math.Max(reach, math.Abs(s.Mean)+s.Half)
			}
		}
		reach = math.Max(reach, math.Max(o.Fine, 0))
	}
	var all []picture
	for _, o := range c.States {
		if len(o.Cylinders) > 0 && reach > 0 {
			all = append(all, cylinders(o, reach*1.1))
		}
		for _, r := range append(append([]idletest.Reduced{}, o.Before...), o.After...) {
			all = append(all, course(r)...)
		}
	}
	return all
}

func cylinders(o idletest.Outcome, reach float64) picture {
	const row = 34
	f := newFigure(fmt.Sprintf("Corrections, %s", o.State), fmt.Sprintf("%d cylinders before and after with 95 %% intervals; %s.", len(o.Cylinders), o.Verdict),
		640, float64(len(o.Cylinders))*row+edge+44, axis{-reach, reach, string(o.Unit)}, axis{0, 1, ""})
	f.left = 90
	f.upright("zero", 0, "")
	for _, limit := range []struct {
		at   float64
		name string
	}{{o.Fine, "fine"}, {o.Limit, "limit"}} {
		if limit.at > 0 {
			f.upright("limit", limit.at, limit.name)
			f.upright("limit", -limit.at, "")
		}
	}
	for i, x := range o.Cylinders {
		top := edge + 6 + float64(i)*row
		f.text("row", f.left-6, top+18, "end", fmt.Sprintf("cylinder %d", x.Cylinder))
		for k, s := range []idletest.Side{x.Before, x.After} {
			class, y := []string{"before", "after"}[k], top+5+float64(k)*13
			f.bar(class+"bar", s.Mean-s.Half, s.Mean+s.Half, y, 4)
			fmt.Fprintf(&f.body, `<circle class="%s" cx="%s" cy="%s" r="4"/>`, class, number(f.px(s.Mean)), number(y+2))
		}
	}
	return picture{f.svg("x"), fmt.Sprintf("%s: hollow before, full after, with 95 %% intervals; %s.", o.State, o.Verdict)}
}

// course draws how one test went: its cylinders by minute, or by coolant where it was cold,
// and the load.
func course(r idletest.Reduced) []picture {
	c := r.Course()
	if len(c.At) < 2 {
		return nil
	}
	by := "min"
	if c.By == "degC" {
		by = "°C coolant"
	}
	draw := func(title, unit string, lines [][]float64) picture {
		var numbers []float64
		for _, l := range lines {
			numbers = append(numbers, l...)
		}
		f := newFigure(fmt.Sprintf("%s, %s %s, run %d", title, r.Phase, r.State, r.Run), fmt.Sprintf("%d lines over %d stretches.", len(lines), len(c.At)),
			640, 170, around(by, c.At...), around(unit, numbers...))
		for i, l := range lines {
			f.line(fmt.Sprintf("line l%d", i%8), c.At, l)
		}
		return picture{f.svg("xy"), f.title + "."}
	}
	all := []picture{draw("Corrections", string(r.Unit), c.Cylinders)}
	if len(c.Load) > 0 {
		all = append(all, draw("Load", "%", [][]float64{c.Load}))
	}
	if len(c.Coolant) > 0 && c.By == "min" {
		all = append(all, draw("Coolant", "°C", [][]float64{c.Coolant}))
	}
	return all
}
