package checklist_test

import (
	"errors"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/google/uuid"

	"daytank/procedures/checklist"
	"daytank/procedures/checklist/rehearsal"
	"daytank/safety"
)

// How much a random walk does: so many walks of so many inputs each.
const (
	randomWalks  = 24
	randomInputs = 260
)

// Whatever is typed, however the clocks step, wherever the process dies: at most one
// step is active, nothing hazardous is done without its proof, what was accepted stays
// accepted, and the state is that of a replay. The bench holds all that after each
// input.
func TestRandomWalk(t *testing.T) {
	walks := uint64(randomWalks)
	if raceDetector {
		walks /= 6
	}
	for seed := range walks {
		b := &bench{t: t, sparse: 8}
		chance := rand.New(rand.NewPCG(seed, 11))
		var set []string
		if chance.IntN(3) == 0 {
			set = append(set, "site.people=1")
		}
		b.start("Tobi", set)
		accepted := len(b.events)
		for range randomInputs {
			b.randomly(chance)
			if len(b.events) < accepted {
				t.Fatalf("walk %d: of %d events %d are left", seed, accepted, len(b.events))
			}
			accepted = len(b.events)
		}
	}
}

// randomly does one thing that a person, a clock or a flat battery may do.
func (b *bench) randomly(chance *rand.Rand) {
	a := b.ask()
	if len(b.out.String()) > 1<<20 {
		b.out.Reset()
	}
	switch n := chance.IntN(100); {
	case n < 62:
		text, takes := rehearsal.Answer(a, b.state.List())
		if a.Kind == checklist.AskRun && takes == 0 {
			takes = time.Duration(max(1000, a.Run.WakeMS)) * time.Millisecond
			b.pass(takes)
			b.look()
			return
		}
		b.pass(takes)
		b.look()
		b.tries(checklist.Enter, text)
	case n < 74:
		junk := []string{"", "y", "yes", "ok", "1", "2", "-1", "999999", "tied", "dry", "none", "log", "bubbles", "foam", "1200 30", "600 20", "dead", "zero", "\x00", "1e9", "NaN", "metal", "wet", "2 2 2"}
		b.tries(checklist.Enter, junk[chance.IntN(len(junk))])
	case n < 78:
		b.tries(checklist.Back, "")
	case n < 81:
		b.tries(checklist.Skip, "no time for this today")
	case n < 83:
		b.tries(checklist.AddNote, "a note of the random walk")
	case n < 84:
		b.tries(checklist.EndRun, "it smells of fuel")
	case n < 86:
		b.tries(checklist.Correct, "v; 4; misread it")
	case n < 90: // the process dies, and another goes on
		b.process = uuid.NewSHA1(b.process, []byte("next"))
		b.mono = 0
		b.wall = b.wall.Add(time.Duration(chance.IntN(120)) * time.Minute)
		if chance.IntN(3) == 0 {
			b.by = []string{"Tobi", "Mara"}[chance.IntN(2)]
		}
		b.resumes()
	case n < 92:
		b.tries(checklist.LeaveSafe, "lunch")
		b.resumes()
	case n < 93:
		b.tries(checklist.CallOut, "")
		b.resumes()
	case n < 96:
		b.wall = b.wall.Add(time.Duration(chance.IntN(7200)-3600) * time.Second)
		b.look()
	default:
		b.pass(time.Duration(chance.IntN(90)) * time.Minute)
		b.look()
	}
}

// tries answers, whatever comes of it.
func (b *bench) tries(do checklist.Verb, text string) {
	out, err := b.state.Answer(checklist.Input{Do: do, Text: text}, b.stamp())
	var refusal safety.Refusal
	switch {
	case errors.As(err, &refusal) && len(out.Bodies) == 0:
		return
	case errors.As(err, &refusal): // something seen that is kept
	case err != nil:
		b.t.Fatalf("%s %q at %s of %s: %v", do, text, b.ask().Kind, b.ask().Step.ID, err)
	}
	b.keep(out, false)
	if do != checklist.LeaveSafe && do != checklist.CallOut {
		b.look()
	}
}

// resumes takes the walk up again from the record alone.
func (b *bench) resumes() {
	b.replayed()
	b.keep(b.state.Resume(b.stamp()), false)
	b.look()
}
