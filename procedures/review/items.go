package review

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"daytank/procedures"
	"daytank/procedures/checklist"
	"daytank/procedures/record"
)

// Item is one thing that a reviewer must look at.
type Item struct {
	Rank record.Rank
	Seq  int64  // of the event it comes from; 0: of none
	Step string // empty: of none
	Text string
}

// Items gives what is to be looked at in a job, the worst first: what its events say, and
// what only the checklist can tell: steps too fast to be true, missing photos, fluid that
// is not accounted for.
func Items(events []record.Event, state checklist.State) ([]Item, error) {
	g := gatherer{events: events, state: state, list: state.List(), names: map[string]string{}}
	for _, s := range g.list.Everything() {
		g.names[s.ID] = short(s.Say)
	}
	if g.list.Own {
		g.add(record.RankOwn, 0, "", "the procedure is the user's own: %s", g.list.Procedure)
	}
	for _, stop := range g.list.Stops {
		g.add(record.RankEmergency, 0, "", "STOP of the plan as it stands: %s", stop.Message)
	}
	for i, e := range events {
		if err := g.take(e, events[i+1:]); err != nil {
			return nil, err
		}
	}
	g.tooFast()
	g.photos()
	g.balance()
	slices.SortStableFunc(g.items, func(a, b Item) int { return cmp.Compare(b.Rank, a.Rank) })
	return g.items, nil
}

type gatherer struct {
	events  []record.Event
	state   checklist.State
	list    checklist.Checklist
	names   map[string]string // what each step says, in short
	items   []Item
	photoed map[string]bool
}

func (g *gatherer) add(rank record.Rank, seq int64, step, format string, args ...any) {
	g.items = append(g.items, Item{rank, seq, step, fmt.Sprintf(format, args...)})
}

// short gives the first sentence of what a step says.
func short(say string) string {
	first, _, _ := strings.Cut(say, ". ")
	return strings.TrimRight(first, ".")
}

// take notes what an event says; what came after it tells what followed.
func (g *gatherer) take(e record.Event, after []record.Event) error {
	rank, err := record.RankOf(e)
	if err != nil {
		return err
	}
	body, err := e.Decode()
	if err != nil {
		return err
	}
	switch b := body.(type) {
	case record.Transcribed:
		g.add(rank, e.Seq, "", "entered from a sheet of paper, done by %s on %s: no proof of it was given here", b.Who, b.Done)
	case record.Emergency:
		g.add(rank, e.Seq, "", "EMERGENCY was called%s", followed(e, after))
	case record.Alarm:
		g.add(rank, e.Seq, b.Step, "alarm, %s%s", b.Message, followed(e, after))
	case record.HoldReleased:
		switch rank {
		case record.RankAlone:
			g.add(rank, e.Seq, b.Step, "no second person released: %s", g.names[b.Step])
		case record.RankNamed:
			g.add(rank, e.Seq, b.Step, "released by %s, named, not proved: %s", b.By, g.names[b.Step])
		}
	case record.StepSkipped:
		g.add(rank, e.Seq, b.Step, "skipped, %q: %s", b.Reason, g.names[b.Step])
	case record.Deviation:
		g.add(rank, e.Seq, b.Step, "done otherwise: %s", b.Text)
	case record.StepReopened:
		if rank == record.RankAgain {
			g.add(rank, e.Seq, b.Step, "%s: %s", b.Reason, g.names[b.Step])
		}
	case record.Observation:
		if what, no := strings.CutPrefix(b.What, record.NoProof); no {
			g.add(rank, e.Seq, b.Step, "%q was typed and proved nothing: %s", what, g.names[b.Step])
		}
	case record.Corrected:
		g.add(rank, e.Seq, "", "entry %d, %s, corrected by %s to %s: %s", b.Seq, g.was(b.Seq), e.By, b.Text, b.Reason)
	case record.Amended:
		g.add(rank, e.Seq, "", "entry %d, %s, amended by %s to %s: %s", b.Seq, g.was(b.Seq), e.By, b.Text, b.Reason)
	case record.Recalled:
		g.add(rank, e.Seq, "", "recalled by %s: %s was told not to drive it: %s", e.By, b.Told, b.Reason)
	case record.Explained:
		g.add(rank, e.Seq, b.Step, "explained by %s: %s", e.By, b.Text)
	case record.Clock:
		g.add(rank, e.Seq, "", "the clocks differed by %s", checklist.Clock(b.DifferenceMS))
	case record.Acknowledged:
		g.add(rank, e.Seq, "", "CAUTION %s. Answered: %q", b.Message, b.Words)
	case record.Choice:
		if strings.HasPrefix(b.Goes, "mend:") || b.Goes == "stop" {
			g.add(record.RankAgain, e.Seq, b.Step, "%s, at: %s", b.Option, g.names[b.Step])
		}
	case record.Photo:
		if g.photoed == nil {
			g.photoed = map[string]bool{}
		}
		g.photoed[b.Step] = true
	}
	return nil
}

// was says what an entry said that was corrected.
func (g *gatherer) was(seq int64) string {
	if seq < 1 || seq > int64(len(g.events)) {
		return "which is not there"
	}
	body, err := g.events[seq-1].Decode()
	if err != nil {
		return "which does not read"
	}
	switch b := body.(type) {
	case record.Value:
		return strings.TrimSpace(fmt.Sprintf("%s %s %s %s", b.Step, b.Field, b.Text, b.Unit))
	case record.Reading:
		return strings.TrimSpace(fmt.Sprintf("level %s %s %s", b.Level, b.LevelUnit, b.Temperature))
	case record.Choice:
		return b.Step + " " + b.Option
	}
	return string(body.Kind())
}

// followed says what came of an alarm or an emergency: the engine off, the next reading,
// or the work taken up again, and how much later.
func followed(e record.Event, after []record.Event) string {
	for _, next := range after {
		later := checklist.Clock(next.At.Sub(e.At).Milliseconds())
		switch next.Kind {
		case record.KindRunEnded:
			return "; engine off " + later + " later"
		case record.KindReading:
			if e.Kind == record.KindAlarm {
				return "; next reading " + later + " later"
			}
		case record.KindResumed:
			return "; taken up again " + later + " later"
		}
	}
	return "; nothing followed"
}

// tooFastShare is the part of its planned time below which a step was not done as it is
// written.
const tooFastShare = 0.25

// tooFast finds confirmations, waits and groups that took less than they can.
func (g *gatherer) tooFast() {
	if g.state.WasPaper() {
		return
	}
	groups := map[string]int64{}
	for _, s := range g.list.Sitting() {
		if s.Group != "" {
			groups[s.Group] += g.state.TakenMS(s.ID)
		}
	}
	told := map[string]bool{}
	for _, s := range g.list.Sitting() {
		if g.state.StatusOf(s) != checklist.Done || told[s.Group] {
			continue
		}
		taken, what := g.state.TakenMS(s.ID), g.names[s.ID]
		switch {
		case s.Group != "":
			taken, what = groups[s.Group], "the steps together with: "+what
			told[s.Group] = true
		case s.Kind != procedures.Confirm && s.Kind != procedures.Timer:
			continue
		}
		least := int64(tooFastShare * float64(max(s.TakesMS, s.WaitMS)))
		if taken < least {
			g.add(record.RankDeviation, 0, s.ID, "done in %s, planned for %s: %s", checklist.Clock(taken), checklist.Clock(max(s.TakesMS, s.WaitMS)), what)
		}
	}
}

// photos finds the steps where a photo is wanted and none is kept.
func (g *gatherer) photos() {
	for _, s := range g.list.Sitting() {
		if s.Photo == "wanted" && g.state.StatusOf(s) == checklist.Done && !g.photoed[s.ID] {
			g.add(record.RankAgain, 0, s.ID, "no photo: %s", g.names[s.ID])
		}
	}
}

// unaccountedShare is the part of the charge that may be missing from the balance.
const unaccountedShare = 0.10

// balance adds fluid that is not accounted for.
func (g *gatherer) balance() {
	if text := Unaccounted(g.state); text != "" {
		g.add(record.RankDeviation, 0, wasteStep, "%s", text)
	}
}

// wasteStep is where the waste can is measured.
const wasteStep = "waste-measured"

// Unaccounted holds what was poured in against what was burned and what is in the waste
// can, and says what is missing; empty where nothing is, or where it cannot be told.
func Unaccounted(state checklist.State) string {
	poured, ok := number(state, "charge-poured")
	waste, also := number(state, wasteStep)
	ran, run := state.Ran()
	if !ok || !also || !run || poured <= 0 || ran.BurnedUL == nil {
		return ""
	}
	burned := float64(*ran.BurnedUL) / 1000
	missing := poured - burned - waste
	if math.Abs(missing) <= unaccountedShare*poured {
		return ""
	}
	how := "not accounted for"
	if missing < 0 {
		how = "more than was poured in"
	}
	return fmt.Sprintf("%.0f mL %s: %.0f mL poured in, about %.0f burned, %.0f in the waste can", math.Abs(missing), how, poured, burned, waste)
}

// number gives the number that was entered at a step.
func number(state checklist.State, step string) (float64, bool) {
	text, _, _ := strings.Cut(state.AnswerOf(step), " ")
	x, err := strconv.ParseFloat(text, 64)
	s, ok := state.List().Step(step)
	return x, err == nil && ok && state.StatusOf(s) == checklist.Done
}
