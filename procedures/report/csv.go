package report

import (
	"encoding/csv"
	"fmt"
	"io"
	"strconv"
	"strings"

	"daytank/planner/idletest"
)

// columns of a report as CSV: one fact a row. Part says of what, as the keys of the JSON
// form do; at is a day with its time, or the minute of the run; numbers have a decimal point and
// the unit beside them.
var columns = []string{"part", "seq", "at", "step", "name", "value", "unit", "planned", "low", "high", "remark"}

// fact is a row of the CSV form.
type fact struct {
	part           string
	seq            int64
	at, step, name string
	value, unit    string
	planned        *float64
	low, high      *float64
	remark         string
}

// CSV writes a report for other programs, as RFC 4180 has it but for its line ends, which are
// line feeds. A text that a spreadsheet
// would take for a formula has an apostrophe before it.
func (r Report) CSV(w io.Writer) error {
	out := csv.NewWriter(w)
	if err := out.Write(columns); err != nil {
		return err
	}
	for _, f := range r.facts() {
		seq := ""
		if f.seq > 0 {
			seq = strconv.FormatInt(f.seq, 10)
		}
		row := []string{f.part, seq, f.at, f.step, f.name, f.value, f.unit, exact(f.planned), exact(f.low), exact(f.high), f.remark}
		for i := range row {
			row[i] = Cell(row[i])
		}
		if err := out.Write(row); err != nil {
			return err
		}
	}
	out.Flush()
	return out.Error()
}

// Cell gives a text that a spreadsheet takes for a text: a formula begins with one of these
// signs, and so does a number, which stays as it is.
func Cell(text string) string {
	text = strings.TrimSpace(Plain(text))
	if text == "" || !strings.ContainsRune("=+-@", rune(text[0])) {
		return text
	}
	if _, err := strconv.ParseFloat(text, 64); err == nil && strings.Trim(text, "+-.0123456789") == "" {
		return text
	}
	return "'" + text
}

// exact writes a number with all its digits; nothing where there is none.
func exact(x *float64) string {
	if x == nil {
		return ""
	}
	return strconv.FormatFloat(*x, 'f', -1, 64)
}

func (r Report) facts() []fact {
	var all []fact
	add := func(f ...fact) { all = append(all, f...) }
	j := r.Job
	for _, x := range [][2]string{
		{"job", j.Job},
		{"name", j.Name},
		{"asset", j.Asset},
		{"title", j.Title},
		{"state", j.State},
		{"procedure", j.Procedure},
		{"operator", j.Operator},
		{"created", j.Created},
		{"updated", j.Updated},
		{"events", strconv.FormatInt(j.Events, 10)},
		{"head", r.Head},
		{"demo", strconv.FormatBool(j.Demo)},
		{"result", r.Review.Result},
		{"verdict", r.Review.Verdict},
	} {
		add(fact{part: "job", name: x[0], value: x[1]})
	}
	add(fact{part: "job", name: "time", value: exact(&j.Taken), unit: "min", planned: &j.Planned})
	add(j.ranFacts()...)
	add(j.Plan.facts()...)
	for _, a := range j.Acknowledged {
		add(fact{part: "acknowledged", name: a.Rule, value: a.Words, remark: a.Message})
	}
	for _, s := range j.Steps {
		add(s.facts()...)
	}
	for _, x := range j.Readings {
		add(x.facts()...)
	}
	for _, o := range r.Comparison.States {
		add(stateFacts(o)...)
	}
	add(r.trendFacts()...)
	for _, part := range []struct {
		name string
		all  []Said
	}{{"alarms", j.Alarms}, {"deviations", j.Deviations}, {"notes", j.Notes}} {
		for _, x := range part.all {
			add(fact{part: part.name, seq: x.Seq, at: x.When(), step: x.Step, value: x.Text})
		}
	}
	for _, x := range j.Photos {
		add(fact{part: "photos", seq: x.Seq, step: x.Step, name: x.File, value: x.Digest})
	}
	for _, x := range r.Review.Items {
		add(fact{part: "items", seq: x.Seq, step: x.Step, value: x.Text})
	}
	for _, x := range r.Review.SignOffs {
		add(fact{part: "sign_offs", seq: x.Seq, at: x.At, name: x.Which, value: x.By, remark: x.Sentence})
	}
	for _, x := range j.Timeline {
		add(fact{part: "timeline", seq: x.Seq, at: strings.TrimSpace(x.Day + " " + x.At), name: x.Kind, value: x.By, remark: x.Text})
	}
	return all
}

// ranFacts are how long the engine ran beside what was planned, without the soaks.
func (j Job) ranFacts() []fact {
	all := []fact{
		{part: "job", name: "done", value: j.Sentence},
		{part: "job", name: "engine ran", unit: "min"},
		{part: "job", name: "soak", unit: "min"},
	}
	if j.Plan != nil {
		engine, soak := j.Plan.Planned()
		all[1].planned, all[2].planned = &engine, &soak
	}
	if j.Ran != nil {
		all[1].value, all[2].value = exact(&j.Ran.EngineMin), exact(&j.Ran.SoakMin)
	}
	return all
}

func (p *Plan) facts() []fact {
	if p == nil {
		return nil
	}
	number := func(name string, x *float64, unit string) fact {
		return fact{part: "plan", name: name, value: exact(x), unit: unit}
	}
	band := func(name string, b Band, unit string) fact {
		return fact{part: "plan", name: name, value: exact(&b.Expected), unit: unit, low: &b.Low, high: &b.High}
	}
	all := []fact{
		number("charge", &p.Fluid.ChargeML, "mL"), band("idle burn", p.Burn.Idle, "L/h"), band("burned", p.Fluid.BurnML, "mL"), number("first flush", &p.Fluid.FlushML, "mL"),
		number("stop level", &p.RunDry.StopLevelML, "mL"), number("stop level reached, earliest", p.RunDry.ReserveReached.Earliest, "min"),
		number("peak temperature", p.Temperature.PeakC.Expected, "°C"), number("hot from", &p.Temperature.HotC, "°C"), number("run", &p.RunMin, "min"),
		number("liquid waste", &p.Waste.LiquidML, "mL"),
	}
	for _, d := range p.Dose {
		all = append(all, fact{part: "plan", name: "tank dose, " + d.Tank, value: exact(&d.DoseML), unit: "mL"})
	}
	for _, l := range p.Levels {
		at := exact(&l.AtMin)
		all = append(all,
			fact{part: "plan", at: at, name: "level", value: exact(&l.ExpectedML), unit: "mL", low: &l.LowML, high: &l.HighML},
			fact{part: "plan", at: at, name: "temperature", value: exact(&l.TemperatureC), unit: "°C"})
	}
	for _, f := range p.Findings {
		all = append(all, fact{part: "findings", name: f.Rule, value: f.Severity, remark: f.Message})
	}
	return all
}

func (s Step) facts() []fact {
	all := []fact{{part: "steps", step: s.Step, name: s.Kind, value: exact(s.TakenS), unit: "s", planned: &s.PlannedS, remark: s.Status}}
	for _, v := range s.Values {
		remark := ""
		switch {
		case v.Struck:
			remark = "replaced"
		case v.Why != "":
			remark = "corrected: " + v.Why
		}
		all = append(all, fact{part: "values", seq: v.Seq, step: s.Step, name: v.Field, value: v.Text, unit: v.Unit, remark: remark})
	}
	for _, x := range [][2]string{{"proof", s.Proof}, {"released by", s.Released}, {"skipped because", s.Skipped}} {
		if x[1] != "" {
			all = append(all, fact{part: "steps", step: s.Step, name: x[0], value: x[1]})
		}
	}
	return all
}

func (r Reading) facts() []fact {
	at := exact(&r.RunMin)
	all := []fact{{part: "readings", seq: r.Seq, at: at, name: "level", value: exact(r.LevelML), unit: "mL", planned: r.ExpectedML, remark: strings.TrimSpace(r.mark())}}
	if r.Temperature != nil {
		all = append(all, fact{part: "readings", seq: r.Seq, at: at, name: "temperature", value: exact(r.Temperature), unit: "°C", remark: strings.TrimSpace(r.mark())})
	}
	return all
}

func stateFacts(o idletest.Outcome) []fact {
	unit := string(o.Unit)
	all := []fact{{part: "comparison", name: string(o.State) + " verdict", value: string(o.Verdict), remark: string(o.Strength)}}
	for _, c := range o.Cylinders {
		for i, s := range []idletest.Side{c.Before, c.After} {
			low, high := s.Mean-s.Half, s.Mean+s.Half
			all = append(all, fact{
				part: "comparison", name: fmt.Sprintf("%s cylinder %d %s", o.State, c.Cylinder, []string{"before", "after"}[i]),
				value: exact(&s.Mean), unit: unit, low: &low, high: &high,
			})
		}
		all = append(all, fact{part: "comparison", name: fmt.Sprintf("%s cylinder %d change", o.State, c.Cylinder), value: exact(&c.Change), unit: unit, remark: string(c.Class)})
	}
	if s := o.Spread; s != nil {
		all = append(all,
			fact{part: "comparison", name: string(o.State) + " spread before", value: exact(&s.BeforeRMS), unit: unit},
			fact{part: "comparison", name: string(o.State) + " spread after", value: exact(&s.AfterRMS), unit: unit})
	}
	return all
}

func (r Report) trendFacts() []fact {
	if r.Trend == nil {
		return nil
	}
	var all []fact
	for _, s := range r.Trend.States {
		for _, p := range s.Points {
			all = append(all, fact{part: "trend", at: exact(&p.At), name: fmt.Sprintf("%s %s %s", p.Job, p.Phase, s.State), value: exact(&p.RMS), unit: string(s.Unit), remark: r.Trend.By})
		}
	}
	return all
}
