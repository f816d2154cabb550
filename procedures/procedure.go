// Package procedures holds the routines that a clean follows, as data: what is
// done in which order, why, what must be proved before it counts, and what each
// answer leads to.
//
// A procedure file (library/ID.yaml, `procedure: 1`) has phases with steps; a
// step stands there itself or is taken from the shared ones
// (library/steps/PHASE.yaml, `steps: 1`) with same_as, so that a correction is
// made once. Short mending branches stand at its end. All text a person reads
// is in the data, by language. Files are read strictly: every problem at once,
// with its place, the name of the file being the id.
//
// What safety demands cannot be left out: [Library.Add] refuses a procedure in
// which a control is missing or proved by nothing, whoever wrote it. A user's
// own procedure may add and strengthen.
package procedures

import (
	"slices"

	"daytank/planner/quantity"
	"daytank/safety"
)

// Phases of the work, in their order. The follow-up is not part of the sitting.
var Phases = []string{
	"decide", "place", "samples", "before-test", "isolate", "connect",
	"run", "cool", "restore", "leak-check", "clear-up", FollowUp,
}

// FollowUp is the phase after the sitting.
const FollowUp = "follow-up"

// Kinds of steps.
const (
	Do      = "do"      // a tick
	Confirm = "confirm" // a safety confirmation: a demand to be met
	Value   = "value"   // a number with unit and range, or words
	Choice  = "choice"  // one of some answers, each with what follows
	Timer   = "timer"   // at least so long, or until a reading
	Run     = "run"     // the engine runs on the fluid
	Test    = "test"    // an idle test
)

// Procedure is a routine for one or more layouts.
type Procedure struct {
	ID       string
	Layouts  []string
	Title    string
	Cautions []string
	Phases   []Phase
	Branches []Branch
	Own      bool // the user's own, not shipped
}

// Phase is a part of the work.
type Phase struct {
	ID, Title string
	Steps     []Step
}

// Branch is a short sequence that mends something found, back to the choice
// that led into it afterwards.
type Branch struct {
	ID, Title string
	Limit     int // how many times; then the work is left safe
	Steps     []Step
}

// Step is one thing to do.
type Step struct {
	ID      string
	Kind    string
	Applies Condition
	Say     string
	Why     string
	How     string
	Hazard  string
	Control string
	Demand  *Demand
	Until   string // the step that ends the reliance on the proof
	Takes   quantity.Duration
	Group   string // several ticks timed as one
	Hold    *Hold
	Sets    string // path of the job that the answer changes
	Photo   string // optional | wanted
	Rings   bool   // the alarm is tried here
	Source  string
	Value   *ValueSpec
	Options []Option
	Timer   *TimerSpec
	Test    *TestSpec
}

// Demand is [safety.Demand] with numbers that depend on the plan.
type Demand struct {
	safety.Demand
	Near   string  // a plan value the number must be near
	Within float64 // as a part of it
}

// Hold is a point where work stops until a second person releases it. Alone it
// becomes a self-check with a question of its own, or a refusal.
type Hold struct {
	Alone string // self-check | refuse
	Ask   string
	Word  string
}

// ValueSpec is what a value step accepts.
type ValueSpec struct {
	Unit     string
	Min, Max float64
	Text     bool // words instead of a number
}

// Option is one of the answers of a choice.
type Option struct {
	Key, Say string
	Value    string // what Sets writes
	Goes     string // on | again | stop | mend:BRANCH
}

// TimerSpec is a wait.
type TimerSpec struct {
	For        quantity.Duration
	UntilBelow *quantity.Temperature // ends with a reading below this
	AtMost     quantity.Duration
}

// TestSpec is an idle test.
type TestSpec struct{ Phase, State string }

// Layout tells whether the procedure is for a layout.
func (p Procedure) Layout(id string) bool { return slices.Contains(p.Layouts, id) }

// Steps gives all steps of all phases and branches.
func (p Procedure) Steps() []Step {
	var all []Step
	for _, phase := range p.Phases {
		all = append(all, phase.Steps...)
	}
	for _, b := range p.Branches {
		all = append(all, b.Steps...)
	}
	return all
}

// Settable are the paths of a job that an answer may change.
var Settable = []string{
	"condition.symptom", "condition.stored_faults", "condition.fuel_sample", "condition.leaks",
	"condition.oil_level", "condition.seals", "condition.soot_lamp", "condition.worst_correction",
	"site.ambient", "rig.charge", "rig.return_fastened", "engine.return_flow", "engine.stop_device",
}

// Placeholders are the plan values that texts may name in braces.
var Placeholders = []string{
	"charge", "packs", "needed", "flush", "flush_time", "stop_level", "stop_level_mm", "planned_end", "earliest_stop",
	"return_off", "peak", "warm", "hot", "ambient", "supply_break", "return_break", "stop_engine", "disable_pump",
	"proof_of_pump", "pressure_wait", "prime_volume", "prime_count", "prime_limit", "crank", "crank_rest",
	"crank_attempts", "circulate", "coil", "water", "supply_hose", "return_hose", "leftover", "run_list",
	"emergency_number", "last_clean", "cylinders", "dose",
}
