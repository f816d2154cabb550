package record

// Created begins a job and says what it rests on. It is the first event of
// every chain and stands nowhere else.
type Created struct {
	Asset      string `json:"asset"`  // what is cleaned: VAN-07
	Number     int64  `json:"number"` // of this asset's jobs, from 1
	Title      string `json:"title"`
	Procedure  string `json:"procedure"`
	Layout     string `json:"layout"`
	Program    string `json:"program"` // version that made the plan
	Demo       bool   `json:"demo,omitempty"`
	Own        bool   `json:"own,omitempty"` // by a procedure of the user's
	Job        Hash   `json:"job"`
	Plan       Hash   `json:"plan"`
	Assessment Hash   `json:"assessment"`
	Checklist  Hash   `json:"checklist"`
}

// Replanned follows an answer that changed the job: the new job, and all that
// was computed from it again.
type Replanned struct {
	Step       string `json:"step"`
	Path       string `json:"path"`  // in the job file: condition.leaks
	Value      string `json:"value"` // as written there
	Job        Hash   `json:"job"`
	Plan       Hash   `json:"plan"`
	Assessment Hash   `json:"assessment"`
	Checklist  Hash   `json:"checklist"`
}

// Emergency says that the emergency card was called up; the job is stopped.
type Emergency struct{}

// Stopped ends the work for a reason that is not a break.
type Stopped struct {
	Reason string `json:"reason"`
}

// Paused interrupts the walk.
type Paused struct {
	Reason string `json:"reason"`
}

// Resumed takes the walk up again after a break or a stop.
type Resumed struct{}

// HandedOver gives the walk to another operator.
type HandedOver struct {
	From string `json:"from"`
	To   string `json:"to"`
}

// Transcribed says that the events after it were entered from a sheet of paper.
type Transcribed struct {
	Who  string `json:"who"`            // did the work
	Done string `json:"done"`           // when, as it stands on the sheet
	Text string `json:"text,omitempty"` // why paper
}

// Clock notes that the wall clock and the monotonic clock disagree.
type Clock struct {
	DifferenceMS int64 `json:"difference_ms"` // wall less monotonic
}

// Transferred is the last event that this holder of the job writes. The identities are
// those of the two stores, UUIDs as text: names may be given twice, or anew.
type Transferred struct {
	From   string `json:"from"`
	To     string `json:"to"`
	FromID string `json:"from_id,omitempty"`
	ToID   string `json:"to_id,omitempty"` // who holds the job from then on
}

// Kind gives the kind of the body.
func (Created) Kind() Kind     { return KindCreated }
func (Replanned) Kind() Kind   { return KindReplanned }
func (Emergency) Kind() Kind   { return KindEmergency }
func (Stopped) Kind() Kind     { return KindStopped }
func (Paused) Kind() Kind      { return KindPaused }
func (Resumed) Kind() Kind     { return KindResumed }
func (HandedOver) Kind() Kind  { return KindHandedOver }
func (Transcribed) Kind() Kind { return KindTranscribed }
func (Clock) Kind() Kind       { return KindClock }
func (Transferred) Kind() Kind { return KindTransferred }

func (b Created) blobs() []Hash   { return []Hash{b.Job, b.Plan, b.Assessment, b.Checklist} }
func (b Replanned) blobs() []Hash { return []Hash{b.Job, b.Plan, b.Assessment, b.Checklist} }
