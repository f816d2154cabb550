// Package rehearsal answers the questions of a walk as somebody would to whom
// nothing goes wrong: it sees what the plan expects and takes the planned time.
// The demonstration is played with it, and walks are tested with it. It makes
// no proof: its answers are judged like anybody's.
package rehearsal

import (
	"cmp"
	"fmt"
	"math"
	"strings"
	"time"

	"daytank/procedures"
	"daytank/procedures/checklist"
)

// Second is the invented second person, who releases hold points.
const Second = "Mara Quill"

// promises are what is answered to a caution, by its rule.
var promises = map[string]string{
	"return-off": "the return is tied and Mara stands at the key",
	"siphon":     "the clear piece of the supply is watched at the restart",
	"person":     "nobody siphons by mouth, and the data sheet hangs here",
}

// promise says something of any other caution.
func promise(f checklist.Finding) string {
	words := strings.Fields(f.Message)
	return "we know of " + f.Rule + ", " + strings.Join(words[:min(4, len(words))], " ") + ", and look twice"
}

// Answer gives what the invented person types, and how long it takes. The
// answers are those of a clean that goes as planned.
func Answer(ask checklist.Ask, list checklist.Checklist) (text string, takes time.Duration) {
	planned := time.Duration(ask.Step.TakesMS) * time.Millisecond
	switch ask.Kind {
	case checklist.AskAcknowledge:
		return cmp.Or(promises[ask.Finding.Rule], promise(ask.Finding)), 40 * time.Second
	case checklist.AskProof:
		return proof(ask), planned
	case checklist.AskValue:
		return value(ask.Step, list), planned
	case checklist.AskWords:
		return words(ask.Step.ID), planned
	case checklist.AskChoice:
		return good(ask.Step), planned
	case checklist.AskCool:
		return fmt.Sprintf("%.0f", math.Floor(float64(ask.Step.UntilMK-273150)/1000)-2), planned
	case checklist.AskRelease:
		return Second, 90 * time.Second
	case checklist.AskSelfCheck:
		return ask.Step.Hold.Word, 90 * time.Second
	case checklist.AskTest:
		text, takes = field(ask.Field.Name, ask.Step.Test.State), 10*time.Second
		if ask.Field.Name == "coolant" {
			takes = planned - time.Minute // the idling itself
		}
		return text, takes
	case checklist.AskWait:
		return "", time.Duration(ask.LeftMS)*time.Millisecond + 5*time.Second
	case checklist.AskRun:
		return running(ask.Run, list)
	case checklist.AskPaperRun:
		return written(ask.Run, list), 20 * time.Second
	}
	return "", planned
}

func proof(ask checklist.Ask) string {
	d := ask.Step.Demand
	if d.Number == nil || (d.Word != "" && ask.Step.Control != "pump-dead") {
		return d.Word
	}
	n := *d.Number
	if n.Equals != "" {
		return capsFitted
	}
	return fmt.Sprintf("%.0f", math.Ceil(math.Max(n.Min, math.Min(n.Max, typical(ask.Step.Control, n.Min)))))
}

// typical gives a number as somebody would see it.
func typical(control string, least float64) float64 {
	switch control {
	case "engine-stop":
		return 2
	case "pump-dead":
		return 23
	case "ends-capped":
		return 2
	}
	return least
}

const capsFitted = "4"

// words gives what is said in words at a step.
func words(step string) string {
	switch step {
	case "symptom-stated":
		return "uneven idle when warm"
	case "history-read":
		return "filter a year old, nothing else changed"
	case "run-seen":
		return "a little white smoke at first, then clear"
	}
	return "none at all"
}

// value gives a number for a value step: what the plan says where the plan says
// it, otherwise something in the middle of what is possible.
func value(step checklist.Step, list checklist.Checklist) string {
	v := step.Value
	switch {
	case step.Sets == "rig.charge":
		return fmt.Sprintf("%.0f", float64(list.Run.ChargeUL)/1000)
	case step.Sets == "site.ambient":
		return "18"
	case step.Sets == "condition.worst_correction":
		return "2.1"
	case step.Sets == "engine.return_flow":
		return "32"
	case v.Unit == "count":
		return capsFitted
	case v.Unit == "degC":
		return fmt.Sprintf("%.0f", math.Max(v.Min, math.Min(v.Max, 31)))
	case v.Unit == "mL" && step.Phase == procedures.Phases[6]:
		last := list.Run.Marks[len(list.Run.Marks)-1]
		return fmt.Sprintf("%.0f", math.Min(v.Max, float64(last.ExpUL)/1000))
	case v.Unit == "mL" && len(list.Run.Marks) > 0: // what was poured in and not burned
		burned := list.Run.Marks[0].ExpUL - list.Run.Marks[len(list.Run.Marks)-1].ExpUL
		return fmt.Sprintf("%.0f", math.Max(v.Min, math.Min(v.Max, float64(list.Run.ChargeUL-burned)/1000)))
	case v.Unit == "km":
		return "148200"
	}
	return fmt.Sprintf("%.0f", math.Max(v.Min, math.Min(v.Max, (v.Min+v.Max)/2)))
}

// good gives the answer after which the work goes on.
func good(step checklist.Step) string {
	for _, o := range step.Options {
		if o.Goes == "on" {
			return o.Key
		}
	}
	return step.Options[0].Key
}

// The corrections of the demonstration, in mm3/stroke.
var corrections = map[string][]string{"cold": {"2.9", "-1.7", "0.6", "-1.8"}, "hot": {"2.1", "-1.2", "0.4", "-1.3"}}

func field(name, state string) string {
	var cylinder int
	if _, err := fmt.Sscanf(name, "correction %d", &cylinder); err == nil && cylinder > 0 {
		return corrections[state][(cylinder-1)%len(corrections[state])]
	}
	if name == "coolant" {
		if state == "cold" {
			return "19"
		}
		return "84"
	}
	return "800"
}

// running gives what is done in the live run: what the plan expects is read.
func running(r checklist.RunAsk, list checklist.Checklist) (string, time.Duration) {
	switch r.Part {
	case checklist.RunBaseline:
		return reading(r, list, 0), 30 * time.Second
	case checklist.RunReading:
		if r.DueInMS > 0 {
			return "", 0
		}
		if r.UntilMK > 0 && r.StageMS >= r.StageOfMS { // cooled as planned
			return level(r, list, r.ElapsedMS-r.StageMS) + fmt.Sprintf(" %.1f", float64(r.UntilMK-273150)/1000), 10 * time.Second
		}
		return reading(r, list, r.ElapsedMS), 10 * time.Second
	case checklist.RunFlow:
		return "1", 3 * time.Second
	}
	return "", 10 * time.Second
}

// written gives the next line of the run's table on a sheet: what the plan expects, every
// five minutes, to its planned end.
func written(r checklist.RunAsk, list checklist.Checklist) string {
	if r.Part == checklist.RunBaseline {
		return reading(r, list, 0)
	}
	ms, end := r.ElapsedMS+5*60_000, int64(0)
	for _, s := range list.Run.Stages {
		end += s.LengthMS
	}
	if ms > end {
		return fmt.Sprintf("end %.1f", float64(end)/60_000)
	}
	return fmt.Sprintf("%.1f %s", float64(ms)/60_000, reading(r, list, ms))
}

// reading gives level and temperature as the plan expects them; after its end, as at
// its end.
func reading(r checklist.RunAsk, list checklist.Checklist, ms int64) string {
	if n := len(list.Run.Marks); n > 0 {
		ms = min(ms, list.Run.Marks[n-1].AtMS)
	}
	return level(r, list, ms) + fmt.Sprintf(" %.0f", float64(list.Run.ExpectedMK(ms)-273150)/1000)
}

func level(r checklist.RunAsk, list checklist.Checklist, ms int64) string {
	ul, _ := list.Run.ExpectedUL(ms)
	read := fmt.Sprintf("%.0f", math.Round(float64(ul)/10000)*10)
	if r.Unit != "" && r.Unit != "mL" { // somebody has read in another unit before
		read += " mL"
	}
	return read
}
