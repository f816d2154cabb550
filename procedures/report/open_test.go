package report

import (
	"slices"
	"strings"
	"testing"

	"daytank/procedures/record"
)

// Open has the steps that are to come after the sitting, and fluid that is missing: of
// 1800 mL some 350 are burned.
func TestOpen(t *testing.T) {
	toDo := []string{"still to do: Next day: look under", "still to do: After the drive, repeat the idle test", "still to do: After that test, and not before, put the tank additive"}
	has := func(all []string, beginning string) bool {
		return slices.ContainsFunc(all, func(x string) bool { return strings.HasPrefix(x, beginning) })
	}
	j := walked(t)
	for _, want := range toDo {
		if !has(j.Open, want) {
			t.Errorf("nothing open says %q: %q", want, j.Open)
		}
	}
	missing := func(x string) bool { return strings.Contains(x, " mL not accounted for: 1800 mL poured in, about 35") }
	if slices.ContainsFunc(j.Open, missing) {
		t.Errorf("fluid is missing: %q", j.Open)
	}
	if j := walkedWith(t, map[string]string{"waste-measured": "700"}); !slices.ContainsFunc(j.Open, missing) {
		t.Errorf("no fluid is missing: %q", j.Open)
	}

	list := planned(t).List
	after := []record.TestAdded{{Phase: "after"}}
	for _, c := range []struct {
		state record.State
		tests []record.TestAdded
		want  []string
	}{
		{record.StateWalking, nil, nil},
		{record.StateToReview, nil, toDo},
		{record.StateSentBack, nil, toDo},
		{record.StateWaiting, []record.TestAdded{{Phase: "before"}}, toDo},
		{record.StateWaiting, after, []string{toDo[0], toDo[2]}},
		{record.StateSigned, nil, nil},
		{record.StateRecalled, nil, nil},
	} {
		g := gatherer{job: &Job{State: string(c.state), Tests: c.tests}, list: list}
		got := g.toCome()
		for _, want := range c.want {
			if !has(got, want) {
				t.Errorf("%s: nothing says %q", c.state, want)
			}
		}
		if len(got) != len(c.want) {
			t.Errorf("%s: %q", c.state, got)
		}
	}
}
