package cli

import (
	"bytes"
	"strings"
	"testing"
	"time"

	"daytank/cmd/internal/prompt"
	"daytank/procedures/record"
)

// A clock that cannot be right is said before a walk is recorded by it, and nothing but its
// word goes on.
func TestWrongClock(t *testing.T) {
	for _, c := range []struct {
		year  int
		typed string
		code  Code
	}{
		{1970, "\n", Stopped}, {1970, "yes\n", Stopped}, {1970, "go on\n", Done}, {2101, "1\n", Done}, {2101, "\n", Stopped}, {2026, "", Done},
	} {
		w, _ := newJobOf(t, vanFile)
		var out bytes.Buffer
		w.app.env.Stdout = &out
		w.app.env.Now = func() time.Time { return time.Date(c.year, 3, 1, 0, 0, 0, 0, time.UTC) }
		w.talk = prompt.New(strings.NewReader(c.typed), &out, w.app.env.Sleep)
		err := w.askOperator(t.Context())
		code := Done
		if failure := judge(t.Context(), err); failure != nil {
			code = failure.Code
		}
		if code != c.code || strings.Contains(out.String(), "cannot be right: it says") != (c.year != 2026) {
			t.Errorf("%d, %q: status %d, %v\n%s", c.year, c.typed, code, err, out.String())
		}
	}
}

// Nobody is sent to take up a demonstration of which nothing is kept.
func TestDemonstrationIsThrownAway(t *testing.T) {
	for _, c := range []struct {
		demo  bool
		place string
		again bool
	}{{false, "", true}, {true, "demo.db", true}, {true, "", false}} {
		w, _ := newJobOf(t, vanFile)
		var out bytes.Buffer
		w.app.env.Stdout, w.bench.Demo, w.app.flags.store = &out, c.demo, c.place
		w.leftSafe()
		judge(t.Context(), w.leftPartWay("signal: hangup")).report(&out)
		if got := strings.Contains(out.String(), "daytank walk VAN-07/1"); got != c.again || strings.Contains(out.String(), "entered is kept") != c.again {
			t.Errorf("demonstration %t, place %q:\n%s", c.demo, c.place, out.String())
		}
	}
}

// What the review has sent back, with steps reopened there, nobody has open at a vehicle.
func TestFromTheDesk(t *testing.T) {
	for _, c := range []struct {
		kinds []record.Kind
		want  bool
	}{
		{[]record.Kind{record.KindReadyForReview, record.KindSentBack, record.KindExplained, record.KindStepReopened}, true},
		{[]record.Kind{record.KindReadyForReview, record.KindRecalled, record.KindStepReopened, record.KindStepReopened}, true},
		{[]record.Kind{record.KindSentBack, record.KindStepReopened, record.KindStepStarted}, false},
		{[]record.Kind{record.KindStepDone, record.KindStepReopened}, false},
		{nil, false},
	} {
		var events []record.Event
		for _, kind := range c.kinds {
			events = append(events, record.Event{Kind: kind})
		}
		if got := fromTheDesk(events); got != c.want {
			t.Errorf("%v: %t", c.kinds, got)
		}
	}
}
