// Package proof finds in records what shows whether a clean did anything: the idle
// tests with their samples, what else was changed between them, which after-tests
// are due, and how an engine goes over all its jobs. The statistics are package
// idletest's.
package proof

import (
	"fmt"
	"slices"
	"strconv"

	"daytank/planner/idletest"
	"daytank/planner/quantity"
	"daytank/procedures/record"
)

// Source is what a test was read from.
type Source struct {
	File   string      // base name; empty: typed
	Digest record.Hash // of its bytes; zero: typed
}

// Added gives the event of a test, with the blob of its samples.
func Added(t idletest.Test, from Source, between []idletest.Intervening) (record.TestAdded, record.Blob) {
	b := record.TestAdded{
		Phase: string(t.Phase), State: string(t.State), Measure: string(t.Measure), Unit: string(t.Unit), Sign: t.Sign, On: t.On,
		Readings: []record.TestReading{}, Measurable: t.Measure != idletest.None, File: from.File, Source: from.Digest,
	}
	if t.Density != nil {
		b.Density = text(t.Density.KilogramsPerCubicMetre()) + " kg/m3"
	}
	if t.Odometer != nil {
		b.Odometer = text(t.Odometer.Kilometres()) + " km"
	}
	if t.EngineHours != nil {
		b.EngineHours = text(t.EngineHours.Hours()) + " h"
	}
	if t.Ambient != nil {
		b.Ambient = text(t.Ambient.Celsius()) + " degC"
	}
	for _, name := range sorted(t.Conditions) {
		b.Conditions = append(b.Conditions, record.TestCondition{Name: name, Was: t.Conditions[name]})
	}
	for _, x := range between {
		b.Between = append(b.Between, record.Intervention{What: x.What, Reset: x.Reset, Driven: x.Drive})
	}
	for i, v := range t.Single {
		b.Readings = append(b.Readings, record.TestReading{Channel: fmt.Sprintf("%s %d", t.Measure, i+1), Text: text(v), Unit: string(t.Unit)})
	}
	if t.Measure == idletest.None || len(t.Single) > 0 {
		return b, nil
	}
	blob := record.Blob(t.Samples.Encode())
	b.Samples = blob.Digest()
	return b, blob
}

func text(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }

func sorted(conditions map[string]string) []string {
	var names []string
	for name := range conditions {
		names = append(names, name)
	}
	slices.Sort(names)
	return names
}

// Record is a job with its tests.
type Record struct {
	Summary record.Summary
	Tests   []idletest.Test // with samples, or with what bottles or a smoke meter gave
	Noted   []idletest.Test // the few values that the walk notes, one sample of each
	Between []idletest.Intervening
	Ended   *record.Event // the run that ended last; nil: none has
}

// Of reads a record. Runs are numbered by phase and state in the order they were
// added.
func Of(sum record.Summary, events []record.Event, blob func(record.Hash) ([]byte, error)) (Record, error) {
	r := Record{Summary: sum}
	runs := map[string]int{}
	seen := map[string]bool{} // phases
	noted := map[string]int{} // by the step where it was noted: its place
	for _, e := range events {
		switch e.Kind {
		case record.KindRunEnded:
			r.Ended = &e
		case record.KindTestAdded:
			b, err := record.As[record.TestAdded](e)
			if err != nil {
				return r, err
			}
			seen[b.Phase] = true
			for _, x := range b.Between {
				r.Between = append(r.Between, idletest.Intervening{What: x.What, Reset: x.Reset, Drive: x.Driven})
			}
			t, err := test(b, sum.Asset, blob)
			if err != nil {
				return r, fmt.Errorf("event %d, idle test: %w", e.Seq, err)
			}
			if b.Measurable && b.Samples.IsZero() && len(t.Single) == 0 {
				t.Run = 1
				if i, again := noted[b.Step]; again && b.Step != "" { // the step was done once more
					r.Noted[i] = *t
					continue
				}
				noted[b.Step] = len(r.Noted)
				r.Noted = append(r.Noted, *t)
				continue
			}
			runs[b.Phase+b.State]++
			t.Run = runs[b.Phase+b.State]
			r.Tests = append(r.Tests, *t)
		case record.KindChoice, record.KindStepDone:
			if !seen[string(idletest.After)] {
				r.changed(e)
			}
		}
	}
	return r, nil
}

// All gives the tests; where there are none, what was noted.
func (r Record) All() []idletest.Test {
	if len(r.Tests) > 0 {
		return r.Tests
	}
	return r.Noted
}

// changed takes from the work itself what bears on the tests after it.
func (r *Record) changed(e record.Event) {
	switch e.Kind {
	case record.KindChoice:
		b, err := record.As[record.Choice](e)
		if err == nil && b.Step == "filter-new" && (b.Option == "clean" || b.Option == "dirt") {
			r.between("the fuel filter was renewed")
		}
	case record.KindStepDone:
		b, err := record.As[record.StepDone](e)
		if err == nil && b.Step == "tank-dose" {
			r.between("the tank was dosed")
		}
	}
}

func (r *Record) between(what string) {
	for _, x := range r.Between {
		if x.What == what {
			return
		}
	}
	r.Between = append(r.Between, idletest.Intervening{What: what})
}

// test gives the test of an event. The few values that a walk notes are one sample of
// each channel.
func test(b record.TestAdded, asset string, blob func(record.Hash) ([]byte, error)) (*idletest.Test, error) {
	t := &idletest.Test{
		Phase: idletest.Phase(b.Phase), State: idletest.State(b.State), Asset: asset, On: b.On,
		Measure: idletest.Measure(b.Measure), Unit: idletest.Unit(b.Unit), Sign: b.Sign,
	}
	switch {
	case !b.Measurable:
		t.Measure = idletest.None
		return t, nil
	case b.Samples.IsZero() && (t.Measure == idletest.LeakOff || t.Measure == idletest.Opacity):
		for _, reading := range b.Readings {
			v, err := strconv.ParseFloat(reading.Text, 64)
			if err != nil {
				return nil, fmt.Errorf("%s %q is no number", reading.Channel, reading.Text)
			}
			t.Single = append(t.Single, v)
		}
	case b.Samples.IsZero():
		t.Measure, t.Unit = idletest.Corrections, idletest.CubicMillimetres
		if err := noted(t, b.Readings); err != nil {
			return nil, err
		}
	default:
		kept, err := blob(b.Samples)
		if err != nil {
			return nil, err
		}
		if t.Samples, err = idletest.DecodeSamples(kept); err != nil {
			return nil, err
		}
	}
	for _, c := range b.Conditions {
		if t.Conditions == nil {
			t.Conditions = map[string]string{}
		}
		t.Conditions[c.Name] = c.Was
	}
	return t, amounts(t, b)
}

func noted(t *idletest.Test, readings []record.TestReading) error {
	for _, reading := range readings {
		v, err := strconv.ParseFloat(reading.Text, 64)
		if err != nil {
			return fmt.Errorf("%s %q is no number", reading.Channel, reading.Text)
		}
		var cylinder int
		switch n, _ := fmt.Sscanf(reading.Channel, "correction %d", &cylinder); {
		case reading.Channel == "coolant":
			t.Samples.Coolant.Add(0, v)
		case reading.Channel == "idle speed":
			t.Samples.Speed.Add(0, v)
		case n == 1 && cylinder >= 1 && cylinder <= idletest.MostCylinders:
			for len(t.Samples.Corrections) < cylinder {
				t.Samples.Corrections = append(t.Samples.Corrections, idletest.Series{})
			}
			t.Samples.Corrections[cylinder-1].Add(0, v)
		}
	}
	return nil
}

// amounts reads what stands in the event with a unit.
func amounts(t *idletest.Test, b record.TestAdded) error {
	var errs [4]error
	t.Density, errs[0] = optional(b.Density, quantity.ParseDensity)
	t.Odometer, errs[1] = optional(b.Odometer, quantity.ParseDistance)
	t.EngineHours, errs[2] = optional(b.EngineHours, quantity.ParseDuration)
	t.Ambient, errs[3] = optional(b.Ambient, quantity.ParseTemperature)
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}

func optional[T any](text string, parse func(string) (T, error)) (*T, error) {
	if text == "" {
		return nil, nil
	}
	v, err := parse(text)
	return &v, err
}
