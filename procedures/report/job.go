package report

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"daytank/planner/idletest"
	"daytank/planner/quantity"
	"daytank/procedures"
	"daytank/procedures/checklist"
	"daytank/procedures/record"
	"daytank/procedures/review"
)

// Job is one record as `show` prints it.
type Job struct {
	Job       string  `json:"job"`
	Name      string  `json:"name"` // asset/number
	Asset     string  `json:"asset"`
	Number    int64   `json:"number"`
	Title     string  `json:"title"`
	State     string  `json:"state"`
	Procedure string  `json:"procedure"`
	Operator  string  `json:"operator"`
	Demo      bool    `json:"demo,omitempty"`
	Paper     *Paper  `json:"paper"` // null where the work was recorded as it was done
	Created   string  `json:"created"`
	Updated   string  `json:"updated"`
	Events    int64   `json:"events"`
	Head      string  `json:"head"` // first 16 digits
	Planned   float64 `json:"planned_min"`
	Taken     float64 `json:"taken_min"`
	Ran       *Ran    `json:"ran"`  // null where the engine has not run on the fluid
	Sentence  string  `json:"done"` // what [Job.Done] says, in metric units
	Steps     []Step  `json:"steps"`

	Acknowledged []Acknowledged     `json:"acknowledged"`
	Readings     []Reading          `json:"readings"`
	BurnRead     *BurnRead          `json:"burn_read"` // null where the run does not tell it
	Tests        []record.TestAdded `json:"tests"`
	Alarms       []Said             `json:"alarms"`
	Deviations   []Said             `json:"deviations"`
	Notes        []Said             `json:"notes"`
	Photos       []Photo            `json:"photos"`
	SignOffs     []SignOff          `json:"sign_offs"`
	Timeline     []Line             `json:"timeline"`
	Plan         *Plan              `json:"plan"`
	Open         []string           `json:"open"` // skipped, not released by a second person, not accounted for, still to do afterwards
}

// Paper says that the work was done on paper and entered from there.
type Paper struct {
	Who  string `json:"who"`  // did the work
	Done string `json:"done"` // when, as it stands on the sheet
	Why  string `json:"why,omitempty"`
}

// Sentence says it.
func (p Paper) Sentence() string {
	why := ""
	if p.Why != "" {
		why = " (" + p.Why + ")"
	}
	return fmt.Sprintf("FROM PAPER: done by %s on %s and entered afterwards%s; nothing was proved to the program.", p.Who, p.Done, why)
}

// Step is a step with its planned and taken time and every value entered.
type Step struct {
	Step     string   `json:"step"`
	Phase    string   `json:"phase"`
	Kind     string   `json:"kind"`
	Say      string   `json:"say"`
	Status   string   `json:"status"`
	PlannedS float64  `json:"planned_s"`
	TakenS   *float64 `json:"taken_s"` // null when not done
	Values   []Entry  `json:"values"`
	Proof    string   `json:"proof,omitempty"` // what was typed for the demand
	Released string   `json:"released_by,omitempty"`
	Skipped  string   `json:"skipped_because,omitempty"`
	Again    int      `json:"asked_again,omitempty"` // times it was reopened
}

// Entry is one value entered; one that a later one replaced is struck.
type Entry struct {
	Seq    int64  `json:"seq"`
	Field  string `json:"field,omitempty"`
	Text   string `json:"text"`
	Unit   string `json:"unit,omitempty"`
	Struck bool   `json:"struck,omitempty"`
	Why    string `json:"corrected_because,omitempty"` // of the entry that replaces a wrong one
}

// Acknowledged is a caution with the words typed for it.
type Acknowledged struct {
	Rule    string `json:"rule"`
	Message string `json:"message"`
	Words   string `json:"words"`
}

// Reading is a reading of the run.
type Reading struct {
	RunMin      float64  `json:"run_min"`
	Stage       int64    `json:"stage"`
	Read        string   `json:"read,omitempty"` // the level as it was read
	Unit        string   `json:"unit,omitempty"` // mL, mm, mark or g
	LevelML     *float64 `json:"level_ml"`
	ExpectedML  *float64 `json:"expected_ml"`
	Temperature *float64 `json:"temperature_c"`
	Baseline    bool     `json:"baseline,omitempty"`
	Seq         int64    `json:"seq"`
	Struck      bool     `json:"struck,omitempty"`
	Why         string   `json:"corrected_because,omitempty"` // of the reading that replaces a wrong one
}

// BurnRead is the idle burn by the readings of the run, beside what was planned with.
type BurnRead struct {
	Read     Band `json:"l_per_h"`
	Planned  Band `json:"planned_l_per_h"`
	Narrower bool `json:"narrower"` // than what was planned with
	Offer    bool `json:"offer"`    // and good enough to stand as a measured burn
}

// OfBurn gives the idle burn by the readings of a run; nil where it does not tell it.
func OfBurn(state checklist.State) *BurnRead {
	b, ok := state.BurnRead()
	if !ok {
		return nil
	}
	litres := func(e checklist.Estimate) Band {
		perHour := func(ul int64) float64 { return round(float64(ul)*60/1e6, 3) }
		return Band{perHour(e.LowULMin), perHour(e.ExpULMin), perHour(e.HighULMin)}
	}
	return &BurnRead{litres(b.Read), litres(b.Planned), b.Narrower(), b.Narrower() && b.Firm()}
}

// Sentence says it, and what to do with it.
func (b BurnRead) Sentence(show quantity.Printer) string {
	a := Amounts{show}
	said := fmt.Sprintf("By the readings this engine burns %s at idle, %s to %s; it was planned with %s to %s.",
		a.LPerH(b.Read.Expected), a.LPerH(b.Read.Low), a.LPerH(b.Read.High), a.LPerH(b.Planned.Low), a.LPerH(b.Planned.High))
	switch {
	case b.Offer:
		said += fmt.Sprintf(" Written into its profile or job file as  idle_burn: %s  the next plan rests on it.", a.LPerH(b.Read.Expected))
	case b.Narrower:
		said += " Levels weighed on a scale would tell it well enough for its profile."
	}
	return said
}

// Photo is a picture kept with a step.
type Photo struct {
	Seq    int64  `json:"seq"`
	Step   string `json:"step"`
	File   string `json:"file"`
	Digest string `json:"sha256"`
}

// Said is something said at a step.
type Said struct {
	Seq  int64  `json:"seq"`
	Day  string `json:"day"`
	At   string `json:"at"` // time of that day
	Step string `json:"step,omitempty"`
	Text string `json:"text"`
}

// Line is one event in words.
type Line struct {
	Seq  int64  `json:"seq"`
	Day  string `json:"day"`
	At   string `json:"at"` // time of that day
	By   string `json:"by"`
	Kind string `json:"kind"`
	Text string `json:"text"`
}

// When says when something was said: day and time.
func (s Said) When() string { return strings.TrimSpace(s.Day + " " + s.At) }

// DayOf gives the day of a line of the timeline where another begins with it, else nothing.
func (j Job) DayOf(line int) string {
	if line > 0 && j.Timeline[line-1].Day == j.Timeline[line].Day {
		return ""
	}
	return j.Timeline[line].Day
}

// OfJob gives the model of a record. Plan is that which is valid now; nil where
// it cannot be read any more. Zone is that in which times of day are written.
func OfJob(sum record.Summary, events []record.Event, state checklist.State, plan *Plan, zone *time.Location) (Job, error) {
	j := Job{
		Job: sum.Job.String(), Name: Name(sum), Asset: sum.Asset, Number: sum.Number, Title: sum.Title,
		State: string(sum.State), Procedure: sum.Procedure, Operator: sum.Operator, Demo: sum.Demo,
		Created: sum.Created.In(zone).Format(time.RFC3339), Updated: sum.Updated.In(zone).Format(time.RFC3339),
		Events: sum.Events, Head: ShortHead(sum.Head), Plan: plan,
		Acknowledged: []Acknowledged{}, Readings: []Reading{}, Tests: []record.TestAdded{},
		Alarms: []Said{}, Deviations: []Said{}, Notes: []Said{}, Photos: []Photo{}, SignOffs: []SignOff{}, Open: []string{},
	}
	g := gatherer{job: &j, list: state.List(), zone: zone, steps: map[string]*Step{}, rights: map[int64]int64{}}
	g.layOut(state)
	for _, e := range events {
		if err := g.take(e); err != nil {
			return j, err
		}
	}
	g.finish(state)
	j.BurnRead = OfBurn(state)
	j.Ran = ofRan(state, j.Paper, zone)
	j.Sentence = j.Done(quantity.Printer{})
	return j, nil
}

// Name gives a job the way people say it: asset and number. It is [Plain], whatever asset
// came in with a record.
func Name(s record.Summary) string { return Plain(fmt.Sprintf("%s/%d", s.Asset, s.Number)) }

// ShortHead gives the first 16 digits of the head, which stand on everything
// that is printed.
func ShortHead(h record.Hash) string { return h.String()[:16] }

// gatherer fills a Job from its events.
type gatherer struct {
	job   *Job
	list  checklist.Checklist
	zone  *time.Location
	steps map[string]*Step
	order []string

	rights map[int64]int64 // the event that each correction corrects, by its place
}

func (g *gatherer) layOut(state checklist.State) {
	add := func(s checklist.Step) {
		if g.steps[s.ID] == nil {
			g.order = append(g.order, s.ID)
			g.steps[s.ID] = &Step{
				Step: s.ID, Phase: g.list.PhaseTitle(s.Phase), Kind: s.Kind, Say: s.Say, Status: string(state.StatusOf(s)),
				PlannedS: float64(g.list.StepPlannedMS(s)) / 1000, Values: []Entry{},
			}
		}
	}
	for _, s := range g.list.Steps {
		add(s)
	}
	for _, b := range g.list.Branches {
		for _, s := range b.Steps {
			if state.StatusOf(s) != checklist.Open && s.Needed {
				add(s)
			}
		}
	}
}

// step gives the row of a step; one that the checklist no longer has is kept.
func (g *gatherer) step(id string) *Step {
	if g.steps[id] == nil {
		g.order = append(g.order, id)
		g.steps[id] = &Step{Step: id, Say: id, Status: string(checklist.NotNeeded), Values: []Entry{}}
	}
	return g.steps[id]
}

func (g *gatherer) entry(seq int64, step, field, text, unit string) {
	s := g.step(step)
	for i := range s.Values {
		if s.Values[i].Field == field {
			s.Values[i].Struck = true
		}
	}
	s.Values = append(s.Values, Entry{Seq: seq, Field: field, Text: text, Unit: unit})
}

func (g *gatherer) take(e record.Event) error {
	body, err := e.Decode()
	if err != nil {
		return err
	}
	day, at := e.At.In(g.zone).Format(time.DateOnly), e.At.In(g.zone).Format(time.TimeOnly)
	said := func(step, text string) Said { return Said{Seq: e.Seq, Day: day, At: at, Step: step, Text: text} }
	switch b := body.(type) {
	case record.Value:
		g.entry(e.Seq, b.Step, b.Field, b.Text, b.Unit)
	case record.Choice:
		g.entry(e.Seq, b.Step, "", b.Option, "")
	case record.Cleared:
		g.step(b.Step).Proof = b.Answer
	case record.HoldReleased:
		g.step(b.Step).Released = b.By
		if b.By == e.By {
			g.step(b.Step).Released = b.By + " (self-check, not a second person)"
		} else if !b.Proved {
			g.step(b.Step).Released = b.By + " (named, not proved)"
		}
	case record.Transcribed:
		g.job.Paper = &Paper{b.Who, b.Done, b.Text}
	case record.StepSkipped:
		g.step(b.Step).Skipped = b.Reason
	case record.StepReopened:
		g.step(b.Step).Again++
	case record.Acknowledged:
		g.job.Acknowledged = append(g.job.Acknowledged, Acknowledged{b.Rule, b.Message, b.Words})
	case record.Reading:
		g.job.Readings = append(g.job.Readings, g.reading(e.Seq, b))
	case record.Corrected:
		g.corrected(e.Seq, b)
	case record.Amended:
		g.corrected(e.Seq, record.Corrected{Seq: b.Seq, Text: b.Text, Reason: b.Reason})
		g.job.Deviations = append(g.job.Deviations, said(b.Step, fmt.Sprintf("amended by %s: entry %d is %s: %s", e.By, b.Seq, b.Text, b.Reason)))
	case record.Photo:
		g.job.Photos = append(g.job.Photos, Photo{e.Seq, b.Step, b.File, b.Blob.String()})
	case record.TestAdded:
		g.test(b)
	case record.Emergency:
		g.job.Alarms = append(g.job.Alarms, said("", "EMERGENCY was called"))
	case record.Alarm:
		g.job.Alarms = append(g.job.Alarms, said(b.Step, b.Message))
	case record.Deviation:
		g.job.Deviations = append(g.job.Deviations, said(b.Step, b.Text))
	case record.Note:
		g.job.Notes = append(g.job.Notes, said(b.Step, b.Text))
	}
	g.job.Timeline = append(g.job.Timeline, Line{Seq: e.Seq, Day: day, At: at, By: e.By, Kind: string(e.Kind), Text: Words(body)})
	return nil
}

// test adds an idle test. What a step notes once more takes the place of what it noted.
func (g *gatherer) test(b record.TestAdded) {
	i := slices.IndexFunc(g.job.Tests, func(x record.TestAdded) bool { return b.Step != "" && x.Step == b.Step })
	if i >= 0 {
		g.job.Tests[i] = b
		return
	}
	g.job.Tests = append(g.job.Tests, b)
}

// corrected strikes what was wrong and adds what is right beside it.
func (g *gatherer) corrected(seq int64, b record.Corrected) {
	for i, was := range g.job.Readings {
		if was.Struck || was.Seq != b.Seq && g.rights[was.Seq] != b.Seq {
			continue
		}
		g.job.Readings[i].Struck = true
		right := was
		right.Seq, right.Why, right.Struck = seq, b.Reason, false
		if r, err := g.list.Run.ParseReading(b.Text, was.Unit); err == nil {
			right.Read, right.Unit = r.Level, r.LevelUnit
			right.LevelML = rounded(float64(*r.LevelUL)/1000, 1)
			if r.TemperatureMK != nil {
				right.Temperature = rounded(celsius(*r.TemperatureMK), 1)
			}
		}
		g.rights[seq] = b.Seq
		g.job.Readings = slices.Insert(g.job.Readings, i+1, right)
		return
	}
	for _, s := range g.steps {
		for i, was := range s.Values {
			if was.Struck || was.Seq != b.Seq && g.rights[was.Seq] != b.Seq {
				continue
			}
			s.Values[i].Struck = true
			g.rights[seq] = b.Seq
			s.Values = append(s.Values, Entry{Seq: seq, Field: was.Field, Text: b.Text, Unit: was.Unit, Why: b.Reason})
			return
		}
	}
}

func celsius(mk int64) float64 { return float64(mk-273150) / 1000 }

func (g *gatherer) reading(seq int64, b record.Reading) Reading {
	r := Reading{Seq: seq, RunMin: round(float64(b.RunMS)/60000, 2), Stage: b.Stage, Baseline: b.Baseline, Read: b.Level, Unit: b.LevelUnit}
	if b.LevelUL != nil {
		r.LevelML = rounded(float64(*b.LevelUL)/1000, 1)
	}
	if b.TemperatureMK != nil {
		r.Temperature = rounded(celsius(*b.TemperatureMK), 1)
	}
	if ul, ok := g.list.Run.ExpectedUL(b.RunMS); ok {
		r.ExpectedML = rounded(float64(ul)/1000, 1)
	}
	return r
}

// finish fills in times, and lists what is open.
func (g *gatherer) finish(state checklist.State) {
	var taken int64
	for _, id := range g.order {
		s := g.steps[id]
		finished := s.Status == string(checklist.Done) || s.Status == string(checklist.Skipped)
		if ms := state.TakenMS(id); ms > 0 || finished && !state.WasPaper() {
			s.TakenS = rounded(float64(ms)/1000, 1)
			taken += ms
		}
		g.job.Steps = append(g.job.Steps, *s)
		if s.Skipped != "" && s.Status == string(checklist.Skipped) {
			g.job.Open = append(g.job.Open, fmt.Sprintf("skipped: %s (%s)", s.Say, s.Skipped))
		}
		if strings.Contains(s.Released, "self-check") {
			g.job.Open = append(g.job.Open, "not released by a second person: "+s.Say)
		}
	}
	if text := review.Unaccounted(state); text != "" {
		g.job.Open = append(g.job.Open, text)
	}
	g.job.Open = append(g.job.Open, g.toCome()...)
	g.job.Planned = round(float64(g.list.PlannedMS())/60000, 1)
	g.job.Taken = round(float64(taken)/60000, 1)
}

// toCome gives the steps after the sitting that are still to do, once it is done: until
// the result is signed, or the work with nothing to come. The test after is done when one
// is in. Who was told not to drive the vehicle is not sent to drive it.
func (g *gatherer) toCome() []string {
	switch record.State(g.job.State) {
	case record.StateToReview, record.StateSentBack, record.StateWaiting:
	default:
		return nil
	}
	tested := slices.ContainsFunc(g.job.Tests, func(x record.TestAdded) bool { return x.Phase == string(idletest.After) })
	var all []string
	for _, s := range g.list.Steps {
		if s.Needed && s.Phase == procedures.FollowUp && (s.ID != afterTest || !tested) {
			all = append(all, "still to do: "+s.Say)
		}
	}
	return all
}

// afterTest is the step after the sitting that is done with an idle test.
const afterTest = "after-test"
