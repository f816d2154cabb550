package record

// RunStarted says that the engine runs on cleaning fluid from now.
type RunStarted struct {
	Step string `json:"step"`
}

// Reading is a level, a temperature, or both, read during the run. The texts
// are as entered; the numbers are what they mean, where they mean one.
type Reading struct {
	Step            string `json:"step"`
	Stage           int64  `json:"stage"`  // 0 is the first flush
	RunMS           int64  `json:"run_ms"` // since the run started
	Level           string `json:"level,omitempty"`
	LevelUnit       string `json:"level_unit,omitempty"`
	Temperature     string `json:"temperature,omitempty"`
	TemperatureUnit string `json:"temperature_unit,omitempty"`
	LevelUL         *int64 `json:"level_ul,omitempty"`       // µL in the container
	TemperatureMK   *int64 `json:"temperature_mk,omitempty"` // mK, absolute
	Baseline        bool   `json:"baseline,omitempty"`       // the level that the others are compared with
}

// Observation is something seen or heard during the run: bubbles, smoke.
type Observation struct {
	Step string `json:"step"`
	What string `json:"what"`
}

// Alarm is what the program called out, in the words it used.
type Alarm struct {
	Step    string `json:"step"`
	Name    string `json:"name"`
	Message string `json:"message"`
	Mild    bool   `json:"mild,omitempty"` // it does not switch the engine off
}

// Stage says that a stage of the run began.
type Stage struct {
	Step  string `json:"step"`
	Stage int64  `json:"stage"`
	What  string `json:"what"` // flush, idle, 1500 rpm, soak
}

// RunEnded says that the engine was switched off.
type RunEnded struct {
	Step   string `json:"step"`
	Reason string `json:"reason"`
	RunMS  int64  `json:"run_ms"` // since the run started
}

// TestAdded is an idle test. The few values that a walk notes stand in it as
// readings; what a log or a table of minutes gave is kept as samples, in the form of
// package idletest.
type TestAdded struct {
	Step        string          `json:"step"`  // empty: added outside the walk
	Phase       string          `json:"phase"` // before, after
	State       string          `json:"state"` // cold, hot
	Readings    []TestReading   `json:"readings"`
	Measurable  bool            `json:"measurable"`         // false: the engine gives no such values
	Measure     string          `json:"measure,omitempty"`  // corrections, speed, leak-off, opacity
	Unit        string          `json:"unit,omitempty"`     // of what is compared
	Sign        string          `json:"sign,omitempty"`     // what a positive correction means
	Density     string          `json:"density,omitempty"`  // of the fuel, to take mg/stroke as mm3/stroke
	On          string          `json:"on,omitempty"`       // day, year-month-day
	Odometer    string          `json:"odometer,omitempty"` // with its unit
	EngineHours string          `json:"engine_hours,omitempty"`
	Ambient     string          `json:"ambient,omitempty"`
	Conditions  []TestCondition `json:"conditions,omitempty"`
	Between     []Intervention  `json:"between,omitempty"` // what else was changed since the tests before
	File        string          `json:"file,omitempty"`
	Source      Hash            `json:"source,omitzero"`  // digest of the file as it was
	Samples     Hash            `json:"samples,omitzero"` // blob
}

// TestCondition is a condition of a test: gear, air-conditioning, fuel, filter, oil.
type TestCondition struct {
	Name string `json:"name"`
	Was  string `json:"was"`
}

// Intervention is something that was changed between the tests before and after.
type Intervention struct {
	What   string `json:"what"`
	Reset  bool   `json:"reset,omitempty"`  // the control unit forgot what it had learnt
	Driven bool   `json:"driven,omitempty"` // and has been driven since
}

// TestReading is one value of an idle test.
type TestReading struct {
	Channel string `json:"channel"`
	Text    string `json:"text"` // decimal text as entered or read
	Unit    string `json:"unit"`
}

// Kind gives the kind of the body.
func (RunStarted) Kind() Kind  { return KindRunStarted }
func (Reading) Kind() Kind     { return KindReading }
func (Observation) Kind() Kind { return KindObservation }
func (Alarm) Kind() Kind       { return KindAlarm }
func (Stage) Kind() Kind       { return KindStage }
func (RunEnded) Kind() Kind    { return KindRunEnded }
func (TestAdded) Kind() Kind   { return KindTestAdded }

func (b TestAdded) blobs() []Hash { return []Hash{b.Samples} }
