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

// TestAdded is an idle test.
type TestAdded struct {
	Step       string        `json:"step"`
	Phase      string        `json:"phase"` // before, after
	State      string        `json:"state"` // cold, hot
	Readings   []TestReading `json:"readings"`
	Measurable bool          `json:"measurable"` // false: the engine gives no such values
	File       string        `json:"file,omitempty"`
	Log        Hash          `json:"log,omitzero"` // the log file it was read from
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

func (b TestAdded) blobs() []Hash { return []Hash{b.Log} }
