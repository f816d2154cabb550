package record

import (
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
)

func fold(t *testing.T, events []Event) Summary {
	t.Helper()
	var s Summary
	for _, e := range events {
		var err error
		if s, err = s.Apply(e); err != nil {
			t.Fatal(err)
		}
	}
	return s
}

func TestStateAfterEvents(t *testing.T) {
	step, test := StepStarted{Step: "a"}, TestAdded{Phase: "after"}
	workSigned := Signed{Which: SignOffWork}
	resultSigned := Signed{Which: SignOffResult}
	for _, c := range []struct {
		bodies []Body
		want   State
	}{
		{nil, StateReady},
		{[]Body{Replanned{}, Acknowledged{}, Note{}}, StateReady},
		{[]Body{step}, StateWalking},
		{[]Body{RunStarted{}}, StateWalking},
		{[]Body{StepReopened{}}, StateWalking},
		{[]Body{Paused{}}, StatePaused},
		{[]Body{step, Paused{}, Note{}}, StatePaused},
		{[]Body{step, Paused{}, Resumed{}}, StateWalking},
		{[]Body{step, Paused{}, step}, StateWalking},
		{[]Body{step, Emergency{}}, StateStopped},
		{[]Body{step, Stopped{}}, StateStopped},
		{[]Body{step, Emergency{}, Paused{}, step, StepReopened{}, RunStarted{}}, StateStopped},
		{[]Body{step, Emergency{}, Resumed{}}, StateWalking},
		{[]Body{step, Stopped{}, ReadyForReview{}}, StateToReview},
		{[]Body{step, ReadyForReview{}}, StateToReview},
		{[]Body{step, ReadyForReview{}, Paused{}, Explained{}, Transferred{}}, StateToReview},
		{[]Body{step, ReadyForReview{}, SentBack{}}, StateSentBack},
		{[]Body{step, ReadyForReview{}, SentBack{}, Explained{}}, StateSentBack},
		{[]Body{step, ReadyForReview{}, SentBack{}, StepReopened{}}, StateWalking},
		{[]Body{step, ReadyForReview{}, SentBack{}, Explained{}, ReadyForReview{}}, StateToReview},
		{[]Body{step, ReadyForReview{}, workSigned}, StateWaiting},
		{[]Body{step, ReadyForReview{}, Signed{Which: SignOffWork, NothingDue: true}}, StateSigned},
		{[]Body{step, ReadyForReview{}, workSigned, TestAdded{Phase: "before"}}, StateWaiting},
		{[]Body{step, test}, StateWalking},
		{[]Body{step, ReadyForReview{}, workSigned, test}, StateToReview},
		{[]Body{step, ReadyForReview{}, workSigned, test, resultSigned}, StateSigned},
		{[]Body{step, ReadyForReview{}, workSigned, test, resultSigned, Amended{}}, StateToReview},
		{[]Body{step, ReadyForReview{}, workSigned, Amended{}}, StateToReview},
		{[]Body{step, Amended{}}, StateWalking},
		{[]Body{step, ReadyForReview{}, workSigned, Recalled{}}, StateRecalled},
		{[]Body{step, ReadyForReview{}, workSigned, Recalled{}, StepReopened{}}, StateWalking},
		{[]Body{step, custom{"towed away", map[string]any{}}}, StateWalking},
	} {
		var names []string
		for _, b := range c.bodies {
			names = append(names, string(b.Kind()))
		}
		s := fold(t, mustSeal(t, Genesis(jobVan), append([]Body{createdVan()}, c.bodies...)...))
		if s.State != c.want {
			t.Errorf("created, %s: got %q, want %q", strings.Join(names, ", "), s.State, c.want)
		}
		if s.Events != int64(len(c.bodies)+1) {
			t.Errorf("%d events, want %d", s.Events, len(c.bodies)+1)
		}
	}
}

func TestSummaryOfAJob(t *testing.T) {
	events, head, err := Seal(Genesis(jobVan), stamp(), createdVan())
	if err != nil {
		t.Fatal(err)
	}
	created := events[0].At
	add := func(by string, body Body) {
		s := stamp()
		s.By, s.At = by, s.At.Add(time.Duration(len(events))*time.Minute)
		more, next, err := Seal(head, s, body)
		if err != nil {
			t.Fatal(err)
		}
		events, head = append(events, more...), next
	}
	want := Summary{
		Job: jobVan, Asset: "VAN-07", Number: 3, Title: "VAN-07 concentrate clean", Procedure: "rail-pumped",
		State: StateReady, Created: created, Updated: created, Events: 1, Head: head.Hash,
	}
	check := func(operator string, state State) {
		t.Helper()
		want.Operator, want.State, want.Head = operator, state, head.Hash
		want.Events = int64(len(events))
		want.Updated = events[len(events)-1].At
		if diff := cmp.Diff(want, fold(t, events)); diff != "" {
			t.Error(diff)
		}
	}
	check("", StateReady)
	add("Tobi Fenn", StepStarted{Step: "a"})
	check("Tobi Fenn", StateWalking)
	add("Ines Holm", Note{Text: "looked in"})
	check("Tobi Fenn", StateWalking)
	add("Tobi Fenn", HandedOver{From: "Tobi Fenn", To: "Mara Quill"})
	check("Mara Quill", StateWalking)
	add("Mara Quill", StepDone{Step: "a"})
	add("Mara Quill", ReadyForReview{})
	add("Ines Holm", Signed{Which: SignOffWork, Verdict: "fit"})
	check("Mara Quill", StateWaiting)
}

func TestDemoIsMarked(t *testing.T) {
	c := createdVan()
	c.Demo = true
	if !fold(t, mustSeal(t, Genesis(jobVan), c)).Demo {
		t.Error("the demo is not marked")
	}
}

func TestApplyRefuses(t *testing.T) {
	events := sampleChain(t)
	begun := fold(t, events[:2])
	other := mustSeal(t, Genesis(jobBoat), Created{Asset: "BOAT-11", Number: 1}, Resumed{})
	alter := func(e Event, change func(*Event)) Event { change(&e); return e }
	for _, c := range []struct {
		name, says string
		summary    Summary
		event      Event
	}{
		{"not the first", "does not come after event 0", Summary{}, events[1]},
		{"one left out", "does not come after event 2", begun, events[3]},
		{"one twice", "does not come after event 2", begun, events[1]},
		{"another job's", "does not belong", begun, other[1]},
		{"another chain's", "follows", begun, alter(events[2], func(e *Event) { e.Prev[0] ^= 1 })},
		{"first of another job", "follows", Summary{}, alter(events[0], func(e *Event) { e.Job = jobBoat })},
		{"not created", "the first event is note", Summary{}, alter(events[0], func(e *Event) { e.Kind = KindNote })},
		{"created again", "after the first place", begun, alter(events[2], func(e *Event) { e.Kind = KindCreated })},
		{"no asset", "without an asset", Summary{}, mustSeal(t, Genesis(jobVan), Created{Number: 1})[0]},
		{"no number", "number of the job is 0", Summary{}, mustSeal(t, Genesis(jobVan), Created{Asset: "VAN-07"})[0]},
		{"body does not fit", "body of signed", begun, alter(events[2], func(e *Event) { e.Kind, e.Body = KindSigned, []byte(`{"which":1}`) })},
	} {
		got, err := c.summary.Apply(c.event)
		if err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: got %v, want an error with %q", c.name, err, c.says)
		}
		if got != c.summary {
			t.Errorf("%s: the summary changed beside the error", c.name)
		}
	}
}

// Whoever the last transfer names holds the job, whatever comes after it; without one
// nobody is named.
func TestLastTransfer(t *testing.T) {
	out := Transferred{From: "office", To: "bay 1", ToID: "018f3a5c-9000-7000-8000-000000000001"}
	back := Transferred{From: "bay 1", To: "office", ToID: "018f3a5c-9000-7000-8000-000000000002"}
	for _, c := range []struct {
		name   string
		bodies []Body
		want   Transferred
		given  bool
	}{
		{"none", []Body{Note{Text: "x"}}, Transferred{}, false},
		{"one", []Body{out}, out, true},
		{"one, and more after it", []Body{out, Note{Text: "x"}, Resumed{}}, out, true},
		{"there and back", []Body{out, Note{Text: "x"}, back}, back, true},
	} {
		events := mustSeal(t, Genesis(jobVan), append([]Body{createdVan()}, c.bodies...)...)
		if last, given, err := LastTransfer(events); last != c.want || given != c.given || err != nil {
			t.Errorf("%s: got %v, %v, %v", c.name, last, given, err)
		}
		if last, given, err := LastTransfer(events[1:]); last != c.want || given != c.given || err != nil {
			t.Errorf("%s, what was appended alone: got %v, %v, %v", c.name, last, given, err)
		}
	}
	if last, given, err := LastTransfer(nil); last != (Transferred{}) || given || err != nil {
		t.Errorf("no events: got %v, %v, %v", last, given, err)
	}
	events := mustSeal(t, Genesis(jobVan), createdVan(), out, custom{KindTransferred, map[string]any{"to": 7}})
	if last, given, err := LastTransfer(events); last != (Transferred{}) || given || err == nil || !strings.Contains(err.Error(), "event 3: body of transferred") {
		t.Errorf("a body that does not fit: got %v, %v, %v", last, given, err)
	}
}

func TestStatesAreAll(t *testing.T) {
	want := []State{"draft", "ready", "walking", "paused", "stopped", "waiting", "to review", "sent back", "signed", "recalled"}
	if diff := cmp.Diff(want, States()); diff != "" {
		t.Error(diff)
	}
}
