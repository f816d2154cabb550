package record

// The two sign-offs.
const (
	SignOffWork   = "work"   // fit to go back on the road
	SignOffResult = "result" // after the after-test
)

// ReadyForReview says that the operator has finished.
type ReadyForReview struct{}

// Signed is a sign-off of everything before it. The signature is over what
// [SignOff.Bytes] gives.
type Signed struct {
	Which      string `json:"which"`   // SignOffWork or SignOffResult
	Verdict    string `json:"verdict"` // in the signer's words
	Remarks    string `json:"remarks,omitempty"`
	NothingDue bool   `json:"nothing_due,omitempty"` // no next-day look and no after-test follow
	Signature  string `json:"signature,omitempty"`   // SSHSIG, armored
}

// Remark is what a reviewer says about a step, or about the whole job.
type Remark struct {
	Step string `json:"step,omitempty"`
	Text string `json:"text"`
}

// SentBack returns the job to its operator.
type SentBack struct {
	Which   string   `json:"which"`
	Remarks []Remark `json:"remarks"`
}

// Explained is the operator's answer to a remark or a deviation.
type Explained struct {
	Step string `json:"step,omitempty"`
	Text string `json:"text"`
}

// Recalled says that the owner was told not to drive.
type Recalled struct {
	Told   string `json:"told"`              // who
	ToldAt string `json:"told_at,omitempty"` // when, if not now
	Reason string `json:"reason"`
}

// Amended changes something that was signed, and voids that signature.
type Amended struct {
	Seq    int64  `json:"seq"` // of the event changed
	Step   string `json:"step,omitempty"`
	Text   string `json:"text"`
	Reason string `json:"reason"`
}

// Kind gives the kind of the body.
func (ReadyForReview) Kind() Kind { return KindReadyForReview }
func (Signed) Kind() Kind         { return KindSigned }
func (SentBack) Kind() Kind       { return KindSentBack }
func (Explained) Kind() Kind      { return KindExplained }
func (Recalled) Kind() Kind       { return KindRecalled }
func (Amended) Kind() Kind        { return KindAmended }
