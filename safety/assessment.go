// Package safety judges a plan and guards the steps that can hurt.
//
// An [Assessment] is a list of findings. A stop cannot be overridden: a walk
// refuses. A caution can hurt or wreck, and is acknowledged in writing during
// the walk. A note is listed only. Each finding names its rule, says in one
// sentence with its numbers what is wrong, what lifts it (with the change to
// the job that does, tried by planning again), and where the rule comes from.
// One rule is one file, rule_*.go; identifiers are never reused.
//
// Before a hazardous step something must be proved: a [Demand]. The proof is a
// [Clearance], which only this package makes, from what the person at the
// vehicle typed. Hazards and what to do when one happens are data, in hazards
// and emergency.yaml.
package safety

import (
	"slices"

	"daytank/planner"
	"daytank/planner/quantity"
)

// Severity is how much a finding weighs.
type Severity uint8

// Severities, least first.
const (
	Note Severity = iota + 1
	Caution
	Stop
)

// String gives the word: note, caution or stop.
func (s Severity) String() string {
	switch s {
	case Stop:
		return "stop"
	case Caution:
		return "caution"
	case Note:
		return "note"
	}
	return "none"
}

// Finding is one thing that a rule found.
type Finding struct {
	Rule     string
	Severity Severity
	Message  quantity.Phrase
	Lift     quantity.Phrase // what would lift it; empty where nothing in the job does
	Set      []string        // PATH=VALUE of the job that lift it, tried; may be empty
	Source   string
}

// Assessment is everything found about a job and its plan.
type Assessment struct {
	Findings []Finding // stops first, then cautions, then notes; rules in their order
	Ready    bool      // no stop
}

// Of gives the findings of one severity.
func (a Assessment) Of(s Severity) []Finding {
	var found []Finding
	for _, f := range a.Findings {
		if f.Severity == s {
			found = append(found, f)
		}
	}
	return found
}

// Rule is one thing that is looked at.
type Rule struct {
	ID     string
	Title  string // what it looks at, in a few words
	Source string // where it comes from

	// What its page of the handbook says besides.
	When     []When   // what makes it find something, stops first
	Why      string   // why it matters
	Lifts    string   // what lifts its findings
	Formulas []string // of the handbook, by id: those whose numbers it judges

	check func(s subject) []Finding
}

// When is one case in which a rule finds something.
type When struct {
	Severity Severity
	Say      quantity.Phrase // begins in the middle of a sentence: "a stop when ..."
}

// stopWhen, cautionWhen and noteWhen describe a case, its limits written by the
// constants that the check has.
func stopWhen(format string, args ...any) When { return When{Stop, say(format, args...)} }

func cautionWhen(format string, args ...any) When { return When{Caution, say(format, args...)} }

func noteWhen(format string, args ...any) When { return When{Note, say(format, args...)} }

// subject is what rules look at.
type subject struct {
	job    planner.Job
	plan   planner.Plan
	rules  []Rule // all of them, to see what a change that lifts one does to the others
	trying bool   // a change is being tried: what would lift its findings is not asked
}

// rules in the order in which their findings are given.
var rules = []Rule{
	wrongRemedy, chargeShort, containerSmall, returnOff, returnWasted, fluidTemperature, hoseRating, hosePressure,
	suction, returnHead, feedPressure, siphon, thinFluid, cold, fuelGrade, aftertreatment, stopDevice, returns,
	runSpeed, flashPoint, ventilation, person, alone, returnPiezo, loopUncooled,
	notAnswered, assumedValue, cleanInterval,
}

// Rules gives all rules.
func Rules() []Rule { return append([]Rule(nil), rules...) }

// RuleByID gives one rule.
func RuleByID(id string) (Rule, bool) {
	i := slices.IndexFunc(rules, func(r Rule) bool { return r.ID == id })
	if i < 0 {
		return Rule{}, false
	}
	return rules[i], true
}

// Assess judges a plan of a job. It is pure: the same job and plan give the
// same assessment.
func Assess(job planner.Job, plan planner.Plan) Assessment {
	s := subject{job: job, plan: plan, rules: rules}
	a := Assessment{}
	for _, severity := range []Severity{Stop, Caution, Note} {
		for _, r := range rules {
			for _, f := range r.find(s) {
				if f.Severity == severity {
					a.Findings = append(a.Findings, f)
				}
			}
		}
	}
	a.Ready = len(a.Of(Stop)) == 0
	return a
}

// find runs a rule and fills in its name and source.
func (r Rule) find(s subject) []Finding {
	found := r.check(s)
	for i := range found {
		found[i].Rule = r.ID
		if found[i].Source == "" {
			found[i].Source = r.Source
		}
	}
	return found
}

func say(format string, args ...any) quantity.Phrase { return quantity.Say(format, args...) }

// stop, caution and note give a finding without a lift.
func stop(format string, args ...any) Finding {
	return Finding{Severity: Stop, Message: say(format, args...)}
}

func caution(format string, args ...any) Finding {
	return Finding{Severity: Caution, Message: say(format, args...)}
}

func note(format string, args ...any) Finding {
	return Finding{Severity: Note, Message: say(format, args...)}
}

// liftedBy adds what lifts a finding in words only.
func (f Finding) liftedBy(format string, args ...any) Finding {
	f.Lift = say(format, args...)
	return f
}

// Worded is a finding in words, as it is shown and kept.
type Worded struct {
	Rule     string   `json:"rule"`
	Severity string   `json:"severity"`
	Message  string   `json:"message"`
	Lift     string   `json:"lift"`
	Set      []string `json:"set"`
	Source   string   `json:"source"`
}

// Worded gives the findings in words, amounts in the units of the printer.
func (a Assessment) Worded(p quantity.Printer) []Worded {
	all := []Worded{}
	for _, f := range a.Findings {
		w := Worded{
			Rule: f.Rule, Severity: f.Severity.String(), Message: p.Phrase(f.Message),
			Set: []string{}, Source: f.Source,
		}
		if f.Lift.Format != "" {
			w.Lift = p.Phrase(f.Lift)
		}
		w.Set = append(w.Set, f.Set...)
		all = append(all, w)
	}
	return all
}
