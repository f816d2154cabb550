package record

import (
	"time"

	"github.com/google/uuid"
)

// SignatureNamespace is the namespace of sign-offs, as in ssh-keygen -n.
const SignatureNamespace = "daytank-signoff"

// SignOff is what a sign-off signs: a job up to a head, who signs it, when, and what
// they say.
type SignOff struct {
	Job        uuid.UUID
	Head       Hash // of the last event that is signed
	Seq        int64
	Which      string
	Verdict    string
	Remarks    string
	NothingDue bool
	Principal  string
	At         time.Time
}

// signOffFormat is the number of the form of what is signed.
const signOffFormat = 1

// Bytes gives what is signed: a JSON object in canonical form of the members at, head,
// job, nothing_due, principal, remarks, seq, signoff (1), verdict and which. Text that is
// not UTF-8 is refused.
func (s SignOff) Bytes() ([]byte, error) {
	return Canonical(struct {
		At         string `json:"at"`
		Head       string `json:"head"`
		Job        string `json:"job"`
		NothingDue bool   `json:"nothing_due"`
		Principal  string `json:"principal"`
		Remarks    string `json:"remarks"`
		Seq        int64  `json:"seq"`
		SignOff    int64  `json:"signoff"`
		Verdict    string `json:"verdict"`
		Which      string `json:"which"`
	}{s.At.UTC().Format(timeLayout), s.Head.String(), s.Job.String(), s.NothingDue, s.Principal, s.Remarks, s.Seq, signOffFormat, s.Verdict, s.Which})
}

// SignOffOf gives what the sign-off in an event signs: the chain up to the event before
// it, in the name and at the time of the event.
func SignOffOf(e Event) (SignOff, string, error) {
	b, err := As[Signed](e)
	return SignOff{
		Job: e.Job, Head: e.Prev, Seq: e.Seq - 1, Which: b.Which, Verdict: b.Verdict, Remarks: b.Remarks,
		NothingDue: b.NothingDue, Principal: e.By, At: e.At,
	}, b.Signature, err
}
