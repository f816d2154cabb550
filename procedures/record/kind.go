package record

import "strings"

// Kind says what happened in an event and how its body is read.
type Kind string

// The kinds. A kind is never renamed, reordered or given another meaning.
const (
	KindCreated        Kind = "created"
	KindReplanned      Kind = "replanned"
	KindStepStarted    Kind = "step started"
	KindStepDone       Kind = "step done"
	KindStepSkipped    Kind = "step skipped"
	KindStepReopened   Kind = "step reopened"
	KindAcknowledged   Kind = "acknowledged"
	KindCleared        Kind = "cleared"
	KindValue          Kind = "value"
	KindChoice         Kind = "choice"
	KindTimer          Kind = "timer"
	KindRunStarted     Kind = "run started"
	KindReading        Kind = "reading"
	KindObservation    Kind = "observation"
	KindAlarm          Kind = "alarm"
	KindStage          Kind = "stage"
	KindRunEnded       Kind = "run ended"
	KindCorrected      Kind = "corrected"
	KindDeviation      Kind = "deviation"
	KindNote           Kind = "note"
	KindPhoto          Kind = "photo"
	KindEmergency      Kind = "emergency"
	KindStopped        Kind = "stopped"
	KindPaused         Kind = "paused"
	KindResumed        Kind = "resumed"
	KindHandedOver     Kind = "handed over"
	KindHoldReleased   Kind = "hold released"
	KindTranscribed    Kind = "transcribed"
	KindClock          Kind = "clock"
	KindTestAdded      Kind = "test added"
	KindReadyForReview Kind = "ready for review"
	KindSigned         Kind = "signed"
	KindSentBack       Kind = "sent back"
	KindExplained      Kind = "explained"
	KindRecalled       Kind = "recalled"
	KindAmended        Kind = "amended"
	KindTransferred    Kind = "transferred"
)

const maxKind = 32 // bytes

// Known reports whether this program can read bodies of the kind. An event of
// another kind is kept and counts in the chain; whoever shows it says so.
func (k Kind) Known() bool {
	_, known := decoders()[k]
	return known
}

// wellFormed reports whether the kind is made of lower-case words with single
// spaces between them, at most maxKind bytes.
func (k Kind) wellFormed() bool {
	if len(k) > maxKind {
		return false
	}
	for word := range strings.SplitSeq(string(k), " ") {
		if word == "" || strings.Trim(word, "abcdefghijklmnopqrstuvwxyz") != "" {
			return false
		}
	}
	return true
}
