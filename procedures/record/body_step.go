package record

// StepStarted says that a step is the active one from now.
type StepStarted struct {
	Step string `json:"step"`
}

// StepDone ends a step.
type StepDone struct {
	Step string `json:"step"`
}

// StepSkipped leaves a step out.
type StepSkipped struct {
	Step   string `json:"step"`
	Reason string `json:"reason"`
}

// StepReopened goes back to a step; what was entered since stays in the record.
type StepReopened struct {
	Step   string `json:"step"`
	Reason string `json:"reason"`
}

// Acknowledged says that a caution was read, with the words typed.
type Acknowledged struct {
	Rule    string `json:"rule"`
	Key     string `json:"key"`     // stays the same when only numbers of the message change
	Message string `json:"message"` // as it was shown
	Words   string `json:"words"`
}

// Cleared is the raw answer to a demand; replay clears it again.
type Cleared struct {
	Step   string `json:"step"`
	Answer string `json:"answer"`
	Shown  string `json:"shown,omitempty"` // digits that were shown beside the word
	Until  string `json:"until,omitempty"` // step that ends the reliance on it
}

// Value is a number, or words, entered in a step.
type Value struct {
	Step  string `json:"step"`
	Field string `json:"field"`
	Text  string `json:"text"` // decimal text as entered
	Unit  string `json:"unit"` // empty for words
}

// Choice is one of a step's closed answers.
type Choice struct {
	Step   string `json:"step"`
	Option string `json:"option"`
	Goes   string `json:"goes"` // what follows from it
}

// Marks of a timer.
const (
	MarkStarted = "started"
	MarkEnded   = "ended"
)

// Timer marks the start or the end of a waiting time.
type Timer struct {
	Step      string `json:"step"`
	Mark      string `json:"mark"`           // MarkStarted or MarkEnded
	PlannedMS int64  `json:"planned_ms"`     // at least so long, or at most, as the step says
	Text      string `json:"text,omitempty"` // the reading that ended it
}

// Corrected takes back what an earlier event entered and says what is right.
type Corrected struct {
	Seq    int64  `json:"seq"` // of the event corrected
	Text   string `json:"text"`
	Reason string `json:"reason"`
}

// Deviation is something done otherwise than the procedure says.
type Deviation struct {
	Step string `json:"step"`
	Text string `json:"text"`
}

// Note is a remark, to a step or to the whole job.
type Note struct {
	Step string `json:"step,omitempty"`
	Text string `json:"text"`
}

// Photo is a picture taken at a step.
type Photo struct {
	Step string `json:"step"`
	File string `json:"file"` // name it came with, without folders
	Blob Hash   `json:"blob"`
}

// HoldReleased says who released a hold point, and how it was proved.
type HoldReleased struct {
	Step   string `json:"step"`
	By     string `json:"by"`     // second person; the operator for a self-check
	Proved bool   `json:"proved"` // by PIN or key; false: named only
	Answer string `json:"answer"`
}

// Kind gives the kind of the body.
func (StepStarted) Kind() Kind  { return KindStepStarted }
func (StepDone) Kind() Kind     { return KindStepDone }
func (StepSkipped) Kind() Kind  { return KindStepSkipped }
func (StepReopened) Kind() Kind { return KindStepReopened }
func (Acknowledged) Kind() Kind { return KindAcknowledged }
func (Cleared) Kind() Kind      { return KindCleared }
func (Value) Kind() Kind        { return KindValue }
func (Choice) Kind() Kind       { return KindChoice }
func (Timer) Kind() Kind        { return KindTimer }
func (Corrected) Kind() Kind    { return KindCorrected }
func (Deviation) Kind() Kind    { return KindDeviation }
func (Note) Kind() Kind         { return KindNote }
func (Photo) Kind() Kind        { return KindPhoto }
func (HoldReleased) Kind() Kind { return KindHoldReleased }

func (b Photo) blobs() []Hash { return []Hash{b.Blob} }
