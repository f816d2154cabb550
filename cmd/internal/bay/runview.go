package bay

import (
	"fmt"
	"slices"
	"strings"

	"daytank/planner"
	"daytank/procedures/checklist"
)

// run adds the live run: what to do, and the countdown.
func (s *Screen) run(t *text) {
	r := s.ask.Run
	switch r.Part {
	case checklist.RunBaseline:
		return
	case checklist.RunStart:
		if r.Called != "" {
			t.add(t.before, "CAUTION", r.Called, caution)
		}
		t.add(t.before, "DO", "start the engine on the fluid: first "+r.Next+".", must)
		t.add(t.before, "", "Whoever watches the return sees it slip out before any screen does.", plain)
		t.mark()
		return
	case checklist.RunOff:
		t.add(t.before, "STOP", "KEY OFF: "+r.Reason+".", stop)
		t.mark()
	case checklist.RunStage:
		t.add(t.before, "DO", order(r)+".", must)
		t.mark()
	}
	for _, l := range s.countdown(s.width) {
		t.lines = append(t.lines, line{text: l})
	}
	if s.alarm.word != "" && !s.alarm.grave && r.Part != checklist.RunStage {
		t.add(" ", "CAUTION", s.alarm.text, caution)
	}
	if r.Called != "" && r.Called != s.alarm.text {
		t.add(" ", "CAUTION", r.Called, caution)
	}
}

// sides puts one text at the left and one at the right, or below it where the
// line is too short.
func sides(left, right string, width int) []string {
	gap := width - len([]rune(left)) - len([]rune(right)) - 1
	if gap < 2 {
		return []string{left, "   " + strings.TrimSpace(right)}
	}
	return []string{left + strings.Repeat(" ", gap) + right}
}

// countdown gives the lines of the live run.
func (s *Screen) countdown(width int) []string {
	r := s.ask.Run
	lines := sides(
		fmt.Sprintf(" RUN  stage %d of %d   %s   %s of %s", r.Stage, r.Stages, r.What, checklist.Clock(r.StageMS), checklist.Clock(r.StageOfMS)),
		"planned end in "+checklist.Clock(r.EndsInMS), width)
	lines = append(lines, sides(" to the stop level   "+untilStop(r), s.warmthNow(), width)...)
	lines = append(lines, s.levelNow(width)...)
	lines = append(lines, sides(" return slips: "+s.emptyIn(), s.lastFall(), width)...)
	if next := s.nextReading(); next != "" {
		lines = append(lines, " "+next)
	}
	return lines
}

func untilStop(r checklist.RunAsk) string {
	if r.StopInMS == nil {
		return "not reached by the plan"
	}
	return checklist.Clock(max(0, *r.StopInMS)) + " (earliest)"
}

func degrees(mk int64) string { return fmt.Sprintf("%.0f", float64(mk-273150)/1000) }

// warmthNow gives the last temperature of the container with its limits.
func (s *Screen) warmthNow() string {
	run := s.Sitting.State().List().Run
	last := "not read"
	if mk, ok := s.lastWarmth(); ok {
		last = degrees(mk) + " °C"
	}
	return fmt.Sprintf("container %s  warm %s  hot %s", last, degrees(run.WarmMK), degrees(run.HotMK))
}

// levelNow gives the last level as a bar, with the band that the plan expects
// now and the stop mark.
func (s *Screen) levelNow(width int) []string {
	run := s.Sitting.State().List().Run
	last, _, n := s.last()
	if n == 0 || last.LevelUL == nil || len(run.Marks) == 0 {
		return []string{" level  not read   stop " + run.InUnit(run.StopUL, s.ask.Run.Unit)}
	}
	unit := s.ask.Run.Unit
	begin := " level  " + run.InUnit(*last.LevelUL, unit) + "  "
	end := "  stop " + strings.TrimSuffix(run.InUnit(run.StopUL, unit), " "+unit)
	low, high := expectedBand(run, s.ask.Run.ElapsedMS)
	b := levelBar{level: *last.LevelUL, low: low, high: high, stop: run.StopUL, full: max(run.Marks[0].HiUL, *last.LevelUL)}
	lines := []string{begin + b.draw(width-len(begin)-len(end)-1) + end}
	if high == 0 {
		return lines
	}
	return append(lines, sides(
		fmt.Sprintf(" now expected ( )  %s to %s", strings.TrimSuffix(run.InUnit(low, unit), " "+unit), run.InUnit(high, unit)),
		"read "+checklist.Clock(max(0, s.ask.Run.ElapsedMS-last.RunMS))+" ago", width)...)
}

// expectedBand gives what the level should be at a time of the run, between two
// rows of the plan's table; nothing outside it.
func expectedBand(run checklist.Run, ms int64) (low, high int64) {
	for i := 1; i < len(run.Marks); i++ {
		a, b := run.Marks[i-1], run.Marks[i]
		if ms >= a.AtMS && ms <= b.AtMS && b.AtMS > a.AtMS {
			at := func(from, to int64) int64 { return from + (to-from)*(ms-a.AtMS)/(b.AtMS-a.AtMS) }
			return at(a.LowUL, b.LowUL), at(a.HiUL, b.HiUL)
		}
	}
	return 0, 0
}

// levelBar is a level on a scale from empty to full, all in µL.
type levelBar struct{ level, low, high, stop, full int64 }

// draw draws it in so many columns: # up to the level, ( ) about the band, | at
// the stop level.
func (b levelBar) draw(columns int) string {
	n := max(columns-2, 4)
	cell := func(ul int64) int { return int(min(max(ul*int64(n)/max(b.full, 1), 0), int64(n-1))) }
	bar := make([]byte, n)
	for i := range bar {
		bar[i] = '.'
		if int64(i)*b.full < b.level*int64(n) {
			bar[i] = '#'
		}
	}
	if b.high > 0 {
		bar[cell(b.low)], bar[cell(b.high)] = '(', ')'
	}
	bar[cell(b.stop)] = '|'
	return "[" + string(bar) + "]"
}

// emptyIn gives how long the container lasts if the return slips out: from the
// end of the plan, where it is shortest, to its start.
func (s *Screen) emptyIn() string {
	least, longest := s.emptySeconds()
	if longest <= 0 {
		return "KEY OFF at once"
	}
	if least == longest {
		return fmt.Sprintf("empty in %d s", least)
	}
	return fmt.Sprintf("empty in %d to %d s", least, longest)
}

func (s *Screen) emptySeconds() (least, longest int) {
	d := s.planned().RunDry
	return int(d.AtEnd.Seconds()), int(d.AtStart.Seconds())
}

// planned gives the plan. The state of a walk that was taken up has none, and
// the planner makes the same again from the job.
func (s *Screen) planned() planner.Plan {
	p := s.Sitting.State().Planned()
	switch {
	case p.Plan.Run > 0:
		s.plan = nil
		return p.Plan
	case s.plan == nil:
		plan := planner.Compute(p.Basis.Job)
		s.plan = &plan
	}
	return *s.plan
}

// lastFall gives how fast the level fell between the last two readings, beside
// what the plan expects between the same times.
func (s *Screen) lastFall() string {
	now, before, n := s.last()
	ms := now.RunMS - before.RunMS
	if n < 2 || ms <= 0 || now.LevelUL == nil || before.LevelUL == nil {
		return "last fall: not known yet"
	}
	perMinute := func(ul int64) int64 { return (ul*60 + ms/2) / ms }
	said := fmt.Sprintf("last fall %d mL/min", perMinute(*before.LevelUL-*now.LevelUL))
	run := s.Sitting.State().List().Run
	from, ok := run.ExpectedUL(before.RunMS)
	to, also := run.ExpectedUL(now.RunMS)
	if ok && also {
		said += fmt.Sprintf(", expected %d", perMinute(from-to))
	}
	return said
}

func (s *Screen) nextReading() string {
	r := s.ask.Run
	switch {
	case r.Part == checklist.RunFlow:
		return "" // called out
	case r.Part != checklist.RunReading && r.DueInMS < 0:
		return "a reading is due as well: level and temperature"
	case r.Part != checklist.RunReading:
		return "a reading can be given as well: level and temperature"
	case r.DueInMS <= 0:
		return "" // called out
	case r.UntilMK > 0:
		return "engine off, soaking until " + checklist.Celsius(r.UntilMK) + "; temperature in " + checklist.Clock(r.DueInMS)
	case r.Soak:
		return "engine off, soaking: " + checklist.Clock(r.DueInMS) + " left"
	}
	return "next reading in " + checklist.Clock(r.DueInMS) + ": level, temperature"
}

// runQuestion says what to type in the live run.
func (s *Screen) runQuestion() string {
	r := s.ask.Run
	switch {
	case s.warmth && s.level != "":
		return "level " + s.level + "; temperature °C"
	case s.warmth:
		return "temperature °C"
	case r.Part == checklist.RunBaseline:
		return "baseline: level in mL (or 65mm, 6.5mark, 980g) / its temperature in °C"
	case r.Part == checklist.RunStart:
		return "Enter once it runs"
	case r.Part == checklist.RunStage:
		return "Enter once it is so"
	case r.Part == checklist.RunOff:
		return "Enter once the engine stands"
	}
	if r.Part == checklist.RunFlow {
		return "is the return seen to flow? y yes, r no"
	}
	if s.before != "" {
		return "level " + r.Unit + " (at " + s.before + " °C)"
	}
	return "level " + r.Unit + " / temperature °C"
}

func (s *Screen) runKeys() []string {
	spaceNow := "Space STOP"
	if s.levelTyped() {
		spaceNow = "Space temperature, twice STOP"
	}
	switch {
	case s.warmth:
		return []string{spaceNow, "Enter gives the reading", "Esc anew"}
	case len(s.input) > 0:
		return []string{spaceNow, "/ temperature", "Enter gives the level alone", "Esc anew"}
	}
	reading := []string{"l level", "t temperature"}
	rest := []string{"n note", "e end early", "? help", "g glance"}
	keys := []string{spaceNow}
	switch s.ask.Run.Part {
	case checklist.RunBaseline:
		return slices.Concat(keys, reading, []string{"< back", "n note", "p leave it safe", "? help"})
	case checklist.RunStart:
		return append(keys, "Enter it runs", "< back", "n note", "p leave it safe", "? help")
	case checklist.RunStage:
		return slices.Concat(keys, []string{"Enter or s stage done"}, reading, rest)
	case checklist.RunOff:
		return slices.Concat(keys, []string{"Enter it stands"}, reading, rest)
	case checklist.RunFlow:
		return slices.Concat(keys, []string{"y it flows", "r it does not"}, reading, rest)
	}
	return slices.Concat(keys, reading, []string{"b bubbles", "s stage done"}, rest)
}
