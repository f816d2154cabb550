package report

import (
	"fmt"
	"strings"

	"daytank/procedures/checklist"
	"daytank/procedures/record"
)

// Words gives an event in a few words, as a line of a timeline. A kind that
// this program does not know has none.
func Words(body record.Body) string {
	switch b := body.(type) {
	case record.Created:
		return fmt.Sprintf("job %s/%d made, procedure %s", b.Asset, b.Number, b.Procedure)
	case record.Replanned:
		return fmt.Sprintf("planned again: %s is %s", b.Path, b.Value)
	case record.StepStarted:
		return b.Step
	case record.StepDone:
		return b.Step
	case record.StepSkipped:
		return b.Step + ": " + b.Reason
	case record.StepReopened:
		return b.Step + ": " + b.Reason
	case record.Acknowledged:
		return fmt.Sprintf("%s: %q", b.Message, b.Words)
	case record.Cleared:
		return fmt.Sprintf("%s: %q", b.Step, b.Answer)
	case record.Value:
		return strings.TrimSpace(fmt.Sprintf("%s: %s %s", strings.TrimSpace(b.Step+" "+b.Field), b.Text, b.Unit))
	case record.Choice:
		return b.Step + ": " + b.Option
	case record.Timer:
		return strings.TrimSpace(fmt.Sprintf("%s %s %s", b.Step, b.Mark, b.Text))
	case record.Note:
		return strings.TrimPrefix(b.Step+": "+b.Text, ": ")
	case record.Amended:
		return fmt.Sprintf("event %d is %s: %s", b.Seq, b.Text, b.Reason)
	}
	return reviewWords(body)
}

// reviewWords are those of what happens to a job beside its steps.
func reviewWords(body record.Body) string {
	switch b := body.(type) {
	case record.SentBack:
		var all []string
		for _, r := range b.Remarks {
			all = append(all, strings.TrimPrefix(r.Step+": "+r.Text, ": "))
		}
		return b.Which + ": " + strings.Join(all, "; ")
	case record.Explained:
		return strings.TrimPrefix(b.Step+": "+b.Text, ": ")
	case record.Recalled:
		return fmt.Sprintf("told %s: %s", b.Told, b.Reason)
	case record.Signed:
		return strings.TrimSuffix(fmt.Sprintf("%s: %s; %s", b.Which, b.Verdict, b.Remarks), "; ")
	case record.Transferred:
		return fmt.Sprintf("from %s to %s", b.From, b.To)
	case record.Transcribed:
		return fmt.Sprintf("from paper, done by %s on %s", b.Who, b.Done)
	case record.Corrected:
		return fmt.Sprintf("event %d is %s: %s", b.Seq, b.Text, b.Reason)
	case record.Photo:
		return strings.TrimPrefix(fmt.Sprintf("%s: %s, %.16s", b.Step, b.File, b.Blob), ": ")
	case record.Deviation:
		return b.Step + ": " + b.Text
	case record.Clock:
		return fmt.Sprintf("the clocks differ by %d ms", b.DifferenceMS)
	case record.HandedOver:
		return fmt.Sprintf("from %s to %s", b.From, b.To)
	case record.HoldReleased:
		return b.Step + " by " + b.By
	case record.Paused:
		return b.Reason
	case record.Stopped:
		return b.Reason
	case record.TestAdded:
		if b.File != "" {
			return fmt.Sprintf("%s, %s: read from %s", b.Phase, b.State, b.File)
		}
		return fmt.Sprintf("%s, %s: %d values", b.Phase, b.State, len(b.Readings))
	}
	return runWords(body)
}

func runWords(body record.Body) string {
	switch b := body.(type) {
	case record.Reading:
		words := fmt.Sprintf("at %s level %s %s", checklist.Clock(b.RunMS), b.Level, b.LevelUnit)
		if b.Baseline {
			words = fmt.Sprintf("before the start level %s %s", b.Level, b.LevelUnit)
		}
		if b.Temperature != "" {
			words += ", " + b.Temperature + " °C"
		}
		return words
	case record.Stage:
		return fmt.Sprintf("%d, %s", b.Stage, b.What)
	case record.RunEnded:
		return fmt.Sprintf("after %s: %s", checklist.Clock(b.RunMS), b.Reason)
	case record.Alarm:
		return b.Message
	case record.Observation:
		return b.What
	}
	return ""
}
