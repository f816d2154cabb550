package checklist_test

import (
	"strings"
	"testing"
	"time"

	"daytank/procedures"
	"daytank/procedures/checklist"
	"daytank/procedures/checklist/rehearsal"
)

// jobs are one of each layout.
var jobs = []string{"van", "mail-van", "pickup", "tractor", "boat", "car", "dredger", "crane"}

// Every answer of every layout that leads into a mending branch leads through it and
// back to the question it came from, until the limit of the branch; then the work stops
// there. No branch is there that nothing leads into.
func TestEveryBranch(t *testing.T) {
	some := jobs
	if raceDetector { // which is slow, and the logic is the same
		some = []string{"van", "tractor"}
	}
	for _, job := range some {
		t.Run(job, func(t *testing.T) {
			met := map[string]bool{}
			for _, set := range [][]string{nil, {"rig.first_flush=none"}} {
				b, used := &bench{t: t, sparse: 50}, map[string]bool{}
				b.begin("Tobi", job, set)
				for range 400 {
					b.look()
					a := b.ask()
					if a.Kind == checklist.AskFinished {
						break
					}
					if a.Kind == checklist.AskChoice {
						b.mendAll(a.Step, met, used)
					}
					b.asPlanned()
				}
				if !b.state.Finished() {
					t.Fatalf("the walk stands at %s", b.ask().Step.ID)
				}
			}
			for _, branch := range checklistOf(t, job).Branches {
				if !met[branch.ID] {
					t.Errorf("nothing leads into %s", branch.ID)
				}
			}
		})
	}
}

func checklistOf(t *testing.T, job string) checklist.Checklist {
	b := &bench{t: t}
	b.begin("Tobi", job, nil)
	return b.state.List()
}

// mendAll goes through every branch that a choice leads into, to its limit.
func (b *bench) mendAll(step checklist.Step, met, used map[string]bool) {
	for _, o := range step.Options {
		id, mends := strings.CutPrefix(o.Goes, "mend:")
		if !mends || met[id+" "+step.ID] {
			continue
		}
		spent := used[id]
		met[id], met[id+" "+step.ID], used[id] = true, true, true
		if spent { // its limit is used up: the work stops at once
			b.tries(checklist.Enter, o.Key)
			b.blockedAt(step)
			continue
		}
		limit := b.limitOf(id)
		for range limit {
			b.tries(checklist.Enter, o.Key)
			for n := 0; b.ask().Step.ID != step.ID; n++ {
				if b.state.Finished() || n > 20 {
					b.t.Fatalf("%s of %s does not lead back: %s", id, step.ID, b.ask().Kind)
				}
				b.asPlanned()
				b.look()
			}
		}
		b.tries(checklist.Enter, o.Key)
		b.blockedAt(step)
	}
}

func (b *bench) limitOf(branch string) int {
	for _, x := range b.state.List().Branches {
		if x.ID == branch {
			return x.Limit
		}
	}
	b.t.Fatalf("no branch %s", branch)
	return 0
}

// blockedAt holds that the work stops at a step, and goes back to it.
func (b *bench) blockedAt(step checklist.Step) {
	b.t.Helper()
	if a := b.ask(); a.Kind != checklist.AskBlocked || a.Step.ID != step.ID {
		b.t.Fatalf("past the limit it asks %s of %s", a.Kind, a.Step.ID)
	}
	b.tries(checklist.Back, "")
	if a := b.ask(); a.Kind != checklist.AskChoice || a.Step.ID != step.ID {
		b.t.Fatalf("back from there it asks %s of %s", a.Kind, a.Step.ID)
	}
}

// asPlanned does what the rehearsal would at what is asked.
func (b *bench) asPlanned() {
	a := b.ask()
	text, takes := rehearsal.Answer(a, b.state.List())
	if a.Kind == checklist.AskRun && takes == 0 {
		b.pass(time.Duration(max(1000, a.Run.WakeMS)) * time.Millisecond)
		return
	}
	b.pass(takes)
	if a.Step.Kind == procedures.Timer {
		b.look()
	}
	b.tries(checklist.Enter, text)
}
