package record

import (
	"errors"
	"fmt"
	"strings"
	"time"

	"github.com/google/uuid"
)

// State is where a job stands.
type State string

// The states. A draft is a job that has no record yet; no event leads there.
const (
	StateDraft    State = "draft"
	StateReady    State = "ready"
	StateWalking  State = "walking"
	StatePaused   State = "paused"
	StateStopped  State = "stopped"
	StateWaiting  State = "waiting"
	StateToReview State = "to review"
	StateSentBack State = "sent back"
	StateSigned   State = "signed"
	StateRecalled State = "recalled"
)

// States lists all states in the order in which a job may come through them.
func States() []State {
	return []State{
		StateDraft, StateReady, StateWalking, StatePaused, StateStopped,
		StateWaiting, StateToReview, StateSentBack, StateSigned, StateRecalled,
	}
}

// StateNames gives the names of all states, for who has typed another.
func StateNames() string {
	var names []string
	for _, s := range States() {
		names = append(names, string(s))
	}
	return strings.Join(names, ", ")
}

// Summary is what lists show of a job: its events folded into one row.
type Summary struct {
	Job       uuid.UUID
	Asset     string
	Number    int64 // of the asset's jobs, from 1
	Title     string
	Procedure string
	State     State
	Operator  string // by of the last walking event, or who it was handed to since
	Created   time.Time
	Updated   time.Time // of the last event
	Events    int64
	Head      Hash // of the last event
	Demo      bool
	Weight    Weight // with whoever reviews it
}

// Apply folds the next event into the summary. The zero Summary takes the first
// event of any job. The error says that e does not follow the events folded so
// far, or that a body the fold needs does not fit; it does not check the hash of
// e, which is for [Verify].
func (s Summary) Apply(e Event) (Summary, error) {
	if err := s.checkNext(e); err != nil {
		return s, err
	}
	next, err := s.applyBody(e)
	if err != nil {
		return s, err
	}
	rank, err := RankOf(e)
	if err != nil {
		return s, err
	}
	next.Weight = next.Weight.with(rank)
	next.Updated, next.Events, next.Head = e.At, e.Seq, e.Hash
	if walking[e.Kind] {
		next.Operator = e.By
	}
	return next, nil
}

func (s Summary) checkNext(e Event) error {
	prev := s.Head
	if s.Events == 0 {
		s.Job, prev = e.Job, Genesis(e.Job).Hash
	}
	switch {
	case e.Job != s.Job:
		return fmt.Errorf("event %d of job %s does not belong to job %s", e.Seq, e.Job, s.Job)
	case e.Seq != s.Events+1:
		return fmt.Errorf("job %s: event %d does not come after event %d", s.Job, e.Seq, s.Events)
	case e.Prev != prev:
		return fmt.Errorf("job %s: event %d follows %s, not %s", s.Job, e.Seq, e.Prev, prev)
	}
	return checkBeginning(e)
}

// walking has the kinds that an operator's work at the vehicle leaves behind.
var walking = map[Kind]bool{
	KindStepStarted: true, KindStepDone: true, KindStepSkipped: true, KindStepReopened: true,
	KindAcknowledged: true, KindCleared: true, KindValue: true, KindChoice: true, KindTimer: true,
	KindRunStarted: true, KindReading: true, KindObservation: true, KindStage: true, KindRunEnded: true,
	KindResumed: true,
}

func (s Summary) applyBody(e Event) (Summary, error) {
	switch e.Kind {
	case KindCreated:
		return s.create(e)
	case KindHandedOver:
		b, err := As[HandedOver](e)
		s.Operator = b.To
		return s, err
	case KindSigned:
		b, err := As[Signed](e)
		s.State = afterSigning(b)
		return s, err
	case KindTestAdded:
		b, err := As[TestAdded](e)
		if s.State == StateWaiting && b.Phase == "after" {
			s.State = StateToReview
		}
		return s, err
	}
	s.State = s.State.after(e.Kind)
	return s, nil
}

func (s Summary) create(e Event) (Summary, error) {
	b, err := As[Created](e)
	if err != nil {
		return s, err
	}
	if b.Asset == "" {
		return s, errors.New("event 1: created without an asset")
	}
	if b.Number < 1 {
		return s, fmt.Errorf("event 1: number of the job is %d, want 1 or more", b.Number)
	}
	return Summary{
		Job: e.Job, Asset: b.Asset, Number: b.Number, Title: b.Title, Procedure: b.Procedure,
		State: StateReady, Created: e.At, Demo: b.Demo,
	}, nil
}

// afterSigning: work signed waits for the next-day look or the after-test, if
// either is due; the result is signed last.
func afterSigning(b Signed) State {
	if b.Which == SignOffWork && !b.NothingDue {
		return StateWaiting
	}
	return StateSigned
}

// after gives the state that a kind leads to. A stopped job is taken up again
// only by an event that says so: steps of leaving it safe do not, and neither
// does a break.
func (s State) after(kind Kind) State {
	switch kind {
	case KindEmergency, KindStopped:
		return StateStopped
	case KindResumed:
		return StateWalking
	case KindReadyForReview:
		return StateToReview
	case KindSentBack:
		return StateSentBack
	case KindRecalled:
		return StateRecalled
	case KindStepStarted, KindStepReopened, KindRunStarted:
		if s != StateStopped {
			return StateWalking
		}
	case KindPaused:
		if s == StateReady || s == StateWalking {
			return StatePaused
		}
	case KindAmended:
		if s == StateSigned || s == StateWaiting {
			return StateToReview
		}
	}
	return s
}
