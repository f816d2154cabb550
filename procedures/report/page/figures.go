package page

import (
	"fmt"
	"html/template"
	"math"
	"slices"

	"daytank/planner/idletest"
	"daytank/planner/quantity"
	"daytank/procedures/proof"
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

// artist draws in the units and with the decimal mark that are wanted.
type artist struct{ report.Amounts }

// volumes gives volumes in mL as numbers of an axis.
func (a artist) volumes(ml []float64) []float64 {
	out := make([]float64, len(ml))
	for i, x := range ml {
		out[i], _ = a.VolumeIn(quantity.Millilitres(x))
	}
	return out
}

// degrees gives temperatures in °C as numbers of an axis.
func (a artist) degrees(c []float64) []float64 {
	out := make([]float64, len(c))
	for i, x := range c {
		out[i], _ = a.TemperatureIn(quantity.Celsius(x))
	}
	return out
}

// run draws level and temperature, as planned and as read.
func (a artist) run(j report.Job) []picture {
	p := j.Plan
	if p == nil || len(p.Levels) < 2 {
		return nil
	}
	at := column(p.Levels, func(l report.Level) float64 { return l.AtMin })
	low := a.volumes(column(p.Levels, func(l report.Level) float64 { return l.LowML }))
	expected := a.volumes(column(p.Levels, func(l report.Level) float64 { return l.ExpectedML }))
	high := a.volumes(column(p.Levels, func(l report.Level) float64 { return l.HighML }))
	planned := column(p.Levels, func(l report.Level) float64 { return l.TemperatureC })
	peak := slices.Max(planned)
	planned = a.degrees(planned)
	var when, level, heat []float64
	for _, r := range j.Readings {
		if !r.Struck {
			when, level, heat = append(when, r.RunMin), append(level, orNaN(r.LevelML)), append(heat, orNaN(r.Temperature))
		}
	}
	level, heat = a.volumes(level), a.degrees(heat)
	minutes := around("min", append(append([]float64{0}, at...), when...)...)
	minutes.from = 0
	stop, volume := a.VolumeIn(quantity.Millilitres(p.RunDry.StopLevelML))
	f := newFigure("Level in the container", fmt.Sprintf("Planned from %s to %s with its band, %d readings, stop level %s.",
		a.ML(p.Levels[0].ExpectedML), a.ML(p.Levels[len(p.Levels)-1].ExpectedML), len(when), a.ML(p.RunDry.StopLevelML)),
		640, 240, minutes, around(volume, slices.Concat([]float64{stop * 0.9}, low, high, level)...))
	f.band(at, low, high)
	f.line("planned", at, expected)
	f.level("stop", stop, "stop level "+a.ML(p.RunDry.StopLevelML))
	f.dots("read", when, level)
	warm, degree := a.TemperatureIn(quantity.Celsius(p.Temperature.WarmC))
	hot, _ := a.TemperatureIn(quantity.Celsius(p.Temperature.HotC))
	g := newFigure("Temperature of the fluid", fmt.Sprintf("Planned up to %s, %d readings; warm at %s, hot at %s.",
		a.Celsius(peak), len(when), a.Celsius(p.Temperature.WarmC), a.Celsius(p.Temperature.HotC)),
		640, 200, minutes, around(degree, slices.Concat(planned, []float64{hot}, heat)...))
	g.line("planned", at, planned)
	g.level("warm", warm, "warm "+a.Celsius(p.Temperature.WarmC))
	g.level("stop", hot, "hot "+a.Celsius(p.Temperature.HotC))
	g.dots("read", when, heat)
	return []picture{
		{f.svg("xy", a.Printer), "Level: the line and its band are planned, dots were read."},
		{g.svg("xy", a.Printer), "Temperature: the line is planned, dots were read."},
	}
}

// times draws how long each step was planned for and took.
func (a artist) times(j report.Job) []picture {
	var steps []report.Step
	longest := 60.0
	for _, s := range j.Steps {
		if s.TakenS != nil && *s.TakenS > 0 {
			steps = append(steps, s)
			longest = max(longest, s.PlannedS, *s.TakenS)
		}
	}
	if len(steps) == 0 {
		return nil
	}
	const row = 14
	f := newFigure("Time of each step", fmt.Sprintf("%d steps, planned %s, taken %s.", len(steps), a.Min(j.Planned), a.Min(j.Taken)),
		640, float64(len(steps))*row+edge+34, axis{0, longest / 60 * 1.05, "min"}, axis{0, 1, ""})
	f.left = 170
	for i, s := range steps {
		top := edge + float64(i)*row
		f.text("row", f.left-6, top+10, "end", s.Step)
		f.bar("plannedbar", 0, s.PlannedS/60, top+2, row-4)
		f.bar("takenbar", 0, *s.TakenS/60, top+5, row-10)
	}
	return []picture{{f.svg("x", a.Printer), "Wide pale bars are planned, narrow dark ones were taken."}}
}

// tests draws the corrections of each state before and after, on one scale for all states,
// and how each test went.
func (a artist) tests(c idletest.Comparison) []picture {
	reach := 0.0
	for _, o := range c.States {
		for _, x := range o.Cylinders {
			for _, s := range []idletest.Side{x.Before, x.After} {
				reach = max(reach, math.Abs(s.Mean)+s.Half)
			}
		}
		reach = max(reach, o.Fine)
	}
	var all []picture
	for _, o := range c.States {
		if len(o.Cylinders) > 0 && reach > 0 {
			all = append(all, a.cylinders(o, reach*1.1))
		}
		for _, r := range slices.Concat(o.Before, o.After) {
			all = append(all, a.course(r)...)
		}
	}
	return all
}

func (a artist) cylinders(o idletest.Outcome, reach float64) picture {
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
	return picture{f.svg("x", a.Printer), fmt.Sprintf("%s: hollow before, full after, with 95 %% intervals; %s.", o.State, o.Verdict)}
}

// course draws how one test went: its cylinders by minute, or by coolant where it was cold,
// and the load.
func (a artist) course(r idletest.Reduced) []picture {
	c := r.Course()
	if len(c.At) < 2 {
		return nil
	}
	at, by := c.At, "min"
	_, degree := a.TemperatureIn(0)
	if c.By == "degC" {
		at, by = a.degrees(c.At), degree+" coolant"
	}
	draw := func(title, unit string, lines [][]float64) picture {
		f := newFigure(fmt.Sprintf("%s, %s %s, run %d", title, r.Phase, r.State, r.Run), fmt.Sprintf("%d lines over %d stretches.", len(lines), len(at)),
			640, 170, around(by, at...), around(unit, slices.Concat(lines...)...))
		for i, l := range lines {
			f.line(fmt.Sprintf("line l%d", i%8), at, l)
			if end := len(l) - 1; len(lines) > 1 && !math.IsNaN(l[end]) { // which cylinder it is, whatever its colour
				f.text("name", f.px(at[end])+4, f.py(l[end])+4, "start", fmt.Sprint(i+1))
			}
		}
		caption := f.title + "."
		if len(lines) > 1 {
			caption = f.title + ", by cylinder."
		}
		return picture{f.svg("xy", a.Printer), caption}
	}
	all := []picture{draw("Corrections", string(r.Unit), c.Cylinders)}
	if len(c.Load) > 0 {
		all = append(all, draw("Load", "%", [][]float64{c.Load}))
	}
	if len(c.Coolant) > 0 && c.By == "min" {
		all = append(all, draw("Coolant", degree, [][]float64{a.degrees(c.Coolant)}))
	}
	return all
}

// trend draws the spread of the corrections over the jobs of an engine.
func (a artist) trend(l *proof.Life) []picture {
	if l == nil {
		return nil
	}
	var all []picture
	for _, s := range l.States {
		at := column(s.Points, func(p proof.Point) float64 { return p.At })
		rms := column(s.Points, func(p proof.Point) float64 { return p.RMS })
		first, last := s.Points[0], s.Points[len(s.Points)-1]
		if first.At == last.At {
			continue // one place in its life is no trend
		}
		words := report.SlopeWords(*l, s, a.Printer)
		f := newFigure(fmt.Sprintf("Spread of the corrections over the jobs of %s, %s", l.Asset, s.State), fmt.Sprintf("%d tests; %s.", len(s.Points), words),
			640, 200, around("", at...), around(string(s.Unit), slices.Concat(rms, []float64{0, s.Limit})...))
		f.level("limit", s.Limit, a.Sprintf("limit %v", s.Limit))
		if s.Trend.Slope != nil {
			slope, height := idletest.TheilSen(at, rms)
			f.line("planned", []float64{first.At, last.At}, []float64{height + slope*first.At, height + slope*last.At})
		}
		for i, p := range s.Points {
			f.dots(string(p.Phase), at[i:i+1], rms[i:i+1])
		}
		f.text("", f.px(first.At), f.height-f.bottom+16, "start", report.LifeAt(*l, first.At, first.On, a.Printer))
		f.text("", f.px(last.At), f.height-f.bottom+16, "end", report.LifeAt(*l, last.At, last.On, a.Printer))
		all = append(all, picture{f.svg("y", a.Printer), fmt.Sprintf("%s: hollow before, full after a clean; %s.", s.State, words)})
	}
	return all
}
