// Package checklist makes the checklist of one job from its procedure, plan and
// assessment, and walks it: a pure state machine whose memory is the events of
// the record.
//
// [Compose] decides which steps apply and fills the plan's numbers into their
// texts. [Replay] gives the [State] that a record has led to; [State.Ask] says
// what is to be asked now; [State.Answer] judges what was typed and gives the
// events that follow from it, which the caller stores before it shows anything.
// Resuming is replaying. Time is handed in; nothing here reads a clock, a disk
// or a terminal.
//
// Words: a step is open, now, done, skipped or not needed; a proof is what met
// a demand, and is relied on until the step named at it is done. Proofs lapse
// on a break, on a change of operator and after an emergency, and are asked
// again. A hold point stops the work until a second person releases it.
package checklist

import (
	"encoding/json"
	"fmt"
	"regexp"
	"slices"
	"strings"

	"daytank/planner"
	"daytank/planner/quantity"
	"daytank/procedures"
	"daytank/safety"
)

// Checklist is what is walked: a procedure with this plan's numbers in it. It
// is kept with the record as JSON.
type Checklist struct {
	Format    int       `json:"checklist"` // version of this form, 1
	Procedure string    `json:"procedure"`
	Own       bool      `json:"own,omitempty"` // the user's own procedure
	Title     string    `json:"title"`
	Cautions  []string  `json:"cautions"` // of the procedure
	Phases    []Phase   `json:"phases"`
	Steps     []Step    `json:"steps"` // of the sitting and after it, in order
	Branches  []Branch  `json:"branches,omitempty"`
	Stops     []Finding `json:"stops,omitempty"`
	ToAccept  []Finding `json:"to_acknowledge,omitempty"` // cautions
	Alone     bool      `json:"alone,omitempty"`
	Fastened  bool      `json:"return_fastened,omitempty"`
	Cylinders int       `json:"cylinders,omitempty"` // whose corrections are noted; 0 where none are shown
	Run       Run       `json:"run"`
}

// Phase is a part of the work.
type Phase struct {
	ID    string `json:"id"`
	Title string `json:"title"`
}

// Finding is a stop or a caution in words. Key stays the same when only its
// numbers change.
type Finding struct {
	Rule    string   `json:"rule"`
	Key     string   `json:"key"`
	Message string   `json:"message"`
	Lift    string   `json:"lift,omitempty"`
	Set     []string `json:"set,omitempty"`
}

// Branch is a short sequence that mends something found.
type Branch struct {
	ID    string `json:"id"`
	Title string `json:"title"`
	Limit int    `json:"limit"`
	Steps []Step `json:"steps"`
}

// Step is a step with its texts filled in.
type Step struct {
	ID       string                `json:"id"`
	Phase    string                `json:"phase"`
	Kind     string                `json:"kind"`
	Needed   bool                  `json:"needed"`
	Say      string                `json:"say"`
	Why      string                `json:"why"`
	How      string                `json:"how,omitempty"`
	Hazard   string                `json:"hazard,omitempty"`
	Control  string                `json:"control,omitempty"`
	Demand   *safety.Demand        `json:"demand,omitempty"`
	Until    string                `json:"until,omitempty"`
	TakesMS  int64                 `json:"takes_ms"`
	UsualMS  int64                 `json:"usual_ms,omitempty"` // in this shop; 0 where too few walks are known
	Group    string                `json:"group,omitempty"`
	Hold     *procedures.Hold      `json:"hold,omitempty"`
	Sets     string                `json:"sets,omitempty"`
	Photo    string                `json:"photo,omitempty"`
	Rings    bool                  `json:"rings,omitempty"` // the alarm is tried here
	Source   string                `json:"source"`
	Value    *procedures.ValueSpec `json:"value,omitempty"`
	Options  []procedures.Option   `json:"options,omitempty"`
	WaitMS   int64                 `json:"wait_ms,omitempty"`    // timer: at least so long
	UntilMK  int64                 `json:"until_mk,omitempty"`   // timer: until below this, in mK
	AtMostMS int64                 `json:"at_most_ms,omitempty"` // timer with a reading
	Test     *procedures.TestSpec  `json:"test,omitempty"`
}

// Run is what the live run needs of the plan.
type Run struct {
	Stages     []Stage `json:"stages"`
	StopUL     int64   `json:"stop_ul"` // stop level in µL
	EarliestMS *int64  `json:"earliest_ms,omitempty"`
	WarmMK     int64   `json:"warm_mk"`
	HotMK      int64   `json:"hot_mk"`
	Marks      []Mark  `json:"marks"` // expected levels

	Idle         *Estimate `json:"idle,omitempty"`          // the idle burn of the plan; none where the return goes to waste
	Burn         *Estimate `json:"burn,omitempty"`          // where it was estimated and the return goes back into the container
	ChargeUL     int64     `json:"charge_ul,omitempty"`     // poured in, by the plan
	FullUL       int64     `json:"full_ul,omitempty"`       // what the run begins with, by the plan
	CapacityUL   int64     `json:"capacity_ul,omitempty"`   // of the container
	ULPerMM      int64     `json:"ul_per_mm,omitempty"`     // of the container; 0 where its diameter is not known
	MGPerML      int64     `json:"mg_per_ml,omitempty"`     // density of the fluid at 15 °C
	ExpansionPPM int64     `json:"expansion_ppm,omitempty"` // of the fluid, per K, in millionths of its volume at 15 °C
}

// Stage is one stage of the run.
type Stage struct {
	What     string `json:"what"` // idle, 1500 rpm, soak
	Soak     bool   `json:"soak,omitempty"`
	LengthMS int64  `json:"length_ms"`
	UntilMK  int64  `json:"until_mk,omitempty"` // a soak that ends when the fluid is this cool

	FactorPPM      int64 `json:"factor_ppm,omitempty"`        // what it burns beside the idle burn, in millionths
	DrawnHighULMin int64 `json:"drawn_high_ul_min,omitempty"` // the most that leaves the container, in µL a minute at 15 °C
}

// Mark is what the level should read at a time of the run.
type Mark struct {
	AtMS  int64 `json:"at_ms"`
	LowUL int64 `json:"low_ul"`
	ExpUL int64 `json:"expected_ul"`
	HiUL  int64 `json:"high_ul"`
	MK    int64 `json:"temperature_mk"` // expected
}

// Context is what a checklist is composed from, beside the procedure.
type Context struct {
	Job             planner.Job
	Plan            planner.Plan
	Assessment      safety.Assessment
	Printer         quantity.Printer
	EmergencyNumber string
	Walks           []Times // of this shop, the latest first
}

// Compose makes the checklist of a job. It refuses a procedure that is not for
// the job's layout, or in which, for this plan, something safety demands is
// missing.
func Compose(p procedures.Procedure, c Context) (Checklist, error) {
	layout := c.Job.Engine.Layout
	if !p.Layout(layout.ID) {
		return Checklist{}, fmt.Errorf("procedure %s is not for the layout %s", p.ID, layout.ID)
	}
	facts, values := factsOf(c.Job, c.Plan), valuesOf(c)
	list := Checklist{
		Format: 1, Procedure: p.ID, Own: p.Own, Title: c.Job.Title,
		Alone: c.Job.Site.Alone(), Fastened: c.Job.Rig.Fastened(), Run: runOf(c),
		Stops: findings(c, safety.Stop), ToAccept: findings(c, safety.Caution),
	}
	if c.Job.Engine.Injectors != "mechanical" {
		list.Cylinders = c.Job.Engine.Cylinders
	}
	for _, text := range p.Cautions {
		list.Cautions = append(list.Cautions, procedures.Fill(text, values))
	}
	for _, phase := range p.Phases {
		list.Phases = append(list.Phases, Phase{phase.ID, procedures.Fill(phase.Title, values)})
		for _, s := range phase.Steps {
			list.Steps = append(list.Steps, fillStep(s, phase.ID, facts, values, c))
		}
	}
	for _, b := range p.Branches {
		branch := Branch{ID: b.ID, Title: procedures.Fill(b.Title, values), Limit: b.Limit}
		for _, s := range b.Steps {
			branch.Steps = append(branch.Steps, fillStep(s, b.ID, facts, values, c))
		}
		if branch.last() == "" {
			return Checklist{}, fmt.Errorf("procedure %s may not be walked with this plan: no step of its branch %s applies", p.ID, b.ID)
		}
		list.Branches = append(list.Branches, branch)
	}
	list.usual(c.Walks)
	if lacks := safety.Weaknesses(layout, list.controlled()); len(lacks) > 0 {
		return Checklist{}, fmt.Errorf("procedure %s may not be walked with this plan: %s", p.ID, lacks[0])
	}
	return list, nil
}

func findings(c Context, severity safety.Severity) []Finding {
	var all []Finding
	for _, f := range c.Assessment.Of(severity) {
		all = append(all, Finding{
			Rule: f.Rule, Key: f.Rule + ": " + f.Message.Format,
			Message: c.Printer.Phrase(f.Message), Lift: c.Printer.Phrase(f.Lift), Set: f.Set,
		})
	}
	return all
}

func (l Checklist) controlled() []safety.Controlled {
	var all []safety.Controlled
	for _, s := range l.Steps {
		if !s.Needed {
			continue
		}
		c := safety.Controlled{Step: s.ID, Control: s.Control, Hazard: s.Hazard, Confirms: s.Kind == procedures.Confirm, Hold: s.Hold != nil}
		if s.Demand != nil {
			c.Demand = *s.Demand
		}
		all = append(all, c)
	}
	return all
}

func fillStep(s procedures.Step, phase string, facts, values map[string]string, c Context) Step {
	fill := func(text string) string { return procedures.Fill(text, values) }
	step := Step{
		ID: s.ID, Phase: phase, Kind: s.Kind, Needed: s.Applies.Holds(facts),
		Say: fill(s.Say), Why: fill(s.Why), How: fill(s.How),
		Hazard: s.Hazard, Control: s.Control, Until: s.Until, TakesMS: milliseconds(s.Takes), Group: s.Group,
		Sets: s.Sets, Photo: s.Photo, Rings: s.Rings, Source: s.Source, Value: s.Value, Test: s.Test,
	}
	if s.Demand != nil {
		step.Demand = fillDemand(*s.Demand, fill, c.Plan)
	}
	if s.Hold != nil {
		h := *s.Hold
		h.Ask = quoted(fill(h.Ask), h.Word)
		step.Hold = &h
	}
	for _, o := range s.Options {
		o.Say = fill(o.Say)
		step.Options = append(step.Options, o)
	}
	if t := s.Timer; t != nil {
		step.WaitMS, step.AtMostMS = milliseconds(t.For), milliseconds(t.AtMost)
		if t.UntilBelow != nil {
			step.UntilMK = millikelvin(*t.UntilBelow)
		}
	}
	return step
}

func fillDemand(d procedures.Demand, fill func(string) string, p planner.Plan) *safety.Demand {
	out := d.Demand
	out.Ask = quoted(fill(out.Ask), out.Word)
	if out.Number != nil {
		n := *out.Number
		if d.Near != "" {
			near := map[string]quantity.Volume{"stop_level": p.RunDry.StopLevel, "charge": p.Fluid.Charge, "flush": p.Fluid.Flush}[d.Near]
			n.Min, n.Max = near.Millilitres()*(1-d.Within), near.Millilitres()*(1+d.Within)
			if d.Near == "stop_level" {
				// A mark below the stop level is on the side of the air.
				n.Min = near.Millilitres() - 1
			}
			n.Unit = "mL"
		}
		out.Number = &n
	}
	return &out
}

// quoted puts the word that is to be typed between quotation marks, where the
// text names it.
func quoted(text, word string) string {
	if word == "" {
		return text
	}
	at := regexp.MustCompile(`(^|\s)` + regexp.QuoteMeta(word) + `($|[\s,.;:])`).FindStringSubmatchIndex(text)
	if at == nil {
		return text + `: "` + word + `"`
	}
	return strings.TrimRight(text[:at[3]], " ") + space(text[:at[3]]) + `"` + word + `"` + text[at[4]:]
}

func space(before string) string {
	if strings.TrimSpace(before) == "" {
		return ""
	}
	return " "
}

func milliseconds(d quantity.Duration) int64   { return int64(d.Seconds()*1000 + 0.5) }
func millikelvin(t quantity.Temperature) int64 { return int64(t.Kelvin()*1000 + 0.5) }
func microlitres(v quantity.Volume) int64      { return int64(v.Millilitres()*1000 + 0.5) }

// Encode gives the checklist as it is kept.
func (l Checklist) Encode() []byte {
	text, err := json.Marshal(l)
	if err != nil {
		panic("checklist: cannot be written: " + err.Error())
	}
	return text
}

// Decode reads a checklist that was kept.
func Decode(text []byte) (Checklist, error) {
	var l Checklist
	if err := json.Unmarshal(text, &l); err != nil {
		return l, fmt.Errorf("a checklist that does not read: %w", err)
	}
	if l.Format != 1 {
		return l, fmt.Errorf("a checklist of form %d, newer than this program", l.Format)
	}
	return l, nil
}

// Step gives a step of the sitting, the follow-up or a branch.
func (l Checklist) Step(id string) (Step, bool) {
	for _, s := range l.Steps {
		if s.ID == id {
			return s, true
		}
	}
	for _, b := range l.Branches {
		if i := slices.IndexFunc(b.Steps, func(s Step) bool { return s.ID == id }); i >= 0 {
			return b.Steps[i], true
		}
	}
	return Step{}, false
}

// PhaseTitle gives the title of a phase, or of a branch.
func (l Checklist) PhaseTitle(id string) string {
	for _, p := range l.Phases {
		if p.ID == id {
			return p.Title
		}
	}
	if b, ok := l.branch(id); ok {
		return b.Title
	}
	return id
}

func (l Checklist) branch(id string) (Branch, bool) {
	i := slices.IndexFunc(l.Branches, func(b Branch) bool { return b.ID == id })
	if i < 0 {
		return Branch{}, false
	}
	return l.Branches[i], true
}

// last gives the step that ends a branch: the last one that is needed.
func (b Branch) last() string {
	last := ""
	for _, s := range b.Steps {
		if s.Needed {
			last = s.ID
		}
	}
	return last
}

// Sitting gives the steps that are needed before the review.
func (l Checklist) Sitting() []Step {
	var all []Step
	for _, s := range l.Steps {
		if s.Needed && s.Phase != procedures.FollowUp {
			all = append(all, s)
		}
	}
	return all
}

// Everything gives all steps: of the sitting, the follow-up and the branches.
func (l Checklist) Everything() []Step {
	all := slices.Clone(l.Steps)
	for _, b := range l.Branches {
		all = append(all, b.Steps...)
	}
	return all
}

// PlannedMS gives the planned length of the sitting: every step, a group of
// ticks once, waits at least as long as they are. A step is planned as it usually takes
// in this shop, once enough walks are known, else as its procedure says.
func (l Checklist) PlannedMS() int64 {
	var total int64
	groups := map[string]bool{}
	for _, s := range l.Sitting() {
		if s.Group != "" && groups[s.Group] {
			continue
		}
		groups[s.Group] = true
		total += l.planned(s)
	}
	return total
}

func (l Checklist) planned(s Step) int64 {
	planned := max(s.TakesMS, s.WaitMS)
	if s.UsualMS > 0 {
		planned = max(s.UsualMS, s.WaitMS)
	}
	if s.Kind == procedures.Run {
		var run int64
		for _, stage := range l.Run.Stages {
			run += stage.LengthMS
		}
		planned = max(planned, run)
	}
	return planned
}

// StepPlannedMS gives the planned length of one step.
func (l Checklist) StepPlannedMS(s Step) int64 { return l.planned(s) }

// ExpectedUL gives the level that the plan expects at a time of the run, in µL,
// between the rows of its table by interpolation; false outside them.
func (r Run) ExpectedUL(ms int64) (int64, bool) {
	return r.between(ms, func(m Mark) int64 { return m.ExpUL })
}

// ExpectedMK gives the temperature that the plan expects at a time of the run,
// in mK; 0 outside its table.
func (r Run) ExpectedMK(ms int64) int64 {
	mk, _ := r.between(ms, func(m Mark) int64 { return m.MK })
	return mk
}

func (r Run) between(ms int64, value func(Mark) int64) (int64, bool) {
	for i := 1; i < len(r.Marks); i++ {
		a, b := r.Marks[i-1], r.Marks[i]
		if ms >= a.AtMS && ms <= b.AtMS && b.AtMS > a.AtMS {
			return value(a) + (value(b)-value(a))*(ms-a.AtMS)/(b.AtMS-a.AtMS), true
		}
	}
	return 0, false
}
