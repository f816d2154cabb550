package checklist

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"daytank/procedures"
	"daytank/procedures/record"
	"daytank/safety"
)

func (t *turn) value(a Ask, text string) error {
	v := a.Step.Value
	if v.Text {
		if safety.TooEasy(text) && a.Step.Sets != "condition.symptom" || text == "" {
			return safetyRefusal("say it in a few words")
		}
		t.do(record.Value{Step: a.Step.ID, Text: text})
		return t.valued(a, text, true)
	}
	number, err := numberWithin(text, v.Unit, v.Min, v.Max)
	if err != nil {
		return err
	}
	if err := t.leftOver(a, number); err != nil {
		return err
	}
	t.do(record.Value{Step: a.Step.ID, Text: number, Unit: v.Unit})
	t.compareLeftOver(a, number)
	return t.valued(a, strings.TrimSpace(number+" "+v.Unit), false)
}

// leftOverStep is the step at which what is left in the container is read.
const leftOverStep = "left-over"

// leftOver refuses more than the container holds.
func (t *turn) leftOver(a Ask, number string) error {
	x, err := plainDecimal(number)
	run := t.planned.List.Run
	if a.Step.ID == leftOverStep && err == nil && run.CapacityUL > 0 && math.Round(x*1000) > float64(run.CapacityUL) {
		return safetyRefusal("%s mL is more than the container holds, %s: read again", number, run.InUnit(run.CapacityUL, inML))
	}
	return nil
}

// compareLeftOver calls out what has gone or come since the last reading of the run.
func (t *turn) compareLeftOver(a Ask, number string) {
	n := len(t.run.readings)
	if a.Step.ID != leftOverStep || n == 0 {
		return
	}
	x, err := plainDecimal(number)
	last, run := t.run.readings[n-1], t.planned.List.Run
	if off := x*1000 - float64(*last.LevelUL); err == nil && math.Abs(off) > strangeShare*float64(*last.LevelUL)+2*run.errorUL(last) {
		t.do(record.Alarm{Step: a.Step.ID, Name: alarmBalance, Message: fmt.Sprintf(
			"%s mL are left, and %s were read last: read it again (<), and find the leak before you go on", number, run.InUnit(*last.LevelUL, inML))})
	}
}

// valued writes a value into the job where the step says so, and ends it.
func (t *turn) valued(a Ask, written string, text bool) error {
	if a.Step.Sets != "" {
		if err := t.replan(a.Step, written, text); err != nil {
			return err
		}
	}
	t.finishOrHold(a.Step)
	return nil
}

// numberWithin reads a number in a unit and holds it against its range. It
// gives the decimal text that is kept, with a point.
func numberWithin(text, unit string, low, high float64) (string, error) {
	text = strings.TrimSpace(strings.TrimSuffix(strings.TrimSpace(text), unit))
	x, err := plainDecimal(text)
	if err != nil || text == "" {
		return "", safetyRefusal("%q is not a number", text)
	}
	if unit == "count" && x != float64(int64(x)) {
		return "", safetyRefusal("%s is not a whole number", text)
	}
	if x < low || x > high {
		return "", safetyRefusal("%s is outside %g to %g: read it again", text, low, high)
	}
	return strings.Replace(text, ",", ".", 1), nil
}

func (t *turn) choose(a Ask, text string) error {
	option, ok := pick(a.Step.Options, text)
	if !ok {
		return safetyRefusal("%q is none of the answers: type its number or its word", text)
	}
	t.do(record.Choice{Step: a.Step.ID, Option: option.Key, Goes: option.Goes})
	if a.Step.Sets != "" && option.Value != "" {
		if err := t.replan(a.Step, option.Value, true); err != nil {
			return err
		}
	}
	if option.Goes == "on" {
		t.finishOrHold(a.Step)
	}
	return nil
}

func pick(options []procedures.Option, text string) (procedures.Option, bool) {
	n, err := strconv.Atoi(text)
	for i, o := range options {
		if strings.EqualFold(o.Key, text) || (err == nil && n == i+1) {
			return o, true
		}
	}
	return procedures.Option{}, false
}

func (t *turn) waited(a Ask) error {
	if a.LeftMS > 0 {
		return safetyRefusal("%s left", Clock(a.LeftMS))
	}
	t.do(record.Timer{Step: a.Step.ID, Mark: record.MarkEnded, PlannedMS: a.Step.WaitMS})
	t.finishOrHold(a.Step)
	return nil
}

func (t *turn) cooled(a Ask, text string) error {
	number, err := numberWithin(text, "°C", -40, 150)
	if err != nil {
		return err
	}
	t.do(record.Value{Step: a.Step.ID, Text: number, Unit: "degC"})
	if x, err := plainDecimal(number); err != nil || math.Round((x+273.15)*1000) >= float64(a.Step.UntilMK) || a.LeftMS > 0 {
		return nil
	}
	t.do(record.Timer{Step: a.Step.ID, Mark: record.MarkEnded, PlannedMS: a.Step.AtMostMS, Text: number})
	t.finishOrHold(a.Step)
	return nil
}

func (t *turn) testValue(a Ask, text string) error {
	first := len(t.steps[a.Step.ID].fields) == 0
	if first && strings.EqualFold(text, "none") {
		t.do(record.TestAdded{Step: a.Step.ID, Phase: a.Step.Test.Phase, State: a.Step.Test.State, Readings: []record.TestReading{}})
		t.finishOrHold(a.Step)
		return nil
	}
	if first && strings.EqualFold(text, "log") {
		test := a.Step.Test
		if !t.logged[test.Phase+" "+test.State] {
			return safetyRefusal("no %s test %s the clean was added yet: leave with p, add it by daytank test add, and come back", test.State, test.Phase)
		}
		t.finishOrHold(a.Step)
		return nil
	}
	number := "-"
	if text != "-" {
		var err error
		if number, err = numberWithin(text, a.Field.Unit, a.Field.Min, a.Field.Max); err != nil {
			return err
		}
	}
	t.do(record.Value{Step: a.Step.ID, Field: a.Field.Name, Text: number, Unit: a.Field.Unit})
	fields := t.steps[a.Step.ID].fields
	if len(fields) < len(t.testFields()) {
		return nil
	}
	added := record.TestAdded{Step: a.Step.ID, Phase: a.Step.Test.Phase, State: a.Step.Test.State, Readings: []record.TestReading{}}
	for _, f := range fields {
		if f.Text != "-" {
			added.Readings = append(added.Readings, f)
		}
	}
	added.Measurable = len(added.Readings) > 0
	t.do(added)
	t.finishOrHold(a.Step)
	return nil
}
