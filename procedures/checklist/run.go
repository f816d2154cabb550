package checklist

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"daytank/procedures/record"
)

// RunPart is where in the live run the walk is.
type RunPart string

// Parts of the live run, in order.
const (
	RunBaseline RunPart = "baseline" // level before the engine starts
	RunStart    RunPart = "start"    // the engine starts
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
	off      string
	ended    bool

	bubblesMS *int64 // since when bubbles are seen
	overdue   bool   // that the next reading is overdue was called out
	called    string // alarm since the last reading that does not switch off
}

func (r *engineRun) apply(at record.Stamp, seq int64, body record.Body) {
	switch b := body.(type) {
	case record.Reading:
		r.readings, r.seqs = append(r.readings, b), append(r.seqs, seq)
		if b.Baseline {
			r.baseline = true
			return
		}
		r.lastMS, r.resumed, r.overdue, r.called = r.elapsed(at), false, false, ""
	case record.Observation:
		r.observe(at, b)
	case record.RunStarted:
		r.started, r.running, r.stage, r.stageMS, r.starts = at, true, 0, 0, nil
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
	}
}

func (r engineRun) elapsed(at record.Stamp) int64 { return elapsedMS(r.started, at) }

// soakLeftMS gives how much of a soak was left at a moment.
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
		a.NextSoak = plan.Stages[0].Soak
		return a
	}
	stage := plan.Stages[r.stage]
	a.Stage, a.What, a.StageOfMS = r.stage+1, stage.What, stage.LengthMS
	a.ElapsedMS, a.Called = r.elapsed(at), r.called
	a.StageMS = a.ElapsedMS - r.stageMS
	a.EndsInMS = stage.LengthMS - a.StageMS
	for _, later := range plan.Stages[r.stage+1:] {
		a.EndsInMS += later.LengthMS
	}
	if at := r.stopAtMS(plan); at != nil {
		left := *at - a.ElapsedMS
		a.StopInMS = &left
	}
	if mean, _, ok := r.burn(plan); ok {
		ul := int64(math.Round(mean))
		a.BurnULMin = &ul
	}
	stageLeft := stage.LengthMS - a.StageMS
	switch {
	case r.off != "":
		a.Part, a.Reason, a.WakeMS = RunOff, r.off, 10*second
	case stageLeft <= 0 && r.stage+1 < len(plan.Stages):
		next := plan.Stages[r.stage+1]
		a.Part, a.Next, a.NextSoak, a.WasSoak, a.WakeMS = RunStage, next.What, next.Soak, stage.Soak, 30*second
	case stageLeft <= 0:
		a.Part, a.Reason, a.WakeMS = RunOff, "planned end", 10*second
	case stage.Soak:
		a.Part, a.WakeMS, a.DueInMS = RunReading, stageLeft, stageLeft
	default:
		a.Part, a.DueInMS = RunReading, r.due(plan.WarmMK)-a.ElapsedMS
		a.WakeMS = min(stageLeft, a.DueInMS)
		if a.DueInMS <= 0 {
			a.WakeMS = min(stageLeft, 30*second)
		}
		if r.bubblesMS != nil {
			a.WakeMS = min(a.WakeMS, max(second, *r.bubblesMS+bubblesMS-a.ElapsedMS))
		}
	}
	return a
}

// ParseReading reads `LEVEL` or `LEVEL TEMPERATURE`, in mL and °C, with units
// behind them or without.
func ParseReading(text string) (record.Reading, error) {
	words := strings.Fields(strings.NewReplacer("mL", " ", "ml", " ", "°C", " ", "degC", " ", ";", " ").Replace(text))
	if len(words) < 1 || len(words) > 2 {
		return record.Reading{}, safetyRefusal("a reading is the level in mL and the temperature in °C, such as  1320 28")
	}
	level, err := plainDecimal(words[0])
	if err != nil || level < 0 || level > 1e6 {
		return record.Reading{}, safetyRefusal("%q is not a level in mL", words[0])
	}
	ul := int64(math.Round(level * 1000))
	r := record.Reading{Level: words[0], LevelUnit: "mL", LevelUL: &ul}
	if len(words) == 2 {
		t, err := plainDecimal(words[1])
		if err != nil || t < -40 || t > 150 {
			return record.Reading{}, safetyRefusal("%q is not a temperature in °C", words[1])
		}
		mk := int64(math.Round((t + 273.15) * 1000))
		r.Temperature, r.TemperatureUnit, r.TemperatureMK = words[1], "degC", &mk
	}
	return r, nil
}

func plainDecimal(text string) (float64, error) {
	text = strings.Replace(strings.TrimPrefix(text, "+"), ",", ".", 1)
	for _, r := range text {
		if (r < '0' || r > '9') && r != '.' && r != '-' {
			return 0, fmt.Errorf("%q is not a plain number", text)
		}
	}
	return strconv.ParseFloat(text, 64)
}
