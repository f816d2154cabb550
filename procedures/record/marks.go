package record

import "strings"

// Rank says how much an event weighs with whoever reviews the job. The names say what
// it is about, for the queue.
type Rank int64

// Ranks, the worst last.
const (
	RankNothing     Rank = iota
	RankCaution          // a caution that was acknowledged
	RankMild             // an alarm that does not switch off
	RankAgain            // something entered or proved a second time, a clock that went wrong
	RankNamed            // a hold point released by somebody named, not proved
	RankDeviation        // skipped, or done otherwise
	RankAlone            // a hold point that no second person released
	RankAlarm            // an alarm that switches off
	RankEmergency        //
	RankTranscribed      // entered from paper
	RankOwn              // by the user's own procedure
)

// Words says what a rank is about.
func (r Rank) Words() string {
	words := []string{
		"nothing", "caution acknowledged", "alarm, engine kept running", "entered or proved again", "hold point named, not proved",
		"skipped or done otherwise", "hold point without a second person", "alarm, engine switched off", "emergency", "transcribed from paper", "own procedure",
	}
	if r < 0 || int(r) >= len(words) {
		return words[0]
	}
	return words[r]
}

// ProvedAgain begins the reason of a step that is reopened because its proof has lapsed.
const ProvedAgain = "to be proved again"

// NoProof begins what is observed where it was typed for a demand and proved nothing.
const NoProof = "no proof: "

// RankOf gives how much an event weighs.
func RankOf(e Event) (Rank, error) {
	switch e.Kind {
	case KindCreated:
		b, err := As[Created](e)
		if b.Own {
			return RankOwn, err
		}
		return RankNothing, err
	case KindTranscribed:
		return RankTranscribed, nil
	case KindEmergency:
		return RankEmergency, nil
	case KindAlarm:
		b, err := As[Alarm](e)
		if b.Mild {
			return RankMild, err
		}
		return RankAlarm, err
	case KindHoldReleased:
		b, err := As[HoldReleased](e)
		switch {
		case b.By == e.By:
			return RankAlone, err
		case !b.Proved:
			return RankNamed, err
		}
		return RankNothing, err
	case KindStepSkipped, KindDeviation, KindAmended:
		return RankDeviation, nil
	case KindRecalled:
		return RankEmergency, nil
	case KindStepReopened:
		b, err := As[StepReopened](e)
		if strings.HasPrefix(b.Reason, ProvedAgain) {
			return RankAgain, err
		}
		return RankNothing, err
	case KindObservation:
		b, err := As[Observation](e)
		if strings.HasPrefix(b.What, NoProof) {
			return RankAgain, err
		}
		return RankNothing, err
	case KindCorrected, KindClock:
		return RankAgain, nil
	case KindAcknowledged:
		return RankCaution, nil
	}
	return RankNothing, nil
}

// Weight is how much a job weighs in the queue: the worst of it, then how many points
// there are to look at. It is one number, so that a store can order by it.
type Weight int64

const pointsPerRank = 1000

// Worst gives the worst of a job.
func (w Weight) Worst() Rank { return Rank(w / pointsPerRank) }

// Points gives how many things there are to look at, at most 999.
func (w Weight) Points() int64 { return int64(w % pointsPerRank) }

// with adds an event of a rank. A caution is read with the plan and is no point.
func (w Weight) with(r Rank) Weight {
	points := w.Points()
	if r > RankCaution {
		points = min(points+1, pointsPerRank-1)
	}
	return Weight(max(w.Worst(), r))*pointsPerRank + Weight(points)
}
