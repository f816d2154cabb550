package checklist

import (
	"math"

	"daytank/procedures/record"
)

// RunPart is where in the live run the walk is.
type RunPart string

// Parts of the live run, in order.
const (
	RunBaseline RunPart = "baseline" // level before the engine starts
	RunStart    RunPart = "start"    // the engine starts
	RunFlow     RunPart = "flow"     // the return must be seen to flow
	RunReading  RunPart = "reading"  // level and temperature while it runs
	RunStage    RunPart = "stage"    // the next stage begins
	RunOff      RunPart = "off"      // switch off
)

// RunAsk is what the live run asks for, and the countdown beside it.
type RunAsk struct {
	Part      RunPart
	Stage     int    // from 1; 0 before the start
	Stages    int    //
	What      string // the stage: idle, 1500 rpm, soak
	Next      string // what the next stage is, for RunStage
	NextSoak  bool
	WasSoak   bool
	Soak      bool   // the stage is one
	UntilMK   int64  // a soak ends when the fluid is this cool; 0: by the time
	Mark      string // what the reading that is due is for, where it is one of a soak
	Unit      string // in which a bare level is read
	ElapsedMS int64  // of the run
	StageMS   int64  // of the stage
	StageOfMS int64  // its length
	EndsInMS  int64  // to the planned end
	StopInMS  *int64 // to the earliest time of the stop level
	DueInMS   int64  // to the next reading; 0 or below: due
	Reason    string // why to switch off
	BurnULMin *int64 // idle burn by the readings, where it was estimated
	Called    string // what was called out since the last reading and does not switch off
	StopUL    int64
	WakeMS    int64 // look again after this, at the latest
}

// engineRun is how far the live run is.
type engineRun struct {
	baseline bool
	started  record.Stamp
	running  bool // between start and end, soaks included
	stage    int  // index of the stage under way
	stageMS  int64
	starts   []int64 // when the stages began
	readings []record.Reading
	seqs     []int64 // places of the readings in the record
	lastMS   int64   // when the last reading was taken, by the run
	resumed  bool    // a reading is due at once
	unlooked bool    // the return is to be looked at once more
	off      string
	ended    bool
	cut      *cutOff // by an emergency

	bubblesMS *int64 // since when bubbles are seen
	flowsMS   int64  // when the return was last seen to flow
	unseen    bool   // that it has not been seen was called out
	overdue   bool   // that the next reading is overdue was called out
	balance   string // what is wrong with what is left over
	leak      bool   // the last reading shows that a soak lost or won fluid
	called    string // alarm since the last reading that does not switch off
}

func (r *engineRun) apply(at record.Stamp, seq int64, body record.Body) {
	switch b := body.(type) {
	case record.Reading:
		r.readings, r.seqs = append(r.readings, b), append(r.seqs, seq)
		if b.Baseline {
			r.baseline, r.resumed, r.unlooked = true, false, false
			return
		}
		r.lastMS, r.resumed, r.overdue, r.leak, r.called = r.elapsed(at), false, false, false, ""
	case record.Observation:
		r.observe(at, b)
	case record.RunStarted:
		r.started, r.running, r.stage, r.stageMS, r.starts = at, true, 0, 0, nil
		r.cut = nil
	case record.Stage:
		r.stage, r.stageMS = int(b.Stage)-1, r.elapsed(at)
		r.starts = append(r.starts, r.stageMS)
	case record.Alarm:
		if switchesOff(b.Name) {
			r.off = b.Message
		} else {
			r.called = b.Message
		}
		r.overdue = r.overdue || b.Name == alarmOverdue
		r.leak = r.leak || b.Name == alarmSoak
		if b.Name == alarmBalance {
			r.balance = b.Message
		}
		r.unseen = r.unseen || b.Name == alarmUnseen
	case record.RunEnded:
		r.running, r.ended = false, true
	}
}

func (r *engineRun) observe(at record.Stamp, b record.Observation) {
	switch b.What {
	case seen[0].what:
		if r.bubblesMS == nil {
			ms := r.elapsed(at)
			r.bubblesMS = &ms
		}
	case seen[1].what:
		r.bubblesMS = nil
	case returnFlows:
		r.flowsMS, r.unseen, r.unlooked = r.elapsed(at), false, false
	}
}

func (r engineRun) elapsed(at record.Stamp) int64 { return elapsedMS(r.started, at) }

// soakLeftMS gives how much of a soak was left at a moment, as planned.
func (r engineRun) soakLeftMS(plan Run, at record.Stamp) int64 {
	if !r.running || r.stage >= len(plan.Stages) || !plan.Stages[r.stage].Soak {
		return 0
	}
	return max(0, r.stageMS+plan.Stages[r.stage].LengthMS-r.elapsed(at))
}

const (
	second = int64(1000)
	minute = 60 * second
)

// dueAfter gives when the next reading is due after one at a time of the run:
// at 0.5, 1 and 2 minutes, every 2 minutes to 10, then every 5.
func dueAfter(ms int64) int64 {
	for _, due := range []int64{30 * second, minute, 2 * minute, 4 * minute, 6 * minute, 8 * minute, 10 * minute} {
		if ms < due {
			return due
		}
	}
	return (ms/(5*minute) + 1) * 5 * minute
}

// everyWhenWarm is how often a reading is due once the fluid is warm.
const everyWhenWarm = 2 * minute

// due gives when the next reading is due, by the run: by the schedule, half a
// minute after each change of stage, and every two minutes when warm.
func (r engineRun) due(warmMK int64) int64 {
	due := dueAfter(r.lastMS)
	if settled := r.stageMS + 30*second; r.stage > 0 && r.lastMS < settled {
		due = min(due, settled)
	}
	if r.lastMK() >= warmMK {
		due = min(due, r.lastMS+everyWhenWarm)
	}
	if r.resumed {
		return 0
	}
	return due
}

// lastMK gives the last temperature read, 0 before one.
func (r engineRun) lastMK() int64 {
	for i := len(r.readings) - 1; i >= 0; i-- {
		if t := r.readings[i].TemperatureMK; t != nil {
			return *t
		}
	}
	return 0
}

func (r engineRun) ask(list Checklist, at record.Stamp) RunAsk {
	plan := list.Run
	a := RunAsk{Stages: len(plan.Stages), StopUL: plan.StopUL}
	switch {
	case !r.baseline:
		a.Part = RunBaseline
		return a
	case !r.running:
		a.Part = RunStart
		a.Next = plan.Stages[0].What
		a.NextSoak, a.Called = plan.Stages[0].Soak, r.called
		return a
	}
	stage := plan.Stages[r.stage]
	a.Stage, a.What, a.StageOfMS = r.stage+1, stage.What, stage.LengthMS
	a.Soak, a.UntilMK, a.Unit = stage.Soak, stage.UntilMK, Unit(r.readings)
	a.ElapsedMS, a.Called = r.elapsed(at), r.called
	a.StageMS = max(0, a.ElapsedMS-r.stageMS)
	a.EndsInMS = stage.LengthMS - a.StageMS
	if stage.UntilMK > 0 {
		a.EndsInMS = max(0, a.EndsInMS)
	}
	for _, later := range plan.Stages[r.stage+1:] {
		a.EndsInMS += later.LengthMS
	}
	if at := r.stopAtMS(plan, a.ElapsedMS); at != nil {
		left := *at - a.ElapsedMS
		a.StopInMS = &left
	}
	if mean, _, ok := r.burn(plan); ok {
		ul := int64(math.Round(mean))
		a.BurnULMin = &ul
	}
	if r.off != "" {
		a.Part, a.Reason, a.WakeMS = RunOff, r.off, 10*second
		return a
	}
	if stage.Soak {
		return r.askSoak(a, plan)
	}
	return r.askRunning(a, plan)
}

// askRunning gives what is asked while the engine runs.
func (r engineRun) askRunning(a RunAsk, plan Run) RunAsk {
	left := a.StageOfMS - a.StageMS
	flow := r.flowDueMS(plan)
	switch {
	case flow <= a.ElapsedMS && left > 0:
		a.Part, a.DueInMS, a.WakeMS = RunFlow, r.due(plan.WarmMK)-a.ElapsedMS, min(left, 10*second)
		return a
	case left <= 0 && r.stage+1 < len(plan.Stages):
		next := plan.Stages[r.stage+1]
		a.Part, a.Next, a.NextSoak, a.WakeMS = RunStage, next.What, next.Soak, 30*second
		a.DueInMS = r.due(plan.WarmMK) - a.ElapsedMS
		return a
	case left <= 0:
		a.Part, a.Reason, a.WakeMS = RunOff, "planned end", 10*second
		return a
	}
	a.Part, a.DueInMS = RunReading, r.due(plan.WarmMK)-a.ElapsedMS
	a.WakeMS = min(left, a.DueInMS, flow-a.ElapsedMS)
	if a.DueInMS <= 0 {
		a.WakeMS = min(left, 30*second, flow-a.ElapsedMS)
	}
	if r.bubblesMS != nil {
		a.WakeMS = min(a.WakeMS, max(second, *r.bubblesMS+bubblesMS-a.ElapsedMS))
	}
	return a
}

// How long after the start, and after each change of speed, the return is looked at,
// and how long the first run is held up by it.
const (
	flowAfter = 10 * second
	firstGate = minute
)

// flowDueMS gives when the return is to be seen next, by the run; far away when that
// is not in this stage.
func (r engineRun) flowDueMS(plan Run) int64 {
	if r.unlooked {
		return 0
	}
	dues := []int64{r.stageMS + flowAfter}
	for i, begun := range r.starts { // the gate of the first run
		if !plan.Stages[i].Soak {
			if i == r.stage {
				dues = append(dues, begun+firstGate)
			}
			break
		}
	}
	for _, due := range dues {
		if r.flowsMS < due {
			return due
		}
	}
	return math.MaxInt64 / 2
}

// everySoak is how often the temperature is read in a soak that ends by it.
const everySoak = 5 * minute

// What the readings of a soak are for.
const (
	markBefore = "as the soak begins"
	markAfter  = "before the engine starts again"
	markFound  = "the cause found, until it is that of before the soak, or two agree"
	markAgain  = "since the work was interrupted"
	markCool   = "is it cool enough?"
)

// askSoak gives what is asked in a soak: the level as it begins, the level before the
// engine starts again, and between them the temperature where that ends it.
func (r engineRun) askSoak(a RunAsk, plan Run) RunAsk {
	stage, last := plan.Stages[r.stage], record.Reading{RunMS: -1}
	if n := len(r.readings); n > 0 && !r.readings[n-1].Baseline {
		last = r.readings[n-1]
	}
	began := last.RunMS >= r.stageMS
	end := r.stageMS + stage.LengthMS
	over := a.ElapsedMS >= end
	read := last.RunMS >= end
	if stage.UntilMK > 0 {
		over = began && last.TemperatureMK != nil && *last.TemperatureMK <= stage.UntilMK
		read = over
	}
	final := r.stage+1 == len(plan.Stages)
	switch {
	case !began:
		a.Part, a.Mark = RunReading, markBefore
	case r.resumed:
		a.Part, a.Mark = RunReading, markAgain
	case over && read && r.leak:
		a.Part, a.Mark = RunReading, markFound
	case over && final:
		a.Part, a.Reason, a.WakeMS = RunOff, "planned end", 10*second
		return a
	case over && read:
		next := plan.Stages[r.stage+1]
		a.Part, a.Next, a.NextSoak, a.WasSoak, a.WakeMS = RunStage, next.What, next.Soak, true, 30*second
		return a
	case over:
		a.Part, a.Mark = RunReading, markAfter
	case stage.UntilMK > 0:
		a.Part, a.Mark, a.DueInMS = RunReading, markCool, last.RunMS+everySoak-a.ElapsedMS
	default:
		a.Part, a.Mark, a.DueInMS = RunReading, markAfter, end-a.ElapsedMS
	}
	if a.WakeMS = a.DueInMS; a.DueInMS <= 0 {
		a.DueInMS, a.WakeMS = min(0, a.DueInMS), 30*second
	}
	return a
}
