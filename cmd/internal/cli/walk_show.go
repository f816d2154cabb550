package cli

import (
	"fmt"
	"strings"
	"unicode/utf8"

	"daytank/cmd/internal/prompt"
	"daytank/procedures"
	"daytank/procedures/checklist"
	"daytank/procedures/report"
	"daytank/safety"
)

// show writes what is asked, in whole sentences. What stands there already is
// not written twice.
func (w *walker) show(ask checklist.Ask) {
	key := fmt.Sprintf("%s %s %s %d", ask.Kind, ask.Step.ID, ask.Run.Part, ask.Run.Stage)
	again := key == w.shown
	w.shown = key
	switch {
	case ask.Kind == checklist.AskAcknowledge && !again:
		w.caution(ask.Finding)
	case ask.Kind == checklist.AskBlocked && !again:
		w.blocked(ask)
	case ask.Kind == checklist.AskRun:
		if !again && ask.Run.Part == checklist.RunBaseline {
			w.step(ask)
		}
		w.run(ask.Run)
	case ask.Kind == checklist.AskWait:
		if !again {
			w.step(ask)
		}
		w.wait(ask)
	case ask.Kind == checklist.AskTest && ask.Field.Name != "coolant":
	case w.sitting.State().Paper():
		if !again {
			w.paper(ask)
		}
	case ask.Kind == checklist.AskRelease || ask.Kind == checklist.AskSelfCheck:
		w.hold(ask)
	case !again:
		w.step(ask)
	}
}

func (w *walker) say(label, text, indent string) {
	if text != "" {
		fmt.Fprintln(w.app.env.Stdout, report.Wrap(label+text, indent, w.columns()))
	}
}

func (w *walker) step(ask checklist.Ask) {
	out, s := w.app.env.Stdout, ask.Step
	if ask.Number > 0 {
		fmt.Fprintf(out, "\n%s, step %d of %d\n", ask.Phase, ask.Number, ask.Of)
	} else {
		fmt.Fprintf(out, "\n%s\n", ask.Phase)
	}
	w.hazard(ask.Phase, s.Hazard)
	w.say("CAUTION: ", ask.Called, "  ")
	w.say("", s.Say, "  ")
	w.say("how: ", s.How, "    ")
	if w.whys {
		w.say("why: ", s.Why, "    ")
	}
	if s.Rings {
		fmt.Fprintln(out, "    "+checklist.Ringing+w.call())
	}
	if was := w.sitting.State().AnswerOf(s.ID); was != "" {
		w.say("answered before: ", prompt.Plain(was), "    ")
	}
	for i, o := range s.Options {
		fmt.Fprintf(out, "    %d  %s\n", i+1, strings.TrimSpace(fmt.Sprintf("%-14s %s", o.Key, different(o))))
	}
}

// hazard names the hazard of a step; what keeps it away is said the first time
// in a phase.
func (w *walker) hazard(phase, id string) {
	h, ok := safety.HazardByID(id)
	if !ok {
		return
	}
	if key := phase + " " + id; !w.told[key] {
		w.told[key] = true
		w.say("CAUTION: ", h.Name+": "+h.Control, "  ")
		return
	}
	w.say("CAUTION: ", h.Name, "  ")
}

// different gives the words of an option where they say more than its key.
func different(o procedures.Option) string {
	if o.Say == o.Key {
		return ""
	}
	return o.Say
}

func (w *walker) caution(f checklist.Finding) {
	fmt.Fprintln(w.app.env.Stdout)
	w.say("CAUTION: ", f.Message+".", "  ")
	if f.Lift != "" {
		w.say("what lifts it: ", f.Lift+".", "    ")
	}
}

func (w *walker) blocked(ask checklist.Ask) {
	fmt.Fprintln(w.app.env.Stdout)
	w.say("STOP: ", ask.Reason+".", "  ")
	for _, f := range ask.Stops {
		w.stop(f.Message, f.Lift, f.Set)
	}
	sitting := w.sitting.State().List().Sitting()
	for _, n := range ask.Answers {
		step := sitting[n-1]
		fmt.Fprintf(w.app.env.Stdout, "    < %-3d %s: %s\n", n, step.ID, prompt.Plain(w.sitting.State().AnswerOf(step.ID)))
	}
	w.say("", "If something was entered wrong, go back to it with < and its number; otherwise leave it safe with p.", "  ")
}

func (w *walker) hold(ask checklist.Ask) {
	fmt.Fprintln(w.app.env.Stdout)
	if ask.Kind == checklist.AskRelease {
		w.say("HOLD: ", "work stops here until a second person has looked: "+ask.Step.Say, "  ")
		return
	}
	w.say("HOLD: ", "nobody else is here, so look once more yourself; the record says that no second person released it.", "  ")
	w.say("", ask.Step.Hold.Ask, "  ")
}

func (w *walker) wait(ask checklist.Ask) {
	if ask.LeftMS > 0 {
		fmt.Fprintf(w.app.env.Stdout, "    %s left\n", checklist.Clock(ask.LeftMS))
		return
	}
	fmt.Fprintln(w.app.env.Stdout, "    The time is over."+w.call())
}

// run writes the countdown line, and what to do where something is to be done.
func (w *walker) run(r checklist.RunAsk) {
	out := w.app.env.Stdout
	switch r.Part {
	case checklist.RunBaseline:
		return
	case checklist.RunStart:
		if r.Called != "" {
			w.say("CALLED OUT: ", r.Called, "  ")
		}
		fmt.Fprintf(out, "\n  DO: start the engine on the fluid: first %s.\n", r.Next)
		w.say("", checklist.SeenHelp(), "    ")
		return
	case checklist.RunOff:
		fmt.Fprintf(out, "\n  STOP: KEY OFF: %s.%s\n", r.Reason, w.call())
		return
	case checklist.RunStage:
		fmt.Fprintf(out, "\n  DO: %s%s\n", stageOrder(r), w.call())
		if r.Called != "" {
			w.say("CALLED OUT: ", r.Called+w.call(), "    ")
		}
		if r.DueInMS < 0 {
			fmt.Fprintln(out, "    A reading is due as well: level and temperature.")
		}
		return
	}
	line := fmt.Sprintf("    run %s   stage %d of %d, %s, %s of %s   planned end in %s",
		checklist.Clock(r.ElapsedMS), r.Stage, r.Stages, r.What, checklist.Clock(r.StageMS), checklist.Clock(r.StageOfMS), checklist.Clock(r.EndsInMS))
	fmt.Fprintln(out, line)
	if r.Called != "" {
		w.say("CALLED OUT: ", r.Called+w.call(), "    ")
	}
	stop := "    stop level " + w.sitting.State().List().Run.InUnit(r.StopUL, r.Unit)
	if r.BurnULMin != nil {
		stop += fmt.Sprintf("; %.1f mL/min at idle by the readings", float64(*r.BurnULMin)/1000)
	}
	if r.StopInMS != nil {
		stop += fmt.Sprintf(", in %s at the earliest", checklist.Clock(*r.StopInMS))
	}
	switch {
	case r.Part == checklist.RunFlow:
		stop += "   LOOK: is the return seen to flow?" + w.call()
	case r.DueInMS <= 0:
		stop += "   READING DUE: level and temperature" + behindComma(r.Mark) + w.call()
	case r.Soak:
		stop += "; engine off, soaking: " + soakNext(r)
	default:
		stop += "   next reading in " + checklist.Clock(r.DueInMS)
	}
	fmt.Fprintln(out, stop)
}

// behindComma gives words behind a comma, if there are any.
func behindComma(words string) string {
	if words == "" {
		return ""
	}
	return ", " + words
}

// soakNext says what comes next in a soak.
func soakNext(r checklist.RunAsk) string {
	if r.UntilMK > 0 {
		return "until " + checklist.Celsius(r.UntilMK) + ", temperature in " + checklist.Clock(r.DueInMS)
	}
	return checklist.Clock(r.DueInMS) + " left"
}

func stageOrder(r checklist.RunAsk) string {
	switch {
	case r.NextSoak:
		return "KEY OFF: the soak begins."
	case r.WasSoak:
		return "start the engine again: " + r.Next + "."
	}
	return "go to " + r.Next + "."
}

// longestQuestion is how long a question may be for its answer to stand behind it
// on the same line.
const longestQuestion = 48

// question is the line with the prompt.
func (w *walker) question(ask checklist.Ask) string {
	prefix := ask.Prompt
	switch ask.Kind {
	case checklist.AskBlocked:
		prefix = "< or p"
	case checklist.AskRun:
		prefix = runPrompt(ask.Run)
	}
	question := report.Wrap(prefix, "", w.columns()-len("(or 0 0 0) > "))
	if ask.Digits != "" {
		question += " (or " + strings.Join(strings.Split(ask.Digits, ""), " ") + ")"
	}
	if last := question[strings.LastIndex(question, "\n")+1:]; utf8.RuneCountInString(last) > longestQuestion {
		return question + "\n  > "
	}
	return question + " > "
}

func runPrompt(r checklist.RunAsk) string {
	switch r.Part {
	case checklist.RunBaseline:
		return "baseline: level in the container in mL (or mm, mark, g: 65 mm), and its temperature in °C"
	case checklist.RunStart:
		return "Enter once it runs"
	case checklist.RunStage:
		return "Enter once it is so"
	case checklist.RunOff:
		return "Enter once the engine stands"
	}
	if r.Part == checklist.RunFlow {
		return "y it flows, r it does not"
	}
	return "level " + r.Unit + " and temperature °C"
}

func fill(text string, values map[string]string) string { return procedures.Fill(text, values) }
